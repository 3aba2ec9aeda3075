//! The figures of the bed before and as left, with limits and verdicts.

use super::html::{Html, toned};
use super::record::RecordReport;
use crate::geometry::{BedShape, Figure, Verdict, Way};
use crate::report::text::particulars::{of_twist, of_way};
use crate::report::text::words::{between, crown_between, crown_limit, form};
use crate::report::text::{Prose, Scale, verdict};
use crate::survey::{LengthUnit, Side};

/// One figure before and after, in words.
struct Told {
    name: &'static str,
    before: Option<String>,
    now: String,
    limit: String,
    verdict: Prose,
}

/// A table of every figure with its limit and its verdict.
pub(super) fn figures(html: &mut Html, report: &RecordReport, units: LengthUnit) {
    let lines: Vec<Told> = std::iter::once(twist(report, units))
        .chain(along(report, units))
        .collect();
    let with_before = report.before.is_some();
    let before = if with_before { "<th>before</th>" } else { "" };
    html.raw(&format!(
        "<table class=\"rounds\"><thead><tr><th>figure</th>{before}<th>as left</th><th>limit</th><th>verdict</th></tr></thead>\n<tbody>"
    ));
    for line in lines {
        let before = line
            .before
            .as_ref()
            .filter(|_| with_before)
            .map_or_else(String::new, |before| {
                format!("<td data-name=\"before\">{before}</td>")
            });
        html.raw(&format!(
            "<tr><td><strong>{}</strong></td>{before}<td data-name=\"as left\">{}</td><td data-name=\"limit\">{}</td>\
             <td class=\"judged\" data-name=\"verdict\">{}</td></tr>",
            line.name,
            line.now,
            line.limit,
            toned(&line.verdict)
        ));
    }
    html.raw("</tbody></table>");
    particulars(html, report, units);
    html.paragraph(
        "faint",
        &"Between: holds the truth 95 times in 100. Inside or outside is said only where the whole of it is (ISO 14253-1)."
            .into(),
    );
}

/// What else the limits and the aim ask for.
fn particulars(html: &mut Html, report: &RecordReport, units: LengthUnit) {
    let now = &report.now;
    let of_way = |side: Side| {
        let told = now.shape.ways().any(|way| way.side == side);
        if told {
            of_way(now, side, units)
        } else {
            Vec::new()
        }
    };
    for (name, facts) in [
        ("Twist ", of_twist(now, units)),
        ("Front way ", of_way(Side::Front)),
        ("Rear way ", of_way(Side::Rear)),
    ] {
        for fact in facts {
            html.paragraph("", &fact.after(name));
        }
    }
}

fn judged(verdict: Option<Verdict>) -> Prose {
    verdict.map_or_else(
        || Prose::from("-"),
        |verdict| {
            let (tone, words) = verdict::words(verdict);
            Prose::new().toned(tone, words)
        },
    )
}

fn twist(report: &RecordReport, units: LengthUnit) -> Told {
    let limit = report.now.survey.limits.twist;
    let now = report.now.shape.twist;
    let scale = |figure: Option<Figure>| Scale::slopes(units, figure.map_or(0.0, |f| f.u95));
    let told = |figure: Option<Figure>| {
        figure.map_or_else(
            || "not known".to_owned(),
            |figure| {
                let scale = Scale::slopes(units, figure.u95);
                format!(
                    "{}, {}",
                    scale.with_unit(figure.value),
                    between(&figure, &scale)
                )
            },
        )
    };
    Told {
        name: "Twist",
        before: report
            .before
            .as_ref()
            .map(|before| told(before.shape.twist)),
        now: told(now),
        limit: limit.map_or_else(|| "-".to_owned(), |limit| scale(now).limit(limit)),
        // Of a chosen twist the verdict is told below.
        verdict: judged(
            report
                .now
                .judgement
                .twist
                .filter(|_| report.now.particulars.twist_from_chosen.is_none()),
        ),
    }
}

fn along(report: &RecordReport, units: LengthUnit) -> Vec<Told> {
    type Pick = fn(&BedShape) -> Option<&Way>;
    let limits = &report.now.survey.limits;
    let ways: [(&'static str, &'static str, Pick); 2] = [
        ("Front way", "Front straightness", |shape| {
            shape.front.as_ref()
        }),
        ("Rear way", "Rear straightness", |shape| shape.rear.as_ref()),
    ];
    let crown_told = |figure: Option<Figure>| {
        figure.map_or_else(
            || "not known".to_owned(),
            |figure| {
                let scale = Scale::lengths(units, figure.u95);
                format!(
                    "{} {}, {}",
                    form(figure.value),
                    scale.with_unit(figure.value.abs()),
                    crown_between(&figure, &scale)
                )
            },
        )
    };
    let straight_told = |figure: Option<Figure>| {
        figure.map_or_else(
            || "not known".to_owned(),
            |figure| {
                let scale = Scale::lengths(units, figure.u95);
                format!(
                    "{}, {}",
                    scale.with_unit(figure.value),
                    between(&figure, &scale)
                )
            },
        )
    };
    let mut lines = Vec::new();
    for (crown_name, straight_name, pick) in ways {
        let crown = |shape: &BedShape| pick(shape).and_then(|way| way.crown);
        let straightness = |shape: &BedShape| pick(shape).and_then(|way| way.straightness);
        let now = crown(report.now.shape);
        let scale = Scale::lengths(units, now.map_or(0.0, |figure| figure.u95));
        lines.push(Told {
            name: crown_name,
            before: report
                .before
                .as_ref()
                .map(|before| crown_told(crown(before.shape))),
            now: crown_told(now),
            limit: limits
                .crown
                .map_or_else(|| "-".to_owned(), |ends| crown_limit(ends, &scale)),
            verdict: judged(
                now.zip(limits.crown)
                    .map(|(figure, [lowest, highest])| figure.verdict(lowest, highest)),
            ),
        });
        let now = straightness(report.now.shape);
        lines.push(Told {
            name: straight_name,
            before: report
                .before
                .as_ref()
                .map(|before| straight_told(straightness(before.shape))),
            now: straight_told(now),
            limit: limits
                .straightness
                .map_or_else(|| "-".to_owned(), |limit| scale.limit(limit)),
            verdict: judged(
                now.zip(limits.straightness)
                    .filter(|_| report.now.particulars.straightness_from_chosen.is_empty())
                    .map(|(figure, limit)| figure.verdict(0.0, limit)),
            ),
        });
    }
    lines
}
