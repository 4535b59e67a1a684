//! What an object that is derived from a DICOM image must say of it: its identifiers, the size of its frames, and what
//! its grays go through before they are shown; and, only where it is asked for, the elements by which an archive files
//! it with its patient and study.
//!
//! Those elements are handed on as bytes and never parsed, shown, kept or logged.

use std::fmt;
use std::path::Path;

use dicom_dictionary_std::tags;

use crate::io::error::{Error, ErrorKind};
use crate::io::files;
use crate::io::import::dicom::data_set::{self, DataSet};
use crate::io::import::dicom::element::{Tag, flat_elements};
use crate::io::import::dicom::syntax::Syntax;
use crate::io::import::dicom::walk::{is_dicom, walk_for};
use crate::io::import::dicom::{damaged, explain};
use crate::io::import::size::MAX_FILE_BYTES;

/// Who and which study, as patient and study modules have it (PS3.3, C.7.1.1 and C.7.2.1), with their types: the
/// character set, name, identifier and its issuer, birth date, sex; study date, time, identifier, number and identifier
/// of the study, referring physician.
const IDENTITY: [(Tag, &[u8; 2]); 12] = [
    ((0x0008, 0x0005), b"CS"),
    ((0x0008, 0x0020), b"DA"),
    ((0x0008, 0x0030), b"TM"),
    ((0x0008, 0x0050), b"SH"),
    ((0x0008, 0x0090), b"PN"),
    ((0x0010, 0x0010), b"PN"),
    ((0x0010, 0x0020), b"LO"),
    ((0x0010, 0x0021), b"LO"),
    ((0x0010, 0x0030), b"DA"),
    ((0x0010, 0x0040), b"CS"),
    ((0x0020, 0x000d), b"UI"),
    ((0x0020, 0x0010), b"SH"),
];

/// One element as the source has it.
#[derive(Clone, PartialEq, Eq)]
pub(crate) struct CopiedElement {
    /// Group and element.
    pub(crate) tag: (u16, u16),
    /// Its type.
    pub(crate) vr: [u8; 2],
    /// Its value, byte by byte.
    pub(crate) value: Vec<u8>,
}

/// The value may be a patient's name: it is not printed.
impl fmt::Debug for CopiedElement {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "({:04x},{:04x}) {} bytes", self.tag.0, self.tag.1, self.value.len())
    }
}

/// A DICOM image that another object is derived from.
#[derive(Clone, Debug)]
pub(crate) struct SourceObject {
    /// SOP Class UID.
    pub(crate) class: String,
    /// SOP Instance UID.
    pub(crate) instance: String,
    /// Series Instance UID.
    pub(crate) series: String,
    /// Rows of a frame.
    pub(crate) rows: u16,
    /// Columns of a frame.
    pub(crate) columns: u16,
    /// Frames, at least 1.
    pub(crate) frames: u32,
    /// Whether the lowest value is white (MONOCHROME1).
    pub(crate) inverted: bool,
    /// Whether the file says that it went through lossy compression.
    pub(crate) lossy: bool,
    /// Window center and width, as the file writes them.
    pub(crate) window: Option<(String, String)>,
    /// Rescale intercept, slope and type, as the file writes them.
    pub(crate) rescale: Option<(String, String, String)>,
    /// Whether its values go through a table (Modality LUT Sequence), which is not repeated here.
    pub(crate) has_modality_table: bool,
    /// Patient and study, in the order of the tags.
    pub(crate) identity: Vec<CopiedElement>,
}

fn is_wanted((group, element): Tag) -> bool {
    let identity = IDENTITY.iter().any(|(tag, _)| *tag == (group, element));
    identity
        || match group {
            0x0008 => matches!(element, 0x0016 | 0x0018),
            0x0020 => element == 0x000e,
            0x0028 => true,
            _ => false,
        }
}

/// Reads what a derived object needs of a DICOM image; `None` if the file is no DICOM file.
///
/// # Errors
/// One sentence that names the file: it cannot be read, is damaged, or says too little to be referred to.
pub(crate) fn read(path: &Path) -> Result<Option<SourceObject>, Error> {
    let bytes = files::read(path, MAX_FILE_BYTES)?;
    if !is_dicom(&bytes) {
        return Ok(None);
    }
    let walked = walk_for(&bytes, is_wanted).map_err(|fault| explain(path, fault))?;
    let (identity, rest) = parted(&walked.wanted, walked.syntax);
    let is_parsed = |tag: &Tag| !IDENTITY.iter().any(|(known, _)| known == tag);
    let kept: Vec<Tag> = walked.kept.iter().copied().filter(is_parsed).collect();
    let object = data_set::parse_kept(&rest, &kept, walked.syntax).ok_or_else(|| damaged(path))?;
    let set = DataSet::new(&object, walked.syntax);
    let id = |tag: Tag, of: &str| {
        let raw = identity.iter().find(|element| element.tag == tag).map(|element| element.value.as_slice());
        let text = raw.map(uid_text).or_else(|| set.text(dicom_core::Tag(tag.0, tag.1)));
        text.filter(|text| is_uid(text)).ok_or_else(|| {
            let text = format!("it has no usable {of}, so nothing can be filed beside it; export it again");
            Error::new(ErrorKind::Damaged, path, text)
        })
    };
    let texts = |tag| Some(set.texts(tag).join("\\")).filter(|text| !text.is_empty());
    let window = texts(tags::WINDOW_CENTER).zip(texts(tags::WINDOW_WIDTH));
    let rescale = texts(tags::RESCALE_INTERCEPT).zip(texts(tags::RESCALE_SLOPE)).map(|(intercept, slope)| {
        (intercept, slope, texts(tags::RESCALE_TYPE).unwrap_or_else(|| "US".to_owned()))
    });
    let frames = set.decimal(tags::NUMBER_OF_FRAMES).filter(|n| (1.0..=1e6).contains(n));
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 1 to a million")]
    let frames = frames.map_or(1, |n| n as u32);
    // It is copied with the others, and has to be there.
    id((0x0020, 0x000d), "Study Instance UID")?;
    Ok(Some(SourceObject {
        class: id((0x0008, 0x0016), "SOP Class UID")?,
        instance: id((0x0008, 0x0018), "SOP Instance UID")?,
        series: id((0x0020, 0x000e), "Series Instance UID")?,
        rows: set.short(tags::ROWS).unwrap_or(0),
        columns: set.short(tags::COLUMNS).unwrap_or(0),
        frames,
        inverted: set.text(tags::PHOTOMETRIC_INTERPRETATION).as_deref() == Some("MONOCHROME1"),
        lossy: set.text(tags::LOSSY_IMAGE_COMPRESSION).as_deref() == Some("01"),
        window,
        rescale,
        has_modality_table: set.items(tags::MODALITY_LUT_SEQUENCE).next().is_some(),
        identity,
    }))
}

/// The elements of patient and study apart from the rest, which alone is parsed.
fn parted(wanted: &[u8], syntax: Syntax) -> (Vec<CopiedElement>, Vec<u8>) {
    let mut identity = Vec::new();
    let mut rest = wanted;
    // They stand before the elements of group 0028, which may nest; all of theirs are flat.
    let mut others = Vec::new();
    let mut taken = 0;
    for (tag, place) in flat_elements(wanted, 0, syntax) {
        if tag.0 >= 0x0028 {
            break;
        }
        let (value, end) = (wanted.get(place.clone()).unwrap_or(&[]), place.end);
        match IDENTITY.iter().find(|(known, _)| *known == tag) {
            Some((_, vr)) => identity.push(CopiedElement { tag, vr: **vr, value: value.to_vec() }),
            None => others.extend_from_slice(wanted.get(taken..end).unwrap_or(&[])),
        }
        taken = end;
        rest = wanted.get(end..).unwrap_or(&[]);
    }
    others.extend_from_slice(rest);
    (identity, others)
}

fn uid_text(value: &[u8]) -> String {
    String::from_utf8_lossy(value).trim_matches(['\0', ' ']).to_owned()
}

/// Digits and dots, at most 64 (PS3.5, 9.1).
fn is_uid(text: &str) -> bool {
    !text.is_empty() && text.len() <= 64 && text.bytes().all(|b| b.is_ascii_digit() || b == b'.')
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::io::import::dicom::syntax::EXPLICIT;

    fn element(tag: Tag, vr: &[u8; 2], value: &[u8]) -> Vec<u8> {
        let mut out = Vec::new();
        out.extend(tag.0.to_le_bytes());
        out.extend(tag.1.to_le_bytes());
        out.extend(vr);
        out.extend(u16::try_from(value.len()).unwrap().to_le_bytes());
        out.extend(value);
        out
    }

    #[test]
    fn identity_is_taken_as_bytes_and_kept_apart_from_what_is_parsed() {
        let name = [0x1b, 0x24, 0x42, 0x3b, 0xff, 0x20];
        let mut bytes = element((8, 0x16), b"UI", b"1.2\0");
        bytes.extend(element((0x10, 0x10), b"PN", &name));
        bytes.extend(element((0x20, 0xe), b"UI", b"1.3\0"));
        bytes.extend(element((0x28, 0x10), b"US", &[2, 0]));
        let (identity, rest) = parted(&bytes, EXPLICIT);
        assert_eq!(identity.len(), 1);
        assert_eq!((identity[0].tag, identity[0].value.as_slice()), ((0x10, 0x10), name.as_slice()));
        assert!(!rest.windows(4).any(|part| part == &name[..4]), "a name is never parsed");
        let flat: Vec<_> = flat_elements(&rest, 0, EXPLICIT).map(|(tag, _)| tag).collect();
        assert_eq!(flat, [(8, 0x16), (0x20, 0xe), (0x28, 0x10)]);
        assert_eq!(format!("{:?}", identity[0]), "(0010,0010) 6 bytes");
    }

    #[test]
    fn identifiers_are_digits_and_dots() {
        assert!(is_uid("1.2.840.10008.1.2") && !is_uid("") && !is_uid("1.2 3") && !is_uid(&"1".repeat(65)));
    }
}
