//! JPEG-LS (ITU-T T.87) in one component, through its own pure-Rust decoder.

/// What the frame header says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Stream {
    /// Bits of a sample.
    pub(super) bits: u8,
    /// Rows.
    pub(super) rows: u16,
    /// Columns.
    pub(super) columns: u16,
    /// Components.
    pub(super) components: u8,
}

/// Finds the frame header (SOF55), the segments before it stepped over.
pub(super) fn look(coded: &[u8]) -> Option<Stream> {
    let mut at = 2;
    loop {
        let &[mark, code, high, low] = coded.get(at..)?.first_chunk::<4>()?;
        if mark != 0xff {
            return None;
        }
        if code == 0xff {
            at += 1;
            continue;
        }
        if code == 0xf7 {
            let &[bits, r1, r0, c1, c0, components] = coded.get(at + 4..)?.first_chunk::<6>()?;
            let (rows, columns) = (u16::from_be_bytes([r1, r0]), u16::from_be_bytes([c1, c0]));
            return Some(Stream { bits, rows, columns, components });
        }
        at += 2 + usize::from(u16::from_be_bytes([high, low])).max(2);
    }
}

/// Decodes a stream whose header has been looked at into words; `None` if it is damaged.
pub(super) fn decode(coded: &[u8], stream: Stream) -> Option<Vec<u8>> {
    let (columns, rows) = (u32::from(stream.columns), u32::from(stream.rows));
    let (values, ..) = jpegls::decode(coded, columns, rows).ok()?;
    let fits = values.len() == usize::from(stream.columns) * usize::from(stream.rows);
    fits.then(|| values.iter().flat_map(|value| value.to_le_bytes()).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_encoded_is_decoded() {
        let values: Vec<u16> = (0..12 * 9).map(|i| (i * 37) % 4096).collect();
        let mut coded = Vec::new();
        jpegls::encode(&values, 12, 9, &mut coded).unwrap();
        let stream = look(&coded).unwrap();
        assert_eq!((stream.columns, stream.rows, stream.components), (12, 9, 1));
        let bytes = decode(&coded, stream).unwrap();
        let found: Vec<u16> = bytes.chunks_exact(2).map(|b| u16::from_le_bytes([b[0], b[1]])).collect();
        assert_eq!(found, values);
    }

    #[test]
    fn rubbish_has_no_header() {
        assert_eq!(look(b""), None);
        assert_eq!(look(&[0xff, 0xd8, 0xff, 0xf7, 0, 11]), None);
        assert_eq!(look(&[0xff; 40]), None);
    }
}
