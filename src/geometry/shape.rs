//! The shape of the bed that a pass shows: cross slopes, both ways, twist, crown, straightness.

use nalgebra::{DMatrix, DVector, RowDVector};

use super::adjustment::Adjustment;
use super::bounds::least_twist;
use super::extreme::{Noise, Range};
use super::figure::{COVERAGE_95, Figure};
use super::layout::SAME_PLACE;
use super::reference_line::ReferenceLine;
use super::sight::{cross_slope, departure_operator};
use crate::survey::{AimShape, Line, Side};

/// A way needs this many places before it can be called straight or crowned.
const PLACES_OF_A_PROFILE: usize = 3;

/// What one pass shows. Whatever the readings cannot tell is `None` or absent, never zero.
#[derive(Debug, Clone)]
pub struct BedShape {
    /// Cross slopes at the cross stations, in order along the bed.
    pub cross: Vec<CrossSlope>,
    /// The front way, when the readings tell it.
    pub front: Option<Way>,
    /// The rear way, when the readings tell it.
    pub rear: Option<Way>,
    /// Range of the cross slope over the bed, m/m.
    pub twist: Option<Figure>,
    /// What the cross slope ranges over at least, m/m, where the bubble left its scale both ways or beside readings.
    pub least_twist: Option<f64>,
    /// The level's zero error across, m/m, where reversed readings make it known.
    pub zero_cross: Option<Figure>,
    /// The level's zero error along, m/m.
    pub zero_along: Option<Figure>,
}

/// The cross slope at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CrossSlope {
    /// Distance from the headstock end, m.
    pub at: f64,
    /// Front high is positive, m/m. The level's zero error is taken off where it is known; where it is
    /// not, it is still in here, the same at every place.
    pub slope: f64,
    /// Expanded uncertainty, m/m.
    pub u95: f64,
}

/// One way.
#[derive(Debug, Clone)]
pub struct Way {
    /// Which way.
    pub side: Side,
    /// Whether no level lay along it and it is known through the other way and the cross readings.
    pub through_other: bool,
    /// Its places in order along the bed.
    pub points: Vec<WayPoint>,
    /// Largest departure from the reference line, crown positive, m.
    pub crown: Option<Figure>,
    /// Largest departure on the other side of the line, m: what crowns here may sag there.
    pub opposite: Option<Figure>,
    /// Range of the departures, m.
    pub straightness: Option<Figure>,
}

/// One place of a way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WayPoint {
    /// Distance from the headstock end, m.
    pub at: f64,
    /// Height above the plane that fits both ways best, m.
    pub height: f64,
    /// Its expanded uncertainty, m.
    pub u95: f64,
    /// Departure from the way's own reference line, m.
    pub off_line: f64,
    /// Its expanded uncertainty, m.
    pub off_line_u95: f64,
}

/// What is known of the level's zero error, and whether it matters. Twist and straightness never need it:
/// it adds the same to every reading. Only a bed that is to be level as well does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ZeroError {
    /// Reversed readings tell it, m/m.
    Known(Figure),
    /// Nothing was reversed, and nothing that is asked for needs it.
    NotNeeded,
    /// Nothing was reversed, and without it the bed cannot be aimed at level.
    Needed,
    /// The level was not read this way.
    NotRead,
}

impl BedShape {
    /// Reads the shape out of an adjustment, departures measured from the given line.
    pub fn of(adjustment: &Adjustment, line: ReferenceLine) -> Self {
        let zero_cross = zero(adjustment, false);
        let zero_along = zero(adjustment, true);
        let (cross, twist) = cross(adjustment, zero_cross.is_some());
        let (front, rear) = ways(adjustment, line);
        Self {
            cross,
            front,
            rear,
            twist,
            least_twist: least_twist(adjustment.observations()),
            zero_cross,
            zero_along,
        }
    }

    /// What is known of the level's zero error across or along, and whether the aim needs it.
    pub fn zero_error(&self, along: bool, aim: AimShape) -> ZeroError {
        let known = if along {
            self.zero_along
        } else {
            self.zero_cross
        };
        let read = if along {
            self.ways().any(|way| !way.through_other)
        } else {
            !self.cross.is_empty()
        };
        match known {
            Some(figure) => ZeroError::Known(figure),
            None if !read => ZeroError::NotRead,
            None if aim == AimShape::Level => ZeroError::Needed,
            None => ZeroError::NotNeeded,
        }
    }

    /// Both ways, those that are known.
    pub fn ways(&self) -> impl Iterator<Item = &Way> {
        self.front.iter().chain(self.rear.iter())
    }
}

fn zero(adjustment: &Adjustment, along: bool) -> Option<Figure> {
    let function = adjustment.zero_error(along).transpose();
    let system = adjustment.system();
    let used = adjustment.used().iter().any(|&i| {
        let row = &adjustment.observations().rows[i];
        (row.line != Line::Cross) == along
    });
    let value = system.value(function.as_view()).filter(|_| used)?;
    let deviation = adjustment
        .covariance_root(&DMatrix::from_row_slice(
            1,
            function.len(),
            function.as_slice(),
        ))
        .norm();
    Some(Figure::normal(value, deviation))
}

fn cross(adjustment: &Adjustment, zero_known: bool) -> (Vec<CrossSlope>, Option<Figure>) {
    let rows = &adjustment.observations().rows;
    let open = adjustment.open_ended(Line::Cross);
    // A station off the scale may be known nevertheless.
    let told = |at: f64| {
        let shown = cross_slope(adjustment, at).transpose();
        adjustment.system().determines(shown.as_view())
            && !open.iter().any(|row| (row.at - at).abs() < SAME_PLACE)
    };
    let mut stations: Vec<usize> = (0..rows.len())
        .filter(|&i| rows[i].line == Line::Cross && told(rows[i].at))
        .collect();
    stations.sort_by(|a, b| rows[*a].at.total_cmp(&rows[*b].at));
    stations.dedup_by(|a, b| (rows[*a].at - rows[*b].at).abs() < SAME_PLACE);
    if stations.is_empty() {
        return (Vec::new(), None);
    }
    let zero = adjustment.zero_error(false);
    let functions: Vec<RowDVector<f64>> = stations
        .iter()
        .map(|&i| {
            let shown = cross_slope(adjustment, rows[i].at);
            if zero_known { shown - &zero } else { shown }
        })
        .collect();
    let functions = DMatrix::from_rows(&functions);
    let values = &functions * &adjustment.system().unknowns;
    let root = adjustment.covariance_root(&functions);
    let slopes = stations
        .iter()
        .enumerate()
        .map(|(k, &i)| CrossSlope {
            at: rows[i].at,
            slope: values[k],
            u95: COVERAGE_95 * root.row(k).norm(),
        })
        .collect();
    let twist = (stations.len() > 1).then(|| {
        let figure = Noise::new(&root).figure(&values, &Range);
        let least = least_twist(adjustment.observations());
        let figure = least.map_or(figure, |least| figure.at_least(least));
        if open.is_empty() {
            figure
        } else {
            figure.without_end()
        }
    });
    (slopes, twist)
}

/// The places at which a way is known, in order, and whether only through the other way.
fn places_of(adjustment: &Adjustment, side: Side) -> Option<(Vec<f64>, bool)> {
    let observations = adjustment.observations();
    let half = observations.half_base;
    let ends = |side: Side| -> Vec<f64> {
        observations
            .rows
            .iter()
            .filter(|row| row.side() == Some(side))
            .flat_map(|row| [row.at - half, row.at + half])
            .collect()
    };
    let mut own = ends(side);
    let through_other = own.is_empty();
    if through_other {
        let other = ends(match side {
            Side::Front => Side::Rear,
            Side::Rear => Side::Front,
        });
        let (low, high) = other
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| {
                (low.min(*at), high.max(*at))
            });
        // Beyond the last end of the level on the other way nothing carries the height on.
        own = observations
            .rows
            .iter()
            .filter(|row| row.line == Line::Cross)
            .map(|row| row.at)
            .filter(|at| (low - SAME_PLACE..=high + SAME_PLACE).contains(at))
            .collect();
    }
    own.sort_by(f64::total_cmp);
    own.dedup_by(|a, b| (*a - *b).abs() < SAME_PLACE);
    (own.len() > 1).then_some((own, through_other))
}

struct Profile {
    side: Side,
    at: Vec<f64>,
    through_other: bool,
    functions: DMatrix<f64>,
}

fn ways(adjustment: &Adjustment, line: ReferenceLine) -> (Option<Way>, Option<Way>) {
    let profiles: Vec<Profile> = [Side::Front, Side::Rear]
        .into_iter()
        .filter_map(|side| {
            let (at, through_other) = places_of(adjustment, side)?;
            let functions: Vec<RowDVector<f64>> = at
                .iter()
                .filter_map(|x| adjustment.layout().index(*x))
                .map(|place| adjustment.height(side, place))
                .collect();
            Some(Profile {
                side,
                at,
                through_other,
                functions: DMatrix::from_rows(&functions),
            })
        })
        .collect();
    let plane = plane_through(&profiles);
    let mut front = None;
    let mut rear = None;
    let mut first = 0;
    for profile in &profiles {
        let heights = level_out(&profiles, &plane, first, profile.at.len());
        first += profile.at.len();
        let way = way(adjustment, profile, &heights, line);
        match profile.side {
            Side::Front => front = way,
            Side::Rear => rear = way,
        }
    }
    (front, rear)
}

/// Orthonormal columns of heave, pitch and (with two ways) roll at all places of all profiles.
fn plane_through(profiles: &[Profile]) -> DMatrix<f64> {
    let places: Vec<(f64, f64)> = profiles
        .iter()
        .flat_map(|profile| {
            let across = if profile.side == Side::Front {
                1.0
            } else {
                -1.0
            };
            profile.at.iter().map(move |at| (*at, across))
        })
        .collect();
    let columns = if profiles.len() > 1 { 3 } else { 2 };
    DMatrix::from_fn(places.len(), columns, |i, j| match j {
        0 => 1.0,
        1 => places[i].0,
        _ => places[i].1,
    })
    .qr()
    .q()
}

/// Rows `first..first + count` of the heights with the plane taken off.
fn level_out(
    profiles: &[Profile],
    plane: &DMatrix<f64>,
    first: usize,
    count: usize,
) -> DMatrix<f64> {
    let rows: Vec<RowDVector<f64>> = profiles
        .iter()
        .flat_map(|profile| {
            profile
                .functions
                .row_iter()
                .map(nalgebra::Matrix::into_owned)
        })
        .collect();
    let all = DMatrix::from_rows(&rows);
    let fitted = plane.rows(first, count) * (plane.transpose() * &all);
    all.rows(first, count) - fitted
}

fn way(
    adjustment: &Adjustment,
    profile: &Profile,
    heights: &DMatrix<f64>,
    line: ReferenceLine,
) -> Option<Way> {
    let system = adjustment.ways();
    let count = profile.at.len();
    let known = heights
        .row_iter()
        .all(|row| system.determines(row.transpose().as_view()));
    if !known {
        return None;
    }
    let values = heights * &system.unknowns;
    let root = adjustment.covariance_root_of_ways(heights);

    // Departures from a line that moves with the heights; for the minimum zone, which is not linear, the
    // line found is held while the uncertainty is carried through.
    let operator = departure_operator(&profile.at, line);
    let ends = &operator * &root;
    let off: Vec<f64> = line.departures(&profile.at, values.as_slice());
    // What is off the scale says on which side a way is out, and not how far.
    let open = [Line::Front, Line::Rear].into_iter().any(|line| {
        (profile.through_other || line == profile.side.line())
            && !adjustment.open_ended(line).is_empty()
    });
    let noise = (count >= PLACES_OF_A_PROFILE && !open).then(|| Noise::new(&ends));
    let off_line = DVector::from_vec(off);
    let points = (0..count)
        .map(|k| WayPoint {
            at: profile.at[k],
            height: values[k],
            u95: COVERAGE_95 * root.row(k).norm(),
            off_line: off_line[k],
            off_line_u95: COVERAGE_95 * ends.row(k).norm(),
        })
        .collect();
    let straightness = noise.as_ref().map(|noise| match line {
        ReferenceLine::MinimumZone => noise.figure(&off_line, &|bed: &[f64]| {
            line.straightness(&profile.at, bed)
        }),
        _ => noise.figure(&off_line, &Range),
    });
    Some(Way {
        side: profile.side,
        through_other: profile.through_other,
        points,
        opposite: noise
            .as_ref()
            .map(|noise| noise.largest_opposite(&off_line)),
        crown: noise.map(|noise| noise.largest_departure(&off_line)),
        straightness,
    })
}
