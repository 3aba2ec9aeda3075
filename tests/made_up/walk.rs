//! Where the level is laid down.

use quarterturn::survey::Line;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

use super::bed::Bed;

/// Where the level is laid down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Walk {
    /// Along both ways end to end, across at the ends of the level.
    Chained,
    /// Along both ways end to end, across at the same stations.
    ChainedShared,
    /// Along both ways with gaps of up to a base, across at other places, some readings missing.
    Gapped,
    /// Chained, and every fifth reading left out by chance.
    Holed,
    /// Across only.
    CrossOnly,
    /// Along both ways end to end, across at three ends of the level: two closed loops.
    TwoLoops,
}

impl Walk {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Chained,
        Self::ChainedShared,
        Self::Gapped,
        Self::Holed,
        Self::CrossOnly,
    ];

    pub fn name(self) -> &'static str {
        match self {
            Self::Chained => "chained, cross at the ends of the level",
            Self::ChainedShared => "chained, cross in its middle",
            Self::Gapped => "gapped, cross elsewhere, some missing",
            Self::Holed => "chained, a fifth missing anywhere",
            Self::CrossOnly => "cross only",
            Self::TwoLoops => "chained, cross at three places",
        }
    }

    pub fn stations(self, bed: &Bed, base: f64, generator: &mut ChaCha8Rng) -> Vec<(Line, f64)> {
        match self {
            Self::Chained => chained(bed, base, false),
            Self::ChainedShared => chained(bed, base, true),
            Self::Gapped => gapped(bed, base, generator),
            Self::Holed => {
                let mut stations = chained(bed, base, false);
                stations.retain(|_| generator.random_bool(0.8));
                stations
            }
            Self::TwoLoops => {
                let mut stations = chained(bed, base, false);
                let cross = stations.iter().filter(|(line, _)| *line == Line::Cross);
                let last = cross.clone().count() - 1;
                let kept: Vec<f64> = [0, last / 2, last]
                    .iter()
                    .filter_map(|k| Some(cross.clone().nth(*k)?.1))
                    .collect();
                stations.retain(|(line, at)| *line != Line::Cross || kept.contains(at));
                stations
            }
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
