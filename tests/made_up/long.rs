//! The text of surveys of long beds, the same in every run.

use std::fmt::Write as _;

use quarterturn::survey::Side;

/// Length of the level, and so the distance of two stations, mm.
const BASE: f64 = 200.0;
/// Distance between the ways, mm.
const SPACING: f64 = 400.0;
/// Graduation of the level, m/m.
const DIVISION: f64 = 2e-5;
/// How far a foot spreads its lift along the bed in bending and in torsion, in shares of the distance of two pairs.
const SPREAD: [f64; 2] = [0.9, 0.7];
/// What is left of the unevenness after a round.
const LEFT: f64 = 0.7;

/// A bed on so many pairs of feet, walked along both ways end to end.
#[derive(Debug, Clone, Copy)]
pub struct Long {
    pub pairs: usize,
    /// Stations along the bed; each is read across and along both ways.
    pub stations: usize,
    pub passes: usize,
}

/// Beds that grow in length and in how often they were read.
pub const LONG: [Long; 4] = [
    Long::once(5, 17),
    Long::once(10, 50),
    Long::once(25, 100),
    Long::once(60, 300),
];

impl Long {
    pub const fn once(pairs: usize, stations: usize) -> Self {
        Self {
            pairs,
            stations,
            passes: 1,
        }
    }

    fn length(self) -> f64 {
        self.stations as f64 * BASE + BASE / 2.0
    }

    fn pitch(self) -> f64 {
        self.length() / self.pairs as f64
    }

    fn foot_at(self, pair: usize) -> f64 {
        (self.pitch() * (pair as f64 + 0.5)).round()
    }

    /// Unevenness of the front and rear foot of a pair, mm.
    fn uneven(pair: usize) -> [f64; 2] {
        [0, 1].map(|side| 0.06 * (scattered(2 * pair + side) - 0.5))
    }

    /// Height of a way, mm.
    fn height(self, side: Side, at: f64) -> f64 {
        let sign = if side == Side::Front { 1.0 } else { -1.0 };
        (0..self.pairs)
            .map(|pair| {
                let [front, rear] = Self::uneven(pair);
                let away = (at - self.foot_at(pair)).abs() / self.pitch();
                let [bend, twist] = SPREAD.map(|spread| away / spread);
                0.5 * (front + rear) * (-bend).exp() * (bend.cos() + bend.sin())
                    + sign * 0.5 * (front - rear) * (1.0 + twist) * (-twist).exp()
            })
            .sum()
    }

    /// The survey.
    pub fn text(self) -> String {
        let feet: Vec<f64> = (0..self.pairs).map(|pair| self.foot_at(pair)).collect();
        let stations: Vec<f64> = (0..self.stations)
            .map(|k| BASE / 4.0 + BASE * (k as f64 + 0.5))
            .collect();
        let mut text = format!(
            "format = 1\nunits = \"mm\"\n[bed]\nlength = {}\nway_spacing = {SPACING}\n[feet]\nat = {feet:?}\nspacing = 360\n\
             lift_per_turn = 0.5\nsmallest_turn = \"1/24\"\n[level.master]\ndivision = \"0.02 mm/m\"\nbase = {BASE}\n\
             range = 40\nrepeat = 0.2\n[limits]\ntwist = \"0.04 mm/m\"\ncrown = [0, 0.02]\n",
            self.length()
        );
        let mut left = 1.0;
        for pass in 0..self.passes {
            let _ = writeln!(
                text,
                "[[pass]]\nlevel = \"master\"\nstations = {stations:?}"
            );
            for (line, (high, low), name) in [
                (0, ('F', 'R'), "cross"),
                (1, ('T', 'H'), "front"),
                (2, ('T', 'H'), "rear"),
            ] {
                let read = |(k, at): (usize, &f64)| {
                    let rise = if line == 0 {
                        (self.height(Side::Front, *at) - self.height(Side::Rear, *at)) / SPACING
                    } else {
                        let side = if line == 1 { Side::Front } else { Side::Rear };
                        (self.height(side, at + BASE / 2.0) - self.height(side, at - BASE / 2.0))
                            / BASE
                    };
                    let scatter = 0.6 * (scattered(1000 * pass + 7 * k + line) - 0.5);
                    let quarters = (4.0 * (left * rise / DIVISION + scatter)).round() / 4.0;
                    let letter = if quarters > 0.0 { high } else { low };
                    if quarters == 0.0 {
                        "\"0\"".to_owned()
                    } else {
                        format!("\"{}{letter}\"", quarters.abs())
                    }
                };
                let readings: Vec<String> = stations.iter().enumerate().map(read).collect();
                let _ = writeln!(text, "{name} = [{}]", readings.join(", "));
            }
            if pass + 1 < self.passes {
                text.push_str("[pass.turned]\n");
                for pair in 0..self.pairs {
                    for (side, uneven) in ["F", "R"].iter().zip(Self::uneven(pair)) {
                        let turns = -uneven * left * (1.0 - LEFT) / 0.5 * 4.0;
                        let _ = writeln!(text, "{side}{} = {:.2}", pair + 1, turns);
                    }
                }
                left *= LEFT;
            }
        }
        text
    }
}

/// A number between nought and one that looks like chance.
fn scattered(number: usize) -> f64 {
    ((number as f64 * 12.9898).sin() * 43_758.545_3).rem_euclid(1.0)
}
