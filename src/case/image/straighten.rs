//! A photo of a screen, straightened, as a new picture: the four corners of the screen become a rectangle, or its round
//! field becomes round again. Gray values are interpolated between the four pixels around each place.

use std::f64::consts::PI;

use crate::case::image::frame::{Frame, Samples};
use crate::geom::ellipse::{self, Ellipse};
use crate::geom::point::{Point, Vec2};
use crate::geom::projective::Projective;

/// The smallest side of a screen in a photo, in pixels.
const SMALLEST_PX: f64 = 16.0;
/// The largest side of the straightened picture, in pixels.
const LARGEST_PX: f64 = 8192.0;
/// How much more than the field the picture shows, as a multiple of its radius.
const AROUND: f64 = 1.04;
/// A field that looks flatter than this (short axis over long axis) was not seen from anywhere near the front.
const FLATTEST: f64 = 0.25;
/// How far a point may lie off the ellipse of all, as a part of its radius.
const OFF_ELLIPSE: f64 = 0.05;
/// The widest gap between points on the edge of the field, seen from its center.
const WIDEST_GAP: f64 = PI;
/// How far from the middle of its ellipse the center of a field may be marked, as a part of the radius.
const FARTHEST_CENTRE: f64 = 0.5;

/// What of the screen is known in the photo.
#[derive(Clone, Debug, PartialEq)]
pub enum ScreenOutline {
    /// Its corners.
    Corners {
        /// Upper left, upper right, lower right, lower left.
        corners: [Point; 4],
        /// The screen's width over its height, where it is known; else the sides' lengths in the photo tell.
        aspect: Option<f64>,
    },
    /// The edge of its round field.
    Field {
        /// At least five points on the edge, all around.
        edge: Vec<Point>,
        /// The center of the field, where it can be seen. Without it the photo counts as taken from far away: the
        /// field's ellipse is stretched, and what perspective does within it stays.
        centre: Option<Point>,
    },
}

/// The picture of a screen of which this is known in the photo.
///
/// # Errors
/// One sentence, if the points do not enclose a screen, or lie on no ellipse.
pub fn straightened(photo: &Frame, outline: &ScreenOutline) -> Result<Frame, String> {
    let (width, height) = (f64::from(photo.width), f64::from(photo.height));
    let near = |p: &Point| {
        (-0.5 * width..=1.5 * width).contains(&p.x) && (-0.5 * height..=1.5 * height).contains(&p.y)
    };
    let far =
        |what: &str| format!("{what} lies far outside the image; enter positions in pixels of the image");
    match outline {
        ScreenOutline::Corners { corners, aspect } => {
            if !corners.iter().all(near) {
                return Err(far("a corner"));
            }
            by_corners(photo, *corners, *aspect)
        }
        ScreenOutline::Field { edge, centre } => {
            if !edge.iter().chain(centre).all(near) {
                return Err(far("a point"));
            }
            by_field(photo, edge, *centre)
        }
    }
}

fn by_corners(photo: &Frame, corners: [Point; 4], aspect: Option<f64>) -> Result<Frame, String> {
    // All turns to the right, so that the corners go around once.
    let turns = (0..4).all(|i| {
        let [a, b, c] = [0, 1, 2].map(|k| corners[(i + k) % 4]);
        (b - a).cross(c - b) > 0.0
    });
    let side = |i: usize, k: usize| corners[i].distance(corners[k]);
    let (across, down) = (0.5 * (side(0, 1) + side(3, 2)), 0.5 * (side(0, 3) + side(1, 2)));
    if !turns || across.min(down) < SMALLEST_PX {
        return Err(
            "the four corners do not enclose a screen; enter upper left, upper right, lower right, lower left"
                .to_owned(),
        );
    }
    let aspect = aspect.unwrap_or(across / down);
    if !(0.1..=10.0).contains(&aspect) {
        return Err("the width over the height of a screen must be between 0.1 and 10".to_owned());
    }
    // As many pixels as the photo has of the screen.
    let height = (across * down / aspect).sqrt();
    let shrink = (LARGEST_PX / height.max(height * aspect)).min(1.0);
    let (width, height) = ((height * aspect * shrink).round().max(1.0), (height * shrink).round().max(1.0));
    let screen = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)].map(|(x, y)| Point::new(x, y));
    let map = Projective::of_four(screen, corners)
        .ok_or("three of the corners lie on a line; enter the four corners of the screen")?;
    Ok(sampled(photo, (width, height), |at| map.of(at)))
}

fn by_field(photo: &Frame, edge: &[Point], centre: Option<Point>) -> Result<Frame, String> {
    let field = ellipse_of_field(edge)?;
    let radius = (field.half_axes[0] * field.half_axes[1]).sqrt();
    let seen = centre.map_or(Vec2::default(), |at| field.to_disc(at));
    if seen.dot(seen).sqrt() > FARTHEST_CENTRE {
        return Err("the center of the field is marked too near to its edge; mark it again, or leave it out"
            .to_owned());
    }
    let full = 2.0 * AROUND * radius;
    let shrink = (LARGEST_PX / full).min(1.0);
    let side = (full * shrink).round().max(1.0);
    let place = |at: Point| {
        let disc = (at - Point::new(0.5 * side, 0.5 * side)) / (radius * shrink);
        Some(field.of_disc(moved_center(disc, seen)))
    };
    Ok(sampled(photo, (side, side), place))
}

/// The ellipse that the round field is in a photo, by points on its edge.
///
/// # Errors
/// One sentence, if the points lie on no ellipse that could be a round field.
pub fn ellipse_of_field(edge: &[Point]) -> Result<Ellipse, String> {
    if edge.len() < ellipse::FEWEST {
        return Err(format!("mark at least {} points on the edge of the round field", ellipse::FEWEST));
    }
    let none =
        "the points do not lie on an ellipse; mark points on the edge of the round field, all around it";
    let field = Ellipse::of_points(edge).ok_or(none)?;
    let [short, long] = match field.half_axes {
        [a, b] if a < b => [a, b],
        [a, b] => [b, a],
    };
    if 2.0 * short < SMALLEST_PX || short < FLATTEST * long {
        return Err("the round field is too small or seen from too far aside; take the photo from the front"
            .to_owned());
    }
    let places = edge.iter().map(|p| field.to_disc(*p));
    if places.clone().any(|at| (at.dot(at).sqrt() - 1.0).abs() > OFF_ELLIPSE) {
        return Err(none.to_owned());
    }
    let mut turns: Vec<f64> = places.map(|at| at.y.atan2(at.x)).collect();
    turns.sort_by(f64::total_cmp);
    let round = turns.first().map(|first| first + 2.0 * PI);
    let gaps = turns.iter().zip(turns.iter().skip(1).chain(&round)).map(|(from, to)| to - from);
    if gaps.fold(0.0, f64::max) > WIDEST_GAP {
        return Err("mark points all around the edge of the round field, not on one side of it".to_owned());
    }
    Ok(field)
}

/// The projective map of the unit disc onto itself that takes its center to `to` and turns nothing there: what the
/// perspective of a camera does within a round field beside stretching it. It keeps the circle, since `1 − |at|²` only
/// gets a factor.
fn moved_center(at: Vec2, to: Vec2) -> Vec2 {
    let far = to.dot(to).sqrt();
    if far <= 0.0 {
        return at;
    }
    let along = to / far;
    let across = Vec2::new(-along.y, along.x);
    let (x, y) = (at.dot(along), at.dot(across));
    let depth = 1.0 + far * x;
    along * ((x + far) / depth) + across * (y * (1.0 - far * far).sqrt() / depth)
}

/// A picture of this size whose pixels lie at these places of the photo.
fn sampled(photo: &Frame, (width, height): (f64, f64), place: impl Fn(Point) -> Option<Point>) -> Frame {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "between 1 and the largest side"
    )]
    let (columns, rows) = (width as u32, height as u32);
    let value = |column: u32, row: u32| {
        place(Point::new(f64::from(column) + 0.5, f64::from(row) + 0.5)).map_or(0.0, |p| between(photo, p))
    };
    let all = || (0..rows).flat_map(|row| (0..columns).map(move |column| (column, row)));
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "between values of the photo"
    )]
    let samples = match photo.samples {
        Samples::Gray8(_) => Samples::Gray8(all().map(|(x, y)| value(x, y).round() as u8).collect()),
        Samples::Gray16(_) => Samples::Gray16(all().map(|(x, y)| value(x, y).round() as u16).collect()),
    };
    Frame::of_samples(columns, rows, samples)
}

/// The gray between the four pixels around a place; outside the picture that of its edge.
fn between(frame: &Frame, at: Point) -> f64 {
    let (x, y) = (at.x - 0.5, at.y - 0.5);
    let (left, top) = (x.floor(), y.floor());
    let gray = |column: f64, row: f64| {
        let clamp = |n: f64, size: u32| n.clamp(0.0, f64::from(size.saturating_sub(1)));
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "inside the picture")]
        let (column, row) = (clamp(column, frame.width) as u32, clamp(row, frame.height) as u32);
        f64::from(frame.value(column, row).unwrap_or(0))
    };
    let (right, low) = (x - left, y - top);
    let upper = gray(left, top) * (1.0 - right) + gray(left + 1.0, top) * right;
    let lower = gray(left, top + 1.0) * (1.0 - right) + gray(left + 1.0, top + 1.0) * right;
    upper * (1.0 - low) + lower * low
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ramp() -> Frame {
        let samples = (0..100_u16).flat_map(|y| (0..200_u16).map(move |x| 10 * x + 600 * y)).collect();
        Frame::of_samples(200, 100, Samples::Gray16(samples))
    }

    fn points(all: &[(f64, f64)]) -> Vec<Point> {
        all.iter().map(|&(x, y)| Point::new(x, y)).collect()
    }

    fn corners(all: [(f64, f64); 4], aspect: Option<f64>) -> ScreenOutline {
        ScreenOutline::Corners { corners: all.map(|(x, y)| Point::new(x, y)), aspect }
    }

    #[test]
    fn the_whole_photo_is_itself() {
        let photo = ramp();
        let whole = corners([(0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0)], None);
        assert_eq!(straightened(&photo, &whole).unwrap().samples, photo.samples);
    }

    #[test]
    fn a_tilted_screen_becomes_a_rectangle_of_its_aspect() {
        let seen = corners([(20.0, 10.0), (180.0, 20.0), (170.0, 80.0), (30.0, 95.0)], Some(1.5));
        let found = straightened(&ramp(), &seen).unwrap();
        let aspect = f64::from(found.width) / f64::from(found.height);
        assert!((aspect - 1.5).abs() < 0.02, "{aspect}");
        // The ramp is linear in the photo, so its value tells the place: the corner's first pixel lies beside the corner.
        let first = f64::from(found.value(0, 0).unwrap());
        assert!((first - (10.0 * 20.0 + 600.0 * 10.0)).abs() < 720.0, "{first}");
    }

    #[test]
    fn corners_that_enclose_nothing_are_refused() {
        for bad in [
            [(0.0, 0.0), (200.0, 0.0), (0.0, 100.0), (200.0, 100.0)],
            [(0.0, 0.0), (0.0, 100.0), (200.0, 100.0), (200.0, 0.0)],
            [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)],
            [(0.0, 0.0), (9000.0, 0.0), (200.0, 100.0), (0.0, 100.0)],
            [(f64::NAN, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0)],
        ] {
            assert!(straightened(&ramp(), &corners(bad, None)).is_err(), "{bad:?}");
        }
    }

    #[test]
    fn a_flattened_field_becomes_round_about_its_middle() {
        // Twice as wide as high: the picture is as large in area, its middle is the field's.
        let edge =
            Ellipse { centre: Point::new(100.0, 50.0), half_axes: [80.0, 40.0], angle: 0.0 }.outline(8);
        let found = straightened(&ramp(), &ScreenOutline::Field { edge, centre: None }).unwrap();
        let side = (2.0 * AROUND * (80.0_f64 * 40.0).sqrt()).round();
        assert!((f64::from(found.width) - side).abs() < 0.5 && found.width == found.height);
        let middle = found.value(found.width / 2, found.height / 2).unwrap();
        assert!(middle.abs_diff(10 * 100 + 600 * 50) < 700, "{middle}");
    }

    #[test]
    fn the_map_that_moves_the_center_keeps_the_circle_and_straight_lines() {
        let to = Vec2::new(0.2, -0.1);
        let moved = |x: f64, y: f64| moved_center(Vec2::new(x, y), to);
        assert!((moved(0.0, 0.0) - to).dot(moved(0.0, 0.0) - to) < 1e-24);
        for i in 0..12 {
            let on = moved(f64::from(i).cos(), f64::from(i).sin());
            assert!((on.dot(on) - 1.0).abs() < 1e-12);
        }
        let [a, b, c] = [moved(-0.5, 0.1), moved(0.1, 0.25), moved(0.7, 0.4)];
        assert!((b - a).cross(c - a).abs() < 1e-12, "three points of a line stay on one");
    }

    #[test]
    fn points_that_are_no_round_field_are_refused() {
        let round = |from: f64, to: f64, count: u16| {
            let at = |i: u16| from + (to - from) * f64::from(i) / f64::from(count - 1);
            (0..count)
                .map(|i| Point::new(100.0 + 40.0 * at(i).cos(), 50.0 + 40.0 * at(i).sin()))
                .collect::<Vec<Point>>()
        };
        let whole = round(0.0, 5.5, 8);
        let tried = |edge: Vec<Point>, centre: Option<(f64, f64)>| {
            let centre = centre.map(|(x, y)| Point::new(x, y));
            straightened(&ramp(), &ScreenOutline::Field { edge, centre }).map(drop)
        };
        assert_eq!(tried(whole.clone(), None), Ok(()));
        assert_eq!(tried(whole.clone(), Some((101.0, 50.0))), Ok(()));
        assert!(tried(whole.clone(), Some((130.0, 50.0))).unwrap_err().contains("center"));
        assert!(tried(whole[..4].to_vec(), None).unwrap_err().contains("at least 5"));
        assert!(tried(round(0.0, 2.5, 8), None).unwrap_err().contains("all around"));
        let mut astray = whole;
        astray[3] = Point::new(100.0, 60.0);
        assert!(tried(astray, None).unwrap_err().contains("ellipse"));
        let flat =
            Ellipse { centre: Point::new(100.0, 50.0), half_axes: [90.0, 12.0], angle: 0.0 }.outline(8);
        assert!(tried(flat, None).unwrap_err().contains("from the front"));
        assert!(tried(points(&[(0.0, 0.0); 6]), None).unwrap_err().contains("ellipse"));
        assert!(tried(points(&[(f64::NAN, 0.0); 6]), None).unwrap_err().contains("outside"));
    }
}
