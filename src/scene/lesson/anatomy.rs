//! What the lateral picture of a posterior wall is the outline of.

use crate::geom::curve::Curve;
use crate::geom::point::{Point, Vec2};
use crate::scene::drawing::shape::{AlignX, AlignY, Role, Scene};
use crate::scene::format;
use crate::scene::lesson::board::Board;

const CENTRED: (AlignX, AlignY) = (AlignX::Middle, AlignY::Middle);

/// Cross-sections of bodies seen from above, posterior on the left: hollow, flat and bulging posterior walls,
/// with the line that a lateral picture shows as the posterior wall.
#[must_use]
pub fn posterior_wall() -> Scene {
    let mut board = Board::new(360.0);
    let cases = [("L1 to L3", "concave", 2.2), ("L4", "flat", 0.0), ("L5", "convex", -1.5)];
    for (i, (levels, name, hollow_mm)) in cases.into_iter().enumerate() {
        let centre = Point::new(128.0 + f64::from(u32::try_from(i).unwrap_or(0)) * 232.0, 184.0);
        let outline = section(centre, hollow_mm);
        let (a, b) = crate::scene::overlay::body_lines::halves(&outline);
        board.scene.strip(a, b, Role::Bone);
        board.scene.outline(outline.clone(), Role::Outline);
        let wall = outline.iter().map(|p| p.x).fold(f64::MAX, f64::min);
        board.scene.line(vec![Point::new(wall, 78.0), Point::new(wall, 290.0)], Role::DepthBand);
        // Where bone begins in the midline.
        let midline = outline
            .iter()
            .filter(|p| p.x < centre.x)
            .min_by(|p, q| (p.y - centre.y).abs().total_cmp(&(q.y - centre.y).abs()))
            .map_or(wall, |p| p.x);
        board.words(Point::new(centre.x, 28.0), CENTRED, &format!("{levels}: {name}"), Role::Text);
        if midline > wall + 1.0 {
            board.scene.line(
                vec![Point::new(midline, centre.y), Point::new(midline + 18.0, centre.y)],
                Role::Leader,
            );
            board.words(
                Point::new(midline + 23.0, centre.y),
                (AlignX::Left, AlignY::Middle),
                &format!("{} anterior", format::mm((midline - wall) / SCALE)),
                Role::WeakText,
            );
        }
        arrow(&mut board, Point::new(centre.x + 34.0, 50.0), Point::new(centre.x + 34.0, 76.0));
    }
    let left = (AlignX::Left, AlignY::Middle);
    board.words(Point::new(168.0, 50.0), left, "lateral x-ray beam", Role::WeakText);
    board.scene.line(vec![Point::new(40.0, 326.0), Point::new(74.0, 326.0)], Role::DepthBand);
    board.words(
        Point::new(84.0, 326.0),
        left,
        "what a lateral view shows as the posterior wall: the outline of its margins, from which depth is measured",
        Role::WeakText,
    );
    board.words(Point::new(40.0, 304.0), left, "posterior on the left, seen from superior", Role::WeakText);
    board.scene
}

/// Points of the drawing to a millimetre.
const SCALE: f64 = 4.3;

/// A cross-section 35 mm deep and 46 mm wide; the posterior wall is drawn in by `hollow_mm` in the midline (out,
/// where negative). From the midline behind around to the midline behind, so that it is symmetrical.
fn section(centre: Point, hollow_mm: f64) -> Vec<Point> {
    let half = [
        (hollow_mm, 0.0),
        (0.78 * hollow_mm, 5.5),
        (0.25 * hollow_mm, 11.0),
        (0.4, 15.5),
        (3.6, 19.8),
        (9.5, 22.6),
        (17.0, 22.6),
        (25.0, 19.6),
        (31.2, 13.6),
        (34.4, 6.6),
    ];
    let front = std::iter::once((35.0, 0.0));
    let other = half.iter().rev().map(|&(x, y)| (x, -y));
    let around: Vec<_> = half
        .iter()
        .copied()
        .chain(front)
        .chain(other)
        .map(|(x, y)| centre + Vec2::new((x - 17.5) * SCALE, y * SCALE))
        .collect();
    let Some(curve) = Curve::through(&around) else { return around };
    (0..120).map(|i| curve.at(f64::from(i) / 120.0)).collect()
}

fn arrow(board: &mut Board, from: Point, to: Point) {
    board.scene.line(vec![from, to], Role::Accent);
    board.scene.line(vec![to + Vec2::new(-4.0, -7.0), to, to + Vec2::new(4.0, -7.0)], Role::Accent);
}
