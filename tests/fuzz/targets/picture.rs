//! Any bytes as an image file: recognition, every raster decoder, the walk over DICOM, its codecs, its values, its frames.
//! A decoder of others that panics is contained and refused by the program; how often is told.
#![no_main]

use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};

use libfuzzer_sys::fuzz_target;
use stillmark::io::error::Error;
use stillmark::io::import::source::Source;

static CONTAINED: AtomicU64 = AtomicU64::new(0);

fuzz_target!(|bytes: &[u8]| {
    let source = match Source::read(Path::new("fuzzed"), bytes.to_vec()) {
        Ok(source) => source,
        Err(error) => return refused(&error),
    };
    let last = source.frames() - 1;
    let ends = if last == 0 { vec![0] } else { vec![0, last] };
    for frame in ends {
        match source.frame(frame) {
            Ok(frame) => {
                assert!(frame.width > 0 && frame.height > 0);
                assert!(frame.value(frame.width - 1, frame.height - 1).is_some());
            }
            Err(error) => refused(&error),
        }
    }
    let _ = (source.taken(), source.coding());
});

/// A refusal is one sentence on one line.
fn refused(error: &Error) {
    let said = error.to_string();
    assert!(!said.is_empty() && !said.contains('\n'), "{said:?}");
    if said.contains("cannot be decoded; save the image again") {
        let so_far = CONTAINED.fetch_add(1, Ordering::Relaxed) + 1;
        if so_far.is_power_of_two() {
            eprintln!("CONTAINED {so_far}");
        }
    }
}
