//! Invented problems of the kind the solver is for: feet in pairs along a beam on an elastic foundation.

use nalgebra::{DMatrix, DVector};
use quarterturn::solver::IntegerLeastSquares;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

/// What describes a family of problems.
#[derive(Debug, Clone, Copy)]
pub struct BeamLike {
    /// An even number of feet, in pairs one unit apart.
    pub feet: usize,
    /// How far a foot reaches along the beam in bending, in pitches of the feet; torsion reaches as far.
    pub reach: f64,
    /// Price on one step of a foot, as a share of a typical column's length.
    pub ridge: f64,
    pub travel: Travel,
}

/// How much travel the feet have left. They would want up to [`LARGEST_STEP`] steps either way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Travel {
    /// A hundred steps either way.
    Wide,
    /// Every fourth foot has nine values left, the others a hundred steps either way.
    ShortForSome,
    /// Every foot has nine values left.
    ShortForAll,
    /// Between 4 and 24 steps either way: some bounds hardly bind.
    Mixed,
}

/// Most steps a foot would want to make.
const LARGEST_STEP: f64 = 20.0;

/// Scatter of the shape that no foot can cure, in steps of a foot.
const WEAR: f64 = 0.5;

/// Places read along the beam for every pair of feet.
const PLACES_PER_PAIR: usize = 5;

impl BeamLike {
    /// The problem with this seed.
    pub fn problem(&self, seed: u64) -> IntegerLeastSquares {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let shape = without_rigid_motion(self.shape(), self.places());
        let wanted = DVector::from_fn(self.feet, |_, _| {
            random.random_range(-LARGEST_STEP..LARGEST_STEP)
        });
        let typical = (shape.norm_squared() / self.feet as f64).sqrt();
        let wear = DVector::from_fn(shape.nrows(), |_, _| {
            let scatter: f64 = StandardNormal.sample(&mut random);
            WEAR * scatter * typical / (shape.nrows() as f64).sqrt()
        });
        let rows = shape.nrows();
        let mut matrix = shape.resize_vertically(rows + self.feet, 0.0);
        let mut target = DVector::zeros(rows + self.feet);
        let wanted_shape = matrix.rows(0, rows) * &wanted + wear;
        target.rows_mut(0, rows).copy_from(&wanted_shape);
        for foot in 0..self.feet {
            matrix[(rows + foot, foot)] = self.ridge * typical;
        }
        let mut problem = IntegerLeastSquares::unbounded(matrix, target);
        for foot in 0..self.feet {
            let nine_values = |down: i64| (-down, 8 - down);
            let (lower, upper) = match self.travel {
                Travel::ShortForSome if foot % 4 == 1 => nine_values(random.random_range(0..=8)),
                Travel::Wide | Travel::ShortForSome => (-100, 100),
                Travel::ShortForAll => nine_values(random.random_range(0..=8)),
                Travel::Mixed => {
                    let either_way = random.random_range(4..=24);
                    (-either_way, either_way)
                }
            };
            (problem.lower[foot], problem.upper[foot]) = (lower, upper);
        }
        problem
    }

    fn places(&self) -> usize {
        PLACES_PER_PAIR * self.feet / 2
    }

    /// Front heights, then rear heights, at even places; columns are front and rear foot of every pair.
    ///
    /// A foot lifts the mean of both ways by half an infinite beam's deflection exp(−s)(cos s + sin s) and
    /// turns the beam by exp(−s) (Hetényi, Beams on Elastic Foundation, 1946; from memory).
    fn shape(&self) -> DMatrix<f64> {
        let pairs = self.feet / 2;
        let places = self.places();
        let mut shape = DMatrix::zeros(2 * places, self.feet);
        for place in 0..places {
            let at = (place as f64 + 0.5) / PLACES_PER_PAIR as f64 - 0.5;
            for pair in 0..pairs {
                let s = (at - pair as f64).abs() / self.reach;
                let bend = 0.5 * (-s).exp() * (s.cos() + s.sin());
                let turn = 0.5 * (-s).exp();
                shape[(place, 2 * pair)] = bend + turn;
                shape[(place, 2 * pair + 1)] = bend - turn;
                shape[(places + place, 2 * pair)] = bend - turn;
                shape[(places + place, 2 * pair + 1)] = bend + turn;
            }
        }
        shape
    }
}

/// Takes piston, pitch and roll out of every column.
fn without_rigid_motion(shape: DMatrix<f64>, places: usize) -> DMatrix<f64> {
    let rigid = DMatrix::from_fn(2 * places, 3, |row, motion| match motion {
        0 => 1.0,
        1 => (row % places) as f64 - 0.5 * (places as f64 - 1.0),
        _ if row < places => 1.0,
        _ => -1.0,
    });
    let directions = rigid.qr().q();
    let moved = &directions * directions.tr_mul(&shape);
    shape - moved
}
