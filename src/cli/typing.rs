//! Lines as they are typed: on a terminal with a prompt, line editing and history, or through a pipe.

use std::io::{self, IsTerminal, Lines, StdinLock};

use rustyline::error::ReadlineError;
use rustyline::{Config, DefaultEditor};

use super::failure::Failure;
use super::output;
use crate::survey::visible;

/// Where typed lines come from.
pub struct Typing(From);

enum From {
    Terminal(Box<DefaultEditor>),
    Pipe {
        lines: Lines<StdinLock<'static>>,
        number: usize,
    },
}

impl Typing {
    /// A person if there is one, otherwise the pipe.
    pub fn new() -> Result<Self, Failure> {
        if io::stdin().is_terminal() && io::stdout().is_terminal() {
            let config = Config::builder().auto_add_history(true).build();
            let editor = DefaultEditor::with_config(config).map_err(unreadable)?;
            return Ok(Self(From::Terminal(Box::new(editor))));
        }
        Ok(Self(From::Pipe {
            lines: io::stdin().lines(),
            number: 0,
        }))
    }

    /// Whether a person sees the prompts and can be asked again.
    pub fn is_person(&self) -> bool {
        matches!(self.0, From::Terminal(_))
    }

    /// The next line, without space around it; `None` when there are no more: the end of the pipe, or a person
    /// who presses Ctrl-C or Ctrl-D.
    pub fn line(&mut self, prompt: &str) -> Result<Option<String>, Failure> {
        match &mut self.0 {
            From::Terminal(editor) => match editor.readline(&*visible(prompt)) {
                Ok(line) => Ok(Some(line.trim().to_owned())),
                Err(ReadlineError::Eof | ReadlineError::Interrupted) => Ok(None),
                Err(error) => Err(unreadable(error)),
            },
            From::Pipe { lines, number } => {
                if *number == 0 && io::stdin().is_terminal() {
                    output::note(
                        "what is printed goes elsewhere, so there are no questions: type line by line, Ctrl-D ends it",
                    );
                }
                *number += 1;
                match lines.next() {
                    None => Ok(None),
                    Some(Ok(line)) => Ok(Some(line.trim().to_owned())),
                    Some(Err(error)) => Err(unreadable(ReadlineError::Io(error))),
                }
            }
        }
    }

    /// Number of the last line through the pipe, from 1.
    pub fn line_number(&self) -> usize {
        match &self.0 {
            From::Terminal(_) => 0,
            From::Pipe { number, .. } => *number,
        }
    }

    /// A yes or no from a person; `None` where there is nobody to ask.
    pub fn confirm(&mut self, question: &str) -> Result<Option<bool>, Failure> {
        if !self.is_person() {
            return Ok(None);
        }
        loop {
            let Some(line) = self.line(&format!("{question} (y/n) "))? else {
                return Ok(Some(false));
            };
            match line.to_ascii_lowercase().as_str() {
                "y" | "yes" => return Ok(Some(true)),
                "n" | "no" => return Ok(Some(false)),
                _ => {}
            }
        }
    }
}

fn unreadable(error: ReadlineError) -> Failure {
    Failure::Unreadable {
        name: "what is typed".to_owned(),
        error: match error {
            ReadlineError::Io(error) => error,
            other => io::Error::other(other),
        },
    }
}
