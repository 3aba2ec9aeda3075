//! The card to work from: walk by walk, foot by foot.

use super::loads::to_carry;
use super::page::Page;
use super::prose::{Prose, TIE};
use super::scale::{Scale, place};
use super::turning::{at_most, reading, short_turn, turn};
use crate::plan::{Action, CardLine, LOOK_AGAIN_REACH, Look, TIMES_ROUND};
use crate::report::TurnsReport;
use crate::report::words::{way_of_turn, way_round};
use crate::survey::{Foot, FootKind, LengthUnit, Line};

/// All lines of the card under the places where the level lies; the feet to leave come last and together.
pub(super) fn card(page: &mut Page, report: &TurnsReport, units: LengthUnit) {
    let (survey, level) = (report.shape.survey, report.shape.level);
    let lines = &report.plan.lines;
    let names = survey.feet.iter().map(|foot| foot.name.chars().count());
    let column = names.max().unwrap_or(0) + 2;
    let walks = lines.iter().map(|line| line.trip).max().unwrap_or(1);
    let mut walk = 0;
    let mut lies = String::new();
    for line in lines.iter().filter(|line| line.action != Action::Leave) {
        let Some(foot) = survey.feet.get(line.foot) else {
            continue;
        };
        if line.trip != walk {
            walk = line.trip;
            page.heading(&if walks > 1 {
                format!("Walk {walk} of {walks}")
            } else {
                "In this order".to_owned()
            });
        }
        let place = line.watch.map(|watch| look_at(watch.line, watch.at, units));
        if let Some(place) = place.filter(|place| *place != lies) {
            let words = if lies.is_empty() {
                format!("Level {place}:")
            } else {
                format!("Move the level to {place}:")
            };
            page.paragraph(&Prose::new().faint(words));
            lies = place;
        }
        let label = format!("{:<column$}", foot.name);
        let last = lines.iter().rfind(|other| other.foot == line.foot) == Some(line);
        let loads = report
            .plan
            .loads
            .as_ref()
            .filter(|_| last && report.plan.rests);
        let mut words = order(line, foot, units);
        if let Some(load) = loads.and_then(|loads| loads.get(line.foot)) {
            words = words.plain(to_carry(load, units));
        }
        page.hanging(&label, &words);
        if let Some(words) = stop(line, level.resolution) {
            page.hanging(&" ".repeat(column), &words);
        }
    }
    let left: Vec<&str> = lines
        .iter()
        .filter(|line| line.action == Action::Leave)
        .filter_map(|line| survey.feet.get(line.foot))
        .map(|foot| foot.name.as_str())
        .collect();
    if !left.is_empty() {
        page.gap();
        page.hanging(DO_NOT_TOUCH, &left.join(", ").into());
    }
}

/// Before the feet that are to be left alone.
const DO_NOT_TOUCH: &str = "Do not touch  ";

/// What the readings must show when everything has been turned.
pub(super) fn looks(page: &mut Page, report: &TurnsReport, units: LengthUnit) {
    let (survey, level) = (report.shape.survey, report.shape.level);
    let looks = &report.plan.looks;
    if looks.is_empty() {
        return;
    }
    let names = looks.iter().filter_map(|look| survey.feet.get(look.foot));
    let column = names
        .map(|foot| foot.name.chars().count())
        .max()
        .unwrap_or(0)
        + 2;
    page.heading(then(looks));
    for look in looks {
        let Some(foot) = survey.feet.get(look.foot) else {
            continue;
        };
        let label = format!("{:<column$}", foot.name);
        let words = Prose::new()
            .plain(format!(
                "{} must show{TIE}",
                look_at(look.line, look.at, units)
            ))
            .strong(reading(look.line, look.shows, level.resolution));
        page.hanging(&label, &words);
    }
    page.paragraph(&how_to_go_round(looks).as_str().into());
}

/// Heading of the readings to go round.
pub(in crate::report) fn then(looks: &[Look]) -> &'static str {
    if looks.len() == 1 {
        "Then look again"
    } else {
        "Then go round these readings"
    }
}

/// How to go round them.
pub(in crate::report) fn how_to_go_round(looks: &[Look]) -> String {
    let reach = at_most(LOOK_AGAIN_REACH);
    let one = format!(
        "Where it is off, turn its foot until it is right, even one that was left so far, at most {reach} either way."
    );
    if looks.len() == 1 {
        return one;
    }
    format!(
        "{} Each turn moves the other readings a little: go round until all are right, {TIMES_ROUND} times at most.",
        one.replace("Where it is off", "Where one is off")
    )
}

/// What to do with one foot.
pub(in crate::report) fn order(line: &CardLine, foot: &Foot, units: LengthUnit) -> Prose {
    let verb = match line.action {
        Action::Raise => "raise",
        Action::Lower => "lower",
        Action::Leave => return Prose::from("do not touch"),
        Action::Seat => {
            let way = way_round(foot.clockwise, true);
            return Prose::new()
                .strong("bring up to bear")
                .plain(format!(": turn {way} until it just carries"));
        }
    };
    let way = way_of_turn(foot, line.quarter_turns).unwrap_or_default();
    let lift = Scale::lengths(units, 0.0).with_unit(line.lift.abs());
    let raises = line.lift > 0.0;
    let (screw, nut) = match foot.kind {
        None => ("", None),
        Some(FootKind::Jack) => ("jack: ", Some("anchor")),
        Some(FootKind::PushPull) => ("push screw: ", Some("pull screw")),
        Some(FootKind::Wedge) => ("wedge: ", Some("centre bolt")),
        Some(FootKind::Rubber) => ("mount: ", None),
        Some(FootKind::Shims) => {
            let verb = if raises { "put under" } else { "take out" };
            return Prose::new()
                .strong(format!("shims: {verb} {lift}"))
                .plain(format!(
                    ", written down as {}",
                    short_turn(line.quarter_turns)
                ));
        }
    };
    let nut = nut
        .filter(|_| foot.hold_down != Some(false))
        .map_or_else(String::new, |nut| format!("; {nut}: ease, nip"));
    Prose::new()
        .strong(format!("{screw}{verb} {} {way}", turn(line.quarter_turns)))
        .plain(format!(", {lift}{nut}"))
}

/// What to watch while it is turned, and where to stop.
fn stop(line: &CardLine, part: f64) -> Option<Prose> {
    match (line.action, line.watch) {
        (Action::Raise | Action::Lower, Some(watch)) => Some(
            Prose::new()
                .plain(format!("from{TIE}"))
                .plain(reading(watch.line, watch.from, part))
                .plain(format!(" to{TIE}"))
                .strong(reading(watch.line, watch.to, part))
                .plain(format!(", never past {}", at_most(line.no_further))),
        ),
        (Action::Raise | Action::Lower, None) => Some(Prose::from(
            "count the turn: no reading tells better when to stop",
        )),
        (Action::Seat | Action::Leave, _) => None,
    }
}

/// Where the level lies.
pub(in crate::report) fn look_at(line: Line, at: f64, units: LengthUnit) -> String {
    let line = match line {
        Line::Cross => "cross",
        Line::Front => "along the front way",
        Line::Rear => "along the rear way",
    };
    format!("{line} at{TIE}{}", place(at, units))
}
