//! Depth and height: the lines of a body, and why they are what they are.

use crate::geom::point::{Point, Vec2};
use crate::measure::body::{BodyMap, BodyPoint, Outline};
use crate::measure::mark::Stage;
use crate::measure::quantity::{Budget, Quantity};
use crate::measure::reading::Place;
use crate::measure::settings::{Rule, Settings};
use crate::scene::body_map::parts::{bone, borders};
use crate::scene::body_map::side::typical_outline;
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Rect, Role, Scene};
use crate::scene::format;
use crate::scene::lesson::board::{Board, PlacedBody};
use crate::scene::overlay;
use crate::scene::overlay::body_lines;

const LEFT: (AlignX, AlignY) = (AlignX::Left, AlignY::Middle);
const CENTRED: (AlignX, AlignY) = (AlignX::Middle, AlignY::Middle);

fn place(along: f64, height: f64, sd: (f64, f64)) -> Place {
    let quantity = |value, sd| Quantity {
        value,
        budget: Budget { bone: sd, ..Budget::default() },
        influences: Vec::new(),
        monte_carlo: None,
    };
    Place { along: quantity(along, sd.0), height: quantity(height, sd.1), covariance: 0.0 }
}

/// The body's own coordinates in tenths, the target and a tip.
#[must_use]
pub fn depth_and_height() -> Scene {
    let mut board = Board::new(380.0);
    let Some(body) = PlacedBody::new(Rect::new(28.0, 48.0, 424.0, 320.0)) else { return board.scene };
    board.inside(&body);
    for tenth in 1..10 {
        let t = f64::from(tenth) / 10.0;
        board.scene.line(body_lines::upright(&body.map, t), Role::Neighbour);
        board.scene.line(body_lines::level(&body.map, t), Role::Neighbour);
    }
    let targets = Settings::default().targets;
    let band = |rule| targets.band(Some(Stage::Final), rule);
    if let (Some(depth), Some(height)) = (band(Rule::Depth), band(Rule::Height)) {
        overlay::height_band(&mut board.scene, &body.map, height);
        overlay::depth_band(&mut board.scene, &body.map, depth);
        for along in [depth.low, depth.high] {
            let at = body.at(along, 0.0) + Vec2::new(0.0, -14.0);
            board.number(at, CENTRED, &format::percent(along), Role::DepthBand);
        }
    }
    borders(&mut board.scene, &body.map);
    overlay::body::ruler(&mut board.scene, &body.map, 1.0, true, true);
    let tip = place(0.38, 0.53, (0.022, 0.026));
    overlay::tip_region(&mut board.scene, &body.map, &tip);
    let at = body.at(tip.along.value, tip.height.value);
    board.scene.marker(at, Glyph::Disc, Role::Tip);
    let x = 500.0;
    board.scene.marker(Point::new(x + 6.0, 84.0), Glyph::Disc, Role::Tip);
    board.words(Point::new(x + 18.0, 84.0), LEFT, "tip with its 95 % region", Role::Text);
    let rows = [("depth", &tip.along), ("height", &tip.height)];
    for (i, (name, quantity)) in rows.into_iter().enumerate() {
        let y = if i == 0 { 110.0 } else { 134.0 };
        board.words(Point::new(x, y), LEFT, name, Role::WeakText);
        board.number(Point::new(x + 48.0, y), LEFT, &format::percent_of(quantity), Role::Text);
    }
    board.paragraph(
        Point::new(x, 166.0),
        200.0,
        AlignX::Left,
        "Depth runs from the posterior wall (0 %) to the anterior wall (100 %), height from the superior to the inferior endplate.",
        Role::WeakText,
    );
    board.paragraph(
        Point::new(x, 254.0),
        200.0,
        AlignX::Left,
        "The lines follow the borders: every point on the 30 % line is at 30 % of the depth, at any height.",
        Role::WeakText,
    );
    board.words(Point::new(body.at(0.0, 1.0).x, 362.0), LEFT, "posterior", Role::WeakText);
    board.words(
        Point::new(body.at(1.0, 1.0).x, 362.0),
        (AlignX::Right, AlignY::Middle),
        "anterior",
        Role::WeakText,
    );
    board.scene
}

/// One body read with straight and with curved borders.
#[must_use]
pub fn curved_borders() -> Scene {
    let mut board = Board::new(330.0);
    let truth = typical_outline();
    let ends = |points: &[Point]| points.first().copied().into_iter().chain(points.last().copied()).collect();
    let straight =
        Outline { first: std::array::from_fn(|b| ends(&truth.first[b])), second: [None, None, None, None] };
    let columns = [
        (20.0, "two points per border: straight", straight),
        (380.0, "with points between: curved", truth.clone()),
    ];
    // A tip near the superior plate, where its curvature counts most.
    let tip_mm = Point::new(15.0, 4.6);
    for (x, title, outline) in columns {
        board.title(Point::new(x, 16.0), title);
        let room = Rect::new(x, 60.0, x + 300.0, 262.0);
        let (Some(bony), Some(read)) = (PlacedBody::new(room), PlacedBody::of(&truth, room)) else {
            continue;
        };
        let origin = read.outline.first[0][0];
        let to_drawing = |p: Point| origin + (p - truth.first[0][0]) * read.scale;
        let carried = crate::scene::body_map::parts::carried(&outline, &to_drawing);
        let Ok(map) = BodyMap::new(&carried) else { continue };
        board.inside(&bony);
        for along in [0.25, 0.5, 0.75] {
            board.scene.line(body_lines::upright(&map, along), Role::Neighbour);
        }
        for height in [0.25, 0.75] {
            board.scene.line(body_lines::level(&map, height), Role::Neighbour);
        }
        board.scene.line(body_lines::level(&map, 0.5), Role::MidHeight);
        borders(&mut board.scene, &map);
        let used = &carried.first;
        for &at in used.iter().flatten() {
            board.scene.marker(at, Glyph::Ring, Role::Handle);
        }
        let at = to_drawing(tip_mm);
        board.scene.marker(at, Glyph::Disc, Role::Tip);
        if let Some(place) = map.to_body(at) {
            let left = read.outline.first[2][0].x;
            for (i, (name, value)) in
                [("depth", place.along), ("height", place.height)].into_iter().enumerate()
            {
                let x = if i == 0 { left } else { left + 120.0 };
                board.words(Point::new(x, 298.0), LEFT, name, Role::WeakText);
                board.number(Point::new(x + 46.0, 298.0), LEFT, &format::percent(value), Role::Text);
            }
        }
    }
    board.scene
}

/// The projective map of the unit square onto four corners (Heckbert 1989, section 2.2.3), in the order
/// (0,0), (1,0), (0,1), (1,1): only here, to show what it would say.
fn projective([c00, c10, c01, c11]: [Point; 4], u: f64, v: f64) -> Point {
    let s = c00 - c10 + c11.to_vec() - c01.to_vec();
    let (d1, d2) = (c10 - c11, c01 - c11);
    let s = Vec2::new(s.x, s.y);
    let det = d1.cross(d2);
    let (g, h) = (s.cross(d2) / det, d1.cross(s) / det);
    let w = g * u + h * v + 1.0;
    let along = (c10 - c00) + c10.to_vec() * g;
    let down = (c01 - c00) + c01.to_vec() * h;
    ((c00.to_vec() + along * u + down * v) / w).to_point()
}

/// A wedged body halved by the body map and by a projective map.
#[must_use]
pub fn not_projective() -> Scene {
    let mut board = Board::new(340.0);
    let p = Point::new;
    let corners = [p(60.0, 64.0), p(400.0, 50.0), p(60.0, 284.0), p(400.0, 296.0)];
    let [c00, c10, c01, c11] = corners;
    let outline = Outline::new(vec![c00, c10], vec![c01, c11], &[], &[]);
    let Ok(map) = BodyMap::new(&outline) else { return board.scene };
    bone(&mut board.scene, &map);
    borders(&mut board.scene, &map);
    board.scene.line(body_lines::upright(&map, 0.5), Role::DepthBand);
    let wrong: Vec<_> = [0.0, 1.0].map(|v| projective(corners, 0.5, v)).to_vec();
    board.scene.line(wrong, Role::HeightBand);
    let centre = projective(corners, 0.5, 0.5);
    board.scene.marker(map.to_image(BodyPoint::new(0.5, 0.5)), Glyph::Disc, Role::DepthBand);
    board.scene.marker(centre, Glyph::Cross, Role::HeightBand);
    let x = 450.0;
    board.words(Point::new(x, 92.0), LEFT, "50 %, by the body map", Role::DepthBand);
    board.leader(Point::new(x - 5.0, 92.0), map.to_image(BodyPoint::new(0.5, 0.16)));
    board.words(Point::new(x, 250.0), LEFT, "50 %, by a projective map", Role::HeightBand);
    board.leader(Point::new(x - 5.0, 250.0), projective(corners, 0.5, 0.86));
    if let Some(at) = map.to_body(centre) {
        let more = format!("it would call {} of the depth 50 %", format::percent(at.along));
        board.words(Point::new(x, 268.0), LEFT, &more, Role::WeakText);
    }
    board.paragraph(
        Point::new(x, 132.0),
        236.0,
        AlignX::Left,
        "A vertebral body is often truly taller anteriorly than posteriorly. A projective map mistakes that wedge for perspective, as if the anterior part were nearer, and shifts the center.",
        Role::WeakText,
    );
    board.words(Point::new(60.0, 324.0), LEFT, "posterior", Role::WeakText);
    board.words(Point::new(400.0, 324.0), (AlignX::Right, AlignY::Middle), "anterior", Role::WeakText);
    board.scene
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A projective map carries corners to corners and straight lines to straight lines, so the centre of the
    /// square goes to the crossing of the diagonals.
    #[test]
    fn the_projective_map_keeps_corners_and_diagonals() {
        let p = Point::new;
        let corners = [p(0.0, 10.0), p(100.0, 0.0), p(0.0, 70.0), p(100.0, 95.0)];
        for (corner, (u, v)) in corners.into_iter().zip([(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)]) {
            assert!(projective(corners, u, v).distance(corner) < 1e-9);
        }
        let centre = projective(corners, 0.5, 0.5);
        let on = |a: Point, b: Point| (b - a).cross(centre - a).abs() < 1e-9 * (b - a).length();
        assert!(on(corners[0], corners[3]) && on(corners[1], corners[2]));
    }
}
