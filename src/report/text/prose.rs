//! Words with a tone, before they are laid out on a page.

use anstyle::{AnsiColor, Style};

use crate::survey::seen;

/// How a stretch of words is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Tone {
    /// As any text.
    #[default]
    Plain,
    /// Not to be missed.
    Strong,
    /// Of less weight than the rest.
    Faint,
    /// Inside the limits.
    Good,
    /// Too close to call.
    Doubt,
    /// Outside the limits.
    Bad,
}

impl Tone {
    /// What a terminal makes of it.
    pub fn style(self) -> Style {
        let colour = |colour: AnsiColor| colour.on_default().bold();
        match self {
            Self::Plain => Style::new(),
            Self::Strong => Style::new().bold(),
            Self::Faint => Style::new().dimmed(),
            Self::Good => colour(AnsiColor::Green),
            Self::Doubt => colour(AnsiColor::Yellow),
            Self::Bad => colour(AnsiColor::Red),
        }
    }
}

/// Stands between a number and its unit: printed as a space at which no line is broken.
pub const TIE: char = '\u{a0}';

/// A stretch of text, each part with its tone.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Prose {
    parts: Vec<(Tone, String)>,
}

impl Prose {
    /// Nothing yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// The same with plain words after it.
    #[must_use]
    pub fn plain(self, words: impl Into<String>) -> Self {
        self.toned(Tone::Plain, words)
    }

    /// The same with words after it that are not to be missed.
    #[must_use]
    pub fn strong(self, words: impl Into<String>) -> Self {
        self.toned(Tone::Strong, words)
    }

    /// The same with words of less weight after it.
    #[must_use]
    pub fn faint(self, words: impl Into<String>) -> Self {
        self.toned(Tone::Faint, words)
    }

    /// The same with words of this tone after it.
    #[must_use]
    pub fn toned(mut self, tone: Tone, words: impl Into<String>) -> Self {
        self.parts.push((tone, words.into()));
        self
    }

    /// The same with a strong label before it.
    #[must_use]
    pub fn after(mut self, label: &str) -> Self {
        self.parts.insert(0, (Tone::Strong, label.to_owned()));
        self
    }

    /// The stretches of text with their tones.
    pub fn parts(&self) -> &[(Tone, String)] {
        &self.parts
    }

    /// Whether there are no words.
    pub fn is_empty(&self) -> bool {
        self.parts.iter().all(|(_, words)| words.is_empty())
    }

    /// Every character with its tone. What steers a terminal or is not to be seen, which a survey's names may smuggle in,
    /// is replaced by something that is.
    pub(super) fn characters(&self) -> impl Iterator<Item = (Tone, char)> {
        self.parts.iter().flat_map(|(tone, words)| {
            words
                .chars()
                .map(|character| {
                    if character == '\n' {
                        ' '
                    } else {
                        seen(character)
                    }
                })
                .map(|character| (*tone, character))
        })
    }
}

impl From<&str> for Prose {
    fn from(words: &str) -> Self {
        Self::new().plain(words)
    }
}

impl From<String> for Prose {
    fn from(words: String) -> Self {
        Self::new().plain(words)
    }
}
