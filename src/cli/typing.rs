//! Lines as they are typed: on a terminal with a prompt, or through a pipe.

use std::io::{self, IsTerminal, Lines, StdinLock};

use super::failure::{self, Failure};
use super::line_editor::LineEditor;
use super::output;
use crate::survey::visible;

/// Where typed lines come from.
pub struct Typing(From);

enum From {
    Terminal(LineEditor),
    Pipe {
        lines: Lines<StdinLock<'static>>,
        number: usize,
    },
}

impl Typing {
    /// A person if there is one, otherwise the pipe.
    pub fn new() -> Self {
        Self(if io::stdin().is_terminal() && io::stdout().is_terminal() {
            From::Terminal(LineEditor::default())
        } else {
            From::Pipe {
                lines: io::stdin().lines(),
                number: 0,
            }
        })
    }

    /// Whether a person sees the prompts and can be asked again.
    pub fn is_person(&self) -> bool {
        matches!(self.0, From::Terminal(_))
    }

    /// The next line, without space around it; `None` when there are no more: the end of the pipe, or a person
    /// who presses Ctrl-C or Ctrl-D.
    pub fn line(&mut self, prompt: &str) -> Result<Option<String>, Failure> {
        let line = match &mut self.0 {
            From::Terminal(editor) => editor.line(&visible(prompt)),
            From::Pipe { lines, number } => {
                if *number == 0 && io::stdin().is_terminal() {
                    output::note(
                        "what is printed goes elsewhere, so there are no questions: type line by line, Ctrl-D ends it",
                    );
                }
                *number += 1;
                lines.next().transpose()
            }
        };
        let line = line.map_err(|error| failure::unreadable("what is typed", &error))?;
        Ok(line.map(|line| line.trim().to_owned()))
    }

    /// Says what is wrong to a person, who can be asked again; where there is nobody to ask it ends everything.
    pub fn explain(&self, failure: Failure) -> Result<(), Failure> {
        if !self.is_person() {
            return Err(failure);
        }
        output::say(&failure.in_a_line());
        Ok(())
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
