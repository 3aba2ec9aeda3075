//! Why a command has nothing to print, or leaves a survey as it is: what is wrong, and what would be right.

use std::io;

use anstyle::{AnsiColor, Style};

use crate::plan::NoPlan;
use crate::rehearse::CannotStand;
use crate::response::Unsupported;
use crate::survey::edit::CannotEdit;
use crate::survey::{self, Diagnostic, Line, Survey};

/// A reason to stop, for the person at the keyboard.
#[derive(Debug)]
pub struct Failure {
    status: u8,
    told: Told,
}

#[derive(Debug)]
enum Told {
    Words {
        fact: String,
        help: Option<String>,
    },
    /// Everything that is wrong with a survey, where it stands in its text.
    Mistakes {
        name: String,
        text: String,
        diagnostics: Vec<Diagnostic>,
    },
    ChangedMeanwhile {
        name: String,
        difference: Vec<String>,
    },
}

/// Exit status when the survey or its readings cannot be used.
pub const STATUS_UNUSABLE: u8 = 1;
/// Exit status of wrong usage.
pub const STATUS_USAGE: u8 = 2;

/// How an error is marked on a terminal.
const ERROR_STYLE: Style = AnsiColor::Red.on_default().bold();

/// What feet a bed stands on.
const FEET_NEEDED: &str =
    "a bed stands on three feet or more that are not in one line: see `[feet]`";

impl Failure {
    /// The exit status that says so.
    pub fn status(&self) -> u8 {
        self.status
    }

    /// Whether somebody changed the survey meanwhile, so that nothing more can be saved.
    pub fn is_changed_meanwhile(&self) -> bool {
        matches!(self.told, Told::ChangedMeanwhile { .. })
    }

    /// The same to somebody who is asked again.
    pub fn in_a_line(&self) -> String {
        match &self.told {
            Told::Words {
                fact,
                help: Some(help),
            } => format!("{fact}; {help}"),
            Told::Words { fact, help: None } => fact.clone(),
            Told::Mistakes { .. } | Told::ChangedMeanwhile { .. } => self.message(),
        }
    }

    /// What to print, with a terminal's escape codes, ended by a newline.
    pub fn message(&self) -> String {
        let told = |fact: &str, help: Option<&str>| {
            let help = help.map_or_else(String::new, |help| format!("  help: {help}\n"));
            format!("{ERROR_STYLE}error{ERROR_STYLE:#}: {fact}\n{help}")
        };
        match &self.told {
            Told::Words { fact, help } => told(fact, help.as_deref()),
            Told::Mistakes {
                name,
                text,
                diagnostics,
            } => survey::render(diagnostics, name, text, true),
            Told::ChangedMeanwhile { name, difference } => told(
                &format!("`{name}` was changed meanwhile, where this would change it too"),
                Some(&format!(
                    "nothing more was saved; look at it and start again: what was saved before is in it\n    {}",
                    difference.join("\n    ")
                )),
            ),
        }
    }

    fn new(status: u8, fact: impl Into<String>) -> Self {
        Self {
            status,
            told: Told::Words {
                fact: fact.into(),
                help: None,
            },
        }
    }

    /// What would be right.
    #[must_use]
    fn help(mut self, words: impl Into<String>) -> Self {
        if let Told::Words { help, .. } = &mut self.told {
            *help = Some(words.into());
        }
        self
    }
}

/// The survey, its readings or the machine do not allow it.
fn unusable(fact: impl Into<String>) -> Failure {
    Failure::new(STATUS_UNUSABLE, fact)
}

/// The command line asks for what cannot be.
fn usage(fact: impl Into<String>) -> Failure {
    Failure::new(STATUS_USAGE, fact)
}

// Which survey.

/// No survey was named and none is piped in.
pub fn no_survey() -> Failure {
    usage("which survey?")
        .help("name its file, as in `quarterturn shape lathe.toml`, or pipe it in")
}

/// The survey cannot be read at all.
pub fn unreadable(name: &str, error: &io::Error) -> Failure {
    unusable(format!("cannot read `{name}`: {error}"))
}

/// The survey is larger than any survey is.
pub fn too_large(name: &str) -> Failure {
    unusable(format!("`{name}` is too large for a survey"))
        .help("a survey is a text file of some pages")
}

/// Nothing came through the pipe.
pub fn nothing_piped() -> Failure {
    unusable("no survey came through the pipe")
        .help("name a survey file, as in `quarterturn shape lathe.toml`")
}

/// The survey holds mistakes.
pub fn mistakes(name: String, text: String, diagnostics: Vec<Diagnostic>) -> Failure {
    Failure {
        status: STATUS_UNUSABLE,
        told: Told::Mistakes {
            name,
            text,
            diagnostics,
        },
    }
}

// What the survey holds.

/// The survey holds no pass.
pub fn no_passes() -> Failure {
    unusable("the survey holds no pass").help("add a `[[pass]]` with readings")
}

/// The survey holds no pass of this number, from 1, but so many.
pub fn no_such_pass(number: usize, passes: usize) -> Failure {
    usage(format!("there is no pass {number}")).help(match passes {
        1 => "the survey holds one pass".to_owned(),
        _ => format!("the survey holds passes 1 to {passes}"),
    })
}

/// The survey holds no test cut of this number, from 1, but so many.
pub fn no_such_cut(number: usize, cuts: usize) -> Failure {
    let there_is_none = usage(format!("there is no cut {number}"));
    match cuts {
        0 => unusable("the survey holds no test cut")
            .help("add a `[[cut]]` with the collars of a bar turned in the chuck"),
        1 => there_is_none.help("the survey holds one cut"),
        _ => there_is_none.help(format!("the survey holds cuts 1 to {cuts}")),
    }
}

/// The collars of the cut of this number, from 1, show no taper.
pub fn no_taper(number: usize) -> Failure {
    unusable(format!("cut {number} shows no taper"))
        .help("a taper shows between two collars on the same bar")
}

/// No pass before the one of this number, from 1, shows the bed without turns in between.
pub fn nothing_to_compare(number: usize) -> Failure {
    unusable(format!("pass {number} has no pass to compare it with")).help(
        "what moved by itself shows between two passes with nothing turned in between; read the bed again after some \
         days",
    )
}

/// The pass of this number, from 1, holds no reading.
pub fn no_readings(number: usize) -> Failure {
    unusable(format!("pass {number} holds no readings"))
        .help("type them with `quarterturn readings`; a `-` is a reading not taken")
}

/// The pass of this number, from 1, names no places to read.
pub fn no_places(number: usize) -> Failure {
    unusable(format!("pass {number} names no places")).help(
        "write `stations` and, for every line to be read, as many `\"-\"`, as in `cross = [\"-\", \"-\"]`",
    )
}

/// Why there is no plan after the pass of this number, from 1.
pub fn no_plan(reason: NoPlan, number: usize) -> Failure {
    match reason {
        NoPlan::NoPass => no_passes(),
        NoPlan::NoReadings => no_readings(number),
        NoPlan::NothingKnown => unusable(format!(
            "pass {number} shows neither twist nor crown, so there is nothing to turn by"
        ))
        .help("read across at two places or more, or along one way at two places or more"),
        NoPlan::Unsupported(reason) => unsupported(reason),
    }
}

/// The feet do not hold the bed.
fn unsupported(reason: Unsupported) -> Failure {
    unusable(match reason {
        Unsupported::TooFewFeet { feet } => format!("{feet} feet do not hold a bed"),
        Unsupported::FeetInLine { .. } => {
            "the feet stand in one line and do not hold the bed".to_owned()
        }
        Unsupported::NotStiff => "the feet and the bed have no stiffness to reckon with".to_owned(),
    })
    .help(FEET_NEEDED)
}

// What is typed at the machine.

/// Standard input was named where a file is to be changed.
pub fn no_file() -> Failure {
    usage("this command writes into the survey, so it needs a file")
        .help("name the survey file, as in `quarterturn turned lathe.toml F2 +3`")
}

/// What was turned after the pass of this number, from 1, is recorded already.
pub fn turned_already(number: usize, recorded: &str) -> Failure {
    unusable(format!(
        "what was turned after pass {number} is recorded already: {recorded}"
    ))
    .help("`--again` puts the new record in its place")
}

/// What was typed is not understood.
pub fn not_understood(fact: impl Into<String>, help: impl Into<String>) -> Failure {
    usage(fact).help(help)
}

/// What was turned lies far from the plan: one foot each, what the card says and what was typed.
pub fn far_from_plan(feet: &[String]) -> Failure {
    unusable(format!("far from the plan: {}", feet.join("; ")))
        .help("nothing was recorded; + raises, - lowers; `--sure` records it as it is")
}

/// The pass to type has its places and its level already; its number, from 1.
pub fn pass_begun(number: usize) -> Failure {
    usage(format!(
        "pass {number} is begun or planned, with its places and its level"
    ))
    .help("leave these options out to go on with it, or add `--new` for a pass after it")
}

/// Which of the survey's levels to read with has to be said.
pub fn which_level(survey: &Survey) -> Failure {
    let known: Vec<&str> = survey.levels.keys().map(String::as_str).collect();
    if known.is_empty() {
        return usage("the survey describes no level").help(
            "add a table like `[level.master]` with `division = \"0.02 mm/m\"` and `base = 200`",
        );
    }
    usage("which level is in hand?").help(format!("`--level` and one of {}", known.join(", ")))
}

/// A level without a base cannot be read along a way.
pub fn no_base(level: &str, line: Line) -> Failure {
    usage(format!(
        "level `{level}` has no `base` and cannot read along the {} way",
        line.name()
    ))
    .help(format!(
        "add a line like `base = 200` to `[level.{level}]`, the length that rests on the way"
    ))
}

/// How stations are said.
const STATIONS: &str = "`--stations 150,350,550`, the middle of the level";

/// No place to read at.
pub fn no_stations() -> Failure {
    usage("there is no place to read at").help(format!("say where with {STATIONS}"))
}

/// The places are not understood.
pub fn stations(fact: &str) -> Failure {
    usage(format!("the stations are not understood: {fact}"))
        .help(format!("write them like {STATIONS}"))
}

/// The line of this number, from 1, through the pipe is not understood.
pub fn line(number: usize, mistake: &Diagnostic) -> Failure {
    let kept = "the readings before it are in the file";
    unusable(format!("line {number}: {}", mistake.title)).help(match &mistake.help {
        Some(help) => format!("{help}; {kept}"),
        None => kept.to_owned(),
    })
}

/// More lines come through the pipe than there are places; number of the first one too many, from 1.
pub fn more_lines(number: usize) -> Failure {
    unusable(format!("line {number} has no place left in the pass"))
        .help("the lines before it are in the file; is one of them at the wrong place?")
}

/// Something that a new survey needs was not said; the first option that would say it.
pub fn not_said(option: Option<&str>) -> Failure {
    usage(match option {
        Some(option) => format!("`{option}` was not said"),
        None => ANSWERS_ENDED.to_owned(),
    })
    .help("nothing was written; answer the questions, or see `quarterturn new --help`")
}

const ANSWERS_ENDED: &str = "the answers ended before the last question";

/// The lines ended before all was answered.
pub fn answers_ended() -> Failure {
    unusable(ANSWERS_ENDED).help("nothing was recorded")
}

/// What options say of a new survey is not understood; each with its option.
pub fn options(mistakes: impl IntoIterator<Item = (String, Diagnostic)>) -> Failure {
    let told: Vec<String> = mistakes
        .into_iter()
        .map(|(option, mistake)| {
            let label = Some(&mistake.label).filter(|label| !label.is_empty());
            let parts: Vec<&str> = [Some(&mistake.title), label, mistake.help.as_ref()]
                .into_iter()
                .flatten()
                .map(String::as_str)
                .collect();
            format!("`{option}`: {}", parts.join("; "))
        })
        .collect();
    unusable(told.join("\n       ")).help("nothing was written; see `quarterturn new --help`")
}

/// An answer through the pipe, in the line of this number, from 1, is not understood.
pub fn answer(number: usize, fact: &str, help: Option<&str>) -> Failure {
    let failure = usage(format!("line {number}: {fact}"));
    match help {
        Some(help) => failure.help(help),
        None => failure,
    }
}

/// There is no such command.
pub fn no_command(name: &str) -> Failure {
    usage(format!("there is no command `{name}`")).help("`quarterturn --help` lists them")
}

// Rehearsals.

/// A pass of a real machine, of this number, from 1, stands where a rehearsal would be written.
pub fn real_readings(number: usize) -> Failure {
    unusable(format!("pass {number} holds readings of a real machine"))
        .help("rehearse in a survey file without readings, such as a new one; nothing was changed")
}

/// The pass of this number, from 1, is of another rehearsal than the first one.
pub fn another_seed(number: usize, seed: u64, before: u64) -> Failure {
    unusable(format!(
        "pass {number} is of made-up bed {seed}, those before it of bed {before}"
    ))
    .help("one file holds one rehearsal")
}

/// The rehearsal goes on with the seed that it was begun with.
pub fn seed_chosen(wished: u64, recorded: u64) -> Failure {
    usage(format!(
        "the file rehearses made-up bed {recorded}, not {wished}"
    ))
    .help("leave `--seed` out to go on, or rehearse in a new survey file")
}

/// A rehearsal stands on the floor that it was begun on.
pub fn floor_chosen(fresh: bool) -> Failure {
    let floor = if fresh {
        "just set down"
    } else {
        "near what it should be"
    };
    usage(format!("the file rehearses a machine that is {floor}"))
        .help("leave `--floor` out to go on, or rehearse in a new survey file")
}

/// No machine can stand on these feet.
pub fn cannot_stand(reason: &CannotStand) -> Failure {
    match reason {
        CannotStand::Unsupported(_) => {
            unusable("the feet in the survey do not hold the bed").help(FEET_NEEDED)
        }
        CannotStand::Tips { .. } => {
            unusable("the machine would tip over: its headstock stands too far beyond its feet")
                .help(
                    "see `[feet]`, `headstock_mass` and `headstock_at`, or set `held_down = true`",
                )
        }
    }
}

// Files to change.

/// Another program has the file in hand.
pub fn in_use(name: &str) -> Failure {
    unusable(format!("`{name}` is in use by another quarterturn"))
        .help("end the other one first; nothing was changed here")
}

/// The file must not be written.
pub fn protected(name: &str) -> Failure {
    unusable(format!("`{name}` is write-protected"))
        .help("nothing was changed; allow writing to it and to its folder, or work on a copy")
}

/// The file could not be saved.
pub fn unsaved(name: &str, error: &io::Error) -> Failure {
    unusable(format!("cannot save `{name}`: {error}"))
        .help("the file still says what it said before")
}

/// Somebody changed the same meanwhile; what changed, line by line.
pub fn changed_meanwhile(name: &str, difference: Vec<String>) -> Failure {
    Failure {
        status: STATUS_UNUSABLE,
        told: Told::ChangedMeanwhile {
            name: name.to_owned(),
            difference,
        },
    }
}

/// It is no file that can be kept.
pub fn no_regular_file(name: &str) -> Failure {
    unusable(format!("`{name}` is no file that can be changed")).help("name a survey file")
}

/// There is a file of this name where a new survey would be.
pub fn exists(name: &str) -> Failure {
    unusable(format!("there is a `{name}` already"))
        .help("nothing was changed; give the new survey another name")
}

/// The text is not written so that it can be changed this way.
pub fn cannot_edit(name: &str, reason: CannotEdit) -> Failure {
    unusable(format!("nothing can be added to `{name}`")).help(match reason {
        CannotEdit::PassInList => {
            "the passes stand in a list in brackets: give each a header `[[pass]]` of its own"
        }
        CannotEdit::NoKey => "no table of it has such a key; name it as in `level.fine.range 20`",
        CannotEdit::NoPass | CannotEdit::NoReading => {
            "the file was changed meanwhile; start again with what it says now"
        }
    })
}

/// After the change it would be no survey.
pub fn would_spoil(name: &str, mistake: &Diagnostic) -> Failure {
    let failure = unusable(format!(
        "this would make `{name}` unreadable: {}",
        mistake.title
    ));
    match &mistake.help {
        Some(help) => failure.help(help),
        None => failure,
    }
}

// Pages and drawings.

/// The drawing has nothing to show.
pub fn nothing_to_draw() -> Failure {
    unusable("the readings do not show what this drawing would").help(
        "`cross` takes cross readings at two places, `front` and `rear` the level along a way, the rounds two passes",
    )
}

/// A page would land on a terminal.
pub fn no_output() -> Failure {
    usage("where to?").help("name a file to write, as in `-o card.html`; `-o -` prints here")
}

/// The pass that should show the bed before comes after the one that shows it after; their numbers, from 1.
pub fn before_after(before: usize, after: usize) -> Failure {
    usage(format!("pass {before} does not come before pass {after}"))
        .help("`--from` names the pass before, `--pass` the one after")
}

/// The file to write is the survey.
pub fn is_the_survey(name: &str) -> Failure {
    usage(format!("`{name}` is the survey itself"))
        .help("nothing was changed; name another file to write")
}

/// The file to write is there already.
pub fn already_there(name: &str) -> Failure {
    usage(format!("`{name}` is there already"))
        .help("choose another name, or replace it with `--force`")
}

/// The file cannot be written.
pub fn cannot_write(name: &str, error: &io::Error) -> Failure {
    unusable(format!("cannot write `{name}`: {error}"))
}

/// What was found cannot be written.
pub fn unwritable(error: &io::Error) -> Failure {
    unusable(format!("cannot write the result: {error}"))
}
