//! The reading sheet: blank boxes in walking order, for taking to the machine on paper.

use std::fmt::Write;

use super::html::{Html, bed_facts, blanks, both_units, quoted};
use crate::report::draw::stations::name;
use crate::report::draw::{Leg, bubble, stations};
use crate::report::text::packed;
use crate::survey::units::short_number;
use crate::survey::{LengthUnit, Level, Line, Packing, Reading, Survey};

/// Two readings nearer to each other than this are at one station, m.
const SAME_PLACE: f64 = 1e-4;

/// Where to read, and with what.
#[derive(Debug, Clone)]
pub struct ReadingSheet<'a> {
    /// The survey.
    pub survey: &'a Survey,
    /// The unit of what is told about the bed.
    pub units: LengthUnit,
    /// The level to take, where there is no doubt about it.
    pub level: Option<&'a Level>,
    /// The lines in the order in which they are walked.
    pub legs: Vec<Leg>,
    /// What is read once more on the way back, right after its line.
    pub again: Vec<Leg>,
    /// What lies under one end of the level.
    pub packing: Packing,
}

impl<'a> ReadingSheet<'a> {
    /// The same places as in these readings.
    pub fn like(
        survey: &'a Survey,
        level: Option<&'a Level>,
        readings: &[Reading],
        units: LengthUnit,
    ) -> Self {
        const LINES: [Line; 3] = [Line::Cross, Line::Front, Line::Rear];
        let on = |line: Line, reversed: bool| {
            let of = move |r: &&Reading| r.line == line && r.reversed == reversed;
            readings.iter().filter(of).map(|reading| reading.at)
        };
        let [forth, back] = [false, true].map(|again| {
            LINES.map(|line| {
                let mut places: Vec<f64> = Vec::new();
                let mut twice = Vec::new();
                for at in on(line, false).chain(on(line, true).filter(|_| !again)) {
                    if places.iter().any(|place| (place - at).abs() < SAME_PLACE) {
                        twice.push(at);
                    } else {
                        places.push(at);
                    }
                }
                let mut at = if again { twice } else { places };
                at.sort_by(f64::total_cmp);
                if again {
                    at.reverse();
                }
                (line, at)
            })
        });
        Self {
            survey,
            units,
            level,
            legs: walked(forth, |line| {
                // Across, a reversal is always worth a box: one is enough to know the zero error.
                line == Line::Cross || on(line, true).next().is_some()
            }),
            again: walked(back, |_| false),
            packing: Packing::default(),
        }
    }
}

/// Down the bed across, back along the front, then along the rear.
fn walked(lines: [(Line, Vec<f64>); 3], turned: impl Fn(Line) -> bool) -> Vec<Leg> {
    lines
        .into_iter()
        .filter(|(_, at)| !at.is_empty())
        .map(|(line, mut at)| {
            if line == Line::Front {
                at.reverse();
            }
            Leg {
                line,
                at,
                turned: turned(line),
            }
        })
        .collect()
}

/// The sheet as a page.
pub fn page(sheet: &ReadingSheet) -> String {
    const KIND: &str = "Reading sheet";
    let mut html = Html::new();
    let mut facts = vec![bed_facts(sheet.survey, sheet.units)];
    if let Some(level) = sheet.level {
        let unit = sheet.units.slope();
        let base = level.base.map_or_else(String::new, |base| {
            let unit = sheet.units.length();
            format!(
                ", base {} {}",
                short_number(unit.from_si(base), 3),
                unit.name()
            )
        });
        facts.push(format!(
            "Level {}, {} {} a division{base}",
            quoted(&level.name, 40),
            short_number(unit.from_si(level.division), 6),
            unit.name()
        ));
    }
    html.head(KIND, sheet.survey, &facts);
    html.raw(&blanks(&[
        "day and hour",
        "level",
        "read by",
        "air and bed, °C",
        "feet that hang",
        "anchors slack or pulled down",
    ]));
    html.drawings(&[
        stations(
            sheet.survey,
            &sheet.legs,
            sheet.level.and_then(|level| level.base),
            sheet.units,
        ),
        bubble(),
    ]);
    html.paragraph(
        "",
        &"Keep the level the same way round through the whole pass and never set its zero in between. Let the bubble \
          come to rest. To know the zero error, turn level and blocks end for end at one station and write that reading \
          in the second box."
            .into(),
    );
    for line in [Line::Cross, Line::Front] {
        let height = sheet.packing.on(line);
        if height != 0.0 {
            html.paragraph("", &packed("Lay", line, height, sheet.units));
        }
    }
    html.raw("<div class=\"legs\">");
    let of = |line: Line| move |leg: &&Leg| leg.line == line;
    let walk = sheet.legs.iter().flat_map(|leg| {
        let again = sheet.again.iter().filter(of(leg.line));
        std::iter::once((title(leg), leg))
            .chain(again.map(|leg| ("Again on the way back".to_owned(), leg)))
    });
    for (k, (title, leg)) in walk.enumerate() {
        html.raw("<section>");
        html.heading(&format!("{}. {title}", k + 1));
        html.raw(&boxes(leg));
        html.raw("</section>");
    }
    html.raw("</div>");
    html.raw(&blanks(&["note"]));
    html.finish(KIND, sheet.survey)
}

fn title(leg: &Leg) -> String {
    let walk = match (leg.at.first(), leg.at.last()) {
        (Some(first), Some(last)) if first > last => "from the tailstock end",
        _ => "from the headstock end",
    };
    let words = name(leg.line);
    let mut letters = words.chars();
    let first = letters.next().map(|letter| letter.to_ascii_uppercase());
    let words: String = first.into_iter().chain(letters).collect();
    format!("{words}, {walk}")
}

fn boxes(leg: &Leg) -> String {
    let [positive, negative] = leg.line.letters();
    let letters = match leg.line {
        Line::Cross => format!("{positive} or {negative}"),
        Line::Front | Line::Rear => format!("{negative} or {positive}"),
    };
    let (head, cell) = if leg.turned {
        ("<th>turned round</th>", "<td class=\"write\"></td>")
    } else {
        ("", "")
    };
    let mut table = format!(
        "<table><thead><tr><th class=\"number\">no.</th><th class=\"number\">mm</th><th class=\"number\">in</th>\
         <th>{letters}</th>{head}</tr></thead>\n<tbody>\n"
    );
    for (k, at) in leg.at.iter().enumerate() {
        let [mm, inches] = both_units(*at);
        let _ = writeln!(
            table,
            "<tr><td class=\"number\">{}</td><td class=\"number\">{mm}</td><td class=\"number\">{inches}</td>\
             <td class=\"write\"></td>{cell}</tr>",
            k + 1
        );
    }
    table + "</tbody></table>"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_walk_goes_down_back_and_along() {
        let legs = walked(
            [
                (Line::Cross, vec![0.1, 0.3]),
                (Line::Front, vec![0.1, 0.3]),
                (Line::Rear, Vec::new()),
            ],
            |_| false,
        );
        assert_eq!(legs.len(), 2);
        assert_eq!(legs[0].at, [0.1, 0.3]);
        assert_eq!(legs[1].at, [0.3, 0.1]);
    }
}
