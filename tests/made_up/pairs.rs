//! Two passes of one bed with nothing turned in between.

use quarterturn::geometry::{Adjustment, BedShape, ReferenceLine};
use quarterturn::settle::trace::Compared;
use quarterturn::settle::{Change, Quantity};
use quarterturn::survey::{Level, Line, Pass};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::bed::Bed;
use super::walk::Walk;
use super::{REPEAT, read};

/// How the second pass differs from the first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pairing {
    /// Across only, at the same stations.
    CrossAgain,
    /// Along and across, at the same stations.
    Again,
    /// The same stations, along and across in the middle of the level.
    SharedAgain,
    /// The same stations with gaps, read with another level of the same length.
    OtherLevel,
    /// Along at the same places, across in between.
    CrossElsewhere,
    /// A level of another length at other stations.
    OtherLength,
}

impl Pairing {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::CrossAgain,
        Self::Again,
        Self::SharedAgain,
        Self::OtherLevel,
        Self::CrossElsewhere,
        Self::OtherLength,
    ];

    pub fn name(self) -> &'static str {
        match self {
            Self::CrossAgain => "across only, same stations",
            Self::Again => "chained, same stations",
            Self::SharedAgain => "chained, cross in its middle, same stations",
            Self::OtherLevel => "same stations with gaps, another level",
            Self::CrossElsewhere => "chained, cross elsewhere the second time",
            Self::OtherLength => "chained, level of another length the second time",
        }
    }

    fn walks(self) -> [Walk; 2] {
        match self {
            Self::CrossAgain => [Walk::CrossOnly; 2],
            Self::Again | Self::OtherLength => [Walk::Chained; 2],
            Self::SharedAgain => [Walk::ChainedShared; 2],
            Self::OtherLevel => [Walk::Gapped; 2],
            Self::CrossElsewhere => [Walk::Chained, Walk::ChainedShared],
        }
    }
}

/// Two passes of one bed.
pub struct Pair {
    /// The bed as it was at each pass.
    beds: [Bed; 2],
    levels: [Level; 2],
    passes: [Pass; 2],
}

impl Pair {
    /// The same number gives the same pair. Between the passes the floor under one foot sinks by this, m.
    pub fn new(number: u64, pairing: Pairing, sinks: f64) -> Self {
        Self::moved(number, pairing, |bed, generator, _| {
            bed.sink(generator.random_range(0..1000), sinks);
        })
    }

    /// A pair between which the bed twists evenly by this many times the expanded uncertainty that the first
    /// pass gives its twist.
    pub fn twisted(number: u64, pairing: Pairing, times: f64) -> Self {
        Self::moved(number, pairing, |bed, _, before| {
            let shape = before().map(|adjusted| BedShape::of(&adjusted, ReferenceLine::EndPoints));
            if let Some(twist) = shape.and_then(|shape| shape.twist) {
                bed.twist(times * twist.u95);
            }
        })
    }

    fn moved(
        number: u64,
        pairing: Pairing,
        moves: impl Fn(&mut Bed, &mut ChaCha8Rng, &dyn Fn() -> Option<Adjustment>),
    ) -> Self {
        let mut generator = ChaCha8Rng::seed_from_u64(number);
        let mut bed = Bed::random(&mut generator);
        let bases = match pairing {
            Pairing::OtherLength => [0.2, 0.3],
            _ => [0.2, 0.2],
        };
        let divisions = match pairing {
            Pairing::OtherLevel => [4e-5, 2e-5],
            _ => [2e-5, 2e-5],
        };
        let levels = [0, 1].map(|pass| Level {
            name: "made up".into(),
            division: divisions[pass],
            base: Some(bases[pass]),
            range: None,
            repeat: Some(REPEAT),
            ..Level::default()
        });
        let walks = pairing.walks();
        let first = walks[0].stations(&bed, bases[0], &mut generator);
        let second = if walks[0] == walks[1] && bases[0].to_bits() == bases[1].to_bits() {
            first.clone()
        } else {
            walks[1].stations(&bed, bases[1], &mut generator)
        };
        let before = read(&bed, &levels[0], &first, &mut generator);
        let still = bed.clone();
        let adjusted = || Adjustment::of(&before, &levels[0], still.length, still.spacing).ok();
        moves(&mut bed, &mut generator, &adjusted);
        let after = read(&bed, &levels[1], &second, &mut generator);
        Self {
            beds: [still, bed],
            levels,
            passes: [before, after],
        }
    }

    /// The same pair, the second pass taken first.
    pub fn turned_about(mut self) -> Self {
        self.beds.reverse();
        self.levels.reverse();
        self.passes.reverse();
        self
    }

    /// What the joint test says of the two passes.
    pub fn change(&self) -> Option<Change> {
        let adjusted = |pass: usize| {
            let Bed {
                length, spacing, ..
            } = self.beds[0];
            Adjustment::of(&self.passes[pass], &self.levels[pass], length, spacing).ok()
        };
        Change::between(&adjusted(0)?, &adjusted(1)?)
    }

    /// Whether the joint test calls it a change.
    pub fn is_called_a_change(&self) -> bool {
        self.change().is_some_and(|change| change.is_real())
    }

    /// Both passes, adjusted at all places at which they are compared.
    pub fn compared(&self) -> Option<Compared> {
        let [first, second] = [0, 1].map(|pass| (&self.passes[pass], &self.levels[pass]));
        let bed = &self.beds[0];
        Compared::read(&[first, second], bed.length, bed.spacing)
    }

    /// What really changed of what is followed, at places at which it is compared.
    pub fn changed(&self, quantity: Quantity, at: f64) -> f64 {
        let [before, after] = [0, 1].map(|pass| match quantity {
            Quantity::Twist => self.beds[pass].slope(Line::Cross, at, 0.0),
            Quantity::Crown(side) => self.beds[pass].height(side, at),
        });
        after - before
    }
}
