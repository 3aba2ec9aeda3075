//! `quarterturn completions` and `quarterturn man`: made from the same definitions as `--help`, and the
//! survey file's keys from their list.

use anstream::ColorChoice;
use clap::Args;
use clap_complete::Shell;

use super::failure::{self, Failure};
use super::{Done, output};
use crate::report::text::reference;

/// Print what makes a shell complete the commands and their options
#[derive(Debug, Args)]
#[command(after_help = COMPLETIONS_HELP)]
pub struct Completions {
    /// The shell
    #[arg(value_name = "SHELL")]
    shell: Shell,
}

const COMPLETIONS_HELP: &str = "\
Examples:
  quarterturn completions bash > ~/.local/share/bash-completion/completions/quarterturn
  quarterturn completions fish > ~/.config/fish/completions/quarterturn.fish";

/// Print the manual page of the program or of one command, or everything that a survey file may say
#[derive(Debug, Args)]
#[command(after_help = MAN_HELP)]
pub struct Man {
    /// The command, or `survey`
    #[arg(value_name = "COMMAND")]
    command: Option<String>,
}

const MAN_HELP: &str = "\
Examples:
  quarterturn man > quarterturn.1
  quarterturn man readings > quarterturn-readings.1
  quarterturn man readings | man -l -
  quarterturn man survey | less      every key of the survey file, to read as it is";

/// Prints the completions for a shell.
pub fn completions(arguments: &Completions, mut program: clap::Command) -> Result<Done, Failure> {
    let mut script = Vec::new();
    let name = program.get_name().to_owned();
    clap_complete::generate(arguments.shell, &mut program, name, &mut script);
    print(&script)
}

/// Prints a manual page.
pub fn man(arguments: &Man, mut program: clap::Command) -> Result<Done, Failure> {
    if arguments.command.as_deref() == Some("survey") {
        output::print(&reference::survey_file(output::width()), ColorChoice::Auto)?;
        return Ok(Done::Well);
    }
    program.build();
    let page = match &arguments.command {
        None => &program,
        Some(name) => program
            .find_subcommand(name)
            .ok_or_else(|| failure::no_command(name))?,
    };
    let mut text = Vec::new();
    clap_mangen::Man::new(page.clone())
        .render(&mut text)
        .map_err(|error| failure::unwritable(&error))?;
    print(&text)
}

fn print(bytes: &[u8]) -> Result<Done, Failure> {
    output::print(&String::from_utf8_lossy(bytes), ColorChoice::Never)?;
    Ok(Done::Well)
}
