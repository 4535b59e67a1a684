//! Run-length coded pixels (PS3.5, Annex G): a plane of bytes to a segment, the high byte first. Written here because
//! the library's reader panics on short segments and reserves what a header asks for.

/// Decodes a frame into native little-endian samples, pixel by pixel; `None` if the segments are damaged or too
/// short. `bytes` is the number of bytes of a sample.
pub(super) fn decode(coded: &[u8], pixels: usize, samples: usize, bytes: usize) -> Option<Vec<u8>> {
    let word = |i: usize| {
        let four = coded.get(4 * i..)?.first_chunk::<4>()?;
        usize::try_from(u32::from_le_bytes(*four)).ok()
    };
    let planes = samples * bytes;
    let count = word(0)?;
    // A byte of a run gives at most 64 bytes, so that an empty segment cannot ask for much.
    if count != planes || planes == 0 || planes > 15 || coded.len().saturating_mul(64) < pixels {
        return None;
    }
    let mut out = vec![0; pixels.checked_mul(planes)?];
    for plane in 0..planes {
        let start = word(1 + plane)?;
        let end = if plane + 1 < planes { word(2 + plane)? } else { coded.len() };
        // Segments run from the highest byte of each sample to the lowest.
        let at = (plane / bytes) * bytes + (bytes - 1 - plane % bytes);
        unpack(coded.get(start..end.max(start))?, &mut out, at, planes)?;
    }
    Some(out)
}

/// Unpacks a segment (PS3.5, G.3.2) into every `step`-th byte; `None` if it ends before they are filled.
fn unpack(segment: &[u8], out: &mut [u8], at: usize, step: usize) -> Option<()> {
    let mut places = out.get_mut(at..)?.iter_mut().step_by(step);
    let mut left = places.len();
    let mut rest = segment;
    while left > 0 {
        let (&control, tail) = rest.split_first()?;
        rest = tail;
        match control {
            0..=127 => {
                let literal = usize::from(control) + 1;
                let bytes = rest.get(..literal.min(left))?;
                for (&byte, place) in bytes.iter().zip(&mut places) {
                    *place = byte;
                }
                left -= bytes.len();
                rest = rest.get(literal..).unwrap_or(&[]);
            }
            128 => {}
            129..=255 => {
                let run = (257 - usize::from(control)).min(left);
                let (&byte, tail) = rest.split_first()?;
                rest = tail;
                for place in places.by_ref().take(run) {
                    *place = byte;
                }
                left -= run;
            }
        }
    }
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn coded(segments: &[&[u8]]) -> Vec<u8> {
        let mut offset = 64_u32;
        let mut head = vec![u32::try_from(segments.len()).unwrap()];
        for segment in segments {
            head.push(offset);
            offset += u32::try_from(segment.len()).unwrap();
        }
        head.resize(16, 0);
        let mut out: Vec<u8> = head.iter().flat_map(|n| n.to_le_bytes()).collect();
        segments.iter().for_each(|segment| out.extend(*segment));
        out
    }

    #[test]
    fn runs_and_literals_of_two_planes() {
        // High bytes: a run of 4 ones. Low bytes: literal 10, 20, no-op, a run of two 30.
        let frame = coded(&[&[253, 1], &[1, 10, 20, 128, 255, 30]]);
        assert_eq!(decode(&frame, 4, 1, 2), Some(vec![10, 1, 20, 1, 30, 1, 30, 1]));
        let colour = coded(&[&[255, 1], &[255, 2], &[255, 3]]);
        assert_eq!(decode(&colour, 2, 3, 1), Some(vec![1, 2, 3, 1, 2, 3]));
    }

    #[test]
    fn short_and_lying_segments_are_refused() {
        assert_eq!(decode(&coded(&[&[253, 1]]), 5, 1, 1), None);
        assert_eq!(decode(&coded(&[&[5, 1]]), 4, 1, 1), None);
        assert_eq!(decode(&coded(&[&[253, 1]]), 4, 1, 2), None);
        assert_eq!(decode(&coded(&[&[253, 1]]), 1 << 30, 1, 1), None);
        for end in 0..70 {
            let whole = coded(&[&[253, 1, 0, 7]]);
            let _ = decode(&whole[..end.min(whole.len())], 5, 1, 1);
        }
    }
}
