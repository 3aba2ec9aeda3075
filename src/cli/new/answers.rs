//! What is known of the machine so far, and the survey file that comes of it.

use clap::Args;

use super::sheet::Sheet;
use crate::survey::read;

/// Everything that can be said on the command line instead of being asked for.
///
/// The words are kept as they are typed, so that the file says `23 5/8 in` to whoever measured that.
#[derive(Debug, Clone, Default, Args)]
pub(super) struct Answers {
    /// What the machine is called
    #[arg(long, value_name = "WORDS")]
    pub name: Option<String>,

    /// Unit of bare lengths: mm or in
    #[arg(long, value_name = "UNIT")]
    pub units: Option<String>,

    /// Length of the bed along its ways
    #[arg(long, value_name = "LENGTH")]
    pub length: Option<String>,

    /// Between the lines on which the level or its blocks rest
    #[arg(long, value_name = "LENGTH")]
    pub way_spacing: Option<String>,

    /// Where the ways come out from under the headstock
    #[arg(long, value_name = "PLACE")]
    pub ways_from: Option<String>,

    /// Where the free ways end
    #[arg(long, value_name = "PLACE")]
    pub ways_to: Option<String>,

    /// Places of the pairs of feet from the headstock end: 120,980,1840,2700
    #[arg(long, value_name = "PLACES")]
    pub feet_at: Option<String>,

    /// From front foot to rear foot; without it the way spacing
    #[arg(long, value_name = "LENGTH")]
    pub foot_spacing: Option<String>,

    /// Whether anchors can pull a foot down: yes or no
    #[arg(long, value_name = "YES/NO")]
    pub held_down: Option<String>,

    /// What one whole turn of a foot's screw lifts
    #[arg(long, value_name = "LENGTH")]
    pub lift_per_turn: Option<String>,

    /// What a clockwise turn, seen from above, does: raises or lowers
    #[arg(long, value_name = "WORD")]
    pub clockwise: Option<String>,

    /// Finest part of a turn worth counting: 1/4, 1/12, 1/24, 1/72
    #[arg(long, value_name = "PART")]
    pub smallest_turn: Option<String>,

    /// One graduation of the level: "0.02 mm/m", "0.0005 in/ft"
    #[arg(long, value_name = "SLOPE")]
    pub division: Option<String>,

    /// Length of the level that rests on a way, or none
    #[arg(long, value_name = "LENGTH")]
    pub base: Option<String>,

    /// Divisions that the level shows to either side
    #[arg(long, value_name = "DIVISIONS")]
    pub range: Option<String>,

    /// One graduation of a second, coarser level: "0.1 mm/m"
    #[arg(long, value_name = "SLOPE")]
    pub rough_division: Option<String>,

    /// Length of that level that rests on a way, or none
    #[arg(long, value_name = "LENGTH")]
    pub rough_base: Option<String>,

    /// Divisions that it shows to either side
    #[arg(long, value_name = "DIVISIONS")]
    pub rough_range: Option<String>,

    /// Limits of a class of lathes: ordinary or precision; own for own numbers
    #[arg(long, value_name = "WORD")]
    pub class: Option<String>,

    /// Between centres; for a class of limits
    #[arg(long, value_name = "LENGTH")]
    pub distance_between_centres: Option<String>,

    /// Largest diameter that turns over the bed; for a class of limits
    #[arg(long, value_name = "LENGTH")]
    pub swing: Option<String>,

    /// Largest twist allowed over the bed: "0.04 mm/m"
    #[arg(long, value_name = "SLOPE")]
    pub twist: Option<String>,

    /// Lowest and highest crown allowed, sag negative: 0,0.02
    #[arg(long, value_name = "LOWEST,HIGHEST", allow_hyphen_values = true)]
    pub crown: Option<String>,

    /// Largest twist allowed over any metre: "0.02 mm/m"
    #[arg(long, value_name = "SLOPE")]
    pub twist_per_metre: Option<String>,

    /// Height allowed over any part of a way this long: 250,0.005; several parted by ;
    #[arg(long, value_name = "LENGTH,HEIGHT")]
    pub local: Option<String>,

    /// Whether no place of a way may lie below the line through its ends: yes or no
    #[arg(long, value_name = "YES/NO")]
    pub convex_only: Option<String>,

    /// Mass of the machine: "3100 kg"
    #[arg(long, value_name = "MASS")]
    pub mass: Option<String>,

    /// Spindle axis above the ways
    #[arg(long, value_name = "LENGTH")]
    pub centre_height: Option<String>,
}

/// What the level is called in a new survey, and a coarser one.
const LEVEL: &str = "master";
const ROUGH: &str = "rough";

/// Parts of a turn that are asked for, coarsest first.
const PARTS: [(&str, f64); 4] = [
    ("1/4", 1.0 / 4.0),
    ("1/12", 1.0 / 12.0),
    ("1/24", 1.0 / 24.0),
    ("1/72", 1.0 / 72.0),
];

/// Twist to reckon with as long as no limit is known, m/m.
const USUAL_TWIST: f64 = 4e-5;

/// Keys of a level, each of which is asked for.
const LEVEL_KEYS: [&str; 3] = ["division", "base", "range"];

/// The answer that leaves something out.
pub(super) const NONE: &str = "none";

impl Answers {
    /// The survey file without its limits and passes; what must be there and is not known has a harmless value,
    /// so that the answers so far can be checked.
    pub fn text(&self) -> String {
        let mut sheet = Sheet::default();
        sheet.remark("Everything known of one machine, for `quarterturn`. Change it and comment it as you like.");
        sheet.remark("Bare lengths are in the unit below; another unit is written like \"2.5 mm\". Places along the bed");
        sheet.remark("are measured from the headstock end.");
        sheet.line("format = 1", "");
        let units = given(self.units.as_ref()).unwrap_or("mm");
        sheet.line(&format!("units = {}", quoted(units)), "");
        self.machine(&mut sheet);
        self.bed_and_feet(&mut sheet);
        self.levels(&mut sheet);
        sheet.text()
    }

    fn machine(&self, sheet: &mut Sheet) {
        sheet.heading("machine", "");
        if let Some(name) = given(self.name.as_ref()) {
            sheet.line(&format!("name = {}", quoted(name)), "");
        }
        sheet.optional(
            ("centre_height", "\"30 cm\""),
            given(self.centre_height.as_ref()).map(value),
            "spindle axis above the ways; tells twist as taper",
        );
        for (key, answer) in [
            ("distance_between_centres", &self.distance_between_centres),
            ("swing", &self.swing),
        ] {
            if let Some(length) = given(answer.as_ref()) {
                sheet.line(&format!("{key} = {}", value(length)), "");
            }
        }
        sheet.optional(
            ("mass", "\"3100 kg\""),
            given(self.mass.as_ref()).map(value),
            "predicts which feet would stop carrying",
        );
    }

    fn bed_and_feet(&self, sheet: &mut Sheet) {
        sheet.heading("bed", "");
        let length = given(self.length.as_ref()).unwrap_or("900 m");
        sheet.line(&format!("length = {}", value(length)), "");
        let spacing = given(self.way_spacing.as_ref()).unwrap_or("1 m");
        sheet.line(
            &format!("way_spacing = {}", value(spacing)),
            "between the lines on which the level or its blocks rest",
        );
        for (key, answer) in [("ways_from", &self.ways_from), ("ways_to", &self.ways_to)] {
            if let Some(place) = given(answer.as_ref()) {
                sheet.line(&format!("{key} = {}", value(place)), "");
            }
        }
        sheet.optional(
            ("held_down", "true"),
            given(self.held_down.as_ref()).map(|answer| yes_or_no(answer).to_owned()),
            "true: anchors can pull a foot down; false: the bed only rests",
        );
        sheet.heading(
            "feet",
            "pairs: F1, R1 at the first place, F2, R2 at the second ...",
        );
        let places = given(self.feet_at.as_ref()).unwrap_or("0");
        sheet.line(&format!("at = {}", list(places)), "");
        sheet.optional(
            ("spacing", &value(spacing)),
            given(self.foot_spacing.as_ref()).map(value),
            "front foot to rear foot; else the way spacing",
        );
        let lift = given(self.lift_per_turn.as_ref()).unwrap_or("1 mm");
        sheet.line(
            &format!("lift_per_turn = {}", value(lift)),
            "what one whole turn lifts",
        );
        let clockwise = given(self.clockwise.as_ref()).unwrap_or("raises");
        sheet.line(
            &format!("clockwise = {}", quoted(clockwise)),
            "or \"lowers\"; seen from above",
        );
        let smallest = given(self.smallest_turn.as_ref()).unwrap_or_else(|| self.suited_turn());
        sheet.line(
            &format!("smallest_turn = {}", quoted(smallest)),
            "finest part of a turn worth counting",
        );
        sheet.remark("[foot.R4]               what differs for one foot, such as lift_per_turn, goes under its name");
    }

    fn levels(&self, sheet: &mut Sheet) {
        let division = given(self.division.as_ref()).unwrap_or("0.02 mm/m");
        let (base, range) = (self.base.as_ref(), self.range.as_ref());
        level(sheet, LEVEL, division, base, range);
        if let Some(division) = given(self.rough_division.as_ref()) {
            let (base, range) = (self.rough_base.as_ref(), self.rough_range.as_ref());
            level(sheet, ROUGH, division, base, range);
        }
    }

    /// The coarsest part of a turn that, at one foot, tilts the bed by no more than the twist that is allowed, as far
    /// as the answers tell; the finest of the usual ones where even that tilts it more.
    pub fn suited_turn(&self) -> &'static str {
        let [.., (finest, _)] = PARTS;
        // With that part written down the answers are read, which would otherwise ask for it.
        let answers = Self {
            smallest_turn: Some(finest.to_owned()),
            ..self.clone()
        };
        let text = answers.text() + &answers.limits("\"0.04 mm/m\"", "[0, \"0.02 mm\"]");
        let Ok(survey) = read(&text) else {
            return finest;
        };
        let twist = survey.limits.twist.unwrap_or(USUAL_TWIST);
        let tilt = survey
            .feet
            .iter()
            .map(|foot| foot.lift_per_turn / (2.0 * foot.across.abs()))
            .fold(0.0, f64::max);
        PARTS
            .iter()
            .find(|(_, part)| part * tilt <= twist)
            .map_or(finest, |(name, _)| name)
    }

    /// Whether there is a second, coarser level.
    pub fn has_rough(&self) -> bool {
        given(self.rough_division.as_ref()).is_some()
    }

    /// Whether a level can be laid along a way: it has a base, or nobody has said.
    pub fn has_base(&self) -> bool {
        given(self.base.as_ref()).is_some()
    }
}

/// What is known of one level.
fn level(
    sheet: &mut Sheet,
    name: &str,
    division: &str,
    base: Option<&String>,
    range: Option<&String>,
) {
    sheet.heading(&format!("level.{name}"), "");
    sheet.line(
        &format!("division = {}", quoted(division)),
        "one graduation",
    );
    sheet.optional(
        ("base", "\"200 mm\""),
        given(base).map(value),
        "length that rests on a way",
    );
    sheet.optional(
        ("range", "10"),
        given(range).map(value),
        "divisions shown to either side",
    );
}

/// The option that wrote the line of a new survey around this byte, as it is typed.
pub(super) fn option_at(text: &str, place: usize) -> String {
    let start = text[..place].rfind('\n').map_or(0, |newline| newline + 1);
    let key = text[start..].split(['=', '\n']).next().unwrap_or_default();
    match key.trim() {
        "at" => "--feet-at".to_owned(),
        "spacing" => "--foot-spacing".to_owned(),
        key if text[..place].contains(&format!("[level.{ROUGH}]")) && LEVEL_KEYS.contains(&key) => {
            format!("--rough-{key}")
        }
        key => format!("--{}", key.replace('_', "-")),
    }
}

/// An answer, unless it says that there is none.
pub(super) fn given(answer: Option<&String>) -> Option<&str> {
    answer
        .map(|words| words.trim())
        .filter(|words| !words.is_empty() && !words.eq_ignore_ascii_case(NONE))
}

/// A number as it is, anything else in quotes.
pub(super) fn value(words: &str) -> String {
    let is_number = words.starts_with(|c: char| c.is_ascii_digit() || c == '-')
        && words.ends_with(|c: char| c.is_ascii_digit())
        && format!("x = {words}").parse::<toml::Table>().is_ok();
    if is_number {
        words.to_owned()
    } else {
        quoted(words)
    }
}

pub(super) fn quoted(words: &str) -> String {
    toml::Value::String(words.to_owned()).to_string()
}

/// Several values, parted by commas or, where there are none, by spaces.
pub(super) fn list(words: &str) -> String {
    let parts: Vec<String> = if words.contains(',') {
        words.split(',').map(str::trim).map(value).collect()
    } else {
        words.split_whitespace().map(value).collect()
    };
    format!("[{}]", parts.join(", "))
}

/// What is neither stays as it is and is refused by the reader of the file.
pub(super) fn yes_or_no(words: &str) -> &str {
    match words.to_ascii_lowercase().as_str() {
        "yes" | "y" => "true",
        "no" | "n" => "false",
        _ => words,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::LimitClass;

    #[test]
    fn words_become_values() {
        assert_eq!(value("2900"), "2900");
        assert_eq!(value("2.5"), "2.5");
        assert_eq!(value("23 5/8 in"), "\"23 5/8 in\"");
        assert_eq!(value("2900 \""), "'2900 \"'");
        assert_eq!(list("120, 980,2 m"), "[120, 980, \"2 m\"]");
        assert_eq!(list("120 980"), "[120, 980]");
        assert_eq!(list("-0.01, 0.02"), "[-0.01, 0.02]");
    }

    #[test]
    fn nothing_said_is_already_a_survey() {
        let text = Answers::default().text();
        read(&text).unwrap_or_else(|mistakes| panic!("{mistakes:#?}\n{text}"));
    }

    #[test]
    fn the_smallest_turn_suits_the_limits() {
        let say = |words: &str| Some(words.to_owned());
        let suited = |lift: &str, spacing: &str| {
            Answers {
                lift_per_turn: say(lift),
                way_spacing: say(spacing),
                ..Answers::default()
            }
            .suited_turn()
        };
        // A wedge that lifts 0.05 mm in a turn, 0.0125 mm in a quarter, 0.031 mm/m over 400 mm.
        assert_eq!(suited("0.05", "400"), "1/4");
        assert_eq!(suited("0.35", "380"), "1/24");
        assert_eq!(suited("1.5", "380"), "1/72");
    }

    #[test]
    fn everything_said_is_in_the_survey() {
        let say = |words: &str| Some(words.to_owned());
        let answers = Answers {
            name: say("Lathe \"two\""),
            units: say("in"),
            length: say("114"),
            way_spacing: say("15"),
            feet_at: say("5, 38 5/8 in, 106"),
            foot_spacing: say("14"),
            ways_from: say("27"),
            ways_to: say("112"),
            held_down: say("no"),
            lift_per_turn: say("1/13 in"),
            clockwise: say("lowers"),
            smallest_turn: say("1/24"),
            division: say("0.0005 in/ft"),
            base: say("8"),
            range: say("8"),
            rough_division: say("0.005 in/ft"),
            rough_base: say("12"),
            rough_range: say("20"),
            twist: say("0.0005 in/ft"),
            crown: say("0 0.001"),
            mass: say("3 t"),
            class: say("precision"),
            distance_between_centres: say("40"),
            swing: say("20"),
            twist_per_metre: say("0.00025 in/ft"),
            local: say("20, 0.0004; 10 in, 0.005 mm"),
            convex_only: say("no"),
            centre_height: say("12"),
        };
        let text = answers.text() + &answers.limits("", "");
        let survey = read(&text).unwrap_or_else(|mistakes| panic!("{mistakes:#?}\n{text}"));
        assert_eq!(survey.machine.name.as_deref(), Some("Lathe \"two\""));
        assert!(!survey.bed.held_down());
        assert_eq!(survey.feet.len(), 6);
        assert!((survey.feet[2].at - 38.625 * 0.0254).abs() < 1e-12);
        assert!((survey.feet[0].lift_per_turn - 0.0254 / 13.0).abs() < 1e-12);
        assert_eq!(survey.machine.mass, Some(3000.0));
        let rough = &survey.levels["rough"];
        assert!((rough.division - 0.005 / 12.0).abs() < 1e-12);
        assert_eq!(rough.range, Some(20.0));
        let limits = survey.limits;
        assert_eq!(limits.crown, Some([0.0, 0.001 * 0.0254]));
        assert_eq!(limits.class, Some(LimitClass::Precision));
        assert!((limits.twist_per_metre.unwrap() - 0.00025 / 12.0).abs() < 1e-12);
        assert!((limits.local[1].over - 0.254).abs() < 1e-12);
        assert!((limits.local[1].height - 5e-6).abs() < 1e-12);
        assert!(!limits.convex_only);
    }
}
