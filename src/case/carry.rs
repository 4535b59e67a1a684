//! Marks carried from one shot to another of the same level and view, as drafts.

use crate::case::document::{Case, Shot};
use crate::geom::point::Point;
use crate::geom::similarity::Similarity;
use crate::measure::mark::{MarkKind, Marks, Material, View};

/// The two points that fix where carried marks go: both ends of the superior end plate, or the pedicle's
/// superior and inferior extremes.
#[must_use]
pub fn anchors(view: View, marks: &Marks) -> Option<(Point, Point)> {
    let points = match view {
        View::Lateral | View::Ap => marks.complete(MarkKind::SuperiorEndPlate)?,
        View::Pedicle => marks.complete(MarkKind::Pedicle)?.into_iter().take(2).collect(),
    };
    Some((*points.first()?, *points.last()?))
}

/// The bone marks of a shot moved as a whole, so that its anchors come to lie at `to`; instruments stay
/// behind, since they have moved. `None` where the shot has no anchors, or they or `to` coincide.
#[must_use]
pub fn carried(from: &Shot, to: (Point, Point)) -> Option<Marks> {
    let map = Similarity::between(anchors(from.view, &from.marks)?, to)?;
    let mut marks = from.marks.map(|p| map.apply(p));
    for kind in MarkKind::ALL {
        if kind.material() == Material::Metal {
            marks.set(kind, Vec::new());
        }
    }
    Some(marks)
}

/// The shots whose marks could be carried to this one, nearest in the list first.
#[must_use]
pub fn sources(case: &Case, index: usize) -> Vec<usize> {
    let Some(shot) = case.shots.get(index) else { return Vec::new() };
    let mut found: Vec<usize> = (0..case.shots.len())
        .filter(|&i| {
            let other = &case.shots[i];
            i != index
                && other.view == shot.view
                && other.level.is_some()
                && other.level == shot.level
                && !other.draft
                && anchors(other.view, &other.marks).is_some()
        })
        .collect();
    found.sort_by_key(|&i| (i.abs_diff(index), i));
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::Level;

    fn marked(id: &str) -> Shot {
        let mut shot = Shot::new(id, "x.png", View::Lateral);
        shot.level = Some(Level::L4);
        shot.marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (10.0, 0.0)])
            .with(MarkKind::InferiorEndPlate, &[(0.0, 8.0), (10.0, 8.0)])
            .with(MarkKind::Tip, &[(4.0, 4.0)]);
        shot
    }

    #[test]
    fn bone_is_carried_and_metal_is_not() {
        let marks = carried(&marked("a"), (Point::new(100.0, 50.0), Point::new(120.0, 50.0))).unwrap();
        let inferior = marks.complete(MarkKind::InferiorEndPlate).unwrap();
        assert!(inferior[1].distance(Point::new(120.0, 66.0)) < 1e-12);
        assert_eq!(marks.complete(MarkKind::Tip), None);
    }

    #[test]
    fn sources_share_level_and_view_and_are_no_drafts() {
        let mut draft = marked("b");
        draft.draft = true;
        let mut other_level = marked("c");
        other_level.level = Some(Level::L5);
        let case = Case {
            shots: vec![marked("a"), draft, other_level, marked("d"), marked("e")],
            ..Case::default()
        };
        assert_eq!(sources(&case, 4), [3, 0]);
    }
}
