//! Places that several markings of one picture have in common, so that they can be compared: corners, tip, borders of a
//! pedicle, the middle of each border; and in which directions they can be.
//!
//! Interior points of a border may lie anywhere along it, so they are compared by the border's own line at its middle,
//! across the line only. Borders of pedicle and spinous process are clicked anywhere along their length, so only the
//! direction from one to the other counts. The cannula's mouth is a place, its other points lie anywhere along it.

use crate::geom::point::{Point, Vec2};
use crate::measure::ap::ap_body_map;
use crate::measure::body::{BodyMap, Border};
use crate::measure::lateral::lateral_body_map;
use crate::measure::mark::{MarkKind, Marks, View};

/// Which place of a mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MarkPart {
    /// Its first point: of an AP end plate the corner on the left of the picture.
    First,
    /// Its last point.
    Last,
    /// The point with this index, from 0.
    Nth(usize),
    /// The middle of its line.
    Middle,
}

/// A place by name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PlaceKey {
    /// The view it is seen in.
    pub view: View,
    /// The mark.
    pub kind: MarkKind,
    /// Which place of it.
    pub part: MarkPart,
}

impl PlaceKey {
    /// The key in tables: `lateral_superior_end_plate_first`.
    #[must_use]
    pub fn key(self) -> String {
        let part = match self.part {
            MarkPart::First => "first".to_owned(),
            MarkPart::Last => "last".to_owned(),
            MarkPart::Nth(index) => (index + 1).to_string(),
            MarkPart::Middle => "middle".to_owned(),
        };
        format!("{}_{}_{part}", self.view.key(), self.kind.key())
    }
}

/// In which directions a place can be compared.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Axes {
    /// In every direction.
    Both,
    /// Along this direction of length one.
    Along(Vec2),
}

/// A place of a marking, in pixels of the frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// Which place.
    pub key: PlaceKey,
    /// Where it was put.
    pub at: Point,
    /// How it can be compared.
    pub axes: Axes,
}

impl Axes {
    /// The part of a displacement that can be compared.
    #[must_use]
    pub fn of(self, by: Vec2) -> Vec2 {
        match self {
            Self::Both => by,
            Self::Along(direction) => direction * by.dot(direction),
        }
    }

    /// In how many directions.
    #[must_use]
    pub const fn count(self) -> f64 {
        match self {
            Self::Both => 2.0,
            Self::Along(_) => 1.0,
        }
    }
}

/// The body map of a marking, in an AP from the left of the picture to its right.
#[must_use]
pub fn map_of(view: View, marks: &Marks) -> Option<BodyMap> {
    match view {
        View::Lateral => lateral_body_map(marks).ok(),
        View::Ap => ap_body_map(marks, None, None).ok(),
        View::Pedicle => None,
    }
}

/// Every place of a marking that can be compared with that of another one.
#[must_use]
pub fn places(view: View, marks: &Marks) -> Vec<Placed> {
    let mut list = Vec::new();
    let mut put = |kind, part, at, axes| list.push(Placed { key: PlaceKey { view, kind, part }, at, axes });
    for kind in marks.kinds().filter(|kind| kind.belongs_to(view)) {
        let Some(points) = marks.complete(kind) else { continue };
        let [Some(&first), Some(&last)] = [points.first(), points.last()] else { continue };
        match kind {
            MarkKind::SuperiorEndPlate | MarkKind::InferiorEndPlate => {
                let turned = view == View::Ap && first.x > last.x;
                let (first, last) = if turned { (last, first) } else { (first, last) };
                put(kind, MarkPart::First, first, Axes::Both);
                put(kind, MarkPart::Last, last, Axes::Both);
            }
            MarkKind::Tip => put(kind, MarkPart::First, first, Axes::Both),
            MarkKind::Electrodes => {
                put(kind, MarkPart::First, first, Axes::Both);
                put(kind, MarkPart::Last, last, Axes::Both);
            }
            MarkKind::Cannula => put(kind, MarkPart::Last, last, Axes::Both),
            MarkKind::RightPedicle | MarkKind::LeftPedicle | MarkKind::SpinousProcess => {
                let Some(along) = direction(first, last) else { continue };
                // The process's borders have no order of their own.
                let turned = kind == MarkKind::SpinousProcess && first.x > last.x;
                let (first, last) = if turned { (last, first) } else { (first, last) };
                put(kind, MarkPart::First, first, Axes::Along(along));
                put(kind, MarkPart::Last, last, Axes::Along(along));
            }
            MarkKind::Pedicle => {
                for pair in [[0, 1], [2, 3]] {
                    let [Some(&a), Some(&b)] = pair.map(|i| points.get(i)) else { continue };
                    let Some(along) = direction(a, b) else { continue };
                    put(kind, MarkPart::Nth(pair[0]), a, Axes::Along(along));
                    put(kind, MarkPart::Nth(pair[1]), b, Axes::Along(along));
                }
            }
            MarkKind::PosteriorWall
            | MarkKind::AnteriorWall
            | MarkKind::RightWall
            | MarkKind::LeftWall
            | MarkKind::SuperiorEndPlateSecond
            | MarkKind::InferiorEndPlateSecond
            | MarkKind::PosteriorWallSecond
            | MarkKind::AnteriorWallSecond
            | MarkKind::RightWallSecond
            | MarkKind::LeftWallSecond => {}
        }
    }
    if let Some(map) = map_of(view, marks) {
        for kind in marks.kinds().filter(|kind| kind.belongs_to(view)) {
            if let Some((at, axes)) = middle(&map, marks, kind) {
                put(kind, MarkPart::Middle, at, axes);
            }
        }
    }
    list
}

/// The middle of a border that has points of its own between the corners, to be compared across it.
fn middle(map: &BodyMap, marks: &Marks, kind: MarkKind) -> Option<(Point, Axes)> {
    let points = marks.complete(kind)?;
    let border = match kind {
        MarkKind::SuperiorEndPlate if points.len() > 2 => Border::Superior,
        MarkKind::InferiorEndPlate if points.len() > 2 => Border::Inferior,
        MarkKind::PosteriorWall => Border::Start,
        MarkKind::AnteriorWall => Border::End,
        MarkKind::RightWall | MarkKind::LeftWall => {
            let at = *points.first()?;
            let from = |border| map.border(border, 0.5).distance(at);
            if from(Border::Start) < from(Border::End) { Border::Start } else { Border::End }
        }
        _ => return None,
    };
    if points.is_empty() {
        return None;
    }
    let curve = map.first_contour(border);
    let along = direction(curve.at(0.0), curve.at(1.0))?;
    Some((curve.at(0.5), Axes::Along(Vec2::new(-along.y, along.x))))
}

fn direction(from: Point, to: Point) -> Option<Vec2> {
    let by = to - from;
    let length = by.length();
    (length > 0.0).then(|| by / length)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lateral() -> Marks {
        Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (50.0, 0.0), (100.0, 0.0)])
            .with(MarkKind::InferiorEndPlate, &[(0.0, 70.0), (100.0, 70.0)])
            .with(MarkKind::PosteriorWall, &[(0.0, 35.0)])
            .with(MarkKind::Tip, &[(40.0, 30.0)])
            .with(MarkKind::Cannula, &[(-90.0, 20.0), (-10.0, 25.0)])
    }

    fn of(list: &[Placed], kind: MarkKind, part: MarkPart) -> Option<Placed> {
        list.iter().find(|placed| placed.key.kind == kind && placed.key.part == part).copied()
    }

    #[test]
    fn a_border_is_compared_across_and_only_where_it_has_points_of_its_own() {
        let list = places(View::Lateral, &lateral());
        let plate = of(&list, MarkKind::SuperiorEndPlate, MarkPart::Middle).unwrap();
        assert!(plate.at.distance(Point::new(50.0, 0.0)) < 1e-9);
        assert!(plate.axes.of(Vec2::new(3.0, 2.0)).x.abs() < 1e-12, "along the plate nothing is compared");
        assert!((plate.axes.of(Vec2::new(3.0, 2.0)).y - 2.0).abs() < 1e-12);
        assert_eq!(of(&list, MarkKind::InferiorEndPlate, MarkPart::Middle), None);
        assert!(of(&list, MarkKind::PosteriorWall, MarkPart::Middle).is_some());
        assert_eq!(of(&list, MarkKind::Cannula, MarkPart::First), None, "anywhere along it");
        assert_eq!(of(&list, MarkKind::Cannula, MarkPart::Last).unwrap().at, Point::new(-10.0, 25.0));
    }

    #[test]
    fn an_end_plate_clicked_the_other_way_round_in_an_ap_is_the_same() {
        let one = Marks::new().with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (90.0, 1.0)]);
        let other = Marks::new().with(MarkKind::SuperiorEndPlate, &[(90.0, 1.0), (0.0, 0.0)]);
        assert_eq!(places(View::Ap, &one), places(View::Ap, &other));
    }
}
