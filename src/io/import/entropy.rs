//! Whether the coded data of a JPEG stream are as long as its pixels ask for (ITU-T T.81, Annexes F.2.2, G and H.2.2): a walk over
//! the Huffman codes that decodes nothing. Decoders fill what is missing and pass over what is left, and a flipped bit mostly
//! makes the codes lose step, so that they end too early or too late. Sequential and lossless Huffman streams are walked over;
//! of others nothing is said.

use std::ops::Range;

/// Bytes behind the last code of a scan that are not worth a word: writers fill up to a whole word.
const FILL_BYTES: usize = 3;
/// The most blocks or samples that are walked over.
const MAX_UNITS: u64 = 1 << 31;

/// What the walk found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Health {
    /// The codes fill the data as they should.
    Whole,
    /// The data end before the picture is complete.
    Short,
    /// Codes that stand for nothing, data behind the last code, or restart markers that are not where they should be.
    Torn,
    /// The stream is of a kind that is not walked over, or its headers cannot be understood.
    NotKnown,
}

/// Walks over a stream from its start-of-image marker on.
pub(super) fn walk(bytes: &[u8]) -> Health {
    EntropyWalk::default().run(bytes).unwrap_or(Health::NotKnown)
}

/// Bits that are looked at for a step over a coefficient's code; longer ones are rare.
const STEP_BITS: u32 = 10;

/// What the code of a coefficient steps over (T.81, F.1.2.2): the bits of the code and of the value behind it, and coefficients.
#[derive(Clone, Copy, Debug, Default)]
struct BlockStep {
    bits: u8,
    /// Coefficients, or [`BlockStep::END`].
    coefficients: u8,
}

impl BlockStep {
    /// No more coefficients in this block.
    const END: u8 = u8::MAX;

    /// By the code's value, whose halves are the run of zeros and the length of what follows.
    const fn new(value: u8, length: u8) -> Self {
        let (run, size) = (value >> 4, value & 0x0f);
        let coefficients = match (run, size) {
            (15, 0) => 16,
            (_, 0) => Self::END,
            _ => run + 1,
        };
        Self { bits: length + size, coefficients }
    }
}

/// A Huffman table (T.81, Annex C): for each length the first code, how many there are, and where their values begin.
#[derive(Clone, Debug, Default)]
struct HuffmanTable {
    /// By the next eight bits: value and length; length 0 where the code is longer.
    short: Vec<(u8, u8)>,
    /// By the next [`STEP_BITS`] bits, what a code of a block's further coefficients steps over; no bits where the code is longer.
    steps: Vec<BlockStep>,
    /// For lengths 1 to 16: first code, count, index of its first value.
    by_length: [(u32, u32, usize); 16],
    values: Vec<u8>,
}

impl HuffmanTable {
    /// From the counts of codes by length and their values; `None` if there are more codes than fit.
    fn new(counts: &[u8], values: &[u8]) -> Option<Self> {
        let mut table = Self {
            short: vec![(0, 0); 256],
            steps: vec![BlockStep::default(); 1 << STEP_BITS],
            values: values.to_vec(),
            ..Self::default()
        };
        let (mut code, mut at) = (0_u32, 0_usize);
        for ((length, &count), place) in (1_u8..=16).zip(counts).zip(&mut table.by_length) {
            let count = u32::from(count);
            if code + count > 1 << length {
                return None;
            }
            *place = (code, count, at);
            for k in 0..count {
                let value = *values.get(at + k as usize)?;
                if length <= 8 {
                    let first = ((code + k) << (8 - length)) as usize;
                    table.short[first..first + (1 << (8 - length))].fill((value, length));
                }
                if let Some(more) = STEP_BITS.checked_sub(length.into()) {
                    let first = ((code + k) << more) as usize;
                    table.steps[first..first + (1 << more)].fill(BlockStep::new(value, length));
                }
            }
            at += count as usize;
            code = (code + count) << 1;
        }
        Some(table)
    }
}

/// A component of the frame.
#[derive(Clone, Copy, Debug)]
struct Component {
    id: u8,
    across: u32,
    down: u32,
}

#[derive(Debug, Default)]
struct EntropyWalk {
    dc: [Option<HuffmanTable>; 4],
    ac: [Option<HuffmanTable>; 4],
    components: Vec<Component>,
    size: (u32, u32),
    lossless: bool,
    restart: u32,
    walked: usize,
}

/// The bits of a scan up to the next marker.
struct EntropyBits<'a> {
    bytes: &'a [u8],
    at: usize,
    held: u64,
    count: u32,
    /// Bits that were given although the data had ended.
    lent: u32,
}

impl<'a> EntropyBits<'a> {
    fn new(bytes: &'a [u8], at: usize) -> Self {
        Self { bytes, at, held: 0, count: 0, lent: 0 }
    }

    /// Holds more than 32 bits; behind the end of the data they are zeros.
    fn fill(&mut self) {
        if self.count > 32 {
            return;
        }
        // Eight bytes at once where none of them is a marker's or a stuffed one's.
        if let Some(word) = self.bytes.get(self.at..).and_then(|rest| rest.first_chunk::<8>())
            && !word.contains(&0xff)
        {
            let bytes = (64 - self.count) / 8;
            let all = u64::from_be_bytes(*word);
            self.held = if bytes == 8 { all } else { (self.held << (8 * bytes)) | (all >> (64 - 8 * bytes)) };
            self.at += bytes as usize;
            self.count += 8 * bytes;
            return;
        }
        while self.count <= 48 {
            let byte = match (self.bytes.get(self.at), self.bytes.get(self.at + 1)) {
                (Some(0xff), Some(0)) => {
                    self.at += 2;
                    0xff
                }
                (Some(&byte), _) if byte != 0xff => {
                    self.at += 1;
                    byte
                }
                _ => {
                    self.lent += 8;
                    0
                }
            };
            self.held = (self.held << 8) | u64::from(byte);
            self.count += 8;
        }
    }

    fn peek(&self, bits: u32) -> u32 {
        u32::try_from((self.held >> (self.count - bits)) & ((1 << bits) - 1)).unwrap_or(0)
    }

    fn skip(&mut self, bits: u32) {
        self.count -= bits;
    }

    /// The next value by a table; `None` for a code that it does not have.
    fn value(&mut self, table: &HuffmanTable) -> Option<u8> {
        let (value, length) = table.short[self.peek(8) as usize];
        if length > 0 {
            self.skip(u32::from(length));
            return Some(value);
        }
        for (length, &(first, count, at)) in (1_u32..).zip(&table.by_length).skip(8) {
            let code = self.peek(length);
            if code >= first && code - first < count {
                self.skip(length);
                return table.values.get(at + (code - first) as usize).copied();
            }
        }
        None
    }

    /// Whether more bits were taken than there are.
    fn is_overdrawn(&self) -> bool {
        self.lent > self.count
    }

    /// Whole bytes that were not taken, up to the next marker, and where that is.
    fn left(&self) -> (usize, usize) {
        let mut at = self.at;
        let mut left = self.count.saturating_sub(self.lent) as usize / 8;
        while let Some(&byte) = self.bytes.get(at) {
            match (byte, self.bytes.get(at + 1)) {
                (0xff, Some(0)) => at += 1,
                (0xff, Some(0xff)) => {
                    at += 1;
                    continue;
                }
                (0xff, _) => break,
                _ => {}
            }
            at += 1;
            left += 1;
        }
        (left, at)
    }
}

impl EntropyWalk {
    /// The segments up to the end of the image; `None` where they are not understood.
    fn run(&mut self, bytes: &[u8]) -> Option<Health> {
        let mut at = 2;
        loop {
            // An end without its marker is told elsewhere.
            let Some(&[mark, code]) = bytes.get(at..).and_then(|rest| rest.first_chunk()) else {
                return (self.walked > 0).then_some(Health::Whole);
            };
            if mark != 0xff {
                return None;
            }
            match code {
                0xff => at += 1,
                0xd9 => return (self.walked > 0).then_some(Health::Whole),
                0x01 | 0xd0..=0xd8 => at += 2,
                _ => {
                    let length = usize::from(u16::from_be_bytes(*bytes.get(at + 2..)?.first_chunk()?));
                    let segment = at + 4..at + 2 + length.max(2);
                    let (health, next) = self.segment(code, bytes, segment)?;
                    if health != Health::Whole {
                        return Some(health);
                    }
                    at = next;
                }
            }
        }
    }

    /// One segment, and where the next begins.
    fn segment(&mut self, code: u8, bytes: &[u8], range: Range<usize>) -> Option<(Health, usize)> {
        let end = range.end;
        let segment = bytes.get(range)?;
        match code {
            0xc4 => self.tables(segment)?,
            0xc0 | 0xc1 | 0xc3 => self.frame(code, segment)?,
            // Progressive, hierarchical and arithmetic streams; the number of lines behind the picture.
            0xc2 | 0xc5..=0xcf | 0xdc => return None,
            0xdd => self.restart = u32::from(u16::from_be_bytes(*segment.first_chunk()?)),
            0xda => return self.scan(segment, bytes, end),
            _ => {}
        }
        Some((Health::Whole, end))
    }

    fn tables(&mut self, mut segment: &[u8]) -> Option<()> {
        while let Some((&class, rest)) = segment.split_first() {
            let counts = rest.get(..16)?;
            let total: usize = counts.iter().map(|&count| usize::from(count)).sum();
            let table = HuffmanTable::new(counts, rest.get(16..16 + total)?)?;
            let place = usize::from(class & 0x0f);
            let side = if class >> 4 == 0 { &mut self.dc } else { &mut self.ac };
            *side.get_mut(place)? = Some(table);
            segment = rest.get(16 + total..)?;
        }
        Some(())
    }

    fn frame(&mut self, code: u8, segment: &[u8]) -> Option<()> {
        let &[_, y1, y0, x1, x0, count] = segment.first_chunk()?;
        self.size = (u32::from(u16::from_be_bytes([x1, x0])), u32::from(u16::from_be_bytes([y1, y0])));
        self.lossless = code == 0xc3;
        self.components.clear();
        for part in segment.get(6..6 + 3 * usize::from(count))?.chunks_exact(3) {
            let (across, down) = (u32::from(part[1] >> 4), u32::from(part[1] & 0x0f));
            if !(1..=4).contains(&across) || !(1..=4).contains(&down) {
                return None;
            }
            self.components.push(Component { id: part[0], across, down });
        }
        (self.size.0 > 0 && self.size.1 > 0 && !self.components.is_empty()).then_some(())
    }

    /// The codes behind a scan header, and where the next marker is.
    fn scan(&mut self, segment: &[u8], bytes: &[u8], start: usize) -> Option<(Health, usize)> {
        let (&count, rest) = segment.split_first()?;
        let mut parts = Vec::new();
        for pair in rest.get(..2 * usize::from(count))?.chunks_exact(2) {
            let component = *self.components.iter().find(|component| component.id == pair[0])?;
            let dc = self.dc.get(usize::from(pair[1] >> 4))?.as_ref()?;
            let ac = self.ac.get(usize::from(pair[1] & 0x0f))?.as_ref();
            if ac.is_none() && !self.lossless {
                return None;
            }
            parts.push((component, dc, ac));
        }
        let most = |side: fn(&Component) -> u32| self.components.iter().map(side).max().unwrap_or(1);
        let (across, down) = (most(|c| c.across), most(|c| c.down));
        let side = if self.lossless { 1 } else { 8 };
        // One component alone is not interleaved: its units lie in rows (T.81, A.2.2 and A.2.3).
        let (units_x, units_y) = match parts.as_slice() {
            [] => return None,
            [(one, ..)] => (
                (self.size.0 * one.across).div_ceil(across).div_ceil(side),
                (self.size.1 * one.down).div_ceil(down).div_ceil(side),
            ),
            _ => (self.size.0.div_ceil(side * across), self.size.1.div_ceil(side * down)),
        };
        let per_unit: Vec<u32> = match parts.as_slice() {
            [_] => vec![1],
            all => all.iter().map(|(component, ..)| component.across * component.down).collect(),
        };
        let units = u64::from(units_x) * u64::from(units_y);
        if units.saturating_mul(per_unit.iter().sum::<u32>().into()) > MAX_UNITS {
            return None;
        }
        let mut bits = EntropyBits::new(bytes, start);
        let mut restarts = 0_u8;
        for unit in 0..units {
            if self.restart > 0 && unit > 0 && unit % u64::from(self.restart) == 0 {
                let (left, marker) = bits.left();
                let due = bytes.get(marker..marker + 2) == Some(&[0xff, 0xd0 + restarts]);
                if left > FILL_BYTES || !due {
                    let end = marker + 2 > bytes.len() || bytes.get(marker + 1) == Some(&0xd9);
                    return Some((if end { Health::Short } else { Health::Torn }, marker));
                }
                restarts = (restarts + 1) % 8;
                bits = EntropyBits::new(bytes, marker + 2);
            }
            for ((_, dc, ac), &blocks) in parts.iter().zip(&per_unit) {
                for _ in 0..blocks {
                    let known = if self.lossless { sample(&mut bits, dc) } else { block(&mut bits, dc, *ac) };
                    if bits.is_overdrawn() {
                        return Some((Health::Short, bits.left().1));
                    }
                    if known.is_none() {
                        return Some((Health::Torn, bits.left().1));
                    }
                }
            }
        }
        self.walked += 1;
        let (left, marker) = bits.left();
        let health = if left > FILL_BYTES { Health::Torn } else { Health::Whole };
        Some((health, marker))
    }
}

/// Steps over a difference of a lossless stream (T.81, H.1.2.2).
fn sample(bits: &mut EntropyBits<'_>, table: &HuffmanTable) -> Option<()> {
    bits.fill();
    match bits.value(table)? {
        16 => Some(()),
        size @ 0..=15 => {
            bits.skip(size.into());
            Some(())
        }
        _ => None,
    }
}

/// Steps over a block of 8 × 8 coefficients (T.81, F.2.2).
fn block(bits: &mut EntropyBits<'_>, dc: &HuffmanTable, ac: Option<&HuffmanTable>) -> Option<()> {
    let ac = ac?;
    bits.fill();
    let size = bits.value(dc)?;
    if size > 15 {
        return None;
    }
    bits.skip(size.into());
    let mut k = 1;
    while k < 64 {
        bits.fill();
        let mut step = ac.steps[bits.peek(STEP_BITS) as usize];
        if step.bits == 0 {
            step = BlockStep::new(bits.value(ac)?, 0);
        }
        bits.skip(step.bits.into());
        if step.coefficients == BlockStep::END {
            break;
        }
        k += step.coefficients;
    }
    (k <= 64).then_some(())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A grey picture as sequential JPEG.
    fn jpeg() -> Vec<u8> {
        let mut bytes = Vec::new();
        let picture =
            image::GrayImage::from_fn(67, 41, |x, y| image::Luma([(x * y + 3 * x).to_le_bytes()[0]]));
        image::codecs::jpeg::JpegEncoder::new(&mut bytes).encode_image(&picture).unwrap();
        bytes
    }

    #[test]
    fn a_whole_stream_is_whole_and_a_cut_one_short() {
        let bytes = jpeg();
        assert_eq!(walk(&bytes), Health::Whole);
        let colour =
            image::RgbImage::from_fn(33, 70, |x, y| image::Rgb([x, y, x + y].map(|n| n.to_le_bytes()[0])));
        let mut coded = Vec::new();
        image::codecs::jpeg::JpegEncoder::new(&mut coded).encode_image(&colour).unwrap();
        assert_eq!(walk(&coded), Health::Whole);
        let start = bytes.windows(2).position(|pair| pair == [0xff, 0xda]).unwrap() + 12;
        for end in [start + 20, (start + bytes.len()) / 2, bytes.len() - 20] {
            let mut cut = bytes[..end].to_vec();
            while cut.last() == Some(&0xff) {
                cut.pop();
            }
            cut.extend([0xff, 0xd9]);
            assert_eq!(walk(&cut), Health::Short, "cut at {end}");
        }
        let mut longer = bytes[..bytes.len() - 2].to_vec();
        longer.extend([0x5a; 9]);
        longer.extend([0xff, 0xd9]);
        assert_eq!(walk(&longer), Health::Torn);
    }

    #[test]
    fn codes_by_hand() {
        // Lengths 1, 2, 2: codes 0, 10, 11. Five samples of a lossless stream: 0, 1 with a bit, 2 with two, 0, 0.
        let table = HuffmanTable::new(&[1, 2, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0], &[0, 1, 2]).unwrap();
        // 0, 10 and 1, 11 and 10, 0, 0, six ones to fill.
        let data = [0b0101_1110, 0b0011_1111];
        let mut bits = EntropyBits::new(&data, 0);
        for _ in 0..5 {
            assert!(sample(&mut bits, &table).is_some());
        }
        assert!(!bits.is_overdrawn());
        assert_eq!(bits.left().0, 0, "six bits of fill are no byte");
        assert!(HuffmanTable::new(&[3, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0], &[0, 1, 2]).is_none());
    }

    /// What is looked up by ten bits is what the codes say one by one.
    #[test]
    fn steps_are_those_of_the_codes() {
        let mut walk = EntropyWalk::default();
        assert_eq!(walk.run(&jpeg()), Some(Health::Whole));
        let table = walk.ac[0].as_ref().unwrap();
        let (mut looked_up, mut longer) = (0, 0);
        for pattern in (0..=u16::MAX).map(u16::to_be_bytes) {
            // A byte of ones is followed by a stuffed zero.
            let stuffed = pattern.map(|byte| if byte == 0xff { vec![0xff, 0] } else { vec![byte] });
            let data = [&stuffed.concat()[..], &[0; 8]].concat();
            let mut bits = EntropyBits::new(&data, 0);
            bits.fill();
            let (held, step) = (bits.count, table.steps[bits.peek(STEP_BITS) as usize]);
            let value = bits.value(table);
            let length = held - bits.count;
            if step.bits == 0 {
                assert!(value.is_none() || length > STEP_BITS, "{pattern:?}");
                longer += 1;
            } else {
                let code = BlockStep::new(value.unwrap(), u8::try_from(length).unwrap());
                assert_eq!((step.bits, step.coefficients), (code.bits, code.coefficients), "{pattern:?}");
                looked_up += 1;
            }
        }
        assert!(looked_up > 60_000 && longer > 100, "{looked_up} {longer}");
    }

    #[test]
    fn any_rubbish_is_walked_over() {
        let good = jpeg();
        for n in 0..400_usize {
            let mut bytes = good.clone();
            for k in 0..3 {
                let at = (n * 7919 + k * 104_729) % bytes.len();
                bytes[at] = (n * 31 + k).to_le_bytes()[0];
            }
            bytes.truncate(good.len() - n % 50);
            let _ = walk(&bytes);
        }
        for bytes in [&[][..], &[0xff], &[0xff, 0xd8], &[0xff, 0xd8, 0xff, 0xda], &[0xff; 99]] {
            assert_eq!(walk(bytes), Health::NotKnown);
        }
    }
}
