//! `--help`, completions and manual pages, all from the same definitions.

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
