//! Figures whose verdict is unsure, and how they are told from readings that nobody has taken yet.

use nalgebra::DVector;

use super::Subject;
use crate::geometry::adjustment::Adjustment;
use crate::geometry::convex::Convexity;
use crate::geometry::extreme::{Noise, Range};
use crate::geometry::figure::{Figure, Verdict};
use crate::geometry::local::{departs_most, twists_most};
use crate::geometry::particulars::{Particulars, crowned, evenly_twisted};
use crate::geometry::reference_line::ReferenceLine;
use crate::geometry::shape::{BedShape, Way};
use crate::geometry::sight::{cross_slopes, departures};
use crate::survey::Survey;

/// An unsure figure with what it is made of.
pub(super) struct Open {
    pub(super) subject: Subject,
    limits: [f64; 2],
    at: Vec<f64>,
    /// Cross slopes or departures as they were measured, less what was chosen.
    values: DVector<f64>,
    /// Line that the departures are from.
    line: ReferenceLine,
}

/// What readings would tell of a figure.
pub(super) struct Told {
    pub(super) u95: f64,
    pub(super) settled: bool,
}

/// Everything about a pass whose verdict is unsure.
pub(super) fn open(adjustment: &Adjustment, survey: &Survey, line: ReferenceLine) -> Vec<Open> {
    let shape = BedShape::of(adjustment, line);
    let particulars = Particulars::of(adjustment, &shape, survey);
    let mut open = twists(&shape, &particulars, survey);
    for way in shape.ways() {
        open.extend(of_way(adjustment, way, &particulars, survey, line));
    }
    open
}

fn unsure(figure: Option<Figure>, [low, high]: [f64; 2]) -> bool {
    figure.is_some_and(|figure| figure.verdict(low, high) == Verdict::Unsure)
}

fn twists(shape: &BedShape, particulars: &Particulars, survey: &Survey) -> Vec<Open> {
    let at: Vec<f64> = shape.cross.iter().map(|slope| slope.at).collect();
    let slopes = DVector::from_iterator(at.len(), shape.cross.iter().map(|slope| slope.slope));
    let mut open = Vec::new();
    let mut add = |subject, figure: Option<Figure>, limit: Option<f64>, values: DVector<f64>| {
        let limits = [0.0, limit.unwrap_or(f64::INFINITY)];
        if limit.is_some() && unsure(figure, limits) {
            open.push(Open {
                subject,
                limits,
                at: at.clone(),
                values,
                line: ReferenceLine::EndPoints,
            });
        }
    };
    let limits = &survey.limits;
    let (twist, from_chosen) = match particulars.twist_from_chosen {
        Some(figure) => {
            let even = survey.aim.twist.unwrap_or(0.0) / survey.bed.length;
            (Some(figure), &slopes - evenly_twisted(&at, even))
        }
        None => (shape.twist, slopes.clone()),
    };
    add(Subject::Twist, twist, limits.twist, from_chosen);
    add(
        Subject::TwistPerMetre,
        particulars.twist_per_metre,
        limits.twist_per_metre,
        slopes,
    );
    open
}

fn of_way(
    adjustment: &Adjustment,
    way: &Way,
    particulars: &Particulars,
    survey: &Survey,
    line: ReferenceLine,
) -> Vec<Open> {
    let side = way.side;
    let at: Vec<f64> = way.points.iter().map(|point| point.at).collect();
    let off_line = DVector::from_iterator(at.len(), way.points.iter().map(|point| point.off_line));
    let ends = ReferenceLine::EndPoints;
    let off_ends = departures(adjustment, side, &at, ends) * &adjustment.ways().unknowns;
    let limits = &survey.limits;
    let mut open = Vec::new();
    let mut add = |subject, limits, values: &DVector<f64>, line| {
        open.push(Open {
            subject,
            limits,
            at: at.clone(),
            values: values.clone(),
            line,
        });
    };
    if let Some(limits) = limits.crown.filter(|limits| unsure(way.crown, *limits)) {
        add(Subject::Crown(side), limits, &off_line, line);
    }
    if let Some(limit) = limits.straightness {
        let limits = [0.0, limit];
        let mut chosen = particulars.straightness_from_chosen.iter();
        match chosen.find(|(of, _)| *of == side) {
            Some((_, figure)) if unsure(Some(*figure), limits) => {
                let crown = survey.aim.crown.unwrap_or(0.0);
                let values = &off_ends - crowned(&at, crown);
                add(Subject::Straightness(side), limits, &values, ends);
            }
            None if unsure(way.straightness, limits) => {
                add(Subject::Straightness(side), limits, &off_line, line);
            }
            _ => {}
        }
    }
    for local in &particulars.local {
        let limits = [0.0, local.limit.height];
        let mut of_side = local.ways.iter().filter(|way| way.side == side);
        if of_side.any(|way| unsure(Some(way.departure), limits)) {
            add(Subject::Local(side, local.limit), limits, &off_ends, ends);
        }
    }
    let mut convex = particulars.convex.iter().filter(|way| way.side == side);
    if convex.any(|way| way.verdict == Verdict::Unsure) {
        add(Subject::Convex(side), [0.0, f64::INFINITY], &off_ends, ends);
    }
    open
}

impl Open {
    /// The figure as these readings would tell it, were the values to stay; deviations widened by this.
    pub(super) fn told(&self, imagined: &Adjustment, widening: f64) -> Told {
        let root = match self.subject {
            Subject::Twist | Subject::TwistPerMetre => imagined
                .system()
                .covariance_root(&cross_slopes(imagined, &self.at)),
            Subject::Crown(side)
            | Subject::Straightness(side)
            | Subject::Local(side, _)
            | Subject::Convex(side) => imagined
                .ways()
                .covariance_root(&departures(imagined, side, &self.at, self.line)),
        } * widening;
        if let Subject::Convex(side) = self.subject {
            let told = Convexity::told(side, &self.at, &self.values, &root);
            return Told {
                u95: told.map_or(0.0, |told| told.lowest.u95),
                settled: told.is_some_and(|told| told.verdict != Verdict::Unsure),
            };
        }
        let figure = self.figure(&Noise::new(&root));
        Told {
            u95: figure.u95,
            settled: figure.verdict(self.limits[0], self.limits[1]) != Verdict::Unsure,
        }
    }

    fn figure(&self, noise: &Noise) -> Figure {
        let (at, values) = (&self.at, &self.values);
        match self.subject {
            Subject::Crown(_) => noise.largest_departure(values),
            Subject::Straightness(_) if self.line == ReferenceLine::MinimumZone => {
                noise.figure(values, &|bed: &[f64]| self.line.straightness(at, bed))
            }
            Subject::TwistPerMetre => noise.figure(values, &twists_most(at)),
            Subject::Local(_, limit) => match departs_most(at, limit.over) {
                Some(departs_most) => noise.figure(values, &departs_most),
                None => noise.figure(values, &Range),
            },
            Subject::Twist | Subject::Straightness(_) | Subject::Convex(_) => {
                noise.figure(values, &Range)
            }
        }
    }
}
