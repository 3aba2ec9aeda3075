//! What moved by itself, gathered for printing.

use crate::settle::Settlement;
use crate::survey::Survey;

/// What moved by itself up to a pass.
#[derive(Debug, Clone, Copy)]
pub struct SettleReport<'a> {
    /// The survey that holds the passes.
    pub survey: &'a Survey,
    /// Number of the last pass, from 1.
    pub number: usize,
    /// What was found.
    pub settlement: &'a Settlement,
}
