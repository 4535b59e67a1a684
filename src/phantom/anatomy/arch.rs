//! What hangs on a vertebral body: pedicles, joints, laminae, processes, and bony outgrowths now and then; the
//! sacrum's wings. Sizes beyond those of [`crate::phantom::size`] are plausible only, no source.

use glam::DVec3;

use crate::phantom::anatomy::implicit::{SimpleShape, Solid, net};
use crate::phantom::anatomy::mesh::Mesh;
use crate::phantom::anatomy::vertebra::depth_inside;
use crate::phantom::body::Body;
use crate::phantom::draw::Draw;
use crate::phantom::imaging::grain::Grain;
use crate::phantom::spine::Kind;

/// Thickness of the shell in millimetres.
const SHELL_MM: f64 = 0.85;
/// Width of the grid on which surfaces are found.
const STEP_MM: f64 = 1.25;

/// The outside of everything that hangs on the body, and its core. Both end at the body's surface.
#[must_use]
pub fn surfaces(body: &Body, kind: Kind, draw: &mut Draw) -> (Mesh, Mesh) {
    let solid = Solid::new(shapes(body, kind, draw), 2.5);
    // No bone is as smooth as its shapes.
    let rough = Grain::new(draw.seed());
    let bumps = |p: DVec3| 0.45 * rough.at(p / 4.5) + 0.25 * rough.at(p / 2.0);
    let cut = |p: DVec3| (solid.distance(p) + bumps(p)).max(depth_inside(body, p));
    let outside = net(&cut, solid.bounds(), STEP_MM);
    // Where the surface is the body's there is no shell: bone goes on into bone.
    let core = outside.inset(|p, _| if solid.distance(p) < -0.6 { 0.0 } else { SHELL_MM });
    (outside, core)
}

fn shapes(body: &Body, kind: Kind, draw: &mut Draw) -> Vec<SimpleShape> {
    let mut shapes = Vec::new();
    for side in [-1.0, 1.0] {
        match kind {
            Kind::Sacral(n) => wing(body, side, n, &mut shapes),
            Kind::Lumbar(_) | Kind::Thoracic => half_arch(body, kind, side, draw, &mut shapes),
        }
    }
    behind(body, kind, &mut shapes);
    if matches!(kind, Kind::Lumbar(_)) {
        outgrowths(body, draw, &mut shapes);
    }
    shapes
}

/// Pedicle, joint processes, lamina and transverse process of one side.
fn half_arch(body: &Body, kind: Kind, side: f64, draw: &mut Draw, shapes: &mut Vec<SimpleShape>) {
    let (x, y, z) = (DVec3::X, DVec3::Y * side, DVec3::Z);
    let s = &body.size;
    let p = body.pedicle(side);
    let (half_width, half_height) = (0.5 * s.pedicle_width, 0.5 * s.pedicle_height);
    // Narrowest in the middle, where its borders are marked.
    let section = |grown: f64| (half_width * grown, half_height * grown);
    let joint = p.centre + p.axis * 9.0;
    // Within the body it stays below the end plate.
    let within = p.centre - p.axis * 9.0 - z * 2.5;
    shapes.push(SimpleShape::bar(
        within,
        p.centre,
        p.lateral,
        [(half_width * 1.2, half_height * 0.9), section(1.0)],
    ));
    shapes.push(SimpleShape::bar(p.centre, joint - p.axis * 3.0, p.lateral, [section(1.0), section(1.1)]));
    let small = if kind == Kind::Thoracic { 0.8 } else { 1.0 };
    let mut vary = |mean: f64| mean * draw.between(0.92, 1.08);
    // Superior joint process, the bridge down to the inferior one, and that one.
    let top = joint + z * vary(17.0) * small - y * 0.5 - x * 1.5;
    shapes.push(SimpleShape::bar(joint - x * 2.0, top, y, [(6.0 * small, 5.0), (4.8 * small, 3.0)]));
    let bridge = joint - x * 9.0 - y * vary(4.0) - z * 13.0;
    shapes.push(SimpleShape::bar(joint - x * 3.0 - z, bridge, y, [(5.5 * small, 4.5), (5.0 * small, 3.6)]));
    let foot = joint - x * 9.5 - y * vary(4.5) - z * vary(31.0) * small;
    shapes.push(SimpleShape::bar(bridge, foot, y, [(5.2 * small, 3.8), (4.4 * small, 2.8)]));
    // The lamina closes the canal toward the middle.
    let root = root(body);
    let outer = joint - x * 9.0 - y * 4.0 - z * 7.0;
    shapes.push(SimpleShape::bar(outer, root + y * 2.0, z, [(8.5 * small, 3.0), (8.0 * small, 3.4)]));
    // The transverse process: longest at L3, short and thick at L5 (common knowledge, no source).
    let (length, tall) = match kind {
        Kind::Lumbar(0) => (20.0, 4.6),
        Kind::Lumbar(2) => (30.0, 5.0),
        Kind::Lumbar(4) => (24.0, 7.5),
        Kind::Lumbar(_) => (26.0, 5.0),
        _ => (13.0, 5.5),
    };
    let tip = joint - x * 5.0 + y * vary(length) + z * 2.5;
    let waist = joint - x * 3.0 + y * (0.45 * length) + z * vary(1.0);
    shapes.push(SimpleShape::bar(joint - x + y * 2.0 + z, waist, z, [(tall + 1.0, 3.6), (0.75 * tall, 2.6)]));
    shapes.push(SimpleShape::bar(waist, tip, z, [(0.75 * tall, 2.6), (0.8 * tall, 2.2)]));
    shapes.push(SimpleShape::ellipsoid(tip, DVec3::new(2.4, 3.6, 0.85 * tall)));
}

/// Where the laminae meet behind the canal.
fn root(body: &Body) -> DVec3 {
    DVec3::new(body.back(0.5) - body.size.canal_depth - 4.0, 0.0, -9.0)
}

/// The spinous process, a blade with a thick end whose width at the tip is the model's.
fn behind(body: &Body, kind: Kind, shapes: &mut Vec<SimpleShape>) {
    let spinous = body.spinous();
    let root = root(body);
    let (tall, thick) = (spinous.half_height, spinous.half_thickness);
    let lower = if kind == Kind::Thoracic { DVec3::Z * -8.0 } else { DVec3::ZERO };
    let tip = spinous.tip + lower;
    if let Kind::Sacral(_) = kind {
        let crest = root + DVec3::new(-7.0, 0.0, -1.0);
        shapes.push(SimpleShape::bar(
            root - DVec3::Z * 8.0,
            root + DVec3::Z * 10.0,
            DVec3::Y,
            [(14.0, 4.0), (16.0, 4.0)],
        ));
        shapes.push(SimpleShape::ellipsoid(crest, DVec3::new(8.0, 3.5, 9.0)));
        return;
    }
    shapes.push(SimpleShape::bar(
        root + DVec3::X * 2.0,
        tip + DVec3::X * 6.0,
        DVec3::Z,
        [(7.5, 3.2), (0.9 * tall, 0.5 * thick)],
    ));
    shapes.push(SimpleShape::ellipsoid(tip, DVec3::new(5.0, thick, tall)));
}

/// The side of a sacral segment: its pedicle, and with the first one the wing and the joint process.
fn wing(body: &Body, side: f64, n: usize, shapes: &mut Vec<SimpleShape>) {
    let (x, y, z) = (DVec3::X, DVec3::Y * side, DVec3::Z);
    let half_width = body.half_width(0.5);
    let joint = DVec3::new(body.back(0.3) - 13.0, 0.0, 4.0) + y * 19.0;
    shapes.push(SimpleShape::bar(y * (half_width - 8.0) - x * 12.0, joint, z, [(7.0, 7.0), (7.0, 4.0)]));
    if n > 0 {
        return;
    }
    // One mass beside all segments, tapering down and curving back.
    let top = y * (half_width + 6.0) - x * 7.0 + z * 2.0;
    let middle = y * half_width - x * 15.0 - z * 34.0;
    let end = y * (half_width - 10.0) - x * 38.0 - z * 78.0;
    shapes.push(SimpleShape::bar(top, middle, y, [(19.0, 12.0), (13.0, 10.0)]));
    shapes.push(SimpleShape::bar(middle, end, y, [(13.0, 10.0), (7.0, 6.0)]));
    shapes.push(SimpleShape::bar(joint, joint + z * 14.0 - y, y, [(6.0, 5.0), (4.8, 3.2)]));
}

/// Beaks at the front edges, on about a third of the edges of one body in three.
fn outgrowths(body: &Body, draw: &mut Draw, shapes: &mut Vec<SimpleShape>) {
    let has_some = draw.unit() < 0.35;
    for (v, down) in [(0.05, 1.0), (0.95, -1.0)] {
        for eta in [-0.45, 0.0, 0.45] {
            let (size, here) = (draw.between(0.7, 1.3), draw.unit() < 0.4);
            if !(has_some && here) {
                continue;
            }
            let edge = body.at(body.anterior(eta), eta, v);
            let middle = edge + DVec3::new(-0.9, 1.5 * eta, down * 0.5);
            shapes.push(SimpleShape::ellipsoid(middle, DVec3::new(3.3 * size, 8.5 * size, 1.8 * size)));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::phantom::size::{LUMBAR, Sample, Size};

    /// The pedicle's narrowest section has the model's width, and the spinous process its thickness.
    #[test]
    fn borders_are_where_they_are_marked() {
        for (n, level) in LUMBAR.into_iter().enumerate() {
            let body = Body::new(Size::typical(level, Sample::All));
            let solid = Solid::new(shapes(&body, Kind::Lumbar(n), &mut Draw::new(1)), 2.5);
            for side in [-1.0, 1.0] {
                let p = body.pedicle(side);
                for border in [p.centre + p.lateral, p.centre - p.lateral] {
                    let d = solid.distance(border);
                    assert!(d.abs() < 0.8, "{level:?} {side}: {d}");
                }
                let spinous = body.spinous();
                let d = solid.distance(spinous.tip + DVec3::Y * side * spinous.half_thickness);
                assert!(d.abs() < 0.3, "{level:?}: {d}");
            }
        }
    }

    #[test]
    fn the_arch_ends_at_the_body() {
        let body = Body::new(Size::typical(LUMBAR[3], Sample::All));
        let (outside, core) = surfaces(&body, Kind::Lumbar(3), &mut Draw::new(1));
        let deepest = outside.points.iter().map(|&p| depth_inside(&body, p)).fold(f64::MIN, f64::max);
        assert!(deepest < 1.5 * STEP_MM, "{deepest}");
        assert_eq!(outside.triangles.len(), core.triangles.len());
        assert!(outside.points.len() > 2000);
    }
}
