//! What a JPEG 2000 codestream says of its own length (ITU-T T.800, Annex A), which its decoder does not tell about.

/// Whether the tile parts follow each other without a gap up to the end of the codestream. `start` is where the stream begins
/// in what was coded.
pub(super) fn hangs_together(coded: &[u8], start: usize) -> bool {
    const PART: [u8; 2] = [0xff, 0x90];
    const END: [u8; 2] = [0xff, 0xd9];
    let two = |at: usize| coded.get(at..).and_then(|rest| rest.first_chunk::<2>()).copied();
    let mut at = start + 2;
    // The main header: every segment says its length.
    while let Some(mark) = two(at) {
        if mark == PART || mark[0] != 0xff {
            break;
        }
        let Some(length) = two(at + 2).map(|bytes| usize::from(u16::from_be_bytes(bytes))) else {
            return false;
        };
        at += 2 + length.max(2);
    }
    let mut parts = 0_usize;
    while two(at) == Some(PART) {
        let Some(length) = coded.get(at + 6..).and_then(|rest| rest.first_chunk::<4>()) else { return false };
        parts += 1;
        match usize::try_from(u32::from_be_bytes(*length)) {
            // The last part may leave its length to the end of the stream.
            Ok(0) => {
                let used = coded.iter().rposition(|&byte| byte != 0).map_or(0, |last| last + 1);
                return used >= at + 14 && coded.get(used - 2..used) == Some(&END);
            }
            Ok(length) if length >= 12 => at = at.saturating_add(length),
            _ => return false,
        }
    }
    parts > 0 && two(at) == Some(END)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_streams_hang_together_and_cut_ones_do_not() {
        for whole in [
            &include_bytes!("../../../../tests/it/samples/grey-12-bit.j2k")[..],
            include_bytes!("../../../../tests/it/samples/colour.j2k"),
        ] {
            assert!(hangs_together(whole, 0));
            let padded = [whole, &[0]].concat();
            assert!(hangs_together(&padded, 0), "a byte to make the length even");
            for end in [0, 10, 60, whole.len() / 2, whole.len() - 3] {
                let cut = [&whole[..end], &[0xff, 0xd9]].concat();
                assert!(!hangs_together(&cut, 0), "cut at {end}");
            }
        }
    }
}
