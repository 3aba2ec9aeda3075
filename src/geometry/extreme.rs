//! Uncertainty of extreme values: twist is a range and crown a largest departure, and neither is normal.
//!
//! Noise can only widen a range. On a bed without any twist, read with deviation u at twelve places, the
//! cross slopes still range over about 3.3 u. So the interval is found by asking which beds could have
//! given the range that was seen (the confidence interval as a set of tests not rejected: Neyman 1937;
//! bootstrap test inversion: Efron & Tibshirani, *An Introduction to the Bootstrap*, 1993, chapter 12; from
//! memory). The beds tried have the form that was measured, stretched by a factor s from nothing upwards;
//! the noise drawn on top has the covariance of the adjustment.
//!
//! * The interval holds every s for which the seen value lies in the middle 95 % of what would be seen.
//! * The form that was measured is itself noisy: one place stands out by luck, and noise seems to have less choice than it had.
//!   For the lower end every place that may be an extreme is one (the choice of inequalities that may bind: Andrews & Soares,
//!   *Econometrica* 78, 2010; from memory). The upper end is no lower than where the extremes that were seen end by themselves:
//!   a convex statistic of noisy values is at least that of the truth plus its slope there times the noise.
//! * A bed that shows less than noise alone shows half the time is judged as though it showed that much: by luck
//!   alone nobody knows a bed better than the level can tell (a power-constrained limit: Cowan, Cranmer, Gross & Vitells
//!   2011; from memory).
//! * u95 is what the seen value stays within of the truth, 95 times in 100, on the bed for which the seen
//!   value would be the median.
//!
//! The draws are the same in every run.

use nalgebra::{DMatrix, DVector, RowDVector};

use super::draws::standard_normal;
use super::figure::Figure;
use super::reference_line::range;

/// Number of drawn beds; other draws move the ends of an interval by about a fiftieth of its width.
const DRAWS: usize = 2000;
/// Any fixed number does.
const SEED: u64 = 0x7175_6172_7465_7200;
/// Halvings of the interval in which a stretch is sought: down to rounding, for a coarser answer would jump
/// when the readings change by nothing but rounding.
const HALVINGS: usize = 50;
/// A stretch beyond this is not sought; the figure is then nothing but noise.
const LARGEST_STRETCH: f64 = 1e6;
/// Newton steps on one draw; each leaves a straight piece of the statistic behind.
const NEWTON_STEPS: usize = 30;
/// Of more places than this the eigenvectors take longer than all else. Their places always come in order along the bed, so that the
/// triangular root does not depend on the order of the readings either.
const MOST_SYMMETRIC: usize = 120;
/// What is left of a variance counts as nothing below this share of it.
const NOTHING_LEFT: f64 = 1e-13;
/// Values this share apart are the same.
const SAME_VALUE: f64 = 1e-9;
/// A share of the noise that is nothing beside it, and much beside [`SMALL_STRETCH`].
const ASIDE: f64 = 1e-3;
/// Step over which a slope is taken: small beside the straight pieces, large beside rounding.
const SMALL_STRETCH: f64 = 1e-7;

/// Share of a normal distribution below this many deviations: 95 %. The one-sided end of a figure that is surely something.
const ONE_SIDED_95: f64 = 1.644_853_626_951_472;

/// Noise with the covariance `root · rootᵀ`, one draw a column; none when there is no noise.
pub struct Noise {
    root: DMatrix<f64>,
    draws: DMatrix<f64>,
}

impl Noise {
    /// Draws noise for values whose covariance is `root · rootᵀ`.
    pub fn new(root: &DMatrix<f64>) -> Self {
        Self::seeded(root, SEED)
    }

    fn seeded(root: &DMatrix<f64>, seed: u64) -> Self {
        let places = root.nrows();
        if root.amax() == 0.0 {
            return Self {
                root: root.clone(),
                draws: DMatrix::zeros(places, 0),
            };
        }
        let half = DRAWS / 2;
        let normal = standard_normal(places, half, seed);
        let drawn = if places > MOST_SYMMETRIC {
            lower(root)
        } else {
            symmetric(root)
        } * normal;
        let mut draws = DMatrix::zeros(places, 2 * half);
        // Every draw comes with its mirror image, so that means are exact.
        draws.columns_mut(0, half).copy_from(&drawn);
        draws.columns_mut(half, half).copy_from(&-drawn);
        Self {
            root: root.clone(),
            draws,
        }
    }

    /// A figure that is a statistic of `values`, such as their range: convex, non-negative, and twice as
    /// large for values twice as large.
    pub fn figure(&self, values: &DVector<f64>, statistic: &impl Statistic) -> Figure {
        let seen = statistic.of(values.as_slice());
        let rivals = self.tied(values);
        let Some(([low, high], stretch)) = self.stretched(values, &rivals, statistic) else {
            return exact(seen);
        };
        let u95 = self.within(values, stretch, statistic);
        Figure {
            value: seen,
            u95,
            low,
            // On a bed that shows nothing at all there is no form to stretch.
            high: if seen > 0.0 { high } else { u95 },
        }
    }

    /// The largest departure either way with its sign. While its size could be nothing its sign is open.
    pub fn largest_departure(&self, values: &DVector<f64>) -> Figure {
        // Of one place that departs there are no rivals but those on the other side, and they are asked for below.
        let Some((size, stretch)) = self.stretched(values, values, &Size) else {
            return exact(largest(values.as_slice()));
        };
        let signed = largest(values.as_slice());
        let (mut low, mut high) = if size[0] > 0.0 {
            let ends = size.map(|end| end * signed.signum());
            (ends[0].min(ends[1]), ends[0].max(ends[1]))
        } else {
            (-size[1], size[1])
        };
        // Where two departures of either sign rival each other, the sign is open however large they are.
        let [least, most] = self.middle(values, stretch, &largest);
        if least * most < 0.0 {
            low = low.min(least);
            high = high.max(most);
        }
        // Of a departure that may as well be on the other side no less is unknown than that.
        let u95 = self
            .within(values, stretch, &largest)
            .max(f64::midpoint(high, -low));
        Figure {
            value: signed,
            u95,
            low: if signed == 0.0 { -u95 } else { low },
            high: if signed == 0.0 { u95 } else { high },
        }
    }

    /// The largest departure on the side that the [largest](Self::largest_departure) is not on, with its sign: a way may crown here and
    /// sag there.
    pub fn largest_opposite(&self, values: &DVector<f64>) -> Figure {
        let side = -largest(values.as_slice()).signum();
        let figure = self.figure(values, &|bed: &[f64]| opposite(bed, side));
        on_side(figure, side)
    }

    /// The same of a bed that is meant to become `values`.
    pub fn forecast_opposite(&self, values: &DVector<f64>) -> Figure {
        let side = -largest(values.as_slice()).signum();
        on_side(
            self.forecast(values, &|bed: &[f64]| opposite(bed, side)),
            side,
        )
    }

    /// The figure of a bed that is meant to become `values` and will miss them by this noise: nothing has been
    /// seen yet, so the interval is simply where the statistic will fall. Noise alone makes a range larger than it is meant to
    /// be; what is meant is in the interval nevertheless.
    pub fn forecast(&self, values: &DVector<f64>, statistic: &impl Statistic) -> Figure {
        let meant = statistic.of(values.as_slice());
        if self.draws.is_empty() {
            return exact(meant);
        }
        let [low, high] = self.middle(values, 1.0, statistic);
        Figure {
            value: meant,
            u95: self.within(values, 1.0, statistic),
            low: low.min(meant),
            high: high.max(meant),
        }
    }

    /// The interval of the figure, and the stretch of the bed for which the seen value would be the
    /// median; nothing where there is no noise. The lower end is that of a bed of the form `rivals`.
    fn stretched(
        &self,
        values: &DVector<f64>,
        rivals: &DVector<f64>,
        statistic: &impl Statistic,
    ) -> Option<([f64; 2], f64)> {
        if self.draws.is_empty() {
            return None;
        }
        let seen = statistic.of(values.as_slice());
        if seen <= 0.0 {
            return Some(([0.0, 0.0], 0.0));
        }
        let usual = self.median(statistic);
        // A form that shows nothing cannot be stretched to what was seen.
        let rivals = match statistic.of(rivals.as_slice()) {
            shown if shown > 0.0 => rivals * (seen / shown),
            _ => values.clone(),
        };
        let low = self.stretches(&rivals, seen, statistic).shown(0.975) * seen;
        let own = self.stretches(values, seen, statistic);
        let mut high = own.shown(0.025) * seen;
        if seen < usual {
            let lucky = self.stretches(&(values * (usual / seen)), usual, statistic);
            high = lucky.shown(0.025) * usual;
        } else if low > 0.0 {
            // Beside the values a little, where no two pieces of the statistic meet.
            let beside = values + self.draws.column(0) * ASIDE;
            let slope = slope_at(&beside, statistic);
            high = high.max(seen + ONE_SIDED_95 * (slope * &self.root).norm());
        }
        Some(([low, high], own.shown(0.5)))
    }

    /// The form in which every place is at an end of the range that noise keeps from being told from it.
    fn tied(&self, values: &DVector<f64>) -> DVector<f64> {
        let told = (values.len() as f64).ln().sqrt();
        let ends = [values.imax(), values.imin()];
        DVector::from_fn(values.len(), |place, _| {
            let far = |end: usize| (values[place] - values[end]).abs();
            let end = if far(ends[0]) <= far(ends[1]) {
                ends[0]
            } else {
                ends[1]
            };
            let deviation = (self.root.row(place) - self.root.row(end)).norm();
            if far(end) <= told * deviation {
                values[end]
            } else {
                values[place]
            }
        })
    }

    /// What the statistic shows half the time of a bed that is nothing.
    fn median(&self, statistic: &impl Statistic) -> f64 {
        let draws = self.draws.column_iter();
        let mut shown: Vec<f64> = draws.map(|noise| statistic.of(noise.as_slice())).collect();
        let middle = shown.len() / 2;
        *shown.select_nth_unstable_by(middle, f64::total_cmp).1
    }

    /// The stretches of a bed of this form that would show no more than was seen, draw by draw.
    fn stretches(&self, values: &DVector<f64>, seen: f64, statistic: &impl Statistic) -> Stretches {
        let mut bed = vec![0.0; values.len()];
        let shown = self.draws.column_iter().filter_map(|noise| {
            let seen = Seen {
                shown: seen,
                form: values.as_slice(),
                noise: noise.as_slice(),
            };
            stretches_up_to(&seen, statistic, &mut bed)
        });
        let (mut from, mut to): (Vec<f64>, Vec<f64>) = shown.unzip();
        from.sort_unstable_by(f64::total_cmp);
        to.sort_unstable_by(f64::total_cmp);
        Stretches {
            from,
            to,
            draws: self.draws.ncols(),
        }
    }

    /// Where the statistic of the bed `stretch · values` falls 95 times in 100.
    fn middle(&self, values: &DVector<f64>, stretch: f64, statistic: &impl Statistic) -> [f64; 2] {
        let mut fallen = self.shown(values, stretch, statistic);
        let last = fallen.len() - 1;
        let mut at = |place: usize| *fallen.select_nth_unstable_by(place, f64::total_cmp).1;
        [at(last * 25 / 1000), at(last * 975 / 1000)]
    }

    /// What the statistic stays within of the truth 95 times in 100 on the bed `stretch · values`.
    fn within(&self, values: &DVector<f64>, stretch: f64, statistic: &impl Statistic) -> f64 {
        let truth = statistic.of((values * stretch).as_slice());
        let mut misses = self.shown(values, stretch, statistic);
        for miss in &mut misses {
            *miss = (*miss - truth).abs();
        }
        let place = misses.len() * 95 / 100;
        *misses.select_nth_unstable_by(place, f64::total_cmp).1
    }

    /// The statistic of the bed `stretch · values`, draw by draw.
    fn shown(&self, values: &DVector<f64>, stretch: f64, statistic: &impl Statistic) -> Vec<f64> {
        let mut bed = vec![0.0; values.len()];
        let draws = self.draws.column_iter();
        draws
            .map(|noise| {
                stretch_to(&mut bed, values.as_slice(), noise.as_slice(), stretch);
                statistic.of(&bed)
            })
            .collect()
    }
}

/// What a figure is of its values: convex, non-negative, twice as large for values twice as large, and made of straight pieces.
pub trait Statistic {
    /// The figure.
    fn of(&self, values: &[f64]) -> f64;

    /// How much more than was seen a stretched form shows, and how fast that grows with the stretch; `None` where it is no more. `bed`
    /// is room to work in.
    fn excess(&self, seen: &Seen, stretch: f64, bed: &mut [f64]) -> Option<(f64, f64)> {
        stretch_to(bed, seen.form, seen.noise, stretch);
        let here = self.of(bed);
        let excess = seen.beyond(here)?;
        let ahead = SMALL_STRETCH * (1.0 + stretch);
        stretch_to(bed, seen.form, seen.noise, stretch + ahead);
        Some((excess, (self.of(bed) - here) / ahead))
    }
}

impl<F: Fn(&[f64]) -> f64> Statistic for F {
    fn of(&self, values: &[f64]) -> f64 {
        self(values)
    }
}

/// Largest minus smallest.
#[derive(Debug, Clone, Copy)]
pub struct Range;

impl Statistic for Range {
    fn of(&self, values: &[f64]) -> f64 {
        range(values)
    }

    fn excess(&self, seen: &Seen, stretch: f64, _: &mut [f64]) -> Option<(f64, f64)> {
        let [mut low, mut high] = [(f64::INFINITY, 0.0), (f64::NEG_INFINITY, 0.0)];
        for (form, noise) in seen.form.iter().zip(seen.noise) {
            let shown = stretch * form + noise;
            if shown < low.0 {
                low = (shown, *form);
            }
            if shown > high.0 {
                high = (shown, *form);
            }
        }
        Some((seen.beyond(high.0 - low.0)?, high.1 - low.1))
    }
}

/// The largest departure, whatever its side.
struct Size;

impl Statistic for Size {
    fn of(&self, values: &[f64]) -> f64 {
        largest(values).abs()
    }

    fn excess(&self, seen: &Seen, stretch: f64, _: &mut [f64]) -> Option<(f64, f64)> {
        let (mut far, mut slope) = (0.0, 0.0);
        for (form, noise) in seen.form.iter().zip(seen.noise) {
            let shown = stretch * form + noise;
            if shown.abs() > far {
                (far, slope) = (shown.abs(), form * shown.signum());
            }
        }
        Some((seen.beyond(far)?, slope))
    }
}

/// What was seen of a form under some noise.
pub struct Seen<'n> {
    shown: f64,
    form: &'n [f64],
    noise: &'n [f64],
}

impl Seen<'_> {
    /// How much more this is; `None` where nothing but rounding is left of it.
    fn beyond(&self, shown: f64) -> Option<f64> {
        (shown - self.shown > SAME_VALUE * self.shown).then_some(shown - self.shown)
    }
}

fn stretch_to(bed: &mut [f64], form: &[f64], noise: &[f64], stretch: f64) {
    for ((place, noise), value) in bed.iter_mut().zip(noise).zip(form) {
        *place = stretch * value + noise;
    }
}

/// The symmetric root of `root · rootᵀ`. A covariance has many roots and only one that is symmetric: the
/// draws then depend on the covariance alone, and not on the order in which the readings were written down.
fn symmetric(root: &DMatrix<f64>) -> DMatrix<f64> {
    // Lengths near 1, so that no product is too small to be told from zero.
    let unit = root.amax();
    if unit == 0.0 {
        return DMatrix::zeros(root.nrows(), root.nrows());
    }
    let covariance = root * root.transpose() / (unit * unit);
    let parts = covariance.symmetric_eigen();
    let mut scaled = parts.eigenvectors.clone();
    for (mut direction, square) in scaled.column_iter_mut().zip(&parts.eigenvalues) {
        // Rounding leaves some that are nothing a little below it.
        direction *= square.max(0.0).sqrt() * unit;
    }
    scaled * parts.eigenvectors.transpose()
}

/// The lower triangular root of `root · rootᵀ`; what the places before tell of a place altogether adds no column.
fn lower(root: &DMatrix<f64>) -> DMatrix<f64> {
    let mut left = root * root.transpose();
    let places = left.nrows();
    for k in 0..places {
        let variance = root.row(k).norm_squared();
        let pivot = left[(k, k)];
        if pivot <= NOTHING_LEFT * variance {
            left.column_mut(k).fill(0.0);
            continue;
        }
        let (before, mut after) = left.columns_range_pair_mut(0..=k, k + 1..);
        let mut column = before.column(k).into_owned();
        column.rows_mut(0, k).fill(0.0);
        column /= pivot.sqrt();
        for (j, mut trailing) in after.column_iter_mut().enumerate() {
            let place = k + 1 + j;
            let share = -column[place];
            trailing.rows_mut(place, places - place).axpy(
                share,
                &column.rows(place, places - place),
                1.0,
            );
        }
        left.set_column(k, &column);
    }
    left
}

fn exact(value: f64) -> Figure {
    Figure {
        value,
        u95: 0.0,
        low: value,
        high: value,
    }
}

/// The interval of stretches s from nothing upwards for which `s · form + noise` shows no more than
/// was seen; `None` where there is none. Newton's method from outside the interval is exact after a few steps
/// on a statistic that is made of straight pieces and convex.
fn stretches_up_to(seen: &Seen, statistic: &impl Statistic, bed: &mut [f64]) -> Option<(f64, f64)> {
    let mut from = 0.0;
    for _ in 0..NEWTON_STEPS {
        let Some((excess, slope)) = statistic.excess(seen, from, bed) else {
            break;
        };
        if slope >= 0.0 {
            return None;
        }
        from -= excess / slope;
    }
    // The triangle inequality: a form stretched this far shows more than was seen, whatever the noise.
    let mut to = from.max(1.0 + statistic.of(seen.noise) / seen.shown);
    for _ in 0..NEWTON_STEPS {
        let Some((excess, slope)) = statistic.excess(seen, to, bed) else {
            break;
        };
        if slope <= 0.0 {
            return None;
        }
        to -= excess / slope;
    }
    Some((from, to.max(from)))
}

/// For every draw, the stretches of a form that would show no more than was seen are one interval.
struct Stretches {
    from: Vec<f64>,
    to: Vec<f64>,
    draws: usize,
}

impl Stretches {
    /// The stretch of which this share of the draws would show no more than was seen; the more it is stretched, the fewer.
    fn shown(&self, share: f64) -> f64 {
        let below = |stretch: f64| {
            let begun = self.from.partition_point(|from| *from <= stretch);
            let ended = self.to.partition_point(|to| *to < stretch);
            begun.saturating_sub(ended) as f64 / self.draws as f64
        };
        if below(0.0) <= share {
            return 0.0;
        }
        let mut high = 1.0;
        while below(high) > share && high < LARGEST_STRETCH {
            high *= 2.0;
        }
        let mut low = 0.0;
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(low, high);
            if below(middle) > share {
                low = middle;
            } else {
                high = middle;
            }
        }
        f64::midpoint(low, high)
    }
}

/// How fast a statistic of straight pieces grows with each of the values.
fn slope_at(values: &DVector<f64>, statistic: &impl Statistic) -> RowDVector<f64> {
    let shown = statistic.of(values.as_slice());
    let step = SMALL_STRETCH * shown;
    let mut bed = values.clone();
    RowDVector::from_fn(values.len(), |_, place| {
        bed[place] += step;
        let ahead = statistic.of(bed.as_slice());
        bed[place] = values[place];
        (ahead - shown) / step
    })
}

/// The value farthest from zero, with its sign; of those that are as far, the first. Readings come in parts of a
/// division, so that a crown and a sag of just the same size are nothing rare, and rounding must not choose.
pub fn largest(values: &[f64]) -> f64 {
    values.iter().fold(0.0, |a: f64, b| {
        if b.abs() > a.abs() * (1.0 + SAME_VALUE) {
            *b
        } else {
            a
        }
    })
}

/// How far values reach on one side of nothing.
fn opposite(values: &[f64], side: f64) -> f64 {
    values.iter().fold(0.0, |far, value| far.max(side * value))
}

/// A size as a departure to this side.
fn on_side(size: Figure, side: f64) -> Figure {
    let [low, high] = [size.low.max(0.0), size.high].map(|end| side * end);
    Figure {
        value: side * size.value,
        u95: size.u95,
        low: low.min(high),
        high: low.max(high),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_way_that_crowns_here_may_sag_there() {
        let noise = Noise::new(&(DMatrix::identity(4, 4) * 1e-3));
        let form = DVector::from_column_slice(&[0.0, 20.0, -15.0, 0.0]);
        for (form, want) in [(form.clone(), -15.0), (-form, 15.0)] {
            for figure in [
                noise.largest_opposite(&form),
                noise.forecast_opposite(&form),
            ] {
                assert!((figure.value - want).abs() < 1e-12, "{figure:?}");
                assert!(figure.low <= want && want <= figure.high, "{figure:?}");
                assert!(figure.high - figure.low < 0.01, "{figure:?}");
            }
        }
    }

    #[test]
    fn every_root_of_a_covariance_gives_the_same_symmetric_one() {
        // The third value is the sum of the others, the fourth is fixed.
        let root = DMatrix::from_row_slice(4, 3, &[2., 0., 1., 1., 3., 0., 3., 3., 1., 0., 0., 0.]);
        // A rotation of the columns changes nothing of the covariance.
        let (sine, cosine) = 0.3_f64.sin_cos();
        let turn =
            DMatrix::from_row_slice(3, 3, &[cosine, -sine, 0., sine, cosine, 0., 0., 0., 1.]);
        let one = symmetric(&root);
        assert!((&one - one.transpose()).amax() < 1e-14);
        assert!((&one * &one - &root * root.transpose()).amax() < 1e-13);
        // What is fixed may move by the root of a rounding, and no more.
        assert!((symmetric(&(&root * &turn)) - one).amax() < 1e-7);
        let triangle = lower(&root);
        assert!((&triangle * triangle.transpose() - &root * root.transpose()).amax() < 1e-13);
        assert!((lower(&(root * turn)) - triangle).amax() < 1e-7);
    }

    #[test]
    fn of_a_crown_and_a_sag_of_the_same_size_the_first_is_named() {
        for rounding in [1.0 - 1e-14, 1.0, 1.0 + 1e-14] {
            assert!(largest(&[0.0, 2e-6, 5e-6, -5e-6 * rounding, 1e-6, 0.0]) > 0.0);
            assert!(largest(&[0.0, -5e-6, 5e-6 * rounding, 0.0]) < 0.0);
        }
        approx::assert_relative_eq!(largest(&[0.0, 5e-6, -5.1e-6]), -5.1e-6);
    }

    #[test]
    fn other_draws_hardly_move_an_interval() {
        let root = DMatrix::identity(12, 12);
        let range = |values: &[f64]| {
            let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            high - values.iter().copied().fold(f64::INFINITY, f64::min)
        };
        for even_twist in [0.5, 1.0, 2.0] {
            let bed = DVector::from_fn(12, |place, _| even_twist * place as f64);
            let figures: Vec<Figure> = (0..20)
                .map(|seed| Noise::seeded(&root, seed).figure(&bed, &range))
                .collect();
            let spread = |of: &dyn Fn(&Figure) -> f64| {
                let mean = figures.iter().map(of).sum::<f64>() / figures.len() as f64;
                let squares = figures.iter().map(|figure| (of(figure) - mean).powi(2));
                (squares.sum::<f64>() / (figures.len() - 1) as f64).sqrt()
            };
            let width = figures[0].high - figures[0].low;
            for end in [spread(&|figure| figure.low), spread(&|figure| figure.high)] {
                assert!(end < 0.03 * width, "{end} of {width}");
            }
        }
    }

    /// Seven cross slopes of which noise alone ranges over 2.7 deviations in the mean (d2 of control charts, from memory): a bed that shows next to nothing of that
    /// was lucky, and is not known better for it.
    #[test]
    fn by_luck_alone_nothing_is_known() {
        let noise = Noise::new(&DMatrix::identity(7, 7));
        let form = DVector::from_vec(vec![0.5, 0.0, 0.5, 0.0, 0.5, 0.5, 0.0]);
        let mut before = f64::INFINITY;
        for share in [4.0, 2.0, 1.0, 0.5, 0.25, 0.125] {
            let figure = noise.figure(&(&form * share), &Range);
            assert!(figure.low <= figure.value && figure.value <= figure.high);
            assert!(
                figure.high > 1.0 && figure.high <= before,
                "{share}: {figure:?}"
            );
            before = figure.high;
            let crown = noise.largest_departure(&(&form * share));
            assert!(crown.low <= crown.value && crown.value <= crown.high);
            assert!(crown.high > 1.0);
        }
    }
}
