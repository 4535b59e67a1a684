//! A first walk over a file's elements, before any library reads them: every declared length fits the file, nothing
//! nests deeper than [`MAX_DEPTH`], a deflated data set stays below [`MAX_INFLATED`]. It keeps no stack of its own
//! calls, so no file can exhaust it, and it finds where the pixels are without copying them.
//!
//! Only the elements a picture needs are handed on: what the file says of a patient is never read.

use std::io::Read as _;
use std::ops::Range;

use flate2::read::DeflateDecoder;

use crate::io::import::dicom::element::{Head, Tag, fitting, flat_elements, four, guess, head_at, tag_at};
use crate::io::import::dicom::syntax::{EXPLICIT, IMPLICIT, Syntax, syntax_of};
use crate::io::import::dicom::value_types::{is_sequence, is_type, unit};

/// How deep sequences may nest.
pub(super) const MAX_DEPTH: usize = 64;
/// How large a deflated data set may become, in bytes.
pub(super) const MAX_INFLATED: u64 = 256 << 20;
/// How many elements are walked over; more are a fault or an attack.
const MAX_ELEMENTS: usize = 4_000_000;
/// How many elements behind the pixels are looked at; a real file has at most a signature and padding there.
const MAX_BEHIND: usize = 1000;

const ITEM: Tag = (0xfffe, 0xe000);
const ITEM_END: Tag = (0xfffe, 0xe00d);
const SEQUENCE_END: Tag = (0xfffe, 0xe0dd);
const PIXEL_DATA: Tag = (0x7fe0, 0x0010);
const PIXEL_SPACING: Tag = (0x0028, 0x0030);
const UNDEFINED: u32 = u32::MAX;

/// Why a file is not read further.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum WalkFault {
    /// It ends inside this element.
    CutShort(Tag),
    /// This element cannot be understood.
    Damaged(Tag),
    /// Sequences nest deeper than [`MAX_DEPTH`].
    TooDeep,
    /// Too many elements.
    TooMany,
    /// The deflated data set is damaged.
    NotInflated,
    /// The deflated data set is larger than [`MAX_INFLATED`].
    Inflated,
    /// A transfer syntax that is not in the table: its identifier.
    UnknownSyntax(String),
}

/// Where the pixels are, as ranges of the data set.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum PixelRanges {
    /// In one piece; whether it is typed as words (OW).
    Native(Range<usize>, bool),
    /// In fragments.
    Fragments {
        /// The basic offset table.
        offsets: Range<usize>,
        /// The fragments.
        pieces: Vec<Range<usize>>,
    },
}

/// What the walk found.
#[derive(Clone, Debug)]
pub(super) struct Walked {
    /// The transfer syntax.
    pub(super) syntax: Syntax,
    /// The class of the file (0002,0002), if it is said.
    pub(super) class: Option<String>,
    /// Where the data set begins in the file.
    pub(super) start: usize,
    /// The data set, if it was deflated; ranges refer to it, else to the file from `start` on.
    pub(super) inflated: Option<Vec<u8>>,
    /// The elements a picture needs, one behind the other.
    pub(super) wanted: Vec<u8>,
    /// Their tags, in that order: whoever parses them must find the same.
    pub(super) kept: Vec<Tag>,
    /// The pixels, if there are any.
    pub(super) pixels: Option<PixelRanges>,
    /// Whether there are pixels of a kind that is not read: floating-point numbers.
    pub(super) float_pixels: bool,
    /// Wanted elements that stand behind the pixels, where they do not belong and are not read.
    pub(super) behind: Vec<Tag>,
    /// Whether an item of a sequence states its Pixel Spacing more than once.
    pub(super) spacing_repeated: bool,
    /// How many zeros stand behind the last element, to the end.
    pub(super) zeros: usize,
}

/// Whether a file's first bytes are those of a DICOM file, with or without a preamble. 140 bytes suffice.
pub(in crate::io::import) fn is_dicom(bytes: &[u8]) -> bool {
    bytes.get(128..132) == Some(b"DICM") || (bytes.len() >= 12 && guess(bytes).is_some())
}

/// The elements at the top of the data set that a picture needs.
fn is_wanted(tag: Tag) -> bool {
    match tag.0 {
        // Directory records.
        0x0004 => tag.1 == 0x1220,
        // Characters, class, times.
        0x0008 => matches!(tag.1, 0x0005 | 0x0016 | 0x0022 | 0x0023 | 0x002a | 0x0032 | 0x0033),
        // Geometry of the exposure, frame times.
        0x0018 => {
            matches!(tag.1, 0x1063 | 0x0040 | 0x1110 | 0x1111 | 0x1114 | 0x1147 | 0x1149 | 0x1164 | 0x2010)
        }
        0x0028 => true,
        // Functional groups.
        0x5200 => matches!(tag.1, 0x9229 | 0x9230),
        // Extended offset table.
        0x7fe0 => matches!(tag.1, 0x0001 | 0x0002),
        _ => false,
    }
}

/// Walks over a file and keeps what a picture needs.
pub(super) fn walk(bytes: &[u8]) -> Result<Walked, WalkFault> {
    walk_for(bytes, is_wanted)
}

/// Walks over a file and keeps the elements at the top of the data set that `wanted` names.
pub(super) fn walk_for(bytes: &[u8], wanted: fn(Tag) -> bool) -> Result<Walked, WalkFault> {
    let start = if bytes.get(128..132) == Some(b"DICM") { 132 } else { 0 };
    let meta = read_meta(bytes, start)?;
    let rest = bytes.get(meta.end..).unwrap_or(&[]);
    let syntax = match &meta.syntax {
        Some(uid) => syntax_of(uid).ok_or_else(|| WalkFault::UnknownSyntax(uid.clone()))?,
        None => guess(rest).unwrap_or(IMPLICIT),
    };
    let inflated = if syntax.deflated { Some(inflate(rest, MAX_INFLATED)?) } else { None };
    let data = inflated.as_deref().unwrap_or(rest);
    // Some writers name one syntax and write another; the first element shows which.
    let syntax = match guess(data) {
        Some(seen) if seen.implicit != syntax.implicit && !syntax.deflated && !syntax.big_endian => {
            Syntax { implicit: seen.implicit, ..syntax }
        }
        _ => syntax,
    };
    let mut walker = Walker::new(data, syntax, wanted);
    walker.run()?;
    let Walker { wanted: found, kept, pixels, float_pixels, spacing_repeated, zeros, pixels_end, .. } =
        walker;
    let behind = pixels_end.map_or_else(Vec::new, |end| {
        flat_elements(data, end, syntax)
            .take(MAX_BEHIND)
            .map(|(tag, _)| tag)
            .filter(|tag| wanted(*tag))
            .collect()
    });
    Ok(Walked {
        syntax,
        class: meta.class,
        start: meta.end,
        inflated,
        wanted: found,
        kept,
        pixels,
        float_pixels,
        behind,
        spacing_repeated,
        zeros,
    })
}

/// The class of a file (0002,0002) by its first bytes.
pub(super) fn class_of(bytes: &[u8]) -> Option<String> {
    read_meta(bytes, 132).ok()?.class
}

/// Inflates raw deflate up to a limit.
pub(super) fn inflate(bytes: &[u8], limit: u64) -> Result<Vec<u8>, WalkFault> {
    let mut out = Vec::new();
    DeflateDecoder::new(bytes).take(limit + 1).read_to_end(&mut out).map_err(|error| {
        drop(error);
        WalkFault::NotInflated
    })?;
    if out.len() as u64 > limit { Err(WalkFault::Inflated) } else { Ok(out) }
}

struct Meta {
    syntax: Option<String>,
    class: Option<String>,
    end: usize,
}

/// The file meta information: always explicit and little endian (PS3.10, 7.1).
fn read_meta(bytes: &[u8], start: usize) -> Result<Meta, WalkFault> {
    let mut meta = Meta { syntax: None, class: None, end: start };
    while let Some(tag) = tag_at(bytes, meta.end, false) {
        if tag.0 != 0x0002 {
            break;
        }
        let head = head_at(bytes, meta.end, EXPLICIT, false).ok_or(WalkFault::Damaged(tag))?;
        let end = fitting(head.start, head.length, bytes.len()).ok_or(WalkFault::CutShort(tag))?;
        let text = || {
            let value = bytes.get(head.start..end).unwrap_or(&[]);
            String::from_utf8_lossy(value).trim_matches(['\0', ' ']).chars().take(64).collect::<String>()
        };
        match tag.1 {
            0x0010 => meta.syntax = Some(text()),
            0x0002 => meta.class = Some(text()),
            _ => {}
        }
        meta.end = end;
    }
    Ok(meta)
}

/// What is open at a place of the walk.
#[derive(Clone, Copy)]
struct NestingLevel {
    is_item: bool,
    end: Option<usize>,
    implicit: bool,
    /// Whether the item has stated its Pixel Spacing.
    has_spacing: bool,
}

struct Walker<'a> {
    data: &'a [u8],
    syntax: Syntax,
    open: Vec<NestingLevel>,
    wants: fn(Tag) -> bool,
    wanted: Vec<u8>,
    kept: Vec<Tag>,
    pixels: Option<PixelRanges>,
    /// Where the pixels end.
    pixels_end: Option<usize>,
    float_pixels: bool,
    spacing_repeated: bool,
    zeros: usize,
    /// Where the element at the top began.
    began: (usize, Tag),
    /// Whether it holds something that another reader may take for something else, such as a length of what is no
    /// sequence: it is then left out, for lengths that were not checked are not to be trusted.
    doubtful: bool,
}

impl<'a> Walker<'a> {
    fn new(data: &'a [u8], syntax: Syntax, wants: fn(Tag) -> bool) -> Self {
        Self {
            data,
            syntax,
            open: Vec::new(),
            wants,
            wanted: Vec::new(),
            kept: Vec::new(),
            pixels: None,
            pixels_end: None,
            float_pixels: false,
            spacing_repeated: false,
            zeros: 0,
            began: (0, (0, 0)),
            doubtful: false,
        }
    }

    fn run(&mut self) -> Result<(), WalkFault> {
        let mut at = 0;
        for _ in 0..MAX_ELEMENTS {
            while self.open.last().is_some_and(|level| level.end == Some(at)) {
                self.close(at);
            }
            if at >= self.data.len() {
                // A sequence without its end is harmless where nothing follows it.
                while !self.open.is_empty() {
                    self.close(at);
                }
                return Ok(());
            }
            match self.step(at)? {
                Some(next) => at = next,
                None => return Ok(()),
            }
        }
        Err(WalkFault::TooMany)
    }

    /// Up to where the innermost open length reaches.
    fn limit(&self) -> usize {
        self.open.iter().filter_map(|level| level.end).min().unwrap_or(self.data.len())
    }

    fn close(&mut self, at: usize) {
        self.open.pop();
        if self.open.is_empty() {
            self.take(at);
        }
    }

    /// Keeps the element at the top that ends here, if a picture needs it.
    fn take(&mut self, end: usize) {
        let (start, tag) = self.began;
        if (self.wants)(tag) && !self.doubtful {
            self.wanted.extend_from_slice(self.data.get(start..end).unwrap_or(&[]));
            self.kept.push(tag);
        }
    }

    /// One element; `None` once the pixels are found.
    fn step(&mut self, at: usize) -> Result<Option<usize>, WalkFault> {
        let top = self.open.last().copied();
        let implicit = top.map_or(self.syntax.implicit, |level| level.implicit);
        let Some(head) = head_at(self.data, at, self.syntax, implicit) else {
            // Zeros behind the last element are padding.
            if top.is_none() && self.data.get(at..).is_some_and(|rest| rest.iter().all(|&byte| byte == 0)) {
                self.zeros = self.data.len().saturating_sub(at);
                return Ok(None);
            }
            let tag = tag_at(self.data, at, self.syntax.big_endian).unwrap_or(self.began.1);
            let rest = self.data.len().saturating_sub(at);
            return Err(if rest < 8 { WalkFault::CutShort(tag) } else { WalkFault::Damaged(tag) });
        };
        let limit = self.limit();
        if head.start > limit {
            return Err(WalkFault::CutShort(head.tag));
        }
        match (head.tag, top) {
            (ITEM, Some(level)) if !level.is_item => {
                let end = self.end_of(head, limit)?;
                self.open(NestingLevel { is_item: true, end, implicit: level.implicit, has_spacing: false })?;
                Ok(Some(head.start))
            }
            (ITEM_END, Some(level)) if level.is_item && level.end.is_none() => {
                self.close(head.start);
                Ok(Some(head.start))
            }
            (SEQUENCE_END, Some(level)) if !level.is_item && level.end.is_none() => {
                self.close(head.start);
                Ok(Some(head.start))
            }
            ((0xfffe, _), None) => Ok(Some(head.start)),
            ((0xfffe, _), _) => Err(WalkFault::Damaged(self.began.1)),
            (_, Some(level)) if !level.is_item => Err(WalkFault::Damaged(self.began.1)),
            _ => self.element(at, head, limit, implicit),
        }
    }

    fn element(
        &mut self,
        at: usize,
        head: Head,
        limit: usize,
        implicit: bool,
    ) -> Result<Option<usize>, WalkFault> {
        let is_top = self.open.is_empty();
        if is_top {
            self.began = (at, head.tag);
            self.doubtful = false;
            if head.tag == PIXEL_DATA {
                let (pixels, end) = self.find_pixels(head)?;
                (self.pixels, self.pixels_end) = (Some(pixels), Some(end));
                return Ok(None);
            }
            if matches!(head.tag, (0x7fe0, 0x0008 | 0x0009)) {
                self.float_pixels = true;
            }
        }
        if head.tag == PIXEL_SPACING
            && let Some(item) = self.open.last_mut()
        {
            self.spacing_repeated |= item.has_spacing;
            item.has_spacing = true;
        }
        let is_sequence = match head.vr {
            Some(vr) => vr == *b"SQ",
            None => is_sequence(head.tag),
        };
        let nests = is_sequence || head.length == UNDEFINED;
        self.doubtful |= (nests && !is_sequence) || head.vr.is_some_and(|vr| !is_type(vr));
        // A value that is no whole number of its type's: a parser reads on into what follows, and takes it for lengths.
        self.doubtful |=
            !nests && !usize::try_from(head.length).is_ok_and(|n| n.is_multiple_of(unit(head.tag, head.vr)));
        let is_needed = (self.wants)(self.began.1);
        if nests && (is_needed || head.length == UNDEFINED) {
            let end = self.end_of(head, limit)?;
            // Of unknown type and undefined length: written implicitly (PS3.5, 6.2.2, note 2).
            let implicit = implicit || head.vr == Some(*b"UN");
            self.open(NestingLevel { is_item: false, end, implicit, has_spacing: false })?;
            return Ok(Some(head.start));
        }
        let end = fitting(head.start, head.length, limit).ok_or(WalkFault::CutShort(head.tag))?;
        if is_top {
            self.take(end);
        }
        Ok(Some(end))
    }

    fn end_of(&self, head: Head, limit: usize) -> Result<Option<usize>, WalkFault> {
        if head.length == UNDEFINED {
            return Ok(None);
        }
        fitting(head.start, head.length, limit).map(Some).ok_or(WalkFault::CutShort(head.tag))
    }

    fn open(&mut self, level: NestingLevel) -> Result<(), WalkFault> {
        // An element nests by a sequence and an item.
        if self.open.len() >= 2 * MAX_DEPTH {
            return Err(WalkFault::TooDeep);
        }
        self.open.push(level);
        Ok(())
    }

    /// Where the pixels are, and where they end.
    fn find_pixels(&self, head: Head) -> Result<(PixelRanges, usize), WalkFault> {
        if head.length != UNDEFINED {
            // Whether enough is there is asked a frame at a time, so that what is there can be seen.
            let end = fitting(head.start, head.length, self.data.len()).unwrap_or(self.data.len());
            let words = head.vr == Some(*b"OW") || self.syntax.implicit;
            return Ok((PixelRanges::Native(head.start..end, words), end));
        }
        let mut items = Vec::new();
        let mut at = head.start;
        let big = self.syntax.big_endian;
        while let Some(tag) = tag_at(self.data, at, big) {
            if tag != ITEM {
                break;
            }
            let length = four(self.data, at + 4, big).ok_or(WalkFault::CutShort(PIXEL_DATA))?;
            let start = at + 8;
            // The last fragment may be cut; its decoder then says so.
            let end = fitting(start, length, self.data.len()).unwrap_or(self.data.len());
            items.push(start..end);
            at = end;
            if items.len() > MAX_ELEMENTS {
                return Err(WalkFault::TooMany);
            }
        }
        if items.is_empty() {
            return Err(WalkFault::CutShort(PIXEL_DATA));
        }
        let offsets = items.remove(0);
        // Behind the last fragment stands the end of the sequence, 8 bytes.
        Ok((PixelRanges::Fragments { offsets, pieces: items }, at.saturating_add(8)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::io::import::dicom::value_types::is_long;

    fn explicit(tag: Tag, vr: &[u8; 2], value: &[u8]) -> Vec<u8> {
        let mut out = Vec::new();
        out.extend(tag.0.to_le_bytes());
        out.extend(tag.1.to_le_bytes());
        out.extend(vr);
        if is_long(*vr) {
            out.extend([0, 0]);
            out.extend(u32::try_from(value.len()).unwrap().to_le_bytes());
        } else {
            out.extend(u16::try_from(value.len()).unwrap().to_le_bytes());
        }
        out.extend(value);
        out
    }

    #[test]
    fn a_data_set_without_preamble_and_meta_is_walked() {
        let mut bytes = explicit((8, 5), b"CS", b"ISO_IR 100");
        bytes.extend(explicit((0x10, 0x10), b"PN", b"NOBODY"));
        bytes.extend(explicit((0x28, 0x10), b"US", &[2, 0]));
        bytes.extend(explicit(PIXEL_DATA, b"OW", &[1, 2, 3, 4]));
        assert!(is_dicom(&bytes));
        let found = walk(&bytes).unwrap();
        assert_eq!(found.syntax, EXPLICIT);
        assert!(!found.wanted.windows(6).any(|part| part == b"NOBODY"), "a name is never handed on");
        let Some(PixelRanges::Native(range, true)) = found.pixels else { panic!("native") };
        assert_eq!(&bytes[found.start..][range], [1, 2, 3, 4]);
    }

    #[test]
    fn lengths_beyond_the_file_are_refused() {
        let mut bytes = explicit((8, 5), b"CS", b"ISO_IR 100");
        bytes.extend(explicit((0x28, 0x10), b"UT", &[0; 4]));
        let at = bytes.len() - 8;
        bytes[at..at + 4].copy_from_slice(&1_000_000_u32.to_le_bytes());
        assert_eq!(walk(&bytes).unwrap_err(), WalkFault::CutShort((0x28, 0x10)));
    }

    #[test]
    fn what_another_reader_may_take_otherwise_is_not_handed_on() {
        // A type that does not exist: its length could be read as two bytes or as four.
        let mut bytes = explicit((8, 5), b"CS", b"ISO_IR 100");
        bytes.extend([0x28, 0, 0x30, 0]);
        bytes.extend(b"XX\0\0\x04\0\0\0\xff\xff\xff\x7f");
        bytes.extend(explicit((0x28, 0x101), b"US", &[12, 0]));
        let found = walk(&bytes).unwrap();
        assert!(!found.wanted.windows(2).any(|pair| pair == b"XX"));
        assert!(found.wanted.windows(4).any(|four| four == [0x28, 0, 1, 1]));
    }

    /// The double of four bytes made a parser take the next four for a length, and reserve that much.
    #[test]
    fn values_that_do_not_fit_their_type_are_not_handed_on() {
        for (vr, length) in [(b"FD", 4), (b"FL", 2), (b"US", 1), (b"SL", 6), (b"AT", 2), (b"OW", 3)] {
            let mut bytes = explicit((8, 5), b"CS", b"ISO_IR 100");
            bytes.extend(explicit((0x28, 0x30), vr, &vec![1; length]));
            bytes.extend(explicit((0x28, 0x101), b"US", &[12, 0]));
            let found = walk(&bytes).unwrap();
            assert_eq!(found.kept, [(8, 5), (0x28, 0x101)], "{vr:?}");
        }
        // Implicit: the dictionary has (0028,0010) as US and (0028,9001) as UL.
        for (element, length, fits) in [(0x10_u8, 2_u8, true), (0x10, 3, false), (0x11, 4, true)] {
            let mut bytes = vec![8, 0, 5, 0, 10, 0, 0, 0];
            bytes.extend(b"ISO_IR 100");
            bytes.extend([0x28, 0, element, 0, length, 0, 0, 0]);
            bytes.extend(vec![1; usize::from(length)]);
            assert_eq!(walk(&bytes).unwrap().kept.len(), 1 + usize::from(fits), "{element:x} {length}");
        }
    }

    #[test]
    fn sequences_may_nest_but_not_without_end() {
        let nested = |depth: usize| {
            let mut bytes = explicit((8, 5), b"CS", b"ISO_IR 100");
            for _ in 0..depth {
                bytes.extend([0x28, 0, 0, 0x30]);
                bytes.extend(b"SQ\0\0\xff\xff\xff\xff\xfe\xff\x00\xe0\xff\xff\xff\xff");
            }
            bytes
        };
        assert!(walk(&nested(MAX_DEPTH)).is_ok());
        assert_eq!(walk(&nested(MAX_DEPTH + 1)).unwrap_err(), WalkFault::TooDeep);
        assert_eq!(walk(&nested(200_000)).unwrap_err(), WalkFault::TooDeep);
    }

    #[test]
    fn a_deflated_bomb_stops_at_the_limit() {
        use std::io::Write as _;
        let mut writer = flate2::write::DeflateEncoder::new(Vec::new(), flate2::Compression::fast());
        for _ in 0..64 {
            writer.write_all(&[0; 1 << 16]).unwrap();
        }
        let packed = writer.finish().unwrap();
        assert_eq!(inflate(&packed, 1 << 20), Err(WalkFault::Inflated));
        assert_eq!(inflate(&packed, 1 << 22).unwrap().len(), 1 << 22);
    }

    #[test]
    fn other_files_are_not_taken_for_dicom() {
        for other in [
            b"BM\x08\0 bitmap or so    ".as_slice(),
            b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR",
            b"II*\0\x08\0\0\0\0\0\0\0",
        ] {
            assert!(!is_dicom(other));
        }
    }
}
