//! Whether a body is the one the instrument ends in: neighboring levels look alike, and what tells them apart is where the probe is.

use crate::geom::point::{Point, Vec2};
use crate::measure::lateral::lateral_body_map;
use crate::measure::mark::{MarkKind, Marks, View};

/// How far beyond the depth of its body, in fractions of it, an instrument may end in a lateral view.
const BEYOND_DEPTH: f64 = 0.6;
/// An instrument on its way through the pedicle ends within these parts of the depth of its body; one that ends higher or lower by
/// this part of the height is another body's: the next body begins a third of a height away.
const WITHIN_DEPTH: (f64, f64) = (-0.6, 1.0);
const OTHER_HEIGHT: f64 = 0.3;
/// How far from a pedicle's middle, in heights of the pedicle, the metal nearest to it lies where the instrument goes into it: so in
/// 154 of 171 simulated shots; in the others no instrument was found, or its hub alone. The next level's pedicle is two and a
/// half heights away.
const IN_PEDICLE: f64 = 1.1;

/// Where an instrument says the level of a marked body is: another one, this one, or it does not say. In lateral and AP views it ends
/// at `p`; en face, where it is seen from behind and its end seldom told, `p` is what of it lies nearest to the pedicle. `marks` and
/// `p` are in pixels of one frame; without end plates, walls or the pedicle's outline, whichever the view has, nothing is said.
pub(crate) fn is_treated(view: View, marks: &Marks, p: Point) -> Option<bool> {
    match view {
        View::Lateral => in_lateral(marks, p),
        View::Ap => in_ap(marks, p),
        View::Pedicle => in_en_face(marks, p),
    }
}

/// The middle of a body's or pedicle's superior border and the way from there to the middle of the inferior one, in an AP or en face
/// view; `None` where they are not marked.
pub(crate) fn axis(view: View, marks: &Marks) -> Option<(Point, Vec2)> {
    let middle = |kind| {
        let plate = marks.complete(kind)?;
        Some(plate.first()?.midpoint(*plate.last()?))
    };
    let (superior, inferior): (Point, Point) = match view {
        View::Lateral => return None,
        View::Ap => (middle(MarkKind::SuperiorEndPlate)?, middle(MarkKind::InferiorEndPlate)?),
        View::Pedicle => {
            let outline = marks.complete(MarkKind::Pedicle)?;
            (*outline.first()?, *outline.get(1)?)
        }
    };
    Some((superior, inferior - superior))
}

fn beyond(x: f64, (least, most): (f64, f64)) -> f64 {
    (x - x.clamp(least, most)).abs()
}

/// Another one if `far`, this one if `inside`, else nothing is said.
fn told(far: bool, inside: bool) -> Option<bool> {
    if far { Some(false) } else { inside.then_some(true) }
}

fn in_lateral(marks: &Marks, p: Point) -> Option<bool> {
    let at = lateral_body_map(marks).ok()?.to_body(p)?;
    let [along, height] = [beyond(at.along, WITHIN_DEPTH), beyond(at.height, (0.0, 1.0))];
    told(along > BEYOND_DEPTH || height > OTHER_HEIGHT, along <= 0.0 && height <= 0.0)
}

/// By the height between the end plates alone: from the side an instrument comes over any width.
fn in_ap(marks: &Marks, p: Point) -> Option<bool> {
    let (superior, down) = axis(View::Ap, marks)?;
    let off = beyond((p - superior).dot(down) / down.dot(down), (0.0, 1.0));
    off.is_finite().then(|| told(off > OTHER_HEIGHT, off <= 0.0)).flatten()
}

/// By the distance from the pedicle that is looked down; that nothing is near it says nothing, since the instrument is not always found.
fn in_en_face(marks: &Marks, p: Point) -> Option<bool> {
    let (top, down) = axis(View::Pedicle, marks)?;
    let off = p.distance(top + down * 0.5) / down.length();
    (off <= IN_PEDICLE).then_some(true)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn marks(of: &[(MarkKind, &[(f64, f64)])]) -> Marks {
        let mut marks = Marks::new();
        for (kind, points) in of {
            marks.set(*kind, points.iter().map(|&(x, y)| Some(Point::new(x, y))).collect());
        }
        marks
    }

    /// By hand: end plates at 100 and 200, so a height is 100 pixels.
    #[test]
    fn an_instrument_that_ends_beyond_the_next_disc_is_another_levels() {
        let ap = marks(&[
            (MarkKind::SuperiorEndPlate, &[(50.0, 100.0), (100.0, 103.0), (150.0, 100.0)]),
            (MarkKind::InferiorEndPlate, &[(50.0, 200.0), (100.0, 197.0), (150.0, 200.0)]),
        ]);
        let at = |y| is_treated(View::Ap, &ap, Point::new(300.0, y));
        assert_eq!(
            [65.0, 80.0, 150.0, 220.0, 235.0].map(at),
            [Some(false), None, Some(true), None, Some(false)]
        );
        assert_eq!(is_treated(View::Ap, &Marks::new(), Point::new(0.0, 0.0)), None);
    }

    /// By hand: a pedicle 40 pixels high about (100, 120).
    #[test]
    fn an_instrument_near_the_pedicle_is_in_it() {
        let en_face =
            marks(&[(MarkKind::Pedicle, &[(100.0, 100.0), (100.0, 140.0), (85.0, 120.0), (115.0, 120.0)])]);
        let at = |x| is_treated(View::Pedicle, &en_face, Point::new(x, 120.0));
        assert_eq!([100.0, 143.0, 145.0, 200.0].map(at), [Some(true), Some(true), None, None]);
    }
}
