//! What a good bed is, as departures to be made small, each in shares of its limit.

use nalgebra::{DMatrix, DVector, RowDVector};

use super::departures::{Kind, departures};
use crate::response::History;
use crate::survey::{Level, Side, Survey};

/// Departures from the aim: `heights · h − target` in shares of the limits, `h` the heights at the
/// history's places, front first.
#[derive(Debug, Clone)]
pub struct Objective {
    /// One row a departure, unweighted: m/m for twist and lean, m for a way.
    pub heights: DMatrix<f64>,
    /// What each departure should be.
    pub target: DVector<f64>,
    /// The departures now.
    pub now: DVector<f64>,
    /// `root · rootᵀ` is the covariance of the departures now.
    pub root: DMatrix<f64>,
    /// Weight of each row: one over the share that counts as one, and over the root of how many there are.
    pub weight: DVector<f64>,
    /// What each row is about.
    pub kind: Vec<Kind>,
    /// Where, m from the headstock end.
    pub at: Vec<f64>,
    /// Places at which the level was read across, m.
    pub cross_places: Vec<f64>,
    /// Places at which the front and the rear way were read, m.
    pub way_places: [Vec<f64>; 2],
    /// Ends of the stretch along which the front and the rear way are judged, m.
    pub stretches: [Option<[f64; 2]>; 2],
}

impl Objective {
    /// All departures that the history tells anything about.
    pub fn of(survey: &Survey, history: &History, level: &Level) -> Self {
        Self::on_the_scale(survey, history, level, &[])
    }

    /// The same where lifts that were tried (m by foot) show that it takes something to stay on the level's scale.
    pub fn on_the_scale(
        survey: &Survey,
        history: &History,
        level: &Level,
        tried: &[DVector<f64>],
    ) -> Self {
        let rows = departures(survey, history, level, tried);
        let surface = surface(history);
        let functions: Vec<RowDVector<f64>> = rows
            .iter()
            .map(|row| {
                row.function
                    .clone()
                    .unwrap_or_else(|| &row.heights * &surface)
            })
            .collect();
        let told = |i: usize| {
            let function = functions[i].transpose();
            history.system().determines(function.as_view())
        };
        let group = |kind: Kind| matches!(kind, Kind::Twist | Kind::OffLine(_));
        let seen: Vec<bool> = (0..rows.len()).map(told).collect();
        // Of what only readings off the scale tell it is known what it is at least.
        let at_least = |i: usize| {
            let alike = |k: &usize| rows[*k].kind == rows[i].kind;
            group(rows[i].kind) && !(0..rows.len()).filter(alike).any(|k| seen[k])
        };
        let at_least: Vec<bool> = (0..rows.len()).map(at_least).collect();
        let kinds: Vec<Kind> = (0..rows.len())
            .map(|i| {
                if at_least[i] {
                    Kind::Unseen
                } else {
                    rows[i].kind
                }
            })
            .collect();
        // Back onto the scale a bed is brought by what it is out by at least.
        let mut known: Vec<usize> = (0..rows.len())
            .filter(|&i| matches!(kinds[i], Kind::Scale | Kind::Unseen) || seen[i])
            .collect();
        // The middle of an even twist is told by nothing at all, and alone it tells of no twist.
        if known.iter().filter(|&&i| kinds[i] == Kind::Twist).count() < 2 {
            known.retain(|&i| kinds[i] != Kind::Twist);
        }
        let count = |kind: Kind| match kind {
            // One place among all, however few of them were not seen.
            Kind::Unseen => history.places().len() as f64,
            _ => known.iter().filter(|&&i| kinds[i] == kind).count() as f64,
        };
        let weight = DVector::from_iterator(
            known.len(),
            known
                .iter()
                .map(|&i| (rows[i].share * count(kinds[i]).sqrt()).recip()),
        );
        let columns = surface.ncols();
        let chosen = DMatrix::from_fn(known.len(), columns, |k, j| functions[known[k]][j]);
        let width = surface.nrows();
        let mut root = history.system().covariance_root(&chosen);
        for (k, &i) in known.iter().enumerate() {
            if !seen[i] {
                root.row_mut(k).fill(0.0);
            }
        }
        let mut now = &chosen * &history.system().unknowns;
        for (k, &i) in known.iter().enumerate() {
            if rows[i].kind == Kind::Unseen {
                now[k] = 0.0;
            }
        }
        if let Some(bow) = history.bow(&chosen) {
            let columns = root.ncols();
            root = root.insert_column(columns, 0.0);
            root.set_column(columns, &bow);
        }
        Self {
            heights: DMatrix::from_fn(known.len(), width, |k, j| rows[known[k]].heights[j]),
            target: DVector::from_iterator(known.len(), known.iter().map(|&i| rows[i].target)),
            now,
            root,
            weight,
            kind: known.iter().map(|&i| kinds[i]).collect(),
            at: known.iter().map(|&i| rows[i].at).collect(),
            cross_places: history.cross_places().to_vec(),
            way_places: [Side::Front, Side::Rear].map(|side| history.way_places(side)),
            stretches: [Side::Front, Side::Rear].map(|side| history.stretch(side)),
        }
    }

    /// Whether there is nothing to steer by.
    pub fn is_empty(&self) -> bool {
        let lean = |kind: &Kind| matches!(kind, Kind::Lean | Kind::Scale | Kind::Unseen);
        self.kind.iter().all(lean)
    }

    /// Departures when the heights at the history's places have changed by this, m.
    pub fn after(&self, moved: &DVector<f64>) -> DVector<f64> {
        &self.now + &self.heights * moved
    }

    /// The same with a target only this share of the way from now.
    #[must_use]
    pub fn part_way(&self, share: f64) -> Self {
        Self {
            target: &self.target * share + &self.now * (1.0 - share),
            ..self.clone()
        }
    }

    /// Rows of one kind.
    pub fn rows(&self, wanted: Kind) -> Vec<usize> {
        (0..self.kind.len())
            .filter(|&i| self.kind[i] == wanted)
            .collect()
    }

    /// Rows in shares of the limits.
    pub fn weighted(&self, mut rows: DMatrix<f64>) -> DMatrix<f64> {
        for (i, weight) in self.weight.iter().enumerate() {
            rows.row_mut(i).scale_mut(*weight);
        }
        rows
    }
}

/// Heights at the history's places as functions of its unknowns, front first.
pub(super) fn surface(history: &History) -> DMatrix<f64> {
    let places = history.places().len();
    let rows: Vec<RowDVector<f64>> = [Side::Front, Side::Rear]
        .into_iter()
        .flat_map(|side| (0..places).map(move |place| (side, place)))
        .map(|(side, place)| history.height(side, place))
        .collect();
    DMatrix::from_rows(&rows)
}
