//! Covers: opaque boxes over words that were burned into a picture. The stored file stays as it is; whatever
//! leaves the program has the boxes in its pixels.

use std::borrow::Cow;

use crate::case::image::frame::{Frame, Samples};
use crate::geom::point::Point;
use crate::measure::mark::MAX_COORDINATE_PX;

/// The stored value under a cover. It is the same everywhere, so that nothing of what was there can be worked
/// out from it.
const OPAQUE: u8 = 0;

/// An upright box in image coordinates; `min` lies above and to the left of `max`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cover {
    /// The corner with the smaller coordinates.
    pub min: Point,
    /// The corner with the larger ones.
    pub max: Point,
}

impl Cover {
    /// The box with these two opposite corners, given in any order. `None` if a coordinate lies outside any picture
    /// or the box has no area.
    #[must_use]
    pub fn between(a: Point, b: Point) -> Option<Self> {
        let min = Point::new(a.x.min(b.x), a.y.min(b.y));
        let max = Point::new(a.x.max(b.x), a.y.max(b.y));
        let known = [min.x, min.y, max.x, max.y].into_iter().all(|c| c.abs() <= MAX_COORDINATE_PX);
        (known && max.x > min.x && max.y > min.y).then_some(Self { min, max })
    }

    /// Whether a place lies in the box, its edge included.
    #[must_use]
    pub fn contains(&self, p: Point) -> bool {
        (self.min.x..=self.max.x).contains(&p.x) && (self.min.y..=self.max.y).contains(&p.y)
    }

    /// Whether the other box lies in this one.
    #[must_use]
    pub fn holds(&self, other: &Self) -> bool {
        self.contains(other.min) && self.contains(other.max)
    }

    /// First column and row, and the column and row behind the last, of all pixels of a frame that the box touches.
    /// A pixel that is covered in part is covered as a whole.
    #[must_use]
    pub fn pixels(&self, width: u32, height: u32) -> (u32, u32, u32, u32) {
        let within = |x: f64, most: u32| {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "cut to the frame")]
            let within = x.clamp(0.0, f64::from(most)) as u32;
            within
        };
        (
            within(self.min.x.floor(), width),
            within(self.min.y.floor(), height),
            within(self.max.x.ceil(), width),
            within(self.max.y.ceil(), height),
        )
    }
}

/// The frame with every cover in its pixels; the frame itself where there is none.
#[must_use]
pub fn covered<'a>(frame: &'a Frame, covers: &[Cover]) -> Cow<'a, Frame> {
    if covers.is_empty() {
        return Cow::Borrowed(frame);
    }
    let mut covered = frame.clone();
    for cover in covers {
        let (x0, y0, x1, y1) = cover.pixels(frame.width, frame.height);
        for y in y0..y1 {
            let start = y as usize * frame.width as usize;
            let row = start + x0 as usize..start + x1.max(x0) as usize;
            match &mut covered.samples {
                Samples::Gray8(s) => fill(s.get_mut(row), OPAQUE),
                Samples::Gray16(s) => fill(s.get_mut(row), u16::from(OPAQUE)),
            }
        }
    }
    Cow::Owned(covered)
}

fn fill<T: Copy>(row: Option<&mut [T]>, value: T) {
    if let Some(row) = row {
        row.fill(value);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn frame() -> Frame {
        Frame::of_samples(8, 4, Samples::Gray16(vec![700; 32]))
    }

    #[test]
    fn every_touched_pixel_is_covered_and_no_other() {
        let frame = frame();
        let cover = Cover::between(Point::new(5.2, 2.0), Point::new(2.9, -9.0)).unwrap();
        let covered = covered(&frame, &[cover]);
        for y in 0..4 {
            for x in 0..8 {
                let expected = if (2..6).contains(&x) && y < 2 { 0 } else { 700 };
                assert_eq!(covered.value(x, y), Some(expected), "{x} {y}");
            }
        }
    }

    #[test]
    fn a_box_without_area_or_outside_any_picture_is_none() {
        let p = Point::new(1.0, 1.0);
        assert_eq!(Cover::between(p, Point::new(1.0, 5.0)), None);
        assert_eq!(Cover::between(p, Point::new(f64::NAN, 5.0)), None);
        assert_eq!(Cover::between(p, Point::new(1e9, 5.0)), None);
        let outside = Cover::between(Point::new(50.0, 50.0), Point::new(60.0, 60.0)).unwrap();
        assert_eq!(covered(&frame(), &[outside]).into_owned(), frame());
    }
}
