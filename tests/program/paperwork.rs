//! `--help`, completions and manual pages, all from the same definitions.

use quarterturn::survey::keys::catalogue::FILE;

use crate::program::Program;

/// The commands that `--help` lists.
fn commands() -> Vec<String> {
    let help = Program::with("--help").prints();
    let (_, after) = help.split_once("Commands:\n").expect("there is a list");
    let (list, _) = after.split_once("\n\n").expect("the list ends");
    list.lines()
        // A description that is too long goes on below, further in.
        .filter(|line| !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next())
        .filter(|name| *name != "help")
        .map(str::to_owned)
        .collect()
}

#[test]
fn every_command_tells_more_and_gives_an_example() {
    let commands = commands();
    assert!(commands.len() >= 6, "{commands:?}");
    for command in commands {
        let help = Program::with(&format!("{command} --help")).prints();
        let example = format!("\n  quarterturn {command} ");
        assert!(help.contains("\nExamples:\n"), "{help}");
        assert!(help.contains(&example), "{help}");
        assert!(
            help.lines().all(|line| line.chars().count() <= 100),
            "{help}"
        );
    }
}

#[test]
fn completions_know_every_command() {
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let script = Program::with(&format!("completions {shell}")).prints();
        for command in commands() {
            assert!(script.contains(&command), "{shell} {command}");
        }
        assert!(script.contains("fail-outside"), "{shell}");
    }
    assert_eq!(Program::with("completions cmd").run().status, 2);
}

#[test]
fn manual_pages_for_the_program_and_every_command() {
    let page = Program::with("man").prints();
    assert!(page.contains(".TH quarterturn 1"), "{page}");
    for command in commands() {
        assert!(
            page.contains(&format!("quarterturn\\-{command}(1)")),
            "{command}"
        );
        let page = Program::with(&format!("man {command}")).prints();
        assert!(
            page.contains(&format!(".TH quarterturn-{command} 1")),
            "{page}"
        );
        assert!(page.contains("Examples"), "{page}");
    }
    let run = Program::with("man rounds").run();
    assert_eq!((run.status, run.printed.as_str()), (2, ""));
}

#[test]
fn every_key_of_the_survey_file_is_printed() {
    for columns in [40, 80] {
        let text = Program::with("man survey").columns(columns).prints();
        assert!(
            text.lines().all(|line| line.chars().count() <= columns),
            "{text}"
        );
    }
    let text = Program::with("man survey").columns(100).prints();
    let mut sections = vec![&FILE];
    let mut keys = 0;
    while let Some(section) = sections.pop() {
        for key in section.keys {
            sections.extend(key.kind.section());
            if !key.meaning.is_empty() {
                keys += 1;
                let line: String = format!("{} ", key.line()).chars().take(60).collect();
                assert!(text.contains(&line), "{line}\n{text}");
            }
        }
    }
    assert!(keys > 70, "{keys}");
}
