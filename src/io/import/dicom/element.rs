//! Heads of elements as they stand in a file: tag, type, length, and where the value begins.

use std::ops::Range;

use crate::io::import::dicom::syntax::{BIG, EXPLICIT, IMPLICIT, Syntax};
use crate::io::import::dicom::value_types::{is_long, is_type};

/// Group and element.
pub(super) type Tag = (u16, u16);

/// The head of an element.
#[derive(Clone, Copy)]
pub(super) struct Head {
    pub(super) tag: Tag,
    pub(super) vr: Option<[u8; 2]>,
    pub(super) length: u32,
    /// Where its value begins.
    pub(super) start: usize,
}

/// Two bytes as a number.
fn two(bytes: &[u8], at: usize, big: bool) -> Option<u16> {
    let pair = *bytes.get(at..)?.first_chunk::<2>()?;
    Some(if big { u16::from_be_bytes(pair) } else { u16::from_le_bytes(pair) })
}

/// Four bytes as a number.
pub(super) fn four(bytes: &[u8], at: usize, big: bool) -> Option<u32> {
    let chunk = *bytes.get(at..)?.first_chunk::<4>()?;
    Some(if big { u32::from_be_bytes(chunk) } else { u32::from_le_bytes(chunk) })
}

/// The tag that stands at a place.
pub(super) fn tag_at(bytes: &[u8], at: usize, big: bool) -> Option<Tag> {
    Some((two(bytes, at, big)?, two(bytes, at + 2, big)?))
}

/// The head of the element that begins at a place; `None` where none can be read.
pub(super) fn head_at(bytes: &[u8], at: usize, syntax: Syntax, implicit: bool) -> Option<Head> {
    let big = syntax.big_endian;
    let tag = tag_at(bytes, at, big)?;
    if implicit || tag.0 == 0xfffe {
        return Some(Head { tag, vr: None, length: four(bytes, at + 4, big)?, start: at + 8 });
    }
    let vr = *bytes.get(at + 4..)?.first_chunk::<2>()?;
    if !vr.iter().all(u8::is_ascii_uppercase) {
        return None;
    }
    // Types that are not known have long lengths, as all that were added lately (PS3.5, 7.1.2).
    if is_long(vr) || !is_type(vr) {
        return Some(Head { tag, vr: Some(vr), length: four(bytes, at + 8, big)?, start: at + 12 });
    }
    Some(Head { tag, vr: Some(vr), length: u32::from(two(bytes, at + 6, big)?), start: at + 8 })
}

/// The end of a value that begins at `start`, if it lies within `limit`.
pub(super) fn fitting(start: usize, length: u32, limit: usize) -> Option<usize> {
    let end = start.checked_add(usize::try_from(length).ok()?)?;
    (end <= limit).then_some(end)
}

/// The syntax that the first element of a data set looks like, if it looks like one of a data set's beginning.
pub(super) fn guess(bytes: &[u8]) -> Option<Syntax> {
    let vr = *bytes.get(4..)?.first_chunk::<2>()?;
    let starts = |group: u16| matches!(group, 0x0002 | 0x0004 | 0x0008);
    if is_type(vr) {
        return [EXPLICIT, BIG].into_iter().find(|s| two(bytes, 0, s.big_endian).is_some_and(starts));
    }
    let length = four(bytes, 4, false)?;
    let fits = length < 1 << 16 && two(bytes, 2, false).is_some_and(|element| element < 0x2000);
    (two(bytes, 0, false).is_some_and(starts) && fits).then_some(IMPLICIT)
}

/// The elements from a place on, up to the first that nests or does not fit: tag, and where its value lies.
pub(super) fn flat_elements(
    data: &[u8],
    at: usize,
    syntax: Syntax,
) -> impl Iterator<Item = (Tag, Range<usize>)> + '_ {
    let mut at = at;
    std::iter::from_fn(move || {
        let head = head_at(data, at, syntax, syntax.implicit)?;
        let end = fitting(head.start, head.length, data.len())?;
        at = end;
        Some((head.tag, head.start..end))
    })
}
