//! Charts on paper.

use super::chart::{Chart, Mark, Meaning, Point, Trace, fitting};
use super::drawing::{Anchor, Drawing, Fill, Ink, Spot, Voice, width_of};

/// Width of the paper: half of a page, or all of a phone.
const WIDTH: f64 = 440.0;
/// Height between the axes.
const HEIGHT: f64 = 150.0;
/// Room above for the title and what the axis upwards is called.
const ABOVE: f64 = 42.0;
/// Height of a row of words below.
const ROW: f64 = 15.0;
/// Radius of the marks at places.
const MARK: f64 = 2.8;
/// Half of the width of a bar of uncertainty.
const BAR: f64 = 5.0;
/// Below this distance two limits share their word.
const APART: f64 = 32.0;

/// The chart on paper.
pub fn chart_drawing(chart: &Chart) -> Drawing {
    let labels = chart.up.ticks.iter().map(|tick| width_of(&tick.label));
    let names = chart.rows.iter().map(|row| width_of(row.name));
    let left = labels.chain(names).fold(40.0, f64::max) + 8.0;
    let below = ROW * (2.0 + chart.rows.len() as f64);
    let mut paper = Paper {
        chart,
        left,
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
    drawing: Drawing,
}

impl Paper<'_> {
    fn x(&self, value: f64) -> f64 {
        self.left + self.chart.across.share(value) * (WIDTH - self.left)
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
        let mut right = WIDTH;
        for trace in &chart.traces {
            let word = trace.name;
            self.drawing
                .words((right, 31.0), Anchor::End, Voice::Faint, word);
            right -= width_of(word) + 4.0;
            let ink = ink(trace);
            self.drawing.line((right - 22.0, 27.0), (right, 27.0), ink);
            if trace.meaning == Meaning::Read {
                self.mark((right - 11.0, 27.0), trace.mark);
            }
            right -= 36.0;
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
            self.drawing.line((self.left, y), (WIDTH, y), ink);
            let spot = (self.left - 6.0, y + 4.0);
            self.drawing
                .words(spot, Anchor::End, Voice::Plain, tick.label.clone());
        }
        self.drawing
            .line((self.left, ABOVE), (self.left, bottom), Ink::Zero);
        self.drawing
            .line((self.left, bottom), (WIDTH, bottom), Ink::Zero);
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
        self.row(bottom + ROW, &words, Voice::Plain);
        let last = bottom + ROW * (2.0 + chart.rows.len() as f64) - 2.0;
        let middle = f64::midpoint(self.left, WIDTH);
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
            let y = self.y(*limit);
            self.drawing.line((self.left, y), (WIDTH, y), Ink::Limit);
        }
    }

    fn limit_words(&mut self) {
        let heights: Vec<f64> = self
            .chart
            .limits
            .iter()
            .map(|limit| self.y(*limit))
            .collect();
        let mut word = |y: f64, word: &str| {
            self.drawing
                .words((WIDTH - 2.0, y), Anchor::End, Voice::Faint, word);
        };
        match heights.as_slice() {
            [low, high] if low - high >= APART => {
                word(high + 11.0, "limit");
                word(low - 4.0, "limit");
            }
            [_, high] if high - ABOVE > 14.0 => word(high - 4.0, "limits"),
            [low, _] => word(low + 12.0, "limits"),
            [only] if only - ABOVE > 14.0 => word(only - 4.0, "limit"),
            [only] => word(only + 12.0, "limit"),
            _ => {}
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
            let line = ABOVE + HEIGHT + ROW * (2.0 + k as f64);
            self.drawing
                .words((0.0, line), Anchor::Start, Voice::Faint, row.name);
            let words: Vec<(f64, &str)> = row
                .words
                .iter()
                .map(|under| (under.x, under.words.as_str()))
                .collect();
            let placed = self.row(line, &words, Voice::Plain);
            if !row.marked {
                continue;
            }
            for (index, (place, _)) in words.iter().enumerate() {
                if !placed.contains(&index) {
                    let x = self.x(*place);
                    let corners = vec![(x - 3.0, line), (x + 3.0, line), (x, line - 6.0)];
                    self.drawing.area(corners, Ink::Line, Fill::Solid);
                }
            }
        }
    }

    /// Words below their places, where they fit; says which do.
    fn row(&mut self, line: f64, words: &[(f64, &str)], voice: Voice) -> Vec<usize> {
        let places = words
            .iter()
            .map(|(place, word)| (self.x(*place), width_of(word)));
        let placed = fitting(places, (self.left - 6.0, WIDTH), 6.0);
        for (index, start) in &placed {
            let middle = start + width_of(words[*index].1) / 2.0;
            self.drawing
                .words((middle, line), Anchor::Middle, voice, words[*index].1);
        }
        placed.into_iter().map(|(index, _)| index).collect()
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
