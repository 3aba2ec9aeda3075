//! What README.md shows is what the program prints.

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

/// Every command that stands alone prints what stands below it; after three dots there is more.
#[test]
fn every_example_prints_what_the_readme_shows() {
    let readme = readme();
    let parts: Vec<&str> = readme.split("```").collect();
    let mut shown = 0;
    for blocks in parts.windows(3) {
        let command = blocks[0].strip_prefix("sh\nquarterturn ");
        let (Some(command), Some(text)) = (command, blocks[2].strip_prefix("text\n")) else {
            continue;
        };
        let printed = Program::with(command.trim()).prints();
        let told = match text.strip_suffix("...\n") {
            Some(beginning) => printed.get(..beginning.len()).unwrap_or(&printed),
            None => &printed,
        };
        let beginning = text.strip_suffix("...\n").unwrap_or(text);
        assert_eq!(
            beginning, told,
            "{command}: put this into README.md:\n{printed}"
        );
        shown += 1;
    }
    assert!(shown >= 3, "only {shown} examples");
}

/// Every key that a survey may have is named in the README.
#[test]
fn every_key_of_the_survey_is_explained() {
    let path = format!(
        "{}/tests/surveys/good/every_key.toml",
        env!("CARGO_MANIFEST_DIR")
    );
    let survey: toml::Table = std::fs::read_to_string(path)
        .expect("there is a survey with every key")
        .parse()
        .expect("it is TOML");
    let readme = readme();
    let prose: String = readme.split("```").step_by(2).collect();
    let quoted: Vec<&str> = prose.split('`').skip(1).step_by(2).collect();
    for (table, value) in &survey {
        let tables: Vec<&toml::Value> = match value {
            toml::Value::Array(tables) => tables.iter().collect(),
            // Tables of feet and levels have names of their own.
            toml::Value::Table(named) if table == "foot" || table == "level" => {
                named.values().collect()
            }
            other => vec![other],
        };
        let keys = tables.iter().filter_map(|table| table.as_table());
        for key in keys.flat_map(toml::Table::keys) {
            let spoken = key.strip_suffix("_reversed").unwrap_or(key);
            let explained = quoted.iter().any(|words| words.contains(spoken));
            assert!(explained, "`{key}` of {table}");
        }
    }
}
