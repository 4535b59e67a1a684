//! One flipped bit in a compressed frame: how often it is told. None of the five codecs carries a checksum, so that what is told
//! is what no longer fits: codes that lose step, counts, lengths, samples beyond their bits, the decoder's own warnings.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its test")]

use std::fmt::Write as _;
use std::path::Path;

use rand::{Rng as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use stillmark::case::image::frame::{Frame, Samples};
use stillmark::io::import::import_bytes;

use crate::dicom_bytes::{File, Pixels, jpeg_lossless};
use crate::hostile_page;

/// 96 × 64 samples of 12 bits: waves, a bright field and noise, by openjpeg through Pillow, and the same by OpenJPH.
const JPEG_2000: &[u8] = include_bytes!("samples/smooth.j2k");
const HIGH_THROUGHPUT: &[u8] = include_bytes!("samples/smooth-high-throughput.j2c");
const SIZE: (u16, u16) = (96, 64);
/// How many bits are flipped of each stream.
const FLIPS: u64 = 400;

/// A file with this stream as its only frame.
fn file(syntax: &'static str, bits: u16, stream: Vec<u8>) -> Vec<u8> {
    let pixels = Pixels::Fragments { table: Vec::new(), pieces: vec![stream] };
    File::grey(SIZE.0, SIZE.1, bits, false).written(syntax).with_pixels(pixels).bytes()
}

fn opened(syntax: &'static str, bits: u16, stream: &[u8]) -> Result<Frame, String> {
    import_bytes(Path::new("frame.dcm"), &file(syntax, bits, stream.to_vec()))
        .map_err(|error| error.to_string())
}

/// Each codec: its name, syntax, bits, and a stream.
fn streams() -> Vec<(&'static str, &'static str, u16, Vec<u8>)> {
    let frame = opened(".4.90", 16, JPEG_2000).unwrap();
    let Samples::Gray16(values) = &frame.samples else { panic!("16 bits") };
    assert_eq!(
        opened(".4.201", 16, HIGH_THROUGHPUT).unwrap().samples,
        frame.samples,
        "the same picture twice"
    );
    let small: Vec<u8> = values.iter().map(|&value| u8::try_from(value >> 4).unwrap()).collect();
    let mut baseline = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut baseline, 90)
        .encode(&small, SIZE.0.into(), SIZE.1.into(), image::ExtendedColorType::L8)
        .unwrap();
    let mut jpeg_ls = Vec::new();
    jpegls::encode(values, SIZE.0.into(), SIZE.1.into(), &mut jpeg_ls).unwrap();
    vec![
        ("JPEG baseline", ".4.50", 8, baseline),
        ("lossless JPEG", ".4.70", 12, jpeg_lossless(values, SIZE.0, SIZE.1, 12)),
        ("JPEG-LS", ".4.80", 16, jpeg_ls),
        ("JPEG 2000", ".4.90", 16, JPEG_2000.to_vec()),
        ("high-throughput JPEG 2000", ".4.201", 16, HIGH_THROUGHPUT.to_vec()),
    ]
}

#[test]
fn flipped_bits_are_told_as_far_as_they_can_be() {
    let mut page = String::from(
        "| codec | bits flipped | refused | opened with a warning | opened, same samples | other samples, not told |\n| --- | --: | --: | --: | --: | --: |\n",
    );
    let mut silent = Vec::new();
    for (name, syntax, bits, stream) in streams() {
        let whole = opened(syntax, bits, &stream).unwrap();
        assert!(whole.warnings.is_empty(), "{name}: {:?}", whole.warnings);
        assert!(whole.facts.unchecked, "{name}: it is said that there is no checksum");
        let (mut refused, mut warned, mut same, mut other) = (0, 0, 0, 0);
        let mut random = ChaCha8Rng::seed_from_u64(31);
        for _ in 0..FLIPS {
            let mut flipped = stream.clone();
            let at = random.random_range(0..flipped.len());
            flipped[at] ^= 1 << random.random_range(0..8_u32);
            match opened(syntax, bits, &flipped) {
                Err(_) => refused += 1,
                Ok(frame) if !frame.warnings.is_empty() => warned += 1,
                Ok(frame) if frame.samples == whole.samples => same += 1,
                Ok(_) => other += 1,
            }
        }
        writeln!(page, "| {name} | {FLIPS} | {refused} | {warned} | {same} | {other} |").unwrap();
        silent.push((name, other));
    }
    hostile_page::section("flips", &page);
    // Huffman codes lose step and are counted; a flipped bit of a value stays within its code. Of arithmetic codes hardly
    // anything can be told.
    let share = |name: &str| silent.iter().find(|(other, _)| *other == name).map(|(_, n)| *n).unwrap();
    for (name, most) in [("JPEG baseline", 70), ("lossless JPEG", 60), ("JPEG-LS", 25)] {
        assert!(share(name) * 100 <= most * FLIPS, "{name}: {} of {FLIPS} are not told", share(name));
    }
}

/// As it was once accepted without a word.
#[test]
fn a_stream_cut_in_half_with_an_end_marker_is_refused_or_told() {
    for (name, syntax, bits, stream) in streams() {
        let mut cut = stream[..stream.len() / 2].to_vec();
        while cut.last() == Some(&0xff) {
            cut.pop();
        }
        cut.extend([0xff, 0xd9]);
        match opened(syntax, bits, &cut) {
            Err(sentence) => assert!(sentence.contains("damaged"), "{name}: {sentence}"),
            Ok(frame) => {
                assert!(name != "lossless JPEG", "half of it is missing, and it was opened");
                assert!(!frame.warnings.is_empty(), "{name}: nothing is said");
            }
        }
    }
}
