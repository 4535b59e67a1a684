//! How many frames a GIF has and how long each is shown (GIF89a, sections 17 to 26), by its blocks alone.

/// The most frames of a film; more are a fault or an attack.
pub(super) const MAX_FRAMES: usize = 65_536;

/// What the blocks say.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct GifBlocks {
    /// Columns and rows of the screen that all frames are drawn on.
    pub(super) size: (u32, u32),
    /// Images.
    pub(super) frames: usize,
    /// Time from the first frame to the second, in hundredths of a second, where it is said.
    pub(super) delay: Option<u16>,
    /// Whether the end of the file was reached in order.
    pub(super) ended: bool,
}

/// Walks over the blocks; `None` if there is no screen.
pub(super) fn walk(bytes: &[u8]) -> Option<GifBlocks> {
    let two = |at: usize| Some(u16::from_le_bytes(*bytes.get(at..)?.first_chunk::<2>()?));
    let table = |flags: u8| if flags & 0x80 != 0 { 3 << ((flags & 7) + 1) } else { 0_usize };
    let mut found = GifBlocks { size: (two(6)?.into(), two(8)?.into()), ..GifBlocks::default() };
    let mut at = 13 + table(*bytes.get(10)?);
    // Sub-blocks, each with its length before it, up to an empty one.
    let behind = |mut at: usize| loop {
        match bytes.get(at) {
            Some(0) => return Some(at + 1),
            Some(length) => at += 1 + usize::from(*length),
            None => return None,
        }
    };
    while found.frames < MAX_FRAMES {
        match bytes.get(at) {
            Some(0x21) => {
                if bytes.get(at + 1) == Some(&0xf9) && found.delay.is_none() {
                    found.delay = two(at + 4);
                }
                let Some(next) = behind(at + 2) else { return Some(found) };
                at = next;
            }
            Some(0x2c) => {
                let Some(flags) = bytes.get(at + 9) else { return Some(found) };
                let Some(next) = behind(at + 11 + table(*flags)) else {
                    // The last image is cut short; what is there may still be seen.
                    found.frames += 1;
                    return Some(found);
                };
                found.frames += 1;
                at = next;
            }
            Some(0x3b) => {
                found.ended = true;
                return Some(found);
            }
            _ => return Some(found),
        }
    }
    Some(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn frames_are_counted_and_what_is_cut_ends() {
        // A screen of 2 × 1 without a table; two images of one sub-block each, a delay of 7 before the first.
        let mut bytes = b"GIF89a\x02\0\x01\0\0\0\0".to_vec();
        bytes.extend(b"\x21\xf9\x04\0\x07\0\0\0");
        let image = b"\x2c\0\0\0\0\x02\0\x01\0\0\x02\x01\xaa\0";
        bytes.extend(image);
        bytes.extend(image);
        bytes.push(0x3b);
        let whole = GifBlocks { size: (2, 1), frames: 2, delay: Some(7), ended: true };
        assert_eq!(walk(&bytes), Some(whole));
        for cut in 0..bytes.len() {
            let found = walk(&bytes[..cut]);
            assert!(found.is_none_or(|found| found.frames <= 2 && !found.ended), "{cut}");
        }
    }
}
