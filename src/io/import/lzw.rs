//! LZW as TIFF has it (TIFF 6.0, section 13): codes of 9 to 12 bits, the highest bit first, one bit longer a code early.
//!
//! Each string of the table has been written before, so that the table holds only where it stands in what has been written,
//! and its length; a code copies from there.

/// Begins a new table.
const CLEAR: usize = 256;
/// Ends the data.
const END: usize = 257;
/// Entries of the table, with the longest code.
const ENTRIES: usize = 1 << 12;
const LONGEST: u32 = 12;

/// Decodes into `out`; how many bytes were written, or `None` if the data are damaged or do not fit.
pub(super) fn decode(coded: &[u8], out: &mut [u8]) -> Option<usize> {
    // Where each string begins, and its length.
    let mut table = [(0_u32, 0_u32); ENTRIES];
    let (mut free, mut width) = (END + 1, 9);
    let mut codes = Codes { coded, bits: 0, held: 0 };
    let mut filled = 0_usize;
    let mut before: Option<(u32, u32)> = None;
    while let Some(code) = codes.next(width) {
        if code == CLEAR {
            (free, width, before) = (END + 1, 9, None);
            continue;
        }
        if code == END {
            break;
        }
        if let (Some((start, length)), Some(entry)) = (before, table.get_mut(free)) {
            // The string before and the first byte of this one, which is about to be written behind it.
            *entry = (start, length + 1);
            free += 1;
        }
        let start = u32::try_from(filled).ok()?;
        let length = if code < CLEAR {
            *out.get_mut(filled)? = code.to_le_bytes()[0];
            1
        } else {
            if code >= free || before.is_none() {
                return None;
            }
            let (from, length) = *table.get(code)?;
            copy(out, from as usize, filled, length as usize)?;
            length
        };
        before = Some((start, length));
        filled += length as usize;
        if free + 1 >= 1 << width && width < LONGEST {
            width += 1;
        }
    }
    Some(filled)
}

/// Copies a string of what has been written to its end; it may reach one byte into itself.
#[inline(always)]
fn copy(out: &mut [u8], from: usize, to: usize, length: usize) -> Option<()> {
    /// Most strings are no longer; so many bytes are copied at once where there is room.
    const SHORT: usize = 8;
    if length <= SHORT && from + SHORT <= to && to + SHORT <= out.len() {
        let string: [u8; SHORT] = *out.get(from..)?.first_chunk()?;
        *out.get_mut(to..)?.first_chunk_mut()? = string;
        return Some(());
    }
    if out.len() < to.checked_add(length)? {
        return None;
    }
    if from + length <= to {
        out.copy_within(from..from + length, to);
    } else {
        for i in 0..length {
            out[to + i] = out[from + i];
        }
    }
    Some(())
}

/// The codes one behind the other.
struct Codes<'a> {
    coded: &'a [u8],
    bits: u64,
    held: u32,
}

impl Codes<'_> {
    /// The next code; `None` at the end.
    #[inline(always)]
    fn next(&mut self, width: u32) -> Option<usize> {
        if self.held < width {
            if let Some((four, rest)) = self.coded.split_first_chunk::<4>() {
                self.bits = self.bits << 32 | u64::from(u32::from_be_bytes(*four));
                (self.held, self.coded) = (self.held + 32, rest);
            } else {
                while self.held < width {
                    let (&byte, rest) = self.coded.split_first()?;
                    self.bits = self.bits << 8 | u64::from(byte);
                    (self.held, self.coded) = (self.held + 8, rest);
                }
            }
        }
        self.held -= width;
        usize::try_from((self.bits >> self.held) & ((1 << width) - 1)).ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The example of TIFF 6.0, section 13: the bytes 7 7 7 8 8 7 7 6 6 become the codes below.
    #[test]
    fn the_example_of_the_standard() {
        let codes = [256_u32, 7, 258, 8, 8, 258, 6, 6, 257];
        let text: String = codes.iter().map(|code| format!("{code:09b}")).collect();
        let coded: Vec<u8> = text
            .as_bytes()
            .chunks(8)
            .map(|bits| {
                let byte = format!("{:0<8}", String::from_utf8_lossy(bits));
                u8::from_str_radix(&byte, 2).unwrap()
            })
            .collect();
        let mut out = [0; 9];
        assert_eq!(decode(&coded, &mut out), Some(9));
        assert_eq!(out, [7, 7, 7, 8, 8, 7, 7, 6, 6]);
        assert_eq!(decode(&coded, &mut [0; 8]), None, "more than there is room for");
    }

    #[test]
    fn rubbish_ends() {
        let mut out = vec![0; 5000];
        for seed in 0..300_u32 {
            let coded: Vec<u8> = (0..900_u32)
                .map(|i| {
                    i.wrapping_mul(2_654_435_761_u32.wrapping_add(seed * 97)).to_be_bytes()[seed as usize % 4]
                })
                .collect();
            let filled = decode(&coded, &mut out).unwrap_or(0);
            assert!(filled <= out.len());
        }
        assert_eq!(decode(&[], &mut out), Some(0));
    }
}
