//! A body from the side: depth and height.

use crate::geom::curve::Curve;
use crate::geom::point::Point;
use crate::measure::body::{BodyMap, BodyPoint, Border, Outline};
use crate::measure::settings::Rule;
use crate::scene::body_map::parts::{
    Reach, band_label, bone, borders, carried, electrodes, names_y, placing, sampled, sheet, tip,
};
use crate::scene::body_map::tip_path;
use crate::scene::body_map::{BodyDrawing, Described, Posterior};
use crate::scene::drawing::shape::{AlignX, AlignY, Rect, Role, Scene, Text, TextSize};
use crate::scene::drawing::theme::space;
use crate::scene::drawing::type_metrics::width;
use crate::scene::overlay::{self, Layer};

/// How far the drawing reaches beyond the body when nothing lies farther away, and at most behind it.
const REACH: Reach = [-0.30, 1.06, -0.08, 1.08];
const FARTHEST: f64 = -0.80;

/// The reach that shows the tip with its region, if it is not too far behind.
fn reach(of: &BodyDrawing<'_>) -> Reach {
    let [behind, front, above, below] = REACH;
    let places = of.way.iter().map(|stop| &stop.position).chain(std::iter::once(&of.position));
    let needed = places
        .filter_map(|place| place.depth)
        .map(|depth| depth.value - 2.5 * depth.sd - 0.06)
        .fold(behind, f64::min);
    [needed.clamp(FARTHEST, behind), front, above, below]
}

/// On which side of its picture a marked body has its posterior wall.
#[must_use]
pub fn posterior_side(map: &BodyMap) -> Posterior {
    let along = map.to_image(BodyPoint::new(1.0, 0.5)) - map.to_image(BodyPoint::new(0.0, 0.5));
    if along.x >= 0.0 { Posterior::Left } else { Posterior::Right }
}

/// The outline of a typical lumbar body from the side: 33 wide at mid height and 27 high, its posterior wall at
/// x = 0, in arbitrary units. Proportions after published means of lumbar bodies; the curvature of plates and
/// walls is drawn a little stronger than it is, to be seen at this size.
pub(crate) fn typical_outline() -> Outline {
    let p = Point::new;
    Outline::new(
        vec![p(0.0, 0.0), p(8.0, 1.0), p(17.0, 1.5), p(27.0, 0.9), p(35.6, -0.6)],
        vec![p(0.6, 27.0), p(9.0, 25.7), p(18.0, 25.4), p(27.5, 26.4), p(36.0, 28.6)],
        &[p(0.9, 7.0), p(1.3, 13.5), p(1.2, 20.5)],
        &[p(34.4, 6.6), p(33.9, 14.0), p(34.6, 21.4)],
    )
}

/// The silhouette of the pedicle and arch behind a body whose posterior wall is at x = 0, in the units of
/// [`typical_outline`]: it says at a glance where posterior is.
pub(crate) fn arch() -> [Vec<Point>; 2] {
    let p = Point::new;
    let upper = [p(0.6, 2.4), p(-3.5, 3.4), p(-7.0, 2.6), p(-10.5, 0.2)];
    let lower = [p(1.3, 14.4), p(-2.6, 12.6), p(-6.5, 13.8), p(-10.5, 17.2)];
    [&upper, &lower].map(|points| {
        let points: &[Point] = points;
        Curve::through(points)
            .map_or_else(Vec::new, |c| (0..=16).map(|i| c.at(f64::from(i) / 16.0)).collect())
    })
}

/// A body in a drawing: its map into the drawing's points, and the pedicle's edges of a typical one.
pub(super) struct BodyFromSide {
    pub(super) map: BodyMap,
    arch: Option<[Vec<Point>; 2]>,
}

impl BodyFromSide {
    /// The typical body fitted into `room`, `None` where it has no map.
    pub(super) fn typical(posterior: Posterior, room: Rect, behind: f64) -> Option<Self> {
        let outline = typical_outline();
        let arch = arch();
        let farthest = Point::new(behind * 33.0, 13.0);
        let bounds = Rect::around(
            outline.first.iter().chain(&arch).flatten().copied().chain(std::iter::once(farthest)),
        )?;
        let place = placing(bounds, room, posterior == Posterior::Right);
        let map = BodyMap::new(&carried(&outline, &place)).ok()?;
        Some(Self { map, arch: Some(arch.map(|edge| edge.into_iter().map(&place).collect())) })
    }

    /// The marked body's own outline, upright as it lies in the picture.
    fn own(map: &BodyMap, room: Rect, behind: f64) -> Option<Self> {
        // Room for the pedicle's side is left, so that a tip still on its way is seen.
        let corners = [(behind, 0.0), (behind, 0.6), (1.08, 0.0), (1.08, 1.0)];
        let reach = corners.map(|(u, v)| map.to_image(BodyPoint::new(u, v)));
        let outline = sampled(map);
        let bounds = Rect::around(outline.first.iter().flatten().copied().chain(reach))?;
        let map = BodyMap::new(&carried(&outline, &placing(bounds, room, false))).ok()?;
        Some(Self { map, arch: None })
    }

    /// Pedicle and inside.
    pub(super) fn inside(&self, scene: &mut Scene) {
        if let Some(arch) = &self.arch {
            arch_shape(scene, arch);
        }
        bone(scene, &self.map);
    }
}

/// The drawing with its sentence, and the map into it.
pub(super) fn drawing(of: &BodyDrawing<'_>, size: (f64, f64)) -> (Described, Option<BodyMap>) {
    let posterior = of.lateral.map_or(of.posterior, posterior_side);
    let words = format!(
        "Lateral drawing of the body, posterior on the {}: {}{}",
        if posterior == Posterior::Left { "left" } else { "right" },
        of.tip_words([Rule::Depth, Rule::Height]),
        of.target_words([Rule::Depth, Rule::Height])
    );
    let (mut scene, room) = sheet(size);
    let reach = reach(of);
    let drawn = match of.lateral {
        Some(map) => BodyFromSide::own(map, room, reach[0]),
        None => BodyFromSide::typical(of.posterior, room, reach[0]),
    };
    if let Some(drawn) = &drawn {
        fill(&mut scene, of, drawn, reach, names_y(size));
    }
    (Described { scene, words }, drawn.map(|drawn| drawn.map))
}

fn fill(scene: &mut Scene, of: &BodyDrawing<'_>, drawn: &BodyFromSide, reach: Reach, names: f64) {
    let map = &drawn.map;
    drawn.inside(scene);
    if let Some(band) = of.band(Rule::Depth) {
        overlay::depth_band(scene, map, band);
        if of.layers.has(Layer::Labels) {
            let ends = [band.low, band.high].map(|along| map.to_image(BodyPoint::new(along, 0.0)));
            let up = (AlignX::Middle, AlignY::Bottom, (0.0, -space::S1));
            band_label(scene, ends, band, up);
        }
    }
    if let Some(band) = of.band(Rule::Height) {
        overlay::height_band(scene, map, band);
    }
    if of.layers.has(Layer::Thirds) {
        overlay::thirds(scene, map);
    }
    borders(scene, map);
    if of.layers.has(Layer::Electrodes) {
        electrodes(scene, map, &of.lateral_electrodes, reach);
    }
    let place = of.position;
    tip(scene, map, (place.depth, place.height, place.depth_height), reach, of.layers);
    tip_path::way(scene, map, &of.way, tip_path::SIDE, reach);
    if of.layers.has(Layer::Labels) {
        side_names(scene, map, names);
    }
}

/// The pedicle's and arch's silhouette.
pub(crate) fn arch_shape(scene: &mut Scene, [upper, lower]: &[Vec<Point>; 2]) {
    scene.strip(upper.clone(), lower.clone(), Role::Neighbour);
    scene.line(upper.clone(), Role::Neighbour);
    scene.line(lower.clone(), Role::Neighbour);
}

/// Posterior and anterior below the body: about its edges where there is room, else at the drawing's own.
pub(super) fn side_names(scene: &mut Scene, map: &BodyMap, y: f64) {
    let (behind, front) = (map.border(Border::Start, 1.0).x, map.border(Border::End, 1.0).x);
    let edge = scene.bounds.grown(-space::S2);
    let names = [(behind, "posterior"), (front, "anterior")].map(|(x, name)| {
        let half = 0.5 * width(name, TextSize::Small);
        (x.max(edge.min.x + half).min(edge.max.x - half), half, name)
    });
    let [(x0, half0, _), (x1, half1, _)] = names;
    let apart = (x0 - x1).abs() >= half0 + half1 + space::S3;
    for (x, half, name) in names {
        // Beneath a narrow body the two would meet; they move out as far as the drawing goes.
        let x = match (apart, (name == "posterior") == (behind < front)) {
            (true, _) => x,
            (false, true) => edge.min.x + half,
            (false, false) => edge.max.x - half,
        };
        scene.text(Text::new(Point::new(x, y), name, Role::WeakText).aligned(AlignX::Middle, AlignY::Middle));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::quantity::{Budget, Quantity};
    use crate::measure::reading::{LateralReading, Place};
    use crate::measure::settings::Settings;
    use crate::scene::body_map::tests::tip_of;

    fn reading(along: f64) -> LateralReading {
        let quantity = |value| Quantity {
            value,
            budget: Budget { bone: 0.016, ..Budget::default() },
            influences: Vec::new(),
            monte_carlo: None,
        };
        let tip = Place { along: quantity(along), height: quantity(0.5), covariance: 0.0 };
        LateralReading { tip: Some(tip), ..LateralReading::default() }
    }

    fn tip_x(along: f64, posterior: Posterior, map: Option<&BodyMap>) -> f64 {
        let settings = Settings::default();
        let drawing = BodyDrawing { posterior, ..BodyDrawing::new(&settings, None) };
        let drawn = drawing.with_lateral(&reading(along), map).side((240.0, 200.0));
        tip_of(&drawn.scene).map_or(f64::NAN, |p| p.x)
    }

    #[test]
    fn the_tip_is_drawn_nearer_the_wall_it_is_nearer() {
        assert!(tip_x(0.2, Posterior::Left, None) < tip_x(0.8, Posterior::Left, None));
        assert!(tip_x(0.2, Posterior::Right, None) > tip_x(0.8, Posterior::Right, None));
    }

    #[test]
    fn a_bodys_own_outline_keeps_its_side() {
        let p = Point::new;
        let outline = Outline::new(
            vec![p(412.0, 305.0), p(268.0, 318.0)],
            vec![p(405.0, 398.0), p(262.0, 421.0)],
            &[],
            &[],
        );
        let map = BodyMap::new(&outline).unwrap();
        assert_eq!(posterior_side(&map), Posterior::Right);
        assert!(tip_x(0.1, Posterior::Left, Some(&map)) > tip_x(0.9, Posterior::Left, Some(&map)));
    }
}
