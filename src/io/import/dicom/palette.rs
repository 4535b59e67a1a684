//! Palettes of colours (PS3.3 C.7.6.3.1.5 and C.7.9), to grey.

use dicom_core::Tag;
use dicom_dictionary_std::tags;

use crate::case::image::frame::Samples;
use crate::io::import::dicom::data_set::{DataSet, LookupTable};
use crate::io::import::raster::luma;

/// The greys of a palette's entries.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Palette {
    first: u16,
    greys: Vec<u16>,
    narrow: bool,
    is_colour: bool,
}

impl Palette {
    /// Reads the three tables; `None` if one is missing, or if they do not fit together.
    pub(super) fn read(set: DataSet<'_>) -> Option<Self> {
        let [red, green, blue] = [
            (tags::RED_PALETTE_COLOR_LOOKUP_TABLE_DESCRIPTOR, tags::RED_PALETTE_COLOR_LOOKUP_TABLE_DATA),
            (tags::GREEN_PALETTE_COLOR_LOOKUP_TABLE_DESCRIPTOR, tags::GREEN_PALETTE_COLOR_LOOKUP_TABLE_DATA),
            (tags::BLUE_PALETTE_COLOR_LOOKUP_TABLE_DESCRIPTOR, tags::BLUE_PALETTE_COLOR_LOOKUP_TABLE_DATA),
        ]
        .map(|(descriptor, data)| set.table(descriptor, data).or_else(|| segmented(set, descriptor)));
        let (red, green, blue) = (red?, green?, blue?);
        if [&green, &blue].iter().any(|t| t.entries.len() != red.entries.len() || t.bits != red.bits) {
            return None;
        }
        let entries = || red.entries.iter().zip(&green.entries).zip(&blue.entries);
        let is_colour = entries().any(|((r, g), b)| r != g || g != b);
        let grey = |((&r, &g), &b): ((&u16, &u16), &u16)| {
            u16::try_from(luma(u32::from(r), u32::from(g), u32::from(b))).unwrap_or(u16::MAX)
        };
        let greys = entries().map(grey).collect();
        Some(Self { first: red.first, greys, narrow: red.bits <= 8, is_colour })
    }

    /// Whether any entry is not grey.
    pub(super) const fn is_colour(&self) -> bool {
        self.is_colour
    }

    /// The greys of stored values; those before the first entry take it, those behind the last the last.
    pub(super) fn greys(&self, stored: &[u16]) -> Samples {
        let grey = |&value: &u16| {
            let index = usize::from(value.saturating_sub(self.first)).min(self.greys.len().saturating_sub(1));
            self.greys.get(index).copied().unwrap_or(0)
        };
        let greys = stored.iter().map(grey);
        if self.narrow {
            Samples::Gray8(greys.map(|grey| u8::try_from(grey).unwrap_or(u8::MAX)).collect())
        } else {
            Samples::Gray16(greys.collect())
        }
    }
}

/// A table written in segments (PS3.3 C.7.9.2), whose tag lies 0x20 behind that of the plain one.
fn segmented(set: DataSet<'_>, descriptor: Tag) -> Option<LookupTable> {
    let &[count, first, bits] = set.shorts(descriptor).as_slice() else { return None };
    let count = if count == 0 { 1 << 16 } else { usize::from(count) };
    let words = set.shorts(Tag(descriptor.group(), descriptor.element() + 0x120));
    let entries = expand(&words, count)?;
    (bits == 16 && entries.len() == count).then_some(LookupTable { first, bits, entries })
}

/// Expands segments: listed entries, straight lines from the entry before, and segments that came earlier.
fn expand(words: &[u16], count: usize) -> Option<Vec<u16>> {
    let mut entries = Vec::new();
    let mut at = 0;
    while at < words.len() && entries.len() < count {
        match words.get(at..)?.first_chunk::<2>()? {
            &[2, times] => {
                // The offset is in bytes, its lower word first; what is copied may not copy in turn.
                let (low, high) = (*words.get(at + 2)?, *words.get(at + 3)?);
                let mut from = (usize::from(high) << 16 | usize::from(low)) / 2;
                for _ in 0..times {
                    from = segment(words, from, &mut entries, count)?;
                }
                at += 4;
            }
            _ => at = segment(words, at, &mut entries, count)?,
        }
    }
    Some(entries)
}

/// Expands a listed or a straight segment and gives where the next begins; `None` for any other, or one too many.
fn segment(words: &[u16], at: usize, entries: &mut Vec<u16>, count: usize) -> Option<usize> {
    let &[kind, length] = words.get(at..)?.first_chunk::<2>()?;
    let size = usize::from(length);
    if entries.len() + size > count || size == 0 {
        return None;
    }
    match kind {
        0 => {
            entries.extend(words.get(at + 2..at + 2 + size)?);
            Some(at + 2 + size)
        }
        1 => {
            let (from, to) = (f64::from(*entries.last()?), f64::from(*words.get(at + 2)?));
            entries.extend((1..=length).map(|i| {
                let value = from + (to - from) * f64::from(i) / f64::from(length);
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "between two entries"
                )]
                let value = value.round() as u16;
                value
            }));
            Some(at + 3)
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn segments_are_listed_straight_or_repeated() {
        let words = [0, 2, 10, 20, 1, 4, 60, 2, 1, 0, 0, 0, 1, 7];
        assert_eq!(expand(&words, 9), Some(vec![10, 20, 30, 40, 50, 60, 10, 20, 7]));
        assert_eq!(expand(&[1, 4, 60], 4), None);
        assert_eq!(expand(&[2, 1, 0, 0], 4), None);
        assert_eq!(expand(&[0, 900, 1], 900), None);
    }

    #[test]
    fn entries_outside_the_table_take_its_ends() {
        let palette = Palette { first: 2, greys: vec![10, 20, 300], narrow: false, is_colour: false };
        let Samples::Gray16(found) = palette.greys(&[0, 2, 3, 4, 900]) else { panic!("16 bits") };
        assert_eq!(found, [10, 10, 20, 300, 300]);
    }
}
