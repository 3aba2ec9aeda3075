//! What the bed is: a beam in bending and torsion on elastic feet, with its loads.

use super::Place;

/// A bed as a beam on feet.
///
/// The height of the bed at a [`Place`] is `w(at) + across phi(at)`: a straight line across, which bends
/// along the bed (Euler-Bernoulli, `EI w'''' = load`) and twists (Saint-Venant, `GJ phi'' = torque`).
#[derive(Debug, Clone, PartialEq)]
pub struct BedModel {
    /// Length, m.
    pub length: f64,
    /// Bending stiffness EI, N m².
    pub bending_stiffness: f64,
    /// Torsion stiffness GJ, N m².
    pub torsion_stiffness: f64,
    /// The feet, in the order in which lifts are given.
    pub feet: Vec<Support>,
    /// Weight that lies evenly along the centre line, N/m.
    pub weight_per_length: f64,
    /// Weights that sit at one place.
    pub point_loads: Vec<PointLoad>,
    /// Stretches that are stiffer than the rest.
    pub stretches: Vec<Stretch>,
}

/// A stretch of the bed that is stiffer than the rest, as under a headstock that is bolted on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Its end nearer to the headstock end of the bed, m.
    pub from: f64,
    /// Its other end, m.
    pub to: f64,
    /// Factor for EI and GJ; where stretches overlap their factors multiply.
    pub factor: f64,
}

/// One foot: a spring under the bed, whose lower end is lifted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Support {
    /// Where it stands.
    pub place: Place,
    /// Stiffness of foot, floor and casting around the foot, N/m.
    pub stiffness: f64,
    /// Whether it can also pull the bed down; if not, it only pushes.
    pub holds_down: bool,
}

/// A weight that sits at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointLoad {
    /// Where it sits.
    pub place: Place,
    /// Force on the bed, N, downwards.
    pub force: f64,
}

/// Why a bed has no response: its feet or stiffnesses leave it free to move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Unsupported {
    /// Three feet are needed to hold a bed.
    TooFewFeet {
        /// How many there are.
        feet: usize,
    },
    /// All feet stand in one line, about which the bed rolls.
    FeetInLine {
        /// Largest distance of a foot from the line, m.
        offset: f64,
    },
    /// A stiffness is not positive, or so small beside the others that it counts for nothing.
    NotStiff,
}

/// Feet nearer to one line than this share of the distance between the farthest two do not hold the bed.
const IN_LINE: f64 = 1e-4;

impl BedModel {
    /// All weight on the feet, N.
    pub fn weight(&self) -> f64 {
        self.weight_per_length * self.length
            + self.point_loads.iter().map(|load| load.force).sum::<f64>()
    }

    /// Whether the feet fix height, tilt and roll of the bed, and everything has a stiffness.
    pub fn check(&self) -> Result<(), Unsupported> {
        if self.feet.len() < 3 {
            return Err(Unsupported::TooFewFeet {
                feet: self.feet.len(),
            });
        }
        let (span, offset) = spread(self.feet.iter().map(|foot| foot.place));
        if offset <= IN_LINE * span {
            return Err(Unsupported::FeetInLine { offset });
        }
        let stiff = |value: f64| value.is_finite() && value > 0.0;
        let all_stiff = stiff(self.length)
            && stiff(self.bending_stiffness)
            && stiff(self.torsion_stiffness)
            && self.feet.iter().all(|foot| stiff(foot.stiffness))
            && self.stretches.iter().all(|stretch| stiff(stretch.factor));
        if all_stiff {
            Ok(())
        } else {
            Err(Unsupported::NotStiff)
        }
    }
}

/// Whether feet at these places hold a bed against sinking, tilting and rolling.
pub(super) fn hold(places: impl Iterator<Item = Place> + Clone) -> bool {
    let (span, offset) = spread(places);
    offset > IN_LINE * span
}

/// Distance from the first place to the one farthest from it, and the largest distance of any place from
/// the line through these two, m.
fn spread(mut places: impl Iterator<Item = Place> + Clone) -> (f64, f64) {
    let Some(first) = places.next() else {
        return (0.0, 0.0);
    };
    let offsets = places.map(|place| (place.at - first.at, place.across - first.across));
    let (along, over) = offsets
        .clone()
        .max_by(|a, b| a.0.hypot(a.1).total_cmp(&b.0.hypot(b.1)))
        .unwrap_or_default();
    let span = along.hypot(over);
    if span == 0.0 {
        return (0.0, 0.0);
    }
    let offset = offsets
        .map(|(x, y)| ((along * y - over * x) / span).abs())
        .fold(0.0, f64::max);
    (span, offset)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn model(places: &[(f64, f64)]) -> BedModel {
        BedModel {
            length: 2.0,
            bending_stiffness: 1e6,
            torsion_stiffness: 1e5,
            feet: places
                .iter()
                .map(|&(at, across)| Support {
                    place: Place { at, across },
                    stiffness: 1e7,
                    holds_down: true,
                })
                .collect(),
            weight_per_length: 500.0,
            stretches: vec![],
            point_loads: vec![PointLoad {
                place: Place {
                    at: 0.3,
                    across: 0.0,
                },
                force: 200.0,
            }],
        }
    }

    #[test]
    fn a_tripod_holds_a_bed() {
        assert_eq!(
            model(&[(0.1, 0.2), (0.1, -0.2), (1.9, 0.0)]).check(),
            Ok(())
        );
    }

    #[test]
    fn two_feet_or_feet_in_line_do_not() {
        assert_eq!(
            model(&[(0.1, 0.2), (1.9, -0.2)]).check(),
            Err(Unsupported::TooFewFeet { feet: 2 })
        );
        assert_eq!(
            model(&[(0.1, 0.2), (1.0, 0.2), (1.9, 0.2)]).check(),
            Err(Unsupported::FeetInLine { offset: 0.0 })
        );
        assert_eq!(
            model(&[(0.5, 0.2); 3]).check(),
            Err(Unsupported::FeetInLine { offset: 0.0 })
        );
    }

    #[test]
    fn a_foot_without_stiffness_is_refused() {
        let mut bed = model(&[(0.1, 0.2), (0.1, -0.2), (1.9, 0.0)]);
        bed.feet[2].stiffness = 0.0;
        assert_eq!(bed.check(), Err(Unsupported::NotStiff));
        bed.feet[2].stiffness = f64::NAN;
        assert_eq!(bed.check(), Err(Unsupported::NotStiff));
    }

    #[test]
    fn weight_is_the_even_part_and_the_points() {
        let bed = model(&[(0.1, 0.2), (0.1, -0.2), (1.9, 0.0)]);
        assert!((bed.weight() - 1200.0).abs() < 1e-12);
    }
}
