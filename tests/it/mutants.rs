//! Damaged and hostile picture files: seeded mutants of small files of every format and syntax. None may end the
//! program, none may take long, none may take much memory; each opens, or is refused in one sentence.
//!
//! The usual run makes ten thousand in a process of its own. The long form makes as many as `STILLMARK_MUTANTS` says,
//! and takes the DICOM files of up to 300 kB in the folder `STILLMARK_MUTANT_FILES` as seeds beside its own:
//!
//! `STILLMARK_MUTANTS=20000 cargo test --release --test it mutants`

use std::io::Cursor;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::{Duration, Instant};

use image::ImageFormat;
use rand::{Rng as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use stillmark::io::error::Error;
use stillmark::io::import::source::Source;
use stillmark::io::import::{is_directory, listed_in};

use crate::dicom_bytes::{
    BIG, DEFLATED, EXPLICIT, File, IMPLICIT, Pixels, Value, deflated, jpeg_lossless, planes_of, rle,
};
use crate::hostile_page;
use crate::support::in_own_process;

/// How many mutants the usual run makes.
const USUAL: usize = 10_000;
/// How long one may take.
const LONGEST: Duration = Duration::from_secs(5);
/// How much memory the whole run may take beyond what it began with, in bytes.
const MOST_MEMORY: u64 = 1 << 30;
/// The process of the mutants.
const INSIDE: &str = "STILLMARK_MUTANTS_INSIDE";

fn words() -> Vec<u16> {
    (0..24_u32 * 16).map(|i| u16::try_from((i * 37) % 4096).expect("12 bits")).collect()
}

fn raster(format: ImageFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    let picture = image::RgbImage::from_fn(24, 16, |x, y| {
        image::Rgb([10 * x, 15 * y, 5 * (x + y)].map(|n| u8::try_from(n).expect("small")))
    });
    picture.write_to(&mut bytes, format).expect("memory");
    bytes.into_inner()
}

/// A file of each format and syntax, by name.
fn seeds() -> Vec<(String, Vec<u8>)> {
    let words = words();
    let little: Vec<u8> = words.iter().flat_map(|word| word.to_le_bytes()).collect();
    let grey = |syntax, pixels| File::grey(24, 16, 12, false).written(syntax).with_pixels(pixels);
    let one = |piece| Pixels::Fragments { table: Vec::new(), pieces: vec![piece] };
    let mut jpeg_ls = Vec::new();
    jpegls::encode(&words, 24, 16, &mut jpeg_ls).expect("memory");
    let colour = |syntax, meaning: &str, pixels| {
        let mut file = File::grey(24, 16, 8, false).written(syntax).with_pixels(pixels);
        file.short((0x28, 2), 3);
        file.short((0x28, 6), 0);
        file.text((0x28, 4), b"CS", meaning);
        file
    };
    let bytes: Vec<u8> = (0..24 * 16 * 3_u32).map(|i| i.to_le_bytes()[0]).collect();
    let planes: Vec<Vec<u8>> = (0..3).map(|k| bytes.iter().skip(k).step_by(3).copied().collect()).collect();
    let mut film = grey(".5", {
        let coded = rle(&planes_of(&words));
        let offset = u32::try_from(coded.len() + 8).expect("small");
        Pixels::Fragments { table: vec![0, offset], pieces: vec![coded.clone(), coded] }
    });
    film.text((0x28, 8), b"IS", "2");
    let mut native_film = grey(EXPLICIT, Pixels::Words([words.clone(), words.clone()].concat()));
    native_film.text((0x28, 8), b"IS", "2");
    let lut = |first, bits, entries: Vec<u16>| {
        let count = u16::try_from(entries.len()).expect("small");
        vec![
            ((0x28, 0x3002), *b"US", Value::Shorts(vec![count, first, bits])),
            ((0x28, 0x3006), *b"OW", Value::Shorts(entries)),
        ]
    };
    let mut tables = grey(EXPLICIT, Pixels::Words(words.clone()));
    tables.put((0x28, 0x3000), b"SQ", Value::Items(vec![lut(0, 16, (0..256).collect())]));
    tables.put((0x28, 0x3010), b"SQ", Value::Items(vec![lut(0, 8, (0..256).collect())]));
    tables.text((0x28, 0x1050), b"DS", "100\\200");
    tables.text((0x28, 0x1051), b"DS", "100\\200");
    tables.text((0x28, 0x30), b"DS", "0.2\\0.2");
    let mut palette = File::grey(24, 16, 8, false).with_pixels(Pixels::Bytes(vec![7; 384]));
    palette.text((0x28, 4), b"CS", "PALETTE COLOR");
    for tag in [0x1101, 0x1102, 0x1103] {
        palette.put((0x28, tag), b"US", Value::Shorts(vec![256, 0, 16]));
        palette.put((0x28, tag + 0x120), b"OW", Value::Shorts(vec![0, 1, 0, 1, 255, 65535]));
    }
    let mut bits = File::grey(24, 16, 8, false).with_pixels(Pixels::Bytes(vec![0x5a; 48]));
    bits.short((0x28, 0x100), 1);
    bits.short((0x28, 0x101), 1);
    bits.short((0x28, 0x102), 0);
    let mut list = File { class: "1.2.840.10008.1.3.10", ..File::grey(1, 1, 8, false) };
    list.elements.clear();
    list.text((4, 0x1130), b"CS", "SET");
    let record = |name: &str| {
        vec![
            ((4, 0x1430), *b"CS", Value::Text("IMAGE".to_owned())),
            ((4, 0x1500), *b"CS", Value::Text(name.to_owned())),
        ]
    };
    list.put((4, 0x1220), b"SQ", Value::Items(vec![record("IMAGES\\A"), record("IMAGES\\B")]));
    let grey_jpeg = {
        let mut stream = Vec::new();
        let picture =
            image::GrayImage::from_fn(24, 16, |x, y| image::Luma([u8::try_from(9 * x + y).expect("small")]));
        image::codecs::jpeg::JpegEncoder::new(&mut stream).encode_image(&picture).expect("memory");
        stream
    };
    let native = Pixels::Words(words.clone());
    let files = [
        ("explicit", grey(EXPLICIT, native.clone())),
        ("implicit", grey(IMPLICIT, native.clone())),
        ("big endian", grey(BIG, native.clone())),
        ("deflated", grey(DEFLATED, native.clone())),
        ("in fragments", grey(".1.98", one(little.clone()))),
        ("deflated frames", grey(".8.1", one(deflated(&little)))),
        ("rle", grey(".5", one(rle(&planes_of(&words))))),
        ("rle color", colour(".5", "YBR_FULL", one(rle(&planes)))),
        ("rle film", film),
        ("native film", native_film),
        ("jpeg baseline", File::grey(24, 16, 8, false).written(".4.50").with_pixels(one(grey_jpeg))),
        ("jpeg color", colour(".4.50", "YBR_FULL_422", one(raster(ImageFormat::Jpeg)))),
        ("jpeg lossless", grey(".4.70", one(jpeg_lossless(&words, 24, 16, 12)))),
        ("jpeg-ls", grey(".4.80", one(jpeg_ls))),
        ("jpeg 2000", grey(".4.90", one(include_bytes!("samples/grey-12-bit.j2k").to_vec()))),
        ("jpeg 2000 color", colour(".4.90", "YBR_RCT", one(include_bytes!("samples/colour.j2k").to_vec()))),
        ("colour", colour(EXPLICIT, "RGB", Pixels::Bytes(bytes.clone()))),
        ("tables", tables),
        ("palette", palette),
        ("single bits", bits),
        ("no preamble", File { preamble: false, meta: false, ..grey(EXPLICIT, native) }),
        ("dicomdir", list),
    ];
    let mut all: Vec<(String, Vec<u8>)> =
        files.into_iter().map(|(name, file)| (name.to_owned(), file.bytes())).collect();
    for format in [ImageFormat::Png, ImageFormat::Jpeg, ImageFormat::Tiff, ImageFormat::Bmp] {
        all.push((format!("{format:?}"), raster(format)));
    }
    all
}

/// Further seeds, where a folder is named.
fn installed() -> Vec<(String, Vec<u8>)> {
    let Some(folder) = std::env::var_os("STILLMARK_MUTANT_FILES").map(PathBuf::from) else {
        return Vec::new();
    };
    let mut folders = vec![folder];
    let mut found = Vec::new();
    while let Some(folder) = folders.pop() {
        let mut paths: Vec<PathBuf> =
            std::fs::read_dir(&folder).into_iter().flatten().flatten().map(|entry| entry.path()).collect();
        paths.sort();
        for path in paths {
            if path.is_dir() {
                folders.push(path);
            } else if std::fs::metadata(&path).is_ok_and(|about| about.len() < 300_000)
                && let Ok(bytes) = std::fs::read(&path)
                && bytes.get(128..132) == Some(b"DICM")
            {
                found.push((path.file_name().unwrap_or_default().to_string_lossy().into_owned(), bytes));
            }
        }
    }
    found
}

/// Overwrites a few bytes.
fn write(bytes: &mut [u8], at: usize, what: &[u8]) {
    for (byte, new) in bytes.iter_mut().skip(at).zip(what) {
        *byte = *new;
    }
}

/// One mutant: hits of the kinds that have hurt decoders.
fn mutant(seed: &[u8], random: &mut ChaCha8Rng) -> Vec<u8> {
    let mut bytes = seed.to_vec();
    for _ in 0..random.random_range(1..5) {
        if bytes.is_empty() {
            break;
        }
        // Headers are where damage does most, so half of the hits go there.
        let head = if random.random_bool(0.5) { bytes.len().min(700) } else { bytes.len() };
        let at = random.random_range(0..head);
        match random.random_range(0..10) {
            0 | 1 => bytes[at] ^= 1 << random.random_range(0..8_u32),
            2 => bytes[at] = random.random(),
            3 => bytes.truncate(at),
            4 => {
                let extreme = [0_u32, 1, 0x7fff_ffff, 0x8000_0000, 0xffff_fffe, u32::MAX, 0xffff, 0x10000];
                write(&mut bytes, at, &extreme[random.random_range(0..extreme.len())].to_le_bytes());
            }
            5 => {
                let extreme = [0_u16, 1, 0x7fff, 0x8000, 0xffff, 0x00ff, 17, 33];
                write(&mut bytes, at, &extreme[random.random_range(0..extreme.len())].to_le_bytes());
            }
            6 => {
                // A value of the layout: rows, columns, bits, samples, frames.
                let tags = [[0x28, 0, 0x10, 0], [0x28, 0, 0x11, 0], [0x28, 0, 0, 1], [0x28, 0, 1, 1]];
                let more = [[0x28, 0, 2, 1], [0x28, 0, 3, 1], [0x28, 0, 2, 0], [0x28, 0, 8, 0]];
                let tag = [tags, more].concat()[random.random_range(0..8)];
                if let Some(found) = bytes.windows(4).position(|four| four == tag) {
                    let value: u16 =
                        if random.random_bool(0.5) { random.random() } else { random.random_range(0..40) };
                    write(&mut bytes, found + 8, &value.to_le_bytes());
                }
            }
            7 => {
                // Nested sequences, a few or very many.
                let depth = [3, 70, 3000][random.random_range(0..3)];
                let mut nest = Vec::new();
                for _ in 0..depth {
                    nest.extend(b"\x28\0\x10\x31SQ\0\0\xff\xff\xff\xff\xfe\xff\0\xe0\xff\xff\xff\xff");
                }
                bytes.splice(at..at, nest);
            }
            8 => {
                let end = (at + random.random_range(1..64)).min(bytes.len());
                let part = bytes[at..end].to_vec();
                bytes.splice(at..at, part.repeat(random.random_range(1..50)));
            }
            _ => {
                // Zeros by the million, deflated to a few kilobytes.
                let bomb = deflated(&vec![0; 1 << random.random_range(10..24_u32)]);
                bytes.truncate(at.max(bytes.len().min(200)));
                bytes.extend(bomb);
            }
        }
    }
    bytes
}

fn sentence(error: &Error) -> String {
    let text = error.to_string();
    assert!(text.lines().count() == 1 && text.len() > 20 && !text.contains('!'), "{text}");
    text
}

/// Opens a mutant as far as it goes: every kind of entry.
fn open(bytes: &[u8], file: &Path) -> Result<(), String> {
    let path = Path::new("mutant");
    if bytes.get(128..132) == Some(b"DICM") && bytes.windows(20).any(|part| part == b"1.2.840.10008.1.3.10") {
        std::fs::write(file, bytes).expect("a temporary file");
        if is_directory(file) {
            return listed_in(file).map(drop).map_err(|error| sentence(&error));
        }
    }
    let source = Source::read(path, bytes.to_vec()).map_err(|error| sentence(&error))?;
    let last = source.frames() - 1;
    for frame in if last > 0 { vec![0, last] } else { vec![0] } {
        let frame = source.frame(frame).map_err(|error| sentence(&error))?;
        assert!(frame.width > 0 && frame.height > 0);
        assert!(frame.value(frame.width - 1, frame.height - 1).is_some());
    }
    Ok(())
}

/// The corpus that fuzzing begins with has a file of every kind; `STILLMARK_UPDATE=1` writes it anew. What fuzzing has found is
/// there too, and is opened here ever after.
#[test]
fn the_corpus_has_every_kind_of_file_and_all_of_it_is_opened_or_refused() {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/corpus/picture");
    for (name, bytes) in seeds() {
        let file = corpus.join(name.replace(' ', "-"));
        if std::env::var_os("STILLMARK_UPDATE").is_some() {
            std::fs::create_dir_all(&corpus).expect("the corpus");
            std::fs::write(&file, &bytes).expect("a file of the corpus");
        }
        assert!(
            std::fs::read(&file).is_ok_and(|found| found == bytes),
            "{name}: run with STILLMARK_UPDATE=1"
        );
    }
    let folder = tempfile::tempdir().expect("a folder");
    for entry in std::fs::read_dir(&corpus).expect("the corpus").flatten() {
        let bytes = std::fs::read(entry.path()).expect("a file of the corpus");
        let _ = open(&bytes, &folder.path().join("list"));
    }
}

/// The most memory the process has had, and the time it has worked, where the system tells.
fn used() -> Option<(u64, Duration)> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    let kilobytes: u64 = line.split_whitespace().nth(1)?.parse().ok()?;
    let stat = std::fs::read_to_string("/proc/self/stat").ok()?;
    let fields: Vec<&str> = stat.rsplit(')').next()?.split_whitespace().collect();
    let ticks: u64 = [11, 12].iter().filter_map(|&i| fields.get(i)?.parse::<u64>().ok()).sum();
    Some((kilobytes * 1024, Duration::from_millis(ticks * 10)))
}

#[test]
#[expect(clippy::print_stdout, reason = "the numbers of the long form are for people")]
fn no_mutant_aborts_hangs_or_takes_much_memory() {
    if std::env::var_os(INSIDE).is_none() {
        let output = in_own_process(
            "mutants::no_mutant_aborts_hangs_or_takes_much_memory",
            &[(INSIDE, std::ffi::OsStr::new("1"))],
        )
        .output()
        .unwrap();
        let said = String::from_utf8_lossy(&output.stdout);
        let wrong = String::from_utf8_lossy(&output.stderr);
        println!("{said}");
        assert!(output.status.success(), "{said}\n{wrong}");
        assert!(said.contains("mutants opened"), "{said}");
        return;
    }
    stillmark::io::import::apart::use_program(PathBuf::from(env!("CARGO_BIN_EXE_stillmark-cli")));
    let count = std::env::var("STILLMARK_MUTANTS").ok().and_then(|n| n.parse().ok()).unwrap_or(USUAL);
    let mut seeds = seeds();
    let own = seeds.len();
    assert!(own >= 14);
    for (name, bytes) in &seeds {
        let folder = tempfile::tempdir().unwrap();
        let opened = open(bytes, &folder.path().join("list"));
        assert!(opened.is_ok() || name == "dicomdir", "{name}: {opened:?}");
    }
    seeds.extend(installed());
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("list");
    // A decoder that does not come back ends the process by name, instead of the test by silence.
    let (number, done) = (AtomicU64::new(0), AtomicBool::new(false));
    let (mut opened, mut refused, mut survived) = (0, 0, 0);
    let mut slowest = (Duration::ZERO, String::new());
    let began = used();
    std::thread::scope(|scope| {
        scope.spawn(|| {
            let mut seen = (0, Instant::now());
            while !done.load(Ordering::Relaxed) {
                std::thread::sleep(Duration::from_millis(200));
                let now = number.load(Ordering::Relaxed);
                if now != seen.0 {
                    seen = (now, Instant::now());
                } else if seen.1.elapsed() > 24 * LONGEST {
                    println!("mutant {now} hangs");
                    std::process::abort();
                }
            }
        });
        for n in 0..count {
            number.store(n as u64 + 1, Ordering::Relaxed);
            let (name, seed) = &seeds[n % seeds.len()];
            let mut random = ChaCha8Rng::seed_from_u64(n as u64);
            let bytes = mutant(seed, &mut random);
            let before = (Instant::now(), used());
            match open(&bytes, &file) {
                Ok(()) => opened += 1,
                Err(said) => {
                    refused += 1;
                    survived += u32::from(said.contains("cannot be decoded"));
                }
            }
            // Work counts, not waiting for a busy machine.
            let waited = before.0.elapsed();
            let worked = match (before.1, used()) {
                (Some((_, a)), Some((_, b))) => waited.min(b.saturating_sub(a)),
                _ => waited,
            };
            if worked > slowest.0 {
                slowest = (worked, format!("{name}, mutant {n}"));
            }
            assert!(worked <= LONGEST, "{name}, mutant {n}: {worked:?}");
        }
        done.store(true, Ordering::Relaxed);
    });
    let memory = match (began, used()) {
        (Some((a, _)), Some((b, _))) => b.saturating_sub(a),
        _ => 0,
    };
    assert!(memory <= MOST_MEMORY, "{memory} bytes more than at the beginning");
    println!(
        "{count} mutants of {} seeds ({own} formats and syntaxes): {opened} mutants opened, {refused} refused, {survived} \
         of them by catching a decoder's panic; slowest {:?} ({}); {} MB more than at the beginning",
        seeds.len(),
        slowest.0,
        slowest.1,
        memory >> 20
    );
    if ["STILLMARK_MUTANTS", "STILLMARK_UPDATE"].iter().all(|name| std::env::var_os(name).is_some()) {
        // Whoever gets here has seen no process end, no mutant take longer, and no sentence that is none.
        hostile_page::section(
            "mutants",
            &format!(
                "| tried | formats and syntaxes | opened | refused in a sentence | of them by catching a decoder's panic | wrong | ended the process | hung | slowest, s | memory, MB |\n\
                 | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: |\n\
                 | {count} | {own} | {opened} | {refused} | {survived} | 0 | 0 | 0 | {:.1} | {} of {} |\n",
                slowest.0.as_secs_f64(),
                memory >> 20,
                MOST_MEMORY >> 20
            ),
        );
    }
    assert!(opened > count / 50 && refused > count / 50, "{opened} opened, {refused} refused");
}
