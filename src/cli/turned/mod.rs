//! `quarterturn turned`: what was really turned after a pass.
//!
//! `record` takes the record as it is typed, `answer` understands a line of it, `guard` finds what lies far from the
//! plan.

mod answer;
mod guard;
mod record;

use std::collections::BTreeMap;
use std::num::NonZeroUsize;
use std::path::PathBuf;

use anstream::ColorChoice;
use clap::Args;

pub(super) use self::answer::{Answer, Because, HELP};
use self::guard::Card;
use self::record::{Turns, ask, parse, signed};
pub(super) use self::record::{beyond_travel, both, typed};
use super::failure::{self, Failure};
use super::readings::last_read;
use super::rehearse::is_rehearsed;
use super::source::Source;
use super::survey_file::SurveyFile;
use super::typing::Typing;
use super::{Done, options, output};
use crate::report::text::{Page, Prose};
use crate::survey::Survey;
use crate::survey::edit::set_turned;

/// Record what was really turned after a pass
#[derive(Debug, Args)]
#[command(after_help = AFTER_HELP)]
pub struct Arguments {
    /// The survey file
    #[arg(value_name = "SURVEY")]
    file: PathBuf,

    /// Foot and quarter-turns, foot and quarter-turns ...; + raises, - lowers. Or `as-planned`, or `nothing`.
    /// Without any of it you are asked foot by foot
    #[arg(value_name = "FOOT TURNS", allow_negative_numbers = true)]
    turns: Vec<String>,

    /// Number of the pass after which it was turned, from 1; without it the last one
    #[arg(long, value_name = "N")]
    pass: Option<NonZeroUsize>,

    /// Put this in the place of what is recorded already
    #[arg(long)]
    again: bool,

    /// Record it even if it lies far from the plan
    #[arg(long)]
    sure: bool,
}

const AFTER_HELP: &str = "\
Examples:
  quarterturn turned lathe.toml F2 +3 R4 -1.5       F2 raised by three quarter-turns, R4 lowered by one and a half
  quarterturn turned lathe.toml F2 1 1/2 R2 -10°    a quarter-turn and a half up, ten degrees down
  quarterturn turned lathe.toml as-planned          just what `quarterturn turns` said
  quarterturn turned lathe.toml nothing             nothing was turned
  quarterturn turned lathe.toml                     asks foot by foot, Enter for what was planned
  quarterturn turned --again lathe.toml F2 +2       the record was wrong

Count what the screw was turned, also where the bubble said stop earlier or later than planned. A foot that \
was turned and came back to where it stood is 0; feet that are not named were not turned.";

/// Records what was turned.
pub fn run(arguments: &Arguments) -> Result<Done, Failure> {
    let mut file = SurveyFile::open(&arguments.file)?;
    let source = file.read()?;
    let survey = &source.survey;
    let index = match arguments.pass {
        None => last_read(survey)?,
        Some(_) => options::pass(arguments.pass, survey)?,
    };
    let number = index + 1;
    let pass = &survey.passes[index];
    if let Some(recorded) = &pass.turned
        && !arguments.again
    {
        return Err(failure::turned_already(number, &in_words(survey, recorded)));
    }
    let card = Card::of(survey, index);
    let mut typing = Typing::new();
    let words: Vec<&str> = arguments.turns.iter().map(String::as_str).collect();
    let (turned, complete) = match (parse(&words, survey)?, &card) {
        (Turns::Named(turned), Ok(card)) => {
            guard(card, &turned, survey, arguments.sure, &mut typing)?;
            (turned, true)
        }
        (Turns::Named(turned), Err(_)) => (turned, true),
        (Turns::AsPlanned, Ok(card)) => (card.turns(), true),
        (Turns::AsPlanned, Err(reason)) => return Err(failure::no_plan(*reason, number)),
        (Turns::NotSaid, card) => {
            if typing.is_person() {
                output::say(&format!(
                    "What was turned after pass {number}: + raises, - lowers, Enter as shown in brackets. `help` says \
                     what else can be typed."
                ));
            }
            let card = card.as_ref().ok();
            let recorded = pass.turned.clone().unwrap_or_default();
            ask(
                survey,
                card,
                &recorded,
                arguments.sure,
                &mut typing,
                |turned| record(&mut file, index, survey, turned).map(|_| ()),
            )?
        }
    };
    let mut page = Page::new(output::width());
    if !complete && turned.is_empty() {
        page.paragraph(&Prose::from("Nothing was typed and nothing was changed."));
        output::print(&page.finish(), ColorChoice::Auto)?;
        return Ok(Done::Well);
    }
    let turned: BTreeMap<usize, f64> = turned
        .into_iter()
        .filter(|(foot, quarters)| {
            // Nought of a foot that went up and down is not the same as a foot left alone.
            let in_hand = card.as_ref().is_ok_and(|card| card.in_hand.contains(foot));
            *quarters != 0.0 || in_hand
        })
        .collect();
    // Of a card that only seats feet nought is all there is to write down.
    let asked = card.as_ref().is_ok_and(Card::turns_something);
    let turned = if is_nothing(&turned) && asked {
        BTreeMap::new()
    } else {
        turned
    };
    record(&mut file, index, survey, &turned)?;
    page.paragraph(
        &Prose::new()
            .plain(format!("Recorded after pass {number}: "))
            .strong(in_words(survey, &turned))
            .plain("."),
    );
    let next = if !complete {
        format!(
            "`quarterturn turned --again {}` goes on; Enter keeps what is recorded",
            source.name
        )
    } else if is_rehearsed(pass) {
        format!("`quarterturn rehearse {}` takes the next pass", source.name)
    } else {
        format!(
            "read a new pass with `quarterturn readings {}`",
            source.name
        )
    };
    page.paragraph(&Prose::from(format!("Next: {next}.")));
    output::print(&page.finish(), ColorChoice::Auto)?;
    Ok(Done::Well)
}

/// Writes down what was turned after a pass, in place of what is written.
pub(super) fn record(
    file: &mut SurveyFile,
    pass: usize,
    survey: &Survey,
    turned: &BTreeMap<usize, f64>,
) -> Result<Source, Failure> {
    let named: Vec<(&str, f64)> = turned
        .iter()
        .filter_map(|(foot, quarters)| Some((survey.feet.get(*foot)?.name.as_str(), *quarters)))
        .collect();
    file.change(|source| set_turned(&source.text, pass, &named))
}

/// Lets a person confirm what lies far from the plan; without a person it is refused.
fn guard(
    card: &Card,
    turned: &BTreeMap<usize, f64>,
    survey: &Survey,
    sure: bool,
    typing: &mut Typing,
) -> Result<(), Failure> {
    if sure {
        return Ok(());
    }
    let far = card.far(turned, survey);
    if far.is_empty() {
        return Ok(());
    }
    let question = format!("{}. Record it?", far.join("; "));
    match typing.confirm(&question)? {
        Some(true) => Ok(()),
        Some(false) | None => Err(failure::far_from_plan(&far)),
    }
}

fn is_nothing(turned: &BTreeMap<usize, f64>) -> bool {
    turned.values().all(|quarters| *quarters == 0.0)
}

/// `F2 +3, R4 -1.5`.
pub(super) fn in_words(survey: &Survey, turned: &BTreeMap<usize, f64>) -> String {
    if turned.is_empty() {
        return "nothing turned".to_owned();
    }
    let feet: Vec<String> = turned
        .iter()
        .map(|(foot, quarters)| {
            let name = survey.feet.get(*foot).map_or("", |foot| &foot.name);
            format!("{name} {}", signed(*quarters))
        })
        .collect();
    feet.join(", ")
}
