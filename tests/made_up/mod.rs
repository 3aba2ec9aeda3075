//! Made-up beds, read with a made-up level by a person who sometimes slips.
//!
//! The beds do not have the form that the adjustment's prior supposes: feet on an uneven floor lift a bed
//! that spreads the lifts as an elastic foundation would, and both ways are worn.

// Every program that borrows this uses another part of it.
#![allow(dead_code)]

pub mod bed;
pub mod pairs;
pub mod places;
pub mod slips;
pub mod tally;
pub mod walk;

use quarterturn::geometry::Adjustment;
use quarterturn::survey::{Conditions, Entry, Level, Line, Pass, Reading};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};

use bed::Bed;
use walk::Walk;

/// Scatter of a reading, divisions.
const REPEAT: f64 = 0.2;
/// Readings are written down to this part of a division.
const STEP: f64 = 0.25;

/// What is done to a made-up bed before it is read.
#[derive(Debug, Clone, Copy)]
pub enum Form {
    /// Nothing.
    AsItStands,
    /// Nothing is left of it but an even twist from end to end, m/m.
    EvenlyTwisted(f64),
    /// Its ways are rough by this from station to station, m.
    Rough(f64),
    /// Nothing is left of it but waves in both ways.
    Wavy,
}

/// One bed, read once.
pub struct Case {
    pub number: u64,
    pub bed: Bed,
    pub level: Level,
    pub pass: Pass,
    pub generator: ChaCha8Rng,
}

impl Case {
    /// The same number gives the same case.
    pub fn new(number: u64, walk: Walk) -> Self {
        let mut generator = ChaCha8Rng::seed_from_u64(number);
        let bed = Bed::random(&mut generator);
        let base = [0.15, 0.2, 0.3][generator.random_range(0..3)];
        let level = Level {
            name: "made up".into(),
            division: [2e-5, 4e-5, 5e-5][generator.random_range(0..3)],
            base: Some(base),
            range: None,
            repeat: Some(REPEAT),
            ..Level::default()
        };
        let stations = walk.stations(&bed, base, &mut generator);
        let pass = read(&bed, &level, &stations, &mut generator);
        Self {
            number,
            bed,
            level,
            pass,
            generator,
        }
    }

    /// A bed of this form, walked with a level of 0.02 mm/m whose scatter is stated as a share of what it is. The
    /// same number gives the same case.
    pub fn formed(number: u64, walk: Walk, form: Form, stated: f64) -> Self {
        let mut generator = ChaCha8Rng::seed_from_u64(number);
        let mut bed = Bed::random(&mut generator);
        match form {
            Form::AsItStands => {}
            Form::EvenlyTwisted(by) => {
                bed.flatten();
                bed.twist(by);
            }
            Form::Rough(by) => bed.roughen(by, &mut generator),
            Form::Wavy => {
                bed.flatten();
                bed.make_wavy(&mut generator);
            }
        }
        let level = Level {
            name: "made up".into(),
            division: 2e-5,
            base: Some(0.2),
            range: None,
            repeat: Some(stated * REPEAT),
            ..Level::default()
        };
        let stations = walk.stations(&bed, 0.2, &mut generator);
        let pass = read(&bed, &level, &stations, &mut generator);
        Self {
            number,
            bed,
            level,
            pass,
            generator,
        }
    }

    /// Takes all readings that leave a scale of so many divisions for what they would then be: only known to be
    /// beyond it. How many did.
    pub fn read_on_scale(&mut self, end: f64) -> usize {
        let mut beyond = 0;
        for reading in &mut self.pass.readings {
            if let Entry::Read(seen) = &reading.entry
                && seen[0].abs() > end
            {
                reading.entry = Entry::OffScale(end * seen[0].signum());
                beyond += 1;
            }
        }
        beyond
    }

    /// The pass, adjusted; nothing when no reading was taken.
    pub fn adjusted(&self) -> Option<Adjustment> {
        Adjustment::of(&self.pass, &self.level, self.bed.length, self.bed.spacing).ok()
    }
}

/// Readings at these stations, scattered and rounded.
pub fn read(
    bed: &Bed,
    level: &Level,
    stations: &[(Line, f64)],
    generator: &mut ChaCha8Rng,
) -> Pass {
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
        felt: false,
        barely: vec![],
        note: None,
        conditions: Conditions::default(),
        turned: None,
    }
}
