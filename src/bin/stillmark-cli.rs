//! The command line of Stillmark: arguments in, exit status out; everything else is in the library.

use std::io::Write as _;
use std::process::ExitCode;

use stillmark::cli::aside::Terminals;
use stillmark::cli::run_at;

fn main() -> ExitCode {
    if let Some(status) = stillmark::io::import::apart::serve(std::env::args_os()) {
        return ExitCode::from(status);
    }
    let terminals = Terminals::of_process();
    let mut out = std::io::stdout().lock();
    let mut err = std::io::stderr().lock();
    let status = run_at(std::env::args_os(), &mut out, &mut err, terminals);
    let _ = err.flush();
    ExitCode::from(status)
}
