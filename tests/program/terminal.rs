//! The program at a terminal, as somebody sits before it.

use std::io::{Read, Write};
use std::process::Child;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::thread;
use std::time::{Duration, Instant};

use pty_process::Size;
use pty_process::blocking::{Command, Pty, open};

use crate::machine::Machine;

/// Nothing the program does takes so long, even on a busy machine.
const PATIENCE: Duration = Duration::from_mins(1);

/// A running program and the screen before it.
pub struct Terminal {
    child: Child,
    keyboard: Arc<Pty>,
    screen: Receiver<Vec<u8>>,
    shown: Vec<u8>,
    /// What was seen already, in characters of the plain text.
    seen: usize,
}

impl Terminal {
    /// Starts the program in the machine's folder, on a screen of 80 columns.
    pub fn start(machine: &Machine, arguments: &str) -> Self {
        let (pty, pts) = open().expect("there is a terminal");
        pty.resize(Size::new(24, 80)).expect("it has a size");
        let child = Command::new(env!("CARGO_BIN_EXE_quarterturn"))
            .args(arguments.split_whitespace())
            .current_dir(machine.folder())
            .env("TERM", "xterm")
            .env("NO_COLOR", "1")
            .env_remove("COLUMNS")
            .spawn(pts)
            .expect("the program starts");
        let keyboard = Arc::new(pty);
        let (sender, screen) = channel();
        let source = Arc::clone(&keyboard);
        thread::spawn(move || {
            let mut chunk = [0; 4096];
            // The terminal gives an error when the program has ended.
            while let Ok(length @ 1..) = (&*source).read(&mut chunk) {
                if sender.send(chunk[..length].to_vec()).is_err() {
                    break;
                }
            }
        });
        Self {
            child,
            keyboard,
            screen,
            shown: Vec::new(),
            seen: 0,
        }
    }

    /// Waits until this is shown after what was seen before; gives all that was shown up to it.
    pub fn sees(&mut self, words: &str) -> String {
        let end = Instant::now() + PATIENCE;
        loop {
            let plain = self.plain();
            if let Some(found) = plain[self.seen..].find(words) {
                let to = self.seen + found + words.len();
                let before = plain[self.seen..to].to_owned();
                self.seen = to;
                return before;
            }
            match self
                .screen
                .recv_timeout(end.saturating_duration_since(Instant::now()))
            {
                Ok(chunk) => self.shown.extend(chunk),
                Err(reason) => panic!(
                    "`{words}` is not shown ({}); the screen says\n{}",
                    match reason {
                        RecvTimeoutError::Timeout => "waited long enough",
                        RecvTimeoutError::Disconnected => "the program has ended",
                    },
                    plain
                ),
            }
        }
    }

    /// All that was shown so far, without what steers the terminal.
    fn plain(&self) -> String {
        let text = String::from_utf8_lossy(&self.shown);
        anstream::adapter::strip_str(&text)
            .to_string()
            .replace('\r', "")
    }

    /// Types these keys.
    pub fn keys(&mut self, keys: &str) {
        (&*self.keyboard)
            .write_all(keys.as_bytes())
            .expect("the terminal takes keys");
    }

    /// Types a line and Enter.
    pub fn types(&mut self, line: &str) {
        self.keys(&format!("{line}\r"));
    }

    /// Kills the program with the signal that it cannot catch.
    pub fn kill(mut self) {
        self.child.kill().expect("it can be killed");
        self.child.wait().expect("it has ended");
    }

    /// Waits for the program to end; its exit status and all that was shown.
    pub fn ends(mut self) -> (i32, String) {
        let status = self.child.wait().expect("it ends");
        while let Ok(chunk) = self.screen.recv_timeout(Duration::from_millis(200)) {
            self.shown.extend(chunk);
        }
        (status.code().expect("it was not killed"), self.plain())
    }
}
