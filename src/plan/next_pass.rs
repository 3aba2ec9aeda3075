//! What to read next: with which level, where, and what to lay under it.
//!
//! A person pays in minutes. A pass costs its readings; where it does not prove the limits kept, with chance `1 − p`, there are turns
//! and another pass after it, and that one proves with a chance `q` that hangs on how well both together tell how the bed lies:
//! what was not read in the first is to be read in the second. So what is still to be paid is
//!
//! `pass + (1 − p) (walk + next pass + (1 − q) (1 + n) (walk + next pass))`,
//!
//! with a next pass of as many readings as cost least, and as many rounds `n` as it takes to bring what is open down to the limits.
//!
//! The finest level is taken unless it is likely to be off its scale: to try it in vain costs two changes of the level, a pass
//! with a coarser one costs the pass that has to come after it.
//!
//! A slip in any reading has to show. Where neither the others nor what was known before tell it well enough, as after large turns, it
//! is read again on the way back: that costs less than reading all the bed, and a wrong letter is seldom written twice.
//!
//! Readings are added one by one, each time the one that leaves least undecided, by rank-one updates of what is
//! open (a Kalman filter with one reading at a time), and the number of them is the one that costs least.

use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ContinuousCDF, Normal};

use super::chance::Foretold;
use super::choosing::Worked;
use super::departures::Kind;
use super::minutes;
use super::objective::Objective;
use super::spots::Spots;
use super::standing::Standing;
use super::strip::{likely_on_scale, on_scale, packing};
use crate::geometry::Stations;
use crate::geometry::figure::COVERAGE_95;
use crate::geometry::stations::read_in_vain;
use crate::survey::{Level, Packing, Survey};

/// Weight of the mean square of what is open beside what is undecided: where the limits are far, all is undecided.
const OPEN: f64 = 0.05;

/// What turning adds to what is unknown, as a lift of each foot, m: hand and bubble.
const TURNED: f64 = 4e-6;

/// A slip that has to show: the wrong letter of a reading of two divisions, divisions.
const SLIP: f64 = 4.0;

/// A slip shows 95 times in 100 where it is so many standard deviations of what the other readings foretell: what is further
/// off than 3.29 of them is looked at again, and 1.645 more leave it there 95 times in 100.
const SHOWS: f64 = 4.935;

/// So many readings are weighed against each other; those after them are taken as they stand.
const MOST_WEIGHED: usize = 60;

/// Of more places than this not all are looked at when readings are weighed.
const MANY: usize = 120;

/// A pass is to decide where it more likely does than not.
pub(super) const LIKELY: f64 = 0.5;

/// One in so many of the places is read in the passes that are thought of after the next.
const PARTS: [usize; 3] = [1, 2, 4];

/// Candidates that leave the same within this share are taken together, so that a bed and its mirror image are read alike.
const SAME: f64 = 1e-6;

/// The next pass.
#[derive(Debug, Clone, PartialEq)]
pub struct NextPass {
    /// Name of the level to take.
    pub level: String,
    /// Where to lay it.
    pub stations: Stations,
    /// What to lay under one end of it.
    pub packing: Packing,
    /// What this pass takes, minutes.
    pub expected_minutes: f64,
    /// What all takes from now on, the turns of this round included, minutes.
    pub minutes_until_proven: f64,
}

/// The pass to take after turns that move the heights by `moved` (m) and take `walk` minutes; `None` where there is nothing to prove.
pub(super) fn next_pass(
    survey: &Survey,
    pass: usize,
    standing: &Standing,
    worked: &Worked<'_>,
    moved: &DVector<f64>,
    walk: f64,
) -> Option<NextPass> {
    let last = &survey.passes[pass];
    standing.verdict?;
    let surprised = read_in_vain(&survey.passes[..=pass]);
    let recorded = worked.card.once_recorded();
    let mut levels: Vec<&Level> = survey.levels.values().collect();
    levels.sort_by(|a, b| b.division.total_cmp(&a.division));
    let left = standing.objective.after(moved);
    let mut coarser: Option<DVector<f64>> = None;
    let mut ways: Vec<Way> = Vec::new();
    for level in levels {
        let spots = Spots::new(
            survey,
            pass,
            &standing.history,
            level,
            moved,
            worked.card.error(),
        );
        let open = Open::new(survey, standing, worked, left.clone(), &recorded, &spots);
        let mut order = open.order();
        let leave = open.left_open(&order);
        if let Some(coarser) = coarser.replace(leave) {
            order = open.more_likely_seen(order, &coarser);
        }
        ways.extend(Way::new(
            survey,
            &open,
            &order,
            last.level != level.name,
            surprised,
        ));
    }
    // The finest first.
    ways.reverse();
    let worth = |way: &Way| {
        let in_vain = 2.0 * minutes::CHANGE_OF_LEVEL;
        way.on_scale * way.pass > (1.0 - way.on_scale) * in_vain
    };
    let coarsest = ways.len().checked_sub(1)?;
    let taken = ways.iter().position(worth).unwrap_or(coarsest);
    let way = ways.swap_remove(taken);
    Some(NextPass {
        level: way.level,
        stations: way.stations,
        packing: way.packing,
        expected_minutes: way.pass,
        minutes_until_proven: walk + way.until_proven,
    })
}

/// A pass with one level.
struct Way {
    level: String,
    stations: Stations,
    packing: Packing,
    /// What the pass takes, minutes.
    pass: f64,
    /// What all takes with it, minutes, the turns before it not counted.
    until_proven: f64,
    /// Chance that next to all of its readings are on the scale.
    on_scale: f64,
}

impl Way {
    /// All of it where `whole`, else as much of it as costs least.
    fn new(
        survey: &Survey,
        open: &Open<'_>,
        order: &[usize],
        changes: bool,
        whole: bool,
    ) -> Option<Self> {
        let spots = open.spots;
        if order.is_empty() {
            return None;
        }
        let change = if changes {
            minutes::CHANGE_OF_LEVEL
        } else {
            0.0
        };
        let walk = minutes::FOOT * survey.feet.len() as f64;
        let mut best: Option<(f64, Vec<usize>)> = None;
        // What nobody has seen yet is not foretold either.
        let unseen = order.iter().filter(|&&spot| spots.all[spot].unseen());
        let least = if whole { order.len() } else { unseen.count() };
        for count in sizes(order.len()).filter(|count| *count >= least) {
            let mut chosen = order[..count].to_vec();
            if count < order.len() {
                chosen.extend(open.read_twice(&chosen));
            }
            let pass = minutes::pass(chosen.len());
            let beaten = |minutes: f64| best.as_ref().is_some_and(|(least, _)| minutes >= *least);
            // What costs more already, whatever it proves, is not looked at any further.
            if beaten(pass) {
                continue;
            }
            let foretold = open.foretold(&chosen);
            let mut missed = 1.0 - foretold.proves(&open.left);
            let then = open.minutes_then(&chosen, order, walk);
            if beaten(pass + missed * then) {
                continue;
            }
            if missed < LIKELY && !foretold.settles(&open.left) {
                missed = 1.0;
            }
            if count < chosen.len() && missed > LIKELY {
                // Before more is turned all of the bed has to be seen.
                continue;
            }
            let minutes = pass + missed * then;
            if !beaten(minutes) {
                best = Some((minutes, chosen));
            }
        }
        let (minutes, chosen) = best?;
        let packing = packing(survey, spots, &chosen);
        Some(Self {
            level: spots.level.name.clone(),
            stations: spots.stations(&chosen),
            packing,
            pass: minutes::pass(chosen.len()) + change,
            until_proven: minutes + change,
            on_scale: on_scale(survey, spots, &chosen, packing),
        })
    }
}

/// Numbers of readings that are tried: on a large bed fewer of them, for each takes its time.
fn sizes(all: usize) -> impl Iterator<Item = usize> {
    /// A pass of fewer is none.
    const FEWEST: usize = 4;
    let parts = if all > MANY { 1 } else { 5 };
    let next = move |count: &usize| Some(count + (count / parts).max(1));
    std::iter::successors(Some(FEWEST), next)
        .take_while(move |count| *count < all)
        .chain([all])
}

/// What is open after the turns of a round, and the readings that may tell it.
struct Open<'o> {
    survey: &'o Survey,
    objective: &'o Objective,
    /// The departures that the turns are meant to leave; the turns may have been chosen with more in mind than these.
    left: DVector<f64>,
    spots: &'o Spots<'o>,
    /// What is open of the departures and of the readings, one row each, by source of error; the readings in
    /// their deviations, their zero errors among the sources.
    departures: DMatrix<f64>,
    readings: DMatrix<f64>,
    /// What the readings show of what the bed is wrong by, in their deviations.
    wrong: DMatrix<f64>,
    /// Variance that turns of another round add to each departure.
    turned: DVector<f64>,
    /// Between what ends each departure is to lie.
    limits: Vec<Option<[f64; 2]>>,
}

impl<'o> Open<'o> {
    fn new(
        survey: &'o Survey,
        standing: &'o Standing,
        worked: &'o Worked<'o>,
        left: DVector<f64>,
        error: &'o DMatrix<f64>,
        spots: &'o Spots<'o>,
    ) -> Self {
        let objective = &standing.objective;
        let sources = error.ncols();
        let mut readings = spots.show(error).insert_columns(sources, 2, 0.0);
        readings.columns_mut(sources, 2).copy_from(&spots.zeros());
        let departures = (&objective.heights * error).insert_columns(sources, 2, 0.0);
        let turned = &objective.heights * standing.history.influence() * TURNED;
        Self {
            turned: DVector::from_iterator(
                turned.nrows(),
                turned.row_iter().map(|row| row.norm_squared()),
            ),
            limits: limits(survey, objective),
            survey,
            objective,
            left,
            wrong: spots.show(worked.card.error()),
            spots,
            departures,
            readings,
        }
    }

    /// All spots in the order in which they tell most.
    fn order(&self) -> Vec<usize> {
        let mut crossed = &self.departures * self.readings.transpose();
        let mut between = &self.readings * self.readings.transpose();
        let mut open = DVector::from_iterator(
            self.departures.nrows(),
            self.departures.row_iter().map(|row| row.norm_squared()),
        );
        let before = open.clone();
        let mut left: Vec<usize> = (0..self.readings.nrows()).collect();
        let mut order = Vec::new();
        while !left.is_empty() {
            if order.len() >= MOST_WEIGHED {
                order.append(&mut left);
                break;
            }
            let losses: Vec<f64> = left
                .iter()
                .map(|&spot| {
                    let told = crossed.column(spot);
                    let spread = between[(spot, spot)] + 1.0;
                    let then = open.zip_map(&told, |open, told| open - told * told / spread);
                    self.undecided(&before, &then)
                })
                .collect();
            let least = losses.iter().copied().fold(f64::INFINITY, f64::min);
            let alike = |loss: f64| loss <= least + SAME * least.abs();
            let taken: Vec<usize> = (0..left.len())
                .filter(|&k| alike(losses[k]))
                .map(|k| left[k])
                .collect();
            for &spot in &taken {
                let told = crossed.column(spot).into_owned();
                let shared = between.column(spot).into_owned();
                let spread = shared[spot] + 1.0;
                open.zip_apply(&told, |open, told| *open -= told * told / spread);
                crossed.ger(-1.0 / spread, &told, &shared, 1.0);
                between.ger(-1.0 / spread, &shared, &shared, 1.0);
            }
            left.retain(|spot| !taken.contains(spot));
            order.extend(taken);
        }
        // Where the bubble was off its scale nobody has seen yet how the bed lies.
        order.sort_by_key(|&spot| !self.spots.all[spot].unseen());
        order
    }

    /// What is undecided when this is open of the departures that was as much before: the mean chance, over the departures of
    /// each kind, that one is not proven to keep its limits, and a little of the mean square that is open.
    fn undecided(&self, before: &DVector<f64>, then: &DVector<f64>) -> f64 {
        let objective = self.objective;
        let every = then.len().div_ceil(MANY).max(1);
        (0..then.len())
            .step_by(every)
            .map(|i| {
                let weight = objective.weight[i].powi(2);
                let share = match self.limits[i] {
                    // As many as there are of a kind weigh as much as one.
                    Some(ends) => {
                        let room = (ends[1] - ends[0]) / 2.0;
                        let kept = kept(self.left[i], before[i], then[i], ends);
                        weight * room * room * (1.0 - kept)
                    }
                    None => 0.0,
                };
                share + OPEN * weight * then[i].max(0.0)
            })
            .sum()
    }

    /// What a pass of these readings may show.
    fn foretold(&self, chosen: &[usize]) -> Foretold<'_> {
        let readings = self.readings.select_rows(chosen);
        let sources = readings.ncols() - 2;
        Foretold {
            survey: self.survey,
            objective: self.objective,
            read: readings.columns(0, sources).into_owned(),
            seen: self.wrong.select_rows(chosen),
            zeros: readings.columns(sources, 2).into_owned(),
            wrong: self.departures.columns(0, sources).into_owned(),
        }
    }

    /// What is still to be paid, minutes, where these readings do not prove the limits kept: a walk, and the pass after it that is
    /// likely to cost least, and as many rounds more as it takes to bring what is open down to the limits.
    fn minutes_then(&self, chosen: &[usize], order: &[usize], walk: f64) -> f64 {
        let open = self.left_open(chosen);
        let before = DVector::from_fn(open.len(), |i, _| {
            let mended = minutes::SHRINK * minutes::SHRINK * self.departures.row(i).norm_squared();
            open[i] + mended + self.turned[i]
        });
        let room = |i: usize| Some((self.limits[i]?[1] - self.limits[i]?[0]) / 2.0);
        let rounds = (0..open.len())
            .filter_map(|i| {
                Some(minutes::rounds_down_from(
                    COVERAGE_95 * before[i].sqrt() / room(i)?,
                ))
            })
            .fold(0.0, f64::max);
        let passes = PARTS.map(|part| {
            let count = order.len().div_ceil(part);
            let both = [chosen, &order[..count]].concat();
            let then = self.left_open(&both);
            let proves = (0..then.len())
                .filter_map(|i| {
                    let room = room(i)?;
                    Some(kept(0.0, before[i], then[i].min(before[i]), [-room, room]))
                })
                .fold(1.0, f64::min);
            let pass = minutes::pass(count);
            pass + (1.0 - proves) * (1.0 + rounds) * (walk + pass)
        });
        walk + passes.into_iter().fold(f64::INFINITY, f64::min)
    }

    /// Variance of each departure after these readings.
    fn left_open(&self, chosen: &[usize]) -> DVector<f64> {
        let readings = self.readings.select_rows(chosen);
        let count = chosen.len();
        let mut told = &readings * self.departures.transpose();
        let spread = &readings * readings.transpose() + DMatrix::identity(count, count);
        if let Some(spread) = spread.cholesky() {
            spread.l_dirty().solve_lower_triangular_mut(&mut told);
        }
        DVector::from_fn(self.departures.nrows(), |i, _| {
            let before = self.departures.row(i).norm_squared();
            (before - told.column(i).norm_squared()).max(0.0)
        })
    }

    /// Those of these readings that are more likely on the scale than off it, where they leave less open of all that limits are set for
    /// than a coarser level would (variances) that is sure to see everything; else all of them. A line that is
    /// read is read to its ends: read less far, it would be proven less far.
    fn more_likely_seen(&self, order: Vec<usize>, coarser: &DVector<f64>) -> Vec<usize> {
        let likely = likely_on_scale(self.survey, self.spots);
        let all = &self.spots.all;
        let ends_a_line = |spot: usize| {
            let spot = &all[spot];
            let of_line = || (0..all.len()).filter(|&other| all[other].line == spot.line);
            let is_read = of_line().any(|other| likely[other]);
            let is_end = of_line().all(|other| all[other].at >= spot.at)
                || of_line().all(|other| all[other].at <= spot.at);
            is_read && is_end
        };
        let kept: Vec<usize> = order
            .iter()
            .copied()
            .filter(|&spot| likely[spot] || ends_a_line(spot))
            .collect();
        let leave = self.left_open(&kept);
        let mut limited = (0..leave.len()).filter(|&i| self.limits[i].is_some());
        if limited.all(|i| leave[i] < coarser[i]) {
            kept
        } else {
            order
        }
    }

    /// Those of these readings in which a slip would not show beside the others and what was known before: they are taken again on
    /// the way back.
    fn read_twice(&self, chosen: &[usize]) -> Vec<usize> {
        let slip = SLIP * self.spots.level.division / self.spots.deviation;
        let most = (slip / SHOWS).powi(2);
        let readings = self.readings.select_rows(chosen);
        let count = chosen.len();
        let spread = &readings * readings.transpose() + DMatrix::identity(count, count);
        let Some(spread) = spread.cholesky() else {
            return chosen.to_vec();
        };
        let told = spread.inverse().diagonal();
        let hides = chosen
            .iter()
            .zip(&told)
            .filter(|(_, told)| told.recip() > most);
        hides.map(|(spot, _)| *spot).collect()
    }
}

/// Chance that a departure that should be `mean` and is so uncertain (variance `before`) is shown within its ends by readings
/// that leave it open by the variance `then`, with as much to spare as they leave open.
pub(super) fn kept(mean: f64, before: f64, then: f64, [lowest, highest]: [f64; 2]) -> f64 {
    let then = then.max(0.0);
    let spare = COVERAGE_95 * then.sqrt();
    let shown = (before - then).max(0.0).sqrt();
    if shown <= f64::EPSILON * (highest - lowest) {
        let inside = lowest + spare <= mean && mean <= highest - spare;
        return if inside { 1.0 } else { 0.0 };
    }
    let normal = Normal::standard();
    let below = |end: f64| normal.cdf((end - mean) / shown);
    (below(highest - spare) - below(lowest + spare)).max(0.0)
}

/// Between what ends each departure is to lie, where a limit says so: twist to either side of the one that was chosen.
fn limits(survey: &Survey, objective: &Objective) -> Vec<Option<[f64; 2]>> {
    let limits = &survey.limits;
    let about = |target: f64, room: f64| [target - room, target + room];
    let of_way = |i: usize| {
        let range = limits
            .straightness
            .map(|range| about(objective.target[i], range / 2.0));
        match (limits.crown, range) {
            (Some([lowest, highest]), Some([low, high])) => {
                Some([lowest.max(low), highest.min(high)])
            }
            (crown, range) => crown.or(range),
        }
    };
    (0..objective.kind.len())
        .map(|i| match objective.kind[i] {
            Kind::Twist => limits
                .twist
                .map(|limit| about(objective.target[i], limit / 2.0)),
            Kind::OffLine(_) => of_way(i),
            Kind::Lean | Kind::Scale | Kind::Unseen => None,
        })
        .collect()
}
