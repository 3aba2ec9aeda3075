//! What is left for the headstock or the tailstock, and what to do about it.

use super::super::prose::{Prose, TIE};
use super::super::scale::Scale;
use super::super::shape::Telling;
use super::{over, with_give};
use crate::cut::conclusion::Cause;
use crate::cut::{ChosenTwist, Left, NoConclusion};
use crate::geometry::Figure;
use crate::report::CutReport;
use crate::survey::LengthUnit;
use crate::survey::units::{ARCSECOND, short_number};

/// Decimals of a twist that the person is to write into the survey.
const DECIMALS_TO_WRITE: usize = 4;

/// What is left, each fact with its label.
pub(super) fn cause(left: &Left, units: LengthUnit) -> Vec<(&'static str, Prose)> {
    let mut facts = Vec::new();
    let direction = |figure: Figure| if figure.value < 0.0 { "front" } else { "rear" };
    match left.cause {
        Cause::Headstock {
            to_rear, movement, ..
        } => {
            let scale = Scale::slopes(units, to_rear.u95);
            let arcseconds = short_number(ARCSECOND.from_si(to_rear.value.abs()), 1);
            facts.push((
                "Left     ",
                Prose::from(if left.is_real {
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
            if let (true, Some(movement)) = (left.is_real, movement) {
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
                Prose::from(if left.is_real {
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

/// What to do next.
pub(super) fn next(report: &CutReport, telling: &Telling) -> Prose {
    let left = match &report.conclusion.left {
        Ok(left) => left,
        Err(NoConclusion::TailstockUsed | NoConclusion::Sagged) => {
            return Prose::from(
                "turn another bar, stiff and held by the chuck alone, and measure it again.",
            );
        }
        Err(NoConclusion::NotExplained) => {
            return Prose::from("add what is missing to the survey and ask again.");
        }
    };
    if !left.is_real {
        return Prose::from(
            "nothing to slew and nothing to aim at; a finer micrometer or a longer bar would see more.",
        );
    }
    match left.cause {
        Cause::Tailstock { .. } => Prose::from(
            "set the tailstock over and cut again, before anything is turned under the bed.",
        ),
        Cause::Headstock { chosen, .. } => match chosen {
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
                Prose::new().strong("slew the headstock").plain(format!(
                    ". Twisting the bed to match would take {} over its length, and more than {} of it, half of \
                     what the limits allow, is not to be had.",
                    scale.with_unit(twist.value.abs()),
                    scale.with_unit(most)
                ))
            }
            Some(ChosenTwist::NoLimit { .. }) => Prose::from(
                "slew the headstock back; or set `twist` under [limits] to hear whether the bed's twist can be \
                 aimed at it.",
            ),
            Some(ChosenTwist::NothingToCancel) | None => Prose::from("slew the headstock back."),
        },
    }
}
