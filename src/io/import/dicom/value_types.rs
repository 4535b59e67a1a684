//! The types of values (PS3.5, 6.2): which there are, how their lengths are written, and how large one value is.

use dicom_core::VR;
use dicom_core::dictionary::{DataDictionary as _, DataDictionaryEntry as _, VirtualVr};
use dicom_dictionary_std::StandardDataDictionary;

use crate::io::import::dicom::element::Tag;

/// Whether the dictionary has an element as a sequence.
pub(super) fn is_sequence((group, element): Tag) -> bool {
    let entry = StandardDataDictionary.by_tag(dicom_core::Tag(group, element));
    entry.is_some_and(|entry| entry.vr() == VirtualVr::Exact(VR::SQ))
}

/// Types whose length has four bytes (PS3.5, 7.1.2).
pub(super) fn is_long(vr: [u8; 2]) -> bool {
    const LONG: [&[u8; 2]; 13] =
        [b"OB", b"OD", b"OF", b"OL", b"OV", b"OW", b"SQ", b"SV", b"UC", b"UN", b"UR", b"UT", b"UV"];
    LONG.contains(&&vr)
}

/// The types of the standard.
pub(super) fn is_type(vr: [u8; 2]) -> bool {
    const SHORT: &[u8] = b"AEASATCSDADSDTFLFDISLOLTPNSHSLSSSTTMUIULUS";
    is_long(vr) || SHORT.chunks_exact(2).any(|known| known == vr)
}

/// How many bytes one value of an element takes, where its type has a size: its own type's, else the dictionary's.
pub(super) fn unit(tag: Tag, vr: Option<[u8; 2]>) -> usize {
    const EIGHT: [&[u8; 2]; 5] = [b"FD", b"OD", b"OV", b"SV", b"UV"];
    const FOUR: [&[u8; 2]; 6] = [b"AT", b"FL", b"OF", b"OL", b"SL", b"UL"];
    const TWO: [&[u8; 2]; 3] = [b"OW", b"SS", b"US"];
    let of = |vr: &[u8; 2]| {
        let size = [(8, &EIGHT[..]), (4, &FOUR[..]), (2, &TWO[..])];
        size.into_iter().find(|(_, types)| types.contains(&vr)).map_or(1, |(size, _)| size)
    };
    if let Some(vr) = vr {
        return of(&vr);
    }
    let entry = StandardDataDictionary.by_tag(dicom_core::Tag(tag.0, tag.1));
    match entry.map(|entry| entry.vr()) {
        Some(VirtualVr::Exact(vr)) => vr.to_string().as_bytes().first_chunk().map_or(1, of),
        // A choice of two types, each of at least two bytes a value.
        Some(_) => 2,
        None => 1,
    }
}
