//! What can be marked on a still, and where each mark belongs.

use std::collections::BTreeMap;

use crate::geom::point::Point;

/// The largest coordinate a mark may have, in pixels from the picture's corner in either direction: far outside
/// any picture, so a larger one is a mistake.
pub const MAX_COORDINATE_PX: f64 = 1e7;

/// From which direction a shot looks at the body.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum View {
    /// From the side.
    Lateral,
    /// Anteroposterior, from the front or the back.
    Ap,
    /// Oblique, down the axis of the pedicle.
    Pedicle,
}

/// A vertebra of the thoracic or lumbar spine, or S1, numbered down the spine: T1 is 1, L1 is 13, S1 is 18.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Level(u8);

/// The patient's side: from which the pedicle is entered, or where something lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    /// The patient's left.
    Left,
    /// The patient's right.
    Right,
}

/// How far the procedure had come when a shot was saved.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stage {
    /// The tip rests on the bone at the pedicle's entry.
    Docking,
    /// The tip is in the pedicle.
    Pedicle,
    /// The cannula is at the back of the body.
    PosteriorWall,
    /// The curved stylet is on its way through the body.
    Stylet,
    /// The probe is where it will be used.
    Final,
}

/// On which side of the picture the patient's right lies in an AP view.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PatientRight {
    /// The patient's right is on the left of the picture.
    ImageLeft,
    /// The patient's right is on the right of the picture.
    ImageRight,
}

/// A kind of mark; the key in the case file is its name in snake case.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MarkKind {
    /// Superior end plate, corner to corner (lateral: posterior → anterior).
    SuperiorEndPlate,
    /// Inferior end plate, corner to corner.
    InferiorEndPlate,
    /// Interior points of the posterior wall, superior → inferior (lateral).
    PosteriorWall,
    /// Interior points of the anterior wall, superior → inferior (lateral).
    AnteriorWall,
    /// Interior points of the wall on the patient's right, superior → inferior (AP).
    RightWall,
    /// Interior points of the wall on the patient's left, superior → inferior (AP).
    LeftWall,
    /// Second contour of the superior end plate, from end to end.
    SuperiorEndPlateSecond,
    /// Second contour of the inferior end plate.
    InferiorEndPlateSecond,
    /// Second contour of the posterior wall.
    PosteriorWallSecond,
    /// Second contour of the anterior wall.
    AnteriorWallSecond,
    /// Second contour of the wall on the patient's right.
    RightWallSecond,
    /// Second contour of the wall on the patient's left.
    LeftWallSecond,
    /// Right pedicle: lateral border, medial border (AP).
    RightPedicle,
    /// Left pedicle: lateral border, medial border (AP).
    LeftPedicle,
    /// The two borders of the spinous process (AP).
    SpinousProcess,
    /// The pedicle's outline seen on face: superior, inferior, medial, lateral extreme.
    Pedicle,
    /// The tip; in the pedicle view the docking point.
    Tip,
    /// The cannula, from outside to its mouth.
    Cannula,
    /// The probe's electrodes: proximal, distal.
    Electrodes,
}

/// Whether a mark is made on bone or on an instrument: the two are placed with different certainty.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Material {
    /// A border of bone.
    Bone,
    /// The edge of an instrument.
    Metal,
}

/// One point of a mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct MarkRef {
    /// Which mark.
    pub kind: MarkKind,
    /// Which of its points, from 0.
    pub index: usize,
}

/// All marks of one shot, in image coordinates.
///
/// Each mark is a list of slots; an empty slot is a point still to be placed, so that a corner can be marked
/// or removed without the others losing their meaning. The first slot of an end plate is its start, the last
/// its end, and what lies between are interior points.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Marks {
    slots: BTreeMap<MarkKind, Vec<Option<Point>>>,
}

impl View {
    /// The key in the case file.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Lateral => "lateral",
            Self::Ap => "ap",
            Self::Pedicle => "pedicle",
        }
    }

    /// All views.
    pub const ALL: [Self; 3] = [Self::Lateral, Self::Ap, Self::Pedicle];
}

impl Side {
    /// The key in the case file.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }

    /// The other side.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }

    /// Both sides.
    pub const ALL: [Self; 2] = [Self::Left, Self::Right];
}

impl PatientRight {
    /// The key in the case file.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::ImageLeft => "image_left",
            Self::ImageRight => "image_right",
        }
    }

    /// Both orientations.
    pub const ALL: [Self; 2] = [Self::ImageLeft, Self::ImageRight];
}

impl Stage {
    /// The key in the case file.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Docking => "docking",
            Self::Pedicle => "pedicle",
            Self::PosteriorWall => "posterior_wall",
            Self::Stylet => "stylet",
            Self::Final => "final",
        }
    }

    /// All stages in the order of the procedure.
    pub const ALL: [Self; 5] = [Self::Docking, Self::Pedicle, Self::PosteriorWall, Self::Stylet, Self::Final];
}

impl Level {
    /// The eleventh thoracic vertebra.
    pub const T11: Self = Self(11);
    /// The first lumbar vertebra.
    pub const L1: Self = Self(13);
    /// The second lumbar vertebra.
    pub const L2: Self = Self(14);
    /// The third lumbar vertebra.
    pub const L3: Self = Self(15);
    /// The fourth lumbar vertebra.
    pub const L4: Self = Self(16);
    /// The fifth lumbar vertebra.
    pub const L5: Self = Self(17);
    /// The first sacral vertebra.
    pub const S1: Self = Self(18);

    /// The level of a name such as `L4`, `S1` or `T12`.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        (1..=18).map(Self).find(|level| level.name() == name)
    }

    /// The level's name, as in the case file.
    #[must_use]
    pub fn name(self) -> String {
        match self.0 {
            n @ 1..=12 => format!("T{n}"),
            n @ 13..=17 => format!("L{}", n - 12),
            _ => "S1".to_owned(),
        }
    }

    /// The next level down the spine; none below S1.
    #[must_use]
    pub const fn below(self) -> Option<Self> {
        if self.0 < 18 { Some(Self(self.0 + 1)) } else { None }
    }
}

impl MarkKind {
    /// All kinds, in the order of the case file.
    pub const ALL: [Self; 19] = [
        Self::SuperiorEndPlate,
        Self::InferiorEndPlate,
        Self::PosteriorWall,
        Self::AnteriorWall,
        Self::RightWall,
        Self::LeftWall,
        Self::SuperiorEndPlateSecond,
        Self::InferiorEndPlateSecond,
        Self::PosteriorWallSecond,
        Self::AnteriorWallSecond,
        Self::RightWallSecond,
        Self::LeftWallSecond,
        Self::RightPedicle,
        Self::LeftPedicle,
        Self::SpinousProcess,
        Self::Pedicle,
        Self::Tip,
        Self::Cannula,
        Self::Electrodes,
    ];

    /// The key in the case file.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::SuperiorEndPlate => "superior_end_plate",
            Self::InferiorEndPlate => "inferior_end_plate",
            Self::PosteriorWall => "posterior_wall",
            Self::AnteriorWall => "anterior_wall",
            Self::RightWall => "right_wall",
            Self::LeftWall => "left_wall",
            Self::SuperiorEndPlateSecond => "superior_end_plate_second",
            Self::InferiorEndPlateSecond => "inferior_end_plate_second",
            Self::PosteriorWallSecond => "posterior_wall_second",
            Self::AnteriorWallSecond => "anterior_wall_second",
            Self::RightWallSecond => "right_wall_second",
            Self::LeftWallSecond => "left_wall_second",
            Self::RightPedicle => "right_pedicle",
            Self::LeftPedicle => "left_pedicle",
            Self::SpinousProcess => "spinous_process",
            Self::Pedicle => "pedicle",
            Self::Tip => "tip",
            Self::Cannula => "cannula",
            Self::Electrodes => "electrodes",
        }
    }

    /// The mark for the other line of a border that shows twice; `None` of a mark that has none.
    #[must_use]
    pub const fn second(self) -> Option<Self> {
        Some(match self {
            Self::SuperiorEndPlate => Self::SuperiorEndPlateSecond,
            Self::InferiorEndPlate => Self::InferiorEndPlateSecond,
            Self::PosteriorWall => Self::PosteriorWallSecond,
            Self::AnteriorWall => Self::AnteriorWallSecond,
            Self::RightWall => Self::RightWallSecond,
            Self::LeftWall => Self::LeftWallSecond,
            _ => return None,
        })
    }

    /// The kind with this key.
    #[must_use]
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.key() == key)
    }

    /// The name in a sentence, without an article.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::SuperiorEndPlate => "superior endplate",
            Self::InferiorEndPlate => "inferior endplate",
            Self::PosteriorWall => "posterior wall",
            Self::AnteriorWall => "anterior wall",
            Self::RightWall => "right wall",
            Self::LeftWall => "left wall",
            Self::SuperiorEndPlateSecond => "second contour of the superior endplate",
            Self::InferiorEndPlateSecond => "second contour of the inferior endplate",
            Self::PosteriorWallSecond => "second contour of the posterior wall",
            Self::AnteriorWallSecond => "second contour of the anterior wall",
            Self::RightWallSecond => "second contour of the right wall",
            Self::LeftWallSecond => "second contour of the left wall",
            Self::RightPedicle => "right pedicle",
            Self::LeftPedicle => "left pedicle",
            Self::SpinousProcess => "spinous process",
            Self::Pedicle => "pedicle",
            Self::Tip => "tip",
            Self::Cannula => "cannula",
            Self::Electrodes => "electrodes",
        }
    }

    /// Bone or metal.
    #[must_use]
    pub const fn material(self) -> Material {
        match self {
            Self::Tip | Self::Cannula | Self::Electrodes => Material::Metal,
            _ => Material::Bone,
        }
    }

    /// Whether the mark can be made in `view`.
    #[must_use]
    pub const fn belongs_to(self, view: View) -> bool {
        match self {
            Self::SuperiorEndPlate
            | Self::InferiorEndPlate
            | Self::SuperiorEndPlateSecond
            | Self::InferiorEndPlateSecond
            | Self::Cannula
            | Self::Electrodes => matches!(view, View::Lateral | View::Ap),
            Self::PosteriorWall
            | Self::AnteriorWall
            | Self::PosteriorWallSecond
            | Self::AnteriorWallSecond => {
                matches!(view, View::Lateral)
            }
            Self::RightWall
            | Self::LeftWall
            | Self::RightWallSecond
            | Self::LeftWallSecond
            | Self::RightPedicle
            | Self::LeftPedicle
            | Self::SpinousProcess => matches!(view, View::Ap),
            Self::Pedicle => matches!(view, View::Pedicle),
            Self::Tip => true,
        }
    }

    /// How many points make the mark whole: the least and the most; between the first and the last of an
    /// open-ended mark further points may be added.
    #[must_use]
    pub const fn count(self) -> (usize, usize) {
        match self {
            Self::SuperiorEndPlate | Self::InferiorEndPlate => (2, usize::MAX),
            Self::SuperiorEndPlateSecond
            | Self::InferiorEndPlateSecond
            | Self::PosteriorWallSecond
            | Self::AnteriorWallSecond
            | Self::RightWallSecond
            | Self::LeftWallSecond
            | Self::Cannula => (2, usize::MAX),
            Self::PosteriorWall | Self::AnteriorWall | Self::RightWall | Self::LeftWall => (0, usize::MAX),
            Self::RightPedicle | Self::LeftPedicle | Self::SpinousProcess | Self::Electrodes => (2, 2),
            Self::Pedicle => (4, 4),
            Self::Tip => (1, 1),
        }
    }
}

impl Marks {
    /// No marks.
    #[must_use]
    pub const fn new() -> Self {
        Self { slots: BTreeMap::new() }
    }

    /// The same marks with `kind` replaced by these points; for building marks in one expression.
    #[must_use]
    pub fn with(mut self, kind: MarkKind, points: &[(f64, f64)]) -> Self {
        self.set(kind, points.iter().map(|&(x, y)| Some(Point::new(x, y))).collect());
        self
    }

    /// The slots of a mark, empty when nothing of it is placed.
    #[must_use]
    pub fn slots(&self, kind: MarkKind) -> &[Option<Point>] {
        self.slots.get(&kind).map_or(&[], Vec::as_slice)
    }

    /// Replaces a mark's slots. A list with no point in it removes the mark; a list shorter than the mark
    /// needs is filled up with empty slots.
    pub fn set(&mut self, kind: MarkKind, mut slots: Vec<Option<Point>>) {
        if slots.iter().all(Option::is_none) {
            self.slots.remove(&kind);
            return;
        }
        while slots.len() < kind.count().0 {
            slots.push(None);
        }
        self.slots.insert(kind, slots);
    }

    /// The points of a mark whose every slot is filled; `None` while it is missing or incomplete.
    #[must_use]
    pub fn complete(&self, kind: MarkKind) -> Option<Vec<Point>> {
        let slots = self.slots.get(&kind)?;
        slots.iter().copied().collect()
    }

    /// One point of a mark, if it is placed.
    #[must_use]
    pub fn point(&self, at: MarkRef) -> Option<Point> {
        self.slots(at.kind).get(at.index).copied().flatten()
    }

    /// Every placed point with its place in its mark, in the order of [`MarkKind::ALL`].
    pub fn placed(&self) -> impl Iterator<Item = (MarkRef, Point)> + '_ {
        self.slots.iter().flat_map(|(&kind, slots)| {
            slots
                .iter()
                .enumerate()
                .filter_map(move |(index, slot)| slot.map(|p| (MarkRef { kind, index }, p)))
        })
    }

    /// The kinds of which at least one point is placed.
    pub fn kinds(&self) -> impl Iterator<Item = MarkKind> + '_ {
        self.slots.keys().copied()
    }

    /// Whether nothing is placed.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.slots.is_empty()
    }

    /// The same marks with every point carried through `f`.
    #[must_use]
    pub fn map(&self, f: impl Fn(Point) -> Point) -> Self {
        let slots =
            self.slots.iter().map(|(&kind, slots)| (kind, slots.iter().map(|slot| slot.map(&f)).collect()));
        Self { slots: slots.collect() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_are_unique_and_found_again() {
        for kind in MarkKind::ALL {
            assert_eq!(MarkKind::from_key(kind.key()), Some(kind));
        }
    }

    #[test]
    fn levels_are_found_by_name() {
        assert_eq!(Level::from_name("L4"), Some(Level::L4));
        assert_eq!(Level::from_name("T12").and_then(Level::below), Some(Level::L1));
        assert_eq!(Level::L5.below(), Some(Level::S1));
        assert_eq!(Level::from_name("L6"), None);
    }

    #[test]
    fn an_incomplete_mark_is_kept_but_not_complete() {
        let mut marks = Marks::new();
        marks.set(MarkKind::SuperiorEndPlate, vec![None, Some(Point::new(1.0, 2.0))]);
        assert_eq!(marks.complete(MarkKind::SuperiorEndPlate), None);
        assert_eq!(marks.placed().count(), 1);
        marks.set(MarkKind::SuperiorEndPlate, vec![None, None]);
        assert!(marks.is_empty());
    }
}
