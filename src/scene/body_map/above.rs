//! A body from above: across and depth.
//!
//! Each of the two is the projection that an AP and a lateral show, so the coordinates are straight: 0 and 1 lie at
//! the outline's extremes, whatever its shape in between.

use crate::geom::curve::Curve;
use crate::geom::point::{Point, Vec2};
use crate::measure::body::{BodyMap, BodyPoint, Outline};
use crate::measure::mark::{PatientRight, Side};
use crate::measure::settings::Rule;
use crate::scene::body_map::parts::{
    Reach, band_label, electrodes, midline_band, names_y, sheet, side_words, tip, two_names,
};
use crate::scene::body_map::tip_path;
use crate::scene::body_map::{BodyDrawing, Described};
use crate::scene::drawing::primitive::fit;
use crate::scene::drawing::shape::{AlignX, AlignY, Rect, Role, Scene, Text};
use crate::scene::drawing::theme::space;
use crate::scene::overlay::body_lines;
use crate::scene::overlay::{self, Layer};

/// How far the drawing reaches beyond the body, across and in depth: the pedicles' entries lie behind it.
const REACH: Reach = [-0.24, 1.24, -0.66, 1.06];

/// Depth and width of the typical body in millimetres.
const DEPTH: f64 = 35.0;
const WIDTH: f64 = 46.0;

/// Half of a typical body's horizontal section through its pedicles: millimetres from the posterior wall forward,
/// and from the midline outward.
const BODY: [(f64, f64); 11] = [
    (0.6, 0.0),
    (0.4, 5.5),
    (0.0, 11.0),
    (0.6, 16.5),
    (4.2, 20.9),
    (10.0, 23.0),
    (17.5, 22.8),
    (25.0, 19.8),
    (31.2, 13.8),
    (34.3, 6.8),
    (35.0, 0.0),
];

/// The same of the canal's edge: along the pedicle's medial border and the lamina to the midline.
const CANAL: [(f64, f64); 8] = [
    (0.5, 12.0),
    (-4.0, 12.2),
    (-8.0, 11.8),
    (-11.5, 10.2),
    (-14.5, 7.2),
    (-16.4, 4.0),
    (-17.4, 1.6),
    (-17.8, 0.0),
];

/// The same of the arch's outer edge: pedicle, transverse process, lamina, spinous process.
const ARCH: [(f64, f64); 12] = [
    (3.2, 20.4),
    (-3.0, 20.6),
    (-6.5, 24.0),
    (-8.6, 31.0),
    (-11.6, 31.4),
    (-12.6, 24.0),
    (-16.5, 19.0),
    (-19.5, 12.5),
    (-21.5, 6.0),
    (-23.6, 2.9),
    (-27.6, 2.5),
    (-28.2, 0.0),
];

/// The body from above in a drawing.
pub(crate) struct BodyFromAbove {
    /// Across and depth to the drawing's points.
    pub(crate) map: BodyMap,
    body: Vec<Point>,
    canal: Vec<Point>,
    arch: Vec<Point>,
    right_is_left: bool,
    /// Whether posterior is at the top of the drawing.
    posterior_up: bool,
}

impl BodyFromAbove {
    /// From above, with the side nearest to whoever looks at the front drawing at the bottom, as projections are
    /// laid out: with the patient's right on the left that is the front of the body.
    pub(crate) fn typical(right: PatientRight, entry: Option<Side>, room: Rect) -> Option<Self> {
        let right_is_left = right == PatientRight::ImageLeft;
        let posterior_up = right_is_left;
        let from_left = entry.is_none_or(|side| right_is_left == (side == Side::Right));
        let half_width = 31.4;
        let (behind, front) = (28.2, DEPTH);
        let bounds = if posterior_up {
            Rect::new(-half_width, -behind, half_width, front)
        } else {
            Rect::new(-half_width, -front, half_width, behind)
        };
        let (scale, origin) = fit(bounds, room);
        let down = if posterior_up { 1.0 } else { -1.0 };
        let place = |(forward, outward): (f64, f64)| origin + Vec2::new(outward, down * forward) * scale;
        let wall = 0.5 * WIDTH * if from_left { -1.0 } else { 1.0 };
        let outline = Outline::new(
            vec![place((0.0, wall)), place((0.0, -wall))],
            vec![place((DEPTH, wall)), place((DEPTH, -wall))],
            &[],
            &[],
        );
        let map = BodyMap::new(&outline).ok()?;
        Some(Self {
            map,
            body: closed(&BODY, &place),
            canal: across_midline(&CANAL, &place),
            arch: across_midline(&ARCH, &place),
            right_is_left,
            posterior_up,
        })
    }
}

impl BodyFromAbove {
    /// The arch and the inside of the body.
    pub(crate) fn inside(&self, scene: &mut Scene) {
        scene.strip(self.arch.clone(), self.canal.clone(), Role::Neighbour);
        scene.line(self.arch.clone(), Role::Neighbour);
        scene.line(self.canal.clone(), Role::Neighbour);
        let (a, b) = body_lines::halves(&self.body);
        scene.strip(a, b, Role::Bone);
    }

    /// The body's outline.
    pub(crate) fn outline(&self, scene: &mut Scene) {
        scene.outline(self.body.clone(), Role::Outline);
    }
}

/// The mirror image of half an outline, backward.
fn mirrored(half: &[(f64, f64)]) -> impl Iterator<Item = (f64, f64)> + '_ {
    half.iter().rev().map(|&(forward, outward)| (forward, -outward))
}

/// A curve from one side to the other, whose half ends in the midline.
fn across_midline(half: &[(f64, f64)], place: &impl Fn((f64, f64)) -> Point) -> Vec<Point> {
    let points: Vec<_> = half.iter().copied().chain(mirrored(half).skip(1)).map(place).collect();
    let Some(curve) = Curve::through(&points) else { return points };
    (0..=64).map(|i| curve.at(f64::from(i) / 64.0)).collect()
}

/// A closed curve whose half begins and ends in the midline.
fn closed(half: &[(f64, f64)], place: &impl Fn((f64, f64)) -> Point) -> Vec<Point> {
    let points: Vec<_> = half.iter().copied().chain(mirrored(half).skip(1)).map(place).collect();
    let Some(curve) = Curve::through(&points) else { return points };
    (0..96).map(|i| curve.at(f64::from(i) / 96.0)).collect()
}

/// The drawing with its sentence, and the map into it.
pub(super) fn drawing(of: &BodyDrawing<'_>, size: (f64, f64)) -> (Described, Option<BodyMap>) {
    let (mut scene, room) = sheet(size);
    let right = of.sides.patient_right.unwrap_or(PatientRight::ImageLeft);
    let words = format!(
        "Axial drawing of the body, seen from superior{}: {}{}",
        of.sides_words(Some(right)),
        of.tip_words([Rule::Midline, Rule::Depth]),
        of.target_words([Rule::Midline, Rule::Depth])
    );
    let drawn = BodyFromAbove::typical(right, of.sides.entry, room);
    if let Some(drawn) = &drawn {
        fill(&mut scene, of, drawn, size);
    }
    (Described { scene, words }, drawn.map(|drawn| drawn.map))
}

fn fill(scene: &mut Scene, of: &BodyDrawing<'_>, drawn: &BodyFromAbove, size: (f64, f64)) {
    let map = &drawn.map;
    drawn.inside(scene);
    midline_band(scene, map, of);
    let depth = of.band(Rule::Depth);
    if let Some(band) = depth {
        overlay::level_band(scene, map, band, Role::DepthBand);
    }
    drawn.outline(scene);
    if of.layers.has(Layer::Electrodes) {
        // Each of the two views tells one coordinate of the same electrode.
        let both = of.ap_electrodes.iter().zip(&of.lateral_electrodes);
        let places: Vec<_> = both.map(|(ap, lateral)| BodyPoint::new(ap.along, lateral.along)).collect();
        electrodes(scene, map, &places, REACH);
    }
    let place = of.position;
    // The two come from different pictures, so they do not vary together.
    tip(scene, map, (place.across, place.depth, 0.0), REACH, of.layers);
    tip_path::way(scene, map, &of.way, tip_path::ABOVE, REACH);
    if of.layers.has(Layer::Labels) {
        names(scene, of, drawn, size);
    }
}

/// The patient's sides in the corners beside the spinous process, anterior opposite, and the bands' numbers.
fn names(scene: &mut Scene, of: &BodyDrawing<'_>, drawn: &BodyFromAbove, size: (f64, f64)) {
    let map = &drawn.map;
    if let Some(band) = of.band(Rule::Depth) {
        // On the right of the body, whichever wall that is.
        let right = if map.to_image(BodyPoint::new(1.0, 0.5)).x > map.to_image(BodyPoint::new(0.0, 0.5)).x {
            1.0
        } else {
            0.0
        };
        let ends = [band.low, band.high].map(|depth| map.to_image(BodyPoint::new(right, depth)));
        band_label(scene, ends, band, (AlignX::Left, AlignY::Middle, (space::S1, 0.0)));
    }
    let top = space::S3;
    let (sides_y, anterior_y) = if drawn.posterior_up { (top, names_y(size)) } else { (names_y(size), top) };
    let [left, right] = side_words(drawn.right_is_left, of.sides.entry);
    two_names(scene, sides_y, &left, &right);
    let anterior = map.to_image(BodyPoint::new(0.5, 1.0));
    scene.text(
        Text::new(Point::new(anterior.x, anterior_y), "anterior", Role::WeakText)
            .aligned(AlignX::Middle, AlignY::Middle),
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: seen from above with the back toward the top of the page, the patient's right is on the left; with
    /// the back toward the bottom, on the right. Anything else would be a view from below.
    #[test]
    fn it_is_a_view_from_above_and_not_from_below() {
        let room = Rect::new(0.0, 0.0, 200.0, 160.0);
        for right in PatientRight::ALL {
            for entry in [None, Some(Side::Left), Some(Side::Right)] {
                let drawn = BodyFromAbove::typical(right, entry, room).unwrap();
                let at = |w, u| drawn.map.to_image(BodyPoint::new(w, u));
                let back_up = at(0.5, 0.0).y < at(0.5, 1.0).y;
                assert_eq!(back_up, right == PatientRight::ImageLeft);
                if let Some(entry) = entry {
                    let entry_left = at(0.0, 0.5).x < at(1.0, 0.5).x;
                    let right_left = right == PatientRight::ImageLeft;
                    assert_eq!(entry_left, right_left == (entry == Side::Right));
                }
            }
        }
    }

    /// The extremes of the drawn section are 0 and 1 in both coordinates.
    #[test]
    fn the_outline_reaches_from_0_to_1() {
        let drawn =
            BodyFromAbove::typical(PatientRight::ImageLeft, None, Rect::new(0.0, 0.0, 400.0, 300.0)).unwrap();
        let places: Vec<_> = drawn.body.iter().filter_map(|&p| drawn.map.to_body(p)).collect();
        assert_eq!(places.len(), drawn.body.len());
        for f in [(|p: &BodyPoint| p.along) as fn(&BodyPoint) -> f64, |p| p.height] {
            let (low, high) =
                places.iter().map(f).fold((f64::MAX, f64::MIN), |(a, b), x| (a.min(x), b.max(x)));
            assert!(low.abs() < 0.01 && (high - 1.0).abs() < 0.01, "{low} {high}");
        }
    }
}
