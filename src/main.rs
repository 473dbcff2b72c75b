//! The `floatbowl` program: arguments in, exit code out.

use std::process::ExitCode;

fn main() -> ExitCode {
    floatbowl::cli::run()
}
