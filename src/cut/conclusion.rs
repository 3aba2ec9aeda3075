//! What a test cut says in the end.

use super::bar::Bar;
use super::chosen_twist::ChosenTwist;
use super::deflection::Deflection;
use super::explained::{Explained, NotExplained};
use super::straightness::Departure;
use super::taper::{NoTaper, Taper};
use crate::geometry::Figure;
use crate::survey::{BarHeld, Cut, Side, Survey};

/// Everything that a test cut and a pass say together.
#[derive(Debug, Clone, PartialEq)]
pub struct Conclusion {
    /// The bar as it was measured.
    pub bar: Bar,
    /// Its taper.
    pub taper: Taper,
    /// Index of the pass that shows the bed as it was when the bar was cut.
    pub pass: Option<usize>,
    /// What the surveyed twist explains.
    pub explained: Result<Explained, NotExplained>,
    /// What is left for the headstock or the tailstock.
    pub left: Result<Left, NoConclusion>,
    /// How far the bar gives way.
    pub deflection: Option<Deflection>,
}

/// What is left of a taper after the surveyed twist is taken off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Left {
    /// Change of diameter over length, m/m.
    pub rate: Figure,
    /// Whether it is more than its uncertainty.
    pub found: Found,
    /// Barrel that is left, m.
    pub barrel: Option<Figure>,
    /// What the rest is put down to.
    pub cause: Cause,
}

/// Whether what is left is more than its uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Found {
    /// It could be nothing.
    Nothing,
    /// It would be something, were it known that the bar did not give way under the tool.
    MaybeTheBar,
    /// It is something.
    Something,
}

/// What a taper that the twist does not explain is put down to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cause {
    /// The spindle does not point along the bed.
    Headstock {
        /// Angle to the rear (positive: the axis runs to the rear away from the headstock), m/m.
        to_rear: Figure,
        /// Movement that takes it out at the headstock's end away from the chuck when it pivots at the
        /// chuck's end, m, to the rear positive; at the chuck's end the other way round.
        movement: Option<Figure>,
        /// Whether to aim the bed's twist at it.
        chosen: Option<ChosenTwist>,
    },
    /// The tailstock's centre does not stand on the spindle's axis.
    Tailstock {
        /// How far it stands to the rear of it, m.
        to_rear: Figure,
    },
}

/// Why nothing may be concluded from a cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoConclusion {
    /// The tailstock or a steady held the bar, and bends it to wherever it stands.
    TailstockUsed,
    /// The bar sagged or sprang.
    Sagged,
    /// It stands out of the chuck farther than [`LONGEST_UNSUPPORTED`](super::deflection::LONGEST_UNSUPPORTED).
    Unsupported,
    /// Its diameter is not known, so neither is how far it gives way.
    NoDiameter,
    /// The surveyed twist does not explain anything.
    NotExplained,
    /// The collars do not lie on a straight taper.
    NotStraight(Departure),
}

impl Conclusion {
    /// What a cut says. `pass` is the one to take the bed from, else [`pass_of`] finds it.
    pub fn of(survey: &Survey, cut: &Cut, pass: Option<usize>) -> Result<Self, NoTaper> {
        let bar = Bar::of(cut);
        let taper = Taper::of(&bar)?;
        let pass = pass.or_else(|| pass_of(survey, cut));
        let explained = pass
            .and_then(|index| survey.passes.get(index))
            .and_then(|pass| Some((pass, survey.level_of(pass)?)))
            .ok_or(NotExplained::NoPass)
            .and_then(|(pass, level)| Explained::of(survey, cut, &taper, pass, level));
        let deflection = Deflection::of(cut);
        let left = left(survey, cut, &taper, explained.as_ref(), deflection.as_ref());
        Ok(Self {
            bar,
            taper,
            pass,
            explained,
            left,
            deflection,
        })
    }
}

fn left(
    survey: &Survey,
    cut: &Cut,
    taper: &Taper,
    explained: Result<&Explained, &NotExplained>,
    deflection: Option<&Deflection>,
) -> Result<Left, NoConclusion> {
    if matches!(
        cut.held,
        BarHeld::InChuck {
            tailstock_used: true,
            ..
        }
    ) {
        return Err(NoConclusion::TailstockUsed);
    }
    if cut.sagged {
        return Err(NoConclusion::Sagged);
    }
    let deflection = deflection.ok_or(NoConclusion::NoDiameter)?;
    if deflection.is_unsupported() {
        return Err(NoConclusion::Unsupported);
    }
    let explained = explained.map_err(|_| NoConclusion::NotExplained)?;
    if let Some(departure) = Departure::of(&Bar::of(cut), explained, deflection) {
        return Err(NoConclusion::NotStraight(departure));
    }
    let of_a_stiff_bar = difference(taper.rate, explained.rate);
    let rate = difference(of_a_stiff_bar, deflection.figure(&taper.rate_of));
    let barrel = taper.barrel.zip(explained.barrel).map(|(seen, explained)| {
        let left = difference(seen, explained);
        let row = taper.barrel_of.as_ref();
        row.map_or(left, |row| difference(left, deflection.figure(row)))
    });
    let exceeds = |figure: Figure| figure.value.abs() > figure.u95;
    // A diameter that grows away from the headstock: the axis runs away from the tool.
    let away_from_tool = match cut.tool {
        Side::Front => 0.5,
        Side::Rear => -0.5,
    };
    let to_rear = scaled(rate, away_from_tool);
    let cause = match cut.held {
        BarHeld::InChuck { .. } => Cause::Headstock {
            to_rear,
            movement: survey
                .machine
                .headstock_length
                .map(|length| scaled(to_rear, length)),
            chosen: survey.machine.centre_height.map(|height| {
                ChosenTwist::cancelling(
                    rate,
                    height,
                    cut.tool,
                    survey.bed.length,
                    survey.limits.twist,
                )
            }),
        },
        BarHeld::BetweenCentres { length, .. } => Cause::Tailstock {
            to_rear: scaled(to_rear, length),
        },
    };
    Ok(Left {
        rate,
        found: match (exceeds(rate), exceeds(of_a_stiff_bar)) {
            (true, _) => Found::Something,
            (false, true) => Found::MaybeTheBar,
            (false, false) => Found::Nothing,
        },
        barrel,
        cause,
    })
}

/// The difference of two figures that know nothing of each other.
fn difference(a: Figure, b: Figure) -> Figure {
    let u95 = a.u95.hypot(b.u95);
    let value = a.value - b.value;
    Figure {
        value,
        u95,
        low: value - u95,
        high: value + u95,
    }
}

/// A multiple of a figure.
fn scaled(figure: Figure, factor: f64) -> Figure {
    let value = figure.value * factor + 0.0;
    let u95 = figure.u95 * factor.abs();
    Figure {
        value,
        u95,
        low: value - u95,
        high: value + u95,
    }
}

/// The pass that shows the bed as it was when the bar was cut: the last one before it, unless feet were
/// turned since, then the first one after it; for a cut without a date the last one, unless feet were turned
/// after it.
pub fn pass_of(survey: &Survey, cut: &Cut) -> Option<usize> {
    let has_readings = |index: &usize| !survey.passes[*index].readings.is_empty();
    let turned = |index: usize| {
        survey.passes[index]
            .turned
            .iter()
            .flatten()
            .any(|(_, quarters)| *quarters != 0.0)
    };
    let day = |date: &toml::value::Datetime| date.date;
    let all = 0..survey.passes.len();
    let Some(cut_on) = cut.taken.as_ref().and_then(day) else {
        return all.rev().find(has_readings).filter(|last| !turned(*last));
    };
    let taken_on = |index: &usize| survey.passes[*index].taken.as_ref().and_then(day);
    let before = all
        .clone()
        .rev()
        .filter(has_readings)
        .find(|index| taken_on(index).is_none_or(|day| day <= cut_on));
    match before {
        Some(before) if !turned(before) => Some(before),
        before => {
            let next = before.map_or(0, |before| before + 1);
            (next..survey.passes.len())
                .find(has_readings)
                .filter(|index| taken_on(index).is_some())
        }
    }
}
