//! Laws of the adjustment, on made-up beds.

use crate::made_up::Case;
use crate::made_up::walk::Walk;
use proptest::prelude::*;
use quarterturn::geometry::{Adjustment, BedShape, Observations, ReferenceLine, Suspects};
use quarterturn::survey::{Entry, Line, Pass};
use rand::SeedableRng;
use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;

fn shape(case: &Case, pass: &Pass) -> Option<BedShape> {
    let adjustment = Adjustment::of(pass, &case.level, case.bed.length, case.bed.spacing).ok()?;
    Some(BedShape::of(&adjustment, ReferenceLine::EndPoints))
}

/// Every figure of a shape in one list.
fn figures(shape: &BedShape) -> Vec<f64> {
    let twist = shape
        .twist
        .iter()
        .flat_map(|twist| [twist.value, twist.u95]);
    let ways = shape.ways().flat_map(|way| {
        let figures = way.crown.into_iter().chain(way.straightness);
        let off = way.points.iter().map(|point| point.off_line);
        figures
            .flat_map(|figure| [figure.value, figure.u95])
            .chain(off)
            .collect::<Vec<_>>()
    });
    twist.chain(ways).collect()
}

/// Whether two lists of figures are the same to a millionth of the largest.
fn same(a: &[f64], b: &[f64]) -> bool {
    let largest = a.iter().fold(0.0, |m: f64, x| m.max(x.abs()));
    a.len() == b.len()
        && a.iter()
            .zip(b)
            .all(|(x, y)| (x - y).abs() <= 1e-6 * largest)
}

fn walk() -> impl Strategy<Value = Walk> {
    (0..Walk::ALL.len()).prop_map(|k| Walk::ALL[k])
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// The order in which readings were written down does not matter.
    #[test]
    fn the_order_of_readings_does_not_matter(number in 0..1000_u64, walk in walk(), seed in 0..100_u64) {
        let case = Case::new(number, walk);
        let Some(before) = shape(&case, &case.pass) else { return Ok(()) };
        let mut pass = case.pass.clone();
        pass.readings.shuffle(&mut ChaCha8Rng::seed_from_u64(seed));
        let after = shape(&case, &pass).expect("the same readings");
        prop_assert!(same(&figures(&before), &figures(&after)));
    }

    /// A bed that leans as a whole, or a level with another zero, changes neither twist nor straightness.
    #[test]
    fn a_rigid_tilt_changes_no_twist_and_no_straightness(
        number in 0..1000_u64,
        walk in walk(),
        roll in -900..900_i32,
        pitch in -900..900_i32,
    ) {
        let case = Case::new(number, walk);
        let Some(before) = shape(&case, &case.pass) else { return Ok(()) };
        // The slopes are tilted and not what is written down: how finely a person reads is told by the
        // digits.
        let mut observations = Observations::of(&case.pass, &case.level, case.bed.spacing);
        for row in &mut observations.rows {
            let tilt = if row.line == Line::Cross { roll } else { pitch };
            row.slope += f64::from(tilt) * 1e-6;
        }
        let tilted = Adjustment::from_observations(observations, case.bed.length, case.bed.spacing);
        let after = BedShape::of(&tilted.expect("the same readings"), ReferenceLine::EndPoints);
        prop_assert!(same(&figures(&before), &figures(&after)));
    }

    /// A level laid the other way along the whole pass reads the mirror image, and finds the same bed upside
    /// down with the same uncertainty.
    #[test]
    fn a_mirrored_bed_has_mirrored_departures(number in 0..1000_u64, walk in walk()) {
        let case = Case::new(number, walk);
        let Some(before) = shape(&case, &case.pass) else { return Ok(()) };
        let mut pass = case.pass.clone();
        for reading in &mut pass.readings {
            if let Entry::Read(seen) = &mut reading.entry {
                for value in seen.iter_mut() {
                    *value = -*value;
                }
            }
        }
        let after = shape(&case, &pass).expect("the same readings");
        for (a, b) in before.ways().zip(after.ways()) {
            for (a, b) in a.points.iter().zip(&b.points) {
                prop_assert!((a.off_line + b.off_line).abs() <= 1e-6 * a.off_line_u95 + 1e-15);
            }
        }
    }

    /// No readings, however wild, make the search for suspects fail.
    #[test]
    fn no_reading_breaks_the_search(
        number in 0..1000_u64,
        walk in walk(),
        values in proptest::collection::vec(-1e6..1e6_f64, 4),
    ) {
        let mut case = Case::new(number, walk);
        for (reading, value) in case.pass.readings.iter_mut().zip(values) {
            reading.entry = Entry::Read(vec![value]);
        }
        if let Some(adjustment) = case.adjusted() {
            let suspects = Suspects::of(&adjustment);
            for suspect in &suspects.found {
                prop_assert!(suspect.likely.is_finite() && suspect.gain.is_finite() && !suspect.w.is_nan());
            }
        }
    }
}
