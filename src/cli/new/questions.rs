//! What is asked, in the order in which a person with a tape walks round the machine.

use super::answers::{Answers, NONE, given};
use super::limits::OWN;
use crate::cli::failure::{self, Failure};
use crate::cli::typing::Typing;
use crate::report::text::{Page, Prose};
use crate::survey::read;

/// What Enter alone stands for.
#[derive(Debug, Clone, Copy)]
enum Enter {
    /// Nothing: an answer is needed.
    Needed,
    /// That it is not known, or not to be written down.
    LeftOut,
    /// This.
    Usual(&'static str),
    /// What suits the answers so far.
    Suited(fn(&Answers) -> &'static str),
}

/// One question.
struct Question {
    /// What is asked.
    prompt: &'static str,
    /// How to find out.
    how: &'static str,
    /// What Enter stands for.
    enter: Enter,
    /// The option that says it too.
    option: &'static str,
    /// Where the answer goes.
    answer: fn(&mut Answers) -> &mut Option<String>,
    /// Whether it matters after the answers so far.
    matters: fn(&Answers) -> bool,
}

/// It does whatever was answered.
const ALWAYS: fn(&Answers) -> bool = |_| true;

const QUESTIONS: [Question; 24] = [
    Question {
        prompt: "Name of the machine",
        how: "So that the papers say which one it is.",
        enter: Enter::LeftOut,
        option: "--name",
        answer: |answers| &mut answers.name,
        matters: ALWAYS,
    },
    Question {
        prompt: "Unit, mm or in",
        how: "The unit of your tape and your dial gauge; every bare number below is in it.",
        enter: Enter::Usual("mm"),
        option: "--units",
        answer: |answers| &mut answers.units,
        matters: ALWAYS,
    },
    Question {
        prompt: "Length of the bed",
        how: "With a tape along the ways, from the headstock end to the tailstock end.",
        enter: Enter::Needed,
        option: "--length",
        answer: |answers| &mut answers.length,
        matters: ALWAYS,
    },
    Question {
        prompt: "Way spacing",
        how: "Square across the bed, between the two lines on which the level, or the blocks under it, will rest.",
        enter: Enter::Needed,
        option: "--way-spacing",
        answer: |answers| &mut answers.way_spacing,
        matters: ALWAYS,
    },
    Question {
        prompt: "Free ways from",
        how: "Where the ways come out from under the headstock, from the headstock end: nothing can be read before. \
              Enter if they are free from the end on.",
        enter: Enter::LeftOut,
        option: "--ways-from",
        answer: |answers| &mut answers.ways_from,
        matters: ALWAYS,
    },
    Question {
        prompt: "Free ways to",
        how: "Where they end, or something that stays on the bed covers them. Enter if they are free to the end.",
        enter: Enter::LeftOut,
        option: "--ways-to",
        answer: |answers| &mut answers.ways_to,
        matters: ALWAYS,
    },
    Question {
        prompt: "Places of the feet",
        how: "Hook the tape over the headstock end and note the middle of every pair of feet, front and rear \
              together, as in 120, 980, 1840.",
        enter: Enter::Needed,
        option: "--feet-at",
        answer: |answers| &mut answers.feet_at,
        matters: ALWAYS,
    },
    Question {
        prompt: "Foot spacing",
        how: "From the middle of a front foot to the middle of the rear foot across from it. Enter if that is \
              the way spacing.",
        enter: Enter::LeftOut,
        option: "--foot-spacing",
        answer: |answers| &mut answers.foot_spacing,
        matters: ALWAYS,
    },
    Question {
        prompt: "Held down, yes or no",
        how: "Yes if anchors can pull a foot down, or will: write anchors = \"slack\" into its passes until they do. No if the bed \
              only rests on its feet. Enter if not known.",
        enter: Enter::LeftOut,
        option: "--held-down",
        answer: |answers| &mut answers.held_down,
        matters: ALWAYS,
    },
    Question {
        prompt: "Lift per turn",
        how: "The pitch of its thread; of a wedge mount, the pitch times the slope of its wedge. To check it at a foot \
              whose nut is slack: dial gauge on the bed, standing on the floor, eight times an eighth of a turn up, and \
              back.",
        enter: Enter::Needed,
        option: "--lift-per-turn",
        answer: |answers| &mut answers.lift_per_turn,
        matters: ALWAYS,
    },
    Question {
        prompt: "Clockwise raises or lowers",
        how: "What the gauge did when the screw was turned clockwise, seen from above.",
        enter: Enter::Usual("raises"),
        option: "--clockwise",
        answer: |answers| &mut answers.clockwise,
        matters: ALWAYS,
    },
    Question {
        prompt: "Smallest turn",
        how: "The finest part of a turn that is worth counting: 1/4 by eye, 1/12 or 1/24 with a mark, 1/72 (5 degrees) with a \
              long spanner. Where the level says when to stop, whole degrees are asked for.",
        enter: Enter::Suited(Answers::suited_turn),
        option: "--smallest-turn",
        answer: |answers| &mut answers.smallest_turn,
        matters: ALWAYS,
    },
    Question {
        prompt: "One division of the level",
        how: "It is engraved on the level: 0.02 mm/m, 0.0005 in/ft, 4 arcsec.",
        enter: Enter::Needed,
        option: "--division",
        answer: |answers| &mut answers.division,
        matters: ALWAYS,
    },
    Question {
        prompt: "Base of the level",
        how: "The length of its underside that rests when it is laid along a way. Enter if it is only laid across.",
        enter: Enter::LeftOut,
        option: "--base",
        answer: |answers| &mut answers.base,
        matters: ALWAYS,
    },
    Question {
        prompt: "Divisions to either side",
        how: "Count the graduations from the middle to where the bubble leaves the scale. Enter if not known.",
        enter: Enter::LeftOut,
        option: "--range",
        answer: |answers| &mut answers.range,
        matters: ALWAYS,
    },
    Question {
        prompt: "One division of a rougher level",
        how: "A level of 0.1 to 1 mm/m reads a machine that was just set down, where the fine one is off its scale; the fine \
              one finishes. Enter if there is none.",
        enter: Enter::LeftOut,
        option: "--rough-division",
        answer: |answers| &mut answers.rough_division,
        matters: ALWAYS,
    },
    Question {
        prompt: "Base of the rougher level",
        how: "The length of its underside that rests when it is laid along a way. Enter if it is only laid across.",
        enter: Enter::LeftOut,
        option: "--rough-base",
        answer: |answers| &mut answers.rough_base,
        matters: Answers::has_rough,
    },
    Question {
        prompt: "Divisions of the rougher level to either side",
        how: "Where its bubble leaves the scale. Enter if not known.",
        enter: Enter::LeftOut,
        option: "--rough-range",
        answer: |answers| &mut answers.rough_range,
        matters: Answers::has_rough,
    },
    Question {
        prompt: "Limits: own, or class ordinary or precision",
        how: "Own numbers from the machine's papers, or those of a class of lathes up to 800 mm swing, which are from \
              memory of ISO 1708, test G1: your copy of the standard rules.",
        enter: Enter::Usual(OWN),
        option: "--class",
        answer: |answers| &mut answers.class,
        matters: ALWAYS,
    },
    Question {
        prompt: "Distance between centres",
        how: "The longest work that the lathe takes; a class is chosen by it. Enter for own numbers after all.",
        enter: Enter::LeftOut,
        option: "--distance-between-centres",
        answer: |answers| &mut answers.distance_between_centres,
        matters: |answers| answers.chosen_class().is_some(),
    },
    Question {
        prompt: "Swing over the bed",
        how: "The largest diameter that turns over the bed. Enter for own numbers after all.",
        enter: Enter::LeftOut,
        option: "--swing",
        answer: |answers| &mut answers.swing,
        matters: |answers| answers.chosen_class().is_some() && answers.centre_height.is_none(),
    },
    Question {
        prompt: "Twist allowed over the bed",
        how: "From the machine's papers. Enter for a usual value, which is from memory of ISO 1708, test G1: your \
              copy of the standard rules.",
        enter: Enter::LeftOut,
        option: "--twist",
        answer: |answers| &mut answers.twist,
        matters: |answers| answers.chosen_class().is_none(),
    },
    Question {
        prompt: "Crown allowed, lowest and highest",
        how: "Sag is negative: 0, 0.02 allows no sag. Enter for a usual value, from memory too.",
        enter: Enter::LeftOut,
        option: "--crown",
        answer: |answers| &mut answers.crown,
        matters: |answers| answers.chosen_class().is_none(),
    },
    Question {
        prompt: "Mass of the machine",
        how: "From its plate, with the unit, as in 3100 kg; it predicts which feet carry. Enter if not known.",
        enter: Enter::LeftOut,
        option: "--mass",
        answer: |answers| &mut answers.mass,
        matters: ALWAYS,
    },
];

/// The answer that leads to the question before.
const BACK: &str = "back";

/// What was answered, to say it all at once or to go on another time.
pub(super) enum Asked {
    /// Everything that matters.
    All,
    /// Not all; these options say what was answered.
    Interrupted(Vec<(&'static str, String)>),
}

/// The first thing that must be said and is not, by its option.
pub(super) fn first_missing(answers: &Answers) -> Option<&'static str> {
    let mut answers = answers.clone();
    QUESTIONS
        .iter()
        .filter(|question| matches!(question.enter, Enter::Needed))
        .find(|question| given((question.answer)(&mut answers).as_ref()).is_none())
        .map(|question| question.option)
}

/// Asks for everything that is not said yet. Every answer is checked with those before it, and asked for again
/// where it cannot be right.
pub(super) fn ask(
    answers: &mut Answers,
    typing: &mut Typing,
    width: usize,
) -> Result<Asked, Failure> {
    // With what was said as an option, or answered before a way back, as the usual answer.
    let said: Vec<bool> = QUESTIONS
        .iter()
        .map(|question| (question.answer)(answers).is_some())
        .collect();
    let mut asked: Vec<usize> = Vec::new();
    let mut next = 0;
    while let Some(question) = QUESTIONS.get(next) {
        if said[next] || !(question.matters)(answers) {
            next += 1;
            continue;
        }
        if typing.is_person() {
            let mut page = Page::new(width);
            page.paragraph(&Prose::from(question.how));
            print!("\n{}", anstream::adapter::strip_str(&page.finish()));
        }
        match answer(question, answers, typing)? {
            Answered::Taken => {
                asked.push(next);
                next += 1;
            }
            Answered::Back => {
                if let Some(before) = asked.pop() {
                    next = before;
                } else {
                    complain(typing, "this is the first question", None)?;
                }
            }
            Answered::Ended if typing.is_person() => {
                let answered = asked.iter().filter_map(|k| {
                    let question = &QUESTIONS[*k];
                    Some((question.option, (question.answer)(answers).clone()?))
                });
                return Ok(Asked::Interrupted(answered.collect()));
            }
            Answered::Ended => {
                let option = first_missing(answers);
                return Err(failure::not_said(option));
            }
        }
    }
    Ok(Asked::All)
}

enum Answered {
    Taken,
    Back,
    Ended,
}

/// Asks one question until the answer can be right.
fn answer(
    question: &Question,
    answers: &mut Answers,
    typing: &mut Typing,
) -> Result<Answered, Failure> {
    let enter = match ((question.answer)(answers).clone(), question.enter) {
        (Some(before), _) => Some(before),
        (None, Enter::Needed) => None,
        (None, Enter::LeftOut) => Some(NONE.to_owned()),
        (None, Enter::Usual(usual)) => Some(usual.to_owned()),
        (None, Enter::Suited(suited)) => Some(suited(answers).to_owned()),
    };
    let prompt = match &enter {
        Some(enter) if enter != NONE => format!("{} [{enter}]: ", question.prompt),
        _ => format!("{}: ", question.prompt),
    };
    loop {
        let Some(line) = typing.line(&prompt)? else {
            return Ok(Answered::Ended);
        };
        if line.eq_ignore_ascii_case(BACK) {
            return Ok(Answered::Back);
        }
        let words = match (line.is_empty(), &enter) {
            (false, _) => line,
            (true, Some(enter)) => enter.clone(),
            (true, None) => {
                complain(typing, "this is needed", None)?;
                continue;
            }
        };
        let before = (question.answer)(answers).replace(words);
        let Some((fact, help)) = check(answers) else {
            return Ok(Answered::Taken);
        };
        *(question.answer)(answers) = before;
        complain(typing, &fact, help.as_deref())?;
    }
}

/// What is wrong with the answers so far.
fn check(answers: &Answers) -> Option<(String, Option<String>)> {
    // A class is chosen before the two lengths that it takes.
    let harmless =
        |answer: &Option<String>, length: &str| answer.clone().or_else(|| Some(length.to_owned()));
    let answers = match answers.chosen_class() {
        Some(_) => &Answers {
            distance_between_centres: harmless(&answers.distance_between_centres, "500 mm"),
            swing: match &answers.centre_height {
                None => harmless(&answers.swing, "500 mm"),
                Some(_) => answers.swing.clone(),
            },
            ..answers.clone()
        },
        None => answers,
    };
    let text = answers.text() + &answers.limits("\"0.04 mm/m\"", "[0, \"0.02 mm\"]");
    let mistake = read(&text).err()?.swap_remove(0);
    let fact = if mistake.label.is_empty() {
        mistake.title
    } else {
        format!("{}: {}", mistake.title, mistake.label)
    };
    Some((fact, mistake.help))
}

/// Says what is wrong to a person, who is asked again; gives up where nobody can be asked.
fn complain(typing: &Typing, fact: &str, help: Option<&str>) -> Result<(), Failure> {
    if !typing.is_person() {
        return Err(failure::answer(typing.line_number(), fact, help));
    }
    println!("{fact}");
    if let Some(help) = help {
        println!("{help}");
    }
    Ok(())
}
