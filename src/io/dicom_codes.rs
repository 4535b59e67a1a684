//! The codes of DICOM objects that are written and read back: those of the standard where it has one, and our own, declared in the report, for the rest.
//!
//! Standard codes are those of DICOM PS3.16, Annex D (DCM), of its context groups (SCT), and UCUM for units.

use crate::measure::mark::{Level, MarkKind, Side, Stage, View};
use crate::measure::settings::Rule;
use crate::measure::verdict::{State, VerdictRule};

/// A code of a coding scheme (PS3.3, 8.1): value, scheme, meaning. Value and scheme have at most 16 characters, the
/// meaning at most 64.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct ConceptCode<'a>(pub(super) &'a str, pub(super) &'a str, pub(super) &'a str);

/// The name of the item that holds the case, and of the one that holds a shot's neutral name.
pub(super) const CASE_TEXT: &str = "CASE_TEXT";
pub(super) const TRACKING: &str = "112039";

/// The designator of our own scheme; `99` begins private ones (PS3.16, 8.2).
pub(super) const OWN: &str = "99STILLMARK";

pub(super) const METHOD: ConceptCode<'static> = ConceptCode("370129005", "SCT", "Measurement Method");
pub(super) const PERCENT: ConceptCode<'static> = ConceptCode("%", "UCUM", "Percent");
pub(super) const DEGREE: ConceptCode<'static> = ConceptCode("deg", "UCUM", "degree");
pub(super) const RATIO: ConceptCode<'static> = ConceptCode("{ratio}", "UCUM", "ratio");
pub(super) const NO_UNITS: ConceptCode<'static> = ConceptCode("1", "UCUM", "no units");
pub(super) const PIXELS: ConceptCode<'static> = ConceptCode("{pixels}", "UCUM", "pixels");
pub(super) const MM_A_PIXEL: ConceptCode<'static> = ConceptCode("mm/{pixel}", "UCUM", "mm/pixel");
pub(super) const MM: ConceptCode<'static> = ConceptCode("mm", "UCUM", "mm");
pub(super) const DIRECT: ConceptCode<'static> =
    ConceptCode("FOUR_BORDER_MAP", OWN, "Body map from four marked borders");
pub(super) const TRUE_VIEW: ConceptCode<'static> =
    ConceptCode("TRUE_VIEW", OWN, "The same as a true view would show it");
pub(super) const OUTLINE: ConceptCode<'static> =
    ConceptCode("PEDICLE_OUTLINE", OWN, "Offsets within the outline of the pedicle");

/// The vertebra; levels without a code in the standard's context group for the lumbar spine have one of our own.
pub(super) fn level(level: Option<Level>) -> (String, &'static str, String) {
    let sct = |value: &str, name: String| (value.to_owned(), "SCT", format!("{name} vertebra"));
    match level {
        Some(Level::L1) => sct("66794005", Level::L1.name()),
        Some(Level::L2) => sct("14293000", Level::L2.name()),
        Some(Level::L3) => sct("36470004", Level::L3.name()),
        Some(Level::L4) => sct("11994002", Level::L4.name()),
        Some(Level::L5) => sct("49668003", Level::L5.name()),
        Some(other) => (format!("LEVEL_{}", other.name()), OWN, format!("{} vertebra", other.name())),
        None => ("51282000".to_owned(), "SCT", "Vertebra".to_owned()),
    }
}

/// The side of entry.
pub(super) const fn side(side: Side) -> ConceptCode<'static> {
    match side {
        Side::Left => ConceptCode("7771000", "SCT", "Left"),
        Side::Right => ConceptCode("24028007", "SCT", "Right"),
    }
}

/// From where a shot looks.
pub(super) const fn view(view: View) -> ConceptCode<'static> {
    match view {
        View::Lateral => ConceptCode("399067008", "SCT", "lateral"),
        View::Ap => ConceptCode("399348003", "SCT", "antero-posterior"),
        View::Pedicle => ConceptCode("DOWN_PEDICLE", OWN, "En face pedicle"),
    }
}

/// The stage of the procedure.
pub(super) const fn stage(stage: Stage) -> ConceptCode<'static> {
    match stage {
        Stage::Docking => ConceptCode("STAGE_DOCKING", OWN, "Docking"),
        Stage::Pedicle => ConceptCode("STAGE_PEDICLE", OWN, "In the pedicle"),
        Stage::PosteriorWall => ConceptCode("STAGE_WALL", OWN, "At the posterior wall"),
        Stage::Stylet => ConceptCode("STAGE_STYLET", OWN, "Curved stylet"),
        Stage::Final => ConceptCode("STAGE_FINAL", OWN, "Final position"),
    }
}

/// A mark; codes have at most 16 characters.
pub(super) const fn mark(kind: MarkKind) -> ConceptCode<'static> {
    match kind {
        MarkKind::SuperiorEndPlate => ConceptCode("SUP_ENDPLATE", OWN, "Marked superior endplate"),
        MarkKind::InferiorEndPlate => ConceptCode("INF_ENDPLATE", OWN, "Marked inferior endplate"),
        MarkKind::PosteriorWall => ConceptCode("POST_WALL", OWN, "Marked posterior wall"),
        MarkKind::AnteriorWall => ConceptCode("ANT_WALL", OWN, "Marked anterior wall"),
        MarkKind::RightWall => ConceptCode("RIGHT_WALL", OWN, "Marked right wall"),
        MarkKind::LeftWall => ConceptCode("LEFT_WALL", OWN, "Marked left wall"),
        MarkKind::SuperiorEndPlateSecond => {
            ConceptCode("SUP_ENDPLATE_2", OWN, "Marked second contour of the superior endplate")
        }
        MarkKind::InferiorEndPlateSecond => {
            ConceptCode("INF_ENDPLATE_2", OWN, "Marked second contour of the inferior endplate")
        }
        MarkKind::PosteriorWallSecond => {
            ConceptCode("POST_WALL_2", OWN, "Marked second contour of the posterior wall")
        }
        MarkKind::AnteriorWallSecond => {
            ConceptCode("ANT_WALL_2", OWN, "Marked second contour of the anterior wall")
        }
        MarkKind::RightWallSecond => {
            ConceptCode("RIGHT_WALL_2", OWN, "Marked second contour of the right wall")
        }
        MarkKind::LeftWallSecond => ConceptCode("LEFT_WALL_2", OWN, "Marked second contour of the left wall"),
        MarkKind::RightPedicle => ConceptCode("RIGHT_PEDICLE", OWN, "Marked borders of the right pedicle"),
        MarkKind::LeftPedicle => ConceptCode("LEFT_PEDICLE", OWN, "Marked borders of the left pedicle"),
        MarkKind::SpinousProcess => {
            ConceptCode("SPINOUS_PROCESS", OWN, "Marked borders of the spinous process")
        }
        MarkKind::Pedicle => ConceptCode("PEDICLE_OUTLINE", OWN, "Marked outline of the pedicle"),
        MarkKind::Tip => ConceptCode("PROBE_TIP", OWN, "Marked tip"),
        MarkKind::Cannula => ConceptCode("CANNULA", OWN, "Marked cannula, ending at its mouth"),
        MarkKind::Electrodes => ConceptCode("ELECTRODES", OWN, "Marked electrodes, proximal and distal"),
    }
}

/// The mark of a code of ours.
pub(super) fn mark_of(value: &str) -> Option<MarkKind> {
    MarkKind::ALL.into_iter().find(|kind| mark(*kind).0 == value)
}

/// What a verdict is about.
pub(super) const fn verdict_on(rule: VerdictRule) -> ConceptCode<'static> {
    match rule {
        VerdictRule::Band(Rule::Depth) => ConceptCode("VERDICT_DEPTH", OWN, "Depth against the target"),
        VerdictRule::Band(Rule::Height) => ConceptCode("VERDICT_HEIGHT", OWN, "Height against the target"),
        VerdictRule::Band(Rule::Midline) => {
            ConceptCode("VERDICT_MIDLINE", OWN, "Offset from the midline against the target")
        }
        VerdictRule::Docking => ConceptCode("VERDICT_DOCKING", OWN, "Docking position against the target"),
        VerdictRule::SafePassage => {
            ConceptCode("VERDICT_PASSAGE", OWN, "Medial border of the pedicle not crossed behind the wall")
        }
    }
}

/// What can be said with confidence.
pub(super) const fn state(state: State) -> ConceptCode<'static> {
    match state {
        State::Inside => ConceptCode("INSIDE", OWN, "Inside the target"),
        State::Outside => ConceptCode("OUTSIDE", OWN, "Outside the target"),
        State::Undecided => ConceptCode("UNDECIDED", OWN, "Too close to call with 95 % confidence"),
        State::NotShown => ConceptCode("NOT_SHOWN", OWN, "Not shown by these images"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// PS3.3, 8.8: SH has at most 16 characters, LO at most 64.
    #[test]
    fn codes_fit_their_elements_and_name_their_marks() {
        let mut all: Vec<ConceptCode<'_>> = MarkKind::ALL.map(mark).to_vec();
        all.extend(Stage::ALL.map(stage));
        all.extend(View::ALL.map(view));
        all.extend([State::Inside, State::Outside, State::Undecided, State::NotShown].map(state));
        all.extend([METHOD, DIRECT, TRUE_VIEW, OUTLINE, PERCENT, DEGREE]);
        for ConceptCode(value, scheme, meaning) in all {
            assert!(
                value.len() <= 16 && scheme.len() <= 16 && meaning.len() <= 64 && meaning.is_ascii(),
                "{value}"
            );
        }
        for kind in MarkKind::ALL {
            assert_eq!(mark_of(mark(kind).0), Some(kind));
        }
        let (value, scheme, _) = level(Level::from_name("T12"));
        assert!(value.len() <= 16 && scheme == OWN);
    }
}
