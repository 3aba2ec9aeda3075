//! What the adjustment makes of whole passes: tables worked by hand, laws, and what stays unknown.

use approx::assert_abs_diff_eq;
use quarterturn::geometry::{Adjustment, BedShape, ReferenceLine};
use quarterturn::survey::{Conditions, Entry, Level, Line, Pass, Reading};

fn level(division: f64, base: f64) -> Level {
    Level {
        name: "test".into(),
        division,
        base: Some(base),
        range: None,
        repeat: Some(0.2),
        ..Level::default()
    }
}

fn pass(lines: &[(Line, &[f64], &[f64])]) -> Pass {
    let readings = lines
        .iter()
        .flat_map(|(line, at, divisions)| {
            at.iter()
                .zip(divisions.iter())
                .map(|(at, divisions)| Reading {
                    line: *line,
                    reversed: false,
                    at: *at,
                    entry: Entry::Read(vec![*divisions]),
                })
        })
        .collect();
    Pass {
        taken: None,
        level: "test".into(),
        readings,
        hanging: vec![],
        felt: false,
        barely: vec![],
        note: None,
        conditions: Conditions::default(),
        turned: None,
    }
}

fn shape(pass: &Pass, level: &Level, length: f64) -> BedShape {
    let adjustment = Adjustment::of(pass, level, length, 0.4).expect("the pass has readings");
    BedShape::of(&adjustment, ReferenceLine::EndPoints)
}

/// Source: engineering metrology lecture (Course Hero pgh1bs, slides 13-15): autocollimator, 100 mm base,
/// the mean of forward and backward readings, 1 second taken as 0.5 um. Position 0 is the datum.
#[test]
fn autocollimator_table() {
    // Seconds beyond 2'10" at positions 1 to 6; a constant is the level's zero.
    let seconds = [0.0, 3.0, 7.0, -2.0, 0.0, 4.0];
    let at: Vec<f64> = (0..6).map(|k| 0.05 + 0.1 * f64::from(k)).collect();
    // 0.5 um on 100 mm is 5 um/m per second, as the source rounds it.
    let shape = shape(
        &pass(&[(Line::Front, &at, &seconds)]),
        &level(5e-6, 0.1),
        0.6,
    );
    let front = shape.front.expect("the front way was read");
    let off: Vec<f64> = front
        .points
        .iter()
        .map(|point| point.off_line * 1e6)
        .collect();
    for (got, want) in off.iter().zip([0.0, -1.0, -0.5, 2.0, 0.0, -1.0, 0.0]) {
        assert_abs_diff_eq!(*got, want, epsilon = 1e-6);
    }
    let straightness = front.straightness.expect("seven places");
    assert_abs_diff_eq!(straightness.value * 1e6, 3.0, epsilon = 1e-6);
    assert!(shape.rear.is_none() && shape.twist.is_none());
}

/// Source: derived. After the end-point fit the deviation at step k of a chain of n equal steps L has
/// standard deviation L u sqrt(k(n-k)/n); L 200 mm, u 0.004 mm/m, n 10: 1.265 um in the middle.
#[test]
fn uncertainty_of_a_chain() {
    let at: Vec<f64> = (0..10).map(|k| 0.1 + 0.2 * f64::from(k)).collect();
    let readings = [1.0, 2.0, -1.0, 0.5, 0.25, 3.0, 1.0, -2.0, 0.75, 0.0];
    // One division of 0.02 mm/m read to 0.2 of it, rounding apart, is 0.004 mm/m.
    let level = level(2e-5, 0.2);
    let pass = pass(&[(Line::Front, &at, &readings)]);
    let adjustment = Adjustment::of(&pass, &level, 2.0, 0.4).expect("the pass has readings");
    let rounding = adjustment.observations().deviation() / 4e-6;
    let shape = BedShape::of(&adjustment, ReferenceLine::EndPoints);
    let front = shape.front.expect("the front way was read");
    for (k, point) in front.points.iter().enumerate() {
        let k = k as f64;
        let want = 0.2 * 4e-6 * (k * (10.0 - k) / 10.0).sqrt();
        assert_abs_diff_eq!(
            point.off_line_u95 / 1.959_964 / rounding,
            want,
            epsilon = 1e-11
        );
    }
    let middle = front.points[5].off_line_u95 / 1.959_964 / rounding;
    assert_abs_diff_eq!(middle * 1e6, 1.265, epsilon = 5e-4);
}

/// A chain is a table of sums: the prior between the readings may not bend it.
#[test]
fn chained_readings_give_the_cumulative_table() {
    let at: Vec<f64> = (0..12).map(|k| 0.15 + 0.2 * f64::from(k)).collect();
    let readings = [
        2.0, 1.5, 0.0, -3.25, 8.0, 0.25, -0.5, 1.0, 1.0, -7.5, 0.0, 4.0,
    ];
    let shape = shape(
        &pass(&[(Line::Rear, &at, &readings)]),
        &level(2e-5, 0.2),
        2.5,
    );
    let mut table = vec![0.0];
    for reading in readings {
        table.push(table[table.len() - 1] + reading * 2e-5 * 0.2);
    }
    let ends: Vec<f64> = (0..13).map(|k| 0.05 + 0.2 * f64::from(k)).collect();
    let want = ReferenceLine::EndPoints.departures(&ends, &table);
    let rear = shape.rear.expect("the rear way was read");
    for (point, want) in rear.points.iter().zip(want) {
        assert_abs_diff_eq!(point.off_line, want, epsilon = 1e-13);
    }
}

/// Source: common practice, no source. Walked along a crowned way from the headstock, the level shows the
/// tailstock end high, then nothing at the middle, then the headstock end high.
#[test]
fn tailstock_end_high_first_is_crown() {
    let at = [0.1, 0.3, 0.5, 0.7, 0.9];
    let level = level(2e-5, 0.2);
    for (sign, name) in [(1.0, "crown"), (-1.0, "sag")] {
        let readings = [2.0, 1.0, 0.0, -1.0, -2.0].map(|reading| sign * reading);
        let shape = shape(&pass(&[(Line::Front, &at, &readings)]), &level, 1.0);
        let crown = shape.front.and_then(|way| way.crown).expect("known");
        assert!(crown.value * sign > 0.0, "{name}: {}", crown.value);
        assert_abs_diff_eq!(
            crown.value.abs(),
            0.2 * 2e-5 * 3.0 * 0.8 + 0.0,
            epsilon = 4e-6
        );
    }
}

/// Cross readings alone give the twist as their range and no crown at all.
#[test]
fn cross_readings_alone_know_no_crown() {
    let at = [0.2, 0.7, 1.3, 1.9];
    let shape = shape(
        &pass(&[(Line::Cross, &at, &[1.5, 0.5, -1.0, 2.25])]),
        &level(2e-5, 0.2),
        2.0,
    );
    let twist = shape.twist.expect("four cross readings");
    assert_abs_diff_eq!(twist.value, 3.25 * 2e-5, epsilon = 1e-15);
    assert!(shape.front.is_none() && shape.rear.is_none());
    assert!(shape.zero_cross.is_none(), "nothing was reversed");
    for (slope, want) in shape.cross.iter().zip([1.5, 0.5, -1.0, 2.25]) {
        assert_abs_diff_eq!(slope.slope, want * 2e-5, epsilon = 1e-15);
    }
}

/// One way along and the cross readings give both ways.
#[test]
fn one_way_and_cross_give_both_ways() {
    let at: Vec<f64> = (0..8).map(|k| 0.2 + 0.2 * f64::from(k)).collect();
    let front = |x: f64| 3e-5 * x * (1.8 - x);
    let twist = |x: f64| 4e-5 * x;
    let along: Vec<f64> = at
        .iter()
        .map(|x| (front(x + 0.1) - front(x - 0.1)) / 0.2 / 2e-5)
        .collect();
    let ends: Vec<f64> = (0..9).map(|k| 0.1 + 0.2 * f64::from(k)).collect();
    let cross: Vec<f64> = ends.iter().map(|x| twist(*x) / 2e-5).collect();
    let pass = pass(&[(Line::Front, &at, &along), (Line::Cross, &ends, &cross)]);
    let shape = shape(&pass, &level(2e-5, 0.2), 1.8);
    let rear = shape.rear.expect("known through the front");
    assert!(rear.through_other);
    for point in &rear.points {
        let line = |x: f64| front(x) - 0.4 * twist(x);
        let (x0, x1) = (ends[0], ends[8]);
        let chord = line(x0) + (line(x1) - line(x0)) * (point.at - x0) / (x1 - x0);
        assert_abs_diff_eq!(point.off_line, line(point.at) - chord, epsilon = 1e-10);
    }
}

/// Source: reversal on the spot, standard method: the zero error is half the difference, the true tilt half
/// the sum.
#[test]
fn reversal_gives_the_zero_error() {
    let mut pass = pass(&[(Line::Cross, &[0.5, 1.5], &[1.5, 1.0])]);
    for (at, divisions) in [(0.5, 0.5), (1.5, 0.0)] {
        pass.readings.push(Reading {
            line: Line::Cross,
            reversed: true,
            at,
            entry: Entry::Read(vec![divisions]),
        });
    }
    let shape = shape(&pass, &level(2e-5, 0.2), 2.0);
    let zero = shape.zero_cross.expect("both stations were reversed");
    assert_abs_diff_eq!(zero.value / 2e-5, 0.5, epsilon = 1e-9);
    assert_abs_diff_eq!(shape.cross[0].slope / 2e-5, 1.0, epsilon = 1e-9);
    assert_abs_diff_eq!(shape.cross[1].slope / 2e-5, 0.5, epsilon = 1e-9);
}
