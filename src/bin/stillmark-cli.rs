//! The command line of Stillmark: arguments in, exit status out; everything else is in the library.

use std::io::Write as _;
use std::process::ExitCode;

fn main() -> ExitCode {
    let mut out = std::io::stdout().lock();
    let mut err = std::io::stderr().lock();
    let status = stillmark::cli::run(std::env::args_os(), &mut out, &mut err);
    let _ = err.flush();
    ExitCode::from(status)
}
