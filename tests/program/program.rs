//! The program, ready to run.

use std::io::Write;
use std::path::Path;
use std::process::{Command, ExitStatus, Output, Stdio};

/// Characters on a line unless a test says otherwise.
const USUAL_COLUMNS: usize = 80;

/// One run of the program in the making.
pub struct Program {
    command: Command,
    input: Vec<u8>,
}

/// What a run of the program did.
#[derive(Debug)]
pub struct Run {
    /// What it printed.
    pub printed: String,
    /// What it complained about.
    pub complained: String,
    /// Its exit status.
    pub status: i32,
}

impl Program {
    /// The program with these arguments, separated by spaces.
    pub fn with(arguments: &str) -> Self {
        let arguments: Vec<&str> = arguments.split_whitespace().collect();
        Self::of(&arguments)
    }

    /// The program with these arguments.
    pub fn of(arguments: &[&str]) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_quarterturn"));
        command
            .args(arguments)
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .env("NO_COLOR", "1")
            .env("COLUMNS", USUAL_COLUMNS.to_string())
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        Self {
            command,
            input: Vec::new(),
        }
    }

    /// Started in this folder.
    pub fn folder(mut self, folder: &Path) -> Self {
        self.command.current_dir(folder);
        self
    }

    /// On a disk that is full: no file may grow. The program is told so, or it is killed for it.
    pub fn without_room(mut self, told: bool) -> Self {
        let ignore = if told { "trap '' XFSZ; " } else { "" };
        let mut shell = Command::new("sh");
        shell
            .arg("-c")
            .arg(format!("{ignore}ulimit -f 0; exec \"$0\" \"$@\""))
            .arg(self.command.get_program())
            .args(self.command.get_args());
        shell
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        if let Some(folder) = self.command.get_current_dir() {
            shell.current_dir(folder);
        }
        for (name, value) in self.command.get_envs() {
            if let Some(value) = value {
                shell.env(name, value);
            }
        }
        self.command = shell;
        self
    }

    /// On a screen of this width.
    pub fn columns(mut self, columns: usize) -> Self {
        self.command.env("COLUMNS", columns.to_string());
        self
    }

    /// In this locale.
    pub fn locale(mut self, locale: &str) -> Self {
        self.command.env("LC_ALL", locale);
        self
    }

    /// With colour allowed.
    pub fn colour_allowed(mut self) -> Self {
        self.command.env_remove("NO_COLOR");
        self
    }

    /// With this on standard input.
    pub fn input(mut self, input: impl Into<Vec<u8>>) -> Self {
        self.input = input.into();
        self
    }

    /// Runs it to its end.
    pub fn run(mut self) -> Run {
        let mut child = self.command.spawn().expect("the program starts");
        let mut pipe = child.stdin.take().expect("standard input is a pipe");
        // The program may end without reading.
        let _ = pipe.write_all(&self.input);
        drop(pipe);
        let output = child.wait_with_output().expect("the program ends");
        Run::of(&output)
    }

    /// The command to start it with.
    pub fn into_command(self) -> Command {
        self.command
    }

    /// Runs it, even if it is killed.
    pub fn run_to_any_end(mut self) -> ExitStatus {
        self.command.output().expect("the program starts").status
    }

    /// Runs it and closes its standard output before it has written anything.
    pub fn run_into_closed_pipe(mut self) -> Run {
        let mut child = self.command.spawn().expect("the program starts");
        drop(child.stdout.take());
        let mut pipe = child.stdin.take().expect("standard input is a pipe");
        let _ = pipe.write_all(&self.input);
        drop(pipe);
        let output = child.wait_with_output().expect("the program ends");
        Run::of(&output)
    }

    /// Runs it, expects it to do its work, and gives what it printed.
    pub fn prints(self) -> String {
        let run = self.run();
        assert_eq!((run.status, run.complained.as_str()), (0, ""));
        run.printed
    }
}

impl Run {
    fn of(output: &Output) -> Self {
        let text =
            |bytes: &[u8]| String::from_utf8(bytes.to_vec()).expect("the program prints text");
        Self {
            printed: text(&output.stdout),
            complained: text(&output.stderr),
            status: output.status.code().expect("the program was not killed"),
        }
    }
}
