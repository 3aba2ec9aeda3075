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

use super::Place;
use super::model::{BedModel, PointLoad, Support};
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

/// Standard gravity, m/s² (ISO 80000-3).
pub const GRAVITY: f64 = 9.806_65;

/// Young's modulus of grey cast iron, Pa; order of magnitude, common practice, no source.
const YOUNGS_MODULUS: f64 = 110e9;

/// Density of grey cast iron, kg/m³; order of magnitude, common practice, no source.
const DENSITY: f64 = 7200.0;

/// Share of a machine's mass that is bed casting; order of magnitude, common practice, no source.
const BED_SHARE: f64 = 0.3;

/// Radius of gyration of a bed's section in bending, as a share of the way spacing: about 0.37 of the height
/// of a hollow section that is nearly as high as its ways are apart; order of magnitude, no source.
const GYRATION_SHARE: f64 = 0.35;

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
struct Foundation {
    /// Stiffness per length against sinking, kf, N/m².
    sinking: f64,
    /// Stiffness per length against rolling, kt, N.
    rolling: f64,
}

impl Foundation {
    fn under(feet: &[Support], bed_length: f64) -> Self {
        let pitch = Pitch::of(feet.iter().map(|foot| foot.place.at), bed_length);
        let length = pitch.places as f64 * pitch.length;
        let sum = |stiffness: fn(&Support) -> f64| feet.iter().map(stiffness).sum::<f64>() / length;
        Self {
            sinking: sum(|foot| foot.stiffness),
            rolling: sum(|foot| foot.stiffness * foot.place.across * foot.place.across),
        }
    }
}

impl BedModel {
    /// The weightless bed with these reaches on feet of stiffness 1: all that is needed for what lifts do to
    /// a bed whose feet all stay linked.
    ///
    /// `EI = kf bending⁴ / 4` and `GJ = kt torsion²`.
    pub fn weightless(length: f64, feet: &[Place], holds_down: bool, reaches: &Reaches) -> Self {
        let foot = |&place: &Place| Support {
            place,
            stiffness: 1.0,
            holds_down,
        };
        let feet: Vec<Support> = feet.iter().map(foot).collect();
        let foundation = Foundation::under(&feet, length);
        Self {
            length,
            bending_stiffness: foundation.sinking * reaches.bending.powi(4) / 4.0,
            torsion_stiffness: foundation.rolling * reaches.torsion.powi(2),
            feet,
            weight_per_length: 0.0,
            point_loads: vec![],
        }
    }

    /// The same bed with stiffnesses in N and m, known from one of them.
    #[must_use]
    pub fn with_bending_stiffness(mut self, bending_stiffness: f64) -> Self {
        let scale = bending_stiffness / self.bending_stiffness;
        self.bending_stiffness = bending_stiffness;
        self.torsion_stiffness *= scale;
        for foot in &mut self.feet {
            foot.stiffness *= scale;
        }
        self
    }

    /// The bed of a survey.
    ///
    /// Without the machine's mass it is [weightless](BedModel::weightless), and whether a foot hangs cannot
    /// be told. With it, the mass beside the headstock lies evenly along the bed, and the stiffnesses follow
    /// from [`bending_stiffness_of`] and the reaches.
    pub fn from_survey(survey: &Survey, reaches: &Reaches) -> Self {
        let place = |at, across| Place { at, across };
        let feet: Vec<Place> = survey
            .feet
            .iter()
            .map(|foot| place(foot.at, foot.across))
            .collect();
        let bed = &survey.bed;
        let weightless = Self::weightless(bed.length, &feet, bed.held_down, reaches);
        let Some(mass) = survey.machine.mass else {
            return weightless;
        };
        let stiffness = bending_stiffness_of(mass, bed.length, bed.way_spacing);
        let mut model = weightless.with_bending_stiffness(stiffness);
        let headstock = survey.machine.headstock;
        let at_one_place = headstock.map_or(0.0, |headstock| headstock.mass.min(mass));
        model.weight_per_length = (mass - at_one_place) * GRAVITY / bed.length;
        model.point_loads = headstock
            .iter()
            .map(|headstock| PointLoad {
                place: place(headstock.at, 0.0),
                force: at_one_place * GRAVITY,
            })
            .collect();
        model
    }
}

/// Bending stiffness EI of a cast-iron bed, N m², from the mass of the machine, kg, its length and way
/// spacing, m. Order of magnitude, common practice, no source.
///
/// The bed is 0.3 of the mass, so its section is `A = 0.3 mass / (length density)`, its radius of gyration
/// 0.35 of the way spacing, and `EI = E A r²`, with E 1.1e11 Pa and 7200 kg/m³.
///
/// ```
/// use quarterturn::response::reach::bending_stiffness_of;
/// // 3100 kg over 2.9 m: 0.0445 m² of iron with a radius of gyration of 0.133 m.
/// let stiffness = bending_stiffness_of(3100.0, 2.9, 0.38);
/// assert!((stiffness / 8.67e7 - 1.0).abs() < 0.01);
/// ```
pub fn bending_stiffness_of(mass: f64, length: f64, way_spacing: f64) -> f64 {
    let section = BED_SHARE * mass / (length * DENSITY);
    let gyration = GYRATION_SHARE * way_spacing;
    YOUNGS_MODULUS * section * gyration * gyration
}

#[cfg(test)]
mod tests {
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
}
