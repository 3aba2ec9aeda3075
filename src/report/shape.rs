//! What is known of the shape of the bed, gathered for printing.

use crate::geometry::{
    Adjustment, BedShape, Closure, Judgement, Particulars, ReferenceLine, Settling, Suspects,
};
use crate::survey::{Level, Pass, Survey};

/// One pass and everything that was found in it.
#[derive(Debug, Clone, Copy)]
pub struct ShapeReport<'a> {
    /// The survey that holds the pass.
    pub survey: &'a Survey,
    /// Number of the pass, from 1.
    pub number: usize,
    /// The pass.
    pub pass: &'a Pass,
    /// The level it was taken with.
    pub level: &'a Level,
    /// The readings, adjusted together.
    pub adjustment: &'a Adjustment,
    /// Whether they fit each other.
    pub closure: &'a Closure,
    /// Those that do not fit.
    pub suspects: &'a Suspects,
    /// What would settle each verdict that is unsure.
    pub settling: &'a [Settling],
    /// The shape they show.
    pub shape: &'a BedShape,
    /// What else the limits and the aim ask for.
    pub particulars: &'a Particulars,
    /// The shape against the limits.
    pub judgement: Judgement,
    /// The line that departures are measured from.
    pub reference: ReferenceLine,
}
