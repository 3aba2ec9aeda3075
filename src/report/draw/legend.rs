//! Words above and below plots.

use super::characters::Characters;
use super::chart::{Chart, Mark, Meaning};
use super::plot::ROWS;
use crate::report::text::Prose;

/// What stands above a plot.
pub fn heading(chart: &Chart) -> Prose {
    Prose::new()
        .strong(chart.title.clone())
        .plain(format!(", {}", chart.up.name))
}

/// What the signs in these charts mean, in one sentence.
pub fn legend(charts: &[Chart], characters: Characters) -> String {
    let pens = characters.pens();
    let traces = || charts.iter().flat_map(|chart| chart.traces.iter());
    let marked = |mark: Mark| traces().any(|trace| trace.mark == mark);
    let mut signs = Vec::new();
    let marks: Vec<String> = [(Mark::Round, pens.round), (Mark::Square, pens.square)]
        .into_iter()
        .filter(|(mark, _)| marked(*mark))
        .map(|(_, pen)| pen.to_string())
        .collect();
    signs.push(format!("{} as read", marks.join(" ")));
    let widest = charts.iter().map(widest_band).fold(0.0, f64::max);
    if widest >= 1.0 {
        signs.push(format!("{0}{0} give or take (95 of 100)", pens.band));
    } else if widest > 0.0 {
        signs.push("give or take (95 of 100) is less than a row".to_owned());
    }
    if charts.iter().any(|chart| !chart.limits.is_empty()) {
        signs.push(format!("{0}{0} limits", pens.limit));
    }
    for meaning in [Meaning::Before, Meaning::Expected] {
        if traces().any(|trace| trace.meaning == meaning) {
            let dots = match characters {
                Characters::Unicode => "⠁⠈⠁⠈",
                Characters::Ascii => "...",
            };
            signs.push(format!("{dots} {}", meaning.word()));
        }
    }
    signs.join(", ")
}

/// The widest place of the band of what was read, in rows.
fn widest_band(chart: &Chart) -> f64 {
    let read = chart
        .traces
        .iter()
        .filter(|trace| trace.meaning == Meaning::Read);
    read.flat_map(|trace| trace.points.iter())
        .map(|point| (chart.up.share(point.high) - chart.up.share(point.low)) * ROWS as f64)
        .fold(0.0, f64::max)
}
