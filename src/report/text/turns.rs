//! The turns of one round in words: what to do in which order, and what it should leave.

use super::advice::sentences;
use super::card::{card, look_at, looks};
use super::doubts::{Used, doubts};
use super::head::head;
use super::loads::loads;
use super::next_pass::next_pass;
use super::page::Page;
use super::particulars::{of_twist, of_way};
use super::plots::plots;
use super::prose::{Prose, TIE, Tone};
use super::safety::{caution, safety};
use super::scale::Scale;
use super::shape::Telling;
use super::turning::at_most;
use super::verdict::{class_of_limits, elsewhere};
use super::words;
use crate::geometry::Figure;
use crate::plan::{Action, Advice, ExpectedShape, Hazard, Proof, THREAD_SLACK, TurnPlan, overrun};
use crate::report::draw::Seen;
use crate::report::{ShapeReport, TurnsReport};
use crate::survey::{Foot, LengthUnit, Side, Survey};

/// How much is said beside the orders.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beside {
    /// One caution before them, and what to do next.
    Least,
    /// How to turn, and what it should leave.
    Usual,
    /// The same, and what the plan is better than.
    Reasons,
}

/// The card and so much beside it; `expected` is drawn where drawings are wanted.
pub fn tell(
    report: &TurnsReport,
    expected: Option<&ExpectedShape>,
    telling: &Telling,
    beside: Beside,
) -> String {
    let survey = report.shape.survey;
    let plan = report.plan;
    let units = telling.units;
    let mut page = Page::new(telling.width);
    let hazards = Hazard::of_turns(survey, plan);
    if beside == Beside::Least {
        if turns_something(plan) {
            page.paragraph(&caution(hazards[0]).into());
        }
        page.gap();
        page.paragraph(&headline(plan, survey, units));
        advise(&mut page, report, units, true);
        card(&mut page, report, units);
        looks(&mut page, report, units);
        steps(&mut page, report, telling);
        return page.finish();
    }
    head(&mut page, survey, report.shape.number, units);
    if turns_something(plan) {
        safety(&mut page, &hazards);
    }
    page.gap();
    page.paragraph(&headline(plan, survey, units));
    doubts(&mut page, &report.shape, units, Used::NotAtAll);
    advise(&mut page, report, units, true);
    if let Some(characters) = telling.plots {
        let seen = Seen {
            survey,
            units,
            shape: report.shape.shape,
            before: None,
            expected: expected.filter(|_| turns_something(plan)),
        };
        plots(&mut page, &seen.charts(), characters);
    }
    if turns_something(plan) {
        if turns_by_count(plan) {
            page.gap();
            page.paragraph(&how_to_turn(survey, plan.rests).as_str().into());
        }
        card(&mut page, report, units);
        looks(&mut page, report, units);
    }
    predicted(&mut page, report, units);
    if turns_something(plan) {
        proof(&mut page, plan.proof, beside);
    }
    advise(&mut page, report, units, false);
    loads(&mut page, plan, survey, units);
    steps(&mut page, report, telling);
    page.finish()
}

/// What to do next.
fn steps(page: &mut Page, report: &TurnsReport, telling: &Telling) {
    if let Some(next) = &report.plan.next_pass {
        next_pass(page, next, telling.units);
    }
    page.gap();
    let survey = report.shape.survey;
    let stands = match (survey.bed.held_down(), report.shape.pass.slack()) {
        (true, true) => Stands::ToBePulledDown,
        (true, false) => Stands::HeldDown,
        (false, _) => Stands::Resting,
    };
    for (k, step) in next(report.plan, stands, telling).iter().enumerate() {
        page.hanging(if k == 0 { "Next   " } else { "       " }, step);
    }
}

/// How to work from the card.
pub(in crate::report) fn how_to_turn(survey: &Survey, rests: bool) -> String {
    let slack = at_most(THREAD_SLACK);
    let past = survey.feet.iter().map(overrun).reduce(f64::min);
    let past = at_most(past.unwrap_or(THREAD_SLACK));
    let loose = if rests {
        " Bring up to bear what hangs first, then let the feet that carry nothing carry, then straighten. A foot that \
         goes loose while you lower it: raise it until it just carries, and go on to the next. When all is turned, \
         feel every foot, and raise one that hangs until it just carries."
    } else {
        ""
    };
    let nuts = nuts(survey, rests);
    format!(
        "Clockwise and anticlockwise are as seen from above.{nuts} The count brings a foot close; where there is \
         something to watch, the level says when to stop. If the bubble calls you back, go no further than \
         {slack} behind where you began.{loose} Where you only count, lower a foot {past} too far, the slack of its \
         thread, and come back up: so it ends loaded from below."
    )
}

/// What to do with nuts: those that hold down, and those that lock a screw.
fn nuts(survey: &Survey, rests: bool) -> String {
    const HELD: &str = "every reading is one with all nuts tight, the first one too. Ease the nut of the foot you turn and \
                        no other, turn two thirds of the count, nip it to the same torque, wait a minute, read, and so on \
                        with what is left.";
    let any = |of: fn(&Foot) -> Option<bool>, is| survey.feet.iter().any(|foot| of(foot) == is);
    let mut words = String::new();
    if rests && any(|foot| foot.hold_down, Some(true)) {
        words += " The anchors are slack: leave every nut on and loose until all feet bear.";
    } else if any(|foot| foot.hold_down, Some(true)) {
        words += " Where a nut holds a foot down, ";
        words += HELD;
    } else if any(|foot| foot.hold_down, None) {
        words += " Whether anchors hold the bed down is not known: write `held_down` under [bed]. If they do, ";
        words += HELD;
    }
    if !survey.feet.iter().all(|foot| foot.lock_nut == Some(false)) {
        words += " Hold the screw while you tighten a lock nut, and read again.";
    }
    words
}

/// Whether any foot is to be touched.
pub(in crate::report) fn turns_something(plan: &TurnPlan) -> bool {
    plan.lines.iter().any(|line| line.action != Action::Leave)
}

/// Whether a foot is to be turned by more than what seats it.
fn turns_by_count(plan: &TurnPlan) -> bool {
    plan.lines.iter().any(|line| line.lift != 0.0)
}

/// What is to be done, first what has to be looked at before.
pub(in crate::report) fn headline(plan: &TurnPlan, survey: &Survey, units: LengthUnit) -> Prose {
    let first = match plan.advice.first() {
        Some(Advice::Suspect { line, at }) => {
            format!("Read {} again first", look_at(*line, *at, units))
        }
        Some(Advice::CheckRecord { pass, foot }) => format!(
            "Check what was written for {} after pass{TIE}{pass} first",
            survey.feet.get(*foot).map_or("?", |foot| &foot.name)
        ),
        _ => return turning(Prose::new(), plan, survey, ["Turn", "Bring"]),
    };
    let prose = Prose::new().toned(Tone::Doubt, format!("{first}."));
    if !turns_something(plan) {
        return prose.strong(" Until then turn nothing.");
    }
    turning(prose.plain(" "), plan, survey, ["Then turn", "Then bring"])
}

/// How many feet are turned or seated, in these words.
fn turning(said: Prose, plan: &TurnPlan, survey: &Survey, [turn, bring]: [&str; 2]) -> Prose {
    if !turns_something(plan) {
        return said.strong("Turn nothing.");
    }
    let mut feet: Vec<usize> = plan
        .lines
        .iter()
        .filter(|line| line.action != Action::Leave)
        .map(|line| line.foot)
        .collect();
    feet.sort_unstable();
    feet.dedup();
    if !turns_by_count(plan) {
        return said.strong(format!(
            "{bring} {} of {} feet up to bear, turn nothing else.",
            feet.len(),
            survey.feet.len()
        ));
    }
    let walks = plan.lines.iter().map(|line| line.trip).max().unwrap_or(1);
    let mut prose = said.strong(format!(
        "{turn} {} of {} feet",
        feet.len(),
        survey.feet.len()
    ));
    if walks > 1 {
        prose = prose.plain(format!(
            " in {walks} walks round the machine, so that no foot goes far at once. Let the bed rest between walks"
        ));
    }
    prose.plain(".")
}

fn advise(page: &mut Page, report: &TurnsReport, units: LengthUnit, first: bool) {
    // The doubts have named the suspect and a warm top already.
    let told = |advice: &Advice| match advice {
        Advice::Suspect { .. } => report.shape.suspects.suspect().is_some(),
        Advice::Warm { air, .. } => air.is_none(),
        _ => false,
    };
    let advice = report.plan.advice.iter();
    let advice: Vec<Advice> = advice.filter(|advice| !told(advice)).cloned().collect();
    for words in sentences(&advice, first, report.shape.survey, units) {
        page.gap();
        page.paragraph(&words);
    }
}

fn predicted(page: &mut Page, report: &TurnsReport, units: LengthUnit) {
    let predicted = &report.plan.predicted;
    let limits = &report.shape.survey.limits;
    let turns = turns_something(report.plan);
    page.heading(if turns {
        "What this should leave"
    } else {
        "How the bed lies, all rounds taken together"
    });
    let twist = predicted.twist.map(|twist| {
        let scale = Scale::slopes(units, twist.u95);
        let limit = limits.twist.map(|limit| scale.limit(limit));
        (twist, scale, limit)
    });
    page.hanging(
        "Twist  ",
        &twist.map_or_else(not_known, |(twist, scale, limit)| {
            figure(
                &scale.with_unit(twist.value),
                &words::between(&twist, &scale),
                limit.map(|limit| format!("limit {limit}")),
            )
        }),
    );
    // What only some limits ask for, told as `shape` tells it.
    let asked_for = ShapeReport {
        particulars: &predicted.particulars,
        ..report.shape
    };
    for fact in of_twist(&asked_for, units) {
        page.hanging("       ", &fact);
    }
    let [front, rear] = predicted.opposite;
    for (label, side, crown, opposite) in [
        ("Front  ", Side::Front, predicted.crown_front, front),
        ("Rear   ", Side::Rear, predicted.crown_rear, rear),
    ] {
        let told = crown.map_or_else(not_known, |crown: Figure| {
            let scale = Scale::lengths(units, crown.u95);
            let limit = limits
                .crown
                .map(|ends| format!("limit: {}", words::crown_limit(ends, &scale)));
            figure(
                &format!(
                    "{}{TIE}{}",
                    words::form(crown.value),
                    scale.with_unit(crown.value.abs())
                ),
                &words::crown_between(&crown, &scale),
                limit,
            )
        });
        page.hanging(label, &told);
        if let Some(words) = elsewhere(crown, opposite, limits, units) {
            page.hanging("       ", &words);
        }
        for fact in of_way(&asked_for, side, units) {
            page.hanging("       ", &fact);
        }
    }
    if let Some(source) = class_of_limits(limits) {
        page.paragraph(&source);
    }
    if turns {
        let verdict = match predicted.within_limits {
            Some(true) if predicted.surely_within(limits) => {
                Some((Tone::Good, "That would be inside the limits."))
            }
            Some(true) => Some((
                Tone::Doubt,
                "These figures are inside the limits, but their uncertainty reaches beyond: the next pass will tell.",
            )),
            Some(false) => Some((Tone::Doubt, "That would not be inside the limits yet.")),
            None => None,
        };
        if let Some((tone, words)) = verdict {
            page.paragraph(&Prose::new().toned(tone, words));
        }
    }
}

/// What no other turns do better.
fn proof(page: &mut Page, proof: Proof, beside: Beside) {
    let words = match proof {
        Proof::Optimal if beside == Beside::Reasons => {
            "Proven: in whole degrees, and in smallest turns where nothing could be watched, no other turns of these feet \
             leave less, what is doubtful about the bed counted."
                .to_owned()
        }
        Proof::Optimal => return,
        // Nothing is known of the best where the feet that carry change with the turns.
        Proof::Gap(gap) if gap >= 1.0 => "Not proven to be the best: which feet carry changes with the turns, and \
                                          the plan did not come to rest."
            .to_owned(),
        Proof::Gap(gap) => format!(
            "The search for better turns of these feet was stopped; none leaves a square less than {:.1}{TIE}% smaller.",
            gap * 100.0
        ),
    };
    page.paragraph(&Prose::new().faint(words));
}

fn not_known() -> Prose {
    Prose::from("not known from these readings")
}

fn figure(value: &str, interval: &str, limit: Option<String>) -> Prose {
    let limit = limit.map_or_else(String::new, |limit| format!("; {limit}"));
    Prose::new()
        .strong(value)
        .plain(format!(", {interval}{limit}"))
}

/// How the bed is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stands {
    HeldDown,
    ToBePulledDown,
    Resting,
}

/// What to do next, step by step.
fn next(plan: &TurnPlan, stands: Stands, telling: &Telling) -> Vec<Prose> {
    let step = |words: &str, command: &str| {
        Prose::new()
            .plain(format!("{words}: "))
            .strong(format!("quarterturn {command} {}", telling.file))
    };
    if turns_something(plan) && telling.is_piped() {
        return vec![Prose::from(
            "write what was really turned into the survey under [pass.turned], in quarter-turns, + raises. Take a new \
             pass, then ask again.",
        )];
    }
    if turns_something(plan) {
        return vec![
            step("record what was really turned", "turned"),
            step(
                if stands == Stands::HeldDown {
                    "take a new pass"
                } else {
                    "feel every foot, name those that are loose under `hanging` and those that turn with two fingers under \
                     `barely`, bring the loose ones up to bear, then take a new pass"
                },
                "readings",
            ),
            step("ask again", "turns"),
        ];
    }
    let looked_at = matches!(
        plan.advice.first(),
        Some(Advice::Suspect { .. } | Advice::CheckRecord { .. })
    );
    if looked_at && !turns_something(plan) && !telling.is_piped() {
        return vec![step(
            "put right in the survey what was wrong, or leave it, and ask again",
            "turns",
        )];
    }
    let idle = |advice: &Advice| matches!(advice, Advice::Idle { .. });
    if plan.advice.contains(&Advice::Done) && stands == Stands::ToBePulledDown {
        let bear = if plan.advice.iter().any(idle) {
            "let every foot bear before a nut is pulled, as said above. Then "
        } else {
            "feel every foot: each must bear before a nut is pulled. Then "
        };
        return vec![Prose::from(format!(
            "{bear}pull the anchors down: all nuts finger tight, then take a pass; half the torque in order, a pass; full torque, a \
             pass with anchors = \"pulled down\". Then ask again: what the anchors moved is put right at the feet.",
        ))];
    }
    if plan.advice.contains(&Advice::Done) {
        return vec![Prose::from(
            "lock the feet, read once more to see that nothing moved, and keep that pass as the record. Read again \
             after some days and once more after a couple of weeks.",
        )];
    }
    if telling.is_piped() {
        return vec![Prose::from(
            "write \"turned = {}\" into this pass, so that it and the next count together. Take another pass, then \
             ask again.",
        )];
    }
    vec![
        step(
            "record that nothing was turned, so that this pass and the next count together",
            "turned",
        )
        .strong(" nothing"),
        step("take another pass", "readings"),
        step("ask again", "turns"),
    ]
}
