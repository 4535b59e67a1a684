//! What of a frame was recorded: neither the empty ground around a field, nor redacted boxes.

use crate::case::document::redaction::Cover;
use crate::case::image::field::field_of;
use crate::case::image::frame::Frame;
use crate::geom::point::Point;
use crate::measure::reading::Field;

/// Ground that hangs together with a corner and is larger than this share of the frame is outside.
const LEAST_GROUND: f64 = 0.003;
/// How far a value of the ground may lie off the corner's, over the range of a sample.
const ALIKE: f64 = 0.006;

/// For each pixel of the frame, row by row, whether it was recorded.
pub(crate) fn recorded(frame: &Frame, covers: &[Cover]) -> Vec<bool> {
    let (columns, rows) = (frame.width as usize, frame.height as usize);
    let mut inside = vec![true; columns * rows];
    if columns < 2 || rows < 2 {
        return inside;
    }
    for corner in [0, columns - 1, (rows - 1) * columns, rows * columns - 1] {
        if inside[corner] {
            leave_out_ground(frame, corner, &mut inside);
        }
    }
    if let Field::Round { centre, radius } = field_of(frame) {
        for (y, row) in inside.chunks_mut(columns).enumerate() {
            for (x, inside) in row.iter_mut().enumerate() {
                let off = centre_of(x, y) - centre;
                *inside &= off.dot(off) <= radius * radius;
            }
        }
    }
    for cover in covers {
        for (y, row) in inside.chunks_mut(columns).enumerate() {
            for (x, inside) in row.iter_mut().enumerate() {
                let p = centre_of(x, y);
                let covered =
                    p.x >= cover.min.x && p.x <= cover.max.x && p.y >= cover.min.y && p.y <= cover.max.y;
                *inside &= !covered;
            }
        }
    }
    inside
}

#[expect(clippy::cast_precision_loss, reason = "a place in a picture")]
fn centre_of(column: usize, row: usize) -> Point {
    Point::new(column as f64 + 0.5, row as f64 + 0.5)
}

/// Leaves out what hangs together with a corner and has its value, if it is large.
fn leave_out_ground(frame: &Frame, corner: usize, inside: &mut [bool]) {
    let (columns, rows) = (frame.width as usize, frame.height as usize);
    let value = |at: usize| match &frame.samples {
        crate::case::image::frame::Samples::Gray8(s) => s.get(at).map_or(0, |&v| i32::from(v)),
        crate::case::image::frame::Samples::Gray16(s) => s.get(at).map_or(0, |&v| i32::from(v)),
    };
    #[expect(clippy::cast_possible_truncation, reason = "a small part of 16 bits")]
    let tolerance = (ALIKE * f64::from(frame.max_value())) as i32;
    let level = value(corner);
    let mut found = vec![corner];
    let mut next = 0;
    inside[corner] = false;
    while let Some(&at) = found.get(next) {
        next += 1;
        let (x, y) = (at % columns, at / columns);
        let neighbours = [
            (x > 0).then(|| at - 1),
            (x + 1 < columns).then(|| at + 1),
            (y > 0).then(|| at - columns),
            (y + 1 < rows).then(|| at + columns),
        ];
        for other in neighbours.into_iter().flatten() {
            if inside[other] && (value(other) - level).abs() <= tolerance {
                inside[other] = false;
                found.push(other);
            }
        }
    }
    #[expect(clippy::cast_precision_loss, reason = "a number of pixels")]
    let small = (found.len() as f64) < LEAST_GROUND * inside.len() as f64;
    if small {
        for at in found {
            inside[at] = true;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::image::frame::Samples;

    fn frame(value: impl Fn(u32, u32) -> u8) -> Frame {
        let samples = (0..80).flat_map(|y| (0..100).map(move |x| (x, y))).map(|(x, y)| value(x, y)).collect();
        Frame {
            width: 100,
            height: 80,
            samples: Samples::Gray8(samples),
            was_colour: false,
            digest: String::new().into(),
            warnings: Vec::new(),
            taken: None,
            facts: Default::default(),
        }
    }

    /// A dark frame around a picture and a redacted box are outside; a dark spot within is not.
    #[test]
    fn ground_and_boxes_are_outside() {
        let f = frame(|x, y| {
            if !(10..90).contains(&x) || (40..50).contains(&x) && (30..50).contains(&y) {
                5
            } else {
                u8::try_from(100 + (x * 7 + y * 13) % 90).unwrap()
            }
        });
        let cover = Cover::between(Point::new(60.0, 60.0), Point::new(70.0, 70.0)).unwrap();
        let inside = recorded(&f, &[cover]);
        assert!(!inside[40 * 100 + 5] && inside[40 * 100 + 45] && inside[40 * 100 + 60]);
        assert!(!inside[65 * 100 + 65]);
        // A flat corner of a few pixels is no ground.
        let f = frame(
            |x, y| if x < 3 && y < 3 { 0 } else { u8::try_from(60 + (x * 31 + y * 17) % 150).unwrap() },
        );
        assert!(recorded(&f, &[]).iter().all(|&v| v));
    }
}
