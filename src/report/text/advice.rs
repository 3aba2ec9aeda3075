//! What the plan has to say beside the turns, in sentences.

use super::prose::{Prose, TIE, Tone};
use super::scale::{Scale, place};
use super::words;
use crate::geometry::Figure;
use crate::geometry::figure::COVERAGE_95;
use crate::geometry::observation::ZERO_OF_A_LEVEL;
use crate::plan::{Advice, LARGEST_TRIP};
use crate::survey::units::{short_number, show_length, show_part_of_turn};
use crate::survey::{LengthUnit, Line, Packing, Side, Survey};

/// Whether it has to be read before a foot is touched.
pub(in crate::report) fn comes_first(advice: &Advice) -> bool {
    match advice {
        Advice::PackLevel { .. }
        | Advice::Done
        | Advice::KnownKept
        | Advice::BelowReadings
        | Advice::ReadAgain { .. }
        | Advice::Unfinished { .. }
        | Advice::Suspect { .. }
        | Advice::CheckRecord { .. }
        | Advice::Unread { .. }
        | Advice::TurnsUnclear
        | Advice::Forced { .. }
        | Advice::Anchored { .. }
        | Advice::Moved { .. }
        | Advice::Backwards { .. }
        | Advice::Still { .. }
        | Advice::NearlyHanging { .. }
        | Advice::Diagonal { .. }
        | Advice::Feel { .. }
        | Advice::TurnsNotRecorded { .. }
        | Advice::CoarserLevel { .. }
        | Advice::ReverseOnce { .. }
        | Advice::Warm { .. } => true,
        Advice::FinerLevel { .. }
        | Advice::StepsTooCoarse { .. }
        | Advice::StepTooLong { .. }
        | Advice::OutOfTravel { .. }
        | Advice::Wear { .. }
        | Advice::LoadsUnlikely { .. }
        | Advice::Idle { .. }
        | Advice::Answers { .. } => false,
    }
}

/// All that has to be read before a foot is touched, or all the rest; feet of which the same is to be said
/// are told together.
pub(in crate::report) fn sentences(
    advice: &[Advice],
    first: bool,
    survey: &Survey,
    units: LengthUnit,
) -> Vec<Prose> {
    let hanging: Vec<String> = advice
        .iter()
        .filter_map(|advice| match advice {
            Advice::NearlyHanging { foot } => Some(survey.feet.get(*foot)?.name.clone()),
            _ => None,
        })
        .collect();
    let mut told = false;
    advice
        .iter()
        .filter(|advice| comes_first(advice) == first)
        .filter_map(|advice| match advice {
            Advice::NearlyHanging { .. } if told => None,
            Advice::NearlyHanging { .. } => {
                told = true;
                Some(nearly_hanging(&hanging))
            }
            _ => Some(sentence(advice, survey, units)),
        })
        .collect()
}

fn nearly_hanging(feet: &[String]) -> Prose {
    match feet {
        [others @ .., last] if !others.is_empty() => Prose::new()
            .toned(Tone::Doubt, format!("{} and {last}", others.join(", ")))
            .plain(" carry next to nothing after these turns: bring them up to bear, and see that they carry."),
        _ => Prose::new()
            .toned(Tone::Doubt, feet.concat())
            .plain(" carries next to nothing after these turns: bring it up to bear, and see that it carries."),
    }
}

fn idle(foot: &str, at: &str) -> Prose {
    Prose::new().strong(foot).plain(format!(
        " carries next to nothing, and the bed is straight without it: raise it until it turns as hard as its \
         neighbours, with the level across at {at}. The bubble must not move."
    ))
}

fn pack(line: Line, height: f64, units: LengthUnit) -> Prose {
    packed("For the next pass lay", line, height, units)
}

/// What to lay under one end of the level; `lay` is the word that it begins with.
pub fn packed(lay: &str, line: Line, height: f64, units: LengthUnit) -> Prose {
    let end = match Packing::letter(line, height) {
        'F' => "the front block",
        'R' => "the rear block",
        'H' => "the headstock end of the level",
        _ => "the tailstock end of the level",
    };
    let where_it_lies = if line == Line::Cross {
        "across"
    } else {
        "along both ways"
    };
    Prose::new()
        .strong(format!("{lay} {}", strip(height, units)))
        .plain(format!(
            " under {end} at every station {where_it_lies}: it brings the bubble back and changes no twist."
        ))
}

/// How thick a strip is: `0.55 mm`.
pub(in crate::report) fn strip(height: f64, units: LengthUnit) -> String {
    show_length(height.abs(), units).replace(' ', &TIE.to_string())
}

fn on_one_diagonal(carrying: &[String; 2], hanging: &[String; 2]) -> Prose {
    Prose::new()
        .toned(Tone::Doubt, "The bed stands on one diagonal:")
        .plain(format!(
            " {} carry it and {} hang, and that twists it.",
            carrying.join(" and "),
            hanging.join(" and ")
        ))
}

fn answers(foot: String, share: f64, u95: f64) -> Prose {
    let only = if share < 1.0 { "only " } else { "" };
    Prose::new().strong(foot).plain(format!(
        " rises {only}{}{TIE}% of its screw (±{}); its turns here allow for that. Check its thread, its lock nut and \
         what it stands on.",
        percent(share),
        percent(u95)
    ))
}

/// The advice in a sentence or two.
pub(in crate::report) fn sentence(advice: &Advice, survey: &Survey, units: LengthUnit) -> Prose {
    let name = |foot: usize| {
        survey
            .feet
            .get(foot)
            .map_or("?", |foot| foot.name.as_str())
            .to_owned()
    };
    match advice {
        Advice::Done => Prose::new()
            .toned(Tone::Good, "Stop turning:")
            .plain(" every limit is proven kept."),
        Advice::KnownKept => Prose::new().toned(Tone::Doubt, "Read on before turning:").plain(
            " what these readings tell is inside the limits, but they do not tell of every limit. Lay the level \
             along the ways as well, or read where it was left out.",
        ),
        Advice::BelowReadings => Prose::new().strong("Stop turning:").plain(
            " what is left is smaller than these readings can see. To get closer, read more finely: repeat the \
             readings, or take a finer level.",
        ),
        Advice::ReadAgain { passes } => read_again(*passes),
        Advice::Unfinished { read, of } => Prose::new()
            .toned(Tone::Doubt, "This pass is not finished:")
            .plain(format!(
                " {read} of {of} stations are read. Read the others before you turn; what stands below rests on a \
                 few readings."
            )),
        Advice::Suspect { line, at } => Prose::new()
            .toned(Tone::Doubt, "Read that place again first:")
            .plain(format!(
                " the {} reading at {} does not fit the others.",
                line.name(),
                place(*at, units)
            )),
        Advice::CheckRecord { pass, foot } => check_record(*pass, &name(*foot)),
        Advice::Unread { feet } => unread(&feet.iter().map(|foot| name(*foot)).collect::<Vec<_>>()),
        Advice::Anchored { pulled, twist, u95 } => anchored(*pulled, *twist, *u95, units),
        Advice::Forced { foot, share, part } => forced(&name(*foot), *share, *part),
        Advice::LoadsUnlikely { foot, share } => loads_unlikely(&name(*foot), *share),
        Advice::Moved { pass } => Prose::new()
            .toned(Tone::Doubt, "The bed moved by itself")
            .plain(format!(
                " after pass{TIE}{}, more than these readings scatter: only what was read since counts.",
                pass + 1
            )),
        Advice::StepTooLong { foot, lift } => step_too_long(name(*foot), *lift, units),
        Advice::TurnsUnclear => turns_unclear(),
        Advice::CoarserLevel { name } => Prose::from(match name {
            Some(name) => format!("Some readings are off the scale: take level {name} for the next pass."),
            None => "Some readings are off the scale: take a coarser level for the next pass.".to_owned(),
        }),
        Advice::PackLevel { line, height } => pack(*line, *height, units),
        Advice::Warm {
            top_over_below,
            bow,
            air,
        } => warm(*top_over_below, *bow, *air, units),
        Advice::ReverseOnce { across, along } => reverse_once(*across, *along),
        Advice::FinerLevel { name } => Prose::from(format!(
            "The bed is near enough for the finer level: take level {name} for the next pass."
        )),
        Advice::StepsTooCoarse { needs } => steps_too_coarse(*needs),
        Advice::OutOfTravel { foot } => Prose::new().strong(name(*foot)).plain(
            " comes to the end of its travel. Shim or repack under it, or bring the whole bed up or down to make \
             room.",
        ),
        Advice::Wear {
            side,
            at,
            height,
            u95,
        } => wear(*side, *at, [*height, *u95], units),
        Advice::Answers { foot, share, u95 } => answers(name(*foot), *share, *u95),
        Advice::Backwards { foot } => Prose::new()
            .toned(Tone::Bad, name(*foot))
            .toned(Tone::Bad, " answers the wrong way round.")
            .plain(
                " Look which way its screw raises the bed (`clockwise` in the survey), and whether its turns were \
                 written down with the right sign.",
            ),
        Advice::Still { foot } => Prose::new()
            .toned(Tone::Bad, name(*foot))
            .toned(Tone::Bad, " did nothing when it was turned.")
            .plain(" It hangs, its lock nut is tight, or it was another foot that was turned."),
        Advice::NearlyHanging { foot } => nearly_hanging(&[name(*foot)]),
        Advice::Idle { foot, at } => idle(&name(*foot), &place(*at, units)),
        Advice::Feel { foot } => Prose::new()
            .strong(format!("Feel {} before you turn:", name(*foot)))
            .plain(
                " these readings fit with it bearing and with it loose. Write it under hanging, or hanging = [] where \
                 every foot bears, and ask again. As long as that is open the turns are such as suit both.",
            ),
        Advice::Diagonal { carrying, hanging } => {
            on_one_diagonal(&carrying.map(name), &hanging.map(name))
        }
        Advice::TurnsNotRecorded { pass } => Prose::new()
            .toned(Tone::Doubt, "What was turned after pass")
            .toned(Tone::Doubt, format!("{TIE}{pass}"))
            .plain(" is not written down. If something was turned, write it under [pass.turned]; nothing is learned \
                    from that round without it."),
    }
}

fn check_record(pass: usize, foot: &str) -> Prose {
    Prose::new()
        .toned(Tone::Doubt, format!("Check what was written for {foot} after pass{TIE}{pass}:"))
        .plain(
            " the readings say it went the other way. Look at its sign, and at which foot it was. Until then it is left, \
             and nothing is learned from it.",
        )
}

fn unread(feet: &[String]) -> Prose {
    Prose::new()
        .toned(
            Tone::Doubt,
            format!("Nothing was read near {}:", feet.join(", ")),
        )
        .plain(" they are left, and nothing is said of the bed there. Read there as well.")
}

/// What a foot would carry beyond what the machine's weight can bring about.
fn carry(share: f64) -> String {
    let percent = percent(share.abs());
    if share < 0.0 {
        format!("be pulled down by {percent}{TIE}% of the machine's weight")
    } else {
        format!("carry {percent}{TIE}% of the machine's weight")
    }
}

fn steps_too_coarse(needs: Option<f64>) -> Prose {
    Prose::new()
        .strong("The steps are too coarse")
        .plain(match needs {
            Some(turn) => format!(
                " for the limits: smallest_turn would have to be{TIE}\"{}\" ({}°).",
                show_part_of_turn(turn),
                short_number(turn * 360.0, 1)
            ),
            None => " for the limits, and none of the usual parts of a turn would do.".to_owned(),
        })
}

fn loads_unlikely(foot: &str, share: f64) -> Prose {
    Prose::new()
        .strong("What the feet carry is not told:")
        .plain(format!(
            " to lie as it was read, {foot} would have to {}. Either a reading is wrong, or the ways are worn so, or the \
             mass is another.",
            carry(share)
        ))
}

fn forced(foot: &str, share: f64, part: Option<f64>) -> Prose {
    let prose = Prose::new()
        .toned(Tone::Doubt, "All at once would bend the bed by force:")
        .plain(format!(" {foot} would {}.", carry(share)));
    match part {
        Some(part) => prose.plain(format!(
            " These turns go 1/{} of the way. Read again before going on; what was read may be wrong.",
            short_number(part.recip(), 0)
        )),
        None => prose.plain(" Turn nothing; read again, what was read may be wrong."),
    }
}

fn step_too_long(foot: String, lift: f64, units: LengthUnit) -> Prose {
    let scale = Scale::lengths(units, 0.0);
    Prose::new().strong(foot).plain(format!(
        " is left: its smallest_turn lifts it by {}, and no foot goes further than {} in one walk. Write down a \
         smaller part of a turn that can be counted.",
        scale.with_unit(lift),
        scale.with_unit(LARGEST_TRIP)
    ))
}

fn turns_unclear() -> Prose {
    Prose::new().toned(Tone::Doubt, "Read again before turning:").plain(
        " the bed is outside its limits, but these readings do not say which turns would surely bring it nearer.",
    )
}

fn anchored(pulled: bool, twist: f64, u95: f64, units: LengthUnit) -> Prose {
    let done = if pulled {
        "Pulling the anchors down"
    } else {
        "Slackening the anchors"
    };
    let scale = Scale::slopes(units, u95);
    let figure = format!("{} (±{})", scale.with_unit(twist.abs()), scale.number(u95));
    let prose = Prose::new().strong(done);
    let prose = if twist.abs() > u95 {
        let front = if twist < 0.0 { "low" } else { "high" };
        prose.plain(format!(
            " twisted the bed by {figure}, front {front} at the tailstock end."
        ))
    } else {
        prose.plain(format!(
            " did not twist the bed that these readings could see: {figure}."
        ))
    };
    prose.plain(" What stands here goes by the readings since then alone.")
}

fn read_again(passes: Option<usize>) -> Prose {
    Prose::new()
        .toned(Tone::Doubt, "Read again before turning:")
        .plain(match passes {
            Some(passes) => format!(
                " the readings cannot tell whether the limits are kept; {} like this one, this one counted, should \
                 settle it.",
                words::count(passes, "pass", "passes")
            ),
            None => " the readings cannot tell whether the limits are kept, and more passes like this one would not \
                     either. `quarterturn shape` says what would."
                .to_owned(),
        })
}

/// What stays on a way at a place, its height and how well that is known.
fn wear(way: Side, at: f64, [height, u95]: [f64; 2], units: LengthUnit) -> Prose {
    let scale = Scale::lengths(units, u95);
    let form = if height < 0.0 { "hollow" } else { "hump" };
    Prose::new()
        .strong("No foot can cure all of this:")
        .plain(format!(
            " a {form} of {} (±{}) stays on the {} way at {}. That is wear, or how the way was cut.",
            scale.with_unit(height.abs()),
            scale.number(u95),
            words::side(way),
            place(at, units)
        ))
}

/// What a bed does that is not of one temperature.
pub(in crate::report) fn warm(
    top_over_below: Option<f64>,
    bow: Option<Figure>,
    air: Option<f64>,
    units: LengthUnit,
) -> Prose {
    let warmer = |kelvin: f64| if kelvin > 0.0 { "warmer" } else { "colder" };
    let mut words = Vec::new();
    if let Some(kelvin) = top_over_below {
        let bows = bow.map_or_else(
            || " and bows it; `bed_height` under [machine] tells by how much".to_owned(),
            |bow| {
                let scale = Scale::lengths(units, bow.u95);
                let (form, size) = (words::form(bow.value), scale.with_unit(bow.value.abs()));
                format!(
                    ": {form} {size} ±{}, taken off what is told",
                    scale.number(bow.u95)
                )
            },
        );
        words.push(format!(
            "the bed's top was {}{TIE}K {} than its underside{bows}.",
            short_number(kelvin.abs(), 1),
            warmer(kelvin)
        ));
    }
    if let Some(kelvin) = air {
        words.push(format!(
            "the air was {}{TIE}K {} than in the pass before.",
            short_number(kelvin.abs(), 1),
            warmer(kelvin)
        ));
    }
    Prose::new()
        .toned(Tone::Doubt, "Wait until the bed is of one temperature:")
        .plain(format!(" {}", words.join(" And ")))
}

fn reverse_once(across: bool, along: bool) -> Prose {
    let lines = match (across, along) {
        (true, true) => "across and along",
        (true, false) => "across",
        (false, _) => "along",
    };
    Prose::new()
        .toned(Tone::Doubt, format!("Reverse the level once, {lines}:"))
        .plain(format!(
            " read one place again with the level turned end for end. The bed is to be level, and the lean is only known to what \
             the level's own zero is wrong by; {} divisions are allowed for that.",
            short_number(ZERO_OF_A_LEVEL * COVERAGE_95, 0)
        ))
}

fn percent(share: f64) -> String {
    short_number(share * 100.0, 0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::text::Page;

    /// Every kind of advice, with every choice of words in it.
    #[allow(clippy::too_many_lines)] // A list.
    fn all() -> Vec<Advice> {
        let wear = |height| Advice::Wear {
            side: Side::Front,
            at: 0.65,
            height,
            u95: 2e-6,
        };
        vec![
            Advice::Done,
            Advice::KnownKept,
            Advice::BelowReadings,
            Advice::ReadAgain { passes: Some(3) },
            Advice::ReadAgain { passes: None },
            Advice::Unfinished { read: 2, of: 42 },
            Advice::Suspect {
                line: Line::Rear,
                at: 0.55,
            },
            Advice::CheckRecord { pass: 1, foot: 2 },
            Advice::Unread {
                feet: vec![4, 5, 6, 7],
            },
            Advice::StepTooLong {
                foot: 2,
                lift: 0.75e-3,
            },
            Advice::TurnsUnclear,
            Advice::Forced {
                foot: 5,
                share: 5.6,
                part: Some(0.25),
            },
            Advice::Forced {
                foot: 6,
                share: -2.9,
                part: None,
            },
            Advice::LoadsUnlikely {
                foot: 2,
                share: 2.35,
            },
            Advice::Moved { pass: 1 },
            Advice::Anchored {
                pulled: true,
                twist: -56e-6,
                u95: 8e-6,
            },
            Advice::Anchored {
                pulled: false,
                twist: 2e-6,
                u95: 8e-6,
            },
            Advice::PackLevel {
                line: Line::Cross,
                height: -0.55e-3,
            },
            Advice::PackLevel {
                line: Line::Front,
                height: 0.3e-3,
            },
            Advice::CoarserLevel { name: None },
            Advice::CoarserLevel {
                name: Some("carpenter".into()),
            },
            Advice::Warm {
                top_over_below: Some(-1.5),
                bow: Some(Figure::normal(-31e-6, 1e-6)),
                air: Some(4.0),
            },
            Advice::Warm {
                top_over_below: Some(1.0),
                bow: None,
                air: None,
            },
            Advice::ReverseOnce {
                across: true,
                along: true,
            },
            Advice::ReverseOnce {
                across: false,
                along: true,
            },
            Advice::FinerLevel {
                name: "master".into(),
            },
            Advice::StepsTooCoarse { needs: None },
            Advice::StepsTooCoarse {
                needs: Some(1.0 / 72.0),
            },
            Advice::OutOfTravel { foot: 7 },
            wear(-12e-6),
            wear(9e-6),
            Advice::Answers {
                foot: 0,
                share: 0.45,
                u95: 0.2,
            },
            Advice::Backwards { foot: 1 },
            Advice::Still { foot: 2 },
            Advice::NearlyHanging { foot: 3 },
            Advice::NearlyHanging { foot: 4 },
            Advice::NearlyHanging { foot: 7 },
            Advice::Idle { foot: 2, at: 0.9 },
            Advice::Diagonal {
                carrying: [0, 7],
                hanging: [4, 3],
            },
            Advice::TurnsNotRecorded { pass: 1 },
        ]
    }

    #[test]
    fn every_advice_is_a_sentence() {
        let survey = crate::survey::read(include_str!("../../../demo-data/eight-foot-lathe.toml"))
            .expect("the demo survey is right");
        let mut page = Page::new(80);
        for first in [true, false] {
            page.heading(if first { "Before the card" } else { "After it" });
            for words in sentences(&all(), first, &survey, LengthUnit::Millimetre) {
                page.paragraph(&words);
            }
            if first {
                let alone = [Advice::NearlyHanging { foot: 3 }];
                for words in sentences(&alone, first, &survey, LengthUnit::Millimetre) {
                    page.paragraph(&words);
                }
            }
        }
        insta::assert_snapshot!(anstream::adapter::strip_str(&page.finish()).to_string());
    }
}
