//! What a survey file says, in SI units, with every default filled in.
//!
//! Whoever holds a [`Survey`] can rely on what the reader has checked: all numbers are finite, lengths
//! and divisions are positive, feet and stations lie on the bed, names that are used are defined.

use std::collections::BTreeMap;

use super::notation::QUARTER_DIVISION;

/// The unit of bare lengths in the file and of what is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LengthUnit {
    /// Millimetres; slopes are printed in mm/m.
    #[default]
    Millimetre,
    /// Inches; slopes are printed in in/ft.
    Inch,
}

/// One machine and everything known about its bed.
#[derive(Debug, Clone, PartialEq)]
pub struct Survey {
    /// The unit the person works in.
    pub units: LengthUnit,
    /// The machine as a whole.
    pub machine: Machine,
    /// The bed.
    pub bed: Bed,
    /// The feet in file order: F1, R1, F2, R2 ..., then those outside the pairs.
    pub feet: Vec<Foot>,
    /// The levels by name.
    pub levels: BTreeMap<String, Level>,
    /// What counts as good.
    pub limits: Limits,
    /// What to steer for inside the limits.
    pub aim: Aim,
    /// The passes in file order, which is the order in which they were taken.
    pub passes: Vec<Pass>,
    /// Test cuts in the chuck, in file order.
    pub cuts: Vec<Cut>,
    /// Faced discs in file order.
    pub faces: Vec<Face>,
}

/// The machine as a whole.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Machine {
    /// What the person calls it.
    pub name: Option<String>,
    /// Height of the spindle axis above the ways, m.
    pub centre_height: Option<f64>,
    /// Mass of the whole machine, kg.
    pub mass: Option<f64>,
    /// The part of the mass that sits at one place near the headstock end.
    pub headstock: Option<PointMass>,
    /// Place of the chuck's face along the bed, from the headstock end, m.
    pub chuck_at: Option<f64>,
    /// Distance from the headstock's pivot to the place where it is adjusted, m.
    pub headstock_length: Option<f64>,
    /// Distance between centres, m.
    pub distance_between_centres: Option<f64>,
    /// Largest diameter that swings over the bed, m.
    pub swing: Option<f64>,
    /// Height of the bed's casting, m.
    pub bed_height: Option<f64>,
}

/// A mass that sits at one place along the bed, on its centre line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointMass {
    /// Mass, kg.
    pub mass: f64,
    /// Distance from the headstock end, m.
    pub at: f64,
}

/// The bed.
#[derive(Debug, Clone, PartialEq)]
pub struct Bed {
    /// Length, m.
    pub length: f64,
    /// Distance between the lines on which the level or its blocks rest, m.
    pub way_spacing: f64,
    /// Whether anchors can pull a foot down; if not, the bed only rests on its feet.
    pub held_down: Option<bool>,
    /// The stretch along which the ways are free to be read, m from the headstock end.
    pub free: [f64; 2],
}

impl Bed {
    /// Whether to reckon with anchors that can pull a foot down: unless the file says that there are none.
    pub fn held_down(&self) -> bool {
        self.held_down.unwrap_or(true)
    }

    /// Whether a level finds the ways free at this place.
    pub fn is_free(&self, at: f64) -> bool {
        let [from, to] = self.free;
        (from - PLACE_ROUNDING..=to + PLACE_ROUNDING).contains(&at)
    }
}

/// The operator's side or the far side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    /// The operator's side.
    Front,
    /// The far side.
    Rear,
}

impl Side {
    /// The line of readings along this way.
    pub fn line(self) -> Line {
        match self {
            Self::Front => Line::Front,
            Self::Rear => Line::Rear,
        }
    }
}

/// Which way a foot's screw goes when turned clockwise, seen from above.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Clockwise {
    /// Clockwise raises the bed.
    #[default]
    Raises,
    /// Clockwise lowers the bed.
    Lowers,
}

/// One adjustable foot.
#[derive(Debug, Clone, PartialEq)]
pub struct Foot {
    /// Its name: a letter of the side and a number for pairs (`F1`), or the file's own.
    pub name: String,
    /// The side it stands on.
    pub side: Side,
    /// Distance from the headstock end, m.
    pub at: f64,
    /// Distance from the bed's centre line, m, front positive.
    pub across: f64,
    /// What one whole turn lifts, m.
    pub lift_per_turn: f64,
    /// The sense of the screw.
    pub clockwise: Clockwise,
    /// The finest part of a turn that is worth counting, turns.
    pub smallest_turn: f64,
    /// Travel left downwards from now, turns (zero or negative).
    pub lowest_turns: Option<f64>,
    /// Travel left upwards from now, turns (zero or positive).
    pub highest_turns: Option<f64>,
    /// What it is.
    pub kind: Option<FootKind>,
    /// Whether a nut or a bolt pulls the bed down onto it.
    pub hold_down: Option<bool>,
    /// Whether a nut locks its screw.
    pub lock_nut: Option<bool>,
}

/// What a foot is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FootKind {
    /// A jack screw under the bed; what holds down is a bolt of its own beside it.
    Jack,
    /// One screw pushes, another pulls.
    PushPull,
    /// A wedge mount with a bolt through its middle.
    Wedge,
    /// A mount with rubber in it.
    Rubber,
    /// Shims.
    Shims,
}

/// A precision level.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// Its name in the file.
    pub name: String,
    /// One graduation as a slope, m/m.
    pub division: f64,
    /// Length that rests on the way for along readings, m.
    pub base: Option<f64>,
    /// Divisions readable to either side.
    pub range: Option<f64>,
    /// Standard deviation of one reading, divisions, when the file gives it.
    pub repeat: Option<f64>,
    /// What can be read of a division, divisions: a quarter by eye, less of a level that shows numbers.
    pub resolution: f64,
    /// The letters that a plus of a level that shows numbers stands for, across and along.
    pub plus: Option<[char; 2]>,
}

impl Default for Level {
    /// A level of a division that is usual, read by eye, of which nothing more is known.
    fn default() -> Self {
        Self {
            name: String::new(),
            division: 2e-5,
            base: None,
            range: None,
            repeat: None,
            resolution: QUARTER_DIVISION,
            plus: None,
        }
    }
}

impl Packing {
    /// What lay under the level on a line, m.
    pub fn on(&self, line: Line) -> f64 {
        match line {
            Line::Cross => self.cross,
            Line::Front | Line::Rear => self.along,
        }
    }

    /// The letter of the end under which this height lies on a line.
    pub fn letter(line: Line, height: f64) -> char {
        let [positive, negative] = line.letters();
        if height < 0.0 { negative } else { positive }
    }

    /// What this adds to every reading of a line, m/m, on ways so far apart and under a level of this base (m).
    pub fn slope(&self, line: Line, way_spacing: f64, base: Option<f64>) -> f64 {
        let over = match line {
            Line::Cross => Some(way_spacing),
            Line::Front | Line::Rear => base,
        };
        over.map_or(0.0, |over| self.on(line) / over)
    }
}

impl Level {
    /// Standard deviation of one reading, divisions. Where the file gives none, a person who takes care repeats a
    /// reading to what can be read (common practice, no source).
    pub fn repeat(&self) -> f64 {
        self.repeat.unwrap_or(self.resolution)
    }

    /// Whether it is read by eye between graduations, to the usual quarter.
    pub fn is_read_by_eye(&self) -> bool {
        (self.resolution - QUARTER_DIVISION).abs() < f64::EPSILON
    }

    /// How much finer, or coarser, than by eye it is read: sizes in divisions that stand for a bubble are scaled by
    /// it.
    pub fn eyes(&self) -> f64 {
        self.resolution / QUARTER_DIVISION
    }
}

/// What counts as good; what has no limit has no verdict.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Limits {
    /// Largest twist over the bed, m/m.
    pub twist: Option<f64>,
    /// Lowest and highest crown allowed, m; negative is sag.
    pub crown: Option<[f64; 2]>,
    /// Largest straightness departure allowed for either way, m.
    pub straightness: Option<f64>,
    /// Largest change of cross slope over any metre of bed, m/m.
    pub twist_per_metre: Option<f64>,
    /// Largest departures over any part of a way.
    pub local: Vec<LocalLimit>,
    /// No place of a way may lie below the line through its ends.
    pub convex_only: bool,
    /// Most that a foot of a bed that only rests on its feet may carry, in shares of what it would if all stood at one
    /// height.
    pub load_share: Option<f64>,
    /// The class that gave what the survey does not say itself.
    pub class: Option<LimitClass>,
}

/// Straightness of every part of a way that is no longer than this.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LocalLimit {
    /// Length of the part, m.
    pub over: f64,
    /// Largest range of departures from the line through the part's ends, m.
    pub height: f64,
}

/// A class of lathes whose limits are known by name (ISO 1708, test G1, from memory: the person's own copy
/// of the standard rules).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LimitClass {
    /// Lathes of ordinary accuracy.
    Ordinary,
    /// Precision lathes.
    Precision,
}

/// The form of the bed to steer for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum AimShape {
    /// Straight and free of twist; the bed as a whole may lean.
    #[default]
    Straight,
    /// Straight and also level to gravity.
    Level,
}

/// What to steer for inside the limits.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Aim {
    /// Straight, or level to gravity as well.
    pub shape: AimShape,
    /// Crown to steer for, m; without it the middle of what the limits allow.
    pub crown: Option<f64>,
    /// Cross slope at the tailstock end minus that at the headstock end, m/m; without it none.
    pub twist: Option<f64>,
}

/// One complete set of readings, and what was turned after it.
#[derive(Debug, Clone, PartialEq)]
pub struct Pass {
    /// When it was taken, as written in the file.
    pub taken: Option<toml::value::Datetime>,
    /// Name of the level.
    pub level: String,
    /// The readings line by line, each line in file order.
    pub readings: Vec<Reading>,
    /// Whether a hand was laid on all feet: `hanging` was written down, be it that none is loose.
    pub felt: bool,
    /// Indices into [`Survey::feet`] of feet that a hand or a feeler finds loose.
    pub hanging: Vec<usize>,
    /// Indices into [`Survey::feet`] of feet that just carry: they turn with two fingers.
    pub barely: Vec<usize>,
    /// The person's note.
    pub note: Option<String>,
    /// What else was noted while it was taken.
    pub conditions: Conditions,
    /// What was really turned after this pass, quarter-turns by foot index, + raises; `None` when
    /// nothing is recorded yet.
    pub turned: Option<BTreeMap<usize, f64>>,
}

/// What a pass notes beside its readings.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Conditions {
    /// How the anchors were.
    pub anchors: Option<Anchors>,
    /// How warm it was.
    pub temperature: Temperature,
    /// Where the carriage stood, m from the headstock end.
    pub carriage_at: Option<f64>,
    /// Where the tailstock stood, m from the headstock end.
    pub tailstock_at: Option<f64>,
    /// Whether the chuck was on.
    pub chuck_on: Option<bool>,
    /// Whether the coolant was in.
    pub coolant_in: Option<bool>,
    /// Hours since the spindle stopped.
    pub spindle_stopped: Option<f64>,
    /// What lay under one end of the level at every station.
    pub packing: Packing,
    /// Whether the round after it was stopped before all was turned; `turned` says how far it went.
    pub unfinished: bool,
}

impl Pass {
    /// Whether it was read with the anchors slack.
    pub fn slack(&self) -> bool {
        self.conditions.anchors == Some(Anchors::Slack)
    }

    /// Whether the anchors were pulled down or slackened since a pass before it, as far as both say how they were.
    pub fn anchors_changed_since(&self, before: &Self) -> bool {
        match (before.conditions.anchors, self.conditions.anchors) {
            (Some(before), Some(now)) => before != now,
            _ => false,
        }
    }
}

/// Feelers or strips under one end of the level, the same at every station of a line, that bring the bubble back onto the scale.
///
/// Thicknesses, m, with the sign of the end that they raise: under the front block, or under the tailstock end of the base,
/// positive; none is 0.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Packing {
    /// Across, under one of the blocks.
    pub cross: f64,
    /// Along both ways, under one end of the level's base.
    pub along: f64,
}

/// State of the bolts that hold the bed to the floor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchors {
    /// The bed rests on its feet, no anchor pulls.
    Slack,
    /// The anchors are pulled down.
    PulledDown,
}

/// Temperatures during a pass, °C.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Temperature {
    /// Of the air, or of the machine as a whole.
    pub air: Option<f64>,
    /// Of the bed's upper side.
    pub top: Option<f64>,
    /// Of the bed's lower side.
    pub below: Option<f64>,
}

/// Which of the three lines a reading belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Line {
    /// The level laid across both ways.
    Cross,
    /// The level laid along the front way.
    Front,
    /// The level laid along the rear way.
    Rear,
}

/// One place at which the level was laid down, or should have been.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// The line it belongs to.
    pub line: Line,
    /// Whether the level and its blocks were turned end for end.
    pub reversed: bool,
    /// Middle of the level from the headstock end, m.
    pub at: f64,
    /// What was seen.
    pub entry: Entry,
}

/// What was seen at one place, in divisions of the level.
///
/// The sign follows the surface, not the bubble: a cross reading is positive when the front is high, an
/// along reading is positive when the tailstock end is high, so that it is the slope along `at`.
#[derive(Debug, Clone, PartialEq)]
pub enum Entry {
    /// Not taken.
    Missing,
    /// One or more readings on the spot, divisions.
    Read(Vec<f64>),
    /// The bubble left the scale: at least this far, divisions, with the sign of the high side.
    OffScale(f64),
}

/// A test cut: one or more bars turned to tell the machine's taper.
#[derive(Debug, Clone, PartialEq)]
pub struct Cut {
    /// When it was cut, as written in the file.
    pub taken: Option<toml::value::Datetime>,
    /// How the bar was held.
    pub held: BarHeld,
    /// The side of the work on which the tool stood.
    pub tool: Side,
    /// The collars in file order.
    pub collars: Vec<Collar>,
    /// Whether the diameters are differences from a size common to the bar.
    pub differences: bool,
    /// How far a measured diameter may be off, 95 times in 100, m.
    pub micrometer: Option<f64>,
    /// The most that the tool may have pushed the bar away with, N.
    pub force: Option<f64>,
    /// Diameter of the bar between its collars, m.
    pub bar_diameter: Option<f64>,
    /// The bar was seen to sag or spring.
    pub sagged: bool,
    /// The person's note.
    pub note: Option<String>,
}

/// A disc that was faced.
#[derive(Debug, Clone, PartialEq)]
pub struct Face {
    /// When it was faced, as written in the file.
    pub taken: Option<toml::value::Datetime>,
    /// How far its middle lies behind its rim, m; negative where it stands out.
    pub hollow: f64,
    /// Diameter over which that was measured, m.
    pub diameter: f64,
    /// The side of the work on which the tool stood.
    pub tool: Side,
    /// The person's note.
    pub note: Option<String>,
}

/// How the bar of a test cut was held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BarHeld {
    /// In the chuck.
    InChuck {
        /// Place of the chuck's face along the bed, from the headstock end, m.
        chuck_at: Option<f64>,
        /// How far the bar stands out of the chuck, m.
        overhang: Option<f64>,
        /// The tailstock or a steady held its other end.
        tailstock_used: bool,
    },
    /// Between centres.
    BetweenCentres {
        /// Place of the headstock's centre along the bed, from the headstock end, m.
        centre_at: Option<f64>,
        /// Length of the bar, m.
        length: f64,
    },
}

/// One collar of a test bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Collar {
    /// Distance from the chuck's face, or from the headstock's centre, m.
    pub from_chuck: f64,
    /// Diameter, or its difference from a size common to the bar, m.
    pub diameter: f64,
    /// Which bar it is on, from 1.
    pub bar: u32,
}

impl Limits {
    /// Whether nothing is limited.
    pub fn is_empty(&self) -> bool {
        let none = [self.twist, self.straightness, self.twist_per_metre]
            .iter()
            .all(Option::is_none);
        none && self.crown.is_none() && self.local.is_empty() && !self.convex_only
    }
}

impl Survey {
    /// Index of the foot with this name, upper or lower case.
    pub fn foot_index(&self, name: &str) -> Option<usize> {
        self.feet
            .iter()
            .position(|foot| foot.name.eq_ignore_ascii_case(name))
    }

    /// The level a pass was taken with.
    pub fn level_of(&self, pass: &Pass) -> Option<&Level> {
        self.levels.get(&pass.level)
    }
}

/// How far past an end of the bed a place may lie and still count as on it, m: the rounding of inches.
pub const PLACE_ROUNDING: f64 = 1e-6;

impl Bed {
    /// How far a level of this base reaches past an end of the free ways when its middle stands at `at`, m.
    ///
    /// Up to [`PLACE_ROUNDING`] both its ends stand on them.
    pub fn overhang(&self, base: f64, at: f64) -> f64 {
        let [from, to] = self.free;
        (from + base / 2.0 - at).max(at + base / 2.0 - to)
    }
}

impl Foot {
    /// What one quarter-turn lifts, m.
    pub fn lift_per_quarter(&self) -> f64 {
        self.lift_per_turn / 4.0
    }
}

impl Side {
    /// The letter of this side in a cross reading.
    pub fn letter(self) -> char {
        match self {
            Self::Front => 'F',
            Self::Rear => 'R',
        }
    }
}
