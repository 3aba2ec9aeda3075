//! Where to read when nobody has said.

use super::observation::Stations;
use crate::survey::{Entry, LengthUnit, Level, Line, Pass, Reading, Survey};

/// Places nearer to each other than this are one, m.
const SAME_PLACE: f64 = 0.02;

/// A level laid across keeps so far from what covers the ways, m (half the width of a usual one; common practice, no
/// source).
const CLEAR: f64 = 0.03;

/// Good stations for a bed: across over every foot and half way between, and along both ways chained end to end
/// by the level's base, so that the along readings add up to a profile without a gap.
///
/// Without a base there is nothing along. The lines stand one after the other: across, front, rear.
pub fn suggested(survey: &Survey, level: &Level) -> Vec<Reading> {
    readings(&all_stations(survey, level))
}

/// The same as places.
pub fn all_stations(survey: &Survey, level: &Level) -> Stations {
    let chain = level
        .base
        .map(|base| chained(survey.bed.free, base, survey.units))
        .unwrap_or_default();
    Stations {
        cross: across(survey),
        front: chain.clone(),
        rear: chain,
    }
}

/// Stations as readings that are not taken yet, line by line.
pub fn readings(stations: &Stations) -> Vec<Reading> {
    let lines = [
        (Line::Cross, &stations.cross),
        (Line::Front, &stations.front),
        (Line::Rear, &stations.rear),
    ];
    let reading = |line: Line| {
        move |at: &f64| Reading {
            line,
            reversed: false,
            at: *at,
            entry: Entry::Missing,
        }
    };
    lines
        .into_iter()
        .flat_map(|(line, at)| at.iter().map(reading(line)))
        .collect()
}

/// Places along a line in the order in which they are read: each once on the way along the bed, those that are there twice again on
/// the way back.
///
/// ```
/// let mut at = vec![0.5, 0.1, 0.5, 0.9, 0.1];
/// quarterturn::geometry::stations::forth_and_back(&mut at);
/// assert_eq!(at, [0.1, 0.5, 0.9, 0.5, 0.1]);
/// ```
pub fn forth_and_back(at: &mut Vec<f64>) {
    at.sort_by(f64::total_cmp);
    let mut forth: Vec<f64> = Vec::new();
    let mut back = Vec::new();
    for &place in at.iter() {
        if forth.last() == Some(&place) {
            back.push(place);
        } else {
            forth.push(place);
        }
    }
    forth.extend(back.into_iter().rev());
    *at = forth;
}

/// So many of these places, the first and the last among them, spread alike from either end; one more where an odd number of an
/// even one has no middle.
pub fn thinned(places: &[f64], count: usize) -> Vec<f64> {
    let count = count + (count % 2) * ((places.len() + 1) % 2);
    if count >= places.len() || count < 2 {
        return places.to_vec();
    }
    let last = places.len() - 1;
    let nearest = |k: usize| (2 * k * last + count - 1) / (2 * (count - 1));
    // The far half mirrors the near one.
    let of = |k: usize| {
        if 2 * k < count {
            nearest(k)
        } else {
            last - nearest(count - 1 - k)
        }
    };
    (0..count).map(|k| places[of(k)]).collect()
}

/// On a bed of so many feet along a way or fewer a gap is read at more places: there are few others to check them.
const FEW_GAPS: usize = 4;

/// Enough to steer a bed by that is far from right: across over every foot, along both ways midway between two, where the slope
/// is what one foot stands above the next over their distance. Where that would be fewer than four along a way, twice in every
/// gap.
///
/// Without a base there is nothing along.
pub fn by_the_feet(survey: &Survey, level: &Level) -> Stations {
    let over = over_the_feet(survey);
    let parts: &[f64] = if over.len() > FEW_GAPS {
        &[0.5]
    } else {
        &[0.25, 0.75]
    };
    let along: Vec<f64> = over
        .windows(2)
        .flat_map(|gap| parts.iter().map(|part| gap[0] + part * (gap[1] - gap[0])))
        .filter_map(|at| laid_along(survey, level, at))
        .collect();
    Stations {
        cross: over,
        front: along.clone(),
        rear: along,
    }
}

/// Places that these passes lack: across over feet that they say nothing of, and along the ways in every gap between two feet that
/// they read at fewer places than so many that what the bed does in it cannot hide: a foot that stands wrong bends the bed from its
/// neighbours to itself and back (a wave is known by two places in its length; Shannon 1949, from memory), and a limit on the crown
/// is kept between them too. After all of them were [read in vain](all_in_vain) those from end to end.
pub fn lacking(survey: &Survey, level: &Level, passes: &[Pass]) -> Stations {
    if all_in_vain(passes) {
        return end_to_end(survey, level, passes);
    }
    let over = over_the_feet(survey);
    let (enough, parts): (usize, &[f64]) = if over.len() > FEW_GAPS {
        (2, &[0.0, 0.5, 1.0])
    } else {
        (3, &[0.25, 0.5, 0.75])
    };
    let of = |line: Line| {
        let readings = || passes.iter().flat_map(|pass| &pass.readings);
        let of_line = readings().filter(|reading| reading.line == line);
        let mut read: Vec<f64> = of_line.map(|reading| reading.at).collect();
        read.sort_by(f64::total_cmp);
        read.dedup_by(|a, b| (*a - *b).abs() < SAME_PLACE);
        let mut places = Vec::new();
        for gap in over.windows(2).filter(|_| !read.is_empty()) {
            let within = |at: &&f64| (gap[0]..gap[1]).contains(*at);
            if read.iter().filter(within).count() < enough {
                let wanted = parts.iter().map(|part| gap[0] + part * (gap[1] - gap[0]));
                places.extend(wanted.filter_map(|at| laid_along(survey, level, at)));
            }
        }
        places.sort_by(f64::total_cmp);
        places.dedup_by(|a, b| (*a - *b).abs() < SAME_PLACE);
        places.retain(|at| read.iter().all(|read| (at - read).abs() >= SAME_PLACE));
        places
    };
    Stations {
        cross: lacking_across(&over, passes),
        front: of(Line::Front),
        rear: of(Line::Rear),
    }
}

/// Whether the last pass was to decide, on a bed at which nothing had been turned, and did not: what was foretold of it was wrong,
/// and would be of another one.
pub fn read_in_vain(passes: &[Pass]) -> bool {
    let before = passes.iter().rev().nth(1);
    before
        .and_then(|before| before.turned.as_ref())
        .is_some_and(|turned| turned.values().all(|quarters| *quarters == 0.0))
}

/// Whether the last pass was [read in vain](read_in_vain) at no fewer places than any before it that was read with the same level: then
/// it is not these that are to be read again.
pub fn all_in_vain(passes: &[Pass]) -> bool {
    let places = |pass: &Pass| {
        let once = pass.readings.iter().filter(|reading| !reading.reversed);
        let mut at: Vec<(Line, f64)> = once.map(|reading| (reading.line, reading.at)).collect();
        at.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        at.dedup_by(|a, b| a.0 == b.0 && (a.1 - b.1).abs() < SAME_PLACE);
        at.len()
    };
    let Some(last) = passes.last() else {
        return false;
    };
    let with_it = passes.iter().filter(|pass| pass.level == last.level);
    read_in_vain(passes) && with_it.map(places).max() == Some(places(last))
}

/// Places of the lines that were read: as in the pass that read most of a line, or, where that left gaps, end to end.
fn end_to_end(survey: &Survey, level: &Level, passes: &[Pass]) -> Stations {
    let of = |line: Line, all: Vec<f64>| {
        let on_line = |pass: &Pass| -> Vec<f64> {
            let readings = pass.readings.iter();
            let mut at: Vec<f64> = readings.filter(|r| r.line == line).map(|r| r.at).collect();
            at.sort_by(f64::total_cmp);
            at.dedup_by(|a, b| (*a - *b).abs() < SAME_PLACE);
            at
        };
        let most = passes.iter().map(on_line).max_by_key(Vec::len);
        let most = most.unwrap_or_default();
        if most.is_empty() || most.len() >= all.len() {
            most
        } else {
            all
        }
    };
    let all = all_stations(survey, level);
    Stations {
        cross: of(Line::Cross, all.cross),
        front: of(Line::Front, all.front),
        rear: of(Line::Rear, all.rear),
    }
}

/// Feet over which nothing was read across, nor anywhere between the two feet beside them: nothing else tells what they do to the
/// twist.
fn lacking_across(over: &[f64], passes: &[Pass]) -> Vec<f64> {
    let readings = || passes.iter().flat_map(|pass| &pass.readings);
    let across = readings().filter(|reading| reading.line == Line::Cross);
    let read: Vec<f64> = across.map(|reading| reading.at).collect();
    let beside = |k: usize| over.get(k).copied();
    let lacks = |k: usize| {
        let from = k
            .checked_sub(1)
            .and_then(beside)
            .unwrap_or(f64::NEG_INFINITY);
        let to = beside(k + 1).unwrap_or(f64::INFINITY);
        !read.iter().any(|&at| from < at && at < to)
    };
    (0..over.len())
        .filter(|&k| lacks(k))
        .map(|k| over[k])
        .collect()
}

/// Where the middle of a level comes nearest to a place along the free ways.
fn laid_along(survey: &Survey, level: &Level, at: f64) -> Option<f64> {
    let half = level.base? / 2.0;
    let [from, to] = survey.bed.free;
    (to - from > 2.0 * half).then(|| on_the_tape(at.clamp(from + half, to - half), survey.units))
}

/// Over every foot, or as near to it as the ways are free, and half way between two.
fn across(survey: &Survey) -> Vec<f64> {
    let mut over = over_the_feet(survey);
    let between: Vec<f64> = over
        .windows(2)
        .map(|pair| on_the_tape(f64::midpoint(pair[0], pair[1]), survey.units))
        .collect();
    over.extend(between);
    over.sort_by(f64::total_cmp);
    over.dedup_by(|a, b| (*a - *b).abs() < SAME_PLACE);
    over
}

/// Over every foot, or as near to it as the ways are free.
fn over_the_feet(survey: &Survey) -> Vec<f64> {
    let [from, to] = survey.bed.free;
    let [first, last] = [
        if from > 0.0 { from + CLEAR } else { from },
        if to < survey.bed.length {
            to - CLEAR
        } else {
            to
        },
    ];
    let nearest = |at: f64| {
        if at < first {
            on_the_tape(first, survey.units).min(last)
        } else if at > last {
            on_the_tape(last, survey.units).max(first)
        } else {
            at
        }
    };
    let mut over: Vec<f64> = survey.feet.iter().map(|foot| nearest(foot.at)).collect();
    over.sort_by(f64::total_cmp);
    over.dedup_by(|a, b| (*a - *b).abs() < SAME_PLACE);
    over
}

/// As many bases as the free ways hold, end to end, in their middle.
fn chained([from, to]: [f64; 2], base: f64, units: LengthUnit) -> Vec<f64> {
    /// A bed that is a whole number of bases long holds that many whatever the rounding.
    const ROUNDING: f64 = 1e-9;
    let mut places = Vec::new();
    let length = to - from;
    let whole = (length / base + ROUNDING).floor();
    let first = on_the_tape(from + (length - whole * base) / 2.0, units) + base / 2.0;
    let mut at = first;
    while places.len() < MOST_CHAINED && at + base / 2.0 <= to + ROUNDING {
        places.push(at);
        at = first + places.len() as f64 * base;
    }
    places
}

/// More places than anybody walks.
const MOST_CHAINED: usize = 1000;

/// Down to a whole millimetre or an eighth of an inch, which is as well as a level is laid down.
fn on_the_tape(at: f64, units: LengthUnit) -> f64 {
    /// What is a whole number of marks stays one whatever the rounding, marks.
    const ROUNDING: f64 = 1e-6;
    let marks = match units {
        LengthUnit::Millimetre => 1.0,
        LengthUnit::Inch => 8.0,
    };
    let unit = units.length();
    unit.to_si((unit.from_si(at) * marks + ROUNDING).floor() / marks)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::read;

    fn lines(length: &str, base: &str) -> [Vec<f64>; 3] {
        let text = format!(
            "format = 1\nbed = {{ length = {length}, way_spacing = 380 }}\n\
             feet = {{ at = [100, 700, 1101], lift_per_turn = 1.5 }}\n\
             [level.master]\ndivision = \"0.02 mm/m\"\n{base}\n"
        );
        let survey = read(&text).unwrap();
        let readings = suggested(&survey, &survey.levels["master"]);
        [Line::Cross, Line::Front, Line::Rear].map(|line| {
            readings
                .iter()
                .filter(|reading| reading.line == line)
                .map(|reading| (reading.at * 1e6).round() / 1e3)
                .collect()
        })
    }

    #[test]
    fn across_over_the_feet_and_along_end_to_end() {
        let [cross, front, rear] = lines("1250", "base = 200");
        assert_eq!(cross, [100.0, 400.0, 700.0, 900.0, 1101.0]);
        assert_eq!(front, [125.0, 325.0, 525.0, 725.0, 925.0, 1125.0]);
        assert_eq!(rear, front);
        let [_, whole, _] = lines("1200", "base = 200");
        let [_, no_rest, _] = lines("1400", "base = 200");
        assert_eq!(no_rest, [100.0, 300.0, 500.0, 700.0, 900.0, 1100.0, 1300.0]);
        assert_eq!(whole, [100.0, 300.0, 500.0, 700.0, 900.0, 1100.0]);
    }

    #[test]
    fn fewer_places_are_spread_alike_from_either_end() {
        let places: Vec<f64> = (0..10).map(f64::from).collect();
        for count in 2..=12 {
            let some = thinned(&places, count);
            assert_eq!(some.len(), (count + count % 2).min(10), "{count}");
            let back: Vec<f64> = some.iter().rev().map(|at| 9.0 - at).collect();
            assert_eq!(some, back, "{count}");
            assert!(some.windows(2).all(|pair| pair[0] < pair[1]), "{some:?}");
        }
        assert_eq!(thinned(&places, 4), [0.0, 3.0, 6.0, 9.0]);
    }

    #[test]
    fn without_a_base_only_across() {
        let [cross, front, rear] = lines("1250", "");
        assert_eq!((cross.len(), front.len(), rear.len()), (5, 0, 0));
        let [_, front, _] = lines("1250", "base = 1300");
        assert!(front.is_empty(), "a level longer than the bed");
    }
}
