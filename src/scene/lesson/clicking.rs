//! Where to click: corners and borders, and second contours.

use crate::geom::point::{Point, Vec2};
use crate::measure::body::{BodyMap, Border};
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Rect, Role, Scene};
use crate::scene::lesson::board::{Board, PlacedBody};
use crate::scene::overlay::body_lines;

const LEFT: (AlignX, AlignY) = (AlignX::Left, AlignY::Middle);
const RIGHT: (AlignX, AlignY) = (AlignX::Right, AlignY::Middle);

/// A lateral body with its corners and borders by name.
#[must_use]
pub fn where_to_click() -> Scene {
    let mut board = Board::new(420.0);
    let Some(body) = PlacedBody::new(Rect::new(186.0, 92.0, 496.0, 332.0)) else { return board.scene };
    board.inside(&body);
    outgrowth(&mut board, &body);
    // The rim, which the end plate's points are not to follow.
    for (a, b) in [(body.at(0.0, 0.0), body.at(1.0, 0.0)), (body.at(0.0, 1.0), body.at(1.0, 1.0))] {
        board.scene.line(vec![a, b], Role::Neighbour);
    }
    crate::scene::body_map::parts::borders(&mut board.scene, &body.map);
    for border in [Border::Superior, Border::Inferior, Border::Start, Border::End] {
        board.scene.marker(body.map.border(border, 0.5), Glyph::Ring, Role::Handle);
    }
    let corner = [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)].map(|(u, v)| body.at(u, v));
    for at in corner {
        board.scene.marker(at, Glyph::Target, Role::Accent);
    }
    let [ps, anterior_superior, pi, anterior_inferior] = corner;
    let name = |board: &mut Board, at: Point, to: Point, words: &str, align: (AlignX, AlignY)| {
        board.words(at, align, words, Role::Text);
        let beside = if align.0 == AlignX::Left { -5.0 } else { 5.0 };
        board.leader(at + Vec2::new(beside, 0.0), to);
    };
    name(&mut board, ps + Vec2::new(-50.0, -44.0), ps, "posterior-superior corner", RIGHT);
    name(&mut board, pi + Vec2::new(-50.0, 44.0), pi, "posterior-inferior corner", RIGHT);
    name(
        &mut board,
        anterior_superior + Vec2::new(40.0, -40.0),
        anterior_superior,
        "anterior-superior corner",
        LEFT,
    );
    name(
        &mut board,
        anterior_inferior + Vec2::new(40.0, 34.0),
        anterior_inferior,
        "anterior-inferior corner",
        LEFT,
    );
    board.words(anterior_inferior + Vec2::new(40.0, 51.0), LEFT, "osteophytes excluded", Role::WeakText);
    let plate = body.map.border(Border::Superior, 0.5);
    let centred = (AlignX::Middle, AlignY::Middle);
    board.words(Point::new(plate.x, 36.0), centred, "superior endplate", Role::Text);
    board.words(
        Point::new(plate.x, 53.0),
        centred,
        "on the endplate line at the deepest point of the concavity, not on the rim",
        Role::WeakText,
    );
    board.leader(Point::new(plate.x, 63.0), plate);
    let plate = body.map.border(Border::Inferior, 0.5);
    board.words(Point::new(plate.x, 372.0), centred, "inferior endplate", Role::Text);
    board.leader(Point::new(plate.x, 362.0), plate);
    let wall = body.map.border(Border::End, 0.5);
    board.words(wall + Vec2::new(56.0, -8.0), LEFT, "anterior wall", Role::Text);
    board.leader(wall + Vec2::new(51.0, -6.0), wall);
    let wall = body.map.border(Border::Start, 0.72);
    let at = Point::new(176.0, wall.y + 2.0);
    board.words(at, RIGHT, "posterior wall", Role::Text);
    board.words(
        at + Vec2::new(0.0, 17.0),
        RIGHT,
        "straight across the basivertebral foramen",
        Role::WeakText,
    );
    board.leader(at + Vec2::new(5.0, 0.0), wall);
    let y = 404.0;
    board.scene.marker(Point::new(190.0, y), Glyph::Target, Role::Accent);
    board.words(Point::new(202.0, y), LEFT, "corner, always required", Role::WeakText);
    board.scene.marker(Point::new(370.0, y), Glyph::Ring, Role::Handle);
    board.words(
        Point::new(382.0, y),
        LEFT,
        "point between the corners, where a border is curved",
        Role::WeakText,
    );
    board.scene
}

/// A bony outgrowth at the anterior-inferior corner.
fn outgrowth(board: &mut Board, body: &PlacedBody) {
    let p = |u: f64, v: f64| body.at(u, v);
    let outer = [p(1.0, 0.80), p(1.06, 0.90), p(1.11, 1.00), p(1.05, 1.03), p(0.97, 1.0)];
    let curve = crate::geom::curve::Curve::through(&outer);
    let edge: Vec<_> = (0..=24).filter_map(|i| curve.as_ref().map(|c| c.at(f64::from(i) / 24.0))).collect();
    let inner = vec![p(0.97, 0.97); edge.len()];
    board.scene.strip(edge.clone(), inner, Role::Neighbour);
    board.scene.line(edge, Role::Neighbour);
}

/// A body whose posterior wall and superior end plate show twice, and the border that is used.
#[must_use]
pub fn second_contours() -> Scene {
    let mut board = Board::new(360.0);
    let Some(body) = PlacedBody::new(Rect::new(120.0, 70.0, 430.0, 300.0)) else { return board.scene };
    let mut outline = body.outline.clone();
    let moved = |points: &[Point], by: Vec2| points.iter().map(|&p| p + by).collect::<Vec<_>>();
    let wall = Border::Start.index();
    let plate = Border::Superior.index();
    outline.second[wall] = Some(moved(&outline.first[wall], Vec2::new(22.0, 0.0)));
    outline.second[plate] = Some(moved(&outline.first[plate], Vec2::new(0.0, 22.0)));
    let Ok(map) = BodyMap::new(&outline) else { return board.scene };
    crate::scene::body_map::side::arch_shape(&mut board.scene, &body.arch);
    crate::scene::body_map::parts::bone(&mut board.scene, &map);
    for border in Border::ALL {
        let used = body_lines::border(&map, border);
        if let Some(second) = body_lines::second_contour(&map, border) {
            board.scene.line(body_lines::first_contour(&map, border), Role::SecondContour);
            board.scene.line(second, Role::SecondContour);
        }
        board.scene.line(used, Role::MeanBorder);
    }
    let x = 470.0;
    let first = map.first_contour(Border::Superior).at(0.86);
    let used = map.border(Border::Superior, 0.90);
    let second = body_lines::second_contour(&map, Border::Superior).unwrap_or_default();
    let second = second.get(30).copied().unwrap_or(used);
    for (y, to, words, more) in [
        (48.0, first, "first contour, as marked", ""),
        (96.0, used, "border used: the mean of the two", "corners move half the distance, too"),
        (160.0, second, "second contour, as marked", "the opposite margin, seen through the body"),
    ] {
        board.words(Point::new(x, y), LEFT, words, Role::Text);
        board.words(Point::new(x, y + 17.0), LEFT, more, Role::WeakText);
        board.leader(Point::new(x - 5.0, y), to);
    }
    let y = 226.0;
    board.paragraph(
        Point::new(x, y),
        226.0,
        AlignX::Left,
        "A border shows twice when the ray is turned or tilted against it. The middle of the two is where a true \
         view would show it; how far they lie apart says how much the view is turned. End a second contour on the \
         wall as marked, or at the corner of its own side: both read the same.",
        Role::WeakText,
    );
    board.words(Point::new(body.at(0.0, 1.0).x, 330.0), LEFT, "posterior", Role::WeakText);
    board.words(Point::new(body.at(1.0, 1.0).x, 330.0), RIGHT, "anterior", Role::WeakText);
    board.scene
}
