//! What is said of a shot whose file contradicts itself about the scale.

use crate::case::document::Shot;
use crate::case::image::scale_fault::{NOT_CALIBRATED, ScaleFault, told};
use crate::case::readings::Picture;
use crate::measure::calibration::ScaleFrom;
use crate::measure::issue::{Issue, IssueCode};

/// An issue where the shot's scale is the file's, or where it has none and the file cannot give one. A scale that was
/// marked or typed does not hang on the file.
pub(super) fn scale_contradicts(shot: &Shot, picture: &Picture) -> Option<Issue> {
    let Picture::Present { scale_faults, .. } = picture else { return None };
    if scale_faults.is_empty() {
        return None;
    }
    let text = match (shot.mm_per_px, shot.scale_from) {
        (Some(_), Some(ScaleFrom::Typed | ScaleFrom::KnownLength)) => return None,
        (Some(_), _) => with(
            "The scale of this shot comes from a file that contradicts itself, so millimeters may be wrong.",
            scale_faults,
        ),
        (None, _) => {
            with("What the file says of its scale contradicts itself and is not used.", scale_faults)
        }
    };
    Some(Issue::new(IssueCode::ScaleContradicts, text))
}

/// Whether one of these issues says already what this sentence about the image does: an issue that the file contradicts
/// itself names each fault.
#[must_use]
pub fn says_already(issues: &[Issue], of_image: &str) -> bool {
    let mut of_scale = issues.iter().filter(|issue| issue.code == IssueCode::ScaleContradicts);
    of_scale.any(|issue| of_image == NOT_CALIBRATED || issue.text.contains(of_image))
}

fn with(first: &str, faults: &[ScaleFault]) -> String {
    format!("{first} {} Mark a known width, or type the scale.", told(faults))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::readings::SoftMarks;
    use crate::measure::mark::View;
    use crate::measure::reading::{Field, FrameExtent};

    #[test]
    fn a_fault_that_the_issue_names_is_told_already_and_nothing_else() {
        let (fault, other) = (ScaleFault::BelowOne { stated: 0.7 }, ScaleFault::BelowOne { stated: 0.8 });
        let issue = Issue::new(
            IssueCode::ScaleContradicts,
            with("It contradicts itself.", std::slice::from_ref(&fault)),
        );
        let all = [Issue::new(IssueCode::OutsideBody, "Outside."), issue];
        assert!(says_already(&all, &fault.sentence()) && says_already(&all, NOT_CALIBRATED));
        assert!(!says_already(&all, &other.sentence()) && !says_already(&all[..1], &fault.sentence()));
        assert!(!says_already(&all, "Outside.") && !says_already(&[], NOT_CALIBRATED));
    }

    #[test]
    fn only_a_scale_that_hangs_on_the_file_is_doubted() {
        let picture = Picture::Present {
            extent: FrameExtent { width: 10, height: 10, field: Field::Whole },
            digest: None,
            softness: SoftMarks::default(),
            scale_faults: vec![ScaleFault::BelowOne { stated: 0.7 }],
        };
        let said = |mm_per_px, scale_from| {
            let shot = Shot { mm_per_px, scale_from, ..Shot::new("a", "a.dcm", View::Lateral) };
            scale_contradicts(&shot, &picture).map(|issue| issue.text)
        };
        assert_eq!(said(Some(0.3), Some(ScaleFrom::KnownLength)), None);
        assert_eq!(said(Some(0.3), Some(ScaleFrom::Typed)), None);
        assert!(said(Some(0.3), Some(ScaleFrom::Calibrated)).unwrap().contains("may be wrong"));
        assert!(said(None, None).unwrap().contains("0.70"));
    }
}
