//! Any bytes as an image file: recognition, every raster decoder, the walk over DICOM, its codecs, its values, its frames.
#![no_main]

use std::path::Path;

use libfuzzer_sys::fuzz_target;
use stillmark::io::import::source::Source;

fuzz_target!(|bytes: &[u8]| {
    let Ok(source) = Source::read(Path::new("fuzzed"), bytes.to_vec()) else { return };
    let last = source.frames() - 1;
    for frame in [0, last] {
        if let Ok(frame) = source.frame(frame) {
            assert!(frame.width > 0 && frame.height > 0);
            assert!(frame.value(frame.width - 1, frame.height - 1).is_some());
        }
    }
    let _ = (source.taken(), source.coding());
});
