//! The figures of the bed now and after lifts, with their uncertainty.
//!
//! Twist, crown and straightness are taken over all places between the outer ones that were read on either way, so a
//! bed that is rough where nothing was read shows in them. Twist over a metre, straightness of a part and whether a way is
//! convex are taken over the places that were read, as `shape` takes them: a part with more places than were
//! read would be a smoother one, not a rougher.

use std::cell::OnceCell;

use nalgebra::{DMatrix, DVector};

use super::card::Prediction;
use super::departures::Kind;
use super::objective::Objective;
use crate::geometry::extreme::{Noise, Range, Statistic, largest};
use crate::geometry::figure::COVERAGE_95;
use crate::geometry::layout::SAME_PLACE;
use crate::geometry::local::twists_most;
use crate::geometry::particulars::crowned;
use crate::geometry::{Convexity, Figure, LocalStraightness, LocalWay, Particulars};
use crate::survey::{Side, Survey};

/// How a statistic of departures becomes a figure.
#[derive(Clone, Copy, PartialEq)]
enum Sight {
    /// The departures were seen.
    Seen,
    /// They are meant to be.
    Meant,
}

/// Figures of departures that were seen, the twist about the one that was chosen; their covariance is
/// `root · rootᵀ`.
pub(super) fn seen(
    objective: &Objective,
    departures: &DVector<f64>,
    root: &DMatrix<f64>,
    survey: &Survey,
) -> Prediction {
    figures(objective, departures, root, survey, Sight::Seen)
}

/// Figures of departures that are meant to be; what misses them has the covariance `root · rootᵀ`.
pub(super) fn meant(
    objective: &Objective,
    departures: &DVector<f64>,
    root: &DMatrix<f64>,
    survey: &Survey,
) -> Prediction {
    figures(objective, departures, root, survey, Sight::Meant)
}

impl Sight {
    fn figure(
        self,
        profile: &Profile,
        values: &DVector<f64>,
        statistic: &impl Statistic,
    ) -> Figure {
        match self {
            Self::Seen => profile.noise().figure(values, statistic),
            Self::Meant => profile.noise().forecast(values, statistic),
        }
    }

    fn crown(self, way: &Profile) -> Figure {
        let figure = match self {
            Self::Seen => way.noise().largest_departure(&way.values),
            Self::Meant => way.noise().forecast(&way.values, &largest),
        };
        nowhere_beyond(figure, &way.root, &way.values)
    }

    fn opposite(self, way: &Profile) -> Figure {
        match self {
            Self::Seen => way.noise().largest_opposite(&way.values),
            Self::Meant => way.noise().forecast_opposite(&way.values),
        }
    }
}

/// A largest departure that may be of either sign as long as all places together are looked at, but no place of which can be
/// so far on that side: if it were, the interval of its own place would miss it no more often than any other.
fn nowhere_beyond(figure: Figure, root: &DMatrix<f64>, values: &DVector<f64>) -> Figure {
    let spread = root.row_iter().map(|row| COVERAGE_95 * row.norm());
    let ends = values.iter().zip(spread);
    let (low, high) = ends.fold((0.0_f64, 0.0_f64), |(low, high), (value, u95)| {
        (low.min(value - u95), high.max(value + u95))
    });
    Figure {
        low: figure.low.max(low).min(figure.value),
        high: figure.high.min(high).max(figure.value),
        ..figure
    }
}

/// Departures of one kind in order along the bed.
struct Profile {
    at: Vec<f64>,
    values: DVector<f64>,
    root: DMatrix<f64>,
    /// What noise may add to them, drawn when it is first asked for.
    noise: OnceCell<Noise>,
}

impl Profile {
    fn new(at: Vec<f64>, values: DVector<f64>, root: DMatrix<f64>) -> Self {
        let noise = OnceCell::new();
        Self {
            at,
            values,
            root,
            noise,
        }
    }

    fn noise(&self) -> &Noise {
        self.noise.get_or_init(|| Noise::new(&self.root))
    }

    /// `None` when there are none.
    fn of(
        objective: &Objective,
        departures: &DVector<f64>,
        root: &DMatrix<f64>,
        kind: Kind,
    ) -> Option<Self> {
        let rows = objective.rows(kind);
        (!rows.is_empty()).then(|| {
            Self::new(
                rows.iter().map(|&i| objective.at[i]).collect(),
                DVector::from_iterator(rows.len(), rows.iter().map(|&i| departures[i])),
                root.select_rows(&rows),
            )
        })
    }

    /// The same with the two ends of a way, which are on their line by definition.
    fn with_ends(self, stretch: Option<[f64; 2]>) -> Self {
        let Some([first, last]) = stretch else {
            return self;
        };
        let Self {
            mut at,
            values,
            root,
            ..
        } = self;
        at.insert(0, first);
        at.push(last);
        let rows = values.len();
        Self::new(
            at,
            values.insert_row(0, 0.0).insert_row(rows + 1, 0.0),
            root.insert_row(0, 0.0).insert_row(rows + 1, 0.0),
        )
    }

    /// Only what lies at these places.
    fn at_places(&self, places: &[f64]) -> Self {
        let rows: Vec<usize> = (0..self.at.len())
            .filter(|&i| {
                let mut places = places.iter();
                places.any(|place| (place - self.at[i]).abs() < SAME_PLACE)
            })
            .collect();
        Self::new(
            rows.iter().map(|&i| self.at[i]).collect(),
            DVector::from_iterator(rows.len(), rows.iter().map(|&i| self.values[i])),
            self.root.select_rows(&rows),
        )
    }
}

fn figures(
    objective: &Objective,
    departures: &DVector<f64>,
    root: &DMatrix<f64>,
    survey: &Survey,
    sight: Sight,
) -> Prediction {
    let ways = [Side::Front, Side::Rear]
        .map(|side| Profile::of(objective, departures, root, Kind::OffLine(side)));
    let crown = |way: &Option<Profile>| way.as_ref().map(|way| sight.crown(way));
    let mut prediction = Prediction {
        crown_front: crown(&ways[0]),
        crown_rear: crown(&ways[1]),
        opposite: ways
            .each_ref()
            .map(|way| way.as_ref().map(|way| sight.opposite(way))),
        ..beside_crowns(objective, departures, root, survey, sight)
    };
    prediction.within_limits = prediction.keeps(&survey.limits);
    prediction
}

/// All figures but the crowns.
fn beside_crowns(
    objective: &Objective,
    departures: &DVector<f64>,
    root: &DMatrix<f64>,
    survey: &Survey,
    sight: Sight,
) -> Prediction {
    let limits = &survey.limits;
    let profile = |kind: Kind| Profile::of(objective, departures, root, kind);
    let twist = profile(Kind::Twist);
    let off_line = |side: Side| profile(Kind::OffLine(side));
    let chosen = objective.rows(Kind::Twist);
    let chosen = DVector::from_iterator(chosen.len(), chosen.iter().map(|&i| objective.target[i]));
    let mut prediction = Prediction {
        twist: twist
            .as_ref()
            .map(|twist| sight.figure(twist, &(&twist.values - &chosen), &Range)),
        particulars: Particulars {
            twist_per_metre: limits
                .twist_per_metre
                .and(twist.as_ref())
                .map(|twist| twist.at_places(&objective.cross_places))
                .filter(|twist| twist.at.len() > 1)
                .map(|twist| sight.figure(&twist, &twist.values, &twists_most(&twist.at))),
            local: limits
                .local
                .iter()
                .map(|limit| LocalStraightness {
                    limit: *limit,
                    ways: Vec::new(),
                })
                .collect(),
            ..Particulars::default()
        },
        ..Prediction::default()
    };
    let particulars = &mut prediction.particulars;
    let ways = [Side::Front, Side::Rear].into_iter();
    for ((side, places), stretch) in ways.zip(&objective.way_places).zip(objective.stretches) {
        let Some(way) = off_line(side).map(|way| way.with_ends(stretch)) else {
            continue;
        };
        if limits.straightness.is_some() {
            let crown = survey.aim.crown.unwrap_or(0.0);
            let values = &way.values - crowned(&way.at, crown);
            let figure = sight.figure(&way, &values, &Range);
            particulars.straightness_from_chosen.push((side, figure));
        }
        let read = way.at_places(places);
        for local in &mut particulars.local {
            let told = LocalWay::told(
                side,
                &read.at,
                &read.values,
                local.limit.over,
                |statistic| sight.figure(&read, &read.values, &statistic),
            );
            local.ways.extend(told);
        }
        if limits.convex_only {
            let told = Convexity::told(side, &read.at, &read.values, &read.root);
            particulars.convex.extend(told);
        }
    }
    prediction
}

/// Whether these departures keep every limit that is set, their uncertainty apart; `None` when a limit has
/// no value or none is set.
pub(super) fn keeps(
    objective: &Objective,
    departures: &DVector<f64>,
    survey: &Survey,
) -> Option<bool> {
    let exact = DMatrix::zeros(departures.len(), 1);
    seen(objective, departures, &exact, survey).within_limits
}

/// All figures but the crowns of departures that are meant to be; what misses them has the covariance `root · rootᵀ`.
pub(super) fn meant_beside_crowns(
    objective: &Objective,
    departures: &DVector<f64>,
    root: &DMatrix<f64>,
    survey: &Survey,
) -> Prediction {
    beside_crowns(objective, departures, root, survey, Sight::Meant)
}
