//! What the prior may hold: the noise terms that no free slope sees.

use nalgebra::{DMatrix, RowDVector};

use super::complement::Complement;
use super::layout::Layout;

/// The part of the noise terms that the prior holds.
#[derive(Debug, Clone)]
pub struct Held {
    /// Takes the noise terms to their held part, one held direction a row; as rows of unit variance it is
    /// the prior.
    pub projector: DMatrix<f64>,
    /// Number of directions held.
    pub rank: usize,
}

impl Held {
    /// The noise terms whose size is left free are those that the free slopes (functions of the surface's
    /// unknowns) see once the polynomials have taken their share; the prior holds the rest.
    pub fn beside(free: &[RowDVector<f64>], layout: &Layout) -> Self {
        Self::beside_all(free, &DMatrix::zeros(free.len(), 0), layout)
    }

    /// The same of slopes of several passes, each seen with a zero error of its own: `zeros` has a column for each of these errors.
    /// By how much all slopes of one pass lie off those of another at other places is seen by nobody, so that is held as well:
    /// the bed is as smooth from the places of one to those of the other as anywhere.
    pub fn beside_all(free: &[RowDVector<f64>], zeros: &DMatrix<f64>, layout: &Layout) -> Self {
        let (polynomials, noise) = (Layout::polynomials(), layout.noise_terms());
        let mut seen = DMatrix::zeros(free.len(), polynomials + noise);
        let mut shared = zeros.clone().insert_columns(0, polynomials, 0.0);
        for (k, row) in free.iter().enumerate() {
            // Near the headstock end the noise terms are tiny, and no less real: every row counts alike.
            let norm = row.columns(polynomials, noise).norm();
            let norm = if norm > 0.0 { norm } else { 1.0 };
            seen.set_row(k, &(row / norm));
            let mut row = shared.row_mut(k);
            row /= norm;
        }
        let of_bed = seen.columns(0, polynomials);
        shared.columns_mut(0, polynomials).copy_from(&of_bed);
        let trend = Complement::new(&shared);
        let left = trend.of(seen.columns(polynomials, noise).into_owned());
        let projector =
            Complement::of_remainders(left.transpose()).of(DMatrix::identity(noise, noise));
        Self {
            rank: projector.nrows(),
            projector,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::belief::USUAL_ROUGHNESS;
    use super::super::layout::Roughness;
    use super::super::observation::Observations;
    use super::super::rows::{Rows, places_read};
    use super::*;
    use crate::survey::Line;

    fn held(stations: &[(Line, f64)], length: f64) -> (Held, Layout) {
        held_on(stations, length, 0.2, USUAL_ROUGHNESS)
    }

    fn held_on(
        stations: &[(Line, f64)],
        length: f64,
        base: f64,
        size: Roughness,
    ) -> (Held, Layout) {
        let observations = Observations::level_at(stations, base);
        let layout = Layout::new(places_read(&observations), length);
        let rows = Rows {
            layout: &layout,
            observations: &observations,
            way_spacing: 0.4,
        };
        let free: Vec<RowDVector<f64>> = observations
            .rows
            .iter()
            .map(|row| rows.slope(row, size))
            .collect();
        (Held::beside(&free, &layout), layout)
    }

    /// Two stations read twice: the trend goes through both, and nothing of the noise is seen.
    #[test]
    fn what_the_trend_explains_frees_nothing() {
        for stations in [
            vec![(Line::Front, 0.3), (Line::Front, 1.1)],
            vec![(Line::Rear, 0.25), (Line::Rear, 1.7)],
            vec![(Line::Cross, 0.3), (Line::Cross, 1.1)],
        ] {
            for length in [1.2, 2.9, 7.5] {
                for times in 1..4 {
                    let (held, layout) = held(&stations.repeat(times), length);
                    assert_eq!(
                        held.rank,
                        layout.noise_terms(),
                        "{stations:?} read {times} times on {length} m"
                    );
                }
            }
        }
    }

    /// A few short steps at the far end of a long bed that hardly twists: tiny beside what their rows hold, and
    /// real. Beside them a station at the near end, where the noise terms begin.
    #[test]
    fn what_the_trend_leaves_is_freed_however_small() {
        let smooth = Roughness {
            middle: 150.0 * USUAL_ROUGHNESS.middle,
            half: USUAL_ROUGHNESS.half / 150.0,
        };
        for base in [0.2, 0.02] {
            let steps = [0.0, 1.0, 2.0, 3.0, 4.0].map(|k| (Line::Front, 7.9 + base * k));
            let stations = [&[(Line::Rear, 0.1)], &steps[..]].concat();
            for size in [USUAL_ROUGHNESS, smooth] {
                let (held, layout) = held_on(&stations, 9.0, base, size);
                // Six slopes, less pitch, curvature and even twist.
                assert_eq!(layout.noise_terms() - held.rank, 3, "{base} m, {size:?}");
            }
        }
    }

    /// Two passes of the front way, at places that interleave, each with a zero error of its own: eight slopes, less pitch and curvature,
    /// and less the offset of one pass against the other, which both zero errors hide.
    #[test]
    fn the_offset_of_two_passes_is_held() {
        let stations: Vec<(Line, f64)> = (0..8)
            .map(|k| (Line::Front, 0.2 + 0.25 * f64::from(k)))
            .collect();
        let observations = Observations::level_at(&stations, 0.2);
        let layout = Layout::new(places_read(&observations), 2.4);
        let rows = Rows {
            layout: &layout,
            observations: &observations,
            way_spacing: 0.4,
        };
        let slopes = observations
            .rows
            .iter()
            .map(|row| rows.slope(row, USUAL_ROUGHNESS));
        let free: Vec<RowDVector<f64>> = slopes.collect();
        let freed = |held: &Held| layout.noise_terms() - held.rank;
        let own = DMatrix::from_fn(8, 2, |row, pass| if row % 2 == pass { 1.0 } else { 0.0 });
        assert_eq!(freed(&Held::beside(&free, &layout)), 6);
        assert_eq!(freed(&Held::beside_all(&free, &own, &layout)), 5);
    }

    /// Reading a chain again frees no more of the noise than reading it once.
    #[test]
    fn a_station_read_again_frees_nothing_more() {
        for (count, times) in [(3, 2), (4, 3), (12, 2), (40, 2)] {
            let chain: Vec<(Line, f64)> = [Line::Front, Line::Rear]
                .into_iter()
                .flat_map(|line| (0..count).map(move |k| (line, 0.1 + 0.2 * f64::from(k))))
                .collect();
            let length = 0.2 * f64::from(count);
            let (once, layout) = held(&chain, length);
            // Two chains of slopes, less pitch, curvature and even twist.
            assert_eq!(layout.noise_terms() - once.rank, chain.len() - 3);
            let (again, _) = held(&chain.repeat(times), length);
            assert_eq!(again.rank, once.rank, "{count} stations read {times} times");
        }
    }
}
