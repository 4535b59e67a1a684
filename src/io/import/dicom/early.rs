//! What the beginning of a large file tells: one that can only be refused is not read as a whole.

use std::path::Path;

use crate::io::error::Error;
use crate::io::import::dicom::walk::{self, WalkFault};
use crate::io::import::dicom::{explain, without_pixels};

/// How many bytes are looked at; more than the walk takes to find too many elements of the least size.
pub(in crate::io::import) const BEGINNING: u64 = 40_000_000;
/// So many zeros behind the last element are no start of a further one.
const ZEROS: usize = 1_000_000;

/// Why a file that begins like this is refused, whatever follows; `None` where what follows counts.
pub(in crate::io::import) fn refused(path: &Path, beginning: &[u8]) -> Option<Error> {
    match walk::walk(beginning) {
        Ok(found) if found.pixels.is_none() && found.inflated.is_none() && found.zeros >= ZEROS => {
            Some(without_pixels(path, found.class.as_deref(), found.float_pixels))
        }
        // What is cut short or damaged here may only lie across the end of what was looked at.
        Ok(_) | Err(WalkFault::CutShort(_) | WalkFault::Damaged(_) | WalkFault::NotInflated) => None,
        Err(
            fault @ (WalkFault::TooDeep
            | WalkFault::TooMany
            | WalkFault::Inflated
            | WalkFault::UnknownSyntax(_)),
        ) => Some(explain(path, fault)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(bytes: &[u8]) -> Option<String> {
        refused(Path::new("a.dcm"), bytes).map(|error| error.to_string())
    }

    /// Preamble, and a data set's first element in explicit little endian.
    fn begun(element: &[u8]) -> Vec<u8> {
        let mut bytes = vec![0; 128];
        bytes.extend(b"DICM\x02\0\x10\0UI\x14\x001.2.840.10008.1.2.1\0\x08\0\x05\0CS\x0a\0ISO_IR 100");
        bytes.extend(element);
        bytes
    }

    #[test]
    fn zeros_without_end_are_refused_by_their_beginning() {
        let mut bytes = begun(b"\x28\0\x10\0US\x02\0\x04\0");
        assert_eq!(said(&bytes), None, "what follows counts");
        bytes.resize(bytes.len() + 1000, 0);
        assert_eq!(said(&bytes), None, "a little padding");
        bytes.resize(bytes.len() + ZEROS, 0);
        assert!(said(&bytes).is_some_and(|said| said.contains("without an image")));
        // Without a syntax zeros are elements of no length, by the million.
        let mut headless = begun(b"");
        headless.truncate(132);
        headless.resize(usize::try_from(BEGINNING).unwrap(), 0);
        assert!(said(&headless).is_some());
    }

    #[test]
    fn what_goes_on_behind_the_beginning_is_read() {
        let whole = begun(b"\x28\0\x10\0US\x02\0\x04\0\xe0\x7f\x10\0OW\0\0\0\0\0\x40");
        for end in 132..=whole.len() {
            assert_eq!(said(&whole[..end]), None, "cut at {end}");
        }
    }

    #[test]
    fn a_syntax_that_is_not_read_is_told_at_once() {
        let mut bytes = vec![0; 128];
        bytes.extend(b"DICM\x02\0\x10\0UI\x08\x001.2.3.4\0");
        assert!(said(&bytes).is_some_and(|said| said.contains("1.2.3.4")));
    }
}
