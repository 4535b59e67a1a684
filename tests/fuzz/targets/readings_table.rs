//! Any bytes as a table of repeated readings.
#![no_main]

use std::path::Path;

use libfuzzer_sys::fuzz_target;
use stillmark::io::readings_table::readings_of;

fuzz_target!(|bytes: &[u8]| {
    let _ = readings_of(Path::new("fuzzed.csv"), bytes);
});
