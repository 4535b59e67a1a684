//! Any bytes as a table of keypoints: as CSV or as JSON, by the first byte; what opens is a case that can be written.
#![no_main]

use std::path::Path;

use libfuzzer_sys::fuzz_target;
use stillmark::io::case_file::{from_bytes, to_text};
use stillmark::io::keypoints::case_of;

fuzz_target!(|bytes: &[u8]| {
    let Some((kind, bytes)) = bytes.split_first() else { return };
    let kind = if kind % 2 == 0 { "csv" } else { "json" };
    let table = std::env::temp_dir().join(format!("keypoints-{}.{kind}", std::process::id()));
    std::fs::write(&table, bytes).expect("room for a small file");
    let opened = case_of(&table, None, None);
    let _ = std::fs::remove_file(&table);
    let Ok(case) = opened else { return };
    let path = Path::new("fuzzed.case.json");
    if let Ok(text) = to_text(path, &case) {
        let again = from_bytes(path, text.as_bytes()).expect("what was written opens");
        assert!(again == case, "what was written is another case");
    }
});
