//! The small drawing of a body from the side: where the tip lies in it, and where the next mark belongs.
//!
//! The drawing is a body like any other: an outline, its body map, and the same lines as on the picture. Only
//! the outline is a typical one, or the marked body's own. A drawing from the front or from above needs its own
//! outline and names, and nothing else.

use crate::geom::curve::Curve;
use crate::geom::point::{Point, Vec2};
use crate::measure::body::{BodyMap, BodyPoint, Border, Outline};
use crate::measure::mark::{MarkKind, MarkRef, Stage, View};
use crate::measure::reading::Place;
use crate::measure::settings::{Rule, Settings};
use crate::scene::body_lines;
use crate::scene::format;
use crate::scene::overlay::{self, Layer, LayerSet};
use crate::scene::primitive::fit;
use crate::scene::shape::{AlignX, AlignY, Glyph, Rect, Role, Scene, Space, Text, TextSize};
use crate::scene::theme::Theme;
use crate::scene::theme::space;
use crate::scene::type_metrics::width;

/// On which side of a drawing or picture the posterior wall is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Posterior {
    /// On the left.
    Left,
    /// On the right.
    Right,
}

/// Which outline is drawn.
#[derive(Clone, Copy, Debug)]
pub enum Outlined<'a> {
    /// A typical lumbar body.
    Typical(Posterior),
    /// The marked body's own, upright as it lies in the picture.
    Own(&'a BodyMap),
}

/// What the small drawing shows.
#[derive(Clone, Copy, Debug)]
pub struct BodyDrawing<'a> {
    /// The outline.
    pub outlined: Outlined<'a>,
    /// The tip, if it can be read.
    pub tip: Option<&'a Place>,
    /// The electrodes' places, if they can be read.
    pub electrodes: &'a [BodyPoint],
    /// Stage of the procedure; its target is shown.
    pub stage: Option<Stage>,
    /// The case's settings.
    pub settings: &'a Settings,
    /// What to show.
    pub layers: LayerSet,
    /// Width and height of the drawing in points.
    pub size: (f64, f64),
}

/// How far the drawing reaches beyond the body, in body fractions: along behind, along in front, height above,
/// height below. A tip farther away is drawn at the edge.
const REACH: [f64; 4] = [-0.30, 1.06, -0.08, 1.08];

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

/// A body in a drawing: its map into the drawing's points, and the pedicle's edges.
struct Drawn {
    map: BodyMap,
    arch: Option<[Vec<Point>; 2]>,
}

impl Drawn {
    /// The outline fitted into `room`, `None` where it has no map.
    fn new(outlined: Outlined<'_>, room: Rect) -> Option<Self> {
        let placed = |bounds: Rect, mirrored: bool| {
            let (scale, origin) = fit(bounds, room);
            move |p: Point| {
                let x = if mirrored { bounds.min.x + bounds.max.x - p.x } else { p.x };
                origin + Vec2::new(x, p.y) * scale
            }
        };
        match outlined {
            Outlined::Typical(posterior) => {
                let outline = typical_outline();
                let arch = arch();
                let bounds = Rect::around(outline.first.iter().chain(&arch).flatten().copied())?;
                let place = placed(bounds, posterior == Posterior::Right);
                let map = BodyMap::new(&carried(&outline, &place)).ok()?;
                Some(Self { map, arch: Some(arch.map(|edge| edge.into_iter().map(&place).collect())) })
            }
            Outlined::Own(map) => {
                // Room for the pedicle's side is left, so that a tip still on its way is seen.
                let corners = [(REACH[0], 0.0), (REACH[0], 0.6), (1.08, 0.0), (1.08, 1.0)];
                let reach = corners.map(|(u, v)| map.to_image(BodyPoint::new(u, v)));
                let outline = sampled(map);
                let bounds = Rect::around(outline.first.iter().flatten().copied().chain(reach))?;
                let map = BodyMap::new(&carried(&outline, &placed(bounds, false))).ok()?;
                Some(Self { map, arch: None })
            }
        }
    }
}

/// An outline with every point carried through `f`.
pub(crate) fn carried(outline: &Outline, f: &impl Fn(Point) -> Point) -> Outline {
    Outline {
        first: std::array::from_fn(|b| outline.first[b].iter().map(|&p| f(p)).collect()),
        second: [None, None, None, None],
    }
}

/// The borders a map uses, sampled so that a spline through the points is the border again.
fn sampled(map: &BodyMap) -> Outline {
    let first = Border::ALL.map(|border| (0..=12).map(|i| map.border(border, f64::from(i) / 12.0)).collect());
    Outline { first, second: [None, None, None, None] }
}

impl BodyDrawing<'_> {
    /// The drawing as a scene in points.
    #[must_use]
    pub fn scene(&self) -> Scene {
        let bounds = Rect::new(0.0, 0.0, self.size.0, self.size.1);
        let mut scene = Scene::new(Space::Points, bounds);
        // The names stand below the body.
        let names = Theme::points(TextSize::Small) + space::S2;
        let top = space::S4 + space::S1;
        let room = Rect::new(space::S3, top, self.size.0 - space::S3, self.size.1 - names - space::S2);
        let Some(drawn) = Drawn::new(self.outlined, room) else { return scene };
        let map = &drawn.map;
        body_shape(&mut scene, &drawn);
        if self.layers.has(Layer::DepthBand)
            && let Some(band) = overlay::shown_band(self.settings, self.stage, Rule::Depth)
        {
            overlay::depth_band(&mut scene, map, band);
            if self.layers.has(Layer::Labels) {
                for along in [band.low, band.high] {
                    scene.text(
                        Text::new(
                            map.to_image(BodyPoint::new(along, 0.0)),
                            format::percent(along),
                            Role::DepthBand,
                        )
                        .aligned(AlignX::Middle, AlignY::Bottom)
                        .shifted(0.0, -space::S1),
                    );
                }
            }
        }
        if self.layers.has(Layer::HeightBand)
            && let Some(band) = overlay::shown_band(self.settings, self.stage, Rule::Height)
        {
            overlay::height_band(&mut scene, map, band);
        }
        if self.layers.has(Layer::Thirds) {
            overlay::thirds(&mut scene, map);
        }
        borders(&mut scene, map);
        self.places(&mut scene, map);
        if self.layers.has(Layer::Labels) {
            side_names(&mut scene, map, self.size.1 - names * 0.5);
        }
        scene
    }

    fn places(&self, scene: &mut Scene, map: &BodyMap) {
        if self.layers.has(Layer::Electrodes) {
            let places: Vec<_> = self.electrodes.iter().map(|&at| drawn_at(scene, map, at)).collect();
            if places.len() == 2 {
                scene.line(places.clone(), Role::Electrode);
            }
            for at in places {
                scene.marker(at, Glyph::Square, Role::Electrode);
            }
        }
        let Some(tip) = self.tip else { return };
        let at = BodyPoint::new(tip.along.value, tip.height.value);
        if self.layers.has(Layer::TipRegion) && kept(at) == at {
            overlay::tip_region(scene, map, tip);
        }
        if self.layers.has(Layer::Tip) {
            let at = drawn_at(scene, map, at);
            scene.marker(at, Glyph::Disc, Role::Tip);
        }
    }
}

/// A place within the drawing's reach.
fn kept(at: BodyPoint) -> BodyPoint {
    let [behind, front, above, below] = REACH;
    BodyPoint::new(at.along.clamp(behind, front), at.height.clamp(above, below))
}

/// Where a place is drawn: a tip beyond the drawing stands at its edge, a sign's width inside.
fn drawn_at(scene: &Scene, map: &BodyMap, at: BodyPoint) -> Point {
    let p = map.to_image(kept(at));
    let edge = scene.bounds.grown(-space::S2);
    Point::new(p.x.max(edge.min.x).min(edge.max.x), p.y.max(edge.min.y).min(edge.max.y))
}

fn body_shape(scene: &mut Scene, drawn: &Drawn) {
    if let Some(arch) = &drawn.arch {
        arch_shape(scene, arch);
    }
    bone(scene, &drawn.map);
}

/// The pedicle's and arch's silhouette.
pub(crate) fn arch_shape(scene: &mut Scene, [upper, lower]: &[Vec<Point>; 2]) {
    scene.strip(upper.clone(), lower.clone(), Role::Neighbour);
    scene.line(upper.clone(), Role::Neighbour);
    scene.line(lower.clone(), Role::Neighbour);
}

/// The inside of a body.
pub(crate) fn bone(scene: &mut Scene, map: &BodyMap) {
    let [s, i, p, a] = Border::ALL.map(|border| body_lines::border(map, border));
    // Two edges from the corner where the superior plate starts to the opposite one.
    let join = |x: Vec<Point>, y: Vec<Point>| x.into_iter().chain(y.into_iter().skip(1)).collect::<Vec<_>>();
    scene.strip(join(s, a), join(p, i), Role::Bone);
}

/// A body's outline.
pub(crate) fn borders(scene: &mut Scene, map: &BodyMap) {
    let [s, i, p, a] = Border::ALL.map(|border| body_lines::border(map, border));
    let mut outline = s;
    outline.extend(a.into_iter().skip(1));
    outline.extend(i.into_iter().rev().skip(1));
    outline.extend(p.into_iter().rev().skip(1));
    outline.pop();
    scene.outline(outline, Role::Outline);
}

/// Room that the two names need beside each other, in points.
const NAMES_WIDTH: f64 = 116.0;

fn side_names(scene: &mut Scene, map: &BodyMap, y: f64) {
    let (mut behind, front) = (map.border(Border::Start, 1.0).x, map.border(Border::End, 1.0).x);
    let words = ["posterior", "anterior"].map(|name| width(name, TextSize::Small));
    if (front - behind).abs() < words[0] + words[1] + space::S4 {
        // Too little room under the body: the name moves out under the pedicle.
        let edge = scene.bounds.grown(-space::S3);
        behind = if behind < front { edge.min.x } else { edge.max.x };
    }
    for (x, other, name) in [(behind, front, "posterior"), (front, behind, "anterior")] {
        // Beneath a narrow body the two names would meet; they stand about its edges instead.
        let align = match (x < other, (x - other).abs() < NAMES_WIDTH) {
            (_, true) => AlignX::Middle,
            (true, false) => AlignX::Left,
            (false, false) => AlignX::Right,
        };
        scene.text(Text::new(Point::new(x, y), name, Role::WeakText).aligned(align, AlignY::Middle));
    }
}

/// The drawing that shows which point of a lateral view is meant by a mark; `slots` is how many points the mark
/// has or is to have. `None` for views without a drawing of their own yet.
#[must_use]
pub fn where_to_click(
    at: MarkRef,
    view: View,
    slots: usize,
    posterior: Posterior,
    size: (f64, f64),
) -> Option<Scene> {
    if view != View::Lateral {
        return None;
    }
    let mut scene = Scene::new(Space::Points, Rect::new(0.0, 0.0, size.0, size.1));
    let names = Theme::points(TextSize::Small) + space::S2;
    let room = Rect::new(space::S3, space::S3, size.0 - space::S3, size.1 - names - space::S2);
    let drawn = Drawn::new(Outlined::Typical(posterior), room)?;
    body_shape(&mut scene, &drawn);
    borders(&mut scene, &drawn.map);
    highlight(&mut scene, &drawn.map, at, slots);
    side_names(&mut scene, &drawn.map, size.1 - names * 0.5);
    Some(scene)
}

/// A typical way of an instrument through the pedicle, in body coordinates; its last place is the tip.
const WAY: [BodyPoint; 3] =
    [BodyPoint::new(-0.27, 0.19), BodyPoint::new(0.06, 0.40), BodyPoint::new(0.40, 0.50)];

fn highlight(scene: &mut Scene, map: &BodyMap, at: MarkRef, slots: usize) {
    let (index, last) = (at.index, at.index + 1 >= slots.max(at.kind.count().0));
    let way = WAY.map(|place| map.to_image(place));
    let mut on_border = |border: Border, t: f64| {
        scene.line(body_lines::border(map, border), Role::Accent);
        scene.marker(map.border(border, t), Glyph::Target, Role::Accent);
    };
    let between = |index: usize, slots: usize| {
        #[expect(clippy::cast_precision_loss, reason = "marks have few points")]
        let t = index as f64 / slots.max(1) as f64;
        t.clamp(0.15, 0.85)
    };
    match at.kind {
        MarkKind::SuperiorEndPlate | MarkKind::InferiorEndPlate => {
            let border =
                if at.kind == MarkKind::SuperiorEndPlate { Border::Superior } else { Border::Inferior };
            let t = if index == 0 {
                0.0
            } else if last {
                1.0
            } else {
                between(index, slots - 1)
            };
            on_border(border, t);
        }
        MarkKind::PosteriorWall => on_border(Border::Start, between(index + 1, slots.max(index + 1) + 1)),
        MarkKind::AnteriorWall => on_border(Border::End, between(index + 1, slots.max(index + 1) + 1)),
        MarkKind::SuperiorEndPlateSecond => second_contour(scene, map, Border::Superior),
        MarkKind::InferiorEndPlateSecond => second_contour(scene, map, Border::Inferior),
        MarkKind::PosteriorWallSecond => second_contour(scene, map, Border::Start),
        MarkKind::AnteriorWallSecond => second_contour(scene, map, Border::End),
        MarkKind::Tip => {
            scene.line(way.to_vec(), Role::Cannula);
            scene.marker(way[2], Glyph::Target, Role::Accent);
        }
        MarkKind::Cannula => {
            scene.line(way[..2].to_vec(), Role::Cannula);
            scene.marker(if last { way[1] } else { way[0] }, Glyph::Target, Role::Accent);
        }
        MarkKind::Electrodes => {
            scene.line(way.to_vec(), Role::Cannula);
            let proximal = way[1].lerp(way[2], 0.55);
            for (place, this) in [(proximal, index == 0), (way[2], index != 0)] {
                let (glyph, role) =
                    if this { (Glyph::Target, Role::Accent) } else { (Glyph::Square, Role::Electrode) };
                scene.marker(place, glyph, role);
            }
        }
        // The others belong to other views.
        MarkKind::RightWall
        | MarkKind::LeftWall
        | MarkKind::RightWallSecond
        | MarkKind::LeftWallSecond
        | MarkKind::RightPedicle
        | MarkKind::LeftPedicle
        | MarkKind::SpinousProcess
        | MarkKind::Pedicle => {}
    }
}

/// A border's second contour beside it, as the other side of a slightly turned body shows it.
fn second_contour(scene: &mut Scene, map: &BodyMap, border: Border) {
    let line: Vec<_> = (0..=16)
        .map(|i| {
            let t = f64::from(i) / 16.0;
            map.to_image(match border {
                Border::Superior => BodyPoint::new(t, 0.10),
                Border::Inferior => BodyPoint::new(t, 0.90),
                Border::Start => BodyPoint::new(0.08, t),
                Border::End => BodyPoint::new(0.92, t),
            })
        })
        .collect();
    scene.line(line, Role::Accent);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::quantity::{Budget, Quantity};
    use crate::scene::shape::Shape;

    fn place(along: f64, height: f64) -> Place {
        let quantity = |value| Quantity {
            value,
            budget: Budget { bone: 0.016, metal: 0.0, view: 0.0 },
            influences: Vec::new(),
            monte_carlo: None,
        };
        Place { along: quantity(along), height: quantity(height), covariance: 0.0 }
    }

    fn drawing(outlined: Outlined<'_>, tip: &Place) -> Scene {
        let settings = Settings::default();
        let drawing = BodyDrawing {
            outlined,
            tip: Some(tip),
            electrodes: &[],
            stage: None,
            settings: &settings,
            layers: LayerSet::all(),
            size: (240.0, 200.0),
        };
        drawing.scene()
    }

    fn tip_of(scene: &Scene) -> Point {
        let tip = scene.shapes.iter().find_map(|shape| match shape {
            Shape::Marker { at, role: Role::Tip, .. } => Some(*at),
            _ => None,
        });
        tip.unwrap()
    }

    #[test]
    fn the_tip_is_drawn_nearer_the_wall_it_is_nearer() {
        let (back, front) = (place(0.2, 0.5), place(0.8, 0.5));
        let at = |posterior, tip| tip_of(&drawing(Outlined::Typical(posterior), tip)).x;
        assert!(at(Posterior::Left, &back) < at(Posterior::Left, &front));
        assert!(at(Posterior::Right, &back) > at(Posterior::Right, &front));
    }

    #[test]
    fn everything_stays_in_the_drawing_wherever_the_tip_is() {
        for (along, height) in [(0.4, 0.5), (-0.9, -0.9), (1.9, 1.9)] {
            let scene = drawing(Outlined::Typical(Posterior::Left), &place(along, height));
            for shape in &scene.shapes {
                let points = match shape {
                    Shape::Line { points, .. } => points.clone(),
                    Shape::Strip { a, b, .. } => a.iter().chain(b).copied().collect(),
                    Shape::Marker { at, .. } => vec![*at],
                    Shape::Text(text) => vec![text.at],
                    Shape::Picture { .. } => Vec::new(),
                };
                assert!(points.iter().all(|&p| scene.bounds.contains(p)), "{shape:?}");
            }
        }
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
        let own = |u| tip_of(&drawing(Outlined::Own(&map), &place(u, 0.5))).x;
        assert!(own(0.1) > own(0.9));
    }

    #[test]
    fn every_lateral_mark_has_its_drawing() {
        for kind in MarkKind::ALL.into_iter().filter(|kind| kind.belongs_to(View::Lateral)) {
            let at = MarkRef { kind, index: 0 };
            let scene = where_to_click(at, View::Lateral, 2, Posterior::Left, (160.0, 130.0)).unwrap();
            let accented = scene.shapes.iter().any(|shape| {
                matches!(
                    shape,
                    Shape::Marker { role: Role::Accent, .. } | Shape::Line { role: Role::Accent, .. }
                )
            });
            assert!(accented, "{kind:?}");
        }
    }
}
