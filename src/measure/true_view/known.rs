//! What was said of a shot beside its marks: the level, the side of the X-ray tube, and whether a border shows twice.

use crate::measure::mark::{Level, Side};

/// Where the tube stands in an AP shot.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ApTube {
    /// In front of the patient: under a prone patient.
    Front,
    /// Behind.
    Behind,
}

/// On which side of the patient the tube stands, as far as somebody has said so.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tube {
    /// In lateral shots: the patient's side.
    pub lateral: Option<Side>,
    /// In AP shots.
    pub ap: Option<ApTube>,
}

/// In which directions the reader cannot tell whether a border shows twice.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct CannotTell {
    /// From wall to wall of a lateral view.
    pub depth: bool,
    /// From end plate to end plate.
    pub height: bool,
}

/// What is known of a shot beside its marks; the default is nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Known {
    /// The vertebra.
    pub level: Option<Level>,
    /// Where the tube stands.
    pub tube: Tube,
    /// Whether borders show twice: `None` where nobody has said so, which counts as showing once.
    pub cannot_tell: Option<CannotTell>,
}

impl ApTube {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Front, Self::Behind];

    /// The key in the case file.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Front => "front",
            Self::Behind => "behind",
        }
    }
}

impl Tube {
    /// +1 where the tube of a lateral shot stands on the patient's left, −1 on the right.
    pub(crate) fn lateral_sign(self) -> Option<f64> {
        self.lateral.map(|side| if side == Side::Left { 1.0 } else { -1.0 })
    }

    /// +1 where the tube of an AP shot stands in front, −1 behind.
    pub(crate) fn ap_sign(self) -> Option<f64> {
        self.ap.map(|tube| if tube == ApTube::Front { 1.0 } else { -1.0 })
    }
}

impl CannotTell {
    /// The keys of the case file, with whether each is said.
    #[must_use]
    pub const fn parts(self) -> [(&'static str, bool); 2] {
        [("depth", self.depth), ("height", self.height)]
    }

    /// Whether any direction is not told.
    #[must_use]
    pub const fn any(self) -> bool {
        self.depth || self.height
    }
}

impl Known {
    /// Nothing is known.
    pub const NOTHING: Self = Self { level: None, tube: Tube { lateral: None, ap: None }, cannot_tell: None };

    /// Whether the reader said that a border of the depth direction may show twice without being seen to.
    pub(crate) fn depth_untold(self) -> bool {
        self.cannot_tell.is_some_and(|untold| untold.depth)
    }

    /// The same of the end plates.
    pub(crate) fn height_untold(self) -> bool {
        self.cannot_tell.is_some_and(|untold| untold.height)
    }
}
