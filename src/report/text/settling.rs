//! What would settle a verdict that is too close to call.

use super::page::Page;
use super::prose::{Prose, TIE};
use super::scale::{Scale, place};
use super::words;
use crate::geometry::{Remedy, Settling, Subject, Verdict};
use crate::report::ShapeReport;
use crate::survey::LengthUnit;
use crate::survey::units::short_number;

/// What comes first where the bubble left its scale.
const ON_THE_SCALE: &str =
    "bring the bubble back onto its scale first, with a coarser level or a rough turn";

/// One paragraph for each unsure figure; nothing where none is.
pub(super) fn settling(page: &mut Page, report: &ShapeReport, units: LengthUnit) {
    let unsure = report.judgement.overall() == Some(Verdict::Unsure);
    if unsure && report.adjustment.off_scale_used() > 0 {
        // However often the others are read, this one stays open.
        page.hanging(
            "Settle ",
            &Prose::from(format!("everything: {ON_THE_SCALE}")),
        );
        return;
    }
    let chunks = report.settling.chunk_by(|a, b| a.subject == b.subject);
    for (k, remedies) in chunks.enumerate() {
        let label = if k == 0 { "Settle " } else { "       " };
        page.hanging(label, &one(report, remedies, units));
    }
}

/// The remedies of one figure that settle it.
fn one(report: &ShapeReport, remedies: &[Settling], units: LengthUnit) -> Prose {
    let Some(first) = remedies.first() else {
        return Prose::new();
    };
    let (name, scale): (String, fn(LengthUnit, f64) -> Scale) = match first.subject {
        Subject::Twist => ("twist".to_owned(), Scale::slopes),
        Subject::Crown(side) => (format!("{} crown", words::side(side)), Scale::lengths),
        Subject::Straightness(side) => (
            format!("{} straightness", words::side(side)),
            Scale::lengths,
        ),
        Subject::TwistPerMetre => ("twist over any metre".to_owned(), Scale::slopes),
        Subject::Local(side, limit) => {
            let over = place(limit.over, units);
            (
                format!("{} straightness over any {over}", words::side(side)),
                Scale::lengths,
            )
        }
        Subject::Convex(side) => (
            format!("question whether the {} way is convex", words::side(side)),
            Scale::lengths,
        ),
    };
    let settle: Vec<String> = remedies
        .iter()
        .filter(|settling| settling.settles)
        .map(|settling| {
            let u95 = scale(units, settling.u95).with_unit(settling.u95);
            format!("{} (±{u95})", remedy(&settling.remedy, units))
        })
        .collect();
    if settle.is_empty() && report.adjustment.off_scale_total() > 0 {
        return Prose::from(format!("the {name}: {ON_THE_SCALE}"));
    }
    if settle.is_empty() {
        return Prose::from(format!(
            "the {name}: it lies so near its limit that nothing to be had would settle it"
        ));
    }
    Prose::from(format!("the {name}: {}", settle.join(", or ")))
}

fn remedy(remedy: &Remedy, units: LengthUnit) -> String {
    match remedy {
        Remedy::Passes(passes) => {
            format!("{passes}{TIE}passes like this one, this one counted")
        }
        Remedy::Reversal => "the level reversed at one station of each line".to_owned(),
        Remedy::DenserStations => "stations twice as dense".to_owned(),
        Remedy::Division(division) => {
            let unit = units.slope();
            let number = short_number(unit.from_si(*division), 6);
            format!(
                "a level of {number}{TIE}{} a{TIE}division, read as well in its divisions",
                unit.name()
            )
        }
        Remedy::Level(name) => format!("level {name}"),
    }
}
