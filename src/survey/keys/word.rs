//! Keys whose value is one of a few words.

use super::Kind;
use crate::survey::model::{AimShape, Anchors, Clockwise, FootKind, LengthUnit, LimitClass, Side};

/// What is written as one of a few words.
pub trait Word: Copy + PartialEq + 'static {
    /// Every word and what it stands for.
    const WORDS: &'static [(&'static str, Self)];

    /// The word for this.
    fn word(self) -> &'static str {
        Self::WORDS
            .iter()
            .find(|(_, value)| *value == self)
            .map_or("", |(word, _)| word)
    }
}

/// The kind of a key that has one of these words.
pub const fn words<T: Word>() -> Kind {
    Kind::Word(|| T::WORDS.iter().map(|(word, _)| *word).collect())
}

impl Word for LengthUnit {
    const WORDS: &'static [(&'static str, Self)] = &[("mm", Self::Millimetre), ("in", Self::Inch)];
}

impl Word for Side {
    const WORDS: &'static [(&'static str, Self)] = &[("front", Self::Front), ("rear", Self::Rear)];
}

impl Word for Clockwise {
    const WORDS: &'static [(&'static str, Self)] =
        &[("raises", Self::Raises), ("lowers", Self::Lowers)];
}

impl Word for FootKind {
    const WORDS: &'static [(&'static str, Self)] = &[
        ("jack", Self::Jack),
        ("push-pull", Self::PushPull),
        ("wedge", Self::Wedge),
        ("rubber", Self::Rubber),
        ("shims", Self::Shims),
    ];
}

impl Word for LimitClass {
    const WORDS: &'static [(&'static str, Self)] =
        &[("ordinary", Self::Ordinary), ("precision", Self::Precision)];
}

impl Word for AimShape {
    const WORDS: &'static [(&'static str, Self)] =
        &[("straight", Self::Straight), ("level", Self::Level)];
}

impl Word for Anchors {
    const WORDS: &'static [(&'static str, Self)] =
        &[("slack", Self::Slack), ("pulled down", Self::PulledDown)];
}
