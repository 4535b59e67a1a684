//! What a label draws on the picture, and where its words belong to it.

use crate::case::annotation::value::{angle_deg, size};
use crate::case::annotation::{Label, LabelKind};
use crate::case::document::Shot;
use crate::geom::curve::Curve;
use crate::geom::point::{Point, Vec2};
use crate::measure::body::BodyMap;
use crate::scene::drawing::shape::{Role, Scene};
use crate::scene::format;

/// Steps of a curve or a round line.
const STEPS: u32 = 64;
/// Length of an arrow's head, of the bars at the ends of a length, and the radius of an angle's arc, in points.
const HEAD: f64 = 11.0;
const BAR: f64 = 6.0;
const ARC: f64 = 24.0;

/// Where words belong to, and what they should not lie on.
pub(super) struct Draft {
    /// The place the words stand beside, in image coordinates.
    pub(super) anchor: Point,
    /// The direction in which they stand best.
    pub(super) away: Option<Vec2>,
    /// The drawn lines, piece by piece.
    pub(super) segments: Vec<[Point; 2]>,
}

/// Draws a label's lines; `zoom` is points to a pixel.
pub(super) fn of(label: &Label, zoom: f64, scene: &mut Scene) -> Draft {
    let points = label.points();
    let first = points.first().copied().unwrap_or_default();
    let mut draft = Draft { anchor: first, away: None, segments: Vec::new() };
    match (label.kind(), points) {
        (Some(LabelKind::Arrow), &[from, to]) => {
            draft.away = Some(from - to);
            stroke(scene, &mut draft, vec![from, to]);
            if let Some(back) = (from - to).normalized() {
                let reach = (HEAD / zoom).min(0.5 * from.distance(to));
                let side = back.perpendicular() * (0.45 * reach);
                scene.line(vec![to + back * reach + side, to, to + back * reach - side], Role::Label);
            }
        }
        (Some(LabelKind::Line), &[a, b]) => {
            draft.anchor = a.midpoint(b);
            draft.away = Some((b - a).perpendicular());
            stroke(scene, &mut draft, vec![a, b]);
        }
        (Some(LabelKind::Length), &[a, b]) => {
            draft.anchor = a.midpoint(b);
            draft.away = Some((b - a).perpendicular());
            stroke(scene, &mut draft, vec![a, b]);
            if let Some(along) = (b - a).normalized() {
                let side = along.perpendicular() * (BAR / zoom);
                for end in [a, b] {
                    scene.line(vec![end + side, end - side], Role::Label);
                }
            }
        }
        (Some(LabelKind::Curve), points) => {
            let line = curved(points);
            draft.anchor = line.get(line.len() / 2).copied().unwrap_or(first);
            stroke(scene, &mut draft, line);
        }
        (Some(LabelKind::Angle), &[a, corner, b]) => angle(scene, &mut draft, [a, corner, b], zoom),
        (Some(LabelKind::Outline | LabelKind::Dim), _) => {
            let line = closed(label);
            let top = line.iter().copied().min_by(|p, q| p.y.total_cmp(&q.y));
            draft.anchor = top.unwrap_or(first);
            draft.away = Some(Vec2::new(0.0, -1.0));
            pieces(&mut draft, &line);
            scene.outline(line, Role::Label);
        }
        (Some(LabelKind::Inset), &[a, b]) => {
            let line = vec![a, Point::new(b.x, a.y), b, Point::new(a.x, b.y)];
            draft.anchor = a.midpoint(b);
            pieces(&mut draft, &line);
            scene.outline(line, Role::Label);
        }
        _ => {}
    }
    draft
}

fn stroke(scene: &mut Scene, draft: &mut Draft, line: Vec<Point>) {
    pieces(draft, &line);
    scene.line(line, Role::Label);
}

fn pieces(draft: &mut Draft, line: &[Point]) {
    draft.segments.extend(line.windows(2).map(|w| [w[0], w[1]]));
}

fn angle(scene: &mut Scene, draft: &mut Draft, [a, corner, b]: [Point; 3], zoom: f64) {
    stroke(scene, draft, vec![a, corner, b]);
    let (Some(u), Some(v)) = ((a - corner).normalized(), (b - corner).normalized()) else { return };
    let radius = (ARC / zoom).min(0.6 * a.distance(corner).min(b.distance(corner)));
    let turn = u.cross(v).atan2(u.dot(v));
    let at = |share: f64| {
        let (sin, cos) = (turn * share).sin_cos();
        corner + Vec2::new(u.x * cos - u.y * sin, u.x * sin + u.y * cos) * radius
    };
    scene.line((0..=24).map(|i| at(f64::from(i) / 24.0)).collect(), Role::Label);
    draft.anchor = at(0.5);
    draft.away = Some(draft.anchor - corner);
}

/// The curve through points, or the points where there is none.
fn curved(points: &[Point]) -> Vec<Point> {
    let Some(curve) = Curve::through(points) else { return points.to_vec() };
    (0..=STEPS).map(|i| curve.at(f64::from(i) / f64::from(STEPS))).collect()
}

/// The closed line of an outline or a region, polygon or round.
pub(super) fn closed(label: &Label) -> Vec<Point> {
    match label.points() {
        &[a, b, side] if label.is_round() => {
            let (centre, half) = (a.midpoint(b), (b - a) * 0.5);
            let across = half.perpendicular();
            let other = across.normalized().map_or(0.0, |n| (side - centre).dot(n).abs());
            let across = across.normalized().unwrap_or(Vec2::new(0.0, 0.0)) * other;
            let turn = |i: u32| std::f64::consts::TAU * f64::from(i) / f64::from(STEPS);
            (0..STEPS).map(|i| centre + half * turn(i).cos() + across * turn(i).sin()).collect()
        }
        points => points.to_vec(),
    }
}

/// The angle or the length that a label works out, in words.
pub(super) fn value(shot: &Shot, map: Option<&BodyMap>, label: &Label) -> Option<String> {
    match (label.kind()?, label.points()) {
        (LabelKind::Angle, &[a, corner, b]) => Some(match angle_deg(a, corner, b) {
            Some(angle) => format::degrees(angle),
            None => "no angle".to_owned(),
        }),
        (LabelKind::Length, &[a, b]) => Some(format::label_size(size(a, b, shot.mm_per_px, map, shot.view))),
        _ => None,
    }
}
