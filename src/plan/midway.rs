//! A bed in the middle of a round: some feet are turned, and no pass was read since.

use std::collections::{BTreeMap, BTreeSet};

use super::turns::NoPlan;
use crate::response::{History, lifts};
use crate::survey::{Entry, Survey};

/// Quarter-turns in a turn.
const QUARTERS: f64 = 4.0;

/// The survey as if its pass with this index had been read now, after these turns (quarter-turns by foot that
/// arrived at the bed, + raises), so that the rest of the round can be planned anew; `stay` are feet that are not to be
/// turned any more.
///
/// Every reading is moved by what the model makes of the turns, zero error left in, and the round before is said to
/// have turned as much more, so that what it taught stays as it was.
pub fn midway(
    survey: &Survey,
    pass: usize,
    arrived: &BTreeMap<usize, f64>,
    stay: &BTreeSet<usize>,
) -> Result<Survey, NoPlan> {
    let history = History::of(survey, pass)?;
    let mut now = survey.clone();
    now.passes.truncate(pass + 1);
    let this = now.passes.last_mut().ok_or(NoPlan::NoPass)?;
    this.turned = None;
    let moved = history.influence() * lifts(survey, Some(arrived));
    let division = history.division();
    for reading in &mut this.readings {
        let Some((_, rise)) = history.shown(reading.line, reading.at) else {
            continue;
        };
        let change = rise.on(&moved) / division;
        match &mut reading.entry {
            Entry::Missing => {}
            Entry::Read(repeats) => repeats.iter_mut().for_each(|seen| *seen += change),
            Entry::OffScale(end) => {
                // A bound that a turn has brought over to the other side bounds nothing any more.
                let bound = *end + change;
                if bound * *end > 0.0 {
                    *end = bound;
                } else {
                    reading.entry = Entry::Missing;
                }
            }
        }
    }
    if let Some(before) = pass.checked_sub(1)
        && let Some(turned) = &mut now.passes[before].turned
    {
        for (foot, quarters) in arrived {
            *turned.entry(*foot).or_default() += quarters;
        }
    }
    for (index, foot) in now.feet.iter_mut().enumerate() {
        let turns = arrived.get(&index).copied().unwrap_or(0.0) / QUARTERS;
        // An end of the travel that was passed a little is reached.
        foot.lowest_turns = foot.lowest_turns.map(|lowest| (lowest - turns).min(0.0));
        foot.highest_turns = foot.highest_turns.map(|highest| (highest - turns).max(0.0));
        if stay.contains(&index) {
            foot.lowest_turns = Some(0.0);
            foot.highest_turns = Some(0.0);
        }
    }
    Ok(now)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{Action, plan};
    use crate::survey::read;

    const TWISTED: &str = r#"format = 1
bed = { length = 2900, way_spacing = 380 }
feet = { at = [120, 980, 1840, 2700], lift_per_turn = 1.5, smallest_turn = "1/72" }
level.fine = { division = "0.02 mm/m", base = 200, range = 20 }
limits = { twist = "0.02 mm/m", crown = [-0.01, 0.02] }
[[pass]]
level = "fine"
stations = [150, 550, 950, 1350, 1750, 2150, 2550, 2750]
cross = ["8F", "6F", "4F", "2F", "0", "2R", "4R", "5R"]
front = ["1H", "1H", "1H", "2H", "2H", "3H", "3H", "3H"]
rear = ["0", "0", "0", "0", "0", "0", "0", "0"]
"#;

    #[test]
    fn where_nothing_is_turned_nothing_changes() {
        let survey = read(TWISTED).unwrap();
        let nothing = BTreeMap::new();
        let now = midway(&survey, 0, &nothing, &BTreeSet::new()).unwrap();
        assert_eq!(now.passes, survey.passes);
        assert_eq!(now.feet, survey.feet);
    }

    /// The rest of a card that goes as foretold is the rest of that card, but for the two degrees by which turns that a
    /// bubble ends may differ and leave as little.
    #[test]
    fn a_foot_that_went_as_foretold_is_not_turned_again() {
        let survey = read(TWISTED).unwrap();
        let whole = plan(&survey, 0).unwrap();
        let sum = |plan: &crate::plan::TurnPlan, foot: usize| -> f64 {
            let lines = plan.lines.iter().filter(|line| line.foot == foot);
            lines.map(|line| line.quarter_turns).sum()
        };
        let first = whole
            .lines
            .iter()
            .find(|line| line.action != Action::Leave)
            .unwrap()
            .foot;
        let arrived = BTreeMap::from([(first, sum(&whole, first))]);
        let now = midway(&survey, 0, &arrived, &BTreeSet::new()).unwrap();
        let rest = plan(&now, 0).unwrap();
        let all: f64 = (0..8).map(|foot| sum(&whole, foot).abs()).sum();
        assert!(
            sum(&rest, first).abs() < 0.1 * sum(&whole, first).abs(),
            "{} of {}",
            sum(&rest, first),
            sum(&whole, first)
        );
        for foot in (0..8).filter(|foot| *foot != first) {
            let (rest, want) = (sum(&rest, foot), sum(&whole, foot));
            assert!(
                (rest - want).abs() < f64::max(0.05 * all, 2.5 / 90.0),
                "foot {foot}: {rest} for {want}"
            );
        }
    }

    #[test]
    fn a_foot_that_stays_is_left() {
        let survey = read(TWISTED).unwrap();
        let stay = BTreeSet::from([0, 3]);
        let now = midway(&survey, 0, &BTreeMap::new(), &stay).unwrap();
        let rest = plan(&now, 0).unwrap();
        for line in rest.lines.iter().filter(|line| stay.contains(&line.foot)) {
            assert_eq!(line.action, Action::Leave);
        }
        assert!(rest.lines.iter().any(|line| line.action != Action::Leave));
    }
}
