//! One file per command: arguments in, report out.
//!
//! * `new` begins a survey, `round` goes through one round: `readings` takes a pass, `turned` records what was turned.
//!   `mend` mends what was written down, `history` tells all rounds, `rehearse` practises all of it.
//! * `shape` tells the shape of the bed, `turns` what to turn, `cut` what a test cut says,
//!   `settle` what moved by itself, `sheet` writes pages to print.
//! * `paperwork` prints completions and manual pages.
//! * `options` is what the commands share and `plots` how they draw; `source` gets the survey, `findings`
//!   works out what a pass shows, `output` prints, `progress` says that it is still being worked out, `failure`
//!   why there is nothing to print.
//! * `survey_file` has a file in hand that is changed, `typing` takes what is typed, through `line_editor` at a
//!   terminal; `file_trouble` and `refusal` say why a file stays as it is.
//! * `written` writes a page or a drawing, `sheet_trouble` says why there is none.

mod cut;
mod failure;
mod findings;
mod forecast;
mod history;
mod line_editor;
mod mend;
mod new;
mod options;
mod output;
mod paperwork;
mod plots;
mod progress;
mod readings;
mod rehearse;
mod round;
mod settle;
mod shape;
mod sheet;
mod source;
mod survey_file;
mod turned;
mod turns;
mod typing;
mod written;

use std::ffi::OsString;
use std::process::ExitCode;

use anstream::ColorChoice;
use clap::{CommandFactory, Parser, Subcommand};

use self::failure::Failure;

/// Levels a machine bed: readings of a precision level in, turns for every foot out.
#[derive(Debug, Parser)]
#[command(name = "quarterturn", version, max_term_width = 100, after_help = AFTER_HELP)]
struct Program {
    #[command(subcommand)]
    command: Command,
}

const AFTER_HELP: &str = "\
Examples:
  quarterturn new lathe.toml        a survey of a machine, from what you are asked
  quarterturn round lathe.toml      one round at the machine: readings, what they show, every turn
or step by step:
  quarterturn readings lathe.toml   a pass of readings, typed one by one
  quarterturn shape lathe.toml      how the bed lies, from the last pass in the file
  quarterturn turns lathe.toml      what to turn after it, foot by foot
  quarterturn turned lathe.toml     what was really turned; then read again
  quarterturn mend lathe.toml       a reading, a turn or a limit that was written down wrongly
  quarterturn history lathe.toml    every pass and what was turned after it
  quarterturn rehearse try.toml     the same with a made-up machine, to practise
  quarterturn cut lathe.toml        what a test cut says of headstock and twist
  quarterturn settle lathe.toml     what moved by itself between passes
  quarterturn sheet lathe.toml --kind card -o card.html      the turns on a page to print

Every command tells more with --help.

Exit status: 0 done; 1 the survey or its readings cannot be used; 2 wrong usage; 3 with --fail-outside, when \
a limit is not proven kept.";

#[derive(Debug, Subcommand)]
// It is made once in a run.
#[expect(clippy::large_enum_variant)]
enum Command {
    New(new::Arguments),
    Round(round::Arguments),
    Readings(readings::Arguments),
    Mend(mend::Arguments),
    History(history::Arguments),
    Shape(shape::Arguments),
    Turns(turns::Arguments),
    Turned(turned::Arguments),
    Rehearse(rehearse::Arguments),
    Cut(cut::Arguments),
    Completions(paperwork::Completions),
    Man(paperwork::Man),
    Settle(settle::Arguments),
    Sheet(sheet::Arguments),
}

/// What a command that did its work says to whoever started it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Done {
    /// All is well.
    Well,
    /// A limit is not proven kept, and that was asked about.
    NotProven,
}

/// Exit status of [`Done::NotProven`].
const STATUS_NOT_PROVEN: u8 = 3;

/// What would be taken for an option although it begins like a negative number, such as `-1/2` or `-10°`, with the
/// minus that print uses.
fn plain_minus(argument: OsString) -> OsString {
    let size = argument.to_str().and_then(|text| text.strip_prefix('-'));
    match size {
        Some(size)
            if size.starts_with(|c: char| c.is_ascii_digit()) && size.parse::<f64>().is_err() =>
        {
            format!("\u{2212}{size}").into()
        }
        _ => argument,
    }
}

/// Runs the program with the process's own arguments.
pub fn run() -> ExitCode {
    let program = match Program::try_parse_from(std::env::args_os().map(plain_minus)) {
        Ok(program) => program,
        Err(wrong) if wrong.use_stderr() => wrong.exit(),
        Err(help) => {
            let printed = output::print(&help.render().ansi().to_string(), ColorChoice::Auto);
            return ended(printed.map(|()| Done::Well), ColorChoice::Auto);
        }
    };
    let (result, colour) = match &program.command {
        Command::Shape(arguments) => (shape::run(arguments), arguments.shared.colour()),
        Command::Readings(arguments) => (readings::run(arguments), ColorChoice::Auto),
        Command::Round(arguments) => (round::run(arguments), ColorChoice::Auto),
        Command::Mend(arguments) => (mend::run(arguments), ColorChoice::Auto),
        Command::History(arguments) => (history::run(arguments), arguments.shared.colour()),
        Command::New(arguments) => (new::run(arguments), ColorChoice::Auto),
        Command::Completions(arguments) => (
            paperwork::completions(arguments, Program::command()),
            ColorChoice::Auto,
        ),
        Command::Man(arguments) => (
            paperwork::man(arguments, Program::command()),
            ColorChoice::Auto,
        ),
        Command::Turned(arguments) => (turned::run(arguments), ColorChoice::Auto),
        Command::Rehearse(arguments) => (rehearse::run(arguments), ColorChoice::Auto),
        Command::Turns(arguments) => (turns::run(arguments), arguments.shared.colour()),
        Command::Cut(arguments) => (cut::run(arguments), arguments.shared.colour()),
        Command::Settle(arguments) => (settle::run(arguments), arguments.shared.colour()),
        Command::Sheet(arguments) => (sheet::run(arguments), arguments.colour()),
    };
    ended(result, colour)
}

/// The exit status, and why there is no result.
fn ended(result: Result<Done, Failure>, colour: ColorChoice) -> ExitCode {
    match result {
        Ok(Done::Well) => ExitCode::SUCCESS,
        Ok(Done::NotProven) => ExitCode::from(STATUS_NOT_PROVEN),
        Err(failure) => {
            output::complain(&failure, colour);
            ExitCode::from(failure.status())
        }
    }
}
