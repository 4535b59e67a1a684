//! A photo of a screen, straightened: the quadrangle of the screen becomes a rectangle, as a new picture. Gray values are
//! interpolated between the four pixels around each place.

use crate::case::image::frame::{Frame, Samples};
use crate::geom::point::Point;
use crate::geom::projective::Projective;

/// The smallest side of a screen in a photo, in pixels.
const SMALLEST_PX: f64 = 16.0;
/// The largest side of the straightened picture, in pixels.
const LARGEST_PX: f64 = 8192.0;

/// The picture of a screen whose corners lie at these places of the photo: upper left, upper right, lower right, lower
/// left. `aspect` is the screen's width over its height, where it is known; else the sides' lengths in the photo tell.
///
/// # Errors
/// One sentence, if the corners do not enclose a screen.
pub fn straightened(photo: &Frame, corners: [Point; 4], aspect: Option<f64>) -> Result<Frame, String> {
    let (photo_width, photo_height) = (f64::from(photo.width), f64::from(photo.height));
    let near = |p: &Point| {
        (-0.5 * photo_width..=1.5 * photo_width).contains(&p.x)
            && (-0.5 * photo_height..=1.5 * photo_height).contains(&p.y)
    };
    if !corners.iter().all(near) {
        return Err("a corner lies far outside the image; enter positions in pixels of the image".to_owned());
    }
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
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "between 1 and the largest side"
    )]
    let (columns, rows) = (width as u32, height as u32);
    let value = |column: u32, row: u32| {
        let place = map.of(Point::new(f64::from(column) + 0.5, f64::from(row) + 0.5));
        place.map_or(0.0, |p| between(photo, p))
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
    Ok(Frame::of_samples(columns, rows, samples))
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

    fn points(all: [(f64, f64); 4]) -> [Point; 4] {
        all.map(|(x, y)| Point::new(x, y))
    }

    #[test]
    fn the_whole_photo_is_itself() {
        let photo = ramp();
        let corners = points([(0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0)]);
        assert_eq!(straightened(&photo, corners, None).unwrap().samples, photo.samples);
    }

    #[test]
    fn a_tilted_screen_becomes_a_rectangle_of_its_aspect() {
        let corners = points([(20.0, 10.0), (180.0, 20.0), (170.0, 80.0), (30.0, 95.0)]);
        let found = straightened(&ramp(), corners, Some(1.5)).unwrap();
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
            assert!(straightened(&ramp(), points(bad), None).is_err(), "{bad:?}");
        }
    }
}
