//! Any bytes as a case file: what opens is read, and what is written of it opens again as the same case.
#![no_main]

use std::path::Path;

use libfuzzer_sys::fuzz_target;
use stillmark::case::readings::{Picture, read_case};
use stillmark::io::case_file::{from_bytes, to_text};

fuzz_target!(|bytes: &[u8]| {
    let path = Path::new("fuzzed.case.json");
    let Ok(case) = from_bytes(path, bytes) else { return };
    let _ = read_case(&case, |_| Picture::NotLookedAt, None);
    if let Ok(text) = to_text(path, &case) {
        let again = from_bytes(path, text.as_bytes()).expect("what was written opens");
        assert!(again == case, "what was written is another case");
    }
});
