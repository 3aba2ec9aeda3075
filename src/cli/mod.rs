//! One file per command: arguments in, report out.
//!
//! * `shape` tells the shape of the bed, `turns` what to turn, `cut` what a test cut says.
//! * `options` is what the commands share and `plots` how they draw; `source` gets the survey, `findings`
//!   works out what a pass shows, `output` prints, `failure` says why there is nothing to print.

mod cut;
mod failure;
mod findings;
mod forecast;
mod options;
mod output;
mod plots;
mod shape;
mod source;
mod turns;

use std::process::ExitCode;

use clap::{Parser, Subcommand};

/// Levels a machine bed: readings of a precision level in, turns for every foot out.
#[derive(Debug, Parser)]
#[command(name = "quarterturn", version, max_term_width = 100, after_help = AFTER_HELP)]
struct Program {
    #[command(subcommand)]
    command: Command,
}

const AFTER_HELP: &str = "\
Examples:
  quarterturn shape lathe.toml      how the bed lies, from the last pass in the file
  quarterturn turns lathe.toml      what to turn after it, foot by foot
  quarterturn cut lathe.toml        what a test cut says of headstock and twist

Every command tells more with --help.

Exit status: 0 done; 1 the survey or its readings cannot be used; 2 wrong usage; 3 with --fail-outside, when \
a limit is not proven kept.";

#[derive(Debug, Subcommand)]
enum Command {
    Shape(shape::Arguments),
    Turns(turns::Arguments),
    Cut(cut::Arguments),
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

/// Runs the program with the process's own arguments.
pub fn run() -> ExitCode {
    let program = Program::parse();
    let (result, colour) = match &program.command {
        Command::Shape(arguments) => (shape::run(arguments), arguments.shared.colour()),
        Command::Turns(arguments) => (turns::run(arguments), arguments.shared.colour()),
        Command::Cut(arguments) => (cut::run(arguments), arguments.shared.colour()),
    };
    match result {
        Ok(Done::Well) => ExitCode::SUCCESS,
        Ok(Done::NotProven) => ExitCode::from(STATUS_NOT_PROVEN),
        Err(failure) => {
            output::complain(&failure, colour);
            ExitCode::from(failure.status())
        }
    }
}
