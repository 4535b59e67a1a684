//! A gray picture laid on pixels of another size.
//!
//! Where a stored pixel becomes a whole square of pixels it is repeated, so no gray is mixed. Everywhere else grays are
//! interpolated between the four nearest, after pixels that would fall together have been averaged.

use std::borrow::Cow;

use rayon::iter::{IndexedParallelIterator, ParallelIterator};
use rayon::slice::ParallelSliceMut;

use crate::geom::point::Point;
use crate::io::export::fault::ExportError;
use crate::scene::drawing::shape::{Greys, Picture};

/// How near to whole a size in pixels is taken to be whole.
const WHOLE: f64 = 1e-6;

/// Lays a picture on opaque pixels, its top-left, top-right and bottom-left corners at these places in pixels. `cut` says
/// for each pixel how much of it may be covered.
///
/// # Errors
/// A picture that has not as many grays as pixels.
pub(super) fn lay(
    picture: &Picture,
    [origin, right, down]: [Point; 3],
    (rgba, (width, height)): (&mut [u8], (usize, usize)),
    cut: Option<&[u8]>,
) -> Result<(), ExportError> {
    if !picture.is_whole() {
        return Err(ExportError::Drawing("an image has more or fewer gray values than pixels".to_owned()));
    }
    let (across, along) = (right - origin, down - origin);
    let area = across.x * along.y - across.y * along.x;
    if !(area.is_finite() && area.abs() > 1e-12) || width == 0 || height == 0 {
        return Ok(());
    }
    let (columns, rows) = (f64::from(picture.width), f64::from(picture.height));
    let stored = StoredGrays::of(picture);
    let upright = across.y.abs() < WHOLE && along.x.abs() < WHOLE;
    let is_whole =
        |side: f64| (side - side.round()).abs() < WHOLE * side.abs().max(1.0) && side.round() >= 1.0;
    let squares = upright
        && is_whole(across.x / columns)
        && is_whole(along.y / rows)
        && [origin.x, origin.y].iter().all(|at| (at - at.round()).abs() < 1e-3);
    let per_pixel = (columns / across.length(), rows / along.length());
    let stored = if squares { stored } else { stored.averaged(per_pixel) };
    let (columns, rows) = (per(stored.width), per(stored.height));
    rgba.par_chunks_exact_mut(4 * width).take(height).enumerate().for_each(|(y, row)| {
        for (x, pixel) in row.as_chunks_mut::<4>().0.iter_mut().enumerate() {
            let at = Point::new(per(x) + 0.5, per(y) + 0.5) - origin;
            let (u, v) =
                ((at.x * along.y - at.y * along.x) / area, (at.y * across.x - at.x * across.y) / area);
            if !((0.0..1.0).contains(&u) && (0.0..1.0).contains(&v)) {
                continue;
            }
            let grey = if squares {
                stored.nearest(u * columns, v * rows)
            } else {
                stored.between(u * columns, v * rows)
            };
            let cover = cut.map_or(255, |cut| cut.get(y * width + x).copied().unwrap_or(0));
            for channel in pixel.iter_mut().take(3) {
                *channel = mixed(*channel, grey, cover);
            }
        }
    });
    Ok(())
}

#[expect(clippy::cast_precision_loss, reason = "sizes of pictures")]
const fn per(count: usize) -> f64 {
    count as f64
}

fn mixed(below: u8, above: u8, cover: u8) -> u8 {
    let (below, above, cover) = (u32::from(below), u32::from(above), u32::from(cover));
    u8::try_from((above * cover + below * (255 - cover) + 127) / 255).unwrap_or(u8::MAX)
}

/// Grays of 8 bits, row by row.
struct StoredGrays<'a> {
    width: usize,
    height: usize,
    greys: Cow<'a, [u8]>,
}

impl<'a> StoredGrays<'a> {
    fn of(picture: &'a Picture) -> Self {
        let greys = match &picture.greys {
            Greys::Eight(greys) => Cow::Borrowed(greys.as_slice()),
            Greys::Sixteen(greys) => Cow::Owned(greys.iter().map(|&grey| eight(grey)).collect()),
        };
        Self { width: picture.width as usize, height: picture.height as usize, greys }
    }

    fn grey(&self, x: usize, y: usize) -> u8 {
        let (x, y) = (x.min(self.width - 1), y.min(self.height - 1));
        self.greys.get(y * self.width + x).copied().unwrap_or(0)
    }

    fn nearest(&self, x: f64, y: f64) -> u8 {
        self.grey(floor(x), floor(y))
    }

    /// Between the middles of the four nearest.
    fn between(&self, x: f64, y: f64) -> u8 {
        let (x, y) = ((x - 0.5).max(0.0), (y - 0.5).max(0.0));
        let (x0, y0) = (floor(x), floor(y));
        let (fx, fy) = (x - per(x0), y - per(y0));
        let row = |y: usize| f64::from(self.grey(x0, y)) * (1.0 - fx) + f64::from(self.grey(x0 + 1, y)) * fx;
        let grey = row(y0) * (1.0 - fy) + row(y0 + 1) * fy;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "between grays of 8 bits"
        )]
        let grey = (grey + 0.5) as u8;
        grey
    }

    /// The same with as many stored pixels averaged as fall into one pixel, each way.
    fn averaged(self, (across, along): (f64, f64)) -> Self {
        let (nx, ny) = (floor(across + 0.25).max(1), floor(along + 0.25).max(1));
        if nx == 1 && ny == 1 {
            return self;
        }
        let (width, height) = (self.width.div_ceil(nx), self.height.div_ceil(ny));
        let mean = |i: usize| {
            let (x, y) = (i % width * nx, i / width * ny);
            let (x1, y1) = ((x + nx).min(self.width), (y + ny).min(self.height));
            let rows = (y..y1).filter_map(|y| self.greys.get(y * self.width + x..y * self.width + x1));
            let (mut sum, mut count) = (0_u64, 0_u64);
            for grey in rows.flatten() {
                sum += u64::from(*grey);
                count += 1;
            }
            u8::try_from((sum + count / 2) / count.max(1)).unwrap_or(u8::MAX)
        };
        let greys = (0..width * height).map(mean).collect();
        Self { width, height, greys: Cow::Owned(greys) }
    }
}

fn floor(value: f64) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a place in a picture, not below 0"
    )]
    let whole = value.max(0.0) as usize;
    whole
}

/// A gray of 16 bits as the nearest of 8.
fn eight(grey: u16) -> u8 {
    u8::try_from((u32::from(grey) * 255 + 32_767) / 65_535).unwrap_or(u8::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn laid(picture: &Picture, corners: [Point; 3], size: (usize, usize)) -> Vec<u8> {
        let mut rgba = vec![255; 4 * size.0 * size.1];
        lay(picture, corners, (&mut rgba, size), None).unwrap();
        rgba.as_chunks::<4>().0.iter().map(|pixel| pixel[0]).collect()
    }

    fn corners(x: f64, y: f64, width: f64, height: f64) -> [Point; 3] {
        [Point::new(x, y), Point::new(x + width, y), Point::new(x, y + height)]
    }

    #[test]
    fn whole_squares_repeat_what_is_stored() {
        let picture = Picture { width: 2, height: 1, greys: Greys::Sixteen(vec![0, 65_535]) };
        assert_eq!(laid(&picture, corners(1.0, 0.0, 4.0, 2.0), (6, 2)), [255, 0, 0, 255, 255, 255].repeat(2));
    }

    /// Three stored pixels to one: their mean, 0 + 30 + 60 by three.
    #[test]
    fn what_falls_together_is_averaged() {
        let picture =
            Picture { width: 6, height: 3, greys: Greys::Eight([0, 30, 60, 100, 100, 100].repeat(3)) };
        assert_eq!(laid(&picture, corners(0.0, 0.0, 2.0, 1.0), (2, 1)), [30, 100]);
    }

    /// Half way between two stored pixels lies the mean of both; a mirrored picture is mirrored.
    #[test]
    fn between_pixels_grays_are_between() {
        let picture = Picture { width: 2, height: 1, greys: Greys::Eight(vec![0, 100]) };
        let row = laid(&picture, corners(0.0, 0.0, 5.0, 1.0), (5, 1));
        assert_eq!(row, [0, 10, 50, 90, 100]);
        let [a, b, _] = corners(0.0, 0.0, 5.0, 1.0);
        let mirrored = laid(&picture, [b, a, Point::new(5.0, 1.0)], (5, 1));
        assert_eq!(mirrored, [100, 90, 50, 10, 0]);
    }

    #[test]
    fn a_picture_of_no_size_covers_nothing() {
        let picture = Picture { width: 2, height: 1, greys: Greys::Eight(vec![0, 100]) };
        assert_eq!(laid(&picture, [Point::new(1.0, 1.0); 3], (3, 3)), [255; 9]);
    }
}
