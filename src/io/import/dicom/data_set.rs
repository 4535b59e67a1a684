//! The values a picture needs, out of the elements that the walk has kept.
//!
//! Numbers are taken from where they are defined: decimal text from decimal text, counts from counts. A value of
//! unknown type (UN) is read as its attribute is defined, never as a list of bytes.

use dicom_core::header::{HasLength as _, Header as _};
use dicom_core::{PrimitiveValue, Tag, VR};
use dicom_dictionary_std::uids;
use dicom_object::file::ReadPreamble;
use dicom_object::mem::InMemElement;
use dicom_object::{FileMetaTableBuilder, InMemDicomObject, OpenFileOptions};

use crate::io::import::dicom::element::Tag as WalkedTag;
use crate::io::import::dicom::syntax::Syntax;

/// The longest text that is taken over from a file, in characters.
const MAX_TEXT: usize = 80;

/// The elements of a data set or of an item in it.
#[derive(Clone, Copy, Debug)]
pub(super) struct DataSet<'a> {
    object: &'a InMemDicomObject,
    big_endian: bool,
}

/// Reads elements that the walk has kept; `None` if they are damaged, or if other elements are found than the walk saw:
/// then one of the two has lost its place, and nothing is to be trusted.
pub(super) fn parse_kept(elements: &[u8], kept: &[WalkedTag], syntax: Syntax) -> Option<InMemDicomObject> {
    let object = parse(elements, syntax)?;
    let mut expected: Vec<WalkedTag> = kept.to_vec();
    expected.sort_unstable();
    expected.dedup();
    let found = object.iter().map(|element| (element.tag().0, element.tag().1));
    found.eq(expected).then_some(object)
}

/// Reads elements that stand one behind the other; `None` if they are damaged.
fn parse(elements: &[u8], syntax: Syntax) -> Option<InMemDicomObject> {
    let uid = match (syntax.implicit, syntax.big_endian) {
        (true, _) => uids::IMPLICIT_VR_LITTLE_ENDIAN,
        (_, true) => "1.2.840.10008.1.2.2",
        _ => uids::EXPLICIT_VR_LITTLE_ENDIAN,
    };
    let meta = FileMetaTableBuilder::new()
        .media_storage_sop_class_uid("1.2")
        .media_storage_sop_instance_uid("1.2")
        .transfer_syntax(uid)
        .build()
        .ok()?;
    let mut head = b"DICM".to_vec();
    meta.write(&mut head).ok()?;
    let file = std::io::Read::chain(head.as_slice(), elements);
    let object = OpenFileOptions::new().read_preamble(ReadPreamble::Never).from_reader(file).ok()?;
    Some(object.into_inner())
}

/// A look-up table as a file has it (PS3.3 C.11.1.1.1).
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct LookupTable {
    /// The second number of the descriptor, as it is written.
    pub(super) first: u16,
    /// Bits of an entry.
    pub(super) bits: u16,
    /// The entries, at least one.
    pub(super) entries: Vec<u16>,
}

impl<'a> DataSet<'a> {
    /// A data set that was read in this syntax.
    pub(super) const fn new(object: &'a InMemDicomObject, syntax: Syntax) -> Self {
        Self { object, big_endian: syntax.big_endian }
    }

    fn element(self, tag: Tag) -> Option<&'a InMemElement> {
        self.object.get(tag).filter(|element| !element.is_empty())
    }

    fn primitive(self, tag: Tag) -> Option<(VR, &'a PrimitiveValue)> {
        let element = self.element(tag)?;
        Some((element.vr(), element.value().primitive()?))
    }

    /// The parts of a text, without spaces around them.
    pub(super) fn texts(self, tag: Tag) -> Vec<String> {
        let Some((vr, value)) = self.primitive(tag) else { return Vec::new() };
        let whole = match (vr, value) {
            (VR::UN | VR::OB, value) => String::from_utf8_lossy(&value.to_bytes()).into_owned(),
            (_, PrimitiveValue::Str(text)) => text.clone(),
            (_, PrimitiveValue::Strs(texts)) => texts.join("\\"),
            _ => return Vec::new(),
        };
        whole.split('\\').map(clean).collect()
    }

    /// The first part of a text, if it is not empty.
    pub(super) fn text(self, tag: Tag) -> Option<String> {
        self.texts(tag).into_iter().next().filter(|text| !text.is_empty())
    }

    /// The numbers of a decimal text (DS, IS); `None` in the place of anything else.
    pub(super) fn decimals(self, tag: Tag) -> Vec<Option<f64>> {
        self.texts(tag).iter().map(|text| decimal(text)).collect()
    }

    /// The first number of a decimal text.
    pub(super) fn decimal(self, tag: Tag) -> Option<f64> {
        self.decimals(tag).into_iter().next().flatten()
    }

    /// Counts of two bytes (US), also where they are marked as signed or as of unknown type.
    pub(super) fn shorts(self, tag: Tag) -> Vec<u16> {
        let Some((vr, value)) = self.primitive(tag) else { return Vec::new() };
        match (vr, value) {
            (_, PrimitiveValue::U16(numbers)) => numbers.to_vec(),
            (_, PrimitiveValue::I16(numbers)) => numbers.iter().map(|n| n.cast_unsigned()).collect(),
            (VR::UN | VR::OB | VR::OW, PrimitiveValue::U8(bytes)) => {
                let read = if self.big_endian { u16::from_be_bytes } else { u16::from_le_bytes };
                bytes.chunks_exact(2).map(|pair| read([pair[0], pair[1]])).collect()
            }
            _ => Vec::new(),
        }
    }

    /// The first of them.
    pub(super) fn short(self, tag: Tag) -> Option<u16> {
        self.shorts(tag).into_iter().next()
    }

    /// The items of a sequence.
    pub(super) fn items(self, tag: Tag) -> impl Iterator<Item = DataSet<'a>> {
        let items = self.element(tag).and_then(|element| element.items()).unwrap_or(&[]);
        items.iter().map(move |object| DataSet { object, big_endian: self.big_endian })
    }

    /// Counts of eight bytes, or the bytes they are made of.
    pub(super) fn long_longs(self, tag: Tag) -> Vec<u64> {
        let Some((_, value)) = self.primitive(tag) else { return Vec::new() };
        match value {
            PrimitiveValue::U64(numbers) => numbers.to_vec(),
            PrimitiveValue::U8(bytes) => bytes
                .chunks_exact(8)
                .filter_map(|b| b.first_chunk().map(|b| u64::from_le_bytes(*b)))
                .collect(),
            _ => Vec::new(),
        }
    }

    /// A look-up table: its descriptor and its entries. `None` if it is missing or contradicts itself.
    pub(super) fn table(self, descriptor: Tag, data: Tag) -> Option<LookupTable> {
        let &[count, first, bits] = self.shorts(descriptor).as_slice() else { return None };
        let count = if count == 0 { 1 << 16 } else { usize::from(count) };
        if !(1..=16).contains(&bits) {
            return None;
        }
        let (_, value) = self.primitive(data)?;
        let words = match value {
            PrimitiveValue::U16(words) => words.to_vec(),
            PrimitiveValue::I16(words) => words.iter().map(|n| n.cast_unsigned()).collect(),
            PrimitiveValue::U8(bytes) if bytes.len() < 2 * count => {
                bytes.iter().map(|&byte| u16::from(byte)).collect()
            }
            PrimitiveValue::U8(_) => self.shorts(data),
            _ => return None,
        };
        // Entries of 8 bits may be packed two to a word, the first in the lower byte.
        let entries: Vec<u16> = if bits <= 8 && words.len() < count && 2 * words.len() >= count {
            words.iter().flat_map(|word| word.to_le_bytes()).map(u16::from).take(count).collect()
        } else {
            words.into_iter().take(count).collect()
        };
        (entries.len() == count).then_some(LookupTable { first, bits, entries })
    }
}

/// A text without control characters, of bearable length.
fn clean(text: &str) -> String {
    let text: String = text.chars().filter(|c| !c.is_control()).take(MAX_TEXT).collect();
    text.trim().to_owned()
}

/// A decimal string (PS3.5, 6.2): finite, and not one of the words that number parsers also know.
fn decimal(text: &str) -> Option<f64> {
    let plain = text.bytes().all(|b| b.is_ascii_digit() || matches!(b, b'+' | b'-' | b'.' | b'e' | b'E'));
    if !plain {
        return None;
    }
    text.parse::<f64>().ok().filter(|number| number.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::io::import::dicom::syntax::EXPLICIT;
    use dicom_dictionary_std::tags;

    fn with(vr: &[u8; 2], tag: [u8; 4], value: &[u8]) -> InMemDicomObject {
        let mut bytes = tag.to_vec();
        bytes.extend(vr);
        if vr == b"UN" || vr == b"OW" {
            bytes.extend([0, 0]);
            bytes.extend(u32::try_from(value.len()).unwrap().to_le_bytes());
        } else {
            bytes.extend(u16::try_from(value.len()).unwrap().to_le_bytes());
        }
        bytes.extend(value);
        parse(&bytes, EXPLICIT).unwrap()
    }

    const SPACING: [u8; 4] = [0x28, 0, 0x30, 0];

    #[test]
    fn decimal_text_of_unknown_type_is_text_and_not_bytes() {
        for vr in [b"DS", b"UN"] {
            let object = with(vr, SPACING, b"0.2\\0.25 ");
            let found = DataSet::new(&object, EXPLICIT).decimals(tags::PIXEL_SPACING);
            assert_eq!(found, [Some(0.2), Some(0.25)], "{vr:?}");
        }
        let object = with(b"FL", SPACING, &1.5_f32.to_le_bytes());
        assert!(DataSet::new(&object, EXPLICIT).decimals(tags::PIXEL_SPACING).is_empty());
    }

    #[test]
    fn only_plain_finite_numbers_are_numbers() {
        assert_eq!(["1e400", "nan", "inf", "0x10", "", "1,5"].map(decimal), [None; 6]);
        assert_eq!(["-1.5", "+2", "3E2", ".5"].map(decimal), [Some(-1.5), Some(2.0), Some(300.0), Some(0.5)]);
    }

    #[test]
    fn counts_of_unknown_type_are_counts() {
        let object = with(b"UN", [0x28, 0, 0x10, 0], &[0x00, 0x02]);
        assert_eq!(DataSet::new(&object, EXPLICIT).short(tags::ROWS), Some(512));
        let object = with(b"DS", [0x28, 0, 0x10, 0], b"12");
        assert_eq!(DataSet::new(&object, EXPLICIT).short(tags::ROWS), None);
    }

    /// A generator of whole numbers (Knuth's MMIX constants), so that a failure can be repeated.
    struct Numbers(u64);

    impl Numbers {
        fn below(&mut self, n: usize) -> usize {
            self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            usize::try_from(self.0 >> 33).unwrap() % n
        }
    }

    fn element(tag: (u16, u16), vr: &[u8; 2], value: &[u8]) -> Vec<u8> {
        let mut out: Vec<u8> = [tag.0.to_le_bytes(), tag.1.to_le_bytes()].concat();
        out.extend(vr);
        if [b"OW", b"SQ", b"UN"].contains(&vr) {
            out.extend([0, 0]);
            out.extend(u32::try_from(value.len()).unwrap().to_le_bytes());
        } else {
            out.extend(u16::try_from(value.len()).unwrap().to_le_bytes());
        }
        out.extend(value);
        out
    }

    fn item(elements: &[u8]) -> Vec<u8> {
        let mut out = vec![0xfe, 0xff, 0x00, 0xe0];
        out.extend(u32::try_from(elements.len()).unwrap().to_le_bytes());
        out.extend(elements);
        out
    }

    /// A data set with numbers of every size, text, a table and a nested sequence of defined length.
    fn seed() -> Vec<u8> {
        let inner = element((0x28, 0x1052), b"DS", b"-10 ");
        let nested = element((0x28, 0x9145), b"SQ", &item(&inner));
        let elements = [
            element((8, 5), b"CS", b"ISO_IR 100"),
            element((0x18, 0x1164), b"DS", b"0.2\\0.25"),
            element((0x28, 0x10), b"US", &[2, 0]),
            element((0x28, 0x11), b"US", &[2, 0]),
            element((0x28, 0x30), b"FD", &1.5_f64.to_le_bytes()),
            element((0x28, 0x107), b"SS", &[1, 0]),
            element((0x28, 0x1201), b"OW", &[1, 0, 2, 0]),
            element((0x28, 0x3000), b"SQ", &item(&element((0x28, 0x3006), b"UL", &[7, 0, 0, 0]))),
            element((0x5200, 0x9229), b"SQ", &item(&nested)),
            element((0x7fe0, 0x10), b"OW", &[0; 8]),
        ];
        elements.concat()
    }

    /// Over mutants: whatever the walk hands on is parsed to the same elements, or refused; and what is parsed is never
    /// larger than what was there. As many as `STILLMARK_MUTANTS` says, else 100,000.
    #[test]
    fn the_parser_sees_what_the_walk_saw() {
        use crate::io::import::dicom::walk::walk;
        let count =
            std::env::var("STILLMARK_MUTANTS").ok().and_then(|n| n.parse().ok()).unwrap_or(100_000_usize);
        let mut numbers = Numbers(1);
        let (mut walked, mut agreed, mut refused) = (0, 0, 0);
        for i in 0..count {
            let mut bytes = seed();
            for _ in 0..=numbers.below(3) {
                let at = numbers.below(bytes.len());
                match numbers.below(6) {
                    0 => bytes[at] = u8::try_from(numbers.below(256)).unwrap(),
                    1 => bytes[at] ^= 1 << numbers.below(8),
                    2 => drop(bytes.remove(at)),
                    3 => bytes.insert(at, u8::try_from(numbers.below(256)).unwrap()),
                    // Another type in the place of one.
                    4 => {
                        const TYPES: &[u8] =
                            b"AEASATCSDADSDTFLFDISLOLTOBODOFOLOWPNSHSLSQSSSTTMUCUIULUNURUSUT";
                        let to = 2 * numbers.below(TYPES.len() / 2);
                        let pair = (at..bytes.len() - 1)
                            .find(|&k| bytes[k..k + 2].iter().all(u8::is_ascii_uppercase));
                        if let Some(k) = pair {
                            bytes[k..k + 2].copy_from_slice(&TYPES[to..to + 2]);
                        }
                    }
                    _ => bytes.truncate(at.max(16)),
                }
                if bytes.len() < 16 {
                    break;
                }
            }
            let Ok(found) = walk(&bytes) else { continue };
            walked += 1;
            match parse_kept(&found.wanted, &found.kept, found.syntax) {
                Some(object) => {
                    agreed += 1;
                    let sum: usize =
                        object.iter().filter_map(|e| e.value().primitive()).map(|v| v.to_bytes().len()).sum();
                    assert!(
                        sum <= 16 * bytes.len(),
                        "mutant {i}: {sum} bytes of values from {}",
                        bytes.len()
                    );
                }
                None => refused += 1,
            }
        }
        assert!(
            walked > count / 10 && agreed > count / 10,
            "{walked} walked, {agreed} agreed, {refused} refused"
        );
        assert!(
            refused * 50 < walked,
            "{refused} of {walked} were parsed to something else than the walk saw"
        );
    }
}
