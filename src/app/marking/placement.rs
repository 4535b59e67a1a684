//! From a place in the image to a change of the marks: where a new point belongs, and which point lies near.

use crate::app::marking::guide::{Step, StepPart};
use crate::case::document::edit::Edit;
use crate::geom::point::Point;
use crate::geom::segment;
use crate::measure::mark::{MarkKind, MarkRef, Marks, View};

/// The change that puts a step's point at `to`: moves the point where it is placed already, else places it.
#[must_use]
pub fn place(shot: &str, marks: &Marks, step: Step, to: Point) -> (Edit, MarkRef) {
    if let Some(at) = step.placed(marks) {
        return (Edit::Place { shot: shot.to_owned(), at, to }, at);
    }
    let index = match step.part {
        StepPart::First => 0,
        StepPart::Nth(i) => i,
        StepPart::Last => marks.slots(step.kind).len().max(2) - 1,
        StepPart::Between => return add(shot, marks, step.kind, to),
    };
    let at = MarkRef { kind: step.kind, index };
    (Edit::Place { shot: shot.to_owned(), at, to }, at)
}

/// The change that adds a further interior point at the place along the border where it makes the least
/// detour.
#[must_use]
pub fn add(shot: &str, marks: &Marks, kind: MarkKind, to: Point) -> (Edit, MarkRef) {
    let slots = marks.slots(kind);
    let wall = kind.count().0 == 0;
    if !wall && slots.len() < 2 {
        // A plate of which nothing is placed yet: both ends stay open around the new point.
        let mut all = marks.clone();
        all.set(kind, vec![None, Some(to), None]);
        return (Edit::SetMarks { shot: shot.to_owned(), marks: all }, MarkRef { kind, index: 1 });
    }
    let ends = if wall { wall_corners(marks, kind) } else { [None, None] };
    // Known points with the index that a point put after them would get.
    let mut chain: Vec<(Point, usize)> = Vec::new();
    chain.extend(ends[0].map(|p| (p, 0)));
    chain.extend(slots.iter().enumerate().filter_map(|(i, slot)| slot.map(|p| (p, i + 1))));
    chain.extend(ends[1].map(|p| (p, slots.len())));
    let detour = |a: Point, b: Point| a.distance(to) + to.distance(b) - a.distance(b);
    let best = chain.windows(2).min_by(|a, b| detour(a[0].0, a[1].0).total_cmp(&detour(b[0].0, b[1].0)));
    let index = match (best, chain.first()) {
        (Some(pair), _) => pair[0].1,
        // A lone wall point has no direction yet; walls run downwards.
        (None, Some(&(only, after))) if wall => {
            if to.y < only.y {
                0
            } else {
                after
            }
        }
        _ => usize::from(!wall),
    };
    let index = if wall { index.min(slots.len()) } else { index.clamp(1, slots.len() - 1) };
    let at = MarkRef { kind, index };
    (Edit::Insert { shot: shot.to_owned(), at, to }, at)
}

/// Superior and inferior corner of a wall, where placed. Lateral walls have their own ends of the plates; in
/// AP the ends are those on the wall's own half, which only its own points tell.
fn wall_corners(marks: &Marks, kind: MarkKind) -> [Option<Point>; 2] {
    let end = |plate: MarkKind, last: bool| {
        let slots = marks.slots(plate);
        if last {
            slots.last().copied().flatten().filter(|_| slots.len() > 1)
        } else {
            slots.first().copied().flatten()
        }
    };
    let plates = [MarkKind::SuperiorEndPlate, MarkKind::InferiorEndPlate];
    match kind {
        MarkKind::PosteriorWall => plates.map(|plate| end(plate, false)),
        MarkKind::AnteriorWall => plates.map(|plate| end(plate, true)),
        _ => {
            let own = marks.slots(kind).iter().copied().flatten().next();
            plates.map(|plate| {
                let own = own?;
                [end(plate, false), end(plate, true)]
                    .into_iter()
                    .flatten()
                    .min_by(|a, b| (a.x - own.x).abs().total_cmp(&(b.x - own.x).abs()))
            })
        }
    }
}

/// The placed point within `radius` pixels of `p`: the preferred one if it is near enough, else the nearest.
#[must_use]
pub fn hit(marks: &Marks, view: View, p: Point, radius: f64, preferred: Option<MarkRef>) -> Option<MarkRef> {
    if let Some(at) = preferred
        && marks.point(at).is_some_and(|q| q.distance(p) <= radius)
    {
        return Some(at);
    }
    marks
        .placed()
        .filter(|(at, q)| at.kind.belongs_to(view) && q.distance(p) <= radius)
        .min_by(|a, b| a.1.distance(p).total_cmp(&b.1.distance(p)))
        .map(|(at, _)| at)
}

/// The border, open to further points, whose line passes within `radius` pixels of `p`.
#[must_use]
pub fn border_near(marks: &Marks, view: View, p: Point, radius: f64) -> Option<MarkKind> {
    MarkKind::ALL
        .into_iter()
        .filter(|kind| kind.belongs_to(view) && kind.count().1 == usize::MAX && *kind != MarkKind::Cannula)
        .filter_map(|kind| {
            let line = polyline(marks, kind);
            let nearest =
                line.windows(2).map(|w| segment::distance([w[0], w[1]], p)).min_by(f64::total_cmp)?;
            (nearest <= radius).then_some((kind, nearest))
        })
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(kind, _)| kind)
}

/// The placed points of a mark in order, a wall with its corners.
#[must_use]
pub fn polyline(marks: &Marks, kind: MarkKind) -> Vec<Point> {
    let own = marks.slots(kind).iter().copied().flatten();
    if kind.count().0 == 0 {
        let [from, to] = wall_corners(marks, kind);
        return from.into_iter().chain(own).chain(to).collect();
    }
    own.collect()
}

/// Whether the posterior side lies on the left of the picture, as far as the marks tell: by the plates' ends,
/// else by the walls, else by the cannula, which enters from behind.
#[must_use]
pub fn posterior_is_left(marks: &Marks) -> Option<bool> {
    let mean = |points: &[Point]| -> Option<f64> {
        let n = u32::try_from(points.len()).ok().filter(|&n| n > 0)?;
        Some(points.iter().map(|p| p.x).sum::<f64>() / f64::from(n))
    };
    let collect = |part: StepPart, kind: MarkKind| {
        let plates = [MarkKind::SuperiorEndPlate, MarkKind::InferiorEndPlate];
        let ends =
            plates.map(|plate| Step { kind: plate, part }.placed(marks).and_then(|at| marks.point(at)));
        let wall = marks.slots(kind).iter().copied().flatten();
        ends.into_iter().flatten().chain(wall).collect::<Vec<_>>()
    };
    let back = mean(&collect(StepPart::First, MarkKind::PosteriorWall));
    let front = mean(&collect(StepPart::Last, MarkKind::AnteriorWall));
    // Half way along the plates lies in front of the one and behind the other.
    let between = mean(&collect(StepPart::Between, MarkKind::PosteriorWallSecond));
    let order = |a: f64, b: f64| ((a - b).abs() > 1.0).then_some(a < b);
    if let (Some(back), Some(front)) = (back.or(between), front.or(between))
        && (back - front).abs() > 1.0
    {
        return order(back, front);
    }
    let cannula = polyline(marks, MarkKind::Cannula);
    let (outer, mouth) = (cannula.first()?, cannula.last().filter(|_| cannula.len() > 1)?);
    order(outer.x, mouth.x)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::document::{Case, Shot};

    fn applied(marks: &Marks, edit: &Edit) -> Marks {
        let mut case = Case::default();
        let mut shot = Shot::new("a", "a.png", View::Lateral);
        shot.marks = marks.clone();
        case.shots.push(shot);
        case.apply(edit).unwrap();
        case.shots[0].marks.clone()
    }

    fn body() -> Marks {
        Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (90.0, 0.0)])
            .with(MarkKind::InferiorEndPlate, &[(0.0, 60.0), (90.0, 60.0)])
    }

    #[test]
    fn further_points_go_where_they_belong_along_a_plate() {
        let mut marks = body();
        for x in [45.0, 20.0, 70.0, 30.0] {
            let (edit, at) = add("a", &marks, MarkKind::SuperiorEndPlate, Point::new(x, 3.0));
            marks = applied(&marks, &edit);
            assert_eq!(marks.point(at), Some(Point::new(x, 3.0)));
        }
        let xs: Vec<f64> = polyline(&marks, MarkKind::SuperiorEndPlate).iter().map(|p| p.x).collect();
        assert_eq!(xs, vec![0.0, 20.0, 30.0, 45.0, 70.0, 90.0]);
    }

    #[test]
    fn further_points_of_a_wall_lie_between_its_corners() {
        let mut marks = body();
        for y in [30.0, 10.0, 50.0] {
            let (edit, _) = add("a", &marks, MarkKind::AnteriorWall, Point::new(88.0, y));
            marks = applied(&marks, &edit);
        }
        let ys: Vec<f64> = polyline(&marks, MarkKind::AnteriorWall).iter().map(|p| p.y).collect();
        assert_eq!(ys, vec![0.0, 10.0, 30.0, 50.0, 60.0]);
    }

    #[test]
    fn a_point_beyond_an_end_stays_interior() {
        let (edit, at) = add("a", &body(), MarkKind::SuperiorEndPlate, Point::new(-20.0, 0.0));
        assert_eq!(at.index, 1);
        let marks = applied(&body(), &edit);
        assert_eq!(marks.slots(MarkKind::SuperiorEndPlate).len(), 3);
    }

    #[test]
    fn points_can_be_placed_in_any_order() {
        let order = [StepPart::Between, StepPart::Last, StepPart::First];
        let mut marks = Marks::new();
        for (part, x) in order.into_iter().zip([45.0, 90.0, 0.0]) {
            let step = Step { kind: MarkKind::SuperiorEndPlate, part };
            let (edit, _) = place("a", &marks, step, Point::new(x, 0.0));
            marks = applied(&marks, &edit);
        }
        let xs: Vec<f64> = polyline(&marks, MarkKind::SuperiorEndPlate).iter().map(|p| p.x).collect();
        assert_eq!(xs, vec![0.0, 45.0, 90.0]);
        let mut marks = Marks::new();
        for y in [30.0, 10.0, 20.0] {
            let (edit, _) = add("a", &marks, MarkKind::PosteriorWall, Point::new(0.0, y));
            marks = applied(&marks, &edit);
        }
        let ys: Vec<f64> = polyline(&marks, MarkKind::PosteriorWall).iter().map(|p| p.y).collect();
        assert_eq!(ys, vec![10.0, 20.0, 30.0]);
    }

    #[test]
    fn the_nearest_point_is_hit_and_the_preferred_one_first() {
        let marks = body().with(MarkKind::Tip, &[(3.0, 0.0)]);
        let corner = MarkRef { kind: MarkKind::SuperiorEndPlate, index: 0 };
        let tip = MarkRef { kind: MarkKind::Tip, index: 0 };
        assert_eq!(hit(&marks, View::Lateral, Point::new(2.0, 0.0), 5.0, None), Some(tip));
        assert_eq!(hit(&marks, View::Lateral, Point::new(2.0, 0.0), 5.0, Some(corner)), Some(corner));
        assert_eq!(hit(&marks, View::Lateral, Point::new(40.0, 30.0), 5.0, None), None);
        assert_eq!(
            border_near(&marks, View::Lateral, Point::new(89.0, 31.0), 4.0),
            Some(MarkKind::AnteriorWall)
        );
    }

    #[test]
    fn marks_tell_which_way_is_back() {
        assert_eq!(posterior_is_left(&body()), Some(true));
        assert_eq!(posterior_is_left(&Marks::new()), None);
        let cannula = Marks::new().with(MarkKind::Cannula, &[(200.0, 0.0), (100.0, 20.0)]);
        assert_eq!(posterior_is_left(&cannula), Some(false));
    }
}
