//! The pass of a machine that was never read: with which level, and where.
//!
//! Nothing is known of the bed but how rough beds are, so the ways to read it are told apart by what each could prove of a
//! bed that is nearly right, and by what it takes: a thin pass is short and leaves more open, and what it leaves open is
//! another round.

use super::minutes;
use super::next_pass::{NextPass, kept};
use crate::geometry::figure::COVERAGE_95;
use crate::geometry::stations::{all_stations, by_the_feet, thinned};
use crate::geometry::{Forecast, Stations, forecast};
use crate::survey::{Level, Packing, Survey};

/// Parts of the places along the ways that are tried.
const PARTS: [f64; 5] = [1.0, 0.75, 0.5, 0.4, 0.3];

/// A way is known by no fewer places than this.
const FEWEST: usize = 3;

/// Chance that a bed that was never read is right as it stands (a judgement, no source).
const ALREADY_RIGHT: f64 = 0.1;

/// A way to take the first pass.
#[derive(Debug, Clone)]
pub struct FirstPass<'s> {
    /// The level to take.
    pub level: &'s Level,
    /// Where to lay it.
    pub stations: Stations,
    /// What it can tell of a bed that is nearly right.
    pub forecast: Forecast,
    /// What it takes, minutes.
    pub minutes: f64,
    /// How likely it proves a bed inside that is in the middle of its limits.
    proves: f64,
    /// What it is likely to take with the round that it leaves to be done, minutes.
    pub until_proven: f64,
}

/// The ways to take the first pass, the one that is likely to take least in all first. Hardly any bed is right where it was set
/// down: after the first pass there are turns, and then one that is to prove.
pub fn first_passes(survey: &Survey) -> Vec<FirstPass<'_>> {
    let mut ways: Vec<FirstPass<'_>> = survey
        .levels
        .values()
        .flat_map(|level| choices(survey, level).map(move |stations| (level, stations)))
        .filter_map(|(level, stations)| FirstPass::new(survey, level, stations))
        .collect();
    let walk = minutes::FOOT * survey.feet.len() as f64;
    let proving = |way: &FirstPass| way.minutes + (1.0 - way.proves) * (walk + way.minutes);
    let then = ways.iter().map(proving).fold(f64::INFINITY, f64::min);
    for way in &mut ways {
        way.until_proven = way.minutes + (1.0 - ALREADY_RIGHT * way.proves) * (walk + then);
    }
    ways.sort_by(|a, b| a.until_proven.total_cmp(&b.until_proven));
    ways
}

impl FirstPass<'_> {
    /// Number of its readings.
    pub fn readings(&self) -> usize {
        count(&self.stations)
    }

    /// As the next pass.
    pub fn next_pass(&self) -> NextPass {
        NextPass {
            level: self.level.name.clone(),
            stations: self.stations.clone(),
            packing: Packing::default(),
            expected_minutes: self.minutes,
            minutes_until_proven: self.until_proven,
        }
    }
}

impl<'s> FirstPass<'s> {
    fn new(survey: &Survey, level: &'s Level, stations: Stations) -> Option<Self> {
        let bed = &survey.bed;
        let forecast = forecast(
            &stations,
            level,
            bed.length,
            bed.way_spacing,
            &survey.limits,
        )
        .ok()?;
        Some(Self {
            proves: proves(&forecast, survey),
            minutes: minutes::pass(count(&stations)),
            until_proven: f64::INFINITY,
            level,
            stations,
            forecast,
        })
    }
}

fn count(stations: &Stations) -> usize {
    stations.cross.len() + stations.front.len() + stations.rear.len()
}

/// All stations of a level, and thinner ones: across over every place or every other, along by [`PARTS`]; and those that steer.
fn choices(survey: &Survey, level: &Level) -> impl Iterator<Item = Stations> + use<> {
    let all = all_stations(survey, level);
    let pairs = all.cross.len().div_ceil(2);
    let across = [all.cross.clone(), thinned(&all.cross, pairs)];
    let steering = by_the_feet(survey, level);
    let by_part = across.into_iter().flat_map(move |cross| {
        let along = all.front.clone();
        PARTS.into_iter().map(move |part| {
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let wanted = (part * along.len() as f64).ceil() as usize;
            let along = thinned(&along, wanted.max(FEWEST));
            Stations {
                cross: cross.clone(),
                front: along.clone(),
                rear: along,
            }
        })
    });
    by_part.chain([steering])
}

/// How likely such readings prove a bed inside that is in the middle of its limits, as the product over what is limited.
fn proves(forecast: &Forecast, survey: &Survey) -> f64 {
    let limits = &survey.limits;
    let ways = || [forecast.front, forecast.rear].into_iter();
    let crowns = limits.crown.into_iter().flat_map(|[lowest, highest]| {
        ways().map(move |way| (way.map(|way| way.crown), (highest - lowest) / 2.0))
    });
    let straight = limits
        .straightness
        .into_iter()
        .flat_map(|limit| ways().map(move |way| (way.map(|way| way.straightness), limit)));
    let twist = limits.twist.map(|limit| (forecast.twist, limit));
    let per_metre = limits
        .twist_per_metre
        .map(|limit| (forecast.twist_per_metre, limit));
    let figures = twist.into_iter().chain(per_metre);
    figures
        .chain(crowns)
        .chain(straight)
        .map(|(u95, room)| {
            u95.map_or(0.0, |u95| {
                let variance = (u95 / COVERAGE_95).powi(2);
                kept(0.0, 2.0 * variance, variance, [-room, room])
            })
        })
        .product()
}
