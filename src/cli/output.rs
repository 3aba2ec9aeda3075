//! Prints: without panicking on a closed pipe, with colour only where it is wanted.

use std::io::{self, Write};

use anstream::{AutoStream, ColorChoice};
use crossterm::cursor::MoveTo;
use crossterm::execute;
use crossterm::terminal::{Clear, ClearType};

use super::failure::{self, Failure};
use crate::report::text::{Page, Prose};
use crate::survey::visible;

/// Characters on a line where nobody says how many there are.
const USUAL_WIDTH: usize = 80;
/// Prose in longer lines is hard to read.
const WIDEST: usize = 100;

/// Prints a result. Whoever closes the pipe has seen enough: that is no failure.
pub fn print(text: &str, colour: ColorChoice) -> Result<(), Failure> {
    let mut stream = AutoStream::new(io::stdout().lock(), colour);
    match stream
        .write_all(visible(text).as_bytes())
        .and_then(|()| stream.flush())
    {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(failure::unwritable(&error)),
        _ => Ok(()),
    }
}

/// Prints a result alone on the screen, if there is one, below what was to be told before.
pub fn alone(told: &[String], text: &str, on_screen: bool) -> Result<(), Failure> {
    if on_screen {
        let wiped = execute!(io::stdout(), Clear(ClearType::All), MoveTo(0, 0));
        wiped.map_err(|error| failure::unwritable(&error))?;
    }
    for words in told {
        say(words);
    }
    print(text, ColorChoice::Auto)
}

/// Says something between two prompts, broken at words.
pub fn say(words: &str) {
    let mut page = Page::new(width());
    page.paragraph(&Prose::from(words));
    // Where nobody reads any more, the next prompt finds out.
    let _ = print(&page.finish(), ColorChoice::Auto);
}

/// Says what can be typed: each with what it is for.
pub fn say_help(lines: &[(&str, &str)]) {
    let column = lines.iter().map(|(typed, _)| typed.chars().count()).max();
    let column = column.unwrap_or(0) + 2;
    let mut page = Page::new(width());
    for (typed, meaning) in lines {
        page.hanging(&format!("{typed:<column$}"), &Prose::from(*meaning));
    }
    let _ = print(&page.finish(), ColorChoice::Auto);
}

/// Says why there is no result.
pub fn complain(failure: &Failure, colour: ColorChoice) {
    complain_in(&failure.message(), colour);
}

/// Says something beside the result.
pub fn note(words: &str) {
    complain_in(&format!("note: {words}\n"), ColorChoice::Auto);
}

fn complain_in(text: &str, colour: ColorChoice) {
    let mut stream = AutoStream::new(io::stderr().lock(), colour);
    // Where nobody listens, nothing more can be said.
    let _ = stream.write_all(visible(text).as_bytes());
}

/// Characters on a line: what `COLUMNS` says, else the terminal, else the usual.
pub fn width() -> usize {
    let asked = std::env::var("COLUMNS")
        .ok()
        .and_then(|columns| columns.parse().ok())
        .filter(|columns| *columns > 0);
    asked
        .or_else(|| terminal_size::terminal_size().map(|(width, _)| usize::from(width.0)))
        .unwrap_or(USUAL_WIDTH)
        .min(WIDEST)
}
