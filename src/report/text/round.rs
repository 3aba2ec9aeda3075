//! One round at the machine: the shape in two lines, and the card foot by foot, each alone on the screen.

use super::card::{look_at, order};
use super::page::Page;
use super::prose::{Prose, TIE};
use super::safety::safety;
use super::scale::{Scale, place};
use super::turning::{at_most, reading};
use super::turns::{headline, how_to_turn, turns_something};
use super::verdict;
use super::words;
use crate::plan::{Action, CardLine, Hazard, LOOK_AGAIN_REACH, Look, TurnPlan};
use crate::report::ShapeReport;
use crate::report::words::side;
use crate::survey::{Foot, LengthUnit, Survey};

/// The verdict, and the figures that it is about.
pub fn brief(report: &ShapeReport, units: LengthUnit, width: usize) -> String {
    let mut page = Page::new(width);
    page.paragraph(&verdict::headline(report));
    let limits = &report.survey.limits;
    let mut figures = Vec::new();
    if let Some(twist) = report.shape.twist {
        let scale = Scale::slopes(units, twist.u95);
        let limit = limits
            .twist
            .map(|limit| format!(" (limit {})", scale.limit(limit)));
        figures.push(format!(
            "twist {}, {}{}",
            scale.with_unit(twist.value),
            words::between(&twist, &scale),
            limit.unwrap_or_default()
        ));
    }
    for way in report.shape.ways() {
        let Some(crown) = way.crown else {
            continue;
        };
        let scale = Scale::lengths(units, crown.u95);
        figures.push(format!(
            "{} {}{TIE}{}, {}",
            side(way.side),
            words::form(crown.value),
            scale.with_unit(crown.value.abs()),
            words::crown_between(&crown, &scale)
        ));
    }
    if !figures.is_empty() {
        page.paragraph(&Prose::from(figures.join("; ")));
    }
    page.finish()
}

/// What to know before the first foot is touched.
pub fn beginning(plan: &TurnPlan, survey: &Survey, width: usize) -> String {
    let mut page = Page::new(width);
    if turns_something(plan) {
        safety(&mut page, &Hazard::of_turns(survey, plan));
        page.gap();
    }
    page.paragraph(&headline(plan, survey, survey.units));
    if turns_something(plan) {
        page.paragraph(&how_to_turn(survey, plan.rests).as_str().into());
    }
    page.finish()
}

/// One line of the card, alone on the screen; `head` says where in the round it is, `part` what can be read of a
/// division.
pub fn foot_alone(
    head: &str,
    line: &CardLine,
    foot: &Foot,
    units: LengthUnit,
    part: f64,
    width: usize,
) -> String {
    let mut page = Page::new(width);
    page.paragraph(&Prose::new().faint(head));
    page.gap();
    large(&mut page, foot, units);
    page.hanging(INDENT, &order(line, foot, units));
    page.gap();
    match (line.action, line.watch) {
        (Action::Seat | Action::Leave, _) => {}
        (_, Some(watch)) => {
            let row = |page: &mut Page, label: &str, words: Prose| {
                page.hanging(&format!("{INDENT}{label:<12}"), &words);
            };
            row(
                &mut page,
                "level",
                look_at(watch.line, watch.at, units).as_str().into(),
            );
            row(
                &mut page,
                "from",
                reading(watch.line, watch.from, part).as_str().into(),
            );
            row(
                &mut page,
                "to",
                Prose::new().strong(reading(watch.line, watch.to, part)),
            );
            row(
                &mut page,
                "never past",
                at_most(line.no_further).as_str().into(),
            );
        }
        (_, None) => page.hanging(
            INDENT,
            &"count the turn: no reading tells better when to stop".into(),
        ),
    }
    page.gap();
    page.finish()
}

/// A reading to bring back, alone on the screen.
pub fn look_alone(
    head: &str,
    look: &Look,
    foot: &Foot,
    units: LengthUnit,
    part: f64,
    width: usize,
) -> String {
    let mut page = Page::new(width);
    page.paragraph(&Prose::new().faint(head));
    page.gap();
    large(&mut page, foot, units);
    let words = Prose::new()
        .plain(format!(
            "{} must show{TIE}",
            look_at(look.line, look.at, units)
        ))
        .strong(reading(look.line, look.shows, part))
        .plain(format!(
            ". Where it is off, turn {} until it is right, at most {} either way.",
            foot.name,
            at_most(LOOK_AGAIN_REACH)
        ));
    page.hanging(INDENT, &words);
    page.gap();
    page.finish()
}

const INDENT: &str = "   ";

/// The name of a foot as large as letters of one size can be.
fn large(page: &mut Page, foot: &Foot, units: LengthUnit) {
    let spaced: Vec<String> = foot.name.chars().map(String::from).collect();
    let words = Prose::new()
        .strong(spaced.join(&TIE.to_string()))
        .faint(format!("  {}, {}", side(foot.side), place(foot.at, units)));
    page.hanging(INDENT, &words);
    page.gap();
}
