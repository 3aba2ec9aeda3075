//! `quarterturn readings`: takes a pass as it is typed.
//!
//! `target` finds the pass to type, `walk` the way round the machine, `expected` what a reading should come to;
//! `session` asks, and understands what is typed by `command`; `packing` brings the bubble back onto its scale.

mod command;
mod expected;
mod packing;
mod session;
mod target;
mod walk;

use std::path::PathBuf;

use anstream::ColorChoice;
use clap::Args;
use toml::value::Datetime;

use self::expected::Expectations;
use self::session::{End, Session};
use self::target::{Begin, Target};
pub(super) use self::target::{Wishes, all_places, next_packing, now};
use self::walk::Walk;
use super::failure::{self, Failure};
use super::source::Source;
use super::survey_file::SurveyFile;
use super::typing::Typing;
use super::{Done, output};
use crate::geometry::stations;
use crate::plan::{Action, Advice, plan};
use crate::report::text::{Page, Prose, packed};
use crate::survey::{Entry, Line, Pass, Survey};

/// Type a pass reading by reading; every one is in the file at once
#[derive(Debug, Args)]
#[command(after_help = AFTER_HELP)]
pub struct Arguments {
    /// The survey file
    #[arg(value_name = "SURVEY")]
    file: PathBuf,

    /// The way round: lines in this order, with -back from the tailstock end; a line left out is not read
    #[arg(long, value_name = "cross,front-back,rear")]
    order: Option<Walk>,

    /// Where to read on every line, middle of the level: 150,350,550. Without it at the places that are likely to
    /// decide soonest, with the level that sees them
    #[arg(long, value_name = "PLACES")]
    stations: Option<String>,

    /// Read all places of the bed, or, after a pass of few readings, the rest of them
    #[arg(long, conflicts_with = "stations")]
    all: bool,

    /// Name of the level in hand; without it the one that is likely to decide soonest
    #[arg(long, value_name = "NAME")]
    level: Option<String>,

    /// Read across with the level turned end for end too, which shows its zero error
    #[arg(long)]
    reversed: bool,

    /// When it was taken, such as 2026-03-02T09:40:00; without it now
    #[arg(long, value_name = "DATE", value_parser = date)]
    taken: Option<Datetime>,

    /// Begin a new pass even if the last one is not finished
    #[arg(long)]
    new: bool,
}

const AFTER_HELP: &str = "\
Examples:
  quarterturn readings lathe.toml                       goes on where it was stopped, or begins a new pass
  quarterturn readings lathe.toml --order front,cross   along the front first, then across; the rear is not read
  quarterturn readings lathe.toml < typed.txt           one reading a line, no questions

A reading is a number of divisions and the letter of the high side: 1.5F. Type help to see what else can be \
typed. Nothing typed is lost: stop, or just switch off, and the same command goes on exactly there.";

/// A date as in the file.
fn date(text: &str) -> Result<Datetime, String> {
    match text.parse::<Datetime>() {
        Ok(date) if date.date.is_some() => Ok(date),
        _ => Err("write it like 2026-03-02T09:40:00, or the day alone".to_owned()),
    }
}

/// Takes a pass.
pub fn run(arguments: &Arguments) -> Result<Done, Failure> {
    let mut file = SurveyFile::open(&arguments.file)?;
    let wishes = Wishes {
        order: arguments.order.as_ref(),
        stations: arguments.stations.as_deref(),
        level: arguments.level.as_deref(),
        taken: arguments.taken,
        new: arguments.new,
        reversed: arguments.reversed,
        all: arguments.all,
    };
    let mut typing = Typing::new();
    let complete = take(&mut file, &wishes, &mut typing)?;
    if !complete {
        return Ok(Done::Well);
    }
    let name = file.read()?.name;
    output::say(&format!(
        "Next: `quarterturn shape {name}` tells how the bed lies, `quarterturn turns {name}` what to do."
    ));
    if !typing.is_person() {
        refuse_more(&mut typing)?;
    }
    Ok(Done::Well)
}

/// Takes what is open of a pass, or a new one; whether it is complete then.
pub(super) fn take(
    file: &mut SurveyFile,
    wishes: &Wishes<'_>,
    typing: &mut Typing,
) -> Result<bool, Failure> {
    let source = file.read()?;
    let mut target = Target::of(&source, wishes)?;
    target.check(&source, wishes)?;
    let index = target.index;
    let taken = sitting(file, source, target, typing)?;
    if !taken.complete {
        return Ok(false);
    }
    let source = file.read()?;
    match after_some(&source, index, taken.surprises)? {
        Then::Enough => output::say("That is enough: every limit is proven kept."),
        Then::Turn => {}
        Then::GoOn(target) if typing.is_person() => {
            let more = target.open.iter().filter(|open| **open).count();
            let reason = if taken.surprises > 0 {
                "Not all of this is what the turns foretold"
            } else {
                "This does not decide yet, nor whether to turn"
            };
            let asked = format!(
                "{reason}: Enter goes on with {more} readings more, `stop` leaves it at these. "
            );
            if typing.line(&asked)?.is_some_and(|line| line.is_empty()) {
                return Ok(sitting(file, source, *target, typing)?.complete);
            }
        }
        Then::GoOn(_) => output::say(&format!(
            "These readings do not decide: `quarterturn readings {} --all` goes on with the rest of the pass.",
            source.name
        )),
    }
    Ok(true)
}

/// What comes after a pass, or a part of one.
enum Then {
    /// Every limit is proven kept.
    Enough,
    /// The turns can be planned.
    Turn,
    /// These are read too before anything is turned.
    GoOn(Box<Target>),
}

/// What the readings so far have decided. Only a pass of some of the places goes on: what all of them leave open is for the plan.
fn after_some(source: &Source, index: usize, surprises: usize) -> Result<Then, Failure> {
    let survey = &source.survey;
    let Ok(plan) = plan(survey, index) else {
        return Ok(Then::Turn);
    };
    if plan.advice.contains(&Advice::Done) && surprises == 0 {
        return Ok(Then::Enough);
    }
    let lists = target::lists(source, index)?;
    let Some(rest) = Target::rest(survey, index, &lists) else {
        return Ok(Then::Turn);
    };
    if surprises > 0 {
        return Ok(Then::GoOn(Box::new(rest)));
    }
    let this = &survey.passes[index];
    let turns = plan.lines.iter().any(|line| line.action != Action::Leave);
    let next = plan.next_pass.filter(|next| {
        !turns && next.level == this.level && next.packing == this.conditions.packing
    });
    Ok(next.map_or(Then::Turn, |next| {
        let more = stations::readings(&next.stations);
        Then::GoOn(Box::new(Target::extended(index, this, &lists, more)))
    }))
}

/// How a sitting ended.
struct Taken {
    complete: bool,
    /// Readings that were kept although they lie far from what was foretold.
    surprises: usize,
}

/// Takes the readings that are open.
fn sitting(
    file: &mut SurveyFile,
    source: Source,
    target: Target,
    typing: &mut Typing,
) -> Result<Taken, Failure> {
    let survey = source.survey.clone();
    let earlier = &survey.passes[..target.index.min(survey.passes.len())];
    let before = earlier.iter().rposition(is_read);
    let expectations = before.and_then(|before| {
        Expectations::new(
            &survey,
            before,
            survey.levels.get(&target.level)?,
            target.packing,
        )
    });
    let steps = target.walk.steps(&target.readings);
    let entries = steps
        .iter()
        .map(|step| {
            let place = target
                .readings
                .iter()
                .enumerate()
                .filter(|(_, r)| (r.line, r.reversed) == (step.line, step.reversed))
                .nth(step.index);
            place.and_then(|(index, reading)| (!target.open[index]).then(|| reading.entry.clone()))
        })
        .collect();
    output::print(
        &before_reading(&source, &target, before, typing.is_person()),
        ColorChoice::Auto,
    )?;
    let mut session = Session {
        file,
        source,
        target,
        steps,
        entries,
        expectations,
        before: before.map(|before| &survey.passes[before]),
        reached: 0,
        far: Vec::new(),
        surprises: 0,
        told_packing: [false; 2],
    };
    let end = session.run(typing)?;
    output::print(&farewell(&session, end), ColorChoice::Auto)?;
    Ok(Taken {
        complete: end == End::Complete && session.target.begin == Begin::Begun,
        surprises: session.surprises,
    })
}

/// What to know before the first reading.
fn before_reading(
    source: &Source,
    target: &Target,
    before: Option<usize>,
    is_person: bool,
) -> String {
    let survey = &source.survey;
    let mut page = Page::new(output::width());
    if let Some(before) = before
        && matches!(target.begin, Begin::New { .. } | Begin::Planned { .. })
        && survey.passes[before].turned.is_none()
    {
        page.paragraph(&Prose::from(format!(
            "Nothing is recorded as turned after pass {}. If something was, stop and record it first: \
             `quarterturn turned {}`.",
            before + 1,
            source.name
        )));
    }
    let is_left =
        |before| target::lists(source, before).is_ok_and(|lists| target::has_open(&lists));
    if let Some(before) = before
        && matches!(target.begin, Begin::New { .. })
        && is_left(before)
    {
        page.paragraph(&Prose::from(format!(
            "Something was turned after pass {} was begun: what it lacks stays open, and this is a new pass.",
            before + 1
        )));
    }
    let is_other = before.is_some_and(|before| survey.passes[before].level != target.level);
    if is_other && target.proposed.is_some() {
        page.paragraph(
            &Prose::new()
                .strong(format!("Take level {} now", target.level))
                .plain(": it is likely to decide soonest."),
        );
    }
    for line in [Line::Cross, Line::Front] {
        let height = target.packing.on(line);
        if height != 0.0 {
            page.paragraph(&packed("Lay", line, height, survey.units));
        }
    }
    if is_person {
        page.paragraph(&Prose::from(format!(
            "Pass {} of {} with level {}, order {}. `help` says what can be typed.",
            target.index + 1,
            source.name,
            target.level,
            target.walk.name()
        )));
        if let Some(minutes) = target.proposed {
            page.paragraph(&Prose::from(format!(
                "{} readings, about {minutes:.0} min: those that are likely to decide soonest. `--all` reads all \
                 places.",
                target.readings.len()
            )));
        }
    }
    page.finish()
}

/// Whether places of the last pass are still to be read.
pub(super) fn is_open(source: &Source) -> Result<bool, Failure> {
    let Some(index) = source.survey.passes.len().checked_sub(1) else {
        return Ok(false);
    };
    let pass = &source.survey.passes[index];
    Ok(target::goes_on(pass, &target::lists(source, index)?))
}

/// Whether any reading of a pass was taken.
pub(super) fn is_read(pass: &Pass) -> bool {
    pass.readings
        .iter()
        .any(|reading| reading.entry != Entry::Missing)
}

/// Index of the last pass with a reading in it.
pub(super) fn last_read(survey: &Survey) -> Result<usize, Failure> {
    match survey.passes.iter().rposition(is_read) {
        Some(index) => Ok(index),
        None if survey.passes.is_empty() => Err(failure::no_passes()),
        None => Err(failure::no_readings(survey.passes.len())),
    }
}

/// More lines than places: the readings may stand at the wrong places.
fn refuse_more(typing: &mut Typing) -> Result<(), Failure> {
    while let Some(line) = typing.line("")? {
        if !line.is_empty() {
            return Err(failure::more_lines(typing.line_number()));
        }
    }
    Ok(())
}

/// What is in the file now and what comes next.
fn farewell(session: &Session<'_>, end: End) -> String {
    let mut page = Page::new(output::width());
    let number = session.target.index + 1;
    let name = &session.source.name;
    for words in &session.far {
        page.paragraph(&Prose::from(words.as_str()));
    }
    if session.target.begin != Begin::Begun {
        page.paragraph(&Prose::from("Nothing was typed and nothing was changed."));
        return page.finish();
    }
    let typed = session.entries.iter().flatten().count();
    let left_out = session
        .entries
        .iter()
        .flatten()
        .filter(|entry| **entry == Entry::Missing)
        .count();
    let taken = match typed - left_out {
        1 => "1 reading".to_owned(),
        taken => format!("{taken} readings"),
    };
    let left_out = match left_out {
        0 => String::new(),
        _ => format!(", {left_out} left out"),
    };
    page.paragraph(
        &Prose::new()
            .strong(format!("Pass {number}: {taken}{left_out}"))
            .plain(format!(" of {} in {name}.", session.steps.len())),
    );
    if let End::Stopped(_) = end {
        page.paragraph(&Prose::from(format!(
            "`quarterturn readings {name}` goes on exactly here."
        )));
    }
    page.finish()
}
