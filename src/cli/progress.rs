//! Says on a terminal that the program is still at work.

use std::io::{self, IsTerminal, Write};
use std::sync::mpsc::{self, RecvTimeoutError, Sender};
use std::thread::{self, JoinHandle};
use std::time::Duration;

/// Nothing is said of work that is done by then, and after it once in so long.
const PATIENCE: Duration = Duration::from_secs(1);

/// Work that is going on; dropping it ends it and wipes away what was said of it.
pub struct Progress {
    going_on: Option<(Sender<()>, JoinHandle<()>)>,
}

impl Progress {
    /// Work that begins now. In a pipe or a file nothing is ever said of it.
    pub fn begins() -> Self {
        let going_on = io::stderr().is_terminal().then(|| {
            let (sender, ended) = mpsc::channel::<()>();
            let told = thread::spawn(move || {
                let mut seconds = 0;
                while ended.recv_timeout(PATIENCE) == Err(RecvTimeoutError::Timeout) {
                    seconds += PATIENCE.as_secs();
                    say(&format!("\rworking it out: {seconds} s"));
                }
                if seconds > 0 {
                    say("\r\x1b[K");
                }
            });
            (sender, told)
        });
        Self { going_on }
    }
}

/// Whether a terminal takes it is no concern of the work.
fn say(text: &str) {
    let mut stream = io::stderr().lock();
    let _ = stream.write_all(text.as_bytes());
    let _ = stream.flush();
}

impl Drop for Progress {
    fn drop(&mut self) {
        if let Some((sender, told)) = self.going_on.take() {
            drop(sender);
            let _ = told.join();
        }
    }
}
