//! Charts on paper.

use super::chart::{Chart, Limit, Mark, Meaning, Point, Trace, fitting};
use super::drawing::{Anchor, Drawing, Fill, Ink, Spot, Voice, width_of};

/// Width of the paper: half of a page, or all of a phone.
const WIDTH: f64 = 384.0;
/// Height between the axes.
const HEIGHT: f64 = 136.0;
/// Room above for the title and what the axis upwards is called.
const ABOVE: f64 = 42.0;
/// The numbers under the axis, below the marks of the feet.
const NUMBERS: f64 = 18.0;
/// Height of a row of words below them.
const ROW: f64 = 15.0;
/// Radius of the marks at places.
const MARK: f64 = 2.8;
/// Half of the width of a bar of uncertainty.
const BAR: f64 = 5.0;
/// Below this distance neighbouring limits share their word.
const APART: f64 = 14.0;
/// Room on the right for that word.
const LIMIT: f64 = 42.0;

/// The chart on paper.
pub fn chart_drawing(chart: &Chart) -> Drawing {
    let labels = chart.up.ticks.iter().map(|tick| width_of(&tick.label));
    let names = chart.rows.iter().map(|row| width_of(row.name));
    let left = labels.chain(names).fold(40.0, f64::max) + 8.0;
    let below = NUMBERS + ROW * (1.0 + chart.rows.len() as f64);
    let mut paper = Paper {
        chart,
        left,
        right: if chart.limits.is_empty() {
            WIDTH
        } else {
            WIDTH - LIMIT
        },
        drawing: Drawing::new(
            chart.name,
            chart.title.clone(),
            chart.description.clone(),
            (WIDTH, ABOVE + HEIGHT + below),
        ),
    };
    paper.head();
    paper.frame();
    for trace in &chart.traces {
        paper.band(trace);
    }
    paper.levels();
    for trace in &chart.traces {
        paper.line(trace);
    }
    paper.limit_words();
    paper.rows();
    paper.drawing
}

/// A chart while it is being drawn.
struct Paper<'a> {
    chart: &'a Chart,
    /// Room on the left for the numbers.
    left: f64,
    /// The right end of the axis.
    right: f64,
    drawing: Drawing,
}

impl Paper<'_> {
    fn x(&self, value: f64) -> f64 {
        self.left + self.chart.across.share(value) * (self.right - self.left)
    }

    fn y(&self, value: f64) -> f64 {
        ABOVE + (1.0 - self.chart.up.share(value)) * HEIGHT
    }

    fn spot(&self, x: f64, y: f64) -> Spot {
        (self.x(x), self.y(y))
    }

    /// What runs upwards, and what the lines are.
    fn head(&mut self) {
        let chart = self.chart;
        let name = chart.up.name.clone();
        self.drawing
            .words((0.0, 31.0), Anchor::Start, Voice::Faint, name);
        if chart.traces.len() < 2 {
            return;
        }
        let mut left = WIDTH;
        for trace in &chart.traces {
            left -= width_of(trace.name);
            let word = (left, 31.0);
            self.drawing
                .words(word, Anchor::Start, Voice::Faint, trace.name);
            left -= 28.0;
            self.drawing
                .line((left, 27.0), (left + 22.0, 27.0), ink(trace));
            if trace.meaning == Meaning::Read {
                self.mark((left + 11.0, 27.0), trace.mark);
            }
            left -= 8.0;
        }
    }

    fn frame(&mut self) {
        let chart = self.chart;
        let bottom = ABOVE + HEIGHT;
        for tick in &chart.up.ticks {
            let y = self.y(tick.value);
            let ink = if tick.value == 0.0 {
                Ink::Zero
            } else {
                Ink::Faint
            };
            self.drawing.line((self.left, y), (self.right, y), ink);
            let spot = (self.left - 6.0, y + 4.0);
            self.drawing
                .words(spot, Anchor::End, Voice::Plain, tick.label.clone());
        }
        self.drawing
            .line((self.left, ABOVE), (self.left, bottom), Ink::Zero);
        self.drawing
            .line((self.left, bottom), (self.right, bottom), Ink::Zero);
        for tick in &chart.across.ticks {
            let x = self.x(tick.value);
            self.drawing.line((x, bottom), (x, bottom + 4.0), Ink::Zero);
        }
        let words: Vec<(f64, &str)> = chart
            .across
            .ticks
            .iter()
            .map(|tick| (tick.value, tick.label.as_str()))
            .collect();
        self.row(bottom + NUMBERS, &words);
        let last = bottom + NUMBERS + ROW * (1.0 + chart.rows.len() as f64) - 2.0;
        let middle = f64::midpoint(self.left, self.right);
        self.drawing.words(
            (middle, last),
            Anchor::Middle,
            Voice::Faint,
            chart.across.name.clone(),
        );
    }

    fn band(&mut self, trace: &Trace) {
        let wide = |point: &Point| point.high > point.low;
        if trace.meaning != Meaning::Read || !trace.points.iter().any(wide) {
            return;
        }
        let ink = ink(trace);
        if self.chart.banded {
            let upper = trace.points.iter().map(|p| self.spot(p.x, p.high));
            let lower = trace.points.iter().rev().map(|p| self.spot(p.x, p.low));
            let spots = upper.chain(lower).collect();
            self.drawing.area(spots, ink, Fill::Pale);
            return;
        }
        for point in &trace.points {
            let (x, high, low) = (self.x(point.x), self.y(point.high), self.y(point.low));
            let corners = vec![
                (x - BAR, high),
                (x + BAR, high),
                (x + BAR, low),
                (x - BAR, low),
            ];
            self.drawing.area(corners, ink, Fill::Pale);
        }
    }

    fn levels(&mut self) {
        for limit in &self.chart.limits {
            let spots = match limit {
                Limit::Level(figure) => {
                    let y = self.y(*figure);
                    vec![(self.left, y), (self.right, y)]
                }
                Limit::Along(places) => places.iter().map(|(x, y)| self.spot(*x, *y)).collect(),
            };
            self.drawing.path(spots, Ink::Limit);
        }
    }

    fn limit_words(&mut self) {
        let right = |limit: &Limit| limit.figures().last().copied();
        let mut heights: Vec<f64> = self
            .chart
            .limits
            .iter()
            .filter_map(|limit| Some(self.y(right(limit)?)))
            .collect();
        // The lowest first.
        heights.sort_by(|a, b| b.total_cmp(a));
        for near in heights.chunk_by(|below, above| below - above < APART) {
            let middle = f64::midpoint(near[0], near[near.len() - 1]);
            let word = if near.len() > 1 { "limits" } else { "limit" };
            let spot = (self.right + 5.0, middle + 4.0);
            self.drawing.words(spot, Anchor::Start, Voice::Faint, word);
        }
    }

    fn line(&mut self, trace: &Trace) {
        let spots: Vec<Spot> = trace.points.iter().map(|p| self.spot(p.x, p.y)).collect();
        self.drawing.path(spots.clone(), ink(trace));
        if trace.meaning == Meaning::Read {
            for spot in spots {
                self.mark(spot, trace.mark);
            }
        }
    }

    fn mark(&mut self, (x, y): Spot, mark: Mark) {
        match mark {
            Mark::Round => self.drawing.circle((x, y), MARK, Ink::Front, Fill::Solid),
            Mark::Square => {
                let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
                let corners = corners.map(|(a, b)| (x + a * MARK, y + b * MARK)).to_vec();
                self.drawing.area(corners, Ink::Rear, Fill::Solid);
            }
        }
    }

    fn rows(&mut self) {
        for (k, row) in self.chart.rows.iter().enumerate() {
            let line = ABOVE + HEIGHT + NUMBERS + ROW * (1.0 + k as f64);
            self.drawing
                .words((0.0, line), Anchor::Start, Voice::Faint, row.name);
            let words: Vec<(f64, &str)> = row
                .words
                .iter()
                .map(|under| (under.x, under.words.as_str()))
                .collect();
            self.row(line, &words);
            if row.marked {
                self.marks(&words);
            }
        }
    }

    /// Marks at the axis for places whose words may not have found room.
    fn marks(&mut self, words: &[(f64, &str)]) {
        let axis = ABOVE + HEIGHT;
        for (place, _) in words {
            let x = self.x(*place);
            let corners = vec![
                (x - 3.0, axis + 5.5),
                (x + 3.0, axis + 5.5),
                (x, axis + 0.5),
            ];
            self.drawing.area(corners, Ink::Line, Fill::Solid);
        }
    }

    /// Words below their places, where they fit.
    fn row(&mut self, line: f64, words: &[(f64, &str)]) {
        let places = words
            .iter()
            .map(|(place, word)| (self.x(*place), width_of(word)));
        let room = (self.left - 6.0, (self.right + 10.0).min(WIDTH));
        for (index, start) in fitting(places, room, 6.0) {
            let middle = start + width_of(words[index].1) / 2.0;
            let spot = (middle, line);
            self.drawing
                .words(spot, Anchor::Middle, Voice::Plain, words[index].1);
        }
    }
}

fn ink(trace: &Trace) -> Ink {
    match (trace.meaning, trace.mark) {
        (Meaning::Before, _) => Ink::Before,
        (Meaning::Expected, _) => Ink::Expected,
        (Meaning::Read, Mark::Round) => Ink::Front,
        (Meaning::Read, Mark::Square) => Ink::Rear,
    }
}
