//! How honest the uncertainties are: made-up beds are read with a made-up level, and the program counts
//! how often the 95 % intervals hold the truth.
//!
//! `cargo run --release --example coverage [passes per row]`

use quarterturn::geometry::{Adjustment, BedShape, ReferenceLine};
use quarterturn::survey::{Entry, Level, Line, Pass, Reading, Side};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};

/// A bed of feet on an uneven floor, and worn.
struct Bed {
    length: f64,
    spacing: f64,
    feet: Vec<f64>,
    lift: Vec<[f64; 2]>,
    reach: [f64; 2],
    wear: [[f64; 3]; 2],
}

impl Bed {
    fn random(generator: &mut ChaCha8Rng) -> Self {
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
        }
    }

    /// Height of a way: lifts spread as on an elastic foundation, and a worn hollow.
    fn height(&self, side: Side, x: f64) -> f64 {
        let sign = if side == Side::Front { 1.0 } else { -1.0 };
        let mut height = 0.0;
        for (foot, [front, rear]) in self.feet.iter().zip(&self.lift) {
            let s = (x - foot).abs() / self.reach[0];
            height += 0.5 * (front + rear) * (-s).exp() * (s.cos() + s.sin());
            let s = (x - foot).abs() / self.reach[1];
            // Rounded at the foot: a real foot is as wide as a hand.
            height += sign * 0.5 * (front - rear) * (1.0 + s) * (-s).exp();
        }
        let [depth, at, width] = self.wear[usize::from(side == Side::Rear)];
        height + depth * (-((x - at) / width).powi(2)).exp()
    }

    fn slope(&self, line: Line, at: f64, half: f64) -> f64 {
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
}

/// Where the level is laid down.
#[derive(Clone, Copy, PartialEq)]
enum Walk {
    /// Along both ways end to end, across at the ends of the level.
    Chained,
    /// Along both ways end to end, across at the same stations.
    ChainedShared,
    /// Along both ways with gaps of up to a base, across at other places, some readings missing.
    Gapped,
    /// Across only.
    CrossOnly,
}

impl Walk {
    fn name(self) -> &'static str {
        match self {
            Self::Chained => "chained, cross at the ends of the level",
            Self::ChainedShared => "chained, cross in its middle",
            Self::Gapped => "gapped, cross elsewhere, some missing",
            Self::CrossOnly => "cross only",
        }
    }

    fn stations(self, bed: &Bed, base: f64, generator: &mut ChaCha8Rng) -> Vec<(Line, f64)> {
        match self {
            Self::Chained => chained(bed, base, false),
            Self::ChainedShared => chained(bed, base, true),
            Self::Gapped => gapped(bed, base, generator),
            Self::CrossOnly => (0..9)
                .map(|k| (Line::Cross, bed.length * (f64::from(k) + 0.5) / 9.0))
                .collect(),
        }
    }
}

fn chained(bed: &Bed, base: f64, shared: bool) -> Vec<(Line, f64)> {
    let mut stations = Vec::new();
    let mut at = (bed.length % base) / 2.0;
    while at + base < bed.length + 1e-9 {
        let middle = at + base / 2.0;
        stations.push((Line::Front, middle));
        stations.push((Line::Rear, middle));
        stations.push((Line::Cross, if shared { middle } else { at }));
        at += base;
    }
    if !shared {
        stations.push((Line::Cross, at));
    }
    stations
}

fn gapped(bed: &Bed, base: f64, generator: &mut ChaCha8Rng) -> Vec<(Line, f64)> {
    let mut stations = Vec::new();
    let stride = base * generator.random_range(1.2..2.0);
    let mut middle = base / 2.0;
    while middle + base / 2.0 < bed.length {
        for line in [Line::Front, Line::Rear] {
            if generator.random_bool(0.93) {
                stations.push((line, middle));
            }
        }
        middle += stride;
    }
    let mut at = stride * 0.4;
    while at < bed.length {
        if generator.random_bool(0.93) {
            stations.push((Line::Cross, at));
        }
        at += stride;
    }
    stations
}

const REPEAT: f64 = 0.2;
const STEP: f64 = 0.25;

fn read(bed: &Bed, level: &Level, stations: &[(Line, f64)], generator: &mut ChaCha8Rng) -> Pass {
    let scatter = Normal::new(0.0, REPEAT).expect("a finite deviation");
    let zero = [
        generator.random_range(-1.5..1.5),
        generator.random_range(-1.5..1.5),
    ];
    let half = level.base.unwrap_or(0.2) / 2.0;
    let readings = stations
        .iter()
        .map(|(line, at)| {
            let zero = zero[usize::from(*line != Line::Cross)];
            let divisions =
                bed.slope(*line, *at, half) / level.division + zero + scatter.sample(generator);
            Reading {
                line: *line,
                reversed: false,
                at: *at,
                entry: Entry::Read(vec![(divisions / STEP).round() * STEP]),
            }
        })
        .collect();
    Pass {
        taken: None,
        level: level.name.clone(),
        readings,
        hanging: vec![],
        note: None,
        turned: None,
    }
}

#[derive(Default)]
struct Share {
    held: usize,
    of: usize,
}

impl Share {
    fn count(&mut self, held: bool) {
        self.held += usize::from(held);
        self.of += 1;
    }

    fn text(&self) -> String {
        if self.of == 0 {
            return "-".into();
        }
        format!("{:.1}%", 100.0 * self.held as f64 / self.of as f64)
    }
}

#[derive(Default)]
struct Tally {
    heights: Share,
    twist: Share,
    crown: Share,
    straightness: Share,
}

impl Tally {
    fn add(&mut self, bed: &Bed, shape: &BedShape) {
        for way in shape.ways() {
            let at: Vec<f64> = way.points.iter().map(|point| point.at).collect();
            let truth: Vec<f64> = at.iter().map(|x| bed.height(way.side, *x)).collect();
            let off = ReferenceLine::EndPoints.departures(&at, &truth);
            // The two ends are on the line by definition.
            for (point, truth) in way.points.iter().zip(&off).skip(1).take(at.len() - 2) {
                self.heights
                    .count((point.off_line - truth).abs() <= point.off_line_u95);
            }
            if let Some(straightness) = way.straightness {
                let truth = ReferenceLine::EndPoints.straightness(&at, &truth);
                self.straightness
                    .count((straightness.value - truth).abs() <= straightness.u95);
            }
            if let Some(crown) = way.crown {
                let truth = off
                    .iter()
                    .fold(0.0, |a: f64, b| if b.abs() > a.abs() { *b } else { a });
                self.crown.count((crown.value - truth).abs() <= crown.u95);
            }
        }
        if let Some(twist) = shape.twist {
            let (low, high) = shape
                .cross
                .iter()
                .map(|slope| bed.slope(Line::Cross, slope.at, 0.0))
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), s| {
                    (a.min(s), b.max(s))
                });
            self.twist
                .count((twist.value - (high - low)).abs() <= twist.u95);
        }
    }
}

fn main() {
    let passes: u64 = std::env::args()
        .nth(1)
        .and_then(|n| n.parse().ok())
        .unwrap_or(500);
    println!("{passes} passes a row, every pass another bed");
    println!("share of 95 % intervals that hold the truth\n");
    println!(
        "{:<42} {:>8} {:>8} {:>8} {:>13}",
        "stations", "heights", "twist", "crown", "straightness"
    );
    for walk in [
        Walk::Chained,
        Walk::ChainedShared,
        Walk::Gapped,
        Walk::CrossOnly,
    ] {
        let mut tally = Tally::default();
        for seed in 0..passes {
            let mut generator = ChaCha8Rng::seed_from_u64(seed);
            let bed = Bed::random(&mut generator);
            let base = [0.15, 0.2, 0.3][generator.random_range(0..3)];
            let level = Level {
                name: "made up".into(),
                division: [2e-5, 4e-5, 5e-5][generator.random_range(0..3)],
                base: Some(base),
                range: None,
                repeat: Some(REPEAT),
            };
            let stations = walk.stations(&bed, base, &mut generator);
            let pass = read(&bed, &level, &stations, &mut generator);
            if let Ok(adjustment) = Adjustment::of(&pass, &level, bed.length, bed.spacing) {
                tally.add(&bed, &BedShape::of(&adjustment, ReferenceLine::EndPoints));
            }
        }
        println!(
            "{:<42} {:>8} {:>8} {:>8} {:>13}",
            walk.name(),
            tally.heights.text(),
            tally.twist.text(),
            tally.crown.text(),
            tally.straightness.text()
        );
    }
}
