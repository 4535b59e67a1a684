//! Finds the round field of a frame: image intensifiers leave everything outside a circle at one value, and a
//! border that ends there may go on where nothing was recorded.
//!
//! The circle is looked for only where all four corners show the same value. Rays from the frame's edges inward
//! stop where the picture begins; the circle that most of these points lie on is the field, if what lies outside
//! it is indeed empty and what lies inside is not. Words burned into the corners stop a few rays and are
//! outvoted. In doubt the field is the whole frame.

use crate::case::image::frame::Frame;
use crate::geom::point::Point;
use crate::measure::reading::Field;

/// Rays from each edge.
const RAYS: u32 = 64;
/// How far a value may be from the empty one, as a part of the frame's range of values.
const TOLERANCE: f64 = 0.04;
/// How far a point may lie off the circle, as a part of its radius.
const OFF_CIRCLE: f64 = 0.012;
/// The smallest frame in which a field is looked for, in pixels.
const SMALLEST_PX: u32 = 64;

/// The field of a frame.
#[must_use]
pub fn field_of(frame: &Frame) -> Field {
    round_field(frame).unwrap_or(Field::Whole)
}

fn round_field(frame: &Frame) -> Option<Field> {
    if frame.width < SMALLEST_PX || frame.height < SMALLEST_PX {
        return None;
    }
    let empty = Empty::of(frame)?;
    let points = where_the_picture_begins(frame, empty);
    let (width, height) = (f64::from(frame.width), f64::from(frame.height));
    let sizes = 0.3 * width.min(height)..=0.7 * width.max(height);
    let (centre, radius) = circle_through_most(&points, &sizes)?;
    let on_circle = |p: &&Point| (p.distance(centre) - radius).abs() <= OFF_CIRCLE * radius;
    let on: Vec<&Point> = points.iter().filter(on_circle).collect();
    // All around the centre: a field may be cut by two edges of the frame, but it has a corner on every side.
    let quarters = [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)];
    let all_around = quarters
        .iter()
        .all(|(x, y)| on.iter().any(|p| (p.x - centre.x) * x > 0.0 && (p.y - centre.y) * y > 0.0));
    let central = (centre.x / width - 0.5).abs() < 0.2 && (centre.y / height - 0.5).abs() < 0.2;
    // A step, and not a picture that only fades toward its corners.
    let steps = on.iter().filter(|p| {
        let within = centre + (***p - centre) * 0.97;
        let seen = pixel(within.x).zip(pixel(within.y)).map_or(empty.value, |(x, y)| value(frame, x, y));
        (seen - empty.value).abs() > 3.0 * empty.tolerance
    });
    let is_step = 2 * steps.count() >= on.len();
    if 10 * on.len() < 7 * points.len() || !all_around || !central || !is_step {
        return None;
    }
    let (outside, inside) = emptiness(frame, empty, centre, radius);
    (outside >= 0.9 && inside <= 0.6).then_some(Field::Round { centre, radius })
}

/// The value outside the field, and how far from it still counts as the same.
#[derive(Clone, Copy)]
struct Empty {
    value: f64,
    tolerance: f64,
}

impl Empty {
    /// From the four corners, if they agree.
    fn of(frame: &Frame) -> Option<Self> {
        let (mut lowest, mut highest) = (f64::MAX, f64::MIN);
        for (x, y) in grid(frame, 64) {
            let value = value(frame, x, y);
            lowest = lowest.min(value);
            highest = highest.max(value);
        }
        let tolerance = TOLERANCE * (highest - lowest);
        let (right, bottom) = (frame.width - 1, frame.height - 1);
        let mut corners = [(0, 0), (right, 0), (0, bottom), (right, bottom)].map(|(x, y)| patch(frame, x, y));
        corners.sort_by(f64::total_cmp);
        let agree = tolerance > 0.0 && corners[3] - corners[0] <= tolerance;
        agree.then(|| Self { value: 0.5 * (corners[1] + corners[2]), tolerance })
    }

    fn holds(self, value: f64) -> bool {
        (value - self.value).abs() <= self.tolerance
    }
}

/// The median of a small patch in a corner.
fn patch(frame: &Frame, corner_x: u32, corner_y: u32) -> f64 {
    let side = (frame.width.min(frame.height) / 50).max(2);
    let from = |corner: u32, i: u32| if corner == 0 { i } else { corner - i };
    let mut values: Vec<f64> = (0..side)
        .flat_map(|j| (0..side).map(move |i| (i, j)))
        .map(|(i, j)| value(frame, from(corner_x, i), from(corner_y, j)))
        .collect();
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

fn value(frame: &Frame, x: u32, y: u32) -> f64 {
    frame.value(x, y).map_or(0.0, f64::from)
}

/// The column or row that a coordinate lies in.
fn pixel(coordinate: f64) -> Option<u32> {
    let within = coordinate >= 0.0 && coordinate < f64::from(u32::MAX);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked to lie within")]
    within.then_some(coordinate as u32)
}

/// Places spread evenly over the frame.
fn grid(frame: &Frame, n: u32) -> impl Iterator<Item = (u32, u32)> {
    let (width, height) = (frame.width, frame.height);
    (0..n).flat_map(move |j| (0..n).map(move |i| (spread(i, n, width), spread(j, n, height))))
}

/// The middle of the i-th of n equal parts of a length.
fn spread(i: u32, n: u32, length: u32) -> u32 {
    let at = (2 * u64::from(i) + 1) * u64::from(length) / (2 * u64::from(n));
    u32::try_from(at).unwrap_or(0).min(length - 1)
}

/// Where rays from the four edges first meet three pixels in a row that are not empty. Rays that meet them at
/// once start inside the picture and say nothing.
fn where_the_picture_begins(frame: &Frame, empty: Empty) -> Vec<Point> {
    let (right, bottom) = (frame.width - 1, frame.height - 1);
    let mut points = Vec::new();
    for i in 0..RAYS {
        let (x, y) = (spread(i, RAYS, frame.width), spread(i, RAYS, frame.height));
        let begins = |length: u32, at: &dyn Fn(u32) -> (u32, u32)| {
            let full = |n: u32| {
                let (x, y) = at(n);
                !empty.holds(value(frame, x, y))
            };
            let first = (0..length / 2).find(|&n| full(n) && full(n + 1) && full(n + 2))?;
            (first > 1).then(|| f64::from(first))
        };
        let (fx, fy) = (f64::from(x) + 0.5, f64::from(y) + 0.5);
        let (width, height) = (f64::from(frame.width), f64::from(frame.height));
        points.extend(begins(frame.width, &|n| (n, y)).map(|n| Point::new(n, fy)));
        points.extend(begins(frame.width, &|n| (right - n, y)).map(|n| Point::new(width - n, fy)));
        points.extend(begins(frame.height, &|n| (x, n)).map(|n| Point::new(fx, n)));
        points.extend(begins(frame.height, &|n| (x, bottom - n)).map(|n| Point::new(fx, height - n)));
    }
    points
}

/// The circle on which most points lie, of the circles through three points far apart. A circle must have one of
/// the `sizes`: nearly all points lie near a circle that is so large that it passes the whole frame as a line.
fn circle_through_most(points: &[Point], sizes: &std::ops::RangeInclusive<f64>) -> Option<(Point, f64)> {
    let n = points.len();
    if n < 24 {
        return None;
    }
    let mut best: Option<(usize, Point, f64)> = None;
    for i in 0..n {
        let Some((centre, radius)) = circle(points[i], points[(i + n / 3) % n], points[(i + 2 * n / 3) % n])
        else {
            continue;
        };
        if !sizes.contains(&radius) {
            continue;
        }
        let on = points.iter().filter(|p| (p.distance(centre) - radius).abs() <= OFF_CIRCLE * radius).count();
        if best.is_none_or(|(most, ..)| on > most) {
            best = Some((on, centre, radius));
        }
    }
    best.map(|(_, centre, radius)| (centre, radius))
}

/// The circle through three points: the centre is equally far from all, two linear equations.
fn circle(a: Point, b: Point, c: Point) -> Option<(Point, f64)> {
    let (p, q) = (b - a, c - a);
    let twice_area = p.cross(q);
    if twice_area.abs() < 1.0 {
        return None;
    }
    let (pp, qq) = (p.dot(p), q.dot(q));
    let centre = Point::new(
        a.x + (q.y * pp - p.y * qq) / (2.0 * twice_area),
        a.y + (p.x * qq - q.x * pp) / (2.0 * twice_area),
    );
    Some((centre, centre.distance(a)))
}

/// How much of the frame is empty outside and inside the circle, as parts.
fn emptiness(frame: &Frame, empty: Empty, centre: Point, radius: f64) -> (f64, f64) {
    let (mut outside, mut inside) = ((0.0, 0.0), (0.0, 0.0));
    for (x, y) in grid(frame, 96) {
        let r = Point::new(f64::from(x) + 0.5, f64::from(y) + 0.5).distance(centre) / radius;
        let count = if r > 1.02 {
            &mut outside
        } else if r < 0.95 {
            &mut inside
        } else {
            continue;
        };
        count.1 += 1.0;
        if empty.holds(value(frame, x, y)) {
            count.0 += 1.0;
        }
    }
    let part = |(empty, all): (f64, f64)| if all > 0.0 { empty / all } else { 0.0 };
    (part(outside), part(inside))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::image::frame::Samples;

    fn frame(width: u32, height: u32, value: impl Fn(f64, f64) -> f64) -> Frame {
        let samples = (0..height).flat_map(|y| (0..width).map(move |x| (x, y)));
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to what fits")]
        let sample =
            |(x, y): (u32, u32)| value(f64::from(x) + 0.5, f64::from(y) + 0.5).clamp(0.0, 255.0) as u8;
        Frame::of_samples(width, height, Samples::Gray8(samples.map(sample).collect()))
    }

    /// Something like anatomy: bright and dark, partly as dark as the outside.
    fn anatomy(x: f64, y: f64) -> f64 {
        130.0 + 90.0 * (x / 37.0).sin() + 60.0 * (y / 23.0).cos()
    }

    fn assert_round(frame: &Frame, centre: (f64, f64), radius: f64) {
        let Field::Round { centre: c, radius: r } = field_of(frame) else { panic!("a round field") };
        assert!(c.distance(Point::new(centre.0, centre.1)) < 0.01 * radius, "{c:?}");
        assert!((r - radius).abs() < 0.01 * radius, "{r}");
    }

    #[test]
    fn a_round_field_is_found_dark_or_bright_whole_or_cut() {
        for empty in [0.0, 255.0, 90.0] {
            let round = |cx: f64, cy: f64, radius: f64| {
                move |x: f64, y: f64| {
                    if (x - cx).hypot(y - cy) > radius { empty } else { anatomy(x, y) }
                }
            };
            assert_round(&frame(512, 512, round(256.0, 256.0, 250.0)), (256.0, 256.0), 250.0);
            assert_round(&frame(640, 480, round(310.0, 245.0, 210.0)), (310.0, 245.0), 210.0);
            // Cut by the upper and lower edge.
            assert_round(&frame(640, 480, round(320.0, 240.0, 290.0)), (320.0, 240.0), 290.0);
        }
    }

    #[test]
    fn words_in_the_corners_are_outvoted() {
        let with_words = |x: f64, y: f64| {
            let word = (12.0..110.0).contains(&x) && (20.0..40.0).contains(&y) && (x / 4.0).sin() > 0.0;
            if word {
                255.0
            } else if (x - 256.0).hypot(y - 256.0) > 240.0 {
                3.0
            } else {
                anatomy(x, y)
            }
        };
        assert_round(&frame(512, 512, with_words), (256.0, 256.0), 240.0);
    }

    #[test]
    fn in_doubt_the_field_is_the_whole_frame() {
        let whole = |frame: &Frame| assert_eq!(field_of(frame), Field::Whole);
        whole(&frame(512, 512, anatomy));
        whole(&frame(512, 512, |_, _| 40.0));
        // Shutters leave a rectangle.
        whole(&frame(512, 512, |x, y| {
            let open = (80.0..430.0).contains(&x) && (60.0..450.0).contains(&y);
            if open { anatomy(x, y) } else { 0.0 }
        }));
        // A frame that only darkens toward its corners.
        whole(&frame(512, 512, |x, y| 200.0 - 0.5 * (x - 256.0).hypot(y - 256.0)));
        // A small bright thing on nothing.
        whole(&frame(512, 512, |x, y| if (x - 250.0).hypot(y - 250.0) < 40.0 { 255.0 } else { 0.0 }));
        whole(&frame(20, 20, |x, y| if (x - 10.0).hypot(y - 10.0) > 9.0 { 0.0 } else { 200.0 }));
    }
}
