//! Drawings among the text.

use super::page::Page;
use super::prose::Prose;
use crate::report::draw::{Characters, Chart, heading, legend, plot};

/// The charts one below the other, and what their signs mean.
pub(super) fn plots(page: &mut Page, charts: &[Chart], characters: Characters) {
    for chart in charts {
        page.gap();
        page.paragraph(&heading(chart));
        page.drawing(&plot(chart, page.width(), characters));
    }
    if !charts.is_empty() {
        page.paragraph(&Prose::new().faint(legend(charts, characters)));
    }
}
