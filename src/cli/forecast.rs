//! `quarterturn shape --forecast`: what a pass will tell, before it is taken.

use super::failure::{self, Failure, no_passes};
use super::options::Shared;
use super::source::Source;
use super::{Done, output};
use crate::geometry::{Refusal, Stations, forecast};
use crate::plan::first_passes;
use crate::report::{ForecastReport, json, text};
use crate::survey::{Level, Line, Pass};

/// Prints the uncertainties to be had at the places of a pass.
pub fn run(shared: &Shared, source: &Source) -> Result<Done, Failure> {
    let survey = &source.survey;
    if survey.passes.is_empty() {
        return first(shared, source);
    }
    let index = shared.pass(survey)?;
    let (number, pass) = (index + 1, &survey.passes[index]);
    let level = survey
        .level_of(pass)
        .ok_or_else(|| failure::no_places(number))?;
    let stations = stations(pass, level);
    let bed = &survey.bed;
    let forecast = forecast(
        &stations,
        level,
        bed.length,
        bed.way_spacing,
        &survey.limits,
    )
    .map_err(|Refusal::NoReadings| failure::no_places(number))?;
    let report = ForecastReport {
        survey,
        number,
        readings: stations.cross.len() + stations.front.len() + stations.rear.len(),
        level,
        forecast,
    };
    let text = if shared.json {
        json::to_text(&json::forecast::ForecastObject::of(&report))
    } else {
        text::forecast::tell(&report, &shared.telling(source))
    };
    output::print(&text, shared.colour())?;
    Ok(Done::Well)
}

/// Prints the ways to take the first pass.
fn first(shared: &Shared, source: &Source) -> Result<Done, Failure> {
    let survey = &source.survey;
    let ways = first_passes(survey);
    if ways.is_empty() {
        return Err(no_passes());
    }
    let text = if shared.json {
        json::to_text(&json::forecast::FirstPassObject::of(&ways))
    } else {
        text::forecast::tell_first(survey, &ways, &shared.telling(source))
    };
    output::print(&text, shared.colour())?;
    Ok(Done::Well)
}

/// The places of a pass, read or not yet; those along a way only if the level's base is known.
pub fn stations(pass: &Pass, level: &Level) -> Stations {
    let mut stations = Stations::default();
    for reading in pass.readings.iter().filter(|reading| !reading.reversed) {
        let places = match reading.line {
            Line::Cross => &mut stations.cross,
            Line::Front if level.base.is_some() => &mut stations.front,
            Line::Rear if level.base.is_some() => &mut stations.rear,
            Line::Front | Line::Rear => continue,
        };
        places.push(reading.at);
    }
    stations
}
