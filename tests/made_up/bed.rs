//! Made-up beds.

use std::f64::consts::PI;

use quarterturn::survey::{Line, Side};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};

/// A bed of feet on an uneven floor, and worn.
#[derive(Clone)]
pub struct Bed {
    pub length: f64,
    pub spacing: f64,
    feet: Vec<f64>,
    lift: Vec<[f64; 2]>,
    reach: [f64; 2],
    wear: [[f64; 3]; 2],
    /// Cross slope gained from end to end, m/m.
    twist: f64,
    /// Height, length and beginning of a wave in either way, m.
    wave: [[f64; 3]; 2],
    /// Heights of either way at every [`GRAIN`], beside all else, m.
    rough: [Vec<f64>; 2],
}

/// Ways are rough from here to there, m.
const GRAIN: f64 = 0.05;

impl Bed {
    pub fn random(generator: &mut ChaCha8Rng) -> Self {
        let length = [1.2, 2.0, 2.9, 4.2, 7.5][generator.random_range(0..5)];
        let places = [3, 4, 5, 6, 8][generator.random_range(0..5)];
        let pitch = length / f64::from(places);
        let feet = (0..places).map(|k| pitch * (f64::from(k) + 0.5)).collect();
        let unevenness = 10f64.powf(generator.random_range(-5.3..-3.7));
        let normal = Normal::new(0.0, unevenness).expect("a finite deviation");
        let lift = (0..places)
            .map(|_| [normal.sample(generator), normal.sample(generator)])
            .collect();
        let mut wear = [[0.0; 3]; 2];
        for way in &mut wear {
            *way = [
                -generator.random_range(0.0..12e-6),
                generator.random_range(0.15..0.5) * length,
                generator.random_range(0.08..0.2) * length,
            ];
        }
        Self {
            length,
            spacing: generator.random_range(0.25..0.7),
            feet,
            lift,
            reach: [
                pitch * generator.random_range(0.6..1.6),
                pitch * generator.random_range(0.4..1.2),
            ],
            wear,
            twist: 0.0,
            wave: [[0.0, 1.0, 0.0]; 2],
            rough: [Vec::new(), Vec::new()],
        }
    }

    /// Lets the floor under one foot sink by this, m.
    pub fn sink(&mut self, foot: usize, by: f64) {
        let pairs = self.lift.len();
        self.lift[foot % pairs][foot / pairs % 2] -= by;
    }

    /// Twists the bed evenly by this from end to end, m/m.
    pub fn twist(&mut self, by: f64) {
        self.twist += by;
    }

    /// Height of a way: lifts spread as on an elastic foundation, and a worn hollow.
    pub fn height(&self, side: Side, x: f64) -> f64 {
        let sign = if side == Side::Front { 1.0 } else { -1.0 };
        let mut height = sign * 0.5 * self.spacing * self.twist * x / self.length;
        for (foot, [front, rear]) in self.feet.iter().zip(&self.lift) {
            let s = (x - foot).abs() / self.reach[0];
            height += 0.5 * (front + rear) * (-s).exp() * (s.cos() + s.sin());
            let s = (x - foot).abs() / self.reach[1];
            // Rounded at the foot: a real foot is as wide as a hand.
            height += sign * 0.5 * (front - rear) * (1.0 + s) * (-s).exp();
        }
        let way = usize::from(side == Side::Rear);
        let [depth, at, width] = self.wear[way];
        let [wave, length, begins] = self.wave[way];
        height
            + depth * (-((x - at) / width).powi(2)).exp()
            + wave * (2.0 * PI * (x - begins) / length).sin()
            + rough_at(&self.rough[way], x)
    }

    pub fn slope(&self, line: Line, at: f64, half: f64) -> f64 {
        let along =
            |side| (self.height(side, at + half) - self.height(side, at - half)) / (2.0 * half);
        match line {
            Line::Cross => {
                (self.height(Side::Front, at) - self.height(Side::Rear, at)) / self.spacing
            }
            Line::Front => along(Side::Front),
            Line::Rear => along(Side::Rear),
        }
    }

    /// Makes both ways rough by this from station to station, standard deviation, m.
    pub fn roughen(&mut self, by: f64, generator: &mut ChaCha8Rng) {
        let normal = Normal::new(0.0, by).expect("a finite deviation");
        // One more than the length holds, for what lies between the last two.
        let mut grains = (self.length / GRAIN).ceil() + 1.0;
        self.rough = [Vec::new(), Vec::new()];
        while grains >= 0.0 {
            for way in &mut self.rough {
                way.push(normal.sample(generator));
            }
            grains -= 1.0;
        }
    }

    /// Gives both ways waves of 2 to 8 um either way, 0.5 to 1.2 m long.
    pub fn make_wavy(&mut self, generator: &mut ChaCha8Rng) {
        for wave in &mut self.wave {
            let length = generator.random_range(0.5..1.2);
            *wave = [
                generator.random_range(2e-6..8e-6),
                length,
                generator.random_range(0.0..length),
            ];
        }
    }

    /// Takes every lift and all wear away.
    pub fn flatten(&mut self) {
        self.lift.fill([0.0; 2]);
        self.wear = [[0.0, 0.0, 1.0]; 2];
    }
}

/// Between its grains a way is straight.
fn rough_at(grains: &[f64], x: f64) -> f64 {
    let before = (x / GRAIN).floor().max(0.0);
    let mut after = grains.iter().skip_while({
        let mut skipped = 0.0;
        move |_| {
            skipped += 1.0;
            skipped <= before
        }
    });
    let (low, high) = (after.next(), after.next());
    let share = x / GRAIN - before;
    low.zip(high)
        .map_or(0.0, |(low, high)| low * (1.0 - share) + high * share)
}
