//! Charts in characters.

use super::canvas::{Canvas, DOTS_ACROSS, DOTS_DOWN};
use super::characters::{Characters, Pens};
use super::chart::{Chart, Limit, Mark, Meaning, Point, Trace, fitting};
use crate::report::text::{Prose, Tone};

/// Rows between the axes.
pub(super) const ROWS: usize = 9;
/// No plot is narrower between the axes.
const NARROWEST: usize = 16;
/// Share of a cell that the band must cover to shade it.
const SHADED: f64 = 0.4;

/// The chart in lines of at most `width` characters.
pub fn plot(chart: &Chart, width: usize, characters: Characters) -> Vec<Prose> {
    let gutter = 1 + chart
        .up
        .ticks
        .iter()
        .map(|tick| tick.label.chars().count())
        .max()
        .unwrap_or(0)
        .max(4);
    let columns = width.saturating_sub(gutter + 1).max(NARROWEST);
    let mut plot = Plot {
        chart,
        characters,
        pens: characters.pens(),
        gutter,
        columns,
        canvas: Canvas::new(gutter + 1 + columns, ROWS + 2 + chart.rows.len()),
    };
    plot.band();
    plot.levels();
    for trace in &chart.traces {
        plot.line(trace);
    }
    plot.axes();
    plot.rows();
    plot.canvas.lines()
}

/// A chart while it is being drawn.
struct Plot<'a> {
    chart: &'a Chart,
    characters: Characters,
    pens: Pens,
    gutter: usize,
    columns: usize,
    canvas: Canvas,
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn whole(number: f64, most: usize) -> usize {
    // A negative number or one that is not one becomes 0.
    (number.max(0.0) as usize).min(most)
}

impl Plot<'_> {
    /// Height above the lower axis in rows.
    fn height(&self, y: f64) -> f64 {
        self.chart.up.share(y) * ROWS as f64
    }

    /// The row that shows a figure.
    fn row(&self, y: f64) -> usize {
        ROWS - 1 - whole(self.height(y), ROWS - 1)
    }

    /// The column of a place, between the axes.
    fn column(&self, x: f64) -> usize {
        whole(
            self.chart.across.share(x) * self.columns as f64,
            self.columns - 1,
        )
    }

    /// The place under a share of the width.
    fn place(&self, share: f64) -> f64 {
        let across = &self.chart.across;
        across.low + share * (across.high - across.low)
    }

    /// A column of the screen for one between the axes.
    fn screen(&self, column: usize) -> usize {
        self.gutter + 1 + column
    }

    /// The line at the middle of a column.
    fn under(&self, trace: &Trace, column: usize) -> Option<Point> {
        trace.at(self.place((column as f64 + 0.5) / self.columns as f64))
    }

    fn main(&self) -> impl Iterator<Item = &'_ Trace> {
        self.chart
            .traces
            .iter()
            .filter(|trace| trace.meaning == Meaning::Read)
    }

    fn band(&mut self) {
        let mut shaded = Vec::new();
        for trace in self.main() {
            if !self.chart.banded {
                for point in &trace.points {
                    let rows = self.row(point.high)..=self.row(point.low);
                    shaded.extend(rows.map(|row| (self.column(point.x), row)));
                }
                continue;
            }
            for column in 0..self.columns {
                let Some(point) = self.under(trace, column) else {
                    continue;
                };
                let (low, high) = (self.height(point.low), self.height(point.high));
                for row in 0..ROWS {
                    let bottom = (ROWS - 1 - row) as f64;
                    let covered = high.min(bottom + 1.0) - low.max(bottom);
                    if covered > SHADED {
                        shaded.push((column, row));
                    }
                }
            }
        }
        for (column, row) in shaded {
            let column = self.screen(column);
            self.canvas.put(column, row, self.pens.band, Tone::Faint);
        }
    }

    /// The line of nothing, and the limits.
    fn levels(&mut self) {
        let chart = self.chart;
        let nothing = (Limit::Level(0.0), self.pens.level, Tone::Faint);
        let limit = |limit: &Limit| (limit.clone(), self.pens.limit, Tone::Plain);
        let lines: Vec<(Limit, char, Tone)> = std::iter::once(nothing)
            .chain(chart.limits.iter().map(limit))
            .collect();
        for (line, pen, tone) in lines {
            for column in 0..self.columns {
                let place = self.place((column as f64 + 0.5) / self.columns as f64);
                if let Some(y) = line.at(place).filter(|y| chart.up.holds(*y)) {
                    let (column, row) = (self.screen(column), self.row(y));
                    self.canvas.put(column, row, pen, tone);
                }
            }
        }
    }

    fn line(&mut self, trace: &Trace) {
        match self.characters {
            Characters::Unicode => self.fine_line(trace),
            Characters::Ascii => self.coarse_line(trace),
        }
        if trace.meaning != Meaning::Read {
            return;
        }
        let pen = match trace.mark {
            Mark::Round => self.pens.round,
            Mark::Square => self.pens.square,
        };
        for point in &trace.points {
            let (column, row) = (self.screen(self.column(point.x)), self.row(point.y));
            self.canvas.put(column, row, pen, Tone::Strong);
        }
    }

    /// A line of dots; one that was not read has every other dot.
    fn fine_line(&mut self, trace: &Trace) {
        let across = self.columns * DOTS_ACROSS;
        let down = ROWS * DOTS_DOWN;
        let (step, tone) = match trace.meaning {
            Meaning::Read => (1, Tone::Strong),
            Meaning::Before | Meaning::Expected => (2, Tone::Plain),
        };
        let mut last: Option<usize> = None;
        for dot in (0..across).step_by(step) {
            let place = self.place((dot as f64 + 0.5) / across as f64);
            let Some(point) = trace.at(place) else {
                last = None;
                continue;
            };
            let share = self.chart.up.share(point.y);
            let here = down - 1 - whole(share * down as f64, down - 1);
            // A steep line stays whole.
            let from = last.map_or(here, |last| {
                if last < here {
                    last + 1
                } else {
                    last.max(1) - 1
                }
            });
            let (top, bottom) = if last == Some(here) || last.is_none() {
                (here, here)
            } else {
                (from.min(here), from.max(here))
            };
            let whole_line = top..=bottom;
            for height in whole_line.step_by(step) {
                self.canvas
                    .dot((self.gutter + 1) * DOTS_ACROSS + dot, height, tone);
            }
            last = Some(here);
        }
    }

    /// A line of one character to a column, filled up where it is steep.
    fn coarse_line(&mut self, trace: &Trace) {
        let (pen, tone) = match trace.meaning {
            Meaning::Read => ('*', Tone::Strong),
            Meaning::Before | Meaning::Expected => ('.', Tone::Plain),
        };
        let mut last: Option<usize> = None;
        for column in 0..self.columns {
            let Some(point) = self.under(trace, column) else {
                last = None;
                continue;
            };
            let here = self.row(point.y);
            let (top, bottom) = match last {
                Some(last) if last + 1 < here => (last + 1, here),
                Some(last) if here + 1 < last => (here, last - 1),
                _ => (here, here),
            };
            for row in top..=bottom {
                let column = self.screen(column);
                self.canvas.put(column, row, pen, tone);
            }
            last = Some(here);
        }
    }

    fn axes(&mut self) {
        let left = self.gutter;
        for row in 0..ROWS {
            self.canvas.put(left, row, self.pens.upright, Tone::Faint);
        }
        for tick in &self.chart.up.ticks {
            let row = self.row(tick.value);
            let pen = if tick.value == 0.0 {
                self.pens.zero_tick
            } else {
                self.pens.tick_up
            };
            self.canvas.put(left, row, pen, Tone::Faint);
            let start = left - 1 - tick.label.chars().count();
            self.canvas.write(start, row, &tick.label, Tone::Plain);
        }
        self.canvas.put(left, ROWS, self.pens.corner, Tone::Faint);
        for column in 0..self.columns {
            let column = self.screen(column);
            self.canvas.put(column, ROWS, self.pens.level, Tone::Faint);
        }
        let ticks = &self.chart.across.ticks;
        for tick in ticks {
            let column = self.screen(self.column(tick.value));
            self.canvas
                .put(column, ROWS, self.pens.tick_across, Tone::Faint);
        }
        let unit: String = self
            .chart
            .across
            .name
            .chars()
            .take_while(|c| *c != ' ')
            .collect();
        self.label(ROWS + 1, &unit);
        let words: Vec<(f64, String)> = ticks
            .iter()
            .map(|tick| (tick.value, tick.label.clone()))
            .collect();
        self.under_axis(ROWS + 1, &words, None);
    }

    fn rows(&mut self) {
        for (k, row) in self.chart.rows.iter().enumerate() {
            let label = if k == 0 {
                row.name.split(' ').next_back().unwrap_or_default()
            } else {
                ""
            };
            self.label(ROWS + 2 + k, label);
            let words: Vec<(f64, String)> = row
                .words
                .iter()
                .map(|under| {
                    (
                        under.x,
                        under.words.replace('…', &self.pens.more.to_string()),
                    )
                })
                .collect();
            let mark = row.marked.then_some(self.pens.foot);
            self.under_axis(ROWS + 2 + k, &words, mark);
        }
    }

    /// A word in the gutter.
    fn label(&mut self, row: usize, word: &str) {
        let word: String = word.chars().take(self.gutter).collect();
        let start = self.gutter - word.chars().count();
        self.canvas.write(start, row, &word, Tone::Faint);
    }

    /// Words below their places, where they fit; the other places are marked.
    fn under_axis(&mut self, row: usize, words: &[(f64, String)], mark: Option<char>) {
        if let Some(mark) = mark {
            for (place, _) in words {
                let column = self.screen(self.column(*place));
                self.canvas.put(column, row, mark, Tone::Plain);
            }
        }
        let left = self.screen(0) as f64;
        let places = words.iter().map(|(place, word)| {
            let middle = self.screen(self.column(*place)) as f64 + 0.5;
            (middle, word.chars().count() as f64)
        });
        for (index, start) in fitting(places, (left, left + self.columns as f64), 1.0) {
            let start = whole(start, usize::MAX);
            self.canvas.write(start, row, &words[index].1, Tone::Plain);
        }
    }
}
