//! Marks carried from one shot to another of the same level and view, as drafts.

use crate::case::document::{Case, Shot};
use crate::geom::point::Point;
use crate::geom::similarity::Similarity;
use crate::measure::calibration::{Calibration, ScaleFrom};
use crate::measure::mark::{MarkKind, Marks, Material, View};

/// The two points that fix where carried marks go: both ends of the superior end plate, in the lateral view
/// posterior and anterior, in AP left and right in the picture; or the pedicle's superior and inferior extremes.
#[must_use]
pub fn anchors(view: View, marks: &Marks) -> Option<(Point, Point)> {
    let points = match view {
        View::Lateral | View::Ap => marks.complete(MarkKind::SuperiorEndPlate)?,
        View::Pedicle => marks.complete(MarkKind::Pedicle)?.into_iter().take(2).collect(),
    };
    Some(in_order(view, (*points.first()?, *points.last()?)))
}

/// Ends of an AP end plate may be marked either way round.
fn in_order(view: View, (a, b): (Point, Point)) -> (Point, Point) {
    if view == View::Ap && a.x > b.x { (b, a) } else { (a, b) }
}

/// The bone marks of a shot moved as a whole, so that its anchors come to lie at `to`; instruments stay
/// behind, since they have moved. A lateral picture that looks from the other side is mirrored. `None` where the
/// shot has no anchors, or they or `to` coincide.
#[must_use]
pub fn carried(from: &Shot, to: (Point, Point)) -> Option<Marks> {
    let (a, b) = anchors(from.view, &from.marks)?;
    let to = in_order(from.view, to);
    let mirrored = from.view == View::Lateral && (b.x - a.x) * (to.1.x - to.0.x) < 0.0;
    let side = move |p: Point| if mirrored { Point::new(-p.x, p.y) } else { p };
    let map = Similarity::between((side(a), side(b)), to)?;
    let mut marks = from.marks.map(|p| map.apply(side(p)));
    for kind in MarkKind::ALL {
        if kind.material() == Material::Metal {
            marks.set(kind, Vec::new());
        }
    }
    Some(marks)
}

/// The same together with the instruments that are marked on the shot the marks are carried to.
#[must_use]
pub fn carried_onto(onto: &Shot, from: &Shot, to: (Point, Point)) -> Option<Marks> {
    let mut marks = carried(from, to)?;
    for kind in MarkKind::ALL.into_iter().filter(|kind| kind.material() == Material::Metal) {
        marks.set(kind, onto.marks.slots(kind).to_vec());
    }
    Some(marks)
}

/// How much larger or smaller a body may show for the scale of one shot to be that of another: farther apart, the
/// C-arm has moved toward the patient or away, or the image has been zoomed.
const SAME_SIZE: f64 = 0.05;

/// The scale that comes along with marks from `from` whose anchors come to lie `apart` pixels from each other: none
/// where `onto` has one, `from` has none, or the body shows larger or smaller by more than a twentieth.
#[must_use]
pub fn copied_scale(onto: &Shot, from: &Shot, apart: f64) -> Option<Calibration> {
    let (mm_per_px, (a, b)) = (from.mm_per_px?, anchors(from.view, &from.marks)?);
    let same = (apart / a.distance(b) - 1.0).abs() <= SAME_SIZE;
    (onto.mm_per_px.is_none() && same).then(|| Calibration {
        mm_per_px,
        sd: from.mm_per_px_sd,
        from: from.scale_from.unwrap_or(ScaleFrom::Typed),
        known: None,
    })
}

/// The shots whose marks could be carried to this one, nearest in the list first.
#[must_use]
pub fn sources(case: &Case, index: usize) -> Vec<usize> {
    let Some(shot) = case.shots.get(index) else { return Vec::new() };
    let mut found: Vec<usize> = (0..case.shots.len())
        .filter(|&i| {
            let other = &case.shots[i];
            i != index
                && shot.known_view().is_some_and(|view| other.shows(view))
                && other.level.is_some()
                && other.level == shot.level
                // Pedicles of the two sides are each other's mirror image.
                && (other.view != View::Pedicle || other.side == shot.side)
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

    /// A body from the other side: posterior on the right. By hand: mirrored at x = 0 and shifted by 110.
    #[test]
    fn a_picture_from_the_other_side_is_mirrored_and_stays_upright() {
        let marks = carried(&marked("a"), (Point::new(110.0, 50.0), Point::new(100.0, 50.0))).unwrap();
        let inferior = marks.complete(MarkKind::InferiorEndPlate).unwrap();
        assert!(inferior[0].distance(Point::new(110.0, 58.0)) < 1e-12);
        assert!(inferior[1].distance(Point::new(100.0, 58.0)) < 1e-12);
    }

    #[test]
    fn ends_of_an_ap_end_plate_may_be_clicked_either_way_round() {
        let mut shot = marked("a");
        shot.view = View::Ap;
        let (left, right) = (Point::new(100.0, 50.0), Point::new(120.0, 50.0));
        assert_eq!(carried(&shot, (left, right)), carried(&shot, (right, left)));
    }

    #[test]
    fn instruments_of_the_new_shot_stay() {
        let mut new = Shot::new("b", "x.png", View::Lateral);
        new.marks = Marks::new().with(MarkKind::Tip, &[(7.0, 7.0)]);
        let to = (Point::new(100.0, 50.0), Point::new(120.0, 50.0));
        let marks = carried_onto(&new, &marked("a"), to).unwrap();
        assert_eq!(marks.complete(MarkKind::Tip), Some(vec![Point::new(7.0, 7.0)]));
        assert!(marks.complete(MarkKind::InferiorEndPlate).is_some());
    }

    /// By hand: the anchors of the source are 10 pixels apart, so up to 10.5 is the same size.
    #[test]
    fn a_scale_is_copied_to_a_body_of_the_same_size_only() {
        let (mut from, mut onto) = (marked("a"), Shot::new("b", "x.png", View::Lateral));
        assert_eq!(copied_scale(&onto, &from, 10.0), None, "there is none");
        (from.mm_per_px, from.mm_per_px_sd) = (Some(0.3), Some(0.02));
        let scale = copied_scale(&onto, &from, 10.4).unwrap();
        assert_eq!((scale.mm_per_px, scale.sd, scale.from), (0.3, Some(0.02), ScaleFrom::Typed));
        assert_eq!(copied_scale(&onto, &from, 10.6), None, "larger");
        onto.mm_per_px = Some(0.2);
        assert_eq!(copied_scale(&onto, &from, 10.0), None, "it has its own");
    }

    #[test]
    fn sources_share_level_and_view_and_are_no_drafts() {
        let mut draft = marked("b");
        draft.draft = true;
        let mut other_level = marked("c");
        other_level.level = Some(Level::L5);
        let case = Case {
            shots: vec![marked("a"), draft, other_level, marked("d"), marked("e")].into(),
            ..Case::default()
        };
        assert_eq!(sources(&case, 4), [3, 0]);
    }
}
