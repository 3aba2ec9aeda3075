//! The made-up bed beside what its readings led to believe.

use crate::geometry::reference_line::{ReferenceLine, range};
use crate::geometry::{BedShape, Figure, Way};
use crate::rehearse::VirtualBed;
use crate::report::text::scale::place_number;
use crate::report::text::{Page, Prose, Scale, Table};
use crate::report::words::side;
use crate::response::Place;
use crate::survey::{Side, Survey};

/// Tells both, figure by figure and place by place.
pub(super) fn tell(page: &mut Page, survey: &Survey, shape: &BedShape, bed: &VirtualBed) {
    let units = survey.units;
    let truth = Truth { survey, bed };
    let mut table =
        Table::new(["", "believed", "give or take", "true", "limit"].map(str::to_owned));
    let mut kept = true;
    if let Some(believed) = shape.twist {
        let scale = Scale::slopes(units, believed.u95);
        let at: Vec<f64> = shape.cross.iter().map(|cross| cross.at).collect();
        let true_twist = range(&truth.cross_slopes(&at));
        let limit = survey.limits.twist;
        kept &= limit.is_none_or(|limit| true_twist <= limit);
        table.row(row(
            format!("twist, {}", scale.unit()),
            &believed,
            true_twist,
            limit.map(|limit| number(&scale.limit(limit))),
            &scale,
        ));
    }
    for way in shape.ways() {
        let Some(believed) = way.crown else {
            continue;
        };
        let scale = Scale::lengths(units, believed.u95);
        let true_crown = largest(&truth.off_line(way));
        let limit = survey.limits.crown;
        kept &= limit.is_none_or(|[lowest, highest]| (lowest..=highest).contains(&true_crown));
        table.row(row(
            format!("{} crown, {}", side(way.side), scale.unit()),
            &believed,
            true_crown,
            limit.map(|[lowest, highest]| {
                format!(
                    "{} to {}",
                    number(&scale.limit(lowest)),
                    number(&scale.limit(highest))
                )
            }),
            &scale,
        ));
    }
    page.heading("The true bed beside what was believed");
    page.table(&table);
    let has_limits = survey.limits.twist.is_some() || survey.limits.crown.is_some();
    if has_limits {
        page.gap();
        page.paragraph(&Prose::new().plain("The true bed is ").strong(if kept {
            "inside its limits."
        } else {
            "outside its limits."
        }));
    }
    places(page, shape, &truth);
}

/// A figure, believed and true.
fn row(
    name: String,
    believed: &Figure,
    truth: f64,
    limit: Option<String>,
    scale: &Scale,
) -> [String; 5] {
    [
        name,
        scale.number(believed.value),
        scale.number(believed.u95),
        scale.number(truth),
        limit.unwrap_or_default(),
    ]
}

/// A limit without its unit, which stands beside the name.
fn number(limit: &str) -> String {
    limit
        .split_once('\u{a0}')
        .map_or(limit, |(number, _)| number)
        .to_owned()
}

/// Both ways off the lines through their ends, place by place.
fn places(page: &mut Page, shape: &BedShape, truth: &Truth) {
    let units = truth.survey.units;
    for way in shape.ways() {
        let Some(crown) = way.crown else {
            continue;
        };
        let scale = Scale::lengths(units, crown.u95);
        let mut table = Table::new([
            format!("at\n{}", units.length().name()),
            format!("believed\n{}", scale.unit()),
            format!("true\n{}", scale.unit()),
        ]);
        for (point, off_line) in way.points.iter().zip(truth.off_line(way)) {
            table.row([
                place_number(point.at, units),
                scale.signed(point.off_line),
                scale.signed(off_line),
            ]);
        }
        page.heading(&format!(
            "The {} way above (+) or below (-) the line through its ends",
            side(way.side)
        ));
        page.table(&table);
    }
}

/// The made-up bed as it really lies.
struct Truth<'a> {
    survey: &'a Survey,
    bed: &'a VirtualBed,
}

impl Truth<'_> {
    fn heights(&self, at: &[f64], on: Side) -> Vec<f64> {
        let half = self.survey.bed.way_spacing / 2.0;
        let across = match on {
            Side::Front => half,
            Side::Rear => -half,
        };
        let places: Vec<Place> = at.iter().map(|&at| Place { at, across }).collect();
        self.bed.true_heights(&places)
    }

    fn cross_slopes(&self, at: &[f64]) -> Vec<f64> {
        let spacing = self.survey.bed.way_spacing;
        let (front, rear) = (self.heights(at, Side::Front), self.heights(at, Side::Rear));
        front
            .iter()
            .zip(rear)
            .map(|(front, rear)| (front - rear) / spacing)
            .collect()
    }

    /// Departures of a way from the line through its ends, at the places at which it was believed to be known.
    fn off_line(&self, way: &Way) -> Vec<f64> {
        let at: Vec<f64> = way.points.iter().map(|point| point.at).collect();
        ReferenceLine::EndPoints.departures(&at, &self.heights(&at, way.side))
    }
}

/// The largest departure either way, with its sign.
fn largest(departures: &[f64]) -> f64 {
    departures.iter().copied().fold(
        0.0,
        |most: f64, one| if one.abs() > most.abs() { one } else { most },
    )
}
