//! The list of keys, table by table.

use super::kind::{Bounds, Kind, SMALLEST};
use super::word::words;
use super::{Key, Section};
use crate::survey::model::{AimShape, Anchors, Clockwise, FootKind, LengthUnit, LimitClass, Side};

/// No foot of a machine bed lifts more in a turn, m; a larger value is a metric pitch read in inches.
const LARGEST_LIFT: f64 = 0.0254;

/// No workshop is colder, °C.
const COLDEST: f64 = -40.0;
/// No workshop is hotter, °C.
const HOTTEST: f64 = 60.0;

/// A foot cannot be asked to carry no more than its even load: somewhere one carries more.
const LEAST_SHARE: f64 = 1.001;

/// More than any tool of a machine pushes with, N.
const LARGEST_FORCE: f64 = 1e5;

/// Nobody counts the hours of a spindle that stopped ten years ago.
const LONGEST_STOP: f64 = 87_600.0;

/// More bars than anybody turns for one cut.
const MOST_BARS: f64 = 1e6;

/// The whole file.
pub static FILE: Section = Section {
    heading: "the file",
    meaning: "",
    keys: &[
        Key::new("format", Kind::Whole(Bounds::new(1.0, 1.0)), "1", "the format, of which there is one so far").needed(),
        Key::new("units", words::<LengthUnit>(), "\"mm\"", "unit of bare lengths, and of what is printed; `mm` if left out"),
        Key::new("machine", Kind::Table(&MACHINE), "", ""),
        Key::new("bed", Kind::Table(&BED), "", "").needed(),
        Key::new("feet", Kind::Table(&FEET), "", ""),
        Key::new("foot", Kind::Table(&EVERY_FOOT), "", ""),
        Key::new("level", Kind::Table(&EVERY_LEVEL), "", ""),
        Key::new("limits", Kind::Table(&LIMITS), "", ""),
        Key::new("aim", Kind::Table(&AIM), "", ""),
        Key::new("pass", Kind::Tables(&PASS), "", ""),
        Key::new("cut", Kind::Tables(&CUT), "", ""),
        Key::new("between_centres", Kind::Tables(&BETWEEN_CENTRES), "", ""),
        Key::new("face", Kind::Tables(&FACE), "", ""),
    ],
};

/// `[machine]`.
pub static MACHINE: Section = Section {
    heading: "[machine]",
    meaning: "the machine as a whole; all of it may be left out",
    keys: &[
        Key::new("name", Kind::Text, "\"Centre lathe\"", "what you call it"),
        Key::new("centre_height", Kind::SIZE, "300", "spindle axis above the ways; turns twist into taper"),
        Key::new("mass", Kind::MASS, "\"3100 kg\"", "of the whole machine; tells which feet would stop carrying"),
        Key::new("headstock_mass", Kind::MASS, "\"700 kg\"", "the headstock's part of the mass"),
        Key::new("headstock_at", Kind::Place, "350", "where that part sits"),
        Key::new("chuck_at", Kind::Place, "700", "the chuck's face"),
        Key::new("headstock_length", Kind::EXTENT, "650", "from the headstock's pivot to where it is adjusted"),
        Key::new("distance_between_centres", Kind::EXTENT, "1000", "longest work between centres; a class of limits needs it"),
        Key::new("swing", Kind::EXTENT, "400", "largest diameter that turns over the bed; a class of limits needs it, or `centre_height`"),
        Key::new("bed_height", Kind::EXTENT, "420", "height of the bed's casting"),
    ],
};

/// `[bed]`.
pub static BED: Section = Section {
    heading: "[bed]",
    meaning: "",
    keys: &[
        Key::new("length", Kind::EXTENT, "2900", "of the bed along its ways").needed(),
        Key::new("way_spacing", Kind::EXTENT, "380", "between the lines on which the level or its blocks rest").needed(),
        Key::new("held_down", Kind::Flag, "true", "`true`: anchors can pull a foot down; `false`: the bed only rests on its feet; asked for if left out"),
        Key::new("ways_from", Kind::Place, "640", "where the ways come out from under the headstock; 0 if left out"),
        Key::new("ways_to", Kind::Place, "2850", "where the ways end or something covers them; the bed's end if left out"),
    ],
};

const LIFT_PER_TURN: Key = Key::new(
    "lift_per_turn",
    Kind::Length(Bounds::new(SMALLEST, LARGEST_LIFT)),
    "1.5",
    "what one whole turn lifts: the pitch of the screw, or less for a wedge",
)
.outside(
    "no levelling foot lifts so much in one turn",
    "",
    "write what one whole turn lifts; in a file in inches a metric pitch carries its unit, like `\"1.5 mm\"`",
);
const CLOCKWISE: Key = Key::new("clockwise", words::<Clockwise>(), "\"raises\"", "what a clockwise turn does, seen from above; `raises` if left out");
const SMALLEST_TURN: Key = Key::new(
    "smallest_turn",
    Kind::PartOfTurn,
    "\"1/12\"",
    "finest part of a turn worth counting, a quarter if left out; where the level says when to stop, whole degrees are asked for",
);

const KIND: Key = Key::new("kind", words::<FootKind>(), "\"jack\"", "what a foot is: a jack screw with a bolt beside it, push and pull screws, a wedge mount with a centre bolt, a rubber mount, shims");
const HOLD_DOWN: Key = Key::new("hold_down", Kind::Flag, "true", "whether a nut or bolt pulls the bed down onto the foot; as `held_down` if left out");
const LOCK_NUT: Key = Key::new("lock_nut", Kind::Flag, "true", "whether a nut locks the screw");

/// `[feet]`.
pub static FEET: Section = Section {
    heading: "[feet]",
    meaning: "what all feet share, and the pairs: F1 and R1 at the first place, F2 and R2 at the second ...",
    keys: &[
        Key::new("at", Kind::List(&Kind::Place), "[120, 980, 1840, 2700]", "places of the pairs"),
        Key::new("spacing", Kind::EXTENT, "360", "from front foot to rear foot; the way spacing if left out"),
        LIFT_PER_TURN,
        CLOCKWISE,
        SMALLEST_TURN,
        KIND,
        HOLD_DOWN,
        LOCK_NUT,
    ],
};

/// `[foot]`, of which the person chooses the names.
pub static EVERY_FOOT: Section = Section {
    heading: "[foot.R4]",
    meaning: "",
    keys: &[Key::new("R4", Kind::Table(&FOOT), "", "")],
};

/// `[foot.NAME]`.
pub static FOOT: Section = Section {
    heading: "[foot.R4]",
    meaning: "what differs for one foot, or a foot outside the pairs, which needs `side` and `at`",
    keys: &[
        Key::new("side", words::<Side>(), "\"rear\"", "the side it stands on"),
        Key::new("at", Kind::Place, "2650", "where it stands along the bed"),
        Key::new("across", Kind::DISTANCE, "170", "from the bed's centre line, towards the foot's own side").outside(
            "`across` is measured from the centre line towards the foot's own side",
            "less than zero",
            "write it without a sign; `side` says where it is",
        ),
        LIFT_PER_TURN,
        CLOCKWISE,
        SMALLEST_TURN,
        KIND,
        HOLD_DOWN,
        LOCK_NUT,
        Key::new("lowest_turns", Kind::Number("turns", Bounds::new(-f64::MAX, 0.0)), "-3", "travel left downwards from now").outside(
            "`lowest_turns` counts turns downwards, so it is zero or negative",
            "wrong sign",
            "",
        ),
        Key::new("highest_turns", Kind::Number("turns", Bounds::new(0.0, f64::MAX)), "2", "travel left upwards from now").outside(
            "`highest_turns` counts turns upwards, so it is zero or positive",
            "wrong sign",
            "",
        ),
    ],
};

/// `[level]`, of which the person chooses the names.
pub static EVERY_LEVEL: Section = Section {
    heading: "[level.master]",
    meaning: "",
    keys: &[Key::new("master", Kind::Table(&LEVEL), "", "")],
};

/// `[level.NAME]`.
pub static LEVEL: Section = Section {
    heading: "[level.master]",
    meaning: "a level, under a name of your own",
    keys: &[
        Key::new("division", Kind::GRADE, "\"0.02 mm/m\"", "one graduation").needed(),
        Key::new("base", Kind::EXTENT, "200", "length that rests on the way, for readings along it"),
        Key::new("range", Kind::Number("divisions", Bounds::DIVISIONS), "10", "divisions that can be read to either side"),
        Key::new("repeat", Kind::Number("divisions", Bounds::DIVISIONS), "0.2", "standard deviation of one reading"),
        Key::new("resolution", Kind::Number("divisions", Bounds::DIVISIONS), "0.001", "what can be read of a division; a quarter by eye"),
        Key::new("plus", Kind::List(&Kind::Text), "[\"F\", \"T\"]", "of a level that shows numbers: the letters that a plus stands for, across and along"),
    ],
};

/// `[limits]`.
pub static LIMITS: Section = Section {
    heading: "[limits]",
    meaning: "what counts as good; what has no limit has no verdict",
    keys: &[
        Key::new("twist", Kind::GRADE, "\"0.04 mm/m\"", "most that the cross slope may change over the bed"),
        Key::new("crown", Kind::Pair(&Kind::LENGTH), "[0, 0.02]", "lowest and highest crown of a way; sag is negative"),
        Key::new("straightness", Kind::SIZE, "0.03", "range of a way's departures from its line"),
        Key::new("twist_per_metre", Kind::GRADE, "\"0.02 mm/m\"", "most that the cross slope may change over any metre"),
        Key::new("local", Kind::Either(&Kind::Table(&LOCAL), &Kind::List(&Kind::Table(&LOCAL))), "{ over = 250, height = \"0.005 mm\" }", "straightness of any part of a way so long; one, or a list"),
        Key::new("convex_only", Kind::Flag, "true", "no place of a way may lie below the line through its ends"),
        Key::new("load_share", Kind::Number("times its even load", Bounds::new(LEAST_SHARE, f64::MAX)), "2", "most that a foot of a bed that only rests may carry, in shares of what it would if all stood at one height").outside(
            "`load_share` must be more than 1",
            "less than what a foot carries if all carry alike",
            "write how many times its even load a foot may carry, as `load_share = 2`",
        ),
        Key::new("stated_for", Kind::EXTENT, "1000", "length for which crown and straightness are stated; they are stretched to the bed's in proportion"),
        Key::new("class", words::<LimitClass>(), "\"ordinary\"", "the numbers of ISO 1708 test G1 from memory, for a swing up to 800 mm; your own copy of the standard rules"),
    ],
};

/// A local limit.
pub static LOCAL: Section = Section {
    heading: "local",
    meaning: "",
    keys: &[
        Key::new("over", Kind::EXTENT, "250", "length of the part").needed(),
        Key::new("height", Kind::SIZE, "\"0.005 mm\"", "range of departures from the line through the part's ends").needed(),
    ],
};

/// `[aim]`.
pub static AIM: Section = Section {
    heading: "[aim]",
    meaning: "what to steer for inside the limits; it is no fault and is not judged as one",
    keys: &[
        Key::new("shape", words::<AimShape>(), "\"straight\"", "`straight`, or `level`: also level to gravity"),
        Key::new("crown", Kind::LENGTH, "0.005", "crown of both ways; the middle of the limits if left out"),
        Key::new("twist", Kind::SLOPE, "\"0.016 mm/m\"", "cross slope at the tailstock end minus that at the headstock end; none if left out"),
    ],
};

const TAKEN: Key = Key::new("taken", Kind::Date, "2026-03-02T09:40:00", "when");
const NOTE: Key = Key::new("note", Kind::Text, "\"after lunch, door shut\"", "any words");
const READINGS: Kind = Kind::List(&Kind::Reading);
const PLACES: Kind = Kind::List(&Kind::Place);

/// `[[pass]]`.
pub static PASS: Section = Section {
    heading: "[[pass]]",
    meaning: "one set of readings with nothing turned meanwhile; passes stand in the order taken",
    keys: &[
        TAKEN,
        Key::new("level", Kind::Text, "\"master\"", "which level, if there are several"),
        Key::new("stations", PLACES, "[750, 950, 1150]", "middle of the level at every reading"),
        Key::new("cross_at", PLACES, "[750, 950, 1150]", "stations of the cross readings, if they have their own"),
        Key::new("cross", READINGS, "[\"1.5F\", \"0\", \"1R\"]", "level across both ways; the letter is the high side, front or rear"),
        Key::new("cross_reversed", READINGS, "[\"1F\", \"-\", \"-\"]", "where the level was turned end for end on the spot, what it showed then"),
        Key::new("front_at", PLACES, "[750, 950, 1150]", "stations of the front way, if it has its own"),
        Key::new("front", READINGS, "[\"1H\", \"0\", \"1.5T\"]", "level along the front way; the letter is the high end, headstock or tailstock"),
        Key::new("front_reversed", READINGS, "[\"-\", \"0\", \"-\"]", "the same along the front way"),
        Key::new("rear_at", PLACES, "[750, 950, 1150]", "stations of the rear way, if it has its own"),
        Key::new("rear", READINGS, "[\"0.5H\", \"0\", \"2T\"]", "level along the rear way"),
        Key::new("rear_reversed", READINGS, "[\"-\", \"0\", \"-\"]", "the same along the rear way"),
        Key::new("hanging", Kind::List(&Kind::Text), "[\"R3\"]", "feet that a hand or a feeler finds loose; `[]` where all were felt and none is"),
        Key::new("barely", Kind::List(&Kind::Text), "[\"R2\"]", "feet that just carry: they turn with two fingers"),
        NOTE,
        Key::new("anchors", words::<Anchors>(), "\"slack\"", "how the anchors were"),
        Key::new("carriage_at", Kind::Place, "1800", "where the carriage stood; as in the pass before if left out, and so with the next three"),
        Key::new("tailstock_at", Kind::Place, "2600", "where the tailstock stood"),
        Key::new("chuck_on", Kind::Flag, "true", "whether the chuck was on the spindle"),
        Key::new("coolant_in", Kind::Flag, "false", "whether the coolant was in the machine"),
        Key::new("spindle_stopped", Kind::Number("hours", Bounds::new(0.0, LONGEST_STOP)), "12", "since the spindle stopped"),
        Key { kind: Kind::Either(&DEGREES, &Kind::Table(&TEMPERATURE)), ..degrees("temperature", "19.5", "of the air, or of the bed's top and underside") },
        Key::new("packing", Kind::Table(&PACKING), "{ cross = \"0.55 mm R\" }", "what lay under one end of the level at every station, to bring the bubble back onto the scale"),
        Key::new("unfinished", Kind::Flag, "true", "the round after it was stopped; `quarterturn round` goes on"),
        Key::new("turned", Kind::Table(&TURNED), "", ""),
    ],
};

const DEGREES: Kind = Kind::Number("degrees Celsius", Bounds::new(COLDEST, HOTTEST));

const fn degrees(name: &'static str, example: &'static str, meaning: &'static str) -> Key {
    Key::new(name, DEGREES, example, meaning).outside(
        "no machine is read at this temperature",
        "degrees Celsius",
        "write degrees Celsius, like `temperature = 19.5`",
    )
}

/// The temperatures of a pass.
pub static TEMPERATURE: Section = Section {
    heading: "temperature",
    meaning: "",
    keys: &[
        degrees("air", "20", "of the air"),
        degrees("top", "21", "of the bed's upper side"),
        degrees("below", "19.5", "of its lower side"),
    ],
};

/// The packing of a pass.
pub static PACKING: Section = Section {
    heading: "packing",
    meaning: "",
    keys: &[
        Key::new("cross", Kind::Text, "\"0.55 mm R\"", "across: how thick, and under the front or the rear block"),
        Key::new("along", Kind::Text, "\"0.3 mm T\"", "along both ways: how thick, and under which end of the level"),
    ],
};

/// `[pass.turned]`, of which the feet are the names.
pub static TURNED: Section = Section {
    heading: "[pass.turned]",
    meaning: "what was really turned after the pass; nothing recorded is not the same as nothing turned, `turned = {}`",
    keys: &[Key::new("F2", Kind::Number("quarter-turns, + raises", Bounds::ANY), "3", "the foot's name, and its turns")],
};

const TOOL: Key = Key::new("tool", words::<Side>(), "\"front\"", "the side of the work on which the tool stood; `front` if left out");
const MICROMETER: Key = Key::new("micrometer", Kind::SIZE, "0.002", "how far a diameter may be off, 95 times in 100; 0.003 mm if left out");
const SAGGED: Key = Key::new("sagged", Kind::Flag, "true", "the bar was seen to sag or spring: then nothing is concluded");

const FORCE: Key = Key::new("force", Kind::Number("newtons", Bounds::new(0.0, LARGEST_FORCE)), "20", "the most that the tool may have pushed the bar away with; 50 N if left out");
const BAR_DIAMETER: Key = Key::new("bar_diameter", Kind::DIAMETER, "58", "of the bar between its collars; the smallest collar's if left out");

/// `[[cut]]`.
pub static CUT: Section = Section {
    heading: "[[cut]]",
    meaning: "a test bar turned in the chuck, tailstock clear",
    keys: &[
        TAKEN,
        Key::new("collars", Kind::List(&Kind::Table(&COLLAR)), "[{ from_chuck = 30, diameter = 60.012 }, { from_chuck = 280, diameter = 60.004 }]", "two or more").needed(),
        Key::new("overhang", Kind::EXTENT, "300", "how far the bar stands out of the chuck"),
        Key::new("chuck_at", Kind::Place, "720", "the chuck's face along the bed, if not that of `[machine]`"),
        Key::new("tailstock_used", Kind::Flag, "true", "something held the bar's other end: then nothing is concluded"),
        TOOL,
        MICROMETER,
        FORCE,
        BAR_DIAMETER,
        SAGGED,
        NOTE,
    ],
};

const DIFFERENCE: Key = Key::new("difference", Kind::LENGTH, "-0.008", "instead of `diameter`, for all collars of a cut: from a size common to the bar");
const DIAMETER: Key = Key::new("diameter", Kind::DIAMETER, "60.012", "its diameter").needed();
const BAR: Key = Key::new("bar", Kind::Whole(Bounds::new(1.0, MOST_BARS)), "2", "which bar, from 1; 1 if left out").outside(
    "bars are numbered 1, 2, 3 ...",
    "not the number of a bar",
    "write it like `bar = 2`; collars without it are on bar 1",
);

/// A collar of a bar in the chuck.
pub static COLLAR: Section = Section {
    heading: "a collar",
    meaning: "",
    keys: &[
        Key::new("from_chuck", Kind::DISTANCE, "30", "from the chuck's face").needed().outside(
            "`from_chuck` is measured away from the chuck",
            "less than zero",
            "write the distance from the chuck's face without a sign",
        ),
        DIFFERENCE,
        DIAMETER,
        BAR,
    ],
};

/// `[[between_centres]]`.
pub static BETWEEN_CENTRES: Section = Section {
    heading: "[[between_centres]]",
    meaning: "a test bar turned between centres",
    keys: &[
        TAKEN,
        Key::new("collars", Kind::List(&Kind::Table(&COLLAR_BETWEEN_CENTRES)), "[{ from_headstock = 40, diameter = 60.012 }, { from_headstock = 960, diameter = 60.004 }]", "two or more").needed(),
        Key::new("length", Kind::EXTENT, "1000", "of the bar").needed(),
        Key::new("centre_at", Kind::Place, "650", "the headstock's centre along the bed"),
        TOOL,
        MICROMETER,
        FORCE,
        BAR_DIAMETER,
        SAGGED,
        NOTE,
    ],
};

/// `[[face]]`.
pub static FACE: Section = Section {
    heading: "[[face]]",
    meaning: "a disc faced in the chuck; with `[[cut]]` it tells how square the spindle stands",
    keys: &[
        TAKEN,
        Key::new("hollow", Kind::LENGTH, "0.004", "gap under a straightedge at its middle; negative where the middle stands out").needed(),
        Key::new("diameter", Kind::DIAMETER, "200", "across which the straightedge lay").needed(),
        TOOL,
        NOTE,
    ],
};

/// A collar of a bar between centres.
pub static COLLAR_BETWEEN_CENTRES: Section = Section {
    heading: "a collar",
    meaning: "",
    keys: &[
        Key::new("from_headstock", Kind::DISTANCE, "40", "from the headstock's centre").needed().outside(
            "`from_headstock` is measured away from the headstock's centre",
            "less than zero",
            "write the distance from the headstock's centre without a sign",
        ),
        DIFFERENCE,
        DIAMETER,
        BAR,
    ],
};
