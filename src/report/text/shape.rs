//! The shape of the bed in words and tables.
//!
//! First what a person at the machine wants to know, the verdict and what to do next; then the numbers behind
//! it.

use super::doubts::{Used, doubts};
use super::head::head;
use super::page::Page;
use super::particulars::{of_twist, of_way};
use super::plots::plots;
use super::profile;
use super::prose::{Prose, TIE};
use super::scale::{Scale, place};
use super::settling::settling;
use super::statistics::statistics;
use super::verdict::{class_of_limits, elsewhere, headline, judged};
use super::words;
use crate::geometry::{CrossSlope, Verdict, Way};
use crate::report::ShapeReport;
use crate::report::draw::{Characters, Seen};
use crate::survey::{LengthUnit, Line, Side};

/// How results are told.
#[derive(Debug, Clone, Copy)]
pub struct Telling<'a> {
    /// Characters on a line.
    pub width: usize,
    /// The unit of what is printed.
    pub units: LengthUnit,
    /// How the survey is named on the command line.
    pub file: &'a str,
    /// The characters to draw with, where drawings are wanted.
    pub plots: Option<Characters>,
}

impl Telling<'_> {
    /// Whether the survey came through a pipe, where nothing can be written back.
    pub fn is_piped(&self) -> bool {
        self.file == "-"
    }
}

/// The shape that a pass shows, with the statistics behind it if `details` are asked for.
pub fn tell(report: &ShapeReport, telling: &Telling, details: bool) -> String {
    let mut page = Page::new(telling.width);
    head(&mut page, report.survey, report.number, telling.units);
    page.gap();
    page.paragraph(&headline(report));
    doubts(&mut page, report, telling.units, Used::AsItStands);
    page.gap();
    facts(&mut page, "Twist  ", &twist(report, telling.units));
    facts(
        &mut page,
        "Front  ",
        &one_way(report, Side::Front, telling.units),
    );
    facts(
        &mut page,
        "Rear   ",
        &one_way(report, Side::Rear, telling.units),
    );
    if let Some(source) = class_of_limits(&report.survey.limits) {
        page.paragraph(&source);
    }
    page.gap();
    if report.judgement.overall() == Some(Verdict::Unsure) {
        settling(&mut page, report, telling.units);
    }
    page.hanging("Next   ", &next(report, telling));
    if let Some(characters) = telling.plots {
        let seen = Seen {
            survey: report.survey,
            units: telling.units,
            shape: report.shape,
            before: None,
            expected: None,
        };
        plots(&mut page, &seen.charts(), characters);
    }
    profile::across(&mut page, report, telling.units);
    profile::along(&mut page, report, telling.units);
    if details {
        statistics(&mut page, report, telling.units);
    }
    page.finish()
}

/// What is told of one figure: the figure with its verdict, then what lies behind it, each from a new line.
type Facts = Vec<Prose>;

fn facts(page: &mut Page, label: &str, facts: &Facts) {
    let blank = " ".repeat(label.len());
    for (k, fact) in facts.iter().enumerate() {
        page.hanging(if k == 0 { label } else { &blank }, fact);
    }
}

fn twist(report: &ShapeReport, units: LengthUnit) -> Facts {
    let cross = &report.shape.cross;
    let Some(twist) = report.shape.twist else {
        if let Some(least) = report.shape.least_twist {
            let scale = Scale::slopes(units, 0.0);
            let least = Prose::new().strong(format!("{} at least", scale.with_unit(least)));
            return vec![judged(least, report.judgement.twist)];
        }
        let mut rows = report.adjustment.observations().rows.iter();
        return vec![Prose::from(
            if rows.any(|row| row.line == Line::Cross && row.bound) {
                "not known: the bubble is off its scale across"
            } else if cross.is_empty() {
                "not known: there are no cross readings"
            } else {
                "not known: it takes cross readings at two places or more"
            },
        )];
    };
    let limit = report.survey.limits.twist;
    let scale = Scale::slopes(units, twist.u95);
    let figure = Prose::new().strong(scale.with_unit(twist.value));
    let mut facts = vec![
        judged(
            figure,
            // A twist that was chosen is judged where it is told.
            limit
                .filter(|_| report.particulars.twist_from_chosen.is_none())
                .and(report.judgement.twist),
        ),
        Prose::from(format!(
            "{}; {}",
            words::between(&twist, &scale),
            limit.map_or_else(
                || "no limit set".to_owned(),
                |limit| format!("limit {}", scale.limit(limit))
            )
        )),
    ];
    if let (Some(front), Some(rear)) = (highest(cross, 1.0), highest(cross, -1.0))
        && twist.value > 0.0
    {
        facts.push(Prose::from(format!(
            "front against rear: highest at {}, lowest at {}",
            place(front.at, units),
            place(rear.at, units)
        )));
    }
    facts.extend(of_twist(report, units));
    facts
}

/// Cross slopes this near to each other are the same, m/m: readings come in parts of a division, and rounding
/// must not choose between two places.
const SAME_SLOPE: f64 = 1e-12;

/// The cross slope that is highest in front for sign 1, in the rear for sign -1; of those that are as high,
/// the one nearest to the headstock end.
fn highest(cross: &[CrossSlope], sign: f64) -> Option<&CrossSlope> {
    cross.iter().reduce(|a, b| {
        if sign * (b.slope - a.slope) > SAME_SLOPE {
            b
        } else {
            a
        }
    })
}

fn one_way(report: &ShapeReport, side: Side, units: LengthUnit) -> Facts {
    let (way, other_way) = match side {
        Side::Front => (&report.shape.front, &report.shape.rear),
        Side::Rear => (&report.shape.rear, &report.shape.front),
    };
    let other_side = words::other_side(side);
    let Some(way) = way else {
        return vec![Prose::from(if other_way.is_some() {
            format!(
                "not known: no level lay along it, and too few cross readings carry it over from the {other_side} \
                 way"
            )
        } else {
            "crown or sag not known: no level lay along a way".to_owned()
        })];
    };
    let (Some(crown), Some(straightness)) = (way.crown, way.straightness) else {
        let line = side.line();
        return vec![Prose::from(
            if report.adjustment.open_ended(line).is_empty() {
                "crown or sag not known: it takes the level at two places along the way or more"
            } else {
                "crown or sag not known: the bubble is off its scale along it"
            },
        )];
    };
    let limits = &report.survey.limits;
    let scale = Scale::lengths(units, crown.u95);
    let mut figure = Prose::new().strong(format!(
        "{}{TIE}{}",
        words::form(crown.value),
        scale.with_unit(crown.value.abs())
    ));
    if let Some(at) = farthest(way) {
        figure = figure.plain(format!(" at{TIE}{}", place(at, units)));
    }
    let straight = Prose::new().plain(format!(
        "straight within {}, {}{}",
        scale.with_unit(straightness.value),
        words::between(&straightness, &scale),
        limits
            .straightness
            .map_or_else(String::new, |limit| format!(
                "; limit {}",
                scale.limit(limit)
            ))
    ));
    let mut facts = vec![
        judged(
            figure,
            limits
                .crown
                .map(|[lowest, highest]| crown.verdict(lowest, highest)),
        ),
        Prose::from(format!(
            "{}; {}",
            words::crown_between(&crown, &scale),
            limits.crown.map_or_else(
                || "no limit set".to_owned(),
                |limits| format!("limit: {}", words::crown_limit(limits, &scale))
            )
        )),
        judged(
            straight,
            limits
                .straightness
                // From a crown that was chosen it is judged where that is told.
                .filter(|_| report.particulars.straightness_from_chosen.is_empty())
                .map(|limit| straightness.verdict(0.0, limit)),
        ),
    ];
    facts.extend(elsewhere(way.crown, way.opposite, limits, units));
    facts.extend(of_way(report, side, units));
    if way.through_other {
        facts.push(Prose::from(format!(
            "known through the {other_side} way and the cross readings"
        )));
    }
    facts
}

/// Where the way departs most from its line.
fn farthest(way: &Way) -> Option<f64> {
    let size = |departure: f64| departure.abs();
    way.points
        .iter()
        .reduce(|a, b| {
            if size(b.off_line) > size(a.off_line) {
                b
            } else {
                a
            }
        })
        .map(|point| point.at)
}

fn next(report: &ShapeReport, telling: &Telling) -> Prose {
    let limits = &report.survey.limits;
    if limits.is_empty() {
        return Prose::from(
            "say under [limits] in the survey what counts as good; without it there is no verdict.",
        );
    }
    if let Some(suspect) = report.suspects.suspect() {
        return Prose::from(format!(
            "read the {} at {} again, mend the survey, and ask again.",
            words::reading_of(suspect.line, suspect.reversed),
            place(suspect.at, telling.units)
        ));
    }
    if report.judgement.proven(limits) {
        return Prose::from(
            "stop turning. Read the bed again after some days and once more after a couple of weeks: floor and \
             casting settle.",
        );
    }
    match report.judgement.overall() {
        Some(Verdict::Outside) => Prose::new()
            .strong(format!("quarterturn turns {}", telling.file))
            .plain(" says what to turn."),
        Some(Verdict::Unsure) => Prose::new()
            .plain("the readings of this pass cannot tell yet. ")
            .strong(format!("quarterturn turns {}", telling.file))
            .plain(" says whether to turn now or to read again first."),
        _ => Prose::from(
            "lay the level along one way as well; across alone it shows twist, but neither crown nor sag.",
        ),
    }
}
