//! The turn card: every foot with its turn, what to watch, and a box to tick.

use super::html::{Html, bed_facts, blanks, note, pass_facts, quoted, toned};
use crate::plan::{Action, CardLine, ExpectedShape, Hazard};
use crate::report::TurnsReport;
use crate::report::draw::{Drawing, Seen, bed, bubble, chart_drawing, plan_view};
use crate::report::text::advice::sentences;
use crate::report::text::card::{how_to_go_round, look_at, order, then};
use crate::report::text::safety::caution;
use crate::report::text::turning::{at_most, reading};
use crate::report::text::turns::{headline, how_to_turn, turns_something};
use crate::report::text::verdict;
use crate::survey::{Foot, LengthUnit};

/// Letters of a foot's name in the table.
const LONGEST_NAME: usize = 24;
/// The cell of a row to tick.
const BOX: &str =
    "<td class=\"tick\"><span class=\"box\" role=\"img\" aria-label=\"box to tick\"></span></td>";

/// The card as a page.
pub fn page(report: &TurnsReport, expected: Option<&ExpectedShape>, units: LengthUnit) -> String {
    const KIND: &str = "Turn card";
    let (survey, plan) = (report.shape.survey, report.plan);
    let mut html = Html::new();
    let mut facts = vec![
        pass_facts(survey, report.shape.number, report.shape.pass, units),
        bed_facts(survey, units),
    ];
    facts.extend(
        report
            .shape
            .pass
            .note
            .as_deref()
            .map(|words| format!("Note: {}", note(words))),
    );
    html.head(KIND, survey, &facts);
    let turns = turns_something(plan);
    if turns {
        cautions(&mut html, &Hazard::of_turns(survey, plan));
    }
    html.paragraph("verdict", &verdict::headline(&report.shape));
    html.paragraph("verdict", &headline(plan, survey, units));
    advise(&mut html, report, units, true);
    html.drawings(&drawings(report, units));
    if turns {
        table(&mut html, report, units);
        looks(&mut html, report, units);
        html.raw(&blanks(&["day and hour", "turned by"]));
        html.paragraph(
            "faint",
            &format!(
                "{} Write what was really turned, in quarter-turns or degrees, + raises.",
                how_to_turn(survey, report.plan.rests)
            )
            .as_str()
            .into(),
        );
    }
    html.heading(if turns {
        "What this should leave"
    } else {
        "How the bed lies"
    });
    let seen = Seen {
        survey,
        units,
        shape: report.shape.shape,
        before: None,
        expected: expected.filter(|_| turns),
    };
    let charts: Vec<Drawing> = seen.charts().iter().map(chart_drawing).collect();
    html.drawings(&charts);
    advise(&mut html, report, units, false);
    html.finish(KIND, survey)
}

/// Every drawing of the card but the charts.
pub fn drawings(report: &TurnsReport, units: LengthUnit) -> Vec<Drawing> {
    let survey = report.shape.survey;
    let mut quarters = vec![0.0; survey.feet.len()];
    for line in &report.plan.lines {
        if let Some(foot) = quarters.get_mut(line.foot) {
            *foot += line.quarter_turns;
        }
    }
    let seen = Seen {
        survey,
        units,
        shape: report.shape.shape,
        before: None,
        expected: None,
    };
    let watched = report.plan.lines.iter().any(|line| line.watch.is_some());
    std::iter::once(plan_view(survey, &report.plan.lines, units))
        .chain(bed(&seen, Some(&quarters)))
        .chain(watched.then(bubble))
        .collect()
}

fn advise(html: &mut Html, report: &TurnsReport, units: LengthUnit, first: bool) {
    for words in sentences(&report.plan.advice, first, report.shape.survey, units) {
        html.paragraph("", &words);
    }
}

fn cautions(html: &mut Html, hazards: &[Hazard]) {
    html.raw("<section class=\"cautions\"><h2>Safety</h2><ul>");
    for hazard in hazards {
        html.raw(&format!("<li>{}</li>", caution(*hazard)));
    }
    html.raw("</ul></section>");
}

fn table(html: &mut Html, report: &TurnsReport, units: LengthUnit) {
    let (survey, level) = (report.shape.survey, report.shape.level);
    let lines = &report.plan.lines;
    let walks = lines.iter().map(|line| line.trip).max().unwrap_or(1);
    for walk in 1..=walks {
        html.heading(&if walks > 1 {
            format!("Walk {walk} of {walks}")
        } else {
            "In this order".to_owned()
        });
        html.raw(
            "<table class=\"card\"><thead><tr><th>done</th><th>foot</th><th>do</th><th>watch</th><th>never past</th>\
             <th>really turned</th></tr></thead>\n<tbody>",
        );
        for line in lines {
            let Some(foot) = survey.feet.get(line.foot) else {
                continue;
            };
            if line.trip == walk && line.action != Action::Leave {
                html.raw(&row(line, foot, units, level.resolution));
            }
        }
        html.raw("</tbody></table>");
    }
    let left: Vec<String> = lines
        .iter()
        .filter(|line| line.action == Action::Leave)
        .filter_map(|line| survey.feet.get(line.foot))
        .map(|foot| quoted(&foot.name, LONGEST_NAME))
        .collect();
    if !left.is_empty() {
        html.raw(&format!(
            "<p><strong>Do not touch</strong> {}</p>",
            left.join(", ")
        ));
    }
}

fn looks(html: &mut Html, report: &TurnsReport, units: LengthUnit) {
    let (survey, level) = (report.shape.survey, report.shape.level);
    let looks = &report.plan.looks;
    if looks.is_empty() {
        return;
    }
    html.heading(then(looks));
    html.raw(
        "<table class=\"card\"><thead><tr><th>done</th><th>foot</th><th>look</th><th>must show</th>\
         <th>turned</th></tr></thead>\n<tbody>",
    );
    for look in looks {
        let Some(foot) = survey.feet.get(look.foot) else {
            continue;
        };
        html.raw(&format!(
            "<tr>{BOX}\
             <td class=\"foot\">{}</td><td data-name=\"look\">{}</td>\
             <td data-name=\"must show\"><strong>{}</strong></td>\
             <td class=\"write\" data-name=\"turned\"></td></tr>",
            quoted(&foot.name, LONGEST_NAME),
            look_at(look.line, look.at, units),
            reading(look.line, look.shows, level.resolution),
        ));
    }
    html.raw("</tbody></table>");
    html.paragraph("faint", &how_to_go_round(looks).as_str().into());
}

fn row(line: &CardLine, foot: &Foot, units: LengthUnit, part: f64) -> String {
    let turned = matches!(line.action, Action::Raise | Action::Lower);
    let watch = match line.watch {
        Some(watch) => format!(
            "{}: from {} to&nbsp;<strong>{}</strong>",
            look_at(watch.line, watch.at, units),
            reading(watch.line, watch.from, part),
            reading(watch.line, watch.to, part)
        ),
        None if turned => "count the turn: no reading tells better when to stop".to_owned(),
        None => "by feel".to_owned(),
    };
    let limit = match line.watch {
        Some(_) => at_most(line.no_further),
        None if turned => "the count".to_owned(),
        None => "just carrying".to_owned(),
    };
    format!(
        "<tr>{BOX}\
         <td class=\"foot\">{}</td><td>{}</td><td data-name=\"watch\">{watch}</td>\
         <td data-name=\"never past\">{limit}</td><td class=\"write\" data-name=\"really turned\"></td></tr>",
        quoted(&foot.name, LONGEST_NAME),
        toned(&order(line, foot, units)),
    )
}
