//! What was turned, as it is typed.

use std::collections::BTreeMap;

use super::guard::Card;
use crate::cli::failure::Failure;
use crate::cli::refusal::Refusal;
use crate::cli::typing::Typing;
use crate::report::text::scale::place;
use crate::report::text::turning::short_turn;
use crate::report::words::side;
use crate::survey::Survey;
use crate::survey::units::parse_quarter_turns;

/// More quarter-turns than any screw has thread for.
const MOST_QUARTERS: f64 = 400.0;

/// What was typed after the name of the file.
pub(super) enum Turns {
    /// Quarter-turns by foot.
    Named(BTreeMap<usize, f64>),
    /// What the card says.
    AsPlanned,
    /// Nothing yet: ask.
    NotSaid,
}

/// `+3`, `-1 1/2`, `+10°`, `0`.
pub(super) fn signed(quarters: f64) -> String {
    short_turn(quarters).replace('\u{a0}', " ")
}

/// Reads `F2 +3 R4 -1.5`, `as-planned` or `nothing`.
pub(super) fn parse(words: &[&str], survey: &Survey) -> Result<Turns, Refusal> {
    match words {
        [] => return Ok(Turns::NotSaid),
        ["as-planned"] => return Ok(Turns::AsPlanned),
        ["nothing"] => return Ok(Turns::Named(BTreeMap::new())),
        _ => {}
    }
    let mut turned = BTreeMap::new();
    let mut words = words.iter().copied();
    while let Some(name) = words.next() {
        let foot = survey
            .foot_index(name)
            .ok_or_else(|| unknown(name, survey))?;
        let number = words.next().ok_or_else(|| Refusal::Turns {
            fact: format!("how far was `{name}` turned?"),
            help: format!("write quarter-turns after it, as in `{name} +2`; + raises, - lowers"),
        })?;
        let quarters = quarter_turns(number)?;
        if turned.insert(foot, quarters).is_some() {
            return Err(Refusal::Turns {
                fact: format!("`{name}` is named twice"),
                help: "write the sum of its turns once".to_owned(),
            });
        }
    }
    Ok(Turns::Named(turned))
}

fn unknown(name: &str, survey: &Survey) -> Refusal {
    let feet: Vec<&str> = survey.feet.iter().map(|foot| foot.name.as_str()).collect();
    Refusal::Turns {
        fact: format!("there is no foot `{name}`"),
        help: format!(
            "the feet are {}; after each come its quarter-turns, as in `F2 +3 R4 -1.5`",
            feet.join(", ")
        ),
    }
}

/// A signed number of quarter-turns: `3`, `+3`, `-1.5`, `1/2`.
fn quarter_turns(text: &str) -> Result<f64, Refusal> {
    parse_quarter_turns(text)
        .filter(|quarters| quarters.abs() <= MOST_QUARTERS)
        .ok_or_else(|| Refusal::Turns {
            fact: format!("`{text}` is not a number of quarter-turns"),
            help:
                "write it like `+3`, `-1.5`, `1/2` or `+10°`; + raises, - lowers; a whole turn is 4"
                    .to_owned(),
        })
}

/// Asks foot by foot in the order of the card, with the plan as what Enter stands for.
pub(super) fn ask(
    survey: &Survey,
    card: Option<&Card>,
    number: usize,
    sure: bool,
    typing: &mut Typing,
) -> Result<BTreeMap<usize, f64>, Failure> {
    if typing.is_person() {
        println!(
            "Quarter-turns, or degrees as in +10°, after pass {number}: + raises, - lowers, 0 where it stands as before, \
             Enter as shown in brackets."
        );
    }
    let feet: Vec<usize> = card.map_or_else(
        || (0..survey.feet.len()).collect(),
        |card| card.lines.iter().map(|(foot, _)| *foot).collect(),
    );
    let mut turned = BTreeMap::new();
    for foot in feet {
        let planned = card.map_or(0.0, |card| card.planned(foot));
        let quarters = ask_one(
            survey,
            foot,
            planned,
            |done| !sure && card.is_some_and(|card| card.is_far(foot, done, survey)),
            typing,
        )?;
        turned.insert(foot, quarters);
    }
    Ok(turned)
}

fn ask_one(
    survey: &Survey,
    foot: usize,
    planned: f64,
    is_far: impl Fn(f64) -> bool,
    typing: &mut Typing,
) -> Result<f64, Failure> {
    let described = &survey.feet[foot];
    let side = side(described.side);
    let at = place(described.at, survey.units).replace('\u{a0}', " ");
    let prompt = format!("{} {side} {at} [{}] ", described.name, signed(planned));
    loop {
        let line = typing.line(&prompt)?.ok_or(Refusal::AnswersEnded)?;
        if line.is_empty() {
            return Ok(planned);
        }
        let quarters = match quarter_turns(&line) {
            Ok(quarters) => quarters,
            Err(refusal) if typing.is_person() => {
                let (fact, help) = refusal.words();
                println!("{fact}; {}", help.unwrap_or_default());
                continue;
            }
            Err(refusal) => return Err(refusal.into()),
        };
        if !is_far(quarters) {
            return Ok(quarters);
        }
        let far = format!(
            "{} is {}, the card says {}",
            described.name,
            signed(quarters),
            signed(planned)
        );
        match typing.confirm(&format!("{far}. Right?"))? {
            Some(true) => return Ok(quarters),
            Some(false) => {}
            None => return Err(Refusal::FarFromPlan { feet: vec![far] }.into()),
        }
    }
}
