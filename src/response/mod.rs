//! What a turned foot does to the bed.

/// A place on the bed, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Distance from the headstock end, m.
    pub at: f64,
    /// Distance from the centre line, m, front positive.
    pub across: f64,
}
