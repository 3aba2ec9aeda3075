//! What README.md shows is what the program prints.

use crate::machine::Machine;
use crate::program::Program;

/// The README's first command without what cargo needs.
const COMMAND: &str = "turns demo-data/eight-foot-lathe.toml";

fn readme() -> String {
    let path = format!("{}/README.md", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).expect("there is a README")
}

/// What stands between the first fence of this kind and the next one.
fn block<'a>(text: &'a str, kind: &str) -> &'a str {
    let fence = format!("```{kind}\n");
    let (_, rest) = text.split_once(&fence).expect("the block begins");
    let (block, _) = rest.split_once("```").expect("the block ends");
    block
}

#[test]
fn the_first_command_prints_what_the_readme_shows() {
    let readme = readme();
    assert!(block(&readme, "sh").contains(COMMAND));
    let printed = Program::with(COMMAND).prints();
    assert_eq!(
        block(&readme, "text"),
        printed,
        "put this into README.md:\n{printed}"
    );
}

/// A newcomer reads it to its end.
#[test]
fn the_readme_is_short_and_points_on() {
    /// Characters that a newcomer reads.
    const LONGEST: usize = 9000;
    let readme = readme();
    let length = readme.chars().count();
    assert!(length <= LONGEST, "{length} characters");
    assert!(readme.contains("`quarterturn man survey`"));
}

#[test]
fn the_survey_that_the_readme_shows_is_one() {
    let text = readme();
    let machine = Machine::with(block(&text, "toml"));
    let shape = machine.run("shape bed.toml");
    assert_eq!((shape.status, shape.complained.as_str()), (0, ""));
    assert!(shape.printed.contains("Twist"), "{shape:?}");
}

/// The commands of the rehearsal, as a newcomer would type them.
#[test]
fn the_rehearsal_that_the_readme_shows_can_be_typed() {
    let readme = readme();
    let (_, practice) = readme.split_once("## Practise first").expect("it is shown");
    let commands = block(practice, "").replace("\\\n", " ");
    let machine = Machine::empty();
    let mut typed = 0;
    for command in commands.lines() {
        let command = command.strip_prefix("quarterturn ").expect("a command");
        let words: Vec<&str> = command.split('"').collect();
        let words: Vec<&str> = words
            .iter()
            .enumerate()
            .flat_map(|(index, part)| match index % 2 {
                0 => part.split_whitespace().collect(),
                _ => vec![*part],
            })
            .collect();
        let run = machine.program_of(&words).run();
        assert_eq!((run.status, run.complained.as_str()), (0, ""), "{command}");
        typed += 1;
    }
    assert_eq!(typed, 4);
}
