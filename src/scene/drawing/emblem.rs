//! Small pictures for pages that are still empty: each shows what its page is for.

use crate::geom::point::{Point, Vec2};
use crate::scene::body_map::Described;
use crate::scene::drawing::shape::{Glyph, Rect, Role, Scene, Space};

/// What a small picture stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Emblem {
    /// Marks beside the ground truth.
    Practice,
    /// The same borders marked twice.
    Rereading,
    /// Many tips in one body.
    Series,
    /// One tip in two shots.
    Compare,
    /// One tip from shot to shot.
    TipPath,
    /// Two panels with their captions.
    Figure,
}

/// Width and height of a small picture in points.
pub const SIZE: (f64, f64) = (260.0, 150.0);

/// Draws a small picture.
#[must_use]
pub fn emblem(what: Emblem) -> Described {
    let mut scene = Scene::new(Space::Points, Rect::new(0.0, 0.0, SIZE.0, SIZE.1));
    let words = match what {
        Emblem::Practice => {
            body(&mut scene, Vec2::new(0.0, 0.0), 1.0, Role::Border);
            body(&mut scene, Vec2::new(6.0, -4.0), 1.03, Role::SecondContour);
            tip(&mut scene, 128.0, 76.0, Glyph::Disc, Role::Tip);
            tip(&mut scene, 140.0, 70.0, Glyph::Ring, Role::Accent);
            "A body with marked borders and its true outline beside them"
        }
        Emblem::Rereading => {
            for (shift, role) in
                [(0.0, Role::Border), (5.0, Role::SecondContour), (-4.0, Role::SecondContour)]
            {
                body(&mut scene, Vec2::new(shift, shift * 0.5), 1.0, role);
                tip(&mut scene, 130.0 + 1.5 * shift, 76.0 - shift, Glyph::Ring, Role::Tip);
            }
            "The same body marked three times"
        }
        Emblem::Series => {
            body(&mut scene, Vec2::new(0.0, 0.0), 1.0, Role::Border);
            for (x, y, glyph, role) in [
                (120.0, 70.0, Glyph::Disc, Role::Inside),
                (131.0, 80.0, Glyph::Disc, Role::Inside),
                (126.0, 66.0, Glyph::Disc, Role::Inside),
                (141.0, 74.0, Glyph::Disc, Role::Inside),
                (98.0, 84.0, Glyph::Cross, Role::Outside),
                (150.0, 52.0, Glyph::HalfDisc, Role::Undecided),
            ] {
                tip(&mut scene, x, y, glyph, role);
            }
            "The tips of many cases in one body"
        }
        Emblem::Compare => {
            body(&mut scene, Vec2::new(0.0, 0.0), 1.0, Role::Border);
            scene.line(vec![Point::new(95.0, 78.0), Point::new(140.0, 72.0)], Role::Accent);
            tip(&mut scene, 95.0, 78.0, Glyph::Ring, Role::Tip);
            tip(&mut scene, 140.0, 72.0, Glyph::Disc, Role::Tip);
            "The tip of an earlier and of a later shot in one body"
        }
        Emblem::TipPath => {
            body(&mut scene, Vec2::new(0.0, 0.0), 1.0, Role::Border);
            let path =
                [(62.0, 92.0), (88.0, 82.0), (112.0, 75.0), (142.0, 71.0)].map(|(x, y)| Point::new(x, y));
            scene.line(path.to_vec(), Role::Accent);
            for (i, at) in path.into_iter().enumerate() {
                tip(&mut scene, at.x, at.y, if i == 3 { Glyph::Disc } else { Glyph::Ring }, Role::Tip);
            }
            "One tip in four shots, joined in the order of the shots"
        }
        Emblem::Figure => {
            for side in [-1.0, 1.0] {
                let middle = 0.5 * SIZE.0 + 66.0 * side;
                let frame = [(-58.0, 8.0), (58.0, 8.0), (58.0, 112.0), (-58.0, 112.0)];
                scene.outline(frame.map(|(x, y)| Point::new(middle + x, y)).to_vec(), Role::Text);
                body(&mut scene, Vec2::new(66.0 * side, -15.0), 0.6, Role::Border);
                tip(&mut scene, middle + 6.0 * side, 60.0, Glyph::Disc, Role::Tip);
                for (row, length) in [(124.0, 58.0), (136.0, 20.0)] {
                    let line = vec![Point::new(middle - 58.0, row), Point::new(middle + length, row)];
                    scene.line(line, Role::Nothing);
                }
            }
            "Two images side by side with a caption below each"
        }
    };
    Described { scene, words: words.to_owned() }
}

/// The outline of a lumbar body from the side, moved and made larger.
fn body(scene: &mut Scene, by: Vec2, times: f64, role: Role) {
    let middle = Point::new(0.5 * SIZE.0, 0.5 * SIZE.1);
    let at = |u: f64, v: f64| {
        // Walls and endplates are hollow in their middles.
        let waist = 0.07 * (1.0 - (2.0 * v - 1.0).powi(2)) * if u < 0.5 { 1.0 } else { -1.0 };
        let hollow = 0.09 * (1.0 - (2.0 * u - 1.0).powi(2)) * if v < 0.5 { 1.0 } else { -1.0 };
        let (x, y) = (u + waist * (2.0 * u - 1.0).abs(), v + hollow * (2.0 * v - 1.0).abs());
        middle + Vec2::new((x - 0.5) * 150.0, (y - 0.5) * 112.0) * times + by
    };
    let steps = 12;
    let mut points = Vec::new();
    for side in 0..4 {
        for i in 0..steps {
            let t = f64::from(i) / f64::from(steps);
            points.push(match side {
                0 => at(t, 0.0),
                1 => at(1.0, t),
                2 => at(1.0 - t, 1.0),
                _ => at(0.0, 1.0 - t),
            });
        }
    }
    scene.outline(points, role);
}

fn tip(scene: &mut Scene, x: f64, y: f64, glyph: Glyph, role: Role) {
    scene.marker(Point::new(x, y), glyph, role);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::drawing::shape::Shape;

    #[test]
    fn every_small_picture_has_a_body_and_says_what_it_shows() {
        for what in [
            Emblem::Practice,
            Emblem::Rereading,
            Emblem::Series,
            Emblem::Compare,
            Emblem::TipPath,
            Emblem::Figure,
        ] {
            let drawn = emblem(what);
            assert!(!drawn.words.is_empty());
            assert!(drawn.scene.shapes.len() >= 3, "{what:?}");
            assert!(drawn.scene.shapes.iter().any(|shape| matches!(shape, Shape::Line { closed: true, .. })));
        }
    }
}
