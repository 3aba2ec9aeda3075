//! Whole steps for every foot: the integer least-squares problem and its answer.

use std::cell::Cell;

use nalgebra::{DMatrix, DVector, RowDVector};

use super::footing::Footing;
use super::objective::Objective;
use super::trips::LARGEST_TRIP;
use crate::geometry::LeastSquares;
use crate::geometry::least_squares::triangle_of;
use crate::solver::{IntegerLeastSquares, Proof, Settings, Solution, solve};
use crate::survey::{Foot, Survey};

/// Price on moving at all, shares of the limits per metre of lift: a foot moved by a whole millimetre
/// weighs as much as a tenth of a limit. It holds the motions of the whole bed, which change nothing.
const PRICE: f64 = 0.1 / 1e-3;

/// Nobody turns a foot further than this in one round, m.
const FARTHEST: f64 = 20e-3;

/// A foot under covered ways goes no farther than this between two passes, m: no reading shows there what it did, only
/// the beam says so (common practice, no source).
const COVERED: f64 = 0.1e-3;

/// Where a bubble says when to stop, a screw is turned by whole degrees, turns.
const DEGREE: f64 = 1.0 / 360.0;

/// A bound that is a whole number of steps must not be lost to rounding.
const WHOLE: f64 = 1e-9;

/// Partial vectors that all searches for one card may look at: so many that only a search that would not end meets it.
const NODES_OF_A_CARD: u64 = 1_000_000;

/// A search may take this share of what the card has left, so that one that never ends leaves enough for the others.
const SHARE_OF_A_SEARCH: u64 = 8;

/// What is left to look at of the nodes of a card: the same card comes out however fast the machine is, and none hangs.
#[derive(Debug)]
pub(super) struct Budget(Cell<u64>);

impl Budget {
    /// For one card.
    pub fn of_a_card() -> Self {
        Self(Cell::new(NODES_OF_A_CARD))
    }

    fn settings(&self) -> Settings {
        Settings {
            node_limit: self.0.get() / SHARE_OF_A_SEARCH,
        }
    }

    fn spend(&self, nodes: u64) {
        self.0.set(self.0.get().saturating_sub(nodes));
    }
}

/// The plan as a least-squares problem in lifts, before steps are whole.
#[derive(Debug, Clone)]
pub(super) struct Lifts {
    /// Triangular rows in shares of the limits per metre of lift of each foot.
    matrix: DMatrix<f64>,
    target: DVector<f64>,
}

/// Steps of each foot, m, and how many of them it may go down and up.
#[derive(Debug, Clone)]
pub(super) struct Steps {
    /// What one step lifts, m, by foot.
    pub lift: Vec<f64>,
    /// Fewest and most steps, by foot.
    pub bounds: Vec<(i64, i64)>,
}

impl Steps {
    /// The smallest turns worth counting, or `turn` instead for feet that have coarser ones.
    pub fn counted(
        survey: &Survey,
        hanging: &[usize],
        farthest: Option<f64>,
        turn: Option<f64>,
    ) -> Self {
        let smallest =
            |foot: &Foot| turn.map_or(foot.smallest_turn, |turn| turn.min(foot.smallest_turn));
        Self::of(survey, hanging, farthest, smallest)
    }

    /// Whole degrees, or the smallest turns worth counting where those are finer: a bubble stops a hand where no count
    /// could.
    pub fn watched(survey: &Survey, hanging: &[usize], farthest: Option<f64>) -> Self {
        Self::of(survey, hanging, farthest, |foot| {
            foot.smallest_turn.min(DEGREE)
        })
    }

    /// Feet that hang under a resting bed are not lowered: they are seated first, and would only hang once more.
    fn of(
        survey: &Survey,
        hanging: &[usize],
        farthest: Option<f64>,
        turn: impl Fn(&Foot) -> f64,
    ) -> Self {
        let most = farthest.unwrap_or(FARTHEST).min(FARTHEST);
        let mut lift = Vec::new();
        let mut bounds = Vec::new();
        for foot in &survey.feet {
            let smallest = turn(foot);
            let step = smallest * foot.lift_per_turn;
            let most = if survey.bed.is_free(foot.at) {
                most
            } else {
                most.min(COVERED)
            };
            // A step that is more than a walk allows cannot be split.
            let farthest = if step > LARGEST_TRIP * (1.0 + WHOLE) {
                0.0
            } else {
                most / step
            };
            let lowest = foot
                .lowest_turns
                .map_or(-farthest, |turns| turns / smallest + -WHOLE);
            let highest = foot
                .highest_turns
                .map_or(farthest, |turns| turns / smallest + WHOLE);
            lift.push(step);
            #[allow(clippy::cast_possible_truncation)]
            bounds.push((
                lowest.max(-farthest).ceil().min(0.0) as i64,
                highest.min(farthest).floor().max(0.0) as i64,
            ));
        }
        if !survey.bed.held_down() {
            for &foot in hanging {
                bounds[foot].0 = 0;
            }
        }
        Self { lift, bounds }
    }

    /// Leaves these feet alone.
    #[must_use]
    pub fn without(mut self, feet: &[usize]) -> Self {
        for &foot in feet {
            self.bounds[foot] = (0, 0);
        }
        self
    }

    /// Takes the steps of one foot from others.
    pub fn take(&mut self, foot: usize, others: &Self) {
        self.lift[foot] = others.lift[foot];
        self.bounds[foot] = others.bounds[foot];
    }
}

impl Lifts {
    /// What is left after lifts, as rows, with every foot carrying; doubts about the answer, shares of the limits per
    /// metre of lift, and the price of moving are rows too.
    pub fn of(objective: &Objective, footing: &Footing, doubts: &DMatrix<f64>) -> Self {
        let influence = footing.all_carrying().influence;
        let feet = influence.ncols();
        let effect = objective.weighted(&objective.heights * &*influence);
        let left = (&objective.target - &objective.now).component_mul(&objective.weight);
        let mut rows = effect.insert_column(feet, 0.0);
        rows.set_column(feet, &left);
        let others = [doubts.clone(), DMatrix::identity(feet, feet) * PRICE];
        let others = others.map(|block| block.insert_column(feet, 0.0));
        let triangle = triangle_of([rows].into_iter().chain(others));
        Self {
            matrix: triangle.columns(0, feet).into_owned(),
            target: triangle.column(feet).into_owned(),
        }
    }

    /// The same with further rows, in shares of the limits per metre of lift, and what they should be.
    #[must_use]
    pub fn with(mut self, rows: impl IntoIterator<Item = (RowDVector<f64>, f64)>) -> Self {
        for (row, target) in rows {
            let last = self.matrix.nrows();
            self.matrix = self.matrix.insert_row(last, 0.0);
            self.matrix.set_row(last, &row);
            self.target = self.target.insert_row(last, target);
        }
        self
    }

    /// The best lifts if they need not be whole steps, m by foot.
    pub fn free(&self) -> DVector<f64> {
        let rows = LeastSquares::new(self.matrix.clone(), self.target.clone());
        rows.solve().unknowns
    }

    /// The best whole steps with the feet marked `still` left alone.
    pub fn solve(&self, steps: &Steps, still: &[bool], budget: &Budget) -> Solved {
        let mut matrix = self.matrix.clone();
        for (foot, lift) in steps.lift.iter().enumerate() {
            matrix.column_mut(foot).scale_mut(*lift);
        }
        let bound = |pick: fn(&(i64, i64)) -> i64| {
            steps
                .bounds
                .iter()
                .zip(still)
                .map(|(bounds, still)| if *still { 0 } else { pick(bounds) })
                .collect()
        };
        let problem = IntegerLeastSquares {
            matrix,
            target: self.target.clone(),
            lower: bound(|bounds| bounds.0),
            upper: bound(|bounds| bounds.1),
        };
        let solution = solve(&problem, &budget.settings()).unwrap_or(Solution {
            // The price of moving keeps every column apart from the others, so that only numbers beyond
            // any bed can be refused; then nothing is moved.
            z: vec![0; steps.lift.len()],
            squared_norm: self.target.norm_squared(),
            proof: Proof::Gap { lower_bound: 0.0 },
            nodes: 0,
        });
        budget.spend(solution.nodes);
        let lifts = DVector::from_iterator(
            steps.lift.len(),
            solution
                .z
                .iter()
                .zip(&steps.lift)
                .map(|(z, lift)| *z as f64 * lift),
        );
        Solved {
            left: solution.squared_norm,
            gap: match solution.proof {
                Proof::Optimal => None,
                Proof::Gap { lower_bound } => {
                    Some(1.0 - lower_bound.max(0.0) / solution.squared_norm.max(f64::MIN_POSITIVE))
                }
            },
            steps: solution.z,
            lifts,
        }
    }

    /// Leaves feet alone, the least useful first, while what is left grows by no more than `slack` in all:
    /// plans that the readings cannot tell apart come out as the one that touches the fewest feet.
    ///
    /// What is left without a foot can only grow as others are left alone too. So what was found before is a bound from below,
    /// and of the feet only those are looked at again whose bound is not above the least that was found.
    pub fn solve_with_few_feet(
        &self,
        steps: &Steps,
        still: &[bool],
        slack: f64,
        budget: &Budget,
    ) -> Solved {
        let mut chosen = self.solve(steps, still, budget);
        let most = chosen.left + slack;
        let mut still = still.to_vec();
        let mut at_least = vec![chosen.at_least(); still.len()];
        loop {
            let mut turned: Vec<usize> = (0..still.len())
                .filter(|&foot| !still[foot] && chosen.steps[foot] != 0)
                .collect();
            turned.sort_by(|&a, &b| at_least[a].total_cmp(&at_least[b]).then(a.cmp(&b)));
            let mut without: Option<(usize, Solved)> = None;
            for foot in turned {
                let least = without.as_ref().map_or(most, |(_, found)| found.left);
                if at_least[foot] > least {
                    break;
                }
                still[foot] = true;
                let solved = self.solve(steps, &still, budget);
                still[foot] = false;
                at_least[foot] = solved.at_least();
                let before = |(other, found): &(usize, Solved)| {
                    let order = solved.left.total_cmp(&found.left);
                    order.then(foot.cmp(other)).is_lt()
                };
                if without.as_ref().is_none_or(before) {
                    without = Some((foot, solved));
                }
            }
            match without {
                Some((foot, solved)) if solved.left <= most => {
                    chosen = solved;
                    still[foot] = true;
                }
                _ => return chosen,
            }
        }
    }
}

/// The best whole steps.
#[derive(Debug, Clone)]
pub(super) struct Solved {
    /// Steps by foot.
    pub steps: Vec<i64>,
    /// Lifts by foot, m.
    pub lifts: DVector<f64>,
    /// Sum of squares left, shares of the limits squared, price included.
    pub left: f64,
    /// `None` when proven best, else by what share the best could be better.
    pub gap: Option<f64>,
}

impl Solved {
    /// What the best whole steps leave at least.
    fn at_least(&self) -> f64 {
        self.left * (1.0 - self.gap.unwrap_or(0.0))
    }
}
