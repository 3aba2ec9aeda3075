//! What the plan has to say beside the turns, in sentences.

use super::prose::{Prose, TIE, Tone};
use super::scale::{Scale, place};
use super::words;
use crate::plan::Advice;
use crate::survey::units::{short_number, show_part_of_turn};
use crate::survey::{LengthUnit, Survey};

/// Whether it has to be read before a foot is touched.
pub(super) fn comes_first(advice: &Advice) -> bool {
    match advice {
        Advice::Done
        | Advice::BelowReadings
        | Advice::ReadAgain { .. }
        | Advice::Suspect { .. }
        | Advice::Backwards { .. }
        | Advice::Still { .. }
        | Advice::NearlyHanging { .. }
        | Advice::TurnsNotRecorded { .. } => true,
        Advice::CoarserLevel { .. }
        | Advice::FinerLevel { .. }
        | Advice::StepsTooCoarse { .. }
        | Advice::OutOfTravel { .. }
        | Advice::Wear { .. }
        | Advice::Answers { .. } => false,
    }
}

/// The advice in a sentence or two.
pub(super) fn sentence(advice: &Advice, survey: &Survey, units: LengthUnit) -> Prose {
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
        Advice::BelowReadings => Prose::new().strong("Stop turning:").plain(
            " what is left is smaller than these readings can see. To get closer, read more finely: repeat the \
             readings, or take a finer level.",
        ),
        Advice::ReadAgain { passes } => Prose::new()
            .toned(Tone::Doubt, "Read again before turning:")
            .plain(format!(
                " the readings cannot tell whether the limits are kept. {} like this one should, this one counted.",
                words::count(*passes, "pass", "passes")
            )),
        Advice::Suspect { line, at } => Prose::new()
            .toned(Tone::Doubt, "Look again")
            .plain(format!(
                " at the {} reading at {}: it does not fit the others.",
                line.name(),
                place(*at, units)
            )),
        Advice::CoarserLevel { name } => Prose::from(match name {
            Some(name) => format!("Many readings are off the scale: take level {name} for the next pass."),
            None => "Many readings are off the scale: take a coarser level for the next pass.".to_owned(),
        }),
        Advice::FinerLevel { name } => Prose::from(format!(
            "The bed is near enough for the finer level: take level {name} for the next pass."
        )),
        Advice::StepsTooCoarse { needs } => Prose::new().strong("The steps are too coarse").plain(match needs {
            Some(turn) => format!(
                " for the limits: smallest_turn would have to be{TIE}\"{}\" ({}°).",
                show_part_of_turn(*turn),
                short_number(turn * 360.0, 1)
            ),
            None => " for the limits, and none of the usual parts of a turn would do.".to_owned(),
        }),
        Advice::OutOfTravel { foot } => Prose::new().strong(name(*foot)).plain(
            " comes to the end of its travel. Shim or repack under it, or bring the whole bed up or down to make \
             room.",
        ),
        Advice::Wear {
            side,
            at,
            height,
            u95,
        } => {
            let scale = Scale::lengths(units, *u95);
            let form = if *height < 0.0 { "hollow" } else { "hump" };
            Prose::new()
                .strong("No foot can cure all of this:")
                .plain(format!(
                    " a {form} of {} (±{}) stays on the {} way at {}. That is wear, or how the way \
                     was cut.",
                    scale.with_unit(height.abs()),
                    scale.number(*u95),
                    words::side(*side),
                    place(*at, units)
                ))
        }
        Advice::Answers { foot, share, u95 } => Prose::new().strong(name(*foot)).plain(format!(
            " answers with {}{TIE}% of what its screw should lift (±{}); its turns here allow for \
             that. Check its thread, its lock nut and what it stands on.",
            percent(*share),
            percent(*u95)
        )),
        Advice::Backwards { foot } => Prose::new()
            .toned(Tone::Bad, name(*foot))
            .toned(Tone::Bad, " answers the wrong way round.")
            .plain(
                " Look which way its screw raises the bed (clockwise in the survey), and whether its turns were \
                 written down with the right sign.",
            ),
        Advice::Still { foot } => Prose::new()
            .toned(Tone::Bad, name(*foot))
            .toned(Tone::Bad, " did nothing when it was turned.")
            .plain(" It hangs, its lock nut is tight, or it was another foot that was turned."),
        Advice::NearlyHanging { foot } => Prose::new()
            .toned(Tone::Doubt, name(*foot))
            .plain(" carries next to nothing after these turns: seat it, and see that it carries."),
        Advice::TurnsNotRecorded { pass } => Prose::new()
            .toned(Tone::Doubt, "What was turned after pass")
            .toned(Tone::Doubt, format!("{TIE}{pass}"))
            .plain(" is not written down. If something was turned, write it under [pass.turned]; nothing is learned \
                    from that round without it."),
    }
}

fn percent(share: f64) -> String {
    short_number(share * 100.0, 0)
}
