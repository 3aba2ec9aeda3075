//! The record: before and after, verdicts, the readings as left, and who signs for it.

use super::figures::figures;
use super::html::{Html, bed_facts, blanks, both_units, note, pass_facts, quoted};
use crate::plan::{Advice, TurnPlan};
use crate::report::ShapeReport;
use crate::report::draw::{Drawing, Round, Seen, bed, chart_drawing, rounds};
use crate::report::text::advice::sentence;
use crate::report::text::head::date;
use crate::report::text::turning::short_turn;
use crate::report::text::verdict;
use crate::survey::{LengthUnit, Line, Pass, Reading, Survey, format_entry};

/// Readings nearer to each other than this stand in one line, m.
const SAME_PLACE: f64 = 1e-4;

/// Everything that is kept.
#[derive(Debug, Clone, Copy)]
pub struct RecordReport<'a> {
    /// The pass that shows the bed as it was left.
    pub now: ShapeReport<'a>,
    /// The pass that shows it before, unless that is the same.
    pub before: Option<ShapeReport<'a>>,
    /// Every pass up to the one that is kept.
    pub rounds: &'a [Round<'a>],
    /// The plan after the last pass, for what no foot can cure.
    pub plan: Option<&'a TurnPlan>,
}

impl RecordReport<'_> {
    /// What is drawn of the bed.
    pub fn seen(&self, units: LengthUnit) -> Seen<'_> {
        Seen {
            survey: self.now.survey,
            units,
            shape: self.now.shape,
            before: self.before.as_ref().map(|before| before.shape),
            expected: None,
        }
    }

    /// What was turned between the two passes, quarter-turns by foot; `None` where nothing is written down.
    pub fn turned(&self) -> Option<Vec<f64>> {
        let before = self.before.as_ref()?;
        let survey = self.now.survey;
        let passes = survey.passes.get(before.number - 1..self.now.number - 1)?;
        if passes.iter().all(|pass| pass.turned.is_none()) {
            return None;
        }
        let mut sum = vec![0.0; survey.feet.len()];
        for (foot, quarters) in passes
            .iter()
            .filter_map(|pass| pass.turned.as_ref())
            .flatten()
        {
            if let Some(foot) = sum.get_mut(*foot) {
                *foot += quarters;
            }
        }
        Some(sum)
    }
}

/// The record as a page.
pub fn page(report: &RecordReport, units: LengthUnit) -> String {
    const KIND: &str = "Record";
    let survey = report.now.survey;
    let mut html = Html::new();
    let mut facts = vec![bed_facts(survey, units)];
    if let Some(before) = &report.before {
        facts.push(format!(
            "Before: {}",
            pass_facts(survey, before.number, before.pass, units)
        ));
    }
    facts.push(format!(
        "As left: {}",
        pass_facts(survey, report.now.number, report.now.pass, units)
    ));
    html.head(KIND, survey, &facts);
    html.paragraph("verdict", &verdict::headline(&report.now));
    figures(&mut html, report, units);
    if let Some(drawing) = bed(&report.seen(units), report.turned().as_deref()) {
        html.wide(&drawing);
        if report.turned().is_some() {
            html.paragraph(
                "faint",
                &"At the feet stands what was turned in all between the two passes, in quarter-turns, + raises.".into(),
            );
        }
    }
    html.heading("Across and along");
    let charts: Vec<Drawing> = report
        .seen(units)
        .charts()
        .iter()
        .map(chart_drawing)
        .collect();
    html.drawings(&charts);
    let line = rounds(survey, report.rounds, units);
    html.heading("Round by round");
    let line: Vec<Drawing> = line.iter().map(chart_drawing).collect();
    html.drawings(&line);
    round_by_round(&mut html, report);
    html.heading("Readings as left");
    readings(&mut html, report.now.pass);
    remains(&mut html, report, units);
    html.raw("<div class=\"sign\">");
    html.heading("Signed");
    html.raw(&blanks(&["levelled by", "day", "checked by", "day"]));
    html.raw("</div>");
    html.finish(KIND, survey)
}

/// Every pass with its note and what was turned after it.
fn round_by_round(html: &mut Html, report: &RecordReport) {
    let survey = report.now.survey;
    html.raw(
        "<table class=\"rounds\"><thead><tr><th>pass</th><th>day</th><th>level</th><th>turned after it, quarter-turns, \
         + raises</th><th>note</th></tr></thead>\n<tbody>",
    );
    for (k, pass) in survey.passes.iter().take(report.now.number).enumerate() {
        let last = k + 1 == report.now.number;
        html.raw(&format!(
            "<tr><td data-name=\"pass\">{}</td><td class=\"day\" data-name=\"day\">{}</td><td data-name=\"level\">{}</td>\
             <td data-name=\"turned\">{}</td><td data-name=\"note\">{}</td></tr>",
            k + 1,
            pass.taken.as_ref().map_or_else(|| "-".to_owned(), date),
            quoted(&pass.level, 40),
            turned_after(survey, pass, last),
            pass.note.as_deref().map_or_else(|| "-".to_owned(), note)
        ));
    }
    html.raw("</tbody></table>");
}

fn turned_after(survey: &Survey, pass: &Pass, last: bool) -> String {
    let Some(turned) = &pass.turned else {
        return if last { "-" } else { "not written down" }.to_owned();
    };
    let words: Vec<String> = turned
        .iter()
        .filter(|(_, quarters)| **quarters != 0.0)
        .filter_map(|(foot, quarters)| {
            let foot = survey.feet.get(*foot)?;
            Some(format!(
                "{}&nbsp;{}",
                quoted(&foot.name, 24),
                short_turn(*quarters)
            ))
        })
        .collect();
    if words.is_empty() {
        "nothing".to_owned()
    } else {
        words.join(", ")
    }
}

/// The readings of a pass, a line for every place.
fn readings(html: &mut Html, pass: &Pass) {
    let columns: Vec<(Line, bool, &str)> = [
        (Line::Cross, false, "cross"),
        (Line::Cross, true, "cross, turned round"),
        (Line::Front, false, "front"),
        (Line::Front, true, "front, turned round"),
        (Line::Rear, false, "rear"),
        (Line::Rear, true, "rear, turned round"),
    ]
    .into_iter()
    .filter(|(line, reversed, _)| {
        pass.readings
            .iter()
            .any(|reading| reading.line == *line && reading.reversed == *reversed)
    })
    .collect();
    let mut places: Vec<f64> = pass.readings.iter().map(|reading| reading.at).collect();
    places.sort_by(f64::total_cmp);
    places.dedup_by(|a, b| (*a - *b).abs() < SAME_PLACE);
    let heads: Vec<String> = columns
        .iter()
        .map(|(.., name)| format!("<th>{name}</th>"))
        .collect();
    let heads = heads.concat();
    html.raw(&format!(
        "<table class=\"narrow\"><thead><tr><th class=\"number\">mm</th><th class=\"number\">in</th>{heads}</tr></thead>\n<tbody>"
    ));
    for at in places {
        let [mm, inches] = both_units(at);
        let cells: Vec<String> = columns
            .iter()
            .map(|(line, reversed, _)| {
                let here = |reading: &&Reading| {
                    reading.line == *line
                        && reading.reversed == *reversed
                        && (reading.at - at).abs() < SAME_PLACE
                };
                let entries: Vec<String> = pass
                    .readings
                    .iter()
                    .filter(here)
                    .map(|reading| format_entry(*line, &reading.entry).replace('>', "&gt;"))
                    .collect();
                format!("<td>{}</td>", entries.join(" "))
            })
            .collect();
        html.raw(&format!(
            "<tr><td class=\"number\">{mm}</td><td class=\"number\">{inches}</td>{}</tr>",
            cells.concat()
        ));
    }
    html.raw("</tbody></table>");
}

/// What no foot can cure.
fn remains(html: &mut Html, report: &RecordReport, units: LengthUnit) {
    let Some(plan) = report.plan else {
        return;
    };
    html.heading("Wear that remains");
    let wear: Vec<&Advice> = plan
        .advice
        .iter()
        .filter(|advice| matches!(advice, Advice::Wear { .. }))
        .collect();
    if report.now.shape.ways().next().is_none() {
        html.paragraph("", &"Not known: no level lay along a way.".into());
    } else if wear.is_empty() {
        html.paragraph(
            "",
            &"The rounds so far show no wear apart from what the feet can still do.".into(),
        );
    }
    for advice in wear {
        html.paragraph("", &sentence(advice, report.now.survey, units));
    }
}
