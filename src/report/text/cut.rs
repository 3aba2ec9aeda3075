//! What a test cut says, in words.

use super::head::date;
use super::page::Page;
use super::prose::{Prose, TIE, Tone};
use super::scale::{Scale, place};
use super::shape::Telling;
use super::verdict::judged;
use crate::cut::conclusion::Cause;
use crate::cut::deflection::{Deflection, LIGHT_CUT};
use crate::cut::explained::crown_effect;
use crate::cut::{ChosenTwist, Explained, Left, NoConclusion, NotExplained};
use crate::geometry::Figure;
use crate::report::CutReport;
use crate::survey::limit_class::TAPER_LENGTH;
use crate::survey::units::{ARCSECOND, short_number};
use crate::survey::{LengthUnit, Side};

/// A foot, m: over which a taper is told in inches.
const FOOT: f64 = 0.3048;

/// Decimals of a twist that the person is to write into the survey.
const DECIMALS_TO_WRITE: usize = 4;

/// What a cut says.
pub fn tell(report: &CutReport, telling: &Telling) -> String {
    let mut page = Page::new(telling.width);
    head(&mut page, report);
    page.gap();
    page.paragraph(&headline(report, telling.units));
    page.gap();
    for (k, fact) in taper(report, telling.units).iter().enumerate() {
        page.hanging(if k == 0 { "Taper    " } else { "         " }, fact);
    }
    page.hanging("Twist    ", &explained(report, telling.units));
    if let Some(barrel) = barrel(report, telling.units) {
        page.hanging("Barrel   ", &barrel);
    }
    if let Ok(left) = &report.conclusion.left {
        for (label, fact) in cause(left, telling.units) {
            page.hanging(label, &fact);
        }
    }
    page.gap();
    page.hanging("Next     ", &next(report, telling));
    page.heading("Bear in mind");
    for note in notes(report, telling.units) {
        page.hanging("- ", &note.into());
    }
    page.finish()
}

fn head(page: &mut Page, report: &CutReport) {
    let name = report.survey.machine.name.as_deref();
    page.paragraph(&Prose::new().strong(name.unwrap_or("Machine bed")));
    let mut parts = vec![format!(
        "Cut {} of {}",
        report.number,
        report.survey.cuts.len()
    )];
    parts.extend(report.cut.taken.as_ref().map(date));
    parts.push(
        if report.between_centres() {
            "between centres"
        } else {
            "in the chuck"
        }
        .to_owned(),
    );
    parts.push(
        match report.cut.tool {
            Side::Front => "tool at the front",
            Side::Rear => "tool at the rear",
        }
        .to_owned(),
    );
    if let Some(pass) = report.conclusion.pass {
        parts.push(format!("the bed as in pass{TIE}{}", pass + 1));
    }
    page.paragraph(&parts.join(", ").into());
    if let Some(note) = &report.cut.note {
        page.paragraph(&Prose::new().faint(format!("Note: {note}")));
    }
}

/// The length over which a taper is told, and its name.
fn reference(units: LengthUnit) -> (f64, &'static str) {
    match units {
        LengthUnit::Millimetre => (TAPER_LENGTH, "over 300\u{a0}mm"),
        LengthUnit::Inch => (FOOT, "per foot"),
    }
}

/// `+0.010 mm over 300 mm, give or take 0.003 mm`.
fn over(rate: Figure, units: LengthUnit) -> String {
    let (length, name) = reference(units);
    let scale = Scale::lengths(units, rate.u95 * length);
    format!(
        "{}{TIE}{} {name}, give or take{TIE}{}",
        scale.signed(rate.value * length),
        scale.unit(),
        scale.number(rate.u95 * length)
    )
}

fn with_give(figure: Figure, scale: &Scale) -> String {
    format!(
        "{}, give or take{TIE}{}",
        scale.with_unit(figure.value.abs()),
        scale.number(figure.u95)
    )
}

fn culprit(report: &CutReport) -> &'static str {
    if report.between_centres() {
        "tailstock"
    } else {
        "headstock"
    }
}

fn headline(report: &CutReport, units: LengthUnit) -> Prose {
    let culprit = culprit(report);
    match &report.conclusion.left {
        Err(NoConclusion::TailstockUsed) => Prose::new()
            .toned(Tone::Doubt, "Nothing can be concluded")
            .plain(
                ": the tailstock held the bar, and bent it to wherever it stands. Turn it again with the tailstock \
                 clear.",
            ),
        Err(NoConclusion::Sagged) => Prose::new()
            .toned(Tone::Doubt, "Nothing can be concluded")
            .plain(": the bar sagged. Take a thicker or a shorter one."),
        Err(NoConclusion::NotExplained) => Prose::new()
            .toned(Tone::Doubt, format!("The {culprit} cannot be told from the bed"))
            .plain(": it is not known what the bed's twist does to this bar."),
        Ok(left) if left.is_real => Prose::new()
            .plain(format!("The bed's twist does not explain this taper: {} are ", over(left.rate, units)))
            .toned(Tone::Bad, format!("the {culprit}'s"))
            .plain("."),
        Ok(_) => Prose::new()
            .plain("The bed's twist explains this taper within what bar and level can see: ")
            .toned(Tone::Good, format!("nothing is left for the {culprit}"))
            .plain("."),
    }
}

fn taper(report: &CutReport, units: LengthUnit) -> Vec<Prose> {
    let rate = report.conclusion.taper.rate;
    let from = if report.between_centres() {
        "headstock"
    } else {
        "chuck"
    };
    let sense = if rate.value.abs() <= rate.u95 {
        String::new()
    } else if rate.value > 0.0 {
        format!("; the bar is thicker away from the {from}")
    } else {
        format!("; the bar is thicker near the {from}")
    };
    let mut facts = vec![Prose::new().strong(over(rate, units)).plain(sense)];
    if let (Some((verdict, limit)), Some(class)) =
        (report.taper_verdict(), report.survey.limits.class)
    {
        let scale = Scale::lengths(units, 0.0);
        let words = format!(
            "class {}: larger towards the headstock by at most {} over {} (ISO 1708, from memory: your copy of the \
             standard rules)",
            class.word(),
            scale.limit(limit),
            place(TAPER_LENGTH, units)
        );
        facts.push(judged(words.into(), Some(verdict)));
    }
    facts
}

fn explained(report: &CutReport, units: LengthUnit) -> Prose {
    match &report.conclusion.explained {
        Ok(Explained {
            rate,
            cross_slope,
            beyond_readings,
            ..
        }) => {
            let scale = Scale::slopes(units, cross_slope.u95);
            let side = if cross_slope.value < 0.0 {
                "rear"
            } else {
                "front"
            };
            let words = format!(
                "explains {}; between the first and the last collar the {side} comes up by {}",
                over(*rate, units),
                scale.with_unit(cross_slope.value.abs())
            );
            Prose::from(if *beyond_readings {
                words
                    + "; a collar stands beyond the cross readings, where the bed can only be guessed"
            } else {
                words
            })
        }
        Err(why) => Prose::from(match why {
            NotExplained::NoCentreHeight => {
                "not known what it explains: give `centre_height` under [machine], the spindle's height above the ways"
            }
            NotExplained::NoPlace if report.between_centres() => {
                "not known what it explains: give `centre_at`, where the headstock's centre stands along the bed"
            }
            NotExplained::NoPlace => {
                "not known what it explains: give `chuck_at` under [machine], where the chuck's face stands along the bed"
            }
            NotExplained::OffTheBed => {
                "not known what it explains: a collar lies beyond the end of the bed; look at `chuck_at` again"
            }
            NotExplained::NoTwist => {
                "not known what it explains: the pass has no cross readings at two places"
            }
            NotExplained::NoPass => {
                "not known what it explains: no pass shows the bed as it was; feet were turned since the last one. \
                 Read a pass"
            }
        }),
    }
}

fn barrel(report: &CutReport, units: LengthUnit) -> Option<Prose> {
    let seen = report.conclusion.taper.barrel?;
    let scale = Scale::lengths(units, seen.u95);
    let form = |barrel: Figure| {
        if barrel.value < 0.0 {
            "thinner in the middle"
        } else {
            "thicker in the middle"
        }
    };
    if seen.value.abs() <= seen.u95 {
        return Some(Prose::from(format!(
            "none to see: the middle is as thick as the ends, give or take{TIE}{}",
            scale.with_unit(seen.u95)
        )));
    }
    let words = format!("{} by {}", form(seen), with_give(seen, &scale));
    let left = report
        .conclusion
        .left
        .as_ref()
        .ok()
        .and_then(|left| left.barrel);
    Some(Prose::from(match left {
        Some(left) if left.value.abs() > left.u95 => {
            let scale = Scale::lengths(units, left.u95);
            format!(
                "{words}; the surveyed bed leaves {} {}, as wear under the carriage or a bar that gives way does",
                with_give(left, &scale),
                form(left)
            )
        }
        Some(_) => format!("{words}; the surveyed bed explains it"),
        None => format!("{words}, as wear under the carriage or a bar that gives way does"),
    }))
}

fn cause(left: &Left, units: LengthUnit) -> Vec<(&'static str, Prose)> {
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

fn next(report: &CutReport, telling: &Telling) -> Prose {
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

fn notes(report: &CutReport, units: LengthUnit) -> Vec<String> {
    let seen = report.conclusion;
    let mut notes = Vec::new();
    let scale = Scale::lengths(units, seen.bar.deviation);
    let u95 = scale.with_unit(seen.bar.deviation * crate::geometry::figure::COVERAGE_95);
    notes.push(if seen.bar.deviation_given {
        format!("Every diameter is taken as right within {u95}.")
    } else {
        format!("The survey does not say how well the diameters were measured: taken as right within {u95} \
                 (`micrometer`).")
    });
    if let Some(scatter) = seen
        .taper
        .scatter
        .filter(|scatter| scatter.widening() > 1.0)
    {
        notes.push(format!(
            "The collars scatter {} times more than that; the uncertainties above are widened as much.",
            short_number(scatter.widening(), 1)
        ));
    }
    if let Some(deflection) = seen.deflection {
        notes.push(overhang(&deflection, units));
    }
    if let (Some(crown), Some(radius)) = (largest_crown(report), radius(report)) {
        let effect = crown_effect(crown, radius);
        let scale = Scale::lengths(units, effect);
        notes.push(format!(
            "Crown and sag hardly count: {} change this radius by {}.",
            Scale::lengths(units, 0.0).limit(crown),
            scale.with_unit(effect)
        ));
    }
    notes
}

fn overhang(deflection: &Deflection, units: LengthUnit) -> String {
    let scale = Scale::lengths(units, deflection.farthest);
    let words = format!(
        "The bar stands out {}, {} diameters. Held at one end it gives way under the tool and comes out thicker away \
         from the chuck, as with a slewed headstock: with each {}{TIE}N, by {} at the farthest collar, if it is steel.",
        place(deflection.overhang, units),
        short_number(deflection.diameters, 1),
        short_number(LIGHT_CUT, 0),
        scale.with_unit(deflection.farthest)
    );
    if deflection.is_long() {
        words
            + " That is long for a chuck alone: go over it again without feeding until it stops cutting, or take \
                 a thicker bar."
    } else {
        words
    }
}

/// The largest crown that the limits allow, or as much as is usual.
fn largest_crown(report: &CutReport) -> Option<f64> {
    let [lowest, highest] = report.survey.limits.crown?;
    Some(lowest.abs().max(highest.abs()))
}

fn radius(report: &CutReport) -> Option<f64> {
    let diameters = report.cut.collars.iter().map(|collar| collar.diameter);
    let least = diameters
        .filter(|_| !report.cut.differences)
        .reduce(f64::min)?;
    Some(least / 2.0)
}
