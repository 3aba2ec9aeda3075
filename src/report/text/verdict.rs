//! Verdicts in words.

use super::prose::{Prose, TIE, Tone};
use super::scale::Scale;
use super::words::{crown_between, form};
use crate::geometry::judgement::allows_both;
use crate::geometry::{Figure, Verdict};
use crate::report::ShapeReport;
use crate::survey::{LengthUnit, Limits, Word};

/// The words for a verdict.
pub(in crate::report) fn words(verdict: Verdict) -> (Tone, &'static str) {
    match verdict {
        Verdict::Inside => (Tone::Good, "inside"),
        Verdict::Unsure => (Tone::Doubt, "too close to call"),
        Verdict::Outside => (Tone::Bad, "outside"),
    }
}

/// A figure and the verdict on it, if there is one.
pub(super) fn judged(figure: Prose, verdict: Option<Verdict>) -> Prose {
    match verdict.map(words) {
        None => figure,
        Some((tone, words)) => figure.plain(": ").toned(tone, words),
    }
}

/// What a way departs to the other side than its crown or sag, where that is less surely inside than those are.
pub(super) fn elsewhere(
    crown: Option<Figure>,
    opposite: Option<Figure>,
    limits: &Limits,
    units: LengthUnit,
) -> Option<Prose> {
    let (opposite, ends) = opposite.zip(limits.crown)?;
    let verdict = opposite.verdict(ends[0], ends[1]);
    let worse = crown.is_some_and(|crown| verdict > crown.verdict(ends[0], ends[1]));
    (allows_both(&opposite, ends) && worse).then(|| {
        let scale = Scale::lengths(units, opposite.u95);
        let words = format!(
            "elsewhere {}{TIE}{}, {}",
            form(opposite.value + opposite.low),
            scale.with_unit(opposite.value.abs()),
            crown_between(&opposite, &scale)
        );
        judged(words.into(), Some(verdict))
    })
}

/// The verdict on the whole bed.
pub(in crate::report) fn headline(report: &ShapeReport) -> Prose {
    let limits = &report.survey.limits;
    let judgement = &report.judgement;
    if judgement.proven(limits) && judgement.overall().is_some() {
        return Prose::new()
            .plain("The bed is ")
            .toned(Tone::Good, "inside its limits")
            .plain(".");
    }
    match judgement.overall() {
        Some(Verdict::Outside) => Prose::new()
            .plain("The bed is ")
            .toned(Tone::Bad, "outside its limits")
            .plain("."),
        Some(Verdict::Unsure) => Prose::new()
            .plain("Whether the bed is inside its limits is ")
            .toned(Tone::Doubt, "too close to call")
            .plain("."),
        Some(Verdict::Inside) => Prose::new()
            .plain("What is known of the bed is inside its limits, but ")
            .toned(Tone::Doubt, "not everything is known")
            .plain("."),
        None if limits.is_empty() => {
            Prose::from("The survey sets no limits, so there is no verdict.")
        }
        None => Prose::new()
            .plain("These readings ")
            .toned(Tone::Doubt, "cannot tell")
            .plain(" whether the bed is inside its limits."),
    }
}

/// Where limits that were asked for by name come from, if any were.
pub(super) fn class_of_limits(limits: &Limits) -> Option<Prose> {
    let class = limits.class?;
    Some(Prose::new().faint(format!(
        "Limits of class {}: ISO 1708, from memory; your copy of the standard rules.",
        class.word()
    )))
}
