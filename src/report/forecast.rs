//! What a pass will be able to tell, gathered for printing.

use crate::geometry::Forecast;
use crate::survey::{Level, Survey};

/// The places of a pass and the uncertainties to be had there.
#[derive(Debug, Clone)]
pub struct ForecastReport<'a> {
    /// The survey that names the places.
    pub survey: &'a Survey,
    /// Number of the pass that names them, from 1.
    pub number: usize,
    /// How many readings they ask for.
    pub readings: usize,
    /// The level to be used.
    pub level: &'a Level,
    /// The uncertainties.
    pub forecast: Forecast,
}
