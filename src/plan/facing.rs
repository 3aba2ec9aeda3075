//! One way to stand before a bed, chosen by what is known of the bed alone.
//!
//! Which way is called the front and which end the headstock's is a name. A plan must not hang on it, nor on the order in which
//! feet and readings were listed: where two plans are as good, or draws decide, the same bed would get other turns. So every bed
//! is planned as it is seen from the one of its four corners from which what was written down of it comes first in a fixed order,
//! and the plan is said in the words of the survey again.

use std::cmp::Ordering;

use nalgebra::DVector;

use super::advice::Advice;
use super::card::{Action, CardLine, TurnPlan};
use crate::geometry::stations::forth_and_back;
use crate::geometry::{Convexity, LocalWay, Stations};
use crate::survey::{Entry, Line, Packing, Pass, Reading, Side, Survey};

/// Places are taken to this fraction of a metre, so that they are the same numbers from either end.
const PLACES_PER_METRE: f64 = 1e9;

/// A survey as it is seen from another corner of its bed, and the way back.
pub(super) struct Facing {
    /// What is seen.
    pub survey: Survey,
    corner: Corner,
    /// Index into the feet of the survey itself of every foot that is seen.
    feet: Vec<usize>,
    /// Places that the survey itself names, m.
    stations: Vec<f64>,
}

/// A corner from which a bed can be seen. To change the corner and to change it back is the same.
#[derive(Clone, Copy)]
struct Corner {
    /// From the rear.
    rear: bool,
    /// From the tailstock end.
    tailstock: bool,
    /// Length of the bed, m.
    length: f64,
}

impl Facing {
    /// The survey from the corner from which it comes first.
    pub fn of(survey: &Survey) -> Self {
        let corner = |rear, tailstock| Corner {
            rear,
            tailstock,
            length: survey.bed.length,
        };
        let others = [(false, true), (true, false), (true, true)];
        let first = Self::from(survey, corner(false, false));
        others.into_iter().fold(first, |first, (rear, tailstock)| {
            let other = Self::from(survey, corner(rear, tailstock));
            if compare(&written(&other.survey), &written(&first.survey)).is_lt() {
                other
            } else {
                first
            }
        })
    }

    fn from(survey: &Survey, corner: Corner) -> Self {
        let mut seen = survey.clone();
        for foot in &mut seen.feet {
            foot.at = corner.at(foot.at);
            foot.side = corner.side(foot.side);
            foot.across = signed(corner.rear, foot.across);
        }
        // Along the bed, the front foot of a pair before the rear one.
        let mut feet: Vec<usize> = (0..seen.feet.len()).collect();
        feet.sort_by(|a, b| {
            let (a, b) = (&seen.feet[*a], &seen.feet[*b]);
            let along = a.at.total_cmp(&b.at);
            along.then(b.across.total_cmp(&a.across))
        });
        seen.feet = feet.iter().map(|&foot| seen.feet[foot].clone()).collect();
        seen.bed.free = corner.part(seen.bed.free);
        let machine = &mut seen.machine;
        if let Some(headstock) = &mut machine.headstock {
            headstock.at = corner.at(headstock.at);
        }
        machine.chuck_at = machine.chuck_at.map(|at| corner.at(at));
        seen.aim.twist = seen.aim.twist.map(|twist| corner.twist(twist));
        let mut numbers = vec![0; feet.len()];
        for (number, &foot) in feet.iter().enumerate() {
            numbers[foot] = number;
        }
        for pass in &mut seen.passes {
            corner.see(pass, &numbers);
        }
        let readings = survey.passes.iter().flat_map(|pass| &pass.readings);
        Self {
            survey: seen,
            corner,
            feet,
            stations: readings.map(|reading| reading.at).collect(),
        }
    }

    /// A station of the survey itself, as it is written there.
    fn station(&self, seen: f64) -> f64 {
        let at = self.corner.at(seen);
        let mut stations = self.stations.iter().copied();
        let same = stations.find(|own| (own - at).abs() < PLACES_PER_METRE.recip());
        same.unwrap_or(at)
    }

    /// A plan of what is seen, as a plan of the survey itself.
    pub fn back(&self, plan: TurnPlan) -> TurnPlan {
        let (corner, feet) = (self.corner, &self.feet);
        let mut plan = TurnPlan {
            moved: corner.heights(&plan.moved),
            ..plan
        };
        for line in &mut plan.lines {
            line.foot = feet[line.foot];
            if let Some(watch) = &mut line.watch {
                watch.at = self.station(watch.at);
                watch.from = corner.slope(watch.line, watch.from);
                watch.to = corner.slope(watch.line, watch.to);
                watch.line = corner.line(watch.line);
            }
        }
        // Feet to leave may be named as the survey lists them.
        let left = |line: &&mut CardLine| line.action == Action::Leave;
        let mut own: Vec<usize> = plan.lines.iter_mut().filter(left).map(|l| l.foot).collect();
        own.sort_unstable();
        for (line, foot) in plan.lines.iter_mut().filter(left).zip(own) {
            line.foot = foot;
        }
        for look in &mut plan.looks {
            look.foot = feet[look.foot];
            look.at = self.station(look.at);
            look.shows = corner.slope(look.line, look.shows);
            look.line = corner.line(look.line);
        }
        let predicted = &mut plan.predicted;
        if corner.rear {
            std::mem::swap(&mut predicted.crown_front, &mut predicted.crown_rear);
            predicted.opposite.reverse();
        }
        let particulars = &mut predicted.particulars;
        for LocalWay { side, part, .. } in particulars.local.iter_mut().flat_map(|l| &mut l.ways) {
            *side = corner.side(*side);
            *part = corner.part(*part);
        }
        for local in &mut particulars.local {
            local.ways.sort_by_key(|way| way.side);
        }
        for Convexity { side, at, .. } in &mut particulars.convex {
            *side = corner.side(*side);
            *at = corner.at(*at);
        }
        particulars.convex.sort_by_key(|way| way.side);
        for (side, _) in &mut particulars.straightness_from_chosen {
            *side = corner.side(*side);
        }
        particulars
            .straightness_from_chosen
            .sort_by_key(|way| way.0);
        if let Some(next_pass) = &mut plan.next_pass {
            next_pass.packing = corner.packing(next_pass.packing);
            let Stations { cross, front, rear } = &mut next_pass.stations;
            if corner.rear {
                std::mem::swap(front, rear);
            }
            for line in [cross, front, rear] {
                for at in line.iter_mut() {
                    *at = self.station(*at);
                }
                forth_and_back(line);
            }
        }
        for advice in &mut plan.advice {
            self.say(advice);
        }
        if let Some(loads) = &mut plan.loads {
            let mut own: Vec<_> = feet.iter().zip(loads.iter().copied()).collect();
            own.sort_by_key(|(foot, _)| **foot);
            *loads = own.into_iter().map(|(_, load)| load).collect();
            for load in loads {
                load.place.at = corner.at(load.place.at);
                load.place.across = signed(corner.rear, load.place.across);
            }
        }
        plan
    }

    /// Advice in the words of the survey itself.
    fn say(&self, advice: &mut Advice) {
        let corner = self.corner;
        match advice {
            Advice::Suspect { line, at } => {
                *line = corner.line(*line);
                *at = self.station(*at);
            }
            Advice::Unread { feet } => {
                for foot in feet.iter_mut() {
                    *foot = self.feet[*foot];
                }
                feet.sort_unstable();
            }
            Advice::Diagonal { carrying, hanging } => {
                for foot in carrying.iter_mut().chain(hanging) {
                    *foot = self.feet[*foot];
                }
            }
            // One line stands for both ways.
            Advice::PackLevel { line, height } => *height = corner.slope(*line, *height),
            Advice::Anchored { twist, .. } => *twist = corner.twist(*twist),
            Advice::Wear { side, at, .. } => {
                *side = corner.side(*side);
                *at = corner.at(*at);
            }
            Advice::Idle { foot, at } => {
                *foot = self.feet[*foot];
                *at = self.station(*at);
            }
            Advice::CheckRecord { foot, .. }
            | Advice::Forced { foot, .. }
            | Advice::LoadsUnlikely { foot, .. }
            | Advice::StepTooLong { foot, .. }
            | Advice::OutOfTravel { foot }
            | Advice::Answers { foot, .. }
            | Advice::Feel { foot }
            | Advice::Backwards { foot }
            | Advice::Still { foot }
            | Advice::NearlyHanging { foot } => *foot = self.feet[*foot],
            Advice::Done
            | Advice::KnownKept
            | Advice::BelowReadings
            | Advice::ReadAgain { .. }
            | Advice::Unfinished { .. }
            | Advice::TurnsUnclear
            | Advice::Moved { .. }
            | Advice::CoarserLevel { .. }
            | Advice::FinerLevel { .. }
            | Advice::ReverseOnce { .. }
            | Advice::Warm { .. }
            | Advice::StepsTooCoarse { .. }
            | Advice::TurnsNotRecorded { .. } => {}
        }
    }
}

impl Corner {
    fn at(self, at: f64) -> f64 {
        let seen = if self.tailstock { self.length - at } else { at };
        (seen * PLACES_PER_METRE).round() / PLACES_PER_METRE
    }

    fn part(self, [from, to]: [f64; 2]) -> [f64; 2] {
        let mut ends = [self.at(from), self.at(to)];
        ends.sort_by(f64::total_cmp);
        ends
    }

    fn side(self, side: Side) -> Side {
        match (side, self.rear) {
            (Side::Front, false) | (Side::Rear, true) => Side::Front,
            (Side::Rear, false) | (Side::Front, true) => Side::Rear,
        }
    }

    fn line(self, line: Line) -> Line {
        match (line, self.rear) {
            (Line::Cross, _) => Line::Cross,
            (Line::Front, false) | (Line::Rear, true) => Line::Front,
            (Line::Rear, false) | (Line::Front, true) => Line::Rear,
        }
    }

    /// What a level shows on a line.
    fn slope(self, line: Line, slope: f64) -> f64 {
        let turned = if line == Line::Cross {
            self.rear
        } else {
            self.tailstock
        };
        signed(turned, slope)
    }

    fn packing(self, packing: Packing) -> Packing {
        Packing {
            cross: signed(self.rear, packing.cross),
            along: signed(self.tailstock, packing.along),
        }
    }

    fn twist(self, twist: f64) -> f64 {
        signed(self.rear != self.tailstock, twist)
    }

    /// Heights at places along the front way, then along the rear way.
    fn heights(self, heights: &DVector<f64>) -> DVector<f64> {
        let (front, rear) = heights.as_slice().split_at(heights.len() / 2);
        let mut ways = [front.to_vec(), rear.to_vec()];
        if self.rear {
            ways.reverse();
        }
        if self.tailstock {
            for way in &mut ways {
                way.reverse();
            }
        }
        DVector::from_vec(ways.concat())
    }

    /// Sees a pass from here, its feet by these numbers.
    fn see(self, pass: &mut Pass, numbers: &[usize]) {
        for Reading {
            line, at, entry, ..
        } in &mut pass.readings
        {
            match entry {
                Entry::Missing => {}
                Entry::Read(seen) => seen
                    .iter_mut()
                    .for_each(|seen| *seen = self.slope(*line, *seen)),
                Entry::OffScale(end) => *end = self.slope(*line, *end),
            }
            *at = self.at(*at);
            *line = self.line(*line);
        }
        // Those of one station stay in the order in which they were taken.
        pass.readings.sort_by(|a, b| {
            let line = a.line.cmp(&b.line).then(a.reversed.cmp(&b.reversed));
            line.then(a.at.total_cmp(&b.at))
        });
        for named in [&mut pass.hanging, &mut pass.barely] {
            for foot in named.iter_mut() {
                *foot = numbers[*foot];
            }
            named.sort_unstable();
        }
        if let Some(turned) = &mut pass.turned {
            let seen = turned.iter().map(|(foot, turns)| (numbers[*foot], *turns));
            *turned = seen.collect();
        }
        let conditions = &mut pass.conditions;
        conditions.packing = self.packing(conditions.packing);
        conditions.carriage_at = conditions.carriage_at.map(|at| self.at(at));
        conditions.tailstock_at = conditions.tailstock_at.map(|at| self.at(at));
    }
}

/// A number that changes its sign or not; nothing has none.
fn signed(turned: bool, number: f64) -> f64 {
    if turned { 0.0 - number } else { number + 0.0 }
}

/// What was written down of a bed as far as it depends on the corner: first what stays the same from round to round, so that the
/// walk begins at the same corner.
fn written(survey: &Survey) -> Vec<f64> {
    let headstock = survey.machine.headstock.iter();
    let mut written: Vec<f64> = headstock.map(|headstock| headstock.at).collect();
    written.extend(survey.machine.chuck_at);
    written.extend(survey.bed.free);
    for foot in &survey.feet {
        let travel = [foot.lowest_turns, foot.highest_turns].map(|end| end.unwrap_or(f64::NAN));
        written.extend([
            foot.at,
            -foot.across,
            foot.lift_per_turn,
            foot.smallest_turn,
        ]);
        written.extend(travel);
    }
    written.extend(survey.aim.twist);
    for pass in &survey.passes {
        for reading in &pass.readings {
            written.push(reading.at);
            match &reading.entry {
                Entry::Missing => {}
                // The higher side and the higher end first.
                Entry::Read(seen) => written.extend(seen.iter().map(|seen| -seen)),
                Entry::OffScale(end) => written.push(-end),
            }
        }
        let conditions = &pass.conditions;
        written.extend([-conditions.packing.cross, -conditions.packing.along]);
        written.extend(conditions.carriage_at);
        written.extend(conditions.tailstock_at);
        written.extend(
            pass.hanging
                .iter()
                .chain(&pass.barely)
                .map(|&foot| foot as f64),
        );
        for (foot, turns) in pass.turned.iter().flatten() {
            written.extend([*foot as f64, *turns]);
        }
    }
    written
}

fn compare(a: &[f64], b: &[f64]) -> Ordering {
    let mut numbers = a.iter().zip(b).map(|(a, b)| a.total_cmp(b));
    numbers
        .find(|order| order.is_ne())
        .unwrap_or_else(|| a.len().cmp(&b.len()))
}
