//! `quarterturn round`: one round at the machine, from the first reading to the last turn.
//!
//! The readings are taken as `readings` takes them, the card is that of `turns`, and what is done is written down as
//! `turned` writes it; `card` goes through the feet.

mod card;
mod hand;

use std::path::PathBuf;

use anstream::ColorChoice;
use clap::Args;

use self::card::{End, Walk};
use super::failure::Failure;
use super::findings::Findings;
use super::readings::{self, Wishes};
use super::rehearse;
use super::source::Source;
use super::survey_file::SurveyFile;
use super::turned;
use super::typing::Typing;
use super::{Done, output};
use crate::geometry::{Passes, ReferenceLine};
use crate::plan::Advice;
use crate::report::TurnsReport;
use crate::report::text::turns::Beside;
use crate::report::text::{self, Telling};
use crate::survey::Survey;

/// One round at the machine: what to read, what it shows, and every turn, foot by foot
#[derive(Debug, Args)]
#[command(after_help = AFTER_HELP)]
pub struct Arguments {
    /// The survey file
    #[arg(value_name = "SURVEY")]
    file: PathBuf,

    /// Name of the level for a pass that is begun; without it that of the last pass
    #[arg(long, value_name = "NAME")]
    level: Option<String>,
}

const AFTER_HELP: &str = "\
Examples:
  quarterturn round lathe.toml        reads, tells what it shows, and goes through the turns

Stop whenever you like, or just switch off: the same command goes on exactly there. At a foot, Enter says that it \
went as the card says; or type what the level shows, as in 1 1/4 R, or how far you turned, as in 15°, or loose, stuck \
or skip, and the rest of the card is made anew. On a rehearsed survey the made-up bed is read for you.";

/// Goes through one round, or what is left of it.
pub fn run(arguments: &Arguments) -> Result<Done, Failure> {
    let mut file = SurveyFile::open(&arguments.file)?;
    let mut typing = Typing::new();
    let mut source = file.read()?;
    if !is_read(&source)? {
        let rehearsed = source
            .survey
            .passes
            .iter()
            .rfind(|pass| readings::is_read(pass))
            .is_some_and(rehearse::is_rehearsed);
        if rehearsed {
            source = rehearse::read_next(&mut file, arguments.level.as_deref())?;
            output::say(&format!(
                "Pass {} of the made-up bed is read.",
                source.survey.passes.len()
            ));
        } else {
            let wishes = Wishes {
                level: arguments.level.as_deref(),
                ..Wishes::default()
            };
            let complete = readings::take(&mut file, &wishes, &mut typing)?;
            source = file.read()?;
            if !complete {
                return Ok(stopped(&source.name));
            }
        }
    }
    let index = readings::last_read(&source.survey)?;
    let survey = source.survey.clone();
    let walk = Walk::begin(&mut file, source, index);
    // Where nothing is turned all is told of how the bed lies by all rounds together, of which this pass may be the smallest part.
    if walk.as_ref().map_or(true, Walk::turns) {
        tell_shape(&survey, index)?;
    }
    turn(walk?, &mut typing)
}

/// Whether the last pass is read and its turns are not all made.
fn is_read(source: &Source) -> Result<bool, Failure> {
    let passes = &source.survey.passes;
    let Some(last) = passes.last() else {
        return Ok(false);
    };
    if readings::is_open(source)? {
        return Ok(false);
    }
    Ok(readings::is_read(last) && (last.turned.is_none() || last.conditions.unfinished))
}

fn tell_shape(survey: &Survey, index: usize) -> Result<(), Failure> {
    let passes = Passes::of(survey);
    let findings = Findings::of(&passes, index, ReferenceLine::default())?;
    let report = findings.report(survey);
    let brief = text::round::brief(&report, survey.units, output::width());
    output::print(&brief, ColorChoice::Auto)
}

fn turn(mut walk: Walk<'_>, typing: &mut Typing) -> Result<Done, Failure> {
    let name = walk.source.name.clone();
    let number = walk.index + 1;
    if !walk.turns() {
        let done = walk.plan.advice.contains(&Advice::Done);
        tell_all(&walk)?;
        if done {
            return Ok(Done::Well);
        }
        let asked = "Enter records that nothing is turned, so that this pass and the next count together; `stop` leaves \
                     it open.";
        if typing.line(asked)?.is_some_and(|line| line.is_empty()) {
            walk.finish()?;
            output::say(&format!(
                "Recorded after pass {number}: nothing turned. `quarterturn round {name}` reads again."
            ));
            return Ok(Done::Well);
        }
        return Ok(stopped(&name));
    }
    let survey = &walk.source.survey;
    let beginning = text::round::beginning(&walk.plan, survey, output::width());
    output::print(&beginning, ColorChoice::Auto)?;
    if typing.is_person() {
        match typing.line("Enter begins; `help` at any foot says what can be typed.")? {
            Some(line) if !matches!(line.as_str(), "stop" | "quit" | "exit") => {}
            _ => return Ok(stopped(&name)),
        }
    }
    match walk.go(typing)? {
        End::Stopped => Ok(stopped(&name)),
        End::Complete => {
            walk.finish()?;
            let pass = &walk.source.survey.passes[walk.index];
            let turned = pass.turned.clone().unwrap_or_default();
            output::say(&format!(
                "Recorded after pass {number}: {}.",
                turned::in_words(&walk.source.survey, &turned)
            ));
            output::say(&format!(
                "The round is done. `quarterturn round {name}` reads again and begins the next."
            ));
            Ok(Done::Well)
        }
    }
}

fn stopped(name: &str) -> Done {
    output::say(&format!("`quarterturn round {name}` goes on exactly here."));
    Done::Well
}

/// Everything that `turns` says.
fn tell_all(walk: &Walk<'_>) -> Result<(), Failure> {
    let survey = &walk.source.survey;
    let passes = Passes::of(survey);
    let findings = Findings::of(&passes, walk.index, ReferenceLine::default())?;
    let report = TurnsReport {
        shape: findings.report(survey),
        plan: &walk.plan,
    };
    let telling = Telling {
        units: survey.units,
        width: output::width(),
        file: &walk.source.name,
        plots: None,
    };
    output::print(
        &text::turns::tell(&report, None, &telling, Beside::Usual),
        ColorChoice::Auto,
    )
}
