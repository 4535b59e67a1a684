//! Elements, items, codes and identifiers of DICOM objects, and an object as a file.
//!
//! Words of our own are plain ASCII, which every character set of the standard contains, so that they stand beside a
//! copied name of any alphabet.

use dicom_core::header::Header as _;
use dicom_core::value::{DataSetSequence, PrimitiveValue};
use dicom_core::{DataElement, Tag, VR};
use dicom_dictionary_std::{tags, uids};
use dicom_object::{FileDicomObject, FileMetaTableBuilder, InMemDicomObject};
use sha2::{Digest as _, Sha256};

use crate::io::dicom_codes::ConceptCode;
use crate::io::export::ExportError;
use crate::io::import::source_object::CopiedElement;

/// The elements of an object or an item.
pub(super) type Elements = InMemDicomObject;

/// Puts a text.
pub(super) fn text(elements: &mut Elements, tag: Tag, vr: VR, value: &str) {
    elements.put(DataElement::new(tag, vr, PrimitiveValue::from(ascii(value).as_str())));
}

/// Puts an element that must be there and has no value.
pub(super) fn empty(elements: &mut Elements, tag: Tag, vr: VR) {
    elements.put(DataElement::new(tag, vr, PrimitiveValue::Empty));
}

/// Puts whole numbers of two bytes.
pub(super) fn shorts(elements: &mut Elements, tag: Tag, values: &[u16]) {
    elements.put(DataElement::new(tag, VR::US, PrimitiveValue::U16(values.iter().copied().collect())));
}

/// Puts whole numbers of four bytes with a sign.
pub(super) fn longs(elements: &mut Elements, tag: Tag, values: &[i32]) {
    elements.put(DataElement::new(tag, VR::SL, PrimitiveValue::I32(values.iter().copied().collect())));
}

/// Puts places of an image, column and row in turn: single precision, a ten-thousandth of a pixel at worst.
pub(super) fn places(elements: &mut Elements, tag: Tag, points: &[(f64, f64)]) {
    #[expect(clippy::cast_possible_truncation, reason = "the standard has single precision here")]
    let flat = points.iter().flat_map(|&(x, y)| [x as f32, y as f32]).collect();
    elements.put(DataElement::new(tag, VR::FL, PrimitiveValue::F32(flat)));
}

/// Puts a number of double precision.
pub(super) fn double(elements: &mut Elements, tag: Tag, value: f64) {
    elements.put(DataElement::new(tag, VR::FD, PrimitiveValue::from(value)));
}

/// Puts a sequence of items.
pub(super) fn items(elements: &mut Elements, tag: Tag, items: Vec<Elements>) {
    elements.put(DataElement::new(tag, VR::SQ, DataSetSequence::from(items)));
}

/// The item of a code.
pub(super) fn code(of: ConceptCode<'_>) -> Elements {
    let mut item = Elements::new_empty();
    text(&mut item, tags::CODE_VALUE, VR::SH, of.0);
    text(&mut item, tags::CODING_SCHEME_DESIGNATOR, VR::SH, of.1);
    text(&mut item, tags::CODE_MEANING, VR::LO, of.2);
    item
}

/// An identifier that follows from what it names (PS3.5, B.2: `2.25.` and a UUID of version 8 as a whole number).
pub(super) fn uid(parts: &[&[u8]]) -> String {
    let mut hash = Sha256::new();
    for part in parts {
        hash.update((part.len() as u64).to_le_bytes());
        hash.update(part);
    }
    let digest = hash.finalize();
    let mut bytes = [0; 16];
    for (byte, from) in bytes.iter_mut().zip(digest.iter()) {
        *byte = *from;
    }
    bytes[6] = (bytes[6] & 0x0f) | 0x80;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    format!("2.25.{}", u128::from_be_bytes(bytes))
}

/// A decimal of at most 16 characters (DS), as close to the number as they allow.
pub(super) fn decimal(value: f64) -> String {
    let plain = format!("{value}");
    if plain.len() <= 16 {
        return plain;
    }
    (0..=13)
        .rev()
        .map(|digits| format!("{value:.digits$e}"))
        .find(|text| text.len() <= 16)
        .unwrap_or_default()
}

/// The words in ASCII: signs of our own as letters, anything else as a question mark.
pub(super) fn ascii(words: &str) -> String {
    let mut out = String::with_capacity(words.len());
    for c in words.chars() {
        match c {
            ' '..='~' | '\n' | '\r' => out.push(c),
            '\u{a0}' | '\u{2009}' | '\u{202f}' => out.push(' '),
            '–' | '−' | '—' => out.push('-'),
            '±' => out.push_str("+/-"),
            '°' => out.push_str(" deg"),
            '’' | '‘' => out.push('\''),
            '“' | '”' => out.push('"'),
            '≤' => out.push_str("<="),
            '≥' => out.push_str(">="),
            '…' => out.push_str("..."),
            '·' | '●' | '•' => out.push('*'),
            '→' => out.push_str("->"),
            _ => out.push('?'),
        }
    }
    out
}

/// The bytes of a file (PS3.10) in explicit little endian with these elements, and with `copied` between them as they are.
///
/// # Errors
/// An object that cannot be written, such as one without class or instance.
pub(super) fn file_bytes(elements: Elements, copied: &[CopiedElement]) -> Result<Vec<u8>, ExportError> {
    let failed = |e: &dyn std::fmt::Display| ExportError::Drawing(e.to_string());
    let meta = FileMetaTableBuilder::new().transfer_syntax(uids::EXPLICIT_VR_LITTLE_ENDIAN);
    let file = elements.with_meta(meta).map_err(|e| failed(&e))?;
    let mut out = vec![0; 128];
    out.extend(b"DICM");
    file.write_meta(&mut out).map_err(|e| failed(&e))?;
    let meta = file.meta().clone();
    let mut copied = copied.iter().peekable();
    for element in file.into_inner() {
        let Tag(group, number) = element.tag();
        while let Some(next) = copied.next_if(|next| next.tag <= (group, number)) {
            raw(&mut out, next)?;
        }
        let mut one = FileDicomObject::new_empty_with_meta(meta.clone());
        one.put(element);
        one.write_dataset(&mut out).map_err(|e| failed(&e))?;
    }
    for rest in copied {
        raw(&mut out, rest)?;
    }
    Ok(out)
}

/// An element as the source has it; all that are copied have lengths of two bytes, and even ones.
fn raw(out: &mut Vec<u8>, element: &CopiedElement) -> Result<(), ExportError> {
    let mut value = element.value.clone();
    if value.len() % 2 == 1 {
        value.push(if element.vr == *b"UI" { 0 } else { b' ' });
    }
    let length = u16::try_from(value.len()).map_err(|_too_large| {
        ExportError::Drawing("an element of the source is too long to be copied".to_owned())
    })?;
    out.extend(element.tag.0.to_le_bytes());
    out.extend(element.tag.1.to_le_bytes());
    out.extend(element.vr);
    out.extend(length.to_le_bytes());
    out.extend(value);
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_fit_their_sixteen_characters_and_stay_close() {
        for value in [0.0, 0.1, 1.0 / 3.0, -1.0 / 3.0, 1e-7 / 3.0, -123_456.789_012_345_67, 40.0] {
            let text = decimal(value);
            assert!(text.len() <= 16 && !text.is_empty(), "{text}");
            let back: f64 = text.parse().unwrap();
            assert!((back - value).abs() <= 1e-9 * value.abs().max(1e-9), "{value} became {text}");
        }
    }

    #[test]
    fn identifiers_follow_from_what_they_name() {
        let one = uid(&[b"a", b"bc"]);
        assert_eq!(one, uid(&[b"a", b"bc"]));
        assert_ne!(one, uid(&[b"ab", b"c"]));
        assert!(one.len() <= 64 && one.starts_with("2.25."));
    }

    #[test]
    fn words_are_ascii() {
        assert_eq!(ascii("38\u{a0}% ± 4, 5°: “a–b” é"), "38 % +/- 4, 5 deg: \"a-b\" ?");
    }

    #[test]
    fn what_is_copied_stands_at_its_place() {
        let mut elements = Elements::new_empty();
        text(&mut elements, tags::SOP_CLASS_UID, VR::UI, uids::SECONDARY_CAPTURE_IMAGE_STORAGE);
        text(&mut elements, tags::SOP_INSTANCE_UID, VR::UI, "2.25.1");
        text(&mut elements, tags::SERIES_INSTANCE_UID, VR::UI, "2.25.2");
        let name = CopiedElement { tag: (0x10, 0x10), vr: *b"PN", value: vec![0xc4, 0xe3, 0x5e] };
        let bytes = file_bytes(elements, &[name]).unwrap();
        let at = |part: &[u8]| bytes.windows(part.len()).position(|window| window == part).unwrap();
        let (before, here, after) = (
            at(&[8, 0, 0x18, 0, b'U', b'I']),
            at(&[0x10, 0, 0x10, 0, b'P', b'N', 4, 0, 0xc4, 0xe3, 0x5e, b' ']),
            at(&[0x20, 0, 0x0e, 0]),
        );
        assert!(before < here && here < after);
    }
}
