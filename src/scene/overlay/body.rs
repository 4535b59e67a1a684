//! What lateral and AP views share: borders, the bands of the target, the ruler; and the depth of a lateral.

use crate::geom::curve::Curve;
use crate::geom::point::Point;
use crate::measure::body::{BodyMap, BodyPoint, Border};
use crate::measure::mark::{MarkKind, View};
use crate::measure::settings::{Band, Rule};
use crate::scene::drawing::shape::{Role, Scene};
use crate::scene::format;
use crate::scene::overlay::body_lines;
use crate::scene::overlay::{Layer, Overlay, edge, label, shown_band};

impl Overlay<'_> {
    pub(super) fn depth(&self, scene: &mut Scene, map: &BodyMap) {
        if let Some(band) = shown_band(self.settings, self.stage, Rule::Depth)
            && self.layers.has(Layer::DepthBand)
        {
            depth_band(scene, map, band);
            if self.layers.has(Layer::Labels) {
                let ends = [band.low, band.high].map(|along| BodyPoint::new(along, 0.0));
                self.pair_of_labels(scene, map, ends, Border::Superior, Role::DepthBand);
            }
        }
        if self.layers.has(Layer::Thirds) {
            thirds(scene, map);
        }
    }

    pub(super) fn heights(&self, scene: &mut Scene, map: &BodyMap) {
        let Some(band) = shown_band(self.settings, self.stage, Rule::Height) else { return };
        if !self.layers.has(Layer::HeightBand) {
            return;
        }
        height_band(scene, map, band);
        // The ruler beside the same wall says the numbers already.
        if self.layers.has(Layer::Labels) && !self.layers.has(Layer::Ruler) {
            let ends = [band.low, band.high].map(|height| BodyPoint::new(1.0, height));
            self.pair_of_labels(scene, map, ends, Border::End, Role::HeightBand);
        }
    }

    pub(super) fn contours(&self, scene: &mut Scene, map: &BodyMap) {
        for border in Border::ALL {
            let used = body_lines::border(map, border);
            let first = body_lines::first_contour(map, border);
            let moved = used.iter().zip(&first).any(|(a, b)| a.distance(*b) > 0.3);
            if self.layers.has(Layer::Contours) {
                if moved {
                    scene.line(first, Role::SecondContour);
                }
                if let Some(second) = body_lines::second_contour(map, border) {
                    scene.line(second, Role::SecondContour);
                }
            }
            if self.layers.has(Layer::Borders) {
                scene.line(used, if moved { Role::MeanBorder } else { Role::Border });
            }
        }
    }

    /// What there is while marks are missing: every border through the points that are placed.
    pub(super) fn unfinished(&self, scene: &mut Scene) {
        let placed = |kind| self.marks.slots(kind).iter().copied().flatten();
        let corner = |kind: MarkKind, last: bool| {
            let slots = self.marks.slots(kind);
            if last { slots.last() } else { slots.first() }.copied().flatten()
        };
        let mut draw = |points: Vec<Point>, role| {
            if let Some(curve) = Curve::through(&points) {
                scene.line((0..=24).map(|i| curve.at(f64::from(i) / 24.0)).collect(), role);
            }
        };
        if self.layers.has(Layer::Borders) {
            for kind in [MarkKind::SuperiorEndPlate, MarkKind::InferiorEndPlate] {
                draw(placed(kind).collect(), Role::Border);
            }
            if matches!(self.view, View::Ap) {
                // Which corners a wall runs between is not known before both end plates are.
                for kind in [MarkKind::RightWall, MarkKind::LeftWall] {
                    draw(placed(kind).collect(), Role::Border);
                }
            } else {
                for (kind, last) in [(MarkKind::PosteriorWall, false), (MarkKind::AnteriorWall, true)] {
                    let ends =
                        [MarkKind::SuperiorEndPlate, MarkKind::InferiorEndPlate].map(|k| corner(k, last));
                    draw(ends[0].into_iter().chain(placed(kind)).chain(ends[1]).collect(), Role::Border);
                }
            }
        }
        if self.layers.has(Layer::Contours) {
            for kind in [
                MarkKind::SuperiorEndPlateSecond,
                MarkKind::InferiorEndPlateSecond,
                MarkKind::PosteriorWallSecond,
                MarkKind::AnteriorWallSecond,
                MarkKind::RightWallSecond,
                MarkKind::LeftWallSecond,
            ] {
                draw(placed(kind).collect(), Role::SecondContour);
            }
        }
    }
}

/// The target band of the depth: its area and its two lines.
pub(crate) fn depth_band(scene: &mut Scene, map: &BodyMap, band: Band) {
    upright_band(scene, map, band, Role::DepthBand);
}

/// The target band about a midline, in fractions across the body: its area and its two lines.
pub(crate) fn midline_band(scene: &mut Scene, map: &BodyMap, band: Band) {
    upright_band(scene, map, band, Role::MidlineBand);
}

fn upright_band(scene: &mut Scene, map: &BodyMap, band: Band, role: Role) {
    band_between(scene, [band.low, band.high].map(|along| body_lines::upright(map, along)), role);
}

/// A band between two levels: its area and its two lines.
pub(crate) fn level_band(scene: &mut Scene, map: &BodyMap, band: Band, role: Role) {
    band_between(scene, [band.low, band.high].map(|height| body_lines::level(map, height)), role);
}

fn band_between(scene: &mut Scene, [low, high]: [Vec<Point>; 2], role: Role) {
    scene.strip(low.clone(), high.clone(), role);
    scene.line(low, role);
    scene.line(high, role);
}

/// The target band of the height: its area, its two lines and the one at mid height.
pub(crate) fn height_band(scene: &mut Scene, map: &BodyMap, band: Band) {
    level_band(scene, map, band, Role::HeightBand);
    scene.line(body_lines::level(map, 0.5), Role::MidHeight);
}

/// The lines at one third and two thirds of the depth.
pub(crate) fn thirds(scene: &mut Scene, map: &BodyMap) {
    for along in [1.0 / 3.0, 2.0 / 3.0] {
        scene.line(body_lines::upright(map, along), Role::Thirds);
    }
}

/// Ticks outside the body along the inferior end plate and the end wall, a tenth apart, longer at the half and
/// the ends; numbers as close as there is room for. `along` is whether
/// the direction along the end plates has a meaning: across, it has none while the sides are not known.
pub(crate) fn ruler(scene: &mut Scene, map: &BodyMap, zoom: f64, numbers: bool, along: bool) {
    let zoom = if zoom > 0.0 && zoom.is_finite() { zoom } else { 1.0 };
    let depth_pt = map.depth_px() * zoom;
    let height_pt = map.mean_height_px() * zoom;
    for (border, length_pt, room) in [(Border::Inferior, depth_pt, 27.0), (Border::End, height_pt, 17.0)] {
        if border == Border::Inferior && !along {
            continue;
        }
        let every =
            [1_u32, 2, 5].into_iter().find(|&n| length_pt * f64::from(n) / 10.0 >= room).unwrap_or(10);
        let line = match border {
            Border::Inferior => body_lines::border(map, Border::Inferior),
            _ => body_lines::border(map, Border::End),
        };
        scene.line(line, Role::Ruler);
        for tenth in 0..=10_u32 {
            let t = f64::from(tenth) / 10.0;
            let place =
                if border == Border::Inferior { BodyPoint::new(t, 1.0) } else { BodyPoint::new(1.0, t) };
            let (at, away) = edge(map, place, border);
            let long = tenth % 5 == 0;
            let length_px = if long { 9.0 } else { 5.0 } / zoom;
            scene.line(vec![at, at + away * length_px], Role::Ruler);
            // At the shared corner the two rulers would write over each other: the height's number stands.
            let shared = border == Border::Inferior && tenth == 10;
            if numbers && tenth % every == 0 && !shared {
                let words = format::ruler_number(t);
                let far = if border == Border::Inferior { 19.0 } else { 23.0 };
                scene.text(label(at, away * far, words, Role::Ruler));
            }
        }
    }
}
