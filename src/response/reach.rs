//! The two reaches: how far a lift is felt along the bed in bending and in torsion.
//!
//! Nobody knows EI, GJ and the stiffness of the feet of a machine on the floor, and what a lift does depends
//! only on their ratios. Smeared out along the bed, `n` feet of stiffness `k` at `m` places a pitch `p`
//! apart are a foundation of `kf = sum k / m p` for sinking and `kt = sum k a² / m p` for rolling, `a` the
//! distance of a foot from the centre line. The ratios that matter then are two lengths:
//!
//! * bending reach `(4 EI / kf)^(1/4)`, over which a point load is felt in a beam on an elastic foundation
//!   (`1/beta` of Hetenyi, Beams on Elastic Foundation, from memory);
//! * torsion reach `sqrt(GJ / kt)`, over which a torque dies away by `1/e` (from `GJ phi'' = kt phi`).
//!
//! # Defaults
//!
//! [`Reaches::usual`] takes 1 pitch for bending and 0.7 pitch for torsion. Two beds with plausible sections,
//! made up for this purpose, cast iron with E 1.1e11 Pa and G 4.4e10 Pa, order of magnitude only:
//!
//! | | bench machine | long lathe |
//! |---|---|---|
//! | length, pitch, half spacing | 1 m, 0.45 m, 0.08 m | 10 m, 1.2 m, 0.3 m |
//! | section: two walls, four flanges | 110 x 12 mm, 40 x 20 mm | 500 x 30 mm, 120 x 50 mm |
//! | I, EI | 9.1e-6 m⁴, 1.0e6 N m² | 1.8e-3 m⁴, 2.0e8 N m² |
//! | J with cross ribs, GJ | 1.5e-6 m⁴, 6.6e4 N m² | 8e-4 m⁴, 3.5e7 N m² |
//! | k of a foot with its floor | 3e7 N/m | 3e8 N/m |
//! | kf = 2 k / p | 1.3e8 N/m² | 5.0e8 N/m² |
//! | kt = 2 k a² / p | 8.5e5 N | 4.5e7 N |
//! | bending reach | 0.42 m = 0.93 pitch | 1.13 m = 0.94 pitch |
//! | torsion reach | 0.28 m = 0.62 pitch | 0.88 m = 0.74 pitch |
//!
//! The bending reach hardly moves: feet ten times as stiff shorten it to 0.56. The torsion reach is known
//! less well: feet ten times as stiff shorten it to 0.32, and whether a section is open, ribbed or closed
//! changes J tenfold. Hence [`BENDING_SPREAD`] and [`TORSION_SPREAD`].
//!
//! What that does to a lift, on the third of six pairs of feet: lifted together the two move the bed above
//! themselves by 0.51 of the lift, 0.64 and 0.40 when the bending reach is one spread shorter or longer;
//! turned against each other they roll it by 0.58 of their roll, 0.80 and 0.36 with the torsion reach.

use super::model::{BedModel, Support};
use crate::survey::Survey;

/// Usual bending reach, in pitches of the feet.
pub const BENDING_PITCHES: f64 = 1.0;

/// Usual torsion reach, in pitches of the feet.
pub const TORSION_PITCHES: f64 = 0.7;

/// Standard deviation of the natural logarithm of the bending reach about the usual one: a factor of e in
/// the feet and one of 1.6 in EI, `sqrt(1² + 0.5²) / 4`.
pub const BENDING_SPREAD: f64 = 0.28;

/// Standard deviation of the natural logarithm of the torsion reach about the usual one: a factor of e in
/// the feet and one of 2.2 in GJ, `sqrt(1² + 0.8²) / 2`.
pub const TORSION_SPREAD: f64 = 0.64;

/// How far a lift is felt along the bed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reaches {
    /// In bending, m.
    pub bending: f64,
    /// In torsion, m.
    pub torsion: f64,
}

impl Reaches {
    /// What to expect of a bed on these feet before anything is known of it.
    pub fn usual(survey: &Survey) -> Self {
        let places = survey.feet.iter().map(|foot| foot.at);
        let pitch = Pitch::of(places, survey.bed.length).length;
        Self {
            bending: BENDING_PITCHES * pitch,
            torsion: TORSION_PITCHES * pitch,
        }
    }

    /// The reaches of a bed whose stiffnesses are known.
    pub fn of(bed: &BedModel) -> Self {
        let foundation = Foundation::under(&bed.feet, bed.length);
        Self {
            bending: (4.0 * bed.bending_stiffness / foundation.sinking).powf(0.25),
            torsion: (bed.torsion_stiffness / foundation.rolling).sqrt(),
        }
    }
}

/// Places of the feet along the bed.
struct Pitch {
    /// How many different places there are.
    places: usize,
    /// Mean distance from one to the next, m.
    length: f64,
}

impl Pitch {
    /// A single place has the whole bed for its pitch.
    fn of(places: impl Iterator<Item = f64>, bed_length: f64) -> Self {
        let mut places: Vec<f64> = places.collect();
        places.sort_by(f64::total_cmp);
        // Feet of a pair may stand a little apart along the bed and still are one place.
        let apart = bed_length / (4 * places.len().max(1)) as f64;
        places.dedup_by(|next, last| *next - *last < apart);
        match places.as_slice() {
            [first, .., last] => Self {
                places: places.len(),
                length: (last - first) / (places.len() - 1) as f64,
            },
            _ => Self {
                places: 1,
                length: bed_length,
            },
        }
    }
}

/// Feet smeared out along the bed.
pub(super) struct Foundation {
    /// Stiffness per length against sinking, kf, N/m².
    pub sinking: f64,
    /// Stiffness per length against rolling, kt, N.
    pub rolling: f64,
}

impl Foundation {
    pub(super) fn under(feet: &[Support], bed_length: f64) -> Self {
        let pitch = Pitch::of(feet.iter().map(|foot| foot.place.at), bed_length);
        let length = pitch.places as f64 * pitch.length;
        let sum = |stiffness: fn(&Support) -> f64| feet.iter().map(stiffness).sum::<f64>() / length;
        Self {
            sinking: sum(|foot| foot.stiffness),
            rolling: sum(|foot| foot.stiffness * foot.place.across * foot.place.across),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Place;
    use super::*;

    /// Pairs of feet `half` to either side, a pitch apart from `first` on.
    fn pairs(count: usize, first: f64, pitch: f64, half: f64) -> Vec<Place> {
        (0..count)
            .flat_map(|pair| [half, -half].map(|across| (first + pitch * pair as f64, across)))
            .map(|(at, across)| Place { at, across })
            .collect()
    }

    /// Second moment of two walls and four flanges, m⁴, from heights and widths, mm.
    fn section(wall: (f64, f64), flange: (f64, f64)) -> f64 {
        let walls = 2.0 * wall.1 * wall.0.powi(3) / 12.0;
        let arm = (wall.0 - flange.1) / 2.0;
        let flanges = 4.0 * flange.0 * flange.1 * arm * arm;
        (walls + flanges) * 1e-12
    }

    /// The table of the module's documentation.
    #[test]
    fn the_usual_reaches_suit_a_bench_machine_and_a_long_lathe() {
        let bench = (
            section((110.0, 12.0), (40.0, 20.0)),
            1.5e-6,
            3e7,
            3,
            0.45,
            0.08,
        );
        let long = (
            section((500.0, 30.0), (120.0, 50.0)),
            8e-4,
            3e8,
            9,
            1.2,
            0.3,
        );
        for (case, bending_pitches, torsion_pitches) in [(bench, 0.93, 0.62), (long, 0.94, 0.74)] {
            let (second_moment, twist_constant, stiffness, count, pitch, half) = case;
            let feet = pairs(count, 0.05, pitch, half)
                .into_iter()
                .map(|place| Support {
                    place,
                    stiffness,
                    holds_down: true,
                })
                .collect();
            let reaches = Reaches::of(&BedModel {
                length: 0.1 + pitch * (count - 1) as f64,
                bending_stiffness: 110e9 * second_moment,
                torsion_stiffness: 44e9 * twist_constant,
                feet,
                weight_per_length: 0.0,
                point_loads: vec![],
                stretches: vec![],
            });
            let got = [reaches.bending / pitch, reaches.torsion / pitch];
            assert!((got[0] - bending_pitches).abs() < 0.005, "bending {got:?}");
            assert!((got[1] - torsion_pitches).abs() < 0.005, "torsion {got:?}");
            // The usual ones are within one spread of both.
            assert!((BENDING_PITCHES / got[0]).ln().abs() < BENDING_SPREAD);
            assert!((TORSION_PITCHES / got[1]).ln().abs() < TORSION_SPREAD);
        }
    }

    #[test]
    fn a_bed_made_from_reaches_has_them() {
        let reaches = Reaches {
            bending: 0.8,
            torsion: 0.5,
        };
        let bed = BedModel::weightless(2.9, &pairs(4, 0.12, 0.86, 0.18), true, &reaches);
        for bed in [bed.clone(), bed.with_bending_stiffness(8e7)] {
            let got = Reaches::of(&bed);
            assert!((got.bending - 0.8).abs() < 1e-12, "{got:?}");
            assert!((got.torsion - 0.5).abs() < 1e-12, "{got:?}");
        }
    }

    #[test]
    fn only_ratios_of_stiffnesses_count_for_the_influence() {
        let reaches = Reaches {
            bending: 0.8,
            torsion: 0.5,
        };
        let feet = pairs(4, 0.12, 0.86, 0.18);
        let bed = BedModel::weightless(2.9, &feet, true, &reaches);
        let scaled = bed.clone().with_bending_stiffness(8e7);
        let difference =
            bed.response().unwrap().influence(&feet) - scaled.response().unwrap().influence(&feet);
        assert!(difference.amax() < 1e-12, "{difference}");
    }

    #[test]
    fn a_slightly_skew_pair_is_one_place() {
        let mut feet = pairs(4, 0.12, 0.86, 0.18);
        feet[1].at += 0.01;
        let pitch = Pitch::of(feet.iter().map(|foot| foot.at), 2.9);
        assert_eq!(pitch.places, 4);
        assert!((pitch.length - 0.86).abs() < 1e-12);
    }

    /// The last figures of the module's documentation.
    #[test]
    fn a_spread_of_a_reach_changes_the_effect_of_a_lift_by_a_quarter_or_so() {
        let feet = pairs(6, 0.5, 1.0, 0.2);
        let own_effect = |bending: f64, torsion: f64| {
            let reaches = Reaches { bending, torsion };
            let bed = BedModel::weightless(6.0, &feet, true, &reaches);
            let influence = bed.response().unwrap().influence(&feet);
            let (front, rear) = (influence.column(4), influence.column(5));
            let together = 0.5 * (front[4] + front[5] + rear[4] + rear[5]);
            let against = 0.5 * (front[4] - front[5] - rear[4] + rear[5]);
            [together, against]
        };
        let usual = [BENDING_PITCHES, TORSION_PITCHES];
        let spread = [BENDING_SPREAD, TORSION_SPREAD];
        for (spreads, want) in [
            (-1.0, [0.64, 0.80]),
            (0.0, [0.51, 0.58]),
            (1.0, [0.40, 0.36]),
        ] {
            let reach = |which: usize| usual[which] * (spreads * spread[which]).exp();
            let got = own_effect(reach(0), reach(1));
            for (got, want) in got.iter().zip(want) {
                assert!(
                    (got - want).abs() < 0.0051,
                    "{spreads} spreads: {got}, {want}"
                );
            }
        }
    }
}
