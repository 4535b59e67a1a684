//! The command line: one file for each subcommand, no arithmetic.
//!
//! Reading order: [`args`] (what can be asked), [`ending`] (how it ended), [`opening`] (the cases that are named), [`output`] (where results go), [`aside`] (what stands on standard error), then the subcommands: [`read`],
//! [`compare`], [`propose`], [`mod@run`], [`figure`], [`report`], [`frame`], [`export`], [`dicom`], [`keypoints`], [`straighten`], [`repeat`], [`series`], [`curve`],
//! [`phantom`], [`kept`], [`shell`].
//!
//! A further subcommand is a file with its `Args` and a `run`, a variant of [`args::CliCommand`], and a line in
//! [`fn@run`].

pub mod args;
pub mod aside;
pub mod compare;
pub mod curve;
pub mod dicom;
pub mod ending;
pub mod export;
pub mod figure;
pub mod frame;
pub mod kept;
pub mod keypoints;
pub mod opening;
pub mod output;
pub mod phantom;
pub mod propose;
pub mod read;
pub mod repeat;
pub mod report;
pub mod run;
pub mod series;
pub mod shell;
pub mod straighten;

use std::ffi::OsString;
use std::io::Write;

use crate::cli::args::CliCommand;
use crate::cli::aside::{Aside, Terminals};
use crate::cli::ending::{Done, Refused};
use crate::io::store::outside;

/// Runs the command line with these arguments, the program's name first, and returns the exit status: 0 done;
/// 1 done, but at least one shot has no reading; 2 bad input or usage, with no result written.
///
/// Results go to `out`, errors to `err`. A reader that stops reading `out` is no error.
pub fn run(arguments: impl IntoIterator<Item = OsString>, out: &mut dyn Write, err: &mut dyn Write) -> u8 {
    run_at(arguments, out, err, Terminals::default())
}

/// The same, with colors and how far long work has come where `out` and `err` are terminals.
pub fn run_at(
    arguments: impl IntoIterator<Item = OsString>,
    out: &mut dyn Write,
    err: &mut dyn Write,
    terminals: Terminals,
) -> u8 {
    let args::CliRequest { command, outside_images } = match args::parse(arguments, terminals) {
        Ok(asked) => asked,
        Err(args::NoCommand::Shown(text)) => {
            return match output::show(&text, out) {
                Ok(()) => 0,
                Err(refused) => complain(&refused, &mut Aside::new(err, false)),
            };
        }
        Err(args::NoCommand::Refused(text)) => {
            let _ = err.write_all(text.as_bytes());
            return 2;
        }
    };
    if outside_images {
        outside::allow_everything();
    }
    let mut aside = Aside::new(err, terminals.progress);
    let done = match command {
        CliCommand::Read(args) => read::run(&args, out),
        CliCommand::Compare(args) => compare::run(&args, out),
        CliCommand::Propose(args) => propose::run(&args, out),
        CliCommand::Run(args) => run::run(&args, out),
        CliCommand::Phantom(args) => phantom::run(&args, out, &mut aside),
        CliCommand::Figure(args) => figure::run(&args, &mut aside),
        CliCommand::Report(args) => report::run(&args, &mut aside),
        CliCommand::Export(args) => export::run(&args, out),
        CliCommand::Dicom(args) => dicom::run(&args, out, &mut aside),
        CliCommand::Keypoints(args) => keypoints::run(&args, out),
        CliCommand::Frame(args) => frame::run(&args, out),
        CliCommand::Straighten(args) => straighten::run(&args, out),
        CliCommand::Repeat(args) => repeat::run(&args, out),
        CliCommand::Curve(args) => curve::run(&args, out),
        CliCommand::Series(args) => series::run(&args, out, &mut aside),
        CliCommand::Kept(args) => kept::run(&args, out),
        CliCommand::Completions(args) => shell::completions(&args, out),
        CliCommand::Manual(args) => shell::manual(&args, out),
    };
    match done {
        Ok(Done::Fully) => 0,
        Ok(Done::WithoutSomeReading) => 1,
        Err(refused) => complain(&refused, &mut aside),
    }
}

fn complain(refused: &Refused, aside: &mut Aside<'_>) -> u8 {
    refused.0.iter().for_each(|sentence| aside.say(sentence));
    2
}
