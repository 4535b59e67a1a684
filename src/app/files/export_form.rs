//! As what a case is exported: a copy, DICOM objects by choice of what and whose, keypoints.

use crate::case::document::Case;
use crate::io::export::dicom::{WantedObjects, code_fault};

/// As what a case is exported.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ExportForm {
    /// A de-identified copy of the case.
    Copy,
    /// Objects for an image archive.
    Dicom(DicomChoice),
    /// The marks as a table and as keypoints.
    Keypoints,
}

/// What is written as DICOM, and whose it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DicomChoice {
    /// A figure of every marked shot.
    pub figures: bool,
    /// The readings as a structured report.
    pub report: bool,
    /// The overlay of every marked shot as a presentation state.
    pub overlays: bool,
    /// Whether patient and study of the source images are copied into the files; only by explicit choice.
    pub beside_source: bool,
    /// What stands in the place of a name where nobody's is said.
    pub code: String,
}

impl Default for DicomChoice {
    fn default() -> Self {
        Self {
            figures: true,
            report: true,
            overlays: true,
            beside_source: false,
            code: "ANONYMOUS".to_owned(),
        }
    }
}

impl DicomChoice {
    /// Why nothing can be written by this choice, if so: the end of a sentence.
    #[must_use]
    pub fn fault(&self) -> Option<&'static str> {
        if !(self.figures || self.report || self.overlays) {
            return Some("select figures, report or overlays");
        }
        if self.beside_source { None } else { code_fault(&self.code) }
    }

    /// What of a case is written by it.
    #[must_use]
    pub fn wanted(&self, case: &Case, as_is: bool) -> WantedObjects {
        let all = WantedObjects::of_marked(case);
        WantedObjects {
            figures: if self.figures { all.figures } else { Vec::new() },
            report: self.report,
            overlays: if self.overlays { all.overlays } else { Vec::new() },
            beside_source: self.beside_source,
            code: self.code.clone(),
            as_is,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nobody_is_named_unless_it_is_chosen() {
        let choice = DicomChoice::default();
        assert!(!choice.beside_source && choice.fault().is_none());
        assert!(!choice.wanted(&Case::default(), false).beside_source);
        assert!(DicomChoice { code: "a^b".to_owned(), ..choice.clone() }.fault().is_some());
        // The code is not used beside the source.
        assert_eq!(DicomChoice { code: String::new(), beside_source: true, ..choice.clone() }.fault(), None);
        let nothing = DicomChoice { figures: false, report: false, overlays: false, ..choice };
        assert!(nothing.fault().is_some());
    }
}
