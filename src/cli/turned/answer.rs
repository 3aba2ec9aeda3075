//! What may be typed where it is asked how far a foot was turned.

/// One typed line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::cli) enum Answer<'a> {
    /// Just what the card says, by count or because the bubble said stop.
    AsPlanned,
    /// The foot was not turned.
    Not(Because),
    /// Back to the foot before.
    Back,
    /// Go on another time.
    Stop,
    /// What can be typed?
    Help,
    /// Something that was written down wrongly.
    Mend(&'a str),
    /// A turn or a reading, or what is meant for one.
    Other(&'a str),
}

/// Why a foot was not turned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::cli) enum Because {
    /// It carries nothing.
    Loose,
    /// Its screw does not move.
    Stuck,
    /// The person says so.
    Skipped,
}

/// What `help` says where a turn is asked for.
pub(in crate::cli) const HELP: [(&str, &str); 7] = [
    ("Enter", "as shown in brackets"),
    (
        "as planned, or bubble",
        "the same: turned as the card says, or until the bubble said stop and not counted",
    ),
    (
        "+15°, -2 1/2",
        "degrees, or quarter-turns; + raises, - lowers. A number alone is degrees where degrees are shown",
    ),
    ("0", "it stands as before"),
    ("skip", "it was not turned"),
    ("back", "to the foot before"),
    ("stop", "go on another time; what was answered is kept"),
];

impl<'a> Answer<'a> {
    /// Understands a line.
    pub fn of(line: &'a str) -> Self {
        let line = line.trim();
        let (first, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
        let lower = line.to_ascii_lowercase();
        match lower.as_str() {
            "" | "as planned" | "as-planned" | "planned" | "bubble" | "followed"
            | "did not count" => Self::AsPlanned,
            words if words.starts_with("followed the bubble") => Self::AsPlanned,
            "loose" | "hanging" => Self::Not(Because::Loose),
            "stuck" => Self::Not(Because::Stuck),
            "skip" | "-" => Self::Not(Because::Skipped),
            "back" => Self::Back,
            "stop" | "quit" | "exit" => Self::Stop,
            "help" | "?" => Self::Help,
            _ if first.eq_ignore_ascii_case("mend") => Self::Mend(rest.trim()),
            _ => Self::Other(line),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Answer, Because};

    #[test]
    fn commands_and_turns() {
        for (line, answer) in [
            ("", Answer::AsPlanned),
            ("As planned", Answer::AsPlanned),
            ("followed the bubble, did not count", Answer::AsPlanned),
            ("loose", Answer::Not(Because::Loose)),
            ("-", Answer::Not(Because::Skipped)),
            ("Back", Answer::Back),
            ("?", Answer::Help),
            ("mend front 1300  1H", Answer::Mend("front 1300  1H")),
            ("-15", Answer::Other("-15")),
            ("1 1/2 F", Answer::Other("1 1/2 F")),
        ] {
            assert_eq!(Answer::of(line), answer, "{line:?}");
        }
    }
}
