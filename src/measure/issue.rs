//! What stands in the way of a reading, or qualifies it, as sentences that say what to do.

/// The kind of an issue; its key is part of the command line's output.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum IssueCode {
    /// A mark that a reading needs is not placed.
    MissingMarks,
    /// Nobody has set the view of the shot.
    ViewNotSet,
    /// Neighbouring points of a border lie closer than 5 % of its length.
    MarksTooClose,
    /// The body map folds over itself.
    FoldedBody,
    /// The tip cannot be carried into body coordinates.
    Unreadable,
    /// Which side of the picture is the patient's right is not known.
    SideUnknown,
    /// The pedicles and the setting, or the two pedicles, contradict each other.
    SideContradicts,
    /// A medial border lies no nearer the midline than its lateral border.
    PedicleBordersSwapped,
    /// The cannula enters from the anterior side.
    WallsSwapped,
    /// A corner lies at the edge of the frame or of the round field.
    BodyCutOff,
    /// Depth over mean height is not that of a lumbar body.
    ImplausibleShape,
    /// The heights say a loss of 20 % or more.
    DeformedBody,
    /// The tip projects outside the body.
    OutsideBody,
    /// A second contour says a turn of more than 3°.
    DoubleContour,
    /// The reader cannot tell whether a border shows twice.
    CannotTell,
    /// One contour is marked, nobody has said that it shows once, and the other view speaks against it: no verdict.
    ViewMayBeTurned,
    /// The arch and the spinous process tell different turns of the view.
    ArchDiffers,
    /// Even a value in the middle of the band could not be called inside.
    TooUncertain,
    /// The two views of a pair give different heights.
    HeightsDisagree,
    /// The tip may be medial to the border while behind the posterior wall.
    MedialBeforeWall,
    /// A wall is marked as the patient's right or left but lies on the other side.
    WallSidesSwapped,
    /// A mark that need not be made has only some of its points, and is not used.
    HalfMarked,
    /// A pairing by hand that cannot be, and is not followed.
    PairRefused,
    /// Millimetres were asked for without calibration.
    NoScale,
    /// What the picture's file says of the scale contradicts itself.
    ScaleContradicts,
    /// The picture cannot be found.
    ImageMissing,
    /// The picture is no longer the one that was marked.
    FrameChanged,
    /// The picture has no edge at a bone mark.
    NoEdge,
}

/// How far an issue stands in the way of a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Blocks {
    /// It only speaks.
    Nothing,
    /// Only the heights are read.
    AllButHeights,
    /// Nothing is read.
    Everything,
}

/// One issue found with a shot or a pair.
#[derive(Clone, Debug, PartialEq)]
pub struct Issue {
    /// What it is.
    pub code: IssueCode,
    /// How far it stands in the way.
    pub blocks: Blocks,
    /// A sentence for the user: what is the matter and what to do.
    pub text: String,
}

impl IssueCode {
    /// The key in the command line's output.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::MissingMarks => "missing_marks",
            Self::ViewNotSet => "view_not_set",
            Self::MarksTooClose => "marks_too_close",
            Self::FoldedBody => "folded_body",
            Self::Unreadable => "unreadable",
            Self::SideUnknown => "side_unknown",
            Self::SideContradicts => "side_contradicts",
            Self::PedicleBordersSwapped => "pedicle_borders_swapped",
            Self::WallsSwapped => "walls_swapped",
            Self::BodyCutOff => "body_cut_off",
            Self::ImplausibleShape => "implausible_shape",
            Self::DeformedBody => "deformed_body",
            Self::OutsideBody => "outside_body",
            Self::DoubleContour => "double_contour",
            Self::CannotTell => "cannot_tell",
            Self::ViewMayBeTurned => "view_may_be_turned",
            Self::ArchDiffers => "arch_differs",
            Self::TooUncertain => "too_uncertain",
            Self::HeightsDisagree => "heights_disagree",
            Self::MedialBeforeWall => "medial_before_wall",
            Self::WallSidesSwapped => "wall_sides_swapped",
            Self::HalfMarked => "half_marked",
            Self::PairRefused => "pair_refused",
            Self::NoScale => "no_scale",
            Self::ScaleContradicts => "scale_contradicts",
            Self::ImageMissing => "image_missing",
            Self::FrameChanged => "frame_changed",
            Self::NoEdge => "no_edge",
        }
    }

    /// How far this kind of issue stands in the way.
    #[must_use]
    pub const fn blocks(self) -> Blocks {
        match self {
            Self::MissingMarks
            | Self::ViewNotSet
            | Self::MarksTooClose
            | Self::FoldedBody
            | Self::Unreadable => Blocks::Everything,
            Self::SideUnknown | Self::SideContradicts | Self::PedicleBordersSwapped => Blocks::AllButHeights,
            _ => Blocks::Nothing,
        }
    }
}

impl Issue {
    /// An issue of this kind with its sentence.
    #[must_use]
    pub fn new(code: IssueCode, text: impl Into<String>) -> Self {
        Self { code, blocks: code.blocks(), text: text.into() }
    }
}
