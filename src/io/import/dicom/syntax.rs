//! The transfer syntaxes: how each writes its data set and its pixels, and which are read (DICOM PS3.5, Annex A;
//! names and identifiers from PS3.6, Annex A).

/// How pixels are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Coding {
    /// As they are.
    Native,
    /// As they are, but in fragments.
    InFragments,
    /// Raw deflate, a frame at a time.
    DeflatedFrames,
    /// Run lengths of byte planes (PS3.5, Annex G).
    Rle,
    /// JPEG: baseline, or lossless.
    Jpeg,
    /// JPEG-LS.
    JpegLs,
    /// JPEG 2000, with or without high throughput.
    Jpeg2000,
    /// In a way that cannot be read here.
    NotRead,
}

/// A transfer syntax.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Syntax {
    /// Its name in sentences.
    pub(super) name: &'static str,
    /// Whether numbers have their highest byte first.
    pub(super) big_endian: bool,
    /// Whether elements carry no types.
    pub(super) implicit: bool,
    /// Whether the data set is deflated as a whole.
    pub(super) deflated: bool,
    /// How pixels are written.
    pub(super) coding: Coding,
}

const fn little(name: &'static str, coding: Coding) -> Syntax {
    Syntax { name, big_endian: false, implicit: false, deflated: false, coding }
}

/// Implicit VR Little Endian, the default of the standard.
pub(super) const IMPLICIT: Syntax =
    Syntax { implicit: true, ..little("implicit little endian", Coding::Native) };
/// Explicit VR Little Endian.
pub(super) const EXPLICIT: Syntax = little("explicit little endian", Coding::Native);
/// Explicit VR Big Endian, retired.
pub(super) const BIG: Syntax = Syntax { big_endian: true, ..little("explicit big endian", Coding::Native) };
const DEFLATED: Syntax = Syntax { deflated: true, ..little("deflated", Coding::Native) };

/// Identifier behind `1.2.840.10008.1.2`, and the syntax.
const KNOWN: &[(&str, Syntax)] = &[
    ("", IMPLICIT),
    (".1", EXPLICIT),
    (".1.98", little("encapsulated uncompressed", Coding::InFragments)),
    (".1.99", DEFLATED),
    (".2", BIG),
    (".4.50", little("JPEG baseline", Coding::Jpeg)),
    (".4.51", little("JPEG extended", Coding::Jpeg)),
    (".4.57", little("JPEG lossless", Coding::Jpeg)),
    (".4.70", little("JPEG lossless, first-order prediction", Coding::Jpeg)),
    (".4.80", little("JPEG-LS lossless", Coding::JpegLs)),
    (".4.81", little("JPEG-LS near-lossless", Coding::JpegLs)),
    (".4.90", little("JPEG 2000 lossless", Coding::Jpeg2000)),
    (".4.91", little("JPEG 2000", Coding::Jpeg2000)),
    (".4.92", little("JPEG 2000 part 2 lossless", Coding::NotRead)),
    (".4.93", little("JPEG 2000 part 2", Coding::NotRead)),
    (".4.94", little("JPIP referenced", Coding::NotRead)),
    (".4.95", Syntax { deflated: true, ..little("JPIP referenced, deflated", Coding::NotRead) }),
    (".4.100", little("MPEG-2 main profile", Coding::NotRead)),
    (".4.100.1", little("MPEG-2 main profile, fragmentable", Coding::NotRead)),
    (".4.101", little("MPEG-2 high level", Coding::NotRead)),
    (".4.101.1", little("MPEG-2 high level, fragmentable", Coding::NotRead)),
    (".4.102", little("MPEG-4 AVC high profile", Coding::NotRead)),
    (".4.102.1", little("MPEG-4 AVC high profile, fragmentable", Coding::NotRead)),
    (".4.103", little("MPEG-4 AVC BD-compatible", Coding::NotRead)),
    (".4.103.1", little("MPEG-4 AVC BD-compatible, fragmentable", Coding::NotRead)),
    (".4.104", little("MPEG-4 AVC 2D", Coding::NotRead)),
    (".4.104.1", little("MPEG-4 AVC 2D, fragmentable", Coding::NotRead)),
    (".4.105", little("MPEG-4 AVC 3D", Coding::NotRead)),
    (".4.105.1", little("MPEG-4 AVC 3D, fragmentable", Coding::NotRead)),
    (".4.106", little("MPEG-4 AVC stereo", Coding::NotRead)),
    (".4.106.1", little("MPEG-4 AVC stereo, fragmentable", Coding::NotRead)),
    (".4.107", little("HEVC main profile", Coding::NotRead)),
    (".4.108", little("HEVC main 10 profile", Coding::NotRead)),
    (".4.110", little("JPEG XL lossless", Coding::NotRead)),
    (".4.111", little("JPEG XL recompressed JPEG", Coding::NotRead)),
    (".4.112", little("JPEG XL", Coding::NotRead)),
    (".4.201", little("high-throughput JPEG 2000 lossless", Coding::Jpeg2000)),
    (".4.202", little("high-throughput JPEG 2000 lossless, RPCL", Coding::Jpeg2000)),
    (".4.203", little("high-throughput JPEG 2000", Coding::Jpeg2000)),
    (".4.204", little("JPIP referenced, high-throughput JPEG 2000", Coding::NotRead)),
    (".4.205", Syntax { deflated: true, ..little("JPIP referenced, deflated", Coding::NotRead) }),
    (".5", little("RLE lossless", Coding::Rle)),
    (".8.1", little("deflated image frames", Coding::DeflatedFrames)),
];

/// The syntax with this identifier, which may be padded; `None` if it is not in the table.
pub(super) fn syntax_of(uid: &str) -> Option<Syntax> {
    let rest = uid.trim_matches(['\0', ' ']).strip_prefix("1.2.840.10008.1.2")?;
    KNOWN.iter().find(|(tail, _)| *tail == rest).map(|(_, syntax)| *syntax)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn identifiers_are_found_whole_and_padded() {
        assert_eq!(syntax_of("1.2.840.10008.1.2\0"), Some(IMPLICIT));
        assert_eq!(syntax_of("1.2.840.10008.1.2.1"), Some(EXPLICIT));
        assert_eq!(syntax_of("1.2.840.10008.1.2.4.80 ").map(|s| s.coding), Some(Coding::JpegLs));
        assert_eq!(syntax_of("1.2.840.10008.1.2.4.8"), None);
        assert_eq!(syntax_of(""), None);
    }
}
