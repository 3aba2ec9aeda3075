//! Random numbers that are the same in every run.

use std::cell::RefCell;
use std::collections::BTreeMap;

use nalgebra::DMatrix;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

thread_local! {
    /// Standard normal numbers as far as they were asked for, by seed: every figure begins with the same ones, and to
    /// draw them anew takes longer than to use them.
    static DRAWN: RefCell<BTreeMap<u64, (ChaCha8Rng, Vec<f64>)>> = const { RefCell::new(BTreeMap::new()) };
}

/// A matrix of standard normal numbers, of which any with the same seed begin alike.
pub(crate) fn standard_normal(rows: usize, columns: usize, seed: u64) -> DMatrix<f64> {
    let count = rows * columns;
    DRAWN.with_borrow_mut(|drawn| {
        let (generator, numbers) = drawn
            .entry(seed)
            .or_insert_with(|| (ChaCha8Rng::seed_from_u64(seed), Vec::new()));
        while numbers.len() < count {
            numbers.push(StandardNormal.sample(generator));
        }
        DMatrix::from_column_slice(rows, columns, &numbers[..count])
    })
}
