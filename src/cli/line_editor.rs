//! One line after the other from a terminal.
//!
//! The terminal's reader lives as long as the program, so that lines that were typed ahead wait for the prompt that
//! asks for them; lines that are pasted together are taken apart. Between two lines the terminal is as any program
//! leaves it.

use std::collections::VecDeque;
use std::io::{self, Write, stdout};

use crossterm::cursor::MoveToColumn;
use crossterm::event::{
    DisableBracketedPaste, EnableBracketedPaste, Event, KeyCode, KeyEvent, KeyEventKind,
    KeyModifiers, read,
};
use crossterm::style::Print;
use crossterm::terminal::{Clear, ClearType, disable_raw_mode, enable_raw_mode};
use crossterm::{execute, queue};

use super::output;
use crate::report::text::{Page, Prose};

/// With less room than this behind a prompt, the answer stands on a line of its own.
const LEAST_ROOM: usize = 12;

/// What stands before an answer on a line of its own.
const OWN_LINE: &str = "> ";

/// What a key does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stroke {
    Letter(char),
    Enter,
    Rubout,
    Delete,
    RuboutWord,
    RuboutToStart,
    CutToEnd,
    Left,
    Right,
    Start,
    End,
    Earlier,
    Later,
    Interrupt,
    EndOfInput,
}

/// Takes lines, and remembers them.
#[derive(Debug, Default)]
pub(super) struct LineEditor {
    /// Strokes that were pasted and are still to be taken.
    waiting: VecDeque<Stroke>,
    earlier: Vec<String>,
}

/// A line while it is typed.
#[derive(Debug, Default)]
struct Draft {
    letters: Vec<char>,
    /// Where the next letter goes.
    at: usize,
}

/// The terminal gives every key by itself as long as this lives.
struct KeyByKey;

impl KeyByKey {
    fn begin() -> io::Result<Self> {
        enable_raw_mode()?;
        let begun = Self;
        execute!(stdout(), EnableBracketedPaste)?;
        Ok(begun)
    }
}

impl Drop for KeyByKey {
    fn drop(&mut self) {
        // A terminal that is gone needs no mending.
        let _ = execute!(stdout(), DisableBracketedPaste);
        let _ = disable_raw_mode();
    }
}

impl LineEditor {
    /// The next line; `None` at Ctrl-C, or at Ctrl-D where nothing was typed.
    pub fn line(&mut self, prompt: &str) -> io::Result<Option<String>> {
        let width = output::width();
        let prompt = Self::prompt(prompt, width)?;
        let room = width.saturating_sub(prompt.chars().count() + 1).max(1);
        let mut draft = Draft::default();
        let mut recalled = self.earlier.len();
        let _key_by_key = KeyByKey::begin()?;
        draft.show(&prompt, room)?;
        loop {
            let stroke = self.stroke()?;
            let was_at_end = draft.at == draft.letters.len();
            match stroke {
                Stroke::Enter => {
                    execute!(stdout(), Print("\r\n"))?;
                    let line: String = draft.letters.into_iter().collect();
                    if !line.trim().is_empty() {
                        self.earlier.push(line.clone());
                    }
                    return Ok(Some(line));
                }
                Stroke::Interrupt => {
                    execute!(stdout(), Print("^C\r\n"))?;
                    return Ok(None);
                }
                Stroke::EndOfInput if draft.letters.is_empty() => {
                    execute!(stdout(), Print("\r\n"))?;
                    return Ok(None);
                }
                Stroke::Earlier | Stroke::Later => {
                    recalled = if stroke == Stroke::Earlier {
                        recalled.saturating_sub(1)
                    } else {
                        (recalled + 1).min(self.earlier.len())
                    };
                    draft = Draft::of(self.earlier.get(recalled).map_or("", String::as_str));
                }
                _ => draft.change(stroke),
            }
            match stroke {
                Stroke::Letter(letter) if was_at_end && draft.letters.len() < room => {
                    execute!(stdout(), Print(letter))?;
                }
                _ => draft.show(&prompt, room)?,
            }
        }
    }

    /// Prints all lines of a prompt but its last, which is left to be shown with the answer.
    fn prompt(words: &str, width: usize) -> io::Result<String> {
        let mut page = Page::new(width);
        page.paragraph(&Prose::from(words));
        let text = page.finish();
        let (above, last) = match text.trim_end_matches('\n').rsplit_once('\n') {
            Some((above, last)) => (format!("{above}\n"), last),
            None => (String::new(), text.trim_end_matches('\n')),
        };
        let mut out = stdout();
        // What was typed ahead was shown where it was typed; it is shown again behind its own prompt.
        queue!(out, Print("\r"), Clear(ClearType::UntilNewLine))?;
        out.write_all(above.as_bytes())?;
        let last = if last.is_empty() {
            String::new()
        } else {
            format!("{last} ")
        };
        if last.chars().count() + LEAST_ROOM <= width {
            return Ok(last);
        }
        writeln!(out, "{last}")?;
        Ok(OWN_LINE.to_owned())
    }

    fn stroke(&mut self) -> io::Result<Stroke> {
        loop {
            if let Some(stroke) = self.waiting.pop_front() {
                return Ok(stroke);
            }
            match read()? {
                Event::Paste(text) => self.waiting.extend(strokes_of(&text)),
                Event::Key(key) if key.kind != KeyEventKind::Release => {
                    if let Some(stroke) = stroke_of(key) {
                        return Ok(stroke);
                    }
                }
                _ => {}
            }
        }
    }
}

impl Draft {
    fn of(line: &str) -> Self {
        let letters: Vec<char> = line.chars().collect();
        Self {
            at: letters.len(),
            letters,
        }
    }

    fn change(&mut self, stroke: Stroke) {
        match stroke {
            Stroke::Letter(letter) => {
                self.letters.insert(self.at, letter);
                self.at += 1;
            }
            Stroke::Rubout if self.at > 0 => {
                self.at -= 1;
                self.letters.remove(self.at);
            }
            Stroke::Delete | Stroke::EndOfInput if self.at < self.letters.len() => {
                self.letters.remove(self.at);
            }
            Stroke::RuboutWord => {
                let before = &self.letters[..self.at];
                let word_end = before.iter().rposition(|c| *c != ' ').map_or(0, |k| k + 1);
                let word = before[..word_end].iter().rposition(|c| *c == ' ');
                let from = word.map_or(0, |space| space + 1);
                self.letters.drain(from..self.at);
                self.at = from;
            }
            Stroke::RuboutToStart => {
                self.letters.drain(..self.at);
                self.at = 0;
            }
            Stroke::CutToEnd => self.letters.truncate(self.at),
            Stroke::Left => self.at = self.at.saturating_sub(1),
            Stroke::Right => self.at = (self.at + 1).min(self.letters.len()),
            Stroke::Start => self.at = 0,
            Stroke::End => self.at = self.letters.len(),
            _ => {}
        }
    }

    /// The part of the line round the next letter that there is room for.
    fn show(&self, prompt: &str, room: usize) -> io::Result<()> {
        let from = self.at.saturating_sub(room);
        let to = (from + room).min(self.letters.len());
        let seen: String = self.letters[from..to].iter().collect();
        let column = prompt.chars().count() + self.at - from;
        let mut out = stdout();
        queue!(
            out,
            Print("\r"),
            Clear(ClearType::UntilNewLine),
            Print(prompt),
            Print(seen)
        )?;
        if self.at < self.letters.len() {
            queue!(out, MoveToColumn(u16::try_from(column).unwrap_or(u16::MAX)))?;
        }
        out.flush()
    }
}

/// What was pasted, key by key; every way to end a line is one Enter.
fn strokes_of(text: &str) -> Vec<Stroke> {
    let lines = text.replace("\r\n", "\n").replace('\r', "\n");
    lines
        .chars()
        .filter_map(|letter| match letter {
            '\n' => Some(Stroke::Enter),
            '\t' => Some(Stroke::Letter(' ')),
            letter => (!letter.is_control()).then_some(Stroke::Letter(letter)),
        })
        .collect()
}

fn stroke_of(key: KeyEvent) -> Option<Stroke> {
    if key.modifiers.contains(KeyModifiers::CONTROL) {
        let KeyCode::Char(letter) = key.code else {
            return None;
        };
        return Some(match letter.to_ascii_lowercase() {
            'a' => Stroke::Start,
            'b' => Stroke::Left,
            'c' => Stroke::Interrupt,
            'd' => Stroke::EndOfInput,
            'e' => Stroke::End,
            'f' => Stroke::Right,
            'h' => Stroke::Rubout,
            // What was typed before the prompt came has the terminal's own end of line.
            'j' | 'm' => Stroke::Enter,
            'k' => Stroke::CutToEnd,
            'n' => Stroke::Later,
            'p' => Stroke::Earlier,
            'u' => Stroke::RuboutToStart,
            'w' => Stroke::RuboutWord,
            _ => return None,
        });
    }
    Some(match key.code {
        KeyCode::Char(letter) => Stroke::Letter(letter),
        KeyCode::Enter => Stroke::Enter,
        KeyCode::Tab => Stroke::Letter(' '),
        KeyCode::Backspace => Stroke::Rubout,
        KeyCode::Delete => Stroke::Delete,
        KeyCode::Left => Stroke::Left,
        KeyCode::Right => Stroke::Right,
        KeyCode::Home => Stroke::Start,
        KeyCode::End => Stroke::End,
        KeyCode::Up => Stroke::Earlier,
        KeyCode::Down => Stroke::Later,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pasted_lines_are_taken_apart() {
        let typed = |text: &str| -> String {
            let letter = |stroke| match stroke {
                Stroke::Letter(letter) => letter,
                Stroke::Enter => '/',
                _ => '?',
            };
            strokes_of(text).into_iter().map(letter).collect()
        };
        assert_eq!(typed("1F\r\n2R\r3F\n\n-\t4"), "1F/2R/3F//- 4");
        assert_eq!(typed("\u{1b}[2J"), "[2J");
    }

    #[test]
    fn a_line_is_mended_where_the_hand_stands() {
        let mut draft = Draft::of("1.5F door  ");
        for stroke in [
            Stroke::RuboutWord,
            Stroke::Rubout,
            Stroke::Start,
            Stroke::Delete,
            Stroke::Letter('2'),
            Stroke::End,
            Stroke::Letter('!'),
            Stroke::Left,
            Stroke::CutToEnd,
            Stroke::Right,
            Stroke::Delete,
        ] {
            draft.change(stroke);
        }
        assert_eq!(draft.letters.iter().collect::<String>(), "2.5F");
        draft.change(Stroke::RuboutToStart);
        draft.change(Stroke::Rubout);
        assert!(draft.letters.is_empty() && draft.at == 0);
    }
}
