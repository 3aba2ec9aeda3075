//! What is left for the headstock or the tailstock, and what to do about it.

use super::super::prose::{Prose, TIE};
use super::super::scale::Scale;
use super::super::shape::Telling;
use super::{over, with_give};
use crate::cut::conclusion::Cause;
use crate::cut::{ChosenTwist, Found, Left, NoConclusion, Testimony, Witness};
use crate::geometry::{Figure, Verdict};
use crate::report::CutReport;
use crate::survey::LengthUnit;
use crate::survey::units::{ARCSECOND, short_number};

/// Decimals of a twist that the person is to write into the survey.
const DECIMALS_TO_WRITE: usize = 4;

/// Whether the taper is inside its class, and so to be left.
fn is_inside(report: &CutReport) -> bool {
    matches!(report.taper_verdict(), Some((Verdict::Inside, _)))
}

/// What is left, each fact with its label; how far to slew only where there is a reason to.
pub(super) fn cause(
    report: &CutReport,
    left: &Left,
    units: LengthUnit,
) -> Vec<(&'static str, Prose)> {
    let mut facts = Vec::new();
    let is_real = left.found == Found::Something;
    let direction = |figure: Figure| if figure.value < 0.0 { "front" } else { "rear" };
    match left.cause {
        Cause::Headstock {
            to_rear, movement, ..
        } => {
            let scale = Scale::slopes(units, to_rear.u95);
            let arcseconds = short_number(ARCSECOND.from_si(to_rear.value.abs()), 1);
            facts.push((
                "Left     ",
                Prose::from(if is_real {
                    format!(
                        "{}: away from the headstock the spindle points to the {} by {} ({arcseconds}{TIE}arcsec)",
                        over(left.rate, units),
                        direction(to_rear),
                        with_give(to_rear, &scale)
                    )
                } else {
                    format!("{}: could be nothing", over(left.rate, units))
                }),
            ));
            if let (true, Some(movement)) = (is_real && !is_inside(report), movement) {
                let scale = Scale::lengths(units, movement.u95);
                let (outer, inner) = if movement.value < 0.0 {
                    ("front", "rear")
                } else {
                    ("rear", "front")
                };
                facts.push((
                    "         ",
                    Prose::from(format!(
                        "to slew it back, move its end away from the chuck to the {outer} by {} where it pivots near \
                         the chuck; where it pivots at that end, move the chuck's end to the {inner} by as much",
                        with_give(movement, &scale)
                    )),
                ));
            }
        }
        Cause::Tailstock { to_rear } => {
            let scale = Scale::lengths(units, to_rear.u95);
            facts.push((
                "Left     ",
                Prose::from(if is_real {
                    format!(
                        "{}: the tailstock's centre stands to the {} of the spindle's axis by {}",
                        over(left.rate, units),
                        direction(to_rear),
                        with_give(to_rear, &scale)
                    )
                } else {
                    format!("{}: could be nothing", over(left.rate, units))
                }),
            ));
        }
    }
    facts
}

/// Whether another bar is to be cut.
pub(super) fn asks_for_a_cut(report: &CutReport) -> bool {
    let is_plain = matches!(&report.conclusion.left, Ok(left) if is_inside(report) || left.found == Found::Nothing);
    !is_plain
        && !matches!(
            report.conclusion.left,
            Err(NoConclusion::NotExplained | NoConclusion::NoDiameter)
        )
}

/// What to do next.
pub(super) fn next(report: &CutReport, telling: &Telling) -> Prose {
    let left = match &report.conclusion.left {
        Ok(left) => left,
        Err(NoConclusion::TailstockUsed | NoConclusion::Sagged | NoConclusion::Unsupported) => {
            return Prose::from(
                "turn another bar, stiff and held by the chuck alone, and measure it again.",
            );
        }
        Err(NoConclusion::NoDiameter) => {
            return Prose::from("write `bar_diameter` under the cut and ask again.");
        }
        Err(NoConclusion::NotStraight(_)) => {
            return Prose::from(
                "slew nothing. Suspect ways worn near the chuck, a grip that gave, an uneven cut. Turn five collars \
                 or more and measure each twice.",
            );
        }
        Err(NoConclusion::NotExplained) => {
            return Prose::from("add what is missing to the survey and ask again.");
        }
    };
    match (report.taper_verdict(), left.found) {
        (Some((Verdict::Inside, _)), _) => {
            return Prose::from("leave it: the taper is inside its class.");
        }
        (_, Found::MaybeTheBar) => {
            return Prose::from(
                "slew nothing. Take a thicker or a shorter bar, go over it twice more at the same cross-slide setting \
                 and measure again; `force` under the cut says how hard that pushed.",
            );
        }
        (_, Found::Nothing) => {
            return Prose::from(
                "nothing to slew and nothing to aim at; a finer micrometer or a longer bar would see more.",
            );
        }
        (Some((Verdict::Unsure, _)), _) => {
            return Prose::from(
                "slew nothing yet: whether the taper is inside its class is too close to call. Cut and measure again.",
            );
        }
        _ => {}
    }
    match left.cause {
        Cause::Tailstock { to_rear } => {
            let scale = Scale::lengths(telling.units, to_rear.u95);
            let to = if to_rear.value < 0.0 { "rear" } else { "front" };
            Prose::new()
                .strong(format!(
                    "set the tailstock over to the {to} by {}",
                    scale.with_unit(to_rear.value.abs())
                ))
                .plain(" and cut again, before anything is turned under the bed.")
        }
        Cause::Headstock {
            chosen, to_rear, ..
        } => match chosen {
            Some(ChosenTwist::Aim { twist }) => {
                let unit = telling.units.slope();
                Prose::from("the rest is small enough to aim the bed at it. Write under [aim]: ")
                    .strong(format!(
                        "twist = \"{}{TIE}{}\"",
                        short_number(unit.from_si(twist.value), DECIMALS_TO_WRITE),
                        unit.name()
                    ))
                    .plain(", and ")
                    .strong(format!("quarterturn turns {}", telling.file))
                    .plain(
                        " steers for it. The twist is then judged from there. Slewing the headstock is the \
                         other way; not both.",
                    )
            }
            Some(ChosenTwist::SlewHeadstock { twist, most }) => {
                let scale = Scale::slopes(telling.units, twist.u95);
                slewing(report, to_rear).plain(format!(
                    " Twisting the bed to match would take {} over its length, and more than {} of it, half of \
                     what the limits allow, is not to be had.",
                    scale.with_unit(twist.value.abs()),
                    scale.with_unit(most)
                ))
            }
            Some(ChosenTwist::NoLimit { .. }) => slewing(report, to_rear).plain(
                " Or set `twist` under [limits] to hear whether the bed's twist can be aimed at it.",
            ),
            Some(ChosenTwist::NothingToCancel) | None => slewing(report, to_rear),
        },
    }
}

/// What has to be before a headstock is slewed; common practice, no source.
fn slewing(report: &CutReport, to_rear: Figure) -> Prose {
    let name = |told: &Testimony| match told.witness {
        Witness::Cut(number) => format!("cut{TIE}{number}"),
        Witness::Face(number) => format!("face{TIE}{number}"),
    };
    let (agree, differ): (Vec<&Testimony>, Vec<&Testimony>) = report
        .testimony
        .iter()
        .partition(|told| told.agrees(to_rear));
    let names = |told: &[&Testimony]| {
        told.iter()
            .map(|told| name(told))
            .collect::<Vec<_>>()
            .join(", ")
    };
    let has_second = agree
        .iter()
        .any(|told| matches!(told.witness, Witness::Cut(_)));
    let has_disc = agree
        .iter()
        .any(|told| matches!(told.witness, Witness::Face(_)));
    let rule = "slew the headstock only where its maker provides for it and the work needs it";
    if !differ.is_empty() {
        return Prose::new().strong("slew nothing").plain(format!(
            ": {} does not agree with this cut. Find out why first.",
            names(&differ)
        ));
    }
    let missing = match (has_second, has_disc) {
        (true, true) => {
            return Prose::new()
                .strong(rule)
                .plain(format!("; {} say the same.", names(&agree)));
        }
        (false, false) => "cut a second bar and face a disc",
        (false, true) => "cut a second bar",
        (true, false) => "face a disc",
    };
    Prose::new()
        .strong(missing)
        .plain(format!(". Where all agree, {rule}."))
}

/// How to cut so that the bar tells of the machine; common practice, no source.
pub(super) const TO_CUT_AGAIN: [&str; 4] = [
    "Run the spindle warm first, half an hour at the speed of the cut.",
    "A sharp tool with a small nose, a fine feed, 0.1 mm deep at the last.",
    "Then twice more at the same cross-slide setting, so that the bar springs back.",
    "Let it cool, and measure every collar twice.",
];
