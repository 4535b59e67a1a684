//! How long pictures take to open, one line of JSON for each file named; and a folder in the way the window opens
//! it. See open.py here.

#![expect(clippy::print_stdout, reason = "its result")]

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use stillmark::app::command::Command;
use stillmark::app::command::file::FileCommand;
use stillmark::app::session::state::State;
use stillmark::app::session::update::{receive, update};
use stillmark::app::work::jobs::Jobs;
use stillmark::io::import::{apart, import_frame};

/// How often each file is opened; the fastest counts, as it does for the peers.
const ROUNDS: usize = 5;

fn main() {
    // As the programs do it: JPEG 2000 is decoded in a process of its own.
    if std::env::args_os().any(|word| word == "--apart") {
        apart::use_program(PathBuf::from(env!("CARGO_BIN_EXE_stillmark-cli")));
    }
    let is_option = |word: &std::ffi::OsString| word.to_string_lossy().starts_with("--");
    let arguments: Vec<PathBuf> =
        std::env::args_os().skip(1).filter(|word| !is_option(word)).map(PathBuf::from).collect();
    match arguments.as_slice() {
        [] => println!("name files, or a folder; see open.py"),
        [folder] if folder.is_dir() => open_folder(folder),
        files => files.iter().for_each(|file| open_file(file, rounds())),
    }
}

/// As many rounds as `--rounds=N` asks for, for a profile; else the usual number.
fn rounds() -> usize {
    std::env::args().find_map(|word| word.strip_prefix("--rounds=")?.parse().ok()).unwrap_or(ROUNDS)
}

fn open_file(file: &Path, rounds: usize) {
    let (mut best, mut with_digest) = (f64::MAX, f64::MAX);
    for _ in 0..rounds {
        let start = Instant::now();
        let opened = import_frame(file);
        let samples = start.elapsed().as_secs_f64();
        if let Ok(frame) = opened {
            // The digest is made beside the decoding; nothing of a round is left for the next one.
            assert_eq!(frame.digest.as_str().len(), "sha256:".len() + 64);
            best = best.min(samples);
            with_digest = with_digest.min(start.elapsed().as_secs_f64());
        }
    }
    let name = file.to_string_lossy();
    println!("{{\"file\": {name:?}, \"seconds\": {best}, \"with_digest\": {with_digest}}}");
}

/// Opens a folder as the window does: the first picture shown, then every small one, with the largest memory.
fn open_folder(folder: &Path) {
    let mut state = State::default();
    let mut jobs = Jobs::threaded(|| {});
    let start = Instant::now();
    for effect in update(&mut state, Command::File(FileCommand::OpenPaths(vec![folder.to_path_buf()]))) {
        jobs.push(effect);
    }
    let (mut listed, mut shown, mut longest) = (None, None, Duration::ZERO);
    loop {
        let turn = Instant::now();
        for outcome in jobs.outcomes() {
            for effect in receive(&mut state, outcome) {
                jobs.push(effect);
            }
        }
        longest = longest.max(turn.elapsed());
        let shots = state.editor.document.as_ref().map_or(0, |document| document.case().shots.len());
        if shots > 0 && listed.is_none() {
            listed = Some(start.elapsed());
        }
        if state.editor.shown_frame().is_some() && shown.is_none() {
            shown = Some(start.elapsed());
        }
        let failed = state.editor.pictures.loading.len()
            - state.editor.pictures.known.len().min(state.editor.pictures.loading.len());
        if shots > 0
            && state.editor.pictures.known.len() + failed >= shots
            && state.editor.pictures.known.len() * 10 >= shots * 9
        {
            break;
        }
        if start.elapsed() > Duration::from_secs(600) {
            break;
        }
        std::thread::sleep(Duration::from_millis(2));
    }
    let seconds = |time: Option<Duration>| time.map_or(-1.0, |time| time.as_secs_f64());
    println!(
        "{{\"pictures\": {}, \"listed\": {}, \"shown\": {}, \"all_small\": {}, \"longest_turn\": {}, \"peak_mib\": {}}}",
        state.editor.pictures.known.len(),
        seconds(listed),
        seconds(shown),
        start.elapsed().as_secs_f64(),
        longest.as_secs_f64(),
        peak_mib()
    );
}

/// The largest resident memory of this process, where the system tells.
fn peak_mib() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmHWM:")).unwrap_or_default();
    line.split_whitespace().nth(1).and_then(|kib| kib.parse::<u64>().ok()).map_or(0, |kib| kib / 1024)
}
