//! JPEG 2000 in a process of its own. Its decoder is C turned into Rust with unsafe code, so that a hostile stream may do more
//! than make it panic: what no guard within a process contains. The same program is started in a hidden mode, gets the
//! stream on standard input and gives the samples on standard output. Where the system can limit a process it can use no more
//! memory and time than stated and can open no file, no connection and no further process; whatever becomes of it becomes a
//! sentence.
//!
//! The decoder works on one core. A large image is halved: two processes get the same stream, and each decodes its rows.
//!
//! The programs name themselves at their start ([`serve`]). Where none is named, as for tests and benchmarks that use the
//! library itself, the decoder runs in the process that asks.

use std::cell::Cell;
use std::ffi::OsString;
use std::io::{Read as _, Write as _};
use std::ops::Range;
use std::path::PathBuf;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::OnceLock;
use std::sync::mpsc;
use std::time::{Duration, Instant};

use log::{Level, LevelFilter, Log, Metadata, Record};

use crate::io::import::dicom::library::Layout;
use crate::io::import::jpeg_2000_rows::CodedImage;

/// The argument that asks for the hidden mode.
const MODE: &str = "--decode-jpeg-2000";
/// Memory of the process beside what a frame takes, in bytes: the program itself and its stack.
const BASE_BYTES: u64 = 256 << 20;
/// Memory for each sample of a frame, in bytes: the decoder's whole numbers, twice, a tile's coefficients, and the samples.
const SAMPLE_BYTES: u64 = 32;
/// Images of so many pixels are halved: smaller ones take hardly longer than a process's start, and larger ones twice the memory.
const HALVED_PIXELS: Range<u64> = 1 << 18..1 << 24;
/// How long a frame may take on a processor, in seconds, where the system lets that be limited.
#[cfg(any(target_os = "linux", target_os = "android", target_vendor = "apple"))]
const PROCESSOR_SECONDS: u64 = 60;
/// How long a frame may take by the clock.
const LONGEST: Duration = Duration::from_secs(120);

/// How long it is waited before it is asked again whether a process has ended, at first and at last.
const SHORTEST_PAUSE: Duration = Duration::from_micros(50);
const LONGEST_PAUSE: Duration = Duration::from_millis(5);

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
pub(super) fn decode(image: CodedImage<'_>) -> Result<DecodedApart, ApartFault> {
    let rows = image.layout.rows;
    let Some(program) = PROGRAM.get() else { return here(image, &(0..rows)).ok_or(ApartFault::Damaged) };
    let ask = |rows: Range<u32>| ask(Command::new(program), image, &rows, LONGEST);
    if !is_halved(image) {
        return ask(0..rows);
    }
    let half = rows / 2;
    let (upper, lower) = std::thread::scope(|scope| {
        let lower = scope.spawn(|| ask(half..rows));
        (ask(0..half), lower.join().unwrap_or(Err(ApartFault::Failed)))
    });
    let (mut upper, lower) = (upper?, lower?);
    upper.bytes.extend_from_slice(&lower.bytes);
    Ok(DecodedApart { bytes: upper.bytes, warned: upper.warned || lower.warned })
}

/// Whether two processes decode an image.
fn is_halved(image: CodedImage<'_>) -> bool {
    let pixels = u64::from(image.layout.columns) * u64::from(image.layout.rows);
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    HALVED_PIXELS.contains(&pixels) && image.layout.rows > 1 && image.divides() && cores > 1
}

/// Memory that a process may have for an image, in bytes.
fn memory_for(image: CodedImage<'_>) -> u64 {
    let Layout { columns, rows, samples, .. } = image.layout;
    let samples = u64::from(columns) * u64::from(rows) * samples as u64;
    BASE_BYTES + SAMPLE_BYTES * samples + 4 * image.coded.len() as u64
}

/// What a process is asked for, as numbers among its arguments.
fn numbers_of(image: CodedImage<'_>, rows: &Range<u32>) -> [u64; 9] {
    let Layout { columns, rows: all, samples, allocated } = image.layout;
    let [left, top] = image.origin.map(u64::from);
    let size = [u64::from(columns), u64::from(all), samples as u64, u64::from(allocated)];
    let [columns, all, samples, allocated] = size;
    let (first, last) = (u64::from(rows.start), u64::from(rows.end));
    [columns, all, samples, allocated, left, top, first, last, memory_for(image)]
}

/// Starts the process, gives it the stream, and takes what it gives.
fn ask(
    mut program: Command,
    image: CodedImage<'_>,
    rows: &Range<u32>,
    longest: Duration,
) -> Result<DecodedApart, ApartFault> {
    program.arg(MODE).args(numbers_of(image, rows).iter().map(u64::to_string));
    program.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null());
    let mut child = program.spawn().map_err(|error| {
        drop(error);
        ApartFault::NotStarted
    })?;
    let (Some(mut into), Some(mut out)) = (child.stdin.take(), child.stdout.take()) else {
        return Err(end(child, ApartFault::NotStarted));
    };
    let began = Instant::now();
    let (done, came) = mpsc::channel();
    let size = image.layout.row_bytes() * rows.len();
    let (given, late) = std::thread::scope(|scope| {
        scope.spawn(move || {
            // One that ends early does not take all; its status tells why.
            let _ = into.write_all(image.coded);
            drop(into);
            let (mut warned, mut bytes) = ([0], Vec::with_capacity(size + 1));
            let first = out.read_exact(&mut warned);
            let _ = out.take(size as u64 + 1).read_to_end(&mut bytes);
            let given = DecodedApart { bytes, warned: warned != [0] };
            let _ = done.send(first.is_ok().then_some(given));
        });
        match came.recv_timeout(longest) {
            Ok(given) => (given, false),
            Err(_) => {
                let _ = child.kill();
                (None, true)
            }
        }
    });
    if late {
        return Err(end(child, ApartFault::TooLong));
    }
    let Some(status) = ended(&mut child, longest.saturating_sub(began.elapsed())) else {
        return Err(end(child, ApartFault::TooLong));
    };
    match (status.code(), given) {
        (Some(0), Some(given)) if given.bytes.len() == size => Ok(given),
        (Some(code), _) if code == i32::from(DAMAGED) => Err(ApartFault::Damaged),
        _ => Err(ApartFault::Failed),
    }
}

/// How it ended, if it does within this time: one may close its output and stay.
fn ended(child: &mut Child, within: Duration) -> Option<ExitStatus> {
    let (began, mut pause) = (Instant::now(), SHORTEST_PAUSE);
    loop {
        match child.try_wait() {
            Ok(Some(status)) => return Some(status),
            Ok(None) if began.elapsed() < within => std::thread::sleep(pause),
            Ok(None) | Err(_) => return None,
        }
        pause = (2 * pause).min(LONGEST_PAUSE);
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
    let Some(asked) = AskedRows::of(numbers) else { return MISUSED };
    if !confine(asked.memory) {
        return MISUSED;
    }
    let mut coded = Vec::new();
    if std::io::stdin().lock().read_to_end(&mut coded).is_err() {
        return DAMAGED;
    }
    let image = CodedImage { coded: &coded, layout: asked.layout, origin: asked.origin };
    let Some(decoded) = here(image, &asked.rows) else { return DAMAGED };
    let mut out = std::io::stdout().lock();
    let written = out.write_all(&[u8::from(decoded.warned)]).and_then(|()| out.write_all(&decoded.bytes));
    match written.and_then(|()| out.flush()) {
        Ok(()) => 0,
        Err(_) => MISUSED,
    }
}

/// What the hidden mode is asked for.
struct AskedRows {
    layout: Layout,
    origin: [u32; 2],
    rows: Range<u32>,
    memory: u64,
}

impl AskedRows {
    /// The reverse of [`numbers_of`].
    fn of(numbers: &[u64]) -> Option<Self> {
        let &[columns, all, samples @ (1 | 3), allocated @ (8 | 16), left, top, first, last, memory] =
            numbers
        else {
            return None;
        };
        let number = |number: u64| u32::try_from(number).ok();
        let rows = number(first)?..number(last)?;
        let layout = Layout {
            columns: number(columns)?,
            rows: number(all)?,
            samples: usize::try_from(samples).ok()?,
            allocated: number(allocated)?,
        };
        let asked = Self { layout, origin: [number(left)?, number(top)?], rows, memory };
        (!asked.rows.is_empty() && asked.rows.end <= asked.layout.rows).then_some(asked)
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
fn here(image: CodedImage<'_>, rows: &Range<u32>) -> Option<DecodedApart> {
    listen();
    WARNED.set(0);
    let bytes = image.rows(rows)?;
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
    const IMAGE: CodedImage<'_> = CodedImage { coded: b"coded", layout: LAYOUT, origin: [0, 0] };

    /// A stand-in for the program: a shell that does this instead of decoding.
    #[cfg(unix)]
    fn instead(script: &str, longest: Duration) -> Result<DecodedApart, ApartFault> {
        let mut shell = Command::new("sh");
        shell.args(["-c", script, "sh"]);
        ask(shell, IMAGE, &(0..3), longest)
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
        let nobody = ask(Command::new("/no/such/program"), IMAGE, &(0..3), soon);
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
        let asked = |numbers: &str| {
            let words = ["program", MODE].into_iter().chain(numbers.split(' '));
            serve(words.map(OsString::from))
        };
        assert_eq!(asked("4 3 2 8 0 0 0 3 1000"), Some(MISUSED), "two samples a pixel");
        assert_eq!(asked("4 3 1 8 0 0 0 3 x"), Some(MISUSED));
        assert_eq!(asked("4 3 1 8 0 0 2 2 1000"), Some(MISUSED), "no rows");
        assert_eq!(asked("4 3 1 8 0 0 0 4 1000"), Some(MISUSED), "more rows than there are");
    }
}
