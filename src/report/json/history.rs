//! The object that `history --json` prints.

use serde::Serialize;

use super::number::{Milli, Plain};
use crate::geometry::Figure;
use crate::report::draw::Round;
use crate::survey::Survey;

/// Version of the object; a field may be added without a new one.
const FORMAT: u32 = 1;

/// The whole object.
#[derive(Debug, Serialize)]
pub struct HistoryObject {
    format: u32,
    passes: Vec<PassObject>,
}

#[derive(Debug, Serialize)]
struct PassObject {
    pass: usize,
    taken: Option<String>,
    level: String,
    twist_mm_per_m: Option<FigureObject>,
    crown_front_mm: Option<FigureObject>,
    crown_rear_mm: Option<FigureObject>,
    /// What was turned after it; `null` where nothing is recorded.
    turned: Option<Vec<TurnedObject>>,
    /// Whether the round after it was stopped before all was turned.
    unfinished: bool,
}

/// A figure in the unit of its name, and the ends of its interval with 95 % confidence.
#[derive(Debug, Serialize)]
struct FigureObject {
    value: Milli,
    low: Milli,
    high: Milli,
}

#[derive(Debug, Serialize)]
struct TurnedObject {
    foot: String,
    quarter_turns: Plain,
}

impl HistoryObject {
    /// Of all passes in order.
    pub fn of(survey: &Survey, rounds: &[Round]) -> Self {
        let passes = rounds
            .iter()
            .enumerate()
            .map(|(index, round)| {
                let shape = round.shape;
                let turned = round.pass.turned.as_ref();
                PassObject {
                    pass: index + 1,
                    taken: round.pass.taken.map(|taken| taken.to_string()),
                    level: round.pass.level.clone(),
                    twist_mm_per_m: shape.and_then(|shape| shape.twist).map(figure),
                    crown_front_mm: shape
                        .and_then(|shape| shape.front.as_ref()?.crown)
                        .map(figure),
                    crown_rear_mm: shape
                        .and_then(|shape| shape.rear.as_ref()?.crown)
                        .map(figure),
                    turned: turned.map(|turned| {
                        turned
                            .iter()
                            .filter_map(|(foot, quarters)| {
                                Some(TurnedObject {
                                    foot: survey.feet.get(*foot)?.name.clone(),
                                    quarter_turns: Plain::of(*quarters),
                                })
                            })
                            .collect()
                    }),
                    unfinished: round.pass.conditions.unfinished,
                }
            })
            .collect();
        Self {
            format: FORMAT,
            passes,
        }
    }
}

fn figure(figure: Figure) -> FigureObject {
    FigureObject {
        value: Milli::of(figure.value),
        low: Milli::of(figure.low),
        high: Milli::of(figure.high),
    }
}
