//! What may be typed where a reading is asked for.

/// One typed line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Typed<'a> {
    /// Enter alone.
    Nothing,
    /// Back to the reading before.
    Back,
    /// Leave this place out.
    Skip,
    /// Something to remember with the pass.
    Note(&'a str),
    /// What a hand finds at feet, the key that it is written under, and their names.
    Felt(&'static str, &'a str),
    /// What lies under one end of the level.
    Packing(&'a str),
    /// Go on another time.
    Stop,
    /// What can be typed?
    Help,
    /// A reading, or what is meant for one.
    Reading(&'a str),
}

/// What `help` says.
pub(super) const HELP: [(&str, &str); 13] = [
    (
        "1.5F, 1 1/2 f",
        "a reading: divisions and the letter of the high side, or of the high end",
    ),
    ("0", "level"),
    ("1.5F 1.25F", "repeats on the spot, parted by a space"),
    (">10F", "the bubble is off the scale, front high"),
    ("- or skip", "leave this place out"),
    ("back", "to the reading before"),
    ("note door open", "a note with the pass"),
    ("hanging R3 F4", "feet that are found loose"),
    ("hanging none", "every foot was felt, and bears"),
    ("barely R2", "feet that turn with two fingers"),
    (
        "packing 0.55 R",
        "a strip of this thickness lies under the rear block, here and at every station",
    ),
    ("stop", "go on another time, exactly here"),
    (
        "",
        "Every reading is in the file as soon as the next one is asked for.",
    ),
];

impl<'a> Typed<'a> {
    /// Understands a line; what is no command is a reading.
    pub fn of(line: &'a str) -> Self {
        let line = line.trim();
        let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
        let rest = rest.trim();
        match (word.to_ascii_lowercase().as_str(), rest) {
            ("", _) => Self::Nothing,
            ("back", "") => Self::Back,
            ("skip" | "-", "") => Self::Skip,
            ("stop" | "quit" | "exit", "") => Self::Stop,
            ("help" | "?", "") => Self::Help,
            ("note", words) => Self::Note(words),
            ("hanging", feet) => Self::Felt("hanging", feet),
            ("barely", feet) => Self::Felt("barely", feet),
            ("packing", strip) => Self::Packing(strip),
            _ => Self::Reading(line),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Typed;

    #[test]
    fn commands_and_readings() {
        for (line, typed) in [
            ("", Typed::Nothing),
            ("  ", Typed::Nothing),
            ("Back", Typed::Back),
            ("skip", Typed::Skip),
            ("-", Typed::Skip),
            ("STOP", Typed::Stop),
            ("?", Typed::Help),
            ("note  door open ", Typed::Note("door open")),
            ("note", Typed::Note("")),
            ("hanging R3", Typed::Felt("hanging", "R3")),
            ("barely R2", Typed::Felt("barely", "R2")),
            ("packing 0.5 R", Typed::Packing("0.5 R")),
            ("1.5 f", Typed::Reading("1.5 f")),
            ("back 2", Typed::Reading("back 2")),
        ] {
            assert_eq!(Typed::of(line), typed, "{line:?}");
        }
    }
}
