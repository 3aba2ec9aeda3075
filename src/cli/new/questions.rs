//! What is asked, in the order in which a person with a tape walks round the machine.

use super::answers::Answers;
use crate::cli::failure::Failure;
use crate::cli::refusal::Refusal;
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
    /// Where the answer goes.
    answer: fn(&mut Answers) -> &mut Option<String>,
}

const QUESTIONS: [Question; 16] = [
    Question {
        prompt: "Name of the machine",
        how: "So that the papers say which one it is.",
        enter: Enter::LeftOut,
        answer: |answers| &mut answers.name,
    },
    Question {
        prompt: "Unit, mm or in",
        how: "The unit of your tape and your dial gauge; every bare number below is in it.",
        enter: Enter::Usual("mm"),
        answer: |answers| &mut answers.units,
    },
    Question {
        prompt: "Length of the bed",
        how: "With a tape along the ways, from the headstock end to the tailstock end.",
        enter: Enter::Needed,
        answer: |answers| &mut answers.length,
    },
    Question {
        prompt: "Way spacing",
        how: "Square across the bed, between the two lines on which the level, or the blocks under it, will rest.",
        enter: Enter::Needed,
        answer: |answers| &mut answers.way_spacing,
    },
    Question {
        prompt: "Places of the feet",
        how: "Hook the tape over the headstock end and note the middle of every pair of feet, front and rear \
              together, as in 120, 980, 1840.",
        enter: Enter::Needed,
        answer: |answers| &mut answers.feet_at,
    },
    Question {
        prompt: "Foot spacing",
        how: "From the middle of a front foot to the middle of the rear foot across from it. Enter if that is \
              the way spacing.",
        enter: Enter::LeftOut,
        answer: |answers| &mut answers.foot_spacing,
    },
    Question {
        prompt: "Held down, yes or no",
        how: "Yes if anchors can pull a foot down; no if the bed only rests on its feet.",
        enter: Enter::Usual("yes"),
        answer: |answers| &mut answers.held_down,
    },
    Question {
        prompt: "Lift per turn",
        how: "Set a dial gauge on the bed right over a foot, give its screw one whole turn and read the gauge; or \
              take the pitch of its thread.",
        enter: Enter::Needed,
        answer: |answers| &mut answers.lift_per_turn,
    },
    Question {
        prompt: "Clockwise raises or lowers",
        how: "What the gauge did when the screw was turned clockwise, seen from above.",
        enter: Enter::Usual("raises"),
        answer: |answers| &mut answers.clockwise,
    },
    Question {
        prompt: "Smallest turn",
        how: "The finest part of a turn that is worth asking for: 1/4 by eye, 1/12 or 1/24 with a mark, 1/72 (5 degrees) \
              with a long spanner and the level to say when to stop.",
        enter: Enter::Suited(Answers::suited_turn),
        answer: |answers| &mut answers.smallest_turn,
    },
    Question {
        prompt: "One division of the level",
        how: "It is engraved on the level: 0.02 mm/m, 0.0005 in/ft, 4 arcsec.",
        enter: Enter::Needed,
        answer: |answers| &mut answers.division,
    },
    Question {
        prompt: "Base of the level",
        how: "The length of its underside that rests when it is laid along a way. Enter if it is only laid across.",
        enter: Enter::LeftOut,
        answer: |answers| &mut answers.base,
    },
    Question {
        prompt: "Divisions to either side",
        how: "Count the graduations from the middle to where the bubble leaves the scale. Enter if not known.",
        enter: Enter::LeftOut,
        answer: |answers| &mut answers.range,
    },
    Question {
        prompt: "Twist allowed over the bed",
        how: "From the machine's papers. Enter for a usual value, which is from memory of ISO 1708, test G1: your \
              copy of the standard rules.",
        enter: Enter::LeftOut,
        answer: |answers| &mut answers.twist,
    },
    Question {
        prompt: "Crown allowed, lowest and highest",
        how: "Sag is negative: 0, 0.02 allows no sag. Enter for a usual value, from memory too.",
        enter: Enter::LeftOut,
        answer: |answers| &mut answers.crown,
    },
    Question {
        prompt: "Mass of the machine",
        how: "From its plate, with the unit, as in 3100 kg; it predicts which feet carry. Enter if not known.",
        enter: Enter::LeftOut,
        answer: |answers| &mut answers.mass,
    },
];

/// Asks for everything that is not said yet. Every answer is checked with those before it, and asked for again
/// where it cannot be right.
pub(super) fn ask(answers: &mut Answers, typing: &mut Typing, width: usize) -> Result<(), Failure> {
    for question in QUESTIONS {
        if (question.answer)(answers).is_some() {
            continue;
        }
        if typing.is_person() {
            let mut page = Page::new(width);
            page.paragraph(&Prose::from(question.how));
            print!("\n{}", anstream::adapter::strip_str(&page.finish()));
        }
        let enter = match question.enter {
            Enter::Needed => None,
            Enter::LeftOut => Some("none"),
            Enter::Usual(usual) => Some(usual),
            Enter::Suited(suited) => Some(suited(answers)),
        };
        let prompt = match (question.enter, enter) {
            (Enter::Usual(_) | Enter::Suited(_), Some(enter)) => {
                format!("{} [{enter}]: ", question.prompt)
            }
            _ => format!("{}: ", question.prompt),
        };
        loop {
            let line = typing.line(&prompt)?.ok_or_else(|| Refusal::NotSaid {
                option: answers.first_missing(),
            })?;
            let words = match (line.is_empty(), enter) {
                (false, _) => line,
                (true, Some(enter)) => enter.to_owned(),
                (true, None) => {
                    complain(typing, "this is needed", None)?;
                    continue;
                }
            };
            let before = (question.answer)(answers).replace(words);
            match check(answers) {
                None => break,
                Some((fact, help)) => {
                    *(question.answer)(answers) = before;
                    complain(typing, &fact, help.as_deref())?;
                }
            }
        }
    }
    Ok(())
}

/// What is wrong with the answers so far.
fn check(answers: &Answers) -> Option<(String, Option<String>)> {
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
        return Err(Refusal::Answer {
            number: typing.line_number(),
            fact: fact.to_owned(),
            help: help.map(str::to_owned),
        }
        .into());
    }
    println!("{fact}");
    if let Some(help) = help {
        println!("{help}");
    }
    Ok(())
}
