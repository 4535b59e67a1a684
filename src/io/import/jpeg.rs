//! What the decoder does not say about a JPEG file: whether it ends where it should, and which process it uses
//! (ITU-T T.81, Annex B).

/// What a walk over the markers found.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Walk {
    /// The start-of-frame marker's second byte, if one came.
    pub(super) process: Option<u8>,
    /// Bits a sample.
    pub(super) precision: Option<u8>,
    /// Rows and columns of the frame header.
    pub(super) size: Option<(u16, u16)>,
    /// Components of the frame header.
    pub(super) components: Option<u8>,
    /// Whether an application segment says how colours are written (JFIF, or a whole one of Adobe).
    pub(super) tells_colours: bool,
    /// Whether the end-of-image marker came.
    pub(super) ended: bool,
}

/// Walks over the markers of a JPEG file. Thumbnails inside application segments are stepped over, so that
/// their end is not taken for the picture's.
pub(super) fn walk(bytes: &[u8]) -> Walk {
    let mut found = Walk::default();
    let mut at = 2;
    while let Some(&byte) = bytes.get(at) {
        let Some(&code) = bytes.get(at + 1) else { break };
        if byte != 0xff || code == 0x00 || code == 0xff {
            // Entropy-coded data, a stuffed byte or a fill byte.
            at = sign_after(bytes, at + 1);
            continue;
        }
        match code {
            0xd9 => {
                found.ended = true;
                break;
            }
            // Restart markers, start of image and TEM stand alone.
            0xd0..=0xd8 | 0x01 => at += 2,
            _ => {
                let Some(&[high, low]) = bytes.get(at + 2..at + 4).and_then(|b| b.first_chunk()) else {
                    break;
                };
                let length = usize::from(u16::from_be_bytes([high, low]));
                let is_frame = matches!(code, 0xc0..=0xcf) && !matches!(code, 0xc4 | 0xc8 | 0xcc);
                if is_frame
                    && found.process.is_none()
                    && let Some(&[precision, y1, y0, x1, x0]) =
                        bytes.get(at + 4..at + 9).and_then(|b| b.first_chunk())
                {
                    found.process = Some(code);
                    found.precision = Some(precision);
                    found.size = Some((u16::from_be_bytes([y1, y0]), u16::from_be_bytes([x1, x0])));
                    found.components = bytes.get(at + 9).copied();
                }
                let segment = bytes.get(at + 4..).unwrap_or(&[]);
                found.tells_colours |= (code == 0xe0 && segment.starts_with(b"JFIF"))
                    || (code == 0xee && length >= 14 && segment.starts_with(b"Adobe"));
                at += 2 + length.max(2);
            }
        }
    }
    found
}

/// The first byte of a marker, or of what looks like one, from a place on; the end where there is none.
fn sign_after(bytes: &[u8], from: usize) -> usize {
    const SIGN: u8 = 0xff;
    let rest = bytes.get(from..).unwrap_or(&[]);
    // Most of a file is passed over sixteen bytes at a time.
    let without = |some: &&[u8; 16]| !some.iter().fold(false, |found, &byte| found | (byte == SIGN));
    let passed = 16 * rest.as_chunks::<16>().0.iter().take_while(without).count();
    let left = rest.get(passed..).unwrap_or(&[]);
    from + passed + left.iter().position(|&byte| byte == SIGN).unwrap_or(left.len())
}

/// Why the process of a file is not read, if it is not.
pub(super) fn unread_process(found: Walk) -> Option<String> {
    let process = found.process?;
    let bits = found.precision.unwrap_or(8);
    match process {
        0xc0..=0xc2 if bits == 8 => None,
        0xc0..=0xc2 => Some(format!("a JPEG image with {bits} bits per sample")),
        0xc3 | 0xc7 | 0xcb | 0xcf => Some("a lossless JPEG image".to_owned()),
        0xc9..=0xce => Some("an arithmetic-coded JPEG image".to_owned()),
        _ => Some("a hierarchical JPEG image".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_end_inside_a_thumbnail_is_not_the_end() {
        let mut bytes = vec![0xff, 0xd8, 0xff, 0xe1, 0, 6, 0xff, 0xd8, 0xff, 0xd9];
        assert!(!walk(&bytes).ended);
        bytes.extend([0xff, 0xc1, 0, 8, 12, 0, 3, 0, 4, 0xff, 0xda, 0, 2, 1, 0xff, 0, 2, 0xff, 0xd0, 3]);
        assert!(!walk(&bytes).ended);
        bytes.extend([0xff, 0xd9]);
        let found = walk(&bytes);
        assert!(found.ended);
        assert_eq!((found.precision, found.size), (Some(12), Some((3, 4))));
        assert_eq!(unread_process(found).as_deref(), Some("a JPEG image with 12 bits per sample"));
    }

    #[test]
    fn signs_are_found_wherever_they_are() {
        for length in 0..70 {
            for place in 0..length {
                let mut bytes = vec![7; length];
                bytes[place] = 0xff;
                for from in 0..=length + 1 {
                    let expected = if from <= place { place } else { length.max(from) };
                    assert_eq!(sign_after(&bytes, from), expected, "{length} {place} {from}");
                }
            }
        }
    }

    #[test]
    fn any_rubbish_is_walked_over() {
        for n in 0..64_u32 {
            let bytes: Vec<u8> = (0..200_u32)
                .map(|i| if (i + n) % 3 == 0 { 0xff } else { (i * 37 + n * 11).to_le_bytes()[0] })
                .collect();
            let _ = walk(&bytes);
        }
    }
}
