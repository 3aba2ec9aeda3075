//! What was turned, as it is typed.

use std::collections::BTreeMap;

use super::answer::{Answer, HELP};
use super::guard::Card;
use crate::cli::failure::{self, Failure};
use crate::cli::output;
use crate::cli::typing::Typing;
use crate::report::text::prose::TIE;
use crate::report::text::scale::place;
use crate::report::text::turning::short_turn;
use crate::report::words::side;
use crate::survey::units::{DEGREES_OF_A_QUARTER, parse_turn, short_number};
use crate::survey::{Foot, Survey};

/// More quarter-turns than any screw has thread for.
const MOST_QUARTERS: f64 = 400.0;

/// `1 quarter-turn and 20 degrees (110°)` has so many words.
const MOST_WORDS: usize = 6;

/// What was typed after the name of the file.
pub(super) enum Turns {
    /// Quarter-turns by foot.
    Named(BTreeMap<usize, f64>),
    /// What the card says.
    AsPlanned,
    /// Nothing yet: ask.
    NotSaid,
}

/// A turn that ends at the end of the travel may be rounded, quarter-turns.
const TRAVEL_ROUNDING: f64 = 1e-6;

/// `+15° (0.17 quarter-turns)`, `-1 1/2 (135°)`.
pub(in crate::cli) fn both(quarters: f64) -> String {
    let short = short_turn(quarters);
    if quarters != 0.0 && quarters.abs() < 1.0 {
        format!(
            "{short}{TIE}({} quarter-turns)",
            short_number(quarters.abs(), 2)
        )
    } else {
        short
    }
}

/// `+3 (270°)`, `-1 1/2 (135°)`, `+10°`, `0`.
pub(super) fn signed(quarters: f64) -> String {
    short_turn(quarters).replace('\u{a0}', " ")
}

/// Reads `F2 +3 R4 -1.5`, `as-planned` or `nothing`.
pub(super) fn parse(words: &[&str], survey: &Survey) -> Result<Turns, Failure> {
    match words {
        [] => return Ok(Turns::NotSaid),
        ["as-planned"] => return Ok(Turns::AsPlanned),
        ["nothing"] => return Ok(Turns::Named(BTreeMap::new())),
        _ => {}
    }
    let mut turned = BTreeMap::new();
    let mut rest = words;
    while let [name, after @ ..] = rest {
        let foot = survey
            .foot_index(name)
            .ok_or_else(|| unknown(name, survey))?;
        let Some(first) = after.first() else {
            return Err(failure::not_understood(
                format!("how far was `{name}` turned?"),
                format!("write quarter-turns after it, as in `{name} +2`; + raises, - lowers"),
            ));
        };
        // `11 3/4` is two words.
        let longest = (1..=after.len().min(MOST_WORDS))
            .rev()
            .find(|count| parse_turn(&after[..*count].join(" ")).is_some());
        let quarters = match longest {
            Some(count) => quarter_turns(&after[..count].join(" "), 1.0)?,
            None => quarter_turns(first, 1.0)?,
        };
        let next = &after[longest.unwrap_or(1)..];
        if turned.insert(foot, quarters).is_some() {
            return Err(failure::not_understood(
                format!("`{name}` is named twice"),
                "write the sum of its turns once",
            ));
        }
        rest = next;
    }
    Ok(Turns::Named(turned))
}

fn unknown(name: &str, survey: &Survey) -> Failure {
    let feet: Vec<&str> = survey.feet.iter().map(|foot| foot.name.as_str()).collect();
    failure::not_understood(
        format!("there is no foot `{name}`"),
        format!(
            "the feet are {}; after each come its quarter-turns, as in `F2 +3 R4 -1.5`",
            feet.join(", ")
        ),
    )
}

/// How far a screw was turned; a number alone counts parts of this size, quarter-turns.
fn quarter_turns(text: &str, bare: f64) -> Result<f64, Failure> {
    parse_turn(text)
        .map(|turn| turn.quarter_turns(bare))
        .filter(|quarters| quarters.abs() <= MOST_QUARTERS)
        .ok_or_else(|| failure::not_understood(format!("`{text}` is not a number of quarter-turns"), "write it like `+3`, `-1.5`, `2 1/2` or `+10°`; + raises, - lowers; a whole turn is 4"))
}

/// Asks foot by foot in the order of the card, with the plan, or what is recorded already, as what Enter stands for.
/// `keep` is given all that was answered so far after every answer. Gives whether every foot was answered.
pub(super) fn ask(
    survey: &Survey,
    card: Option<&Card>,
    recorded: &BTreeMap<usize, f64>,
    sure: bool,
    typing: &mut Typing,
    mut keep: impl FnMut(&BTreeMap<usize, f64>) -> Result<(), Failure>,
) -> Result<(BTreeMap<usize, f64>, bool), Failure> {
    let feet: Vec<usize> = card.map_or_else(
        || (0..survey.feet.len()).collect(),
        |card| card.lines.iter().map(|line| line.foot).collect(),
    );
    let mut turned = recorded.clone();
    let mut at = 0;
    while let Some(&foot) = feet.get(at) {
        let known = turned.get(&foot).copied();
        let shown = known.unwrap_or_else(|| card.map_or(0.0, |card| card.planned(foot)));
        let Some(line) = typing.line(&prompt(survey, foot, shown))? else {
            if typing.is_person() {
                return Ok((turned, false));
            }
            return Err(failure::answers_ended());
        };
        let quarters = match Answer::of(&line) {
            Answer::AsPlanned => shown,
            Answer::Not(_) => 0.0,
            Answer::Back => {
                at = at.saturating_sub(1);
                continue;
            }
            Answer::Stop => return Ok((turned, false)),
            Answer::Help | Answer::Mend(_) => {
                output::say_help(&HELP);
                continue;
            }
            Answer::Other(words) => match typed(words, shown) {
                Ok(quarters) if sure => quarters,
                Ok(quarters) => {
                    if !confirmed(survey, card, foot, quarters, typing)? {
                        continue;
                    }
                    quarters
                }
                Err(failure) => {
                    typing.explain(failure)?;
                    continue;
                }
            },
        };
        turned.insert(foot, quarters);
        if typing.is_person() {
            keep(&turned)?;
        }
        at += 1;
    }
    Ok((turned, true))
}

/// `F2 front 980 mm [+15°]`.
fn prompt(survey: &Survey, foot: usize, shown: f64) -> String {
    let described = &survey.feet[foot];
    format!(
        "{} {} {} [{}]",
        described.name,
        side(described.side),
        place(described.at, survey.units),
        short_turn(shown)
    )
}

/// What was typed, in quarter-turns; a number alone is degrees where degrees are shown.
pub(in crate::cli) fn typed(words: &str, shown: f64) -> Result<f64, Failure> {
    let shows_degrees = shown != 0.0 && shown.abs() < 1.0;
    let bare = if shows_degrees {
        DEGREES_OF_A_QUARTER.recip()
    } else {
        1.0
    };
    quarter_turns(words, bare)
}

/// Repeats what was typed in both units, and asks once more where it is more than the foot, or the card, allows.
fn confirmed(
    survey: &Survey,
    card: Option<&Card>,
    foot: usize,
    quarters: f64,
    typing: &mut Typing,
) -> Result<bool, Failure> {
    let name = &survey.feet[foot].name;
    let mut doubts: Vec<String> = beyond_travel(&survey.feet[foot], quarters)
        .into_iter()
        .collect();
    if let Some(card) = card {
        if typing.is_person() {
            doubts.extend(card.beyond(foot, quarters));
        }
        if card.is_far(foot, quarters, survey) {
            doubts.push(format!("the card says {}", signed(card.planned(foot))));
        }
    }
    let said = format!("{name} is {}", both(quarters));
    if doubts.is_empty() {
        if typing.is_person() {
            output::say(&format!("{said}."));
        }
        return Ok(true);
    }
    let far = format!("{said}, {}", doubts.join(", "));
    match typing.confirm(&format!("{far}. Right?"))? {
        Some(answer) => Ok(answer),
        None => Err(failure::far_from_plan(&[far])),
    }
}

/// Why a foot cannot have been turned so far, if its travel is known.
pub(in crate::cli) fn beyond_travel(foot: &Foot, quarters: f64) -> Option<String> {
    let end = if quarters > 0.0 {
        foot.highest_turns
    } else {
        foot.lowest_turns
    };
    let end = 4.0 * end?;
    (quarters.abs() > end.abs() + TRAVEL_ROUNDING)
        .then(|| format!("its travel ends at {}", signed(end)))
}
