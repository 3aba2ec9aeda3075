//! Every key of the survey file, once: its name, what kind of value it has, within which bounds, an example, and what it means.
//!
//! The reader, its messages, the options of `new` and the printed reference come from here. A new key is one line in
//! [`catalogue`] and one where its table is read.
//!
//! * [`catalogue`] is the list.
//! * `kind` says what values there are, and within which bounds they lie.
//! * `word` ties the words a key may have to what they mean.

// It is a table: one key, one line.
#[rustfmt::skip]
pub mod catalogue;
mod kind;
mod word;

pub use self::kind::{Bounds, Kind};
pub use self::word::{Word, words};

/// A table of the survey file, with the keys it may have.
#[derive(Debug)]
pub struct Section {
    /// How its header is written, `[bed]`; for a table in braces what it is called.
    pub heading: &'static str,
    /// What it is about, where that is not plain.
    pub meaning: &'static str,
    /// Its keys in the order in which they are best written. Where the person chooses the names, one that stands
    /// for all of them.
    pub keys: &'static [Key],
}

impl Section {
    /// The key of this name.
    pub fn key(&self, name: &str) -> Option<&'static Key> {
        self.keys.iter().find(|key| key.name == name)
    }
}

/// A key of the survey file.
#[derive(Debug)]
pub struct Key {
    /// How it is written.
    pub name: &'static str,
    /// What values it has.
    pub kind: Kind,
    /// A value that would be right.
    pub example: &'static str,
    /// What it says.
    pub meaning: &'static str,
    /// Whether its table is nothing without it.
    pub needed: bool,
    /// What to say of a value out of its bounds, where the kind does not say it best.
    pub outside: Option<Outside>,
}

/// What to say of a value that is out of its bounds.
#[derive(Debug)]
pub struct Outside {
    /// What is wrong.
    pub title: &'static str,
    /// What to say right at the value; empty for what the value comes to.
    pub label: &'static str,
    /// What would be right.
    pub help: &'static str,
}

impl Key {
    /// A key that may be left out.
    pub const fn new(
        name: &'static str,
        kind: Kind,
        example: &'static str,
        meaning: &'static str,
    ) -> Self {
        Self {
            name,
            kind,
            example,
            meaning,
            needed: false,
            outside: None,
        }
    }

    /// The same key where it must be there.
    #[must_use]
    pub const fn needed(self) -> Self {
        Self {
            needed: true,
            ..self
        }
    }

    /// The same key with words of its own for a value out of its bounds.
    #[must_use]
    pub const fn outside(
        self,
        title: &'static str,
        label: &'static str,
        help: &'static str,
    ) -> Self {
        Self {
            outside: Some(Outside { title, label, help }),
            ..self
        }
    }

    /// A line of a file that would be right.
    pub fn line(&self) -> String {
        match self.kind {
            Kind::Table(section) | Kind::Tables(section) if section.heading.starts_with('[') => {
                section.heading.to_owned()
            }
            _ => format!("{} = {}", self.name, self.example),
        }
    }
}
