//! JPEG 2000 in a process of its own. Its decoder is C turned into Rust with unsafe code, so that a hostile stream may do more
//! than make it panic: what no guard within a process contains. The same program is started in a hidden mode, gets the
//! stream on standard input and gives the samples on standard output. Where the system can limit a process it can use no more
//! memory and time than stated and can open no file, no connection and no further process; whatever becomes of it becomes a
//! sentence.
//!
//! The programs name themselves at their start ([`serve`]). Where none is named, as for tests and benchmarks that use the
//! library itself, the decoder runs in the process that asks.

use std::cell::Cell;
use std::ffi::OsString;
use std::io::{Read as _, Write as _};
use std::path::PathBuf;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::OnceLock;
use std::sync::mpsc;
use std::time::{Duration, Instant};

use log::{Level, LevelFilter, Log, Metadata, Record};

use crate::io::import::dicom::library::{self, Layout, Process};

/// The argument that asks for the hidden mode.
const MODE: &str = "--decode-jpeg-2000";
/// Memory of the process beside what a frame takes, in bytes: the program itself and its stack.
const BASE_BYTES: u64 = 256 << 20;
/// Memory for each sample of a frame, in bytes: the decoder's whole numbers, twice, a tile's coefficients, and the samples.
const SAMPLE_BYTES: u64 = 32;
/// How long a frame may take on a processor, in seconds.
const PROCESSOR_SECONDS: u64 = 60;
/// How long a frame may take by the clock.
const LONGEST: Duration = Duration::from_secs(120);

/// Exit status: the stream is damaged.
const DAMAGED: u8 = 3;
/// Exit status: the mode was asked for in a way that is not understood.
const MISUSED: u8 = 4;

/// The program that decodes.
static PROGRAM: OnceLock<PathBuf> = OnceLock::new();

/// A decoded frame.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct DecodedApart {
    /// The samples.
    pub(super) bytes: Vec<u8>,
    /// Whether the decoder had something to say of the stream.
    pub(super) warned: bool,
}

/// Why a frame was not decoded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum ApartFault {
    /// The stream is damaged.
    Damaged,
    /// The process ended on its own: by a fault, or because it asked for more than it may have.
    Failed,
    /// It took too long.
    TooLong,
    /// It could not be started.
    NotStarted,
}

/// Names the program whose hidden mode decodes; the first word counts.
pub fn use_program(program: PathBuf) {
    let _ = PROGRAM.set(program);
}

/// At the start of a program: answers the hidden mode with an exit status, where the arguments, the program's name first, ask
/// for it; else names this program as the one that decodes.
#[must_use]
pub fn serve(arguments: impl IntoIterator<Item = OsString>) -> Option<u8> {
    let mut arguments = arguments.into_iter().skip(1);
    if arguments.next().is_some_and(|first| first == MODE) {
        let numbers: Vec<u64> =
            arguments.filter_map(|argument| argument.to_str().and_then(|text| text.parse().ok())).collect();
        return Some(work(&numbers));
    }
    if let Ok(program) = std::env::current_exe() {
        use_program(program);
    }
    None
}

/// Decodes a stream whose size has been checked.
pub(super) fn decode(coded: Vec<u8>, layout: Layout) -> Result<DecodedApart, ApartFault> {
    match PROGRAM.get() {
        Some(program) => {
            let samples = u64::from(layout.columns) * u64::from(layout.rows) * layout.samples as u64;
            let memory = BASE_BYTES + SAMPLE_BYTES * samples + 4 * coded.len() as u64;
            ask(Command::new(program), &coded, layout, memory, LONGEST)
        }
        None => here(coded, layout).ok_or(ApartFault::Damaged),
    }
}

/// Starts the process, gives it the stream, and takes what it gives.
fn ask(
    mut program: Command,
    coded: &[u8],
    layout: Layout,
    memory: u64,
    longest: Duration,
) -> Result<DecodedApart, ApartFault> {
    let numbers = [u64::from(layout.columns), u64::from(layout.rows), layout.samples as u64];
    let limits = [u64::from(layout.allocated), memory];
    program.arg(MODE).args(numbers.iter().chain(&limits).map(u64::to_string));
    program.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null());
    let mut child = program.spawn().map_err(|error| {
        drop(error);
        ApartFault::NotStarted
    })?;
    let (Some(mut into), Some(out)) = (child.stdin.take(), child.stdout.take()) else {
        return Err(end(child, ApartFault::NotStarted));
    };
    let began = Instant::now();
    let (done, came) = mpsc::channel();
    let most = layout.bytes() as u64 + 2;
    let (bytes, late) = std::thread::scope(|scope| {
        scope.spawn(move || {
            // One that ends early does not take all; its status tells why.
            let _ = into.write_all(coded);
            drop(into);
            let mut bytes = Vec::new();
            let _ = out.take(most).read_to_end(&mut bytes);
            let _ = done.send(bytes);
        });
        match came.recv_timeout(longest) {
            Ok(bytes) => (bytes, false),
            Err(_) => {
                let _ = child.kill();
                (Vec::new(), true)
            }
        }
    });
    if late {
        return Err(end(child, ApartFault::TooLong));
    }
    let Some(status) = ended(&mut child, longest.saturating_sub(began.elapsed())) else {
        return Err(end(child, ApartFault::TooLong));
    };
    let status = status.code();
    match (status, bytes.split_first()) {
        (Some(0), Some((&warned, samples))) if samples.len() == layout.bytes() => {
            Ok(DecodedApart { bytes: samples.to_vec(), warned: warned != 0 })
        }
        (Some(code), _) if code == i32::from(DAMAGED) => Err(ApartFault::Damaged),
        _ => Err(ApartFault::Failed),
    }
}

/// How it ended, if it does within this time: one may close its output and stay.
fn ended(child: &mut Child, within: Duration) -> Option<ExitStatus> {
    let began = Instant::now();
    loop {
        match child.try_wait() {
            Ok(Some(status)) => return Some(status),
            Ok(None) if began.elapsed() < within => std::thread::sleep(Duration::from_millis(1)),
            Ok(None) | Err(_) => return None,
        }
    }
}

/// Sees to it that no process is left behind.
fn end(mut child: Child, fault: ApartFault) -> ApartFault {
    let _ = child.kill();
    let _ = child.wait();
    fault
}

/// The hidden mode: limits itself, reads the stream, decodes it, writes a byte that says whether the decoder warned, and the
/// samples.
fn work(numbers: &[u64]) -> u8 {
    let &[columns, rows, samples @ (1 | 3), allocated @ (8 | 16), memory] = numbers else { return MISUSED };
    let (Ok(columns), Ok(rows), Ok(samples), Ok(allocated)) =
        (u32::try_from(columns), u32::try_from(rows), usize::try_from(samples), u32::try_from(allocated))
    else {
        return MISUSED;
    };
    if !confine(memory) {
        return MISUSED;
    }
    let mut coded = Vec::new();
    if std::io::stdin().lock().read_to_end(&mut coded).is_err() {
        return DAMAGED;
    }
    let Some(decoded) = here(coded, Layout { columns, rows, samples, allocated }) else { return DAMAGED };
    let mut out = std::io::stdout().lock();
    let written = out.write_all(&[u8::from(decoded.warned)]).and_then(|()| out.write_all(&decoded.bytes));
    match written.and_then(|()| out.flush()) {
        Ok(()) => 0,
        Err(_) => MISUSED,
    }
}

/// From here on the process can have no more memory and time, and can open no file or connection, write none, and start no
/// process; soft and hard limits are the same, so that nothing raises them again.
#[cfg(any(target_os = "linux", target_os = "android", target_vendor = "apple"))]
fn confine(memory: u64) -> bool {
    use rustix::process::{Resource, Rlimit, setrlimit};
    let limits = [
        (Resource::As, memory),
        (Resource::Cpu, PROCESSOR_SECONDS),
        (Resource::Core, 0),
        (Resource::Fsize, 0),
        (Resource::Nofile, 0),
        (Resource::Nproc, 0),
    ];
    // Apple's systems do not hold the first; the others are never refused.
    limits.into_iter().all(|(resource, most)| {
        let limited = setrlimit(resource, Rlimit { current: Some(most), maximum: Some(most) });
        limited.is_ok() || (resource == Resource::As && cfg!(target_vendor = "apple"))
    })
}

/// Elsewhere only the time by the clock is limited, by whoever asked.
#[cfg(not(any(target_os = "linux", target_os = "android", target_vendor = "apple")))]
fn confine(_memory: u64) -> bool {
    true
}

/// Decodes in this process, and counts what the decoder warns of.
fn here(coded: Vec<u8>, layout: Layout) -> Option<DecodedApart> {
    listen();
    WARNED.set(0);
    let bytes = library::decode(coded, Process::Jpeg2000, layout)?;
    Some(DecodedApart { bytes, warned: WARNED.get() > 0 })
}

thread_local! {
    /// Warnings of the decoder since it last began on this thread.
    static WARNED: Cell<u32> = const { Cell::new(0) };
}

/// Counts the decoder's warnings; its words are for programmers.
struct Listener;

impl Log for Listener {
    fn enabled(&self, about: &Metadata<'_>) -> bool {
        about.level() <= Level::Warn && about.target().starts_with("jpeg2k")
    }

    fn log(&self, record: &Record<'_>) {
        if self.enabled(record.metadata()) {
            WARNED.set(WARNED.get() + 1);
        }
    }

    fn flush(&self) {}
}

fn listen() {
    static LISTENER: Listener = Listener;
    // Whoever listens already goes on listening; then nothing is counted.
    if log::set_logger(&LISTENER).is_ok() {
        log::set_max_level(LevelFilter::Warn);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LAYOUT: Layout = Layout { columns: 4, rows: 3, samples: 1, allocated: 8 };

    /// A stand-in for the program: a shell that does this instead of decoding.
    #[cfg(unix)]
    fn instead(script: &str, longest: Duration) -> Result<DecodedApart, ApartFault> {
        let mut shell = Command::new("sh");
        shell.args(["-c", script, "sh"]);
        ask(shell, b"coded", LAYOUT, BASE_BYTES, longest)
    }

    #[cfg(unix)]
    #[test]
    fn whatever_becomes_of_the_process_becomes_a_fault() {
        let soon = Duration::from_secs(20);
        assert_eq!(instead("kill -SEGV $$", soon), Err(ApartFault::Failed));
        assert_eq!(instead("kill -KILL $$", soon), Err(ApartFault::Failed));
        assert_eq!(instead("exit 3", soon), Err(ApartFault::Damaged));
        assert_eq!(instead("exit 0", soon), Err(ApartFault::Failed), "nothing was given");
        assert_eq!(instead("head -c 100 /dev/zero", soon), Err(ApartFault::Failed), "too much");
        assert_eq!(instead("exec sleep 60", Duration::from_millis(100)), Err(ApartFault::TooLong));
        let silent = instead("exec >&-; exec sleep 60", Duration::from_millis(100));
        assert_eq!(silent, Err(ApartFault::TooLong), "it closed its output and stayed");
        let nobody = ask(Command::new("/no/such/program"), b"", LAYOUT, BASE_BYTES, soon);
        assert_eq!(nobody, Err(ApartFault::NotStarted));
    }

    #[cfg(unix)]
    #[test]
    fn what_it_gives_is_taken_with_its_warning() {
        let given = instead("cat >/dev/null; printf '\\001abcdefghijkl'", Duration::from_secs(20));
        assert_eq!(given, Ok(DecodedApart { bytes: b"abcdefghijkl".to_vec(), warned: true }));
    }

    #[test]
    fn the_mode_is_asked_for_by_its_name_alone() {
        let ask = |words: &[&str]| serve(words.iter().map(OsString::from));
        assert_eq!(ask(&["program", MODE]), Some(MISUSED));
        assert_eq!(ask(&["program", MODE, "4", "3", "2", "8", "1000"]), Some(MISUSED));
        assert_eq!(ask(&["program", MODE, "4", "3", "1", "8", "x"]), Some(MISUSED));
    }
}
