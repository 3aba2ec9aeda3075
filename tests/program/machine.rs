//! A folder at the machine with a survey in it.

use std::fs;
use std::path::{Path, PathBuf};

use quarterturn::survey::{Survey, read};
use tempfile::TempDir;

use crate::program::{Program, Run};

/// A resting bed inside its limits of which one foot, R2, hangs.
pub const ONE_FOOT_HANGS: &str = r#"format = 1
units = "mm"
bed = { length = 1800, way_spacing = 300, held_down = false }
feet = { at = [150, 900, 1650], lift_per_turn = 1.5 }
level.fine = { division = "0.02 mm/m", base = 200, range = 10, repeat = 0.2 }
limits = { twist = "0.03 mm/m" }
[[pass]]
level = "fine"
stations = [200, 900, 1600]
cross = ["1F", "1.25F", "1F"]
hanging = ["R2"]
"#;

/// A machine of four feet with one pass, kept by people who comment.
pub const SURVEY: &str = "\
# Kept by the night shift.
format = 1
units = \"mm\"

[bed]
length = 1400          # the casting
way_spacing = 300

[feet]
at = [150, 1250]
lift_per_turn = 0.5
smallest_turn = \"1/72\"

[level.master]
division = \"0.02 mm/m\"
base = 200
range = 10

[limits]
twist = \"0.04 mm/m\"
crown = [-0.01, 0.02]

[[pass]]
level = \"master\"
stations = [200, 400, 600, 800, 1000, 1200]
cross = [\"4F\", \"3F\", \"1.5F\", \"0.5F\", \"0.5R\", \"2R\"]   # cold
front = [\"1T\", \"1T\", \"1T\", \"0.5T\", \"1T\", \"1T\"]
rear = [\"2.5T\", \"2.75T\", \"2.75T\", \"2T\", \"2.75T\", \"3.25T\"]
";

/// A folder of its own.
pub struct Machine {
    folder: TempDir,
}

impl Machine {
    /// With this survey in it.
    pub fn with(survey: &str) -> Self {
        let machine = Self::empty();
        fs::write(machine.file(), survey).expect("a file can be written");
        machine
    }

    /// With nothing in it.
    pub fn empty() -> Self {
        Self {
            folder: tempfile::tempdir().expect("a folder can be made"),
        }
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// Where the survey is.
    pub fn file(&self) -> PathBuf {
        self.folder().join("bed.toml")
    }

    /// The program, started in this folder.
    pub fn program(&self, arguments: &str) -> Program {
        Program::with(arguments).folder(self.folder())
    }

    /// The program with these arguments, which may hold spaces, started in this folder.
    pub fn program_of(&self, arguments: &[&str]) -> Program {
        Program::of(arguments).folder(self.folder())
    }

    /// Runs the program in this folder.
    pub fn run(&self, arguments: &str) -> Run {
        self.program(arguments).run()
    }

    /// What the file says.
    pub fn text(&self) -> String {
        fs::read_to_string(self.file()).expect("the file is there")
    }

    /// What the file says, as a survey.
    pub fn survey(&self) -> Survey {
        let text = self.text();
        read(&text).unwrap_or_else(|mistakes| panic!("{mistakes:#?}\n{text}"))
    }

    /// Names of all files in the folder.
    pub fn files(&self) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(self.folder())
            .expect("the folder is there")
            .map(|entry| {
                entry
                    .expect("an entry")
                    .file_name()
                    .to_string_lossy()
                    .into_owned()
            })
            .collect();
        names.sort();
        names
    }
}
