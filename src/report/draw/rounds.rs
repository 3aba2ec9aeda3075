//! All rounds on one time line: twist and crown from pass to pass.

use super::axis::{Axis, Tick};
use super::chart::{Chart, Limit, Mark, Meaning, Point, Row, Trace, Under};
use crate::geometry::{BedShape, Figure, Way};
use crate::survey::{LengthUnit, Pass, Survey};

/// How far the two ways of one pass stand apart, passes.
const ASIDE: f64 = 0.07;
/// Round numbers upwards.
const MOST_FIGURES: usize = 5;

/// What one pass shows; `None` where it holds no readings.
#[derive(Debug, Clone, Copy)]
pub struct Round<'a> {
    /// The pass.
    pub pass: &'a Pass,
    /// Its shape.
    pub shape: Option<&'a BedShape>,
}

/// The twist from pass to pass, and the crown of both ways.
pub fn rounds(survey: &Survey, rounds: &[Round], units: LengthUnit) -> Vec<Chart> {
    if rounds.len() < 2 {
        return Vec::new();
    }
    [twist(survey, rounds, units), crown(survey, rounds, units)]
        .into_iter()
        .flatten()
        .collect()
}

fn twist(survey: &Survey, rounds: &[Round], units: LengthUnit) -> Option<Chart> {
    let unit = units.slope();
    let points = points(rounds, 0.0, |shape| shape.twist, |m| unit.from_si(m));
    let trace = Trace {
        meaning: Meaning::Read,
        mark: Mark::Round,
        name: "twist",
        points,
    };
    let limits = survey
        .limits
        .twist
        .map_or_else(Vec::new, |limit| Limit::levels([unit.from_si(limit)]));
    chart(
        "rounds-twist",
        "Twist from pass to pass",
        unit.name(),
        vec![trace],
        limits,
        rounds,
    )
}

fn crown(survey: &Survey, rounds: &[Round], units: LengthUnit) -> Option<Chart> {
    let unit = units.length();
    let crown = |way: &Option<Way>| way.as_ref().and_then(|way| way.crown);
    let front = points(
        rounds,
        -ASIDE,
        |shape| crown(&shape.front),
        |m| unit.from_si(m),
    );
    let rear = points(
        rounds,
        ASIDE,
        |shape| crown(&shape.rear),
        |m| unit.from_si(m),
    );
    let traces = [
        (Mark::Square, "rear way", rear),
        (Mark::Round, "front way", front),
    ]
    .into_iter()
    .filter(|(.., points)| !points.is_empty())
    .map(|(mark, name, points)| Trace {
        meaning: Meaning::Read,
        mark,
        name,
        points,
    })
    .collect();
    let limits = survey.limits.crown.map_or_else(Vec::new, |ends| {
        Limit::levels(ends.map(|end| unit.from_si(end)))
    });
    chart(
        "rounds-crown",
        "Crown and sag from pass to pass",
        &format!("{}, crown is +", unit.name()),
        traces,
        limits,
        rounds,
    )
}

fn points(
    rounds: &[Round],
    aside: f64,
    pick: impl Fn(&BedShape) -> Option<Figure>,
    shown: impl Fn(f64) -> f64,
) -> Vec<Point> {
    rounds
        .iter()
        .enumerate()
        .filter_map(|(k, round)| {
            let figure = round.shape.and_then(&pick)?;
            Some(Point {
                x: (k + 1) as f64 + aside,
                y: shown(figure.value),
                low: shown(figure.low),
                high: shown(figure.high),
            })
        })
        .collect()
}

fn chart(
    name: &'static str,
    title: &str,
    upwards: &str,
    traces: Vec<Trace>,
    limits: Vec<Limit>,
    rounds: &[Round],
) -> Option<Chart> {
    let numbers: Vec<f64> = traces
        .iter()
        .flat_map(|trace| trace.points.iter())
        .flat_map(|point| [point.low, point.high, point.y])
        .chain(limits.iter().flat_map(Limit::figures))
        .chain([0.0])
        .collect();
    let known = traces.iter().map(|trace| trace.points.len()).max()?;
    if known < 2 {
        return None;
    }
    let least = 1e-4;
    let told: Vec<String> = traces
        .iter()
        .map(|trace| {
            let figures: Vec<String> = trace
                .points
                .iter()
                .map(|point| format!("pass {:.0} {:.4}", point.x, point.y + 0.0))
                .collect();
            format!("{}: {}", trace.name, figures.join(", "))
        })
        .collect();
    Some(Chart {
        name,
        title: title.to_owned(),
        description: format!("{title}, {upwards}. {}.", told.join("; ")),
        across: passes(rounds.len()),
        up: Axis::around(upwards, numbers, least, MOST_FIGURES),
        limits,
        traces,
        banded: false,
        rows: rows(rounds),
    })
}

/// The axis from pass to pass.
fn passes(count: usize) -> Axis {
    Axis {
        name: "pass".to_owned(),
        low: 0.5,
        high: count as f64 + 0.5,
        ticks: (1..=count)
            .map(|number| Tick {
                value: number as f64,
                label: number.to_string(),
            })
            .collect(),
    }
}

/// Days of the passes, and how many feet were turned between them.
fn rows(rounds: &[Round]) -> Vec<Row> {
    let days = rounds.iter().enumerate().filter_map(|(k, round)| {
        let day = round.pass.taken.as_ref()?.date?;
        Some(Under {
            x: (k + 1) as f64,
            words: format!("{:02}-{:02}", day.month, day.day),
        })
    });
    let turned = rounds.iter().enumerate().filter_map(|(k, round)| {
        let turned = round
            .pass
            .turned
            .as_ref()
            .filter(|_| k + 1 < rounds.len())?;
        let feet = turned.values().filter(|quarters| **quarters != 0.0).count();
        Some(Under {
            x: k as f64 + 1.5,
            words: match feet {
                0 => "none".to_owned(),
                1 => "1 foot".to_owned(),
                feet => format!("{feet} feet"),
            },
        })
    });
    [
        ("day", days.collect()),
        ("turned", turned.collect::<Vec<_>>()),
    ]
    .into_iter()
    .map(|(name, words)| Row {
        name,
        marked: false,
        words,
    })
    .filter(|row| !row.words.is_empty())
    .collect()
}
