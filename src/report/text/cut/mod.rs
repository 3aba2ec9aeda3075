//! What a test cut says, in words: `left` is what is put down to the headstock, `notes` what to bear in mind.

mod left;
mod notes;

use super::head::{self, date};
use super::page::Page;
use super::prose::{Prose, TIE, Tone};
use super::safety::safety;
use super::scale::{Scale, place};
use super::shape::Telling;
use super::verdict::judged;
use super::words::count;
use crate::cut::Left;
use crate::cut::agreement::of_face;
use crate::cut::deflection::{Deflection, LONGEST_UNSUPPORTED};
use crate::cut::{Departure, Explained, Found, NoConclusion, NotExplained};
use crate::geometry::Figure;
use crate::plan::Hazard;
use crate::report::CutReport;
use crate::survey::limit_class::TAPER_LENGTH;
use crate::survey::units::short_number;
use crate::survey::{LengthUnit, Side, Word};

/// A foot, m: over which a taper is told in inches.
const FOOT: f64 = 0.3048;

/// What a cut says.
pub fn tell(report: &CutReport, telling: &Telling) -> String {
    let mut page = Page::new(telling.width);
    head(&mut page, report);
    safety(&mut page, &Hazard::of_cut(report.between_centres()));
    page.gap();
    page.paragraph(&headline(report, telling.units));
    page.gap();
    for (k, fact) in taper(report, telling.units).iter().enumerate() {
        page.hanging(if k == 0 { "Taper    " } else { "         " }, fact);
    }
    page.hanging("Twist    ", &explained(report, telling.units));
    if let Some(bar) = bar(report, telling.units) {
        page.hanging("Bar      ", &bar);
    }
    if let Some(barrel) = barrel(report, telling.units) {
        page.hanging("Barrel   ", &barrel);
    }
    if let Ok(left) = &report.conclusion.left {
        for (label, fact) in left::cause(report, left, telling.units) {
            page.hanging(label, &fact);
        }
    }
    for fact in faces(report, telling.units) {
        page.hanging("Face     ", &fact);
    }
    page.gap();
    page.hanging("Next     ", &left::next(report, telling));
    if left::asks_for_a_cut(report) {
        page.heading("To cut again");
        for words in left::TO_CUT_AGAIN {
            page.hanging("- ", &words.into());
        }
    }
    page.heading("Bear in mind");
    for note in notes::notes(report, telling.units) {
        page.hanging("- ", &note.into());
    }
    page.finish()
}

fn head(page: &mut Page, report: &CutReport) {
    page.paragraph(&Prose::new().strong(head::machine_name(report.survey)));
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
        page.paragraph(&head::note(note));
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
        Err(NoConclusion::Unsupported) => Prose::new()
            .toned(Tone::Doubt, "Nothing can be concluded")
            .plain(format!(
                ": the bar stands out {} diameters with nothing at its other end, and beyond {} it bends under the \
                 tool. Take a thicker or a shorter one.",
                short_number(diameters_out(report), 1),
                short_number(LONGEST_UNSUPPORTED, 0)
            )),
        Err(NoConclusion::NoDiameter) => Prose::new()
            .toned(Tone::Doubt, "Nothing can be concluded")
            .plain(": how thick the bar is is not known, nor how far it gives way under the tool (`bar_diameter`)."),
        Err(NoConclusion::NotStraight(departure)) => Prose::new()
            .toned(Tone::Bad, "This is no straight taper")
            .plain(format!(": {}.", crooked(*departure, report, units))),
        Err(NoConclusion::NotExplained) => Prose::new()
            .toned(Tone::Doubt, format!("The {culprit} cannot be told from the bed"))
            .plain(": it is not known what the bed's twist does to this bar."),
        Ok(Left { found: Found::MaybeTheBar, .. }) => Prose::new()
            .toned(Tone::Doubt, "This may be the bar")
            .plain(": under the tool it gives way enough to come out so."),
        Ok(left) if left.found == Found::Something => Prose::new()
            .plain(format!("The bed's twist does not explain this taper: {} are ", over(left.rate, units)))
            .toned(Tone::Bad, format!("the {culprit}'s"))
            .plain("."),
        Ok(_) => Prose::new()
            .plain("The bed's twist explains this taper within what bar and level can see: ")
            .toned(Tone::Good, format!("nothing is left for the {culprit}"))
            .plain("."),
    }
}

fn diameters_out(report: &CutReport) -> f64 {
    let deflection = report.conclusion.deflection.as_ref();
    deflection
        .and_then(Deflection::diameters)
        .unwrap_or_default()
}

/// How the collars depart from a line.
fn crooked(departure: Departure, report: &CutReport, units: LengthUnit) -> String {
    let scale = Scale::lengths(units, 0.0);
    let size = |by: f64| scale.with_unit(by.abs());
    let sense = |by: f64| if by < 0.0 { "thinner" } else { "thicker" };
    match departure {
        Departure::Collar { collar, by } => {
            let from = report
                .conclusion
                .bar
                .collars
                .get(collar)
                .map_or(0.0, |collar| collar.from_chuck);
            format!(
                "the collar at {} is {} {} than the line through the others",
                place(from, units),
                size(by),
                sense(by)
            )
        }
        Departure::Bent(by) => format!(
            "the middle is {} {} than the ends; which collar stands out, {} cannot tell",
            size(by),
            sense(by),
            count(report.cut.collars.len(), "collar", "collars")
        ),
        Departure::Scattered(by) => format!(
            "the collars lie up to {} beside any line, more than the micrometer explains",
            size(by)
        ),
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

/// What faced discs tell.
fn faces(report: &CutReport, units: LengthUnit) -> Vec<Prose> {
    let discs = report.survey.faces.iter();
    discs
        .map(|face| {
            let to_rear = of_face(face);
            let scale = Scale::slopes(units, to_rear.u95);
            let form = if face.hollow < 0.0 {
                "stands out in its middle"
            } else {
                "is hollow"
            };
            let side = if to_rear.value < 0.0 { "front" } else { "rear" };
            Prose::from(format!(
                "the disc {form} by {} over {}: with a cross-slide square to the ways the spindle points to the \
                 {side} by {}; slightly hollow is wanted",
                Scale::lengths(units, 0.0).with_unit(face.hollow.abs()),
                place(face.diameter, units),
                with_give(to_rear, &scale)
            ))
        })
        .collect()
}

/// How far the bar gives way under the tool.
fn bar(report: &CutReport, units: LengthUnit) -> Option<Prose> {
    let deflection = report.conclusion.deflection.as_ref()?;
    let most = deflection.most();
    let force = short_number(deflection.force, 1);
    let given = if report.cut.force.is_some() {
        ""
    } else {
        ", as is usual"
    };
    let stands_out = deflection.overhang.map_or_else(
        || "between centres".to_owned(),
        |overhang| {
            let out = short_number(overhang / deflection.diameter, 1);
            format!("{} out, {out} diameters", place(overhang, units))
        },
    );
    Some(Prose::from(format!(
        "{stands_out}; pushed by up to {force}{TIE}N{given}, steel gives way: one collar comes out up to {} thicker than \
         another",
        Scale::lengths(units, 0.0).with_unit(most)
    )))
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
