//! What else the limits and the aim ask for, in words.

use super::prose::{Prose, TIE};
use super::scale::{Scale, place};
use super::verdict::judged;
use super::words;
use crate::geometry::{Figure, LocalWay};
use crate::report::ShapeReport;
use crate::survey::{LengthUnit, LocalLimit, Side};

/// What is told of the twist beside its range.
pub(in crate::report) fn of_twist(report: &ShapeReport, units: LengthUnit) -> Vec<Prose> {
    let limits = &report.survey.limits;
    let particulars = report.particulars;
    let mut facts = Vec::new();
    if let (Some(figure), Some(chosen)) = (particulars.twist_from_chosen, report.survey.aim.twist) {
        let scale = Scale::slopes(units, figure.u95);
        let words = format!(
            "from the chosen twist of {} over the bed: {}, {}",
            scale.limit(chosen),
            scale.with_unit(figure.value),
            words::between(&figure, &scale)
        );
        let verdict = limits.twist.map(|limit| figure.verdict(0.0, limit));
        facts.push(judged(words.into(), verdict));
    }
    if let Some(limit) = limits.twist_per_metre {
        facts.push(match particulars.twist_per_metre {
            None => Prose::from("over any metre not known"),
            Some(figure) => {
                let scale = Scale::slopes(units, figure.u95);
                let words = format!(
                    "over any metre {}, {}; limit {}",
                    scale.with_unit(figure.value),
                    words::between(&figure, &scale),
                    scale.limit(limit)
                );
                judged(words.into(), Some(figure.verdict(0.0, limit)))
            }
        });
    }
    facts
}

/// What is told of a way beside its crown and straightness.
pub(in crate::report) fn of_way(report: &ShapeReport, side: Side, units: LengthUnit) -> Vec<Prose> {
    let limits = &report.survey.limits;
    let particulars = report.particulars;
    let mut facts = Vec::new();
    let from_chosen = particulars
        .straightness_from_chosen
        .iter()
        .find(|(of, _)| *of == side);
    if let (Some((_, figure)), Some(chosen)) = (from_chosen, report.survey.aim.crown) {
        facts.push(from_crown(figure, chosen, limits.straightness, units));
    }
    for local in &particulars.local {
        let limit = local.limit;
        facts.push(match local.ways.iter().find(|way| way.side == side) {
            Some(way) => over_any_part(way, limit, units),
            None => Prose::from(format!("over any {} not known", place(limit.over, units))),
        });
    }
    if let Some(convex) = particulars.convex.iter().find(|way| way.side == side) {
        let scale = Scale::lengths(units, convex.lowest.u95);
        let words = if convex.lowest.value < 0.0 {
            format!(
                "hollow by {} at {}, give or take{TIE}{}; only convex is allowed",
                scale.with_unit(-convex.lowest.value),
                place(convex.at, units),
                scale.number(convex.lowest.u95)
            )
        } else {
            format!(
                "convex, nearest to its line at {} with {}, give or take{TIE}{}; only convex is allowed",
                place(convex.at, units),
                scale.with_unit(convex.lowest.value),
                scale.number(convex.lowest.u95)
            )
        };
        facts.push(judged(words.into(), Some(convex.verdict)));
    }
    facts
}

fn from_crown(figure: &Figure, chosen: f64, limit: Option<f64>, units: LengthUnit) -> Prose {
    let scale = Scale::lengths(units, figure.u95);
    let words = format!(
        "from the chosen {} of {}: straight within {}, {}",
        words::form(chosen),
        scale.limit(chosen.abs()),
        scale.with_unit(figure.value),
        words::between(figure, &scale)
    );
    judged(words.into(), limit.map(|limit| figure.verdict(0.0, limit)))
}

fn over_any_part(way: &LocalWay, limit: LocalLimit, units: LengthUnit) -> Prose {
    let figure = way.departure;
    let scale = Scale::lengths(units, figure.u95);
    let [first, last] = way.part.map(|at| place(at, units));
    let sparse = if way.scaled {
        "; the places stand too far apart, so longer parts were taken and carried over in proportion"
    } else {
        ""
    };
    let words = format!(
        "over any {}: {}, {}, the most from {first} to {last}{sparse}; limit {}",
        place(limit.over, units),
        scale.with_unit(figure.value),
        words::between(&figure, &scale),
        scale.limit(limit.height)
    );
    judged(words.into(), Some(figure.verdict(0.0, limit.height)))
}
