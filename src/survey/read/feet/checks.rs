//! What must hold for all feet together.

use std::collections::HashSet;
use std::ops::Range;

use super::Draft;
use crate::survey::diagnostic::Diagnostic;
use crate::survey::document::Reader;

/// Two feet nearer than this stand at the same place, m.
const SAME_PLACE: f64 = 1e-3;

/// Reports feet that stand where another one does, each place once.
pub(super) fn report_same_places(reader: &Reader<'_>, feet: &[Draft]) {
    let mut order: Vec<&Draft> = feet.iter().filter(|draft| !draft.span.is_empty()).collect();
    order.sort_by(|one, other| one.foot.at.total_cmp(&other.foot.at));
    let mut reported = HashSet::new();
    for (index, one) in order.iter().enumerate() {
        let neighbour = order[index + 1..]
            .iter()
            .take_while(|other| other.foot.at - one.foot.at < SAME_PLACE)
            .find(|other| (other.foot.across - one.foot.across).abs() < SAME_PLACE);
        let Some(other) = neighbour else { continue };
        let (first, second) = if one.span.start <= other.span.start {
            (one, other)
        } else {
            (other, one)
        };
        if reported.insert(second.span.clone()) {
            reader.report(
                Diagnostic::new(
                    second.span.clone(),
                    format!(
                        "`{}` stands where `{}` does",
                        second.foot.name, first.foot.name
                    ),
                )
                .label("the same place")
                .help("give every foot its own place along the bed"),
            );
        }
    }
}

/// Reports feet of which nobody said what a turn lifts: once for all when there is a table for all.
pub(super) fn report_missing_lift(
    reader: &Reader<'_>,
    defaults: Option<Range<usize>>,
    feet: &[Draft],
) {
    const EXAMPLE: &str = "add a line like `lift_per_turn = 1.5`, what one whole turn lifts";
    let Some(draft) = feet.iter().find(|draft| !draft.has_lift) else {
        return;
    };
    let (span, title) = match defaults {
        Some(span) => (span, "`[feet]` has no `lift_per_turn`".to_owned()),
        None => (
            draft.heading.clone(),
            format!("`{}` has no `lift_per_turn`", draft.foot.name),
        ),
    };
    reader.report_missing(
        Diagnostic::new(span, title)
            .label("`lift_per_turn` is missing")
            .help(EXAMPLE),
    );
}
