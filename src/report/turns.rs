//! What is to be turned, gathered for printing.

use super::ShapeReport;
use crate::plan::TurnPlan;

/// A pass, and the plan made after it.
#[derive(Debug, Clone, Copy)]
pub struct TurnsReport<'a> {
    /// The pass and the shape it shows.
    pub shape: ShapeReport<'a>,
    /// The turns and all that goes with them.
    pub plan: &'a TurnPlan,
}
