//! Where each frame's coded bytes lie among the fragments (PS3.5, Annex A.4).

use std::borrow::Cow;
use std::ops::Range;

/// The fragments of each frame, as ranges of indices into the fragments.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct FrameIndex(Vec<Range<usize>>);

impl FrameIndex {
    /// Assigns fragments to frames: by the extended offset table, by the basic one, one to one, or by where a
    /// stream begins; `None` if none of them gives every frame its own.
    pub(super) fn new(
        data: &[u8],
        frames: usize,
        table: Range<usize>,
        extended: &[u64],
        pieces: &[Range<usize>],
    ) -> Option<Self> {
        if pieces.is_empty() || frames == 0 {
            return None;
        }
        let origin = pieces.first()?.start.checked_sub(8)?;
        let basic: Vec<u64> = data
            .get(table)?
            .chunks_exact(4)
            .filter_map(|b| b.first_chunk().map(|b| u64::from(u32::from_le_bytes(*b))))
            .collect();
        if frames == 1 {
            // A second stream behind the first is not this frame's: a table tells, else the streams do.
            let end = [extended, &basic].into_iter().find(|table| table.len() > 1).and_then(|table| {
                let second = usize::try_from(table[1]).ok()?;
                pieces.iter().position(|piece| piece.start.checked_sub(8 + origin) == Some(second))
            });
            return Some(Self(std::iter::once(0..end.unwrap_or(pieces.len())).collect()));
        }
        [extended, &basic]
            .into_iter()
            .find_map(|table| by_table(table, origin, frames, pieces))
            .or_else(|| (pieces.len() == frames).then(|| (0..frames).map(|i| i..i + 1).collect()))
            .or_else(|| by_starts(data, frames, pieces))
            .map(Self)
    }

    /// How many frames the fragments hold by themselves, whatever the file declares: as many as a table names, or as
    /// streams begin; of a coding that has one fragment to a frame (`one_each`), as many as there are fragments.
    pub(super) fn held(
        data: &[u8],
        table: Range<usize>,
        extended: &[u64],
        pieces: &[Range<usize>],
        one_each: bool,
    ) -> usize {
        let named = (table.len() / 4).max(extended.len());
        let streams = if one_each { pieces.len() } else { starts(data, pieces).len() };
        // A table that names more frames than there are fragments is itself wrong.
        streams.max(if named <= pieces.len() { named } else { 0 })
    }

    /// The coded bytes of a frame, in one piece.
    pub(super) fn bytes<'a>(
        &self,
        data: &'a [u8],
        pieces: &[Range<usize>],
        frame: usize,
    ) -> Option<Cow<'a, [u8]>> {
        let part = |piece: &Range<usize>| data.get(piece.clone());
        match pieces.get(self.0.get(frame)?.clone())? {
            [] => None,
            [one] => part(one).map(Cow::Borrowed),
            more => {
                let parts: Option<Vec<&[u8]>> = more.iter().map(part).collect();
                Some(Cow::Owned(parts?.concat()))
            }
        }
    }
}

/// By offsets from the first fragment's item.
fn by_table(
    table: &[u64],
    origin: usize,
    frames: usize,
    pieces: &[Range<usize>],
) -> Option<Vec<Range<usize>>> {
    if table.len() != frames {
        return None;
    }
    let starts: Option<Vec<usize>> = table
        .iter()
        .map(|&offset| {
            let item = origin.checked_add(usize::try_from(offset).ok()?)?.checked_add(8)?;
            pieces.binary_search_by_key(&item, |piece| piece.start).ok()
        })
        .collect();
    ranges(&starts?, pieces.len())
}

/// By the fragments with which a stream begins: JPEG and JPEG-LS (FF D8 FF), JPEG 2000 (FF 4F FF 51).
fn by_starts(data: &[u8], frames: usize, pieces: &[Range<usize>]) -> Option<Vec<Range<usize>>> {
    let starts = starts(data, pieces);
    if starts.len() == frames { ranges(&starts, pieces.len()) } else { None }
}

/// The fragments with which a stream begins.
fn starts(data: &[u8], pieces: &[Range<usize>]) -> Vec<usize> {
    let begins = |piece: &Range<usize>| {
        let bytes = data.get(piece.clone()).unwrap_or(&[]);
        bytes.starts_with(&[0xff, 0xd8, 0xff]) || bytes.starts_with(&[0xff, 0x4f, 0xff, 0x51])
    };
    pieces.iter().enumerate().filter(|(_, piece)| begins(piece)).map(|(i, _)| i).collect()
}

/// From each start to the next; `None` if they do not rise from the first fragment.
fn ranges(starts: &[usize], end: usize) -> Option<Vec<Range<usize>>> {
    let ends = starts.iter().skip(1).copied().chain(std::iter::once(end));
    let ranges: Vec<Range<usize>> = starts.iter().copied().zip(ends).map(|(a, b)| a..b).collect();
    (starts.first() == Some(&0) && ranges.iter().all(|range| range.start < range.end)).then_some(ranges)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three fragments of two bytes behind an offset table at the beginning, each with its item's head of 8 bytes.
    fn laid_out(table: &[u32], bytes: [[u8; 2]; 3]) -> (Vec<u8>, Range<usize>, Vec<Range<usize>>) {
        let mut data: Vec<u8> = table.iter().flat_map(|n| n.to_le_bytes()).collect();
        let end = data.len();
        let mut pieces = Vec::new();
        for pair in bytes {
            data.extend([0; 8]);
            pieces.push(data.len()..data.len() + 2);
            data.extend(pair);
        }
        (data, 0..end, pieces)
    }

    fn frames(table: &[u32], count: usize) -> Option<Vec<Vec<u8>>> {
        let (data, range, pieces) = laid_out(table, [[1, 2], [3, 4], [5, 6]]);
        let index = FrameIndex::new(&data, count, range, &[], &pieces)?;
        (0..count).map(|i| index.bytes(&data, &pieces, i).map(Cow::into_owned)).collect()
    }

    #[test]
    fn fragments_go_to_frames_by_table_or_one_to_one() {
        assert_eq!(frames(&[], 1), Some(vec![vec![1, 2, 3, 4, 5, 6]]));
        assert_eq!(frames(&[], 3), Some(vec![vec![1, 2], vec![3, 4], vec![5, 6]]));
        assert_eq!(frames(&[0, 10], 2), Some(vec![vec![1, 2], vec![3, 4, 5, 6]]));
        assert_eq!(frames(&[0, 20], 2), Some(vec![vec![1, 2, 3, 4], vec![5, 6]]));
        assert_eq!(frames(&[], 2), None);
        assert_eq!(frames(&[0, 7], 2), None);
    }

    #[test]
    fn streams_tell_where_a_frame_begins() {
        let data = [0xff, 0xd8, 0xff, 1, 2, 3, 0xff, 0xd8, 0xff, 4];
        let pieces = [0..4, 4..6, 6..10];
        assert_eq!(by_starts(&data, 2, &pieces), Some(vec![0..2, 2..3]));
        assert_eq!(by_starts(&data, 3, &pieces), None);
    }
}
