//! The mistakes that people make when they write readings down.

use crate::survey::{Entry, Pass};

/// A mistake in one reading of a pass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Slip {
    /// The letter of the wrong side.
    WrongLetter,
    /// So many divisions misread, + towards the positive side.
    Misread(f64),
    /// Written in the place of the next reading, and the next in its place.
    SwappedWithNext,
}

impl Slip {
    /// Makes the mistake in the reading with this index. Returns whether it changed the pass: a reading that is
    /// missing, a zero with the wrong letter or the last reading of a line cannot go wrong this way.
    pub fn make(self, pass: &mut Pass, reading: usize) -> bool {
        let before = pass.clone();
        match self {
            Self::WrongLetter => change(pass, reading, |value| 0.0 - value),
            Self::Misread(divisions) => change(pass, reading, |value| value + divisions),
            Self::SwappedWithNext => swap(pass, reading),
        }
        *pass != before
    }
}

fn change(pass: &mut Pass, reading: usize, slip: impl Fn(f64) -> f64) {
    match pass
        .readings
        .get_mut(reading)
        .map(|reading| &mut reading.entry)
    {
        Some(Entry::Read(values)) => values.iter_mut().for_each(|value| *value = slip(*value)),
        Some(Entry::OffScale(bound)) => *bound = bound.abs().copysign(slip(*bound)),
        Some(Entry::Missing) | None => {}
    }
}

fn swap(pass: &mut Pass, reading: usize) {
    let Some([one, next]) = pass
        .readings
        .get_mut(reading..)
        .and_then(|rest| rest.first_chunk_mut())
    else {
        return;
    };
    if one.line == next.line && one.reversed == next.reversed {
        std::mem::swap(&mut one.entry, &mut next.entry);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::{Conditions, Line, Reading};

    fn pass() -> Pass {
        let reading = |line, at, entry| Reading {
            line,
            reversed: false,
            at,
            entry,
        };
        Pass {
            taken: None,
            level: "master".to_string(),
            readings: vec![
                reading(Line::Cross, 0.1, Entry::Read(vec![1.5])),
                reading(Line::Cross, 0.2, Entry::OffScale(-10.0)),
                reading(Line::Front, 0.1, Entry::Missing),
                reading(Line::Front, 0.2, Entry::Read(vec![0.0])),
            ],
            hanging: vec![],
            felt: false,
            barely: vec![],
            note: None,
            conditions: Conditions::default(),
            turned: None,
        }
    }

    fn after(slip: Slip, reading: usize) -> Option<Vec<Entry>> {
        let mut pass = pass();
        let changed = slip.make(&mut pass, reading);
        changed.then(|| {
            pass.readings
                .into_iter()
                .map(|reading| reading.entry)
                .collect()
        })
    }

    #[test]
    fn each_slip_changes_what_it_says() {
        assert_eq!(
            after(Slip::WrongLetter, 0).unwrap()[0],
            Entry::Read(vec![-1.5])
        );
        assert_eq!(
            after(Slip::WrongLetter, 1).unwrap()[1],
            Entry::OffScale(10.0)
        );
        assert_eq!(
            after(Slip::Misread(-1.0), 0).unwrap()[0],
            Entry::Read(vec![0.5])
        );
        let swapped = after(Slip::SwappedWithNext, 0).unwrap();
        assert_eq!(
            swapped[..2],
            [Entry::OffScale(-10.0), Entry::Read(vec![1.5])]
        );
    }

    #[test]
    fn a_slip_that_cannot_be_made_changes_nothing() {
        assert_eq!(after(Slip::WrongLetter, 2), None);
        assert_eq!(after(Slip::WrongLetter, 3), None);
        assert_eq!(after(Slip::SwappedWithNext, 1), None);
        assert_eq!(after(Slip::SwappedWithNext, 3), None);
        assert_eq!(after(Slip::Misread(1.0), 9), None);
    }
}
