//! Advice as an object: its kind, and its numbers beside it.

use serde::Serialize;

use super::next_pass::StripObject;
use super::number::{Milli, Place, Plain};
use crate::plan::Advice;
use crate::report::words;
use crate::survey::Survey;
use crate::survey::units::show_part_of_turn;

/// One piece of advice.
#[derive(Debug, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum AdviceObject {
    /// Every limit is proven kept.
    Done,
    /// What is known is inside the limits, and not everything is known.
    KnownKept,
    /// What is left is smaller than the readings can see.
    BelowReadings,
    /// Read again before turning.
    ReadAgain {
        /// Passes that would settle it; `null` when no bearable number would.
        passes: Option<usize>,
    },
    /// Most stations of the pass are not read yet.
    Unfinished {
        /// Stations that were read.
        read: usize,
        /// Stations of the lines that were begun.
        of: usize,
    },
    /// A reading that does not fit the others.
    Suspect {
        /// Its line.
        reading: &'static str,
        /// Its place.
        at_mm: Place,
    },
    /// What was written down of a turn contradicts the readings.
    CheckRecord {
        /// The number of the pass after which it was turned.
        pass: usize,
        /// The foot's name.
        foot: String,
    },
    /// Nothing was read near these feet.
    Unread {
        /// Their names.
        feet: Vec<String>,
    },
    /// All the turns at once would force the bed.
    Forced {
        /// The foot's name.
        foot: String,
        /// Share of the machine's weight that it would carry.
        share: Plain,
        /// Part of the way that these turns go; `null` when nothing is turned.
        part: Option<Plain>,
    },
    /// What was read would load a foot beyond the machine's weight.
    LoadsUnlikely {
        /// The foot's name.
        foot: String,
        /// Share of the machine's weight that it would carry.
        share: Plain,
    },
    /// The bed moved by itself after a pass.
    MovedByItself {
        /// Number of that pass.
        pass: usize,
    },
    /// The anchors were touched since the pass before.
    Anchored {
        /// Whether they were pulled down.
        pulled: bool,
        /// What that changed of the cross slope at the tailstock end beside the headstock end.
        twist_mm_per_m: Milli,
        /// Its uncertainty.
        u95_mm_per_m: Milli,
    },
    /// One step of a foot is more than it may go in one walk.
    StepTooLong {
        /// Its name.
        foot: String,
        /// What one step lifts.
        lift_mm: Milli,
    },
    /// No turns are known that would surely bring the bed nearer its limits.
    TurnsUnclear,
    /// Take the coarser level.
    CoarserLevel {
        /// Its name.
        name: Option<String>,
    },
    /// Lay a strip under one end of the level at every station.
    PackLevel(StripObject),
    /// Read one place with the level turned end for end.
    ReverseOnce {
        /// Across.
        across: bool,
        /// Along the ways.
        along: bool,
    },
    /// Wait until the bed is of one temperature.
    Warm {
        /// How much warmer the top was than the underside.
        top_over_below_k: Option<Plain>,
        /// Crown that this is, taken off.
        crown_mm: Option<Milli>,
        /// Its uncertainty.
        u95_mm: Option<Milli>,
        /// How much warmer the air was than before.
        air_k: Option<Plain>,
    },
    /// Take the finer level.
    FinerLevel {
        /// Its name.
        name: String,
    },
    /// The steps are too coarse for the limits.
    StepsTooCoarse {
        /// The part of a turn that would do.
        needs: Option<String>,
    },
    /// A foot comes to the end of its travel.
    OutOfTravel {
        /// Its name.
        foot: String,
    },
    /// Wear that no foot can cure.
    Wear {
        /// The way.
        way: &'static str,
        /// The place.
        at_mm: Place,
        /// What stays, negative for a hollow.
        height_mm: Milli,
        /// Its uncertainty.
        u95_mm: Milli,
    },
    /// A foot answers with a share of what it should.
    Answers {
        /// Its name.
        foot: String,
        /// The share.
        share: Plain,
        /// Its uncertainty.
        u95: Plain,
    },
    /// A foot answers the wrong way round.
    Backwards {
        /// Its name.
        foot: String,
    },
    /// A foot did nothing.
    Still {
        /// Its name.
        foot: String,
    },
    /// A foot carries next to nothing.
    NearlyHanging {
        /// Its name.
        foot: String,
    },
    /// A foot carries nothing on a bed that is inside its limits.
    Idle {
        /// Its name.
        foot: String,
        /// Where the level lies across and must not move while it is raised.
        at_mm: Place,
    },
    /// The readings do not tell whether a foot carries: a hand is to.
    Feel {
        /// Its name.
        foot: String,
    },
    /// Two feet of one diagonal carry, the others hang.
    Diagonal {
        /// The names of those that carry.
        carrying: [String; 2],
        /// The names of the others.
        hanging: [String; 2],
    },
    /// What was turned after a pass is not written down.
    TurnsNotRecorded {
        /// The number of the pass.
        pass: usize,
    },
}

impl AdviceObject {
    /// Fills the object.
    pub fn of(advice: &Advice, survey: &Survey) -> Self {
        let name = |foot: usize| {
            let foot = survey.feet.get(foot);
            foot.map(|foot| foot.name.clone()).unwrap_or_default()
        };
        match advice {
            Advice::Done => Self::Done,
            Advice::KnownKept => Self::KnownKept,
            Advice::BelowReadings => Self::BelowReadings,
            Advice::ReadAgain { passes } => Self::ReadAgain { passes: *passes },
            Advice::Unfinished { read, of } => Self::Unfinished {
                read: *read,
                of: *of,
            },
            Advice::Suspect { line, at } => Self::Suspect {
                reading: line.name(),
                at_mm: Place::of(*at),
            },
            Advice::CheckRecord { pass, foot } => Self::CheckRecord {
                pass: *pass,
                foot: name(*foot),
            },
            Advice::Unread { feet } => Self::Unread {
                feet: feet.iter().map(|foot| name(*foot)).collect(),
            },
            Advice::Anchored { pulled, twist, u95 } => Self::Anchored {
                pulled: *pulled,
                twist_mm_per_m: Milli::of(*twist),
                u95_mm_per_m: Milli::of(*u95),
            },
            Advice::Forced { foot, share, part } => Self::Forced {
                foot: name(*foot),
                share: Plain::of(*share),
                part: part.map(Plain::of),
            },
            Advice::LoadsUnlikely { foot, share } => Self::LoadsUnlikely {
                foot: name(*foot),
                share: Plain::of(*share),
            },
            Advice::Moved { pass } => Self::MovedByItself { pass: pass + 1 },
            Advice::StepTooLong { foot, lift } => Self::StepTooLong {
                foot: name(*foot),
                lift_mm: Milli::of(*lift),
            },
            Advice::TurnsUnclear => Self::TurnsUnclear,
            Advice::CoarserLevel { name } => Self::CoarserLevel { name: name.clone() },
            Advice::PackLevel { line, height } => Self::PackLevel(StripObject::of(*line, *height)),
            Advice::ReverseOnce { across, along } => Self::ReverseOnce {
                across: *across,
                along: *along,
            },
            Advice::Warm {
                top_over_below,
                bow,
                air,
            } => Self::Warm {
                top_over_below_k: top_over_below.map(Plain::of),
                crown_mm: bow.map(|bow| Milli::of(bow.value)),
                u95_mm: bow.map(|bow| Milli::of(bow.u95)),
                air_k: air.map(Plain::of),
            },
            Advice::FinerLevel { name } => Self::FinerLevel { name: name.clone() },
            Advice::StepsTooCoarse { needs } => Self::StepsTooCoarse {
                needs: needs.map(show_part_of_turn),
            },
            Advice::OutOfTravel { foot } => Self::OutOfTravel { foot: name(*foot) },
            Advice::Wear {
                side,
                at,
                height,
                u95,
            } => Self::Wear {
                way: words::side(*side),
                at_mm: Place::of(*at),
                height_mm: Milli::of(*height),
                u95_mm: Milli::of(*u95),
            },
            Advice::Answers { foot, share, u95 } => Self::Answers {
                foot: name(*foot),
                share: Plain::of(*share),
                u95: Plain::of(*u95),
            },
            Advice::Backwards { foot } => Self::Backwards { foot: name(*foot) },
            Advice::Still { foot } => Self::Still { foot: name(*foot) },
            Advice::NearlyHanging { foot } => Self::NearlyHanging { foot: name(*foot) },
            Advice::Idle { foot, at } => Self::Idle {
                foot: name(*foot),
                at_mm: Place::of(*at),
            },
            Advice::Feel { foot } => Self::Feel { foot: name(*foot) },
            Advice::Diagonal { carrying, hanging } => Self::Diagonal {
                carrying: carrying.map(name),
                hanging: hanging.map(name),
            },
            Advice::TurnsNotRecorded { pass } => Self::TurnsNotRecorded { pass: *pass },
        }
    }
}
