//! Readings that do not fit the others, and what probably went wrong.
//!
//! One wrong reading at a time is sought (data snooping: Baarda 1968), but not in the closed loops alone:
//! inside one bay a wrong front step looks exactly like a wrong rear step. What tells them apart is that a
//! bed is smooth, and that people slip in a few known ways. So every reading and every [`Slip`] is weighed
//! as an explanation of the whole pass: how much more credible would the readings be, on a bed as smooth as
//! suits them best, had this slip not been made? ([`Weighing`])
//!
//! An explanation counts once the gain in twice the log likelihood exceeds what chance would give: for the
//! same known change of one reading on a clean pass it exceeds T at most with the normal probability beyond
//! √T, whatever the size of the change, and for a free change of one reading with the probability of both
//! tails. Readings off the scale do not take part: taken as numbers they would fall short by nobody knows how
//! much, always on the side of the scale, and that looks like a line that was read with another zero. Each kind
//! of slip has its share of the family-wise risk, spread evenly over all readings (Šidák).
//!
//! Smoothness tells which reading is wrong, not that one is: ways may be rough. So a reading is accused only where the
//! readings contradict each other (`SPOKEN_FOR`); what nothing but a smooth bed speaks against is called rough.

use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ContinuousCDF, Normal};

use super::adjustment::Adjustment;
use super::figure::COVERAGE_95;
use super::observation::Observation;
use super::weighing::{Change, Weighed, Weighing};
use crate::survey::Line;

/// A reading is accused only where the readings by themselves, whatever the bed is like between them, fit better without
/// the slip, and by more than chance does 95 times in 100: a gain of this in their sum of squares.
const SPOKEN_FOR: f64 = COVERAGE_95 * COVERAGE_95;

/// With fewer contrasts than this the roughness alone explains anything.
const FEWEST_CONTRASTS: usize = 4;

/// How many of the best explanations are weighed to the end.
const SHORT_LIST: usize = 12;

/// Explanations of other readings whose gain is this close to the best cannot be told from it: the best is
/// then less than twenty times as credible.
const RIVAL_MARGIN: f64 = 6.0;

/// Without closed loops the smoothness of the bed is the only witness, and a place where the bed is worn
/// or sits on a foot is no slip: gains must be this much larger.
const WITHOUT_CLOSURE: f64 = 1.2;

/// What went wrong when the reading was taken or written down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Slip {
    /// The wrong letter: the other side is high.
    Side,
    /// Ten divisions too many or too few.
    TenDivisions,
    /// One division too many or too few.
    OneDivision,
    /// Two neighbouring stations of a line written down in each other's place.
    Neighbours,
    /// The level was turned end for end between the front and the rear line.
    TurnedBetweenLines,
    /// None of the slips that are known.
    Unknown,
}

impl Slip {
    /// Share of the family-wise risk of a false alarm; together 4.5 %, most of it for the commonest slip.
    fn risk(self) -> f64 {
        match self {
            Self::Side => 0.025,
            Self::TenDivisions | Self::Neighbours | Self::TurnedBetweenLines | Self::Unknown => {
                0.004
            }
            Self::OneDivision => 0.002,
        }
    }

    /// What a gain must be lowered by to be compared with that of a wrong letter: twice the logarithm of
    /// how much rarer the slip is, or of how many values a free change could have had. A judgement of the
    /// trade, no source.
    fn rarity(self) -> f64 {
        match self {
            Self::Side => 0.0,
            Self::Neighbours => 2.0,
            Self::TenDivisions | Self::OneDivision | Self::TurnedBetweenLines => 4.0,
            Self::Unknown => 9.0,
        }
    }

    /// The smallest gain that counts among this many readings.
    fn threshold(self, explanations: usize) -> f64 {
        let one = 1.0 - (1.0 - self.risk()).powf((explanations.max(1) as f64).recip());
        let tail = match self {
            Self::Unknown | Self::TurnedBetweenLines => one / 2.0,
            _ => one,
        };
        Normal::standard().inverse_cdf(tail).powi(2)
    }
}

/// What can speak for or against a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Evidence {
    /// Closed loops or repeated stations, and the smoothness of the bed.
    Closure,
    /// Only the smoothness of the bed.
    Smoothness,
    /// Nothing: too few readings.
    Nothing,
}

/// A reading that does not fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Suspect {
    /// Position among the pass's readings; of a line, that of its first reading.
    pub reading: usize,
    /// The line it belongs to.
    pub line: Line,
    /// Whether the level was turned end for end.
    pub reversed: bool,
    /// Middle of the level, m from the headstock end.
    pub at: f64,
    /// What was read, divisions.
    pub read: f64,
    /// What it should have been, divisions. With [`Slip::TurnedBetweenLines`], what this station would
    /// have shown without the turn.
    pub likely: f64,
    /// How far it is from what all others let expect, in standard deviations of that difference.
    pub w: f64,
    /// What probably went wrong.
    pub slip: Slip,
    /// With [`Slip::Neighbours`], position of the other reading.
    pub partner: Option<usize>,
    /// Gain in twice the log likelihood if the slip is mended.
    pub gain: f64,
}

/// What the search for wrong readings found.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspects {
    /// What there was to go by.
    pub evidence: Evidence,
    /// The suspect first, then those that the readings cannot tell from it. One of them is wrong, not
    /// all; none was left out of the adjustment.
    pub found: Vec<Suspect>,
    /// A reading that only a smooth bed speaks against, where none is suspected: the ways are rough there.
    pub rough: Option<Suspect>,
}

/// One possible explanation.
struct Explanation {
    slip: Slip,
    /// The rows it changes; the first is the one that is named.
    row: usize,
    partner: Option<usize>,
    change: Change,
}

impl Suspects {
    /// Looks for one wrong reading.
    pub fn of(adjustment: &Adjustment) -> Self {
        let nothing = Self {
            evidence: Evidence::Nothing,
            found: Vec::new(),
            rough: None,
        };
        let mut weighing = Weighing::new(&adjustment.components(), adjustment.guess());
        if weighing.contrasts() < FEWEST_CONTRASTS {
            return nothing;
        }
        let (evidence, factor) = if adjustment.checks_itself() {
            (Evidence::Closure, 1.0)
        } else {
            (Evidence::Smoothness, WITHOUT_CLOSURE)
        };
        let clean = weighing.weigh(&Change::Fixed(Vec::new()), None);
        let explanations = explanations(adjustment);
        let threshold = |slip: Slip| {
            let many = explanations.iter().filter(|e| e.slip == slip).count();
            factor * slip.threshold(many)
        };

        // The points known so far bound the gain from below, which is enough to order by.
        let mut order: Vec<(f64, &Explanation)> = explanations
            .iter()
            .map(|explanation| {
                let gain = clean.cost - weighing.bound(&explanation.change);
                (gain - explanation.slip.rarity(), explanation)
            })
            .collect();
        order.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut weighed: Vec<(f64, &Explanation, Weighed)> = Vec::new();
        for (_, explanation) in order.into_iter().take(SHORT_LIST) {
            let result = weighing.weigh(&explanation.change, Some(clean));
            let gain = clean.cost - result.cost;
            if gain > threshold(explanation.slip) {
                weighed.push((gain, explanation, result));
            }
        }
        let score = |(gain, explanation, _): &(f64, &Explanation, Weighed)| {
            gain - explanation.slip.rarity()
        };
        weighed.sort_by(|a, b| score(b).total_cmp(&score(a)));

        let read = adjustment.used();
        let mut found: Vec<Suspect> = Vec::new();
        let closed = Closed::of(adjustment);
        let (accused, unspoken): (Vec<_>, Vec<_>) = weighed
            .into_iter()
            .partition(|(_, explanation, _)| closed.gain(&explanation.change) > SPOKEN_FOR);
        let best = accused.first().map_or(0.0, score);
        for candidate in &accused {
            let reading = adjustment.observations().rows[read[candidate.1.row]].reading;
            let named = found
                .iter()
                .any(|suspect| suspect.reading == reading || suspect.partner == Some(reading));
            if !named && score(candidate) > best - RIVAL_MARGIN {
                found.push(suspect(adjustment, &weighing, candidate));
            }
        }
        let rough = unspoken.first().filter(|_| found.is_empty());
        Self {
            evidence,
            rough: rough.map(|candidate| suspect(adjustment, &weighing, candidate)),
            found,
        }
    }

    /// The reading to look at again.
    pub fn suspect(&self) -> Option<&Suspect> {
        self.found.first()
    }

    /// Others that the readings cannot tell from it.
    pub fn rivals(&self) -> &[Suspect] {
        self.found.get(1..).unwrap_or_default()
    }
}

/// What the readings say of each other in closed loops and repeats.
struct Closed {
    /// Standardised misfits of what was read as numbers.
    misfits: DVector<f64>,
    /// What a change of the readings adds to them.
    maker: DMatrix<f64>,
}

impl Closed {
    fn of(adjustment: &Adjustment) -> Self {
        let used = adjustment.used();
        Self {
            misfits: adjustment.residuals(),
            maker: adjustment.system().residual_maker(used.len()),
        }
    }

    /// By how much a change lowers the sum of squared misfits.
    fn gain(&self, change: &Change) -> f64 {
        let (Change::Fixed(pattern) | Change::Free(pattern)) = change;
        let along: f64 = pattern.iter().map(|(i, by)| by * self.misfits[*i]).sum();
        let mut square = 0.0;
        for (i, a) in pattern {
            for (j, b) in pattern {
                square += a * b * self.maker[(*i, *j)];
            }
        }
        match change {
            Change::Fixed(_) => -2.0 * along - square,
            Change::Free(_) if square > 0.0 => along * along / square,
            Change::Free(_) => 0.0,
        }
    }
}

fn suspect(
    adjustment: &Adjustment,
    weighing: &Weighing,
    (gain, explanation, weighed): &(f64, &Explanation, Weighed),
) -> Suspect {
    let observations = adjustment.observations();
    let division = observations.division;
    let read_rows = adjustment.used();
    let of_row = |k: usize| &observations.rows[read_rows[k]];
    let row = of_row(explanation.row);
    let read = row.as_read() / division;
    let pattern = match &explanation.change {
        Change::Free(pattern) => pattern.clone(),
        Change::Fixed(_) => vec![(explanation.row, 1.0)],
    };
    let (multiple, deviation) = weighing
        .multiple(&pattern, *weighed)
        .unwrap_or((0.0, f64::INFINITY));
    let by = match &explanation.change {
        Change::Free(pattern) => multiple * pattern[0].1,
        Change::Fixed(amounts) => amounts[0].1,
    };
    let mended = read + by * row.deviation / division;
    let likely = match explanation.change {
        Change::Free(_) if observations.step > 0.0 => {
            (mended / observations.step).round() * observations.step
        }
        _ => mended,
    };
    Suspect {
        reading: row.reading,
        line: row.line,
        reversed: row.reversed,
        at: row.at,
        read,
        // A sum with zero turns -0 into 0.
        likely: likely + 0.0,
        w: (multiple / deviation).abs(),
        slip: explanation.slip,
        partner: explanation.partner.map(|k| of_row(k).reading),
        gain: *gain,
    }
}

fn same_line(a: &Observation, b: &Observation) -> bool {
    a.line == b.line && a.reversed == b.reversed
}

/// Everything that may have gone wrong.
fn explanations(adjustment: &Adjustment) -> Vec<Explanation> {
    let observations = adjustment.observations();
    let division = observations.division;
    let rows: Vec<_> = adjustment
        .used()
        .iter()
        .map(|&i| &observations.rows[i])
        .collect();
    let off_scale_between = |a: &Observation, b: &Observation| {
        observations
            .rows
            .iter()
            .any(|row| row.bound && same_line(row, a) && (a.at..b.at).contains(&row.at))
    };
    let mut explanations = Vec::new();
    let mut add = |slip, row, partner, change| {
        explanations.push(Explanation {
            slip,
            row,
            partner,
            change,
        });
    };
    for (k, row) in rows.iter().enumerate() {
        let deviations = |divisions: f64| divisions * division / row.deviation;
        let by = |divisions: f64| Change::Fixed(vec![(k, deviations(divisions))]);
        let read = row.as_read() / division;
        if read != 0.0 {
            add(Slip::Side, k, None, by(-2.0 * read));
        }
        for sign in [-1.0, 1.0] {
            add(Slip::TenDivisions, k, None, by(10.0 * sign));
            add(Slip::OneDivision, k, None, by(sign));
        }
        add(Slip::Unknown, k, None, Change::Free(vec![(k, 1.0)]));
        let next = (0..rows.len())
            .filter(|&j| same_line(rows[j], row) && rows[j].at > row.at)
            .min_by(|a, b| rows[*a].at.total_cmp(&rows[*b].at))
            .filter(|&j| (rows[j].as_read() - row.as_read()).abs() > 0.0)
            .filter(|&j| !off_scale_between(row, rows[j]));
        if let Some(j) = next {
            let apart = rows[j].as_read() - row.as_read();
            let swap = vec![(k, apart / row.deviation), (j, -apart / rows[j].deviation)];
            add(Slip::Neighbours, k, Some(j), Change::Fixed(swap));
        }
    }
    let along = |line: Line| {
        let upright = rows.iter().enumerate();
        upright
            .filter(|(_, row)| row.line == line && !row.reversed)
            .map(|(k, row)| (k, division / row.deviation))
            .collect::<Vec<_>>()
    };
    let rear = along(Line::Rear);
    if rear.len() > 1 && along(Line::Front).len() > 1 {
        let first = rear[0].0;
        add(Slip::TurnedBetweenLines, first, None, Change::Free(rear));
    }
    explanations
}
