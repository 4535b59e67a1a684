//! Which part of a frame a figure shows, and that part as gray levels.

use crate::case::document::Shot;
use crate::case::image::frame::{Frame, Samples};
use crate::measure::mark::{MarkKind, Material};
use crate::scene::drawing::shape::{Greys, Picture, Rect};
use crate::scene::figure::asked::{Extent, FigureShot};
use crate::scene::window_level::{Region, WindowLevel};

/// Room about the body on each side, as a share of its longer side: enough for the numbers that stand outside the bone.
const AROUND: f64 = 0.27;
/// Room below a body that makes room above it, in points, and the least share of the height that such a body has.
const BELOW: f64 = 4.0;
const SMALLEST: f64 = 0.45;
/// Width to height of what is shown where nothing else decides.
const USUAL: f64 = 1.5;

/// What is shown of a shot, in whole pixels, half as wide again as high.
pub(crate) fn bounds_of(figure_shot: &FigureShot<'_>, extent: Extent) -> Rect {
    bounds_within(figure_shot, extent, USUAL)
}

/// What is shown of a shot, in whole pixels: a region of this width to height in the middle of which the body lies as large
/// as the numbers about it allow, or the whole frame; without a frame, the marks and some room about them.
pub(crate) fn bounds_within(figure_shot: &FigureShot<'_>, extent: Extent, aspect: f64) -> Rect {
    let FigureShot { shot, frame, .. } = *figure_shot;
    let Some(frame) = frame else {
        let all = Rect::around(shot.marks.placed().map(|(_, p)| p));
        let around = all.unwrap_or(Rect::new(0.0, 0.0, 100.0, 75.0));
        return around.grown(0.25 * around.width().max(around.height()).max(1.0));
    };
    let (width, height) = (f64::from(frame.width.max(1)), f64::from(frame.height.max(1)));
    let whole = Rect::new(0.0, 0.0, width, height);
    let Some(body) = body_of(shot).filter(|_| extent == Extent::AroundBody) else { return whole };
    let around = body.grown((AROUND * body.width().max(body.height())).max(8.0));
    let wide = around.width().max(around.height() * aspect).min(width).round();
    let high = around.height().max(wide / aspect).min(height).round();
    let start = |middle: f64, side: f64, all: f64| (middle - 0.5 * side).round().min(all - side).max(0.0);
    let (x, y) = (start(body.centre().x, wide, width), start(body.centre().y, high, height));
    Rect::new(x, y, x + wide, y + high)
}

/// The part of the body that is marked.
fn body_of(shot: &Shot) -> Option<Rect> {
    let of_body = |kind: MarkKind| kind.material() == Material::Bone || kind == MarkKind::Tip;
    Rect::around(shot.marks.placed().filter(|(at, _)| of_body(at.kind)).map(|(_, p)| p))
}

/// The same for an image `wide` and `high` with at least so much room above the body, all in points: what stands there hides
/// no bone. The body moves down for that, and gets smaller where that is not enough.
pub(super) fn bounds_below(
    figure_shot: &FigureShot<'_>,
    extent: Extent,
    (wide, high): (f64, f64),
    above: f64,
) -> Rect {
    let bounds = bounds_within(figure_shot, extent, wide / high);
    let (Some(frame), Some(body)) = (figure_shot.frame, body_of(figure_shot.shot)) else { return bounds };
    // Pixels to a point.
    let pixels = bounds.height() / high;
    let fills = (bounds.width() - pixels * wide).abs() < 2.0;
    if extent != Extent::AroundBody || !fills || body.min.y - bounds.min.y >= pixels * above {
        return bounds;
    }
    let (width, height) = (f64::from(frame.width), f64::from(frame.height));
    let least = body.height() / (high - above - BELOW).max(SMALLEST * high);
    let pixels = least.max(pixels).min((width / wide).min(height / high)).max(pixels);
    let (w, h) = ((pixels * wide).round().min(width), (pixels * high).round().min(height));
    let start = |at: f64, side: f64, all: f64| at.round().min(all - side).max(0.0);
    let x = start(body.centre().x - 0.5 * w, w, width);
    let lowest = body.max.y + pixels * BELOW - h;
    let y = start((body.min.y - pixels * above).min(body.centre().y - 0.5 * h).max(lowest), h, height);
    Rect::new(x, y, x + w, y + h)
}

pub(crate) fn region_of(bounds: Rect) -> Region {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "whole pixels within a frame"
    )]
    let whole = |x: f64| x.max(0.0) as u32;
    Region {
        x: whole(bounds.min.x),
        y: whole(bounds.min.y),
        width: whole(bounds.width()),
        height: whole(bounds.height()),
    }
}

/// Whether a figure that shows what is about the body shows the whole frame, since nothing of the body is marked.
pub(crate) fn shows_whole(shot: &Shot) -> bool {
    body_of(shot).is_none()
}

/// A part of a frame through a window, 16 bits staying 16 bits; the part is cut to the frame.
#[must_use]
pub fn shown(frame: &Frame, window: WindowLevel, region: Region) -> Picture {
    let (x0, x1) = (region.x.min(frame.width), region.x.saturating_add(region.width).min(frame.width));
    let (y0, y1) = (region.y.min(frame.height), region.y.saturating_add(region.height).min(frame.height));
    let rows = (y0..y1).map(|y| {
        let start = y as usize * frame.width as usize;
        start + x0 as usize..start + x1 as usize
    });
    let greys = match &frame.samples {
        Samples::Gray8(s) => {
            let grey = |&v: &u8| window.grey(f64::from(v));
            Greys::Eight(rows.flat_map(|row| s.get(row).unwrap_or(&[])).map(grey).collect())
        }
        Samples::Gray16(s) => {
            let grey = |&v: &u16| window.grey16(f64::from(v));
            Greys::Sixteen(rows.flat_map(|row| s.get(row).unwrap_or(&[])).map(grey).collect())
        }
    };
    Picture { width: x1 - x0, height: y1 - y0, greys }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::readings::ShotReading;
    use crate::geom::point::Point;
    use crate::measure::mark::{Marks, View};
    use crate::measure::reading::Field;
    use crate::measure::reading::LateralReading;

    fn frame(width: u32, height: u32) -> Frame {
        let values = (0..width * height).map(|i| u16::try_from(i % 60_000).unwrap()).collect();
        Frame::of_samples(width, height, Samples::Gray16(values))
    }

    fn bounds(marks: Marks, size: (u32, u32), extent: Extent) -> Rect {
        let mut shot = Shot::new("a", "a.png", View::Lateral);
        shot.marks = marks;
        let reading = ShotReading::Lateral(Box::<LateralReading>::default());
        let frame = frame(size.0, size.1);
        let shot = FigureShot { shot: &shot, reading: &reading, frame: Some(&frame), field: Field::Whole };
        bounds_of(&shot, extent)
    }

    #[test]
    fn what_is_shown_lies_in_the_frame_and_holds_the_body() {
        for corner in [(2.0, 2.0), (180.0, 90.0), (330.0, 270.0)] {
            let (x, y) = corner;
            let marks = Marks::new()
                .with(MarkKind::SuperiorEndPlate, &[(x, y), (x + 60.0, y)])
                .with(MarkKind::InferiorEndPlate, &[(x, y + 25.0), (x + 60.0, y + 25.0)]);
            let shown = bounds(marks, (400, 300), Extent::AroundBody);
            assert!(Rect::new(0.0, 0.0, 400.0, 300.0).contains(shown.min), "{shown:?}");
            assert!(Rect::new(0.0, 0.0, 400.0, 300.0).contains(shown.max), "{shown:?}");
            assert!(shown.contains(Point::new(x, y)) && shown.contains(Point::new(x + 60.0, y + 25.0)));
            assert!((shown.width() / shown.height() - 1.5).abs() < 0.02);
        }
    }

    #[test]
    fn without_a_marked_body_the_whole_frame_is_shown() {
        let whole = Rect::new(0.0, 0.0, 400.0, 300.0);
        assert_eq!(bounds(Marks::new(), (400, 300), Extent::AroundBody), whole);
        let marks = Marks::new().with(MarkKind::SuperiorEndPlate, &[(100.0, 100.0), (160.0, 100.0)]);
        assert_eq!(bounds(marks, (400, 300), Extent::Whole), whole);
    }

    #[test]
    fn a_part_of_a_frame_is_that_part() {
        let frame = frame(7, 5);
        let window = WindowLevel { low: 0.0, high: 65535.0, inverted: false };
        let part = shown(&frame, window, Region { x: 2, y: 1, width: 3, height: 9 });
        assert_eq!((part.width, part.height), (3, 4));
        let Greys::Sixteen(greys) = part.greys else { panic!("not 16 bits") };
        assert_eq!(&greys[..4], &[9, 10, 11, 16]);
    }
}
