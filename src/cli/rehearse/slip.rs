//! One slip in a pass, and finding it again.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::rehearse::Slip;
use crate::survey::{Entry, Pass};

/// So many places are tried before a pass stays without a slip.
const MOST_TRIES: usize = 200;

/// Makes a slip that people make in one of the readings; which one follows from the seed and the pass.
pub(super) fn make_one(pass: &mut Pass, seed: u64, index: usize) {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    // The bed itself uses the first streams.
    random.set_stream(u64::MAX - index as u64);
    for _ in 0..MOST_TRIES {
        let Some(last) = pass.readings.len().checked_sub(1) else {
            return;
        };
        let reading = random.random_range(0..=last);
        let slip = match random.random_range(0..4) {
            0 => Slip::SwappedWithNext,
            1 => Slip::Misread(1.0),
            _ => Slip::WrongLetter,
        };
        // A slip of less than a division is not one that anybody could notice.
        let is_large = pass.readings[reading].entry.clone();
        if slip != Slip::Misread(1.0)
            && !matches!(is_large, Entry::Read(ref seen) if seen.iter().any(|value| value.abs() >= 1.0))
        {
            continue;
        }
        if slip.make(pass, reading) {
            return;
        }
    }
}

/// Indices of the readings that say something else than they would have without slips.
pub(super) fn found(pass: &Pass, honest: &Pass) -> Vec<(usize, usize)> {
    pass.readings
        .iter()
        .enumerate()
        .filter_map(|(index, reading)| {
            // The file may have its lines in another order.
            let same = |other: &crate::survey::Reading| {
                (other.line, other.reversed) == (reading.line, reading.reversed)
                    && (other.at - reading.at).abs() < 1e-9
            };
            let other = honest.readings.iter().position(same)?;
            (honest.readings[other].entry != reading.entry).then_some((index, other))
        })
        .collect()
}
