//! Where a file's elements contradict each other by their order and number: repeated, behind the pixels, or fewer frames
//! declared than there are.

use dicom_core::Tag;
use dicom_core::dictionary::{DataDictionary as _, DataDictionaryEntry as _};
use dicom_dictionary_std::StandardDataDictionary;

use crate::case::image::scale_fault::ScaleFault;
use crate::io::import::dicom::element::Tag as WalkedTag;
use crate::io::import::dicom::grey;
use crate::io::import::dicom::header::Header;
use crate::io::import::dicom::walk::Walked;

/// Whether an element says something of the geometry: of the exposure, or of the pixels.
const fn is_geometry((group, element): WalkedTag) -> bool {
    match group {
        0x0018 => matches!(element, 0x1110 | 0x1111 | 0x1114 | 0x1147 | 0x1149 | 0x1164 | 0x2010),
        0x0028 => matches!(element, 0x0008 | 0x0010 | 0x0011 | 0x0030 | 0x0034 | 0x0a02 | 0x0a04),
        0x5200 => true,
        _ => false,
    }
}

/// The element's name in the standard, and its numbers.
fn name((group, element): WalkedTag) -> String {
    let entry = StandardDataDictionary.by_tag(Tag(group, element));
    let numbers = format!("({group:04x},{element:04x})");
    let Some(alias) = entry.map(|entry| entry.alias()) else { return numbers };
    let mut words = String::new();
    for letter in alias.chars() {
        if letter.is_uppercase() && words.ends_with(|last: char| last.is_lowercase()) {
            words.push(' ');
        }
        words.push(letter);
    }
    format!("{words} {numbers}")
}

/// Elements of the geometry that stand twice, or behind the pixels.
pub(super) fn out_of_order(walked: &Walked) -> Vec<ScaleFault> {
    let mut sorted: Vec<WalkedTag> = walked.kept.iter().copied().filter(|tag| is_geometry(*tag)).collect();
    sorted.sort_unstable();
    let mut repeated: Vec<WalkedTag> =
        sorted.windows(2).filter(|pair| pair[0] == pair[1]).map(|pair| pair[0]).collect();
    if walked.spacing_repeated {
        repeated.push((0x0028, 0x0030));
    }
    repeated.sort_unstable();
    repeated.dedup();
    let mut behind: Vec<WalkedTag> = walked.behind.iter().copied().filter(|tag| is_geometry(*tag)).collect();
    behind.sort_unstable();
    behind.dedup();
    let repeated = repeated.into_iter().map(|tag| ScaleFault::Repeated { name: name(tag) });
    repeated.chain(behind.into_iter().map(|tag| ScaleFault::BehindPixels { name: name(tag) })).collect()
}

/// More frames than the header declares.
pub(super) fn more_than_declared(header: &Header, found: usize) -> Option<ScaleFault> {
    (found > header.frames as usize).then_some(ScaleFault::MoreFrames { declared: header.frames, found })
}

/// The same of pixels without coding, `bytes` of them.
pub(super) fn more_native(header: &Header, bytes: usize) -> Option<ScaleFault> {
    let held = if header.allocated == 1 {
        bytes.checked_mul(8)?.checked_div(header.pixels())?
    } else {
        bytes.checked_div(grey::frame_bytes(header)?)?
    };
    // Single bits are padded to a whole byte, which may hold a small frame or more.
    let spare = if header.allocated == 1 { 16_usize.div_ceil(header.pixels().max(1)) } else { 0 };
    more_than_declared(header, held.saturating_sub(spare))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn elements_are_named_as_the_standard_does() {
        assert_eq!(name((0x0028, 0x0030)), "Pixel Spacing (0028,0030)");
        assert_eq!(name((0x0018, 0x1164)), "Imager Pixel Spacing (0018,1164)");
    }
}
