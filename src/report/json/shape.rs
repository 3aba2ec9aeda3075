//! The object that `shape --json` prints.

use serde::Serialize;

use super::fit::{ClosureObject, SuspectObject};
use super::number::{Milli, Place, Plain};
use super::particulars::ParticularsObject;
use super::settling::SettlingObject;
use crate::geometry::layout::SAME_PLACE;
use crate::geometry::{CrossSlope, Figure, Verdict, Way};
use crate::report::ShapeReport;
use crate::survey::Line;

/// Version of the object; a field may be added without a new one.
const FORMAT: u32 = 1;

/// The whole object.
#[derive(Debug, Serialize)]
pub struct ShapeObject {
    format: u32,
    pass: usize,
    cross: Option<Vec<Cross>>,
    front: Option<Vec<Point>>,
    rear: Option<Vec<Point>>,
    twist: Twist,
    crown: Crown,
    straightness: Straightness,
    closure: ClosureObject,
    suspects: Vec<SuspectObject>,
    zero_error_divisions: ZeroError,
    settling: Vec<SettlingObject>,
    particulars: ParticularsObject,
}

#[derive(Debug, Serialize)]
struct Cross {
    at_mm: Place,
    slope_mm_per_m: Option<Milli>,
    u95_mm_per_m: Option<Milli>,
}

#[derive(Debug, Serialize)]
#[expect(
    clippy::struct_field_names,
    reason = "in JSON every name carries its unit"
)]
struct Point {
    at_mm: Place,
    height_mm: Milli,
    u95_mm: Milli,
    off_line_mm: Milli,
    off_line_u95_mm: Milli,
}

#[derive(Debug, Serialize)]
struct Twist {
    range_mm_per_m: Option<Milli>,
    u95_mm_per_m: Option<Milli>,
    interval_mm_per_m: Option<[Option<Milli>; 2]>,
    limit_mm_per_m: Option<Milli>,
    verdict: Option<&'static str>,
}

#[derive(Debug, Serialize)]
struct Crown {
    front_mm: Option<Milli>,
    rear_mm: Option<Milli>,
    u95_mm: Option<Milli>,
    straightness_front_mm: Option<Milli>,
    straightness_rear_mm: Option<Milli>,
    limit_mm: Option<[Milli; 2]>,
    verdict: Option<&'static str>,
    interval_front_mm: Option<[Milli; 2]>,
    interval_rear_mm: Option<[Milli; 2]>,
}

#[derive(Debug, Serialize)]
struct Straightness {
    reference: &'static str,
    limit_mm: Option<Milli>,
    verdict: Option<&'static str>,
    interval_front_mm: Option<[Milli; 2]>,
    interval_rear_mm: Option<[Milli; 2]>,
}

#[derive(Debug, Serialize)]
struct ZeroError {
    cross: Option<Plain>,
    along: Option<Plain>,
}

impl ShapeObject {
    /// Fills the object.
    pub fn of(report: &ShapeReport) -> Self {
        let shape = report.shape;
        let divisions =
            |zero: Option<Figure>| zero.map(|zero| Plain::of(zero.value / report.level.division));
        Self {
            format: FORMAT,
            pass: report.number,
            cross: cross(report),
            front: shape.front.as_ref().map(points),
            rear: shape.rear.as_ref().map(points),
            twist: twist(report),
            crown: crown(report),
            straightness: straightness(report),
            closure: ClosureObject::of(report),
            suspects: SuspectObject::all(report),
            zero_error_divisions: ZeroError {
                cross: divisions(shape.zero_cross),
                along: divisions(shape.zero_along),
            },
            settling: report.settling.iter().map(SettlingObject::of).collect(),
            particulars: ParticularsObject::of(report),
        }
    }
}

fn cross(report: &ShapeReport) -> Option<Vec<Cross>> {
    let slopes = &report.shape.cross;
    let rows = &report.adjustment.observations().rows;
    let read = |at: f64| {
        slopes
            .iter()
            .any(|slope| (slope.at - at).abs() < SAME_PLACE)
    };
    let mut objects: Vec<(f64, Option<&CrossSlope>)> =
        slopes.iter().map(|slope| (slope.at, Some(slope))).collect();
    // Where the bubble was off its scale and nothing else tells.
    let off = rows
        .iter()
        .filter(|row| row.line == Line::Cross && !read(row.at));
    objects.extend(off.map(|row| (row.at, None)));
    objects.sort_by(|a, b| a.0.total_cmp(&b.0));
    objects.dedup_by(|a, b| (a.0 - b.0).abs() < SAME_PLACE);
    let objects: Vec<Cross> = objects
        .into_iter()
        .map(|(at, slope)| Cross {
            at_mm: Place::of(at),
            slope_mm_per_m: slope.map(|slope| Milli::of(slope.slope)),
            u95_mm_per_m: slope.map(|slope| Milli::of(slope.u95)),
        })
        .collect();
    (!objects.is_empty()).then_some(objects)
}

fn points(way: &Way) -> Vec<Point> {
    way.points
        .iter()
        .map(|point| Point {
            at_mm: Place::of(point.at),
            height_mm: Milli::of(point.height),
            u95_mm: Milli::of(point.u95),
            off_line_mm: Milli::of(point.off_line),
            off_line_u95_mm: Milli::of(point.off_line_u95),
        })
        .collect()
}

fn twist(report: &ShapeReport) -> Twist {
    let twist = report.shape.twist;
    Twist {
        range_mm_per_m: twist.map(|twist| Milli::of(twist.value)),
        u95_mm_per_m: twist.and_then(|twist| finite(twist.u95)),
        interval_mm_per_m: match twist {
            Some(twist) => Some([twist.low, twist.high].map(finite)),
            None => report
                .shape
                .least_twist
                .map(|least| [Some(Milli::of(least)), None]),
        },
        limit_mm_per_m: report.survey.limits.twist.map(Milli::of),
        verdict: report.judgement.twist.map(Verdict::word),
    }
}

fn crown(report: &ShapeReport) -> Crown {
    let (front, rear) = (&report.shape.front, &report.shape.rear);
    let crown = |way: &Option<Way>| way.as_ref().and_then(|way| way.crown);
    let straightness = |way: &Option<Way>| way.as_ref().and_then(|way| way.straightness);
    let value = |figure: Option<Figure>| figure.map(|figure| Milli::of(figure.value));
    let u95 = [crown(front), crown(rear)]
        .into_iter()
        .flatten()
        .map(|crown| crown.u95)
        .reduce(f64::max);
    Crown {
        front_mm: value(crown(front)),
        rear_mm: value(crown(rear)),
        u95_mm: u95.map(Milli::of),
        straightness_front_mm: value(straightness(front)),
        straightness_rear_mm: value(straightness(rear)),
        limit_mm: report.survey.limits.crown.map(|ends| ends.map(Milli::of)),
        verdict: report.judgement.crown.map(Verdict::word),
        interval_front_mm: interval(crown(front)),
        interval_rear_mm: interval(crown(rear)),
    }
}

fn straightness(report: &ShapeReport) -> Straightness {
    let straightness = |way: &Option<Way>| way.as_ref().and_then(|way| way.straightness);
    Straightness {
        reference: report.reference.name(),
        limit_mm: report.survey.limits.straightness.map(Milli::of),
        verdict: report.judgement.straightness.map(Verdict::word),
        interval_front_mm: interval(straightness(&report.shape.front)),
        interval_rear_mm: interval(straightness(&report.shape.rear)),
    }
}

/// An end that nothing is known of is `null`.
fn finite(end: f64) -> Option<Milli> {
    end.is_finite().then(|| Milli::of(end))
}

fn interval(figure: Option<Figure>) -> Option<[Milli; 2]> {
    figure.map(|figure| [Milli::of(figure.low), Milli::of(figure.high)])
}
