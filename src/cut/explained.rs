//! What the surveyed bed does to the collars of a bar.
//!
//! Where the front is high by the cross slope s, everything that rides on the bed rolls to the rear by
//! s · centre height at the height of the spindle. In the chuck only the tool rides along: with the tool at
//! the front it comes nearer to the axis, so the diameter is smaller by 2 · centre height · s, with the tool
//! at the rear larger. Between centres the headstock's and the tailstock's centre ride along too, and an even
//! twist explains nothing: what is left is how far the cross slope departs from a straight line between the
//! two centres.
//!
//! Crown and sag lift the tool by d; at radius r that changes the radius by d²/2r, next to nothing (see
//! [`crown_effect`]).

use nalgebra::{DMatrix, DVector, RowDVector};

use super::bar::Bar;
use super::taper::Taper;
use crate::geometry::{Adjustment, Figure};
use crate::survey::{BarHeld, Cut, Level, Pass, Side, Survey};

/// What the surveyed twist explains.
#[derive(Debug, Clone, PartialEq)]
pub struct Explained {
    /// Change of diameter over length, m/m.
    pub rate: Figure,
    /// Barrel, m, where the bar has collars enough to show one.
    pub barrel: Option<Figure>,
    /// Change of cross slope from the first collar to the last, m/m.
    pub cross_slope: Figure,
    /// What it does to every diameter, against the first, m.
    pub diameters: DVector<f64>,
    /// `root · rootᵀ` is the covariance of the diameters.
    pub root: DMatrix<f64>,
    /// Place of the chuck's face or of the headstock's centre along the bed, m.
    pub start: f64,
    /// Whether a collar stands beyond the cross readings, where the bed is only carried on.
    pub beyond_readings: bool,
}

/// Why the survey explains nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NotExplained {
    /// The height of the spindle above the ways is not known.
    NoCentreHeight,
    /// Where the chuck or the headstock's centre stands along the bed is not known.
    NoPlace,
    /// The work reaches beyond the end of the bed.
    OffTheBed,
    /// The pass has no cross readings at two places.
    NoTwist,
    /// The survey has no pass.
    NoPass,
}

/// Change of radius from a crown of `crown` (m) at the radius `radius` (m), m: `crown² / 2 radius`.
///
/// ```
/// // A crown of 0.02 mm on a bar of 60 mm: less than a hundred-thousandth of a millimetre.
/// let effect = quarterturn::cut::explained::crown_effect(0.02e-3, 0.03);
/// assert!((effect - 6.667e-9).abs() < 1e-12);
/// ```
pub fn crown_effect(crown: f64, radius: f64) -> f64 {
    crown * crown / (2.0 * radius)
}

/// Where the chuck's face or the headstock's centre stands along the bed, m.
fn start_of(survey: &Survey, cut: &Cut) -> Option<f64> {
    match cut.held {
        BarHeld::InChuck { chuck_at, .. } => chuck_at,
        BarHeld::BetweenCentres { centre_at, .. } => centre_at,
    }
    .or(survey.machine.chuck_at)
}

impl Explained {
    /// What the bed as a pass shows it does to the collars of a cut.
    pub fn of(
        survey: &Survey,
        cut: &Cut,
        taper: &Taper,
        pass: &Pass,
        level: &Level,
    ) -> Result<Self, NotExplained> {
        let height = survey
            .machine
            .centre_height
            .ok_or(NotExplained::NoCentreHeight)?;
        let start = start_of(survey, cut).ok_or(NotExplained::NoPlace)?;
        let bar = Bar::of(cut);
        let collars: Vec<f64> = bar.places().iter().map(|place| start + place).collect();
        let mut places = collars.clone();
        let centres = match cut.held {
            BarHeld::InChuck { .. } => None,
            BarHeld::BetweenCentres { length, .. } => Some([start, start + length]),
        };
        places.extend(centres.iter().flatten());
        if places
            .iter()
            .any(|at| *at > survey.bed.length + crate::survey::PLACE_ROUNDING)
        {
            return Err(NotExplained::OffTheBed);
        }
        let adjustment = Adjustment::in_survey_with_places(survey, pass, level, &places)
            .map_err(|_| NotExplained::NoTwist)?;
        let slope = |at: f64| {
            let place = adjustment.layout().index(at)?;
            Some(adjustment.cross_slope(place))
        };
        // Twice the centre height, towards the axis for a tool at the front.
        let per_slope = 2.0
            * height
            * match cut.tool {
                Side::Front => -1.0,
                Side::Rear => 1.0,
            };
        let mut rows: Vec<RowDVector<f64>> = Vec::new();
        for at in &collars {
            let mut row = slope(*at).ok_or(NotExplained::NoTwist)?;
            if let Some([first, last]) = centres {
                let share = (at - first) / (last - first);
                let (first, last) = (slope(first), slope(last));
                let (first, last) = first.zip(last).ok_or(NotExplained::NoTwist)?;
                row -= first * (1.0 - share) + last * share;
            }
            rows.push(row * per_slope);
        }
        // Only differences along a bar count, and only they are known: the level's zero is not.
        let against_first: Vec<_> = rows.iter().map(|row| row - &rows[0]).collect();
        let value = |row: &RowDVector<f64>| adjustment.system().value(row.transpose().as_view());
        let diameters: Option<Vec<f64>> = against_first.iter().map(value).collect();
        let diameters = DVector::from_vec(diameters.ok_or(NotExplained::NoTwist)?);
        let root = adjustment.covariance_root(&DMatrix::from_rows(&against_first));
        let figure = |row: &RowDVector<f64>| {
            Figure::normal((row * &diameters)[0] + 0.0, (row * &root).norm())
        };
        let [first, last] = taper.span;
        let ends = slope(start + first).zip(slope(start + last));
        let (low, high) = cross_range(&adjustment).ok_or(NotExplained::NoTwist)?;
        Ok(Self {
            rate: figure(&taper.rate_of),
            barrel: taper.barrel_of.as_ref().map(figure),
            cross_slope: ends
                .and_then(|(first, last)| {
                    let row = last - first;
                    let root =
                        adjustment.covariance_root(&DMatrix::from_rows(std::slice::from_ref(&row)));
                    Some(Figure::normal(value(&row)? + 0.0, root.norm()))
                })
                .ok_or(NotExplained::NoTwist)?,
            diameters,
            root,
            start,
            beyond_readings: places.iter().any(|at| *at < low || *at > high),
        })
    }
}

/// The first and the last place at which the difference of the ways was read, m.
fn cross_range(adjustment: &Adjustment) -> Option<(f64, f64)> {
    let rows = &adjustment.observations().rows;
    let places: Vec<f64> = adjustment
        .used()
        .iter()
        .filter(|&&i| rows[i].side().is_none())
        .map(|&i| rows[i].at)
        .collect();
    let low = places.iter().copied().reduce(f64::min)?;
    let high = places.iter().copied().reduce(f64::max)?;
    (high > low).then_some((low, high))
}
