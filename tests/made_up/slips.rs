//! What goes wrong when readings are taken and written down.

use quarterturn::geometry::Slip;
use quarterturn::survey::{Entry, Line, Pass};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// A reading is worth mixing up from this on, divisions.
pub const TELLING: f64 = 2.0;

fn divisions(pass: &Pass, k: usize) -> f64 {
    match &pass.readings[k].entry {
        Entry::Read(seen) => seen[0],
        _ => 0.0,
    }
}

fn write(pass: &mut Pass, k: usize, divisions: f64) {
    pass.readings[k].entry = Entry::Read(vec![divisions]);
}

/// The next station of the same line.
fn next(pass: &Pass, k: usize) -> Option<usize> {
    (k + 1..pass.readings.len()).find(|&j| pass.readings[j].line == pass.readings[k].line)
}

/// Makes a slip somewhere in the pass; the positions of the readings it spoils, or nothing where no
/// reading is telling enough.
pub fn slip_in(pass: &mut Pass, slip: Slip, generator: &mut ChaCha8Rng) -> Option<Vec<usize>> {
    let all = 0..pass.readings.len();
    let candidates: Vec<usize> = match slip {
        Slip::Side => all
            .filter(|&k| divisions(pass, k).abs() >= TELLING)
            .collect(),
        Slip::Neighbours => all
            .filter(|&k| {
                next(pass, k)
                    .is_some_and(|j| (divisions(pass, j) - divisions(pass, k)).abs() >= TELLING)
            })
            .collect(),
        _ => all.collect(),
    };
    if candidates.is_empty() {
        return None;
    }
    let k = candidates[generator.random_range(0..candidates.len())];
    let sign = if generator.random_bool(0.5) {
        1.0
    } else {
        -1.0
    };
    let seen = divisions(pass, k);
    match slip {
        Slip::Side => write(pass, k, -seen),
        Slip::TenDivisions => write(pass, k, seen + 10.0 * sign),
        Slip::OneDivision => write(pass, k, seen + sign),
        Slip::Unknown => {
            let by = f64::from(generator.random_range(12..30)) * 0.25;
            write(pass, k, seen + sign * by);
        }
        Slip::Neighbours => {
            let j = next(pass, k)?;
            let other = divisions(pass, j);
            write(pass, k, other);
            write(pass, j, seen);
            return Some(vec![k, j]);
        }
        Slip::TurnedBetweenLines => {
            // Turning changes the sign of the zero error: as much again as it was, and not to be missed.
            let by = f64::from(generator.random_range(8..16)) * 0.25 * sign;
            let rear: Vec<usize> = (0..pass.readings.len())
                .filter(|&k| pass.readings[k].line == Line::Rear)
                .collect();
            for k in &rear {
                let seen = divisions(pass, *k);
                write(pass, *k, seen + by);
            }
            return (!rear.is_empty()).then_some(rear);
        }
    }
    Some(vec![k])
}
