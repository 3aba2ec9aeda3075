//! Ways that the level was walked along end to end, and what tells their heights then.
//!
//! A cross reading where the level's feet stood on both ways closes a loop of nothing but readings. One in the
//! middle of a span checks the chains as well, but only as far as the bed between the feet is known, which is
//! what the prior supposes of it. Heights that are chained need no such help: they are adjusted without the
//! cross readings in mid-span, and the prior has no say in them at all. The cross slopes, the global test
//! and the search for wrong readings use everything.

use super::layout::SAME_PLACE;
use super::observation::Observations;
use crate::survey::{Line, Side};

/// Cross readings in use, as positions among the observations, that stand where no foot of the level stood on
/// one of the ways; nothing where either way is not walked end to end.
pub fn in_mid_span(observations: &Observations, used: &[usize]) -> Vec<usize> {
    let Some([front, rear]) = chains(observations, used) else {
        return Vec::new();
    };
    let stood = |feet: &[f64], at: f64| feet.iter().any(|foot| (foot - at).abs() < SAME_PLACE);
    used.iter()
        .copied()
        .filter(|&i| {
            let row = &observations.rows[i];
            row.line == Line::Cross && !(stood(&front, row.at) && stood(&rear, row.at))
        })
        .collect()
}

/// Whether the readings in use walk both ways end to end.
pub fn both_chained(observations: &Observations, used: &[usize]) -> bool {
    chains(observations, used).is_some()
}

/// The places of the level's feet on both ways, where all of each hang together.
fn chains(observations: &Observations, used: &[usize]) -> Option<[Vec<f64>; 2]> {
    let chain = |side| chain(observations, used, side);
    Some([chain(Side::Front)?, chain(Side::Rear)?])
}

fn chain(observations: &Observations, used: &[usize], side: Side) -> Option<Vec<f64>> {
    let half = observations.half_base;
    let mut middles: Vec<f64> = used
        .iter()
        .map(|&i| &observations.rows[i])
        .filter(|row| row.side() == Some(side))
        .map(|row| row.at)
        .collect();
    middles.sort_by(f64::total_cmp);
    middles.dedup_by(|a, b| (*a - *b).abs() < SAME_PLACE);
    let mut feet = vec![middles.first()? - half];
    for middle in middles {
        if (feet.last()? - (middle - half)).abs() > SAME_PLACE {
            return None;
        }
        feet.push(middle + half);
    }
    Some(feet)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mid_span(stations: &[(Line, f64)]) -> Vec<f64> {
        let observations = Observations::level_at(stations, 0.2);
        let used: Vec<usize> = (0..stations.len()).collect();
        let found = in_mid_span(&observations, &used);
        found.into_iter().map(|i| stations[i].1).collect()
    }

    #[test]
    fn only_a_cross_reading_between_the_feet_of_a_chain_is_in_mid_span() {
        let mut stations = vec![(Line::Cross, 0.1), (Line::Cross, 0.3), (Line::Cross, 0.35)];
        for at in [0.6, 0.2, 0.4] {
            stations.push((Line::Front, at));
            stations.push((Line::Rear, at));
        }
        assert_eq!(mid_span(&stations), [0.35]);
        // Read again on the way back, the chain is the same one.
        let back = [&stations[..], &stations[4..]].concat();
        assert_eq!(mid_span(&back), [0.35]);
    }

    #[test]
    fn a_gap_or_chains_that_interleave_need_every_cross_reading() {
        let ends = [(Line::Cross, 0.2), (Line::Front, 0.2), (Line::Rear, 0.2)];
        for next in [0.3, 0.45] {
            let also = [(Line::Front, next), (Line::Rear, next)];
            assert_eq!(mid_span(&[&ends[..], &also[..]].concat()), [0.0; 0]);
        }
        assert_eq!(mid_span(&ends[..2]), [0.0; 0], "the rear was not read");
        assert_eq!(mid_span(&ends), [0.2]);
    }
}
