//! Prints: without panicking on a closed pipe, with colour only where it is wanted.

use std::io::{self, Write};

use anstream::{AutoStream, ColorChoice};

use super::failure::Failure;
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
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            Err(Failure::Unwritable { error })
        }
        _ => Ok(()),
    }
}

/// Says why there is no result.
pub fn complain(failure: &Failure, colour: ColorChoice) {
    say(&failure.message(), colour);
}

/// Says something beside the result.
pub fn note(words: &str) {
    say(&format!("note: {words}\n"), ColorChoice::Auto);
}

fn say(text: &str, colour: ColorChoice) {
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
