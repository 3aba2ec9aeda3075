//! A chart before it is drawn: what runs along its axes, which lines and bands are in it.
//!
//! Numbers are in the unit that is printed. Characters and SVG draw the same chart.

use super::axis::Axis;

/// What a line of a chart shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meaning {
    /// What the readings show.
    Read,
    /// What they showed before.
    Before,
    /// What the turns should leave.
    Expected,
}

/// How the stations of a line are marked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// Round, as the front way and the cross slope.
    Round,
    /// Square, as the rear way.
    Square,
}

/// One place of a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Along the axis.
    pub x: f64,
    /// The figure.
    pub y: f64,
    /// Lower end of what it may be, 95 times in 100.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// A line of a chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// What it shows.
    pub meaning: Meaning,
    /// How its places are marked.
    pub mark: Mark,
    /// What it is called beside others.
    pub name: &'static str,
    /// Its places, in order.
    pub points: Vec<Point>,
}

/// A line that what was read must not pass.
#[derive(Debug, Clone, PartialEq)]
pub enum Limit {
    /// The same figure everywhere.
    Level(f64),
    /// Another figure at every place: places along the axis with their figures, in order.
    Along(Vec<(f64, f64)>),
}

/// Where the words of a row fit: for each that does, its index and where it starts.
///
/// `place` is the middle of each, `width` how wide it is; they keep `gap` between them and stay within
/// `room`. The last words give way to earlier ones.
pub(super) fn fitting(
    places: impl IntoIterator<Item = (f64, f64)>,
    room: (f64, f64),
    gap: f64,
) -> Vec<(usize, f64)> {
    let mut end = f64::NEG_INFINITY;
    let mut placed = Vec::new();
    for (index, (place, width)) in places.into_iter().enumerate() {
        let start = (place - width / 2.0).min(room.1 - width).max(room.0);
        if start >= end && start + width <= room.1 + 1e-9 {
            placed.push((index, start));
            end = start + width + gap;
        }
    }
    placed
}

/// Words under the axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Under {
    /// The place they belong to.
    pub x: f64,
    /// What is written; left out where it would touch its neighbour.
    pub words: String,
}

/// A row of words under the axis, in order along it.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// What the row holds.
    pub name: &'static str,
    /// Whether the places are marked even where the words do not fit.
    pub marked: bool,
    /// The words.
    pub words: Vec<Under>,
}

/// Numbers along the bed, or from round to round.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// What the chart is called on the command line and in references.
    pub name: &'static str,
    /// What it shows, in a few words.
    pub title: String,
    /// What is to be seen in it, for who cannot see it.
    pub description: String,
    /// The axis to the right.
    pub across: Axis,
    /// The axis upwards.
    pub up: Axis,
    /// Lines that what was read must not pass.
    pub limits: Vec<Limit>,
    /// The lines, those in front last.
    pub traces: Vec<Trace>,
    /// Whether the uncertainty is a band along the line rather than a bar at every place.
    pub banded: bool,
    /// Rows under the axis: the feet of each side, or dates.
    pub rows: Vec<Row>,
}

impl Meaning {
    /// What the line is called beside others.
    pub fn word(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Before => "before",
            Self::Expected => "after the turns",
        }
    }
}

impl Limit {
    /// The limit at a place; `None` beyond its ends.
    pub fn at(&self, x: f64) -> Option<f64> {
        match self {
            Self::Level(figure) => Some(*figure),
            Self::Along(places) => {
                let (from, to, share) = around(places, x, |place| place.0)?;
                Some(from.1 + share * (to.1 - from.1))
            }
        }
    }

    /// Every figure it has anywhere.
    pub fn figures(&self) -> Vec<f64> {
        match self {
            Self::Level(figure) => vec![*figure],
            Self::Along(places) => places.iter().map(|place| place.1).collect(),
        }
    }

    /// Lines at the same figures everywhere.
    pub fn levels(figures: impl IntoIterator<Item = f64>) -> Vec<Self> {
        figures.into_iter().map(Self::Level).collect()
    }
}

/// The two neighbours around a place and the share of the way from one to the other; `None` beyond the ends.
fn around<T>(places: &[T], x: f64, place: impl Fn(&T) -> f64) -> Option<(&T, &T, f64)> {
    let pair = places
        .windows(2)
        .find(|pair| (place(&pair[0])..=place(&pair[1])).contains(&x))?;
    let [from, to] = pair else { return None };
    let span = place(to) - place(from);
    let share = if span > 0.0 {
        (x - place(from)) / span
    } else {
        0.0
    };
    Some((from, to, share))
}

impl Trace {
    /// The line at a place between two of its own, with its band; `None` beyond its ends.
    pub fn at(&self, x: f64) -> Option<Point> {
        let (from, to, share) = around(&self.points, x, |point| point.x)?;
        let mix = |a: f64, b: f64| a + share * (b - a);
        Some(Point {
            x,
            y: mix(from.y, to.y),
            low: mix(from.low, to.low),
            high: mix(from.high, to.high),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_that_would_touch_are_left_out() {
        let places = [(0.0, 4.0), (3.0, 4.0), (7.0, 4.0), (20.0, 4.0)];
        let expected = [(0, 0.0), (2, 5.0), (3, 16.0)];
        assert_eq!(fitting(places, (0.0, 20.0), 1.0), expected);
    }

    #[test]
    fn a_line_runs_straight_between_its_places() {
        let point = |x: f64, y: f64| Point {
            x,
            y,
            low: y - 1.0,
            high: y + 1.0,
        };
        let trace = Trace {
            meaning: Meaning::Read,
            mark: Mark::Round,
            name: "read",
            points: vec![point(0.0, 0.0), point(2.0, 4.0), point(3.0, 4.0)],
        };
        assert_eq!(trace.at(0.5), Some(point(0.5, 1.0)));
        assert_eq!(trace.at(2.5), Some(point(2.5, 4.0)));
        assert_eq!(trace.at(3.5), None);
    }

    #[test]
    fn a_limit_may_be_another_one_at_every_place() {
        let curved = Limit::Along(vec![(0.0, 1.0), (2.0, 3.0), (3.0, 0.0)]);
        assert_eq!(curved.at(0.5), Some(1.5));
        assert_eq!(curved.at(2.5), Some(1.5));
        assert_eq!(curved.at(3.5), None);
        assert_eq!(Limit::Level(4.0).at(3.5), Some(4.0));
    }
}
