//! `quarterturn mend`: something that was written down wrongly.

use std::num::NonZeroUsize;
use std::path::PathBuf;

use anstream::ColorChoice;
use clap::Args;

use super::failure::{self, Failure};
use super::source::Source;
use super::survey_file::SurveyFile;
use super::turned::{beyond_travel, both};
use super::typing::Typing;
use super::{Done, options, output};
use crate::report::text::scale::{place, place_number};
use crate::report::text::{Page, Prose, Table};
use crate::survey::edit;
use crate::survey::units::{LENGTH, parse_turn};
use crate::survey::{Entry, Pass, Reading, Survey, format_entry, lettered, parse_reading};

/// Places nearer than this are one, m.
const SAME_PLACE: f64 = 0.5e-3;

/// Mend a reading, a turn, a level or a limit that was written down wrongly
#[derive(Debug, Args)]
#[command(after_help = AFTER_HELP)]
pub struct Arguments {
    /// The survey file
    #[arg(value_name = "SURVEY")]
    file: PathBuf,

    /// What to mend, and what it should be; without it the pass is listed, and you are asked
    #[arg(value_name = "WHAT IT-IS", allow_negative_numbers = true)]
    words: Vec<String>,

    /// Number of the pass, from 1; without it the last one
    #[arg(long, value_name = "N")]
    pass: Option<NonZeroUsize>,
}

const AFTER_HELP: &str = "\
Examples:
  quarterturn mend lathe.toml                          lists the last pass with its numbers, and asks
  quarterturn mend lathe.toml 13 1H                    number 13 of that list
  quarterturn mend lathe.toml front 1300 1H            the reading along the front at 1300
  quarterturn mend lathe.toml F2 -15°                  what was turned at a foot after the pass
  quarterturn mend lathe.toml level fine               the level that the pass was read with
  quarterturn mend lathe.toml twist \"0.03 mm/m\"        a limit
  quarterturn mend lathe.toml level.fine.range 20      anything else, by its name in the file

What was there is printed; comments and layout of the file stay.";

/// Mends one thing.
pub fn run(arguments: &Arguments) -> Result<Done, Failure> {
    let mut file = SurveyFile::open(&arguments.file)?;
    let source = file.read()?;
    let survey = &source.survey;
    let index = match arguments.pass {
        None => survey.passes.len().saturating_sub(1),
        Some(_) => options::pass(arguments.pass, survey)?,
    };
    let mut typing = Typing::new();
    let mut words = arguments.words.join(" ");
    if words.is_empty() {
        list(&source, index)?;
        if !typing.is_person() {
            return Ok(Done::Well);
        }
        let asked = "What is wrong, and what it should be, as in 3 1.5F; Enter for nothing:";
        words = typing.line(asked)?.unwrap_or_default();
        if words.is_empty() {
            return Ok(Done::Well);
        }
    }
    change(&mut file, index, &words, &mut typing)?;
    Ok(Done::Well)
}

/// What is to be mended.
enum Wrong<'w> {
    Reading(usize, Entry),
    Turn(usize, f64),
    Level(&'w str),
    Key(Vec<&'w str>, &'w str),
}

/// Mends what these words name, and says what was there.
pub(super) fn change(
    file: &mut SurveyFile,
    index: usize,
    words: &str,
    typing: &mut Typing,
) -> Result<Source, Failure> {
    let source = file.read()?;
    if words.is_empty() {
        list(&source, index)?;
        return Ok(source);
    }
    let survey = &source.survey;
    let wrong = understood(survey, index, words)?;
    let said;
    let changed = match wrong {
        Wrong::Reading(number, entry) => {
            let reading = &survey.passes[index].readings[number];
            let key = (reading.line, reading.reversed);
            let in_list = survey.passes[index].readings[..number]
                .iter()
                .filter(|other| (other.line, other.reversed) == key)
                .count();
            said = format!(
                "{} was {}, is {}",
                described(reading, survey),
                format_entry(reading.line, &reading.entry),
                format_entry(reading.line, &entry)
            );
            file.change(|source| {
                edit::set_reading(&source.text, index, key, in_list, Some(&entry))
            })?
        }
        Wrong::Turn(foot, quarters) => {
            let pass = &survey.passes[index];
            let name = &survey.feet[foot].name;
            if let Some(doubt) = beyond_travel(&survey.feet[foot], quarters)
                && typing.confirm(&format!("{name} {}: {doubt}. Right?", both(quarters)))?
                    != Some(true)
            {
                return Err(failure::far_from_plan(&[doubt]));
            }
            let mut turned = pass.turned.clone().unwrap_or_default();
            let was = turned.insert(foot, quarters);
            said = format!(
                "{name} was {}, is {}",
                was.map_or_else(|| "not recorded".to_owned(), both),
                both(quarters)
            );
            super::turned::record(file, index, survey, &turned)?
        }
        Wrong::Level(name) => {
            if !survey.levels.contains_key(name) {
                return Err(failure::which_level(survey));
            }
            said = format!(
                "the level of pass {} was {}, is {name}",
                index + 1,
                survey.passes[index].level
            );
            file.change(|source| edit::set_level(&source.text, index, name))?
        }
        Wrong::Key(path, value) => {
            let was = edit::value_of(&source.text, &path);
            said = format!(
                "{} was {}, is {value}",
                path.join("."),
                was.as_deref().unwrap_or("not set")
            );
            file.change(|source| edit::set_key(&source.text, &path, value))?
        }
    };
    output::say(&format!("{said}."));
    Ok(changed)
}

fn not_understood(words: &str) -> Failure {
    failure::not_understood(
        format!("`{words}` names nothing to mend"),
        "name a reading as in `front 1300 1H` or by its number in the list, a turn as in `F2 -15°`, \
               `level NAME`, or a limit as in `twist \"0.03 mm/m\"`",
    )
}

fn understood<'w>(survey: &Survey, index: usize, words: &'w str) -> Result<Wrong<'w>, Failure> {
    let words = words.trim();
    let (first, rest) = words
        .split_once(char::is_whitespace)
        .ok_or_else(|| not_understood(words))?;
    let rest = rest.trim();
    let pass = survey.passes.get(index);
    if let (Some(pass), Ok(number)) = (pass, first.parse::<usize>()) {
        let number = number
            .checked_sub(1)
            .filter(|number| *number < pass.readings.len())
            .ok_or_else(|| not_understood(words))?;
        return Ok(Wrong::Reading(number, entry(survey, pass, number, rest)?));
    }
    if let Some(foot) = pass.and_then(|_| survey.foot_index(first)) {
        let quarters = parse_turn(rest).ok_or_else(|| not_understood(words))?;
        return Ok(Wrong::Turn(foot, quarters.quarter_turns(1.0)));
    }
    if let (Some(pass), "cross" | "front" | "rear") = (pass, first) {
        let (reversed, rest) = match rest.strip_prefix("reversed ") {
            Some(rest) => (true, rest.trim()),
            None => (false, rest),
        };
        let (at, rest) = rest
            .split_once(char::is_whitespace)
            .ok_or_else(|| not_understood(words))?;
        // `1300 mm 1H` is as the list prints it.
        let unit = survey.units.length();
        let value = rest.trim().strip_prefix(unit.name()).unwrap_or(rest).trim();
        let at = LENGTH
            .parse(at, Some(unit))
            .map_err(|_| not_understood(words))?;
        let number = pass
            .readings
            .iter()
            .position(|reading| {
                reading.line.name() == first
                    && reading.reversed == reversed
                    && (reading.at - at).abs() < SAME_PLACE
            })
            .ok_or_else(|| {
                failure::not_understood(
                    format!("nothing is read there in pass {}", index + 1),
                    "`quarterturn mend` without anything more lists the pass",
                )
            })?;
        return Ok(Wrong::Reading(number, entry(survey, pass, number, value)?));
    }
    if pass.is_some() && first == "level" {
        return Ok(Wrong::Level(rest));
    }
    let path: Vec<&str> = if first.contains('.') {
        first.split('.').collect()
    } else {
        vec!["limits", first]
    };
    Ok(Wrong::Key(path, rest))
}

fn entry(survey: &Survey, pass: &Pass, number: usize, words: &str) -> Result<Entry, Failure> {
    let level = survey.level_of(pass);
    let line = pass.readings[number].line;
    let words = lettered(words, line, level.and_then(|level| level.plus));
    parse_reading(&words, line, level.and_then(|level| level.range))
        .map_err(|mistake| failure::not_understood(mistake.title, mistake.help.unwrap_or_default()))
}

/// `front at 1300 mm`.
fn described(reading: &Reading, survey: &Survey) -> String {
    let reversed = if reading.reversed { " reversed" } else { "" };
    format!(
        "{}{reversed} at {}",
        reading.line.name(),
        place(reading.at, survey.units)
    )
}

/// The pass with a number before every reading.
fn list(source: &Source, index: usize) -> Result<(), Failure> {
    let survey = &source.survey;
    let pass = survey.passes.get(index).ok_or_else(failure::no_passes)?;
    let mut page = Page::new(output::width());
    page.paragraph(&Prose::new().strong(format!(
        "Pass {} of {}, level {}",
        index + 1,
        source.name,
        pass.level
    )));
    let mut table =
        Table::new(["", "line", survey.units.length().name(), "reading"].map(str::to_owned));
    for (number, reading) in pass.readings.iter().enumerate() {
        let reversed = if reading.reversed { " reversed" } else { "" };
        table.row([
            (number + 1).to_string(),
            format!("{}{reversed}", reading.line.name()),
            place_number(reading.at, survey.units),
            format_entry(reading.line, &reading.entry),
        ]);
    }
    page.table(&table);
    if let Some(turned) = &pass.turned {
        page.paragraph(&Prose::from(format!(
            "Turned after it: {}.",
            super::turned::in_words(survey, turned)
        )));
    }
    output::print(&page.finish(), ColorChoice::Auto)
}
