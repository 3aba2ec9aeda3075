//! The program: hands its arguments to [`quarterturn::cli`] and returns what that says.

use std::process::ExitCode;

fn main() -> ExitCode {
    quarterturn::cli::run()
}
