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
        // Cuts are explained where they are shown.
        let explained_here = !matches!(table.as_str(), "cut" | "between_centres");
        for key in keys.flat_map(toml::Table::keys).filter(|_| explained_here) {
            let spoken = key.strip_suffix("_reversed").unwrap_or(key);
            let explained = quoted.iter().any(|words| words.contains(spoken));
            assert!(explained, "`{key}` of {table}");
        }
    }
}
