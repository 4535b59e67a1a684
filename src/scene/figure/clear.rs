//! Keeps the words of an overlay inside their image, off each other, off the bone and off what stands in its corners.
//!
//! A number that has no free place near its line is left out: the legend says it, and a number that cannot be read, or
//! that hides bone, says less than none.

use crate::geom::point::{Point, Vec2};
use crate::scene::drawing::primitive::{displaced, fit};
use crate::scene::drawing::set_line::SetLine;
use crate::scene::drawing::shape::{AlignX, AlignY, Rect, Role, Scene, Shape, Text};
use crate::scene::drawing::theme::Theme;
use crate::scene::drawing::touch::lies_on;

/// How far from their place words may be moved, in points, and in which steps.
const FARTHEST: u32 = 21;
const STEP: f64 = 2.0;
/// In how many directions.
const DIRECTIONS: u32 = 16;
/// Least distance of two plates, and of a plate from the image's edge.
const APART: f64 = 1.0;

/// The plate behind a text, in the points of its room.
pub(super) fn plate_of(text: &Text, place: &dyn Fn(Point) -> Point) -> Rect {
    SetLine::of(&text.words, Theme::points(text.size), displaced(text.at, text.offset, place), text.align)
        .plate()
}

/// Moves or leaves out the words of a picture's scene that is shown in `room`. `kept` are boxes that are taken already,
/// `bone` is the body's outline in the room's points, empty where there is none.
pub(super) fn clear(scene: &mut Scene, room: Rect, kept: &[Rect], bone: &[Point]) {
    let (scale, origin) = fit(scene.bounds, room);
    let place = |p: Point| origin + p.to_vec() * scale;
    let words = |(i, shape): (usize, &Shape)| match shape {
        Shape::Text(text) => Some((i, rank(text.role), plate_of(text, &place))),
        _ => None,
    };
    let mut order: Vec<(usize, u8, Rect)> = scene.shapes.iter().enumerate().filter_map(words).collect();
    order.sort_by_key(|(_, rank, _)| *rank);
    let mut found = places(&order, room, kept, bone);
    // Whoever comes first may take the only place of the next; then the other way round may have room for both.
    if found.iter().any(|(_, to)| to.is_none()) {
        order.reverse();
        order.sort_by_key(|(_, rank, _)| *rank);
        let other = places(&order, room, kept, bone);
        let left_out = |found: &[(usize, Option<Rect>)]| found.iter().filter(|(_, to)| to.is_none()).count();
        if left_out(&other) < left_out(&found) {
            found = other;
        }
    }
    let of_one_line = |i: usize, j: usize| match (scene.shapes.get(i), scene.shapes.get(j)) {
        (Some(Shape::Text(a)), Some(Shape::Text(b))) => a.role == b.role && rank(a.role) == 0,
        _ => false,
    };
    in_their_order(&mut found, &order, &of_one_line);
    let corner = room_corner(scene.bounds, scale, origin);
    let mut out = Vec::new();
    for (i, to) in found {
        let Some(Shape::Text(text)) = scene.shapes.get_mut(i) else { continue };
        match to {
            Some(to) if to != plate_of(text, &place) => {
                text.at = scene.bounds.min + (to.centre() - corner) * (1.0 / scale);
                text.offset = (0.0, 0.0);
                text.align = (AlignX::Middle, AlignY::Middle);
            }
            Some(_) => {}
            None => out.push(i),
        }
    }
    out.sort_unstable();
    for i in out.into_iter().rev() {
        scene.shapes.remove(i);
    }
    // Lines that are drawn later, such as those of pedicles, would run through words.
    scene.shapes.sort_by_key(|shape| matches!(shape, Shape::Text(_)));
}

/// Plates of one size whose words have changed sides change places: 40 % stays above 60 %, and 50 % on its side of 30 %.
/// `of_one_line` says of which two that matters.
fn in_their_order(
    found: &mut [(usize, Option<Rect>)],
    order: &[(usize, u8, Rect)],
    of_one_line: &dyn Fn(usize, usize) -> bool,
) {
    const ALIKE: f64 = 0.6;
    let own = |i: usize| order.iter().find(|(other, ..)| *other == i).map(|(_, _, at)| *at);
    for a in 0..found.len() {
        for b in a + 1..found.len() {
            let ((i, Some(to)), (j, Some(other))) = (found[a], found[b]) else { continue };
            let (Some(at), Some(there)) = (own(i), own(j)) else { continue };
            let near = |a: f64, b: f64| (a - b).abs() < ALIKE;
            let alike = near(at.width(), there.width()) && near(at.height(), there.height());
            let (was, is) = (there.centre() - at.centre(), other.centre() - to.centre());
            if alike && of_one_line(i, j) && was.dot(is) < 0.0 {
                (found[a].1, found[b].1) = (Some(other), Some(to));
            }
        }
    }
}

/// Where each of these plates goes, one after the other; none where there is no free place near its own.
fn places(
    order: &[(usize, u8, Rect)],
    room: Rect,
    kept: &[Rect],
    bone: &[Point],
) -> Vec<(usize, Option<Rect>)> {
    let within = room.grown(-APART);
    let mut taken: Vec<Rect> = kept.to_vec();
    let mut found = Vec::with_capacity(order.len());
    for &(i, _, at) in order {
        let free = |at: &Rect| {
            within.contains(at.min)
                && within.contains(at.max)
                && !taken.iter().any(|other| at.grown(APART).overlaps(*other))
                && !lies_on(*at, bone)
        };
        let to = ways().map(|by| shifted(at, by)).find(free);
        taken.extend(to);
        found.push((i, to));
    }
    found
}

/// Where the top-left corner of the part that is shown lies.
fn room_corner(bounds: Rect, scale: f64, origin: Point) -> Point {
    origin + bounds.min.to_vec() * scale
}

/// Which words find their place first.
const fn rank(role: Role) -> u8 {
    match role {
        Role::DepthBand | Role::HeightBand | Role::MidlineBand | Role::DockingTarget => 0,
        Role::Text => 1,
        Role::Ruler => 3,
        _ => 2,
    }
}

fn shifted(r: Rect, by: Vec2) -> Rect {
    Rect { min: r.min + by, max: r.max + by }
}

/// No way first, then further and further ones.
fn ways() -> impl Iterator<Item = Vec2> {
    let around = (1..=FARTHEST).flat_map(|ring| {
        (0..DIRECTIONS).map(move |i| {
            let (sin, cos) = (std::f64::consts::TAU * f64::from(i) / f64::from(DIRECTIONS)).sin_cos();
            Vec2::new(cos, sin) * (STEP * f64::from(ring))
        })
    });
    std::iter::once(Vec2::new(0.0, 0.0)).chain(around)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::drawing::shape::Space;

    fn scene(words: &[(f64, f64, &str)]) -> Scene {
        let mut scene = Scene::new(Space::Image, Rect::new(0.0, 0.0, 100.0, 80.0));
        for (x, y, said) in words {
            let text = Text::new(Point::new(*x, *y), *said, Role::Ruler);
            scene.text(text.aligned(AlignX::Middle, AlignY::Middle).on_plate());
        }
        scene
    }

    fn plates(scene: &Scene, room: Rect) -> Vec<Rect> {
        let (scale, origin) = fit(scene.bounds, room);
        let place = |p: Point| origin + p.to_vec() * scale;
        let plate =
            |shape: &Shape| if let Shape::Text(text) = shape { Some(plate_of(text, &place)) } else { None };
        scene.shapes.iter().filter_map(plate).collect()
    }

    #[test]
    fn words_end_inside_and_apart() {
        let room = Rect::new(20.0, 10.0, 220.0, 170.0);
        let mut scene =
            scene(&[(0.0, 40.0, "30 %"), (2.0, 41.0, "50 %"), (84.0, 66.0, "60 %"), (50.0, 40.0, "20 %")]);
        clear(&mut scene, room, &[Rect::new(180.0, 140.0, 220.0, 170.0)], &[]);
        let plates = plates(&scene, room);
        assert_eq!(plates.len(), 4);
        for (i, a) in plates.iter().enumerate() {
            assert!(room.contains(a.min) && room.contains(a.max), "{a:?}");
            assert!(!a.overlaps(Rect::new(180.0, 140.0, 220.0, 170.0)));
            assert!(plates.iter().skip(i + 1).all(|b| !a.overlaps(*b)));
        }
        // What is free stays where it was.
        assert!(plates[3].centre().distance(Point::new(120.0, 90.0)) < 1e-9);
    }

    /// On a low slide 60 % once stood above 40 %.
    #[test]
    fn numbers_that_are_moved_stay_in_their_order() {
        let plate = |y: f64| Rect::new(0.0, y, 30.0, y + 14.0);
        let order = [(4, 0, plate(10.0)), (7, 0, plate(30.0)), (9, 3, plate(50.0))];
        let swapped = [(4, Some(plate(60.0))), (7, Some(plate(40.0))), (9, Some(plate(0.0)))];
        let mut found = swapped;
        in_their_order(&mut found, &order, &|i, j| i < 9 && j < 9);
        assert_eq!(found, [(4, Some(plate(40.0))), (7, Some(plate(60.0))), (9, Some(plate(0.0)))]);
        let mut one = [(4, None), (7, Some(plate(40.0))), (9, None)];
        in_their_order(&mut one, &order, &|_, _| true);
        assert_eq!(one[1], (7, Some(plate(40.0))));
    }

    #[test]
    fn no_line_runs_through_words() {
        let room = Rect::new(0.0, 0.0, 200.0, 160.0);
        let mut scene = scene(&[(30.0, 40.0, "40 %")]);
        scene.line(vec![Point::new(0.0, 40.0), Point::new(90.0, 40.0)], Role::Pedicle);
        clear(&mut scene, room, &[], &[]);
        assert!(matches!(scene.shapes.as_slice(), [Shape::Line { .. }, Shape::Text(_)]));
    }

    /// The first of two takes the place between the heading and the edge so that none is left for the second, which has one
    /// if it comes first.
    #[test]
    fn words_come_in_the_order_that_leaves_out_fewest() {
        let room = Rect::new(0.0, 0.0, 100.0, 80.0);
        let plate = |x: f64| {
            let scene = scene(&[(x, 40.0, "30 %")]);
            plates(&scene, room)[0]
        };
        let wide = plate(50.0).width();
        // Room for two plates side by side and little more; nothing above and below.
        let (left, right) = (50.0 - wide - 4.0, 50.0 + wide + 4.0);
        let kept = [
            Rect::new(0.0, 0.0, left, 80.0),
            Rect::new(right, 0.0, 100.0, 80.0),
            Rect::new(0.0, 0.0, 100.0, plate(50.0).min.y - 2.0),
            Rect::new(0.0, plate(50.0).max.y + 2.0, 100.0, 80.0),
        ];
        let inner = [right - 0.5 * wide - 6.5, right - 0.5 * wide - 1.2].map(|x| (x, 40.0, "30 %"));
        let mut both = scene(&inner);
        clear(&mut both, room, &kept, &[]);
        assert_eq!(both.shapes.len(), 2);
        let mut turned = scene(&[inner[1], inner[0]]);
        clear(&mut turned, room, &kept, &[]);
        assert_eq!(turned.shapes.len(), 2);
    }

    #[test]
    fn words_leave_the_bone_or_go() {
        let room = Rect::new(0.0, 0.0, 200.0, 160.0);
        let bone = [
            Point::new(60.0, 40.0),
            Point::new(140.0, 40.0),
            Point::new(140.0, 120.0),
            Point::new(60.0, 120.0),
        ];
        let mut near = scene(&[(31.0, 40.0, "30 %")]);
        clear(&mut near, room, &[], &bone);
        assert!(plates(&near, room)[0].max.x <= 60.0);
        let mut deep = scene(&[(50.0, 40.0, "30 %")]);
        let wide: Vec<Point> =
            bone.iter().map(|p| Point::new((p.x - 100.0) * 2.4 + 100.0, (p.y - 80.0) * 2.0 + 80.0)).collect();
        clear(&mut deep, room, &[], &wide);
        assert!(deep.shapes.is_empty());
    }
}
