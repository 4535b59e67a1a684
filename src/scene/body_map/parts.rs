//! What the drawings of a body share: its shape, the tip and its region, bands, names.

use crate::geom::point::{Point, Vec2};
use crate::measure::body::{BodyMap, BodyPoint, Border, Outline};
use crate::measure::mark::Side;
use crate::measure::quantity::Z95;
use crate::measure::settings::{Band, Rule};
use crate::scene::body_map::{BodyDrawing, Coordinate};
use crate::scene::drawing::primitive::fit;
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Rect, Role, Scene, Space, Text, TextSize};
use crate::scene::drawing::theme::{Theme, space};
use crate::scene::drawing::type_metrics::width;
use crate::scene::format;
use crate::scene::overlay::body_lines;
use crate::scene::overlay::{self, Layer, LayerSet};

/// An outline with every point carried through `f`.
pub(crate) fn carried(outline: &Outline, f: &impl Fn(Point) -> Point) -> Outline {
    Outline {
        first: std::array::from_fn(|b| outline.first[b].iter().map(|&p| f(p)).collect()),
        second: [None, None, None, None],
    }
}

/// The borders a map uses, sampled so that a spline through the points is the border again.
pub(super) fn sampled(map: &BodyMap) -> Outline {
    let first = Border::ALL.map(|border| (0..=12).map(|i| map.border(border, f64::from(i) / 12.0)).collect());
    Outline { first, second: [None, None, None, None] }
}

/// What carries a drawing's own units into its room, mirrored left to right where asked.
pub(super) fn placing(bounds: Rect, room: Rect, mirrored: bool) -> impl Fn(Point) -> Point {
    let (scale, origin) = fit(bounds, room);
    move |p: Point| {
        let x = if mirrored { bounds.min.x + bounds.max.x - p.x } else { p.x };
        origin + Vec2::new(x, p.y) * scale
    }
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

/// How far a drawing reaches beyond the body, in its two fractions: least and most along, least and most height.
/// What lies farther away is drawn at the edge.
pub(super) type Reach = [f64; 4];

/// A place within a drawing's reach.
fn kept(at: BodyPoint, [before, after, above, below]: Reach) -> BodyPoint {
    BodyPoint::new(at.along.clamp(before, after), at.height.clamp(above, below))
}

/// A place within the drawing, a sign's width from its edge.
pub(crate) fn within(scene: &Scene, p: Point) -> Point {
    let edge = scene.bounds.grown(-space::S2);
    Point::new(p.x.max(edge.min.x).min(edge.max.x), p.y.max(edge.min.y).min(edge.max.y))
}

/// Where a place is drawn: one beyond the drawing stands at its edge, a sign's width inside.
pub(super) fn drawn_at(scene: &Scene, map: &BodyMap, at: BodyPoint, reach: Reach) -> Point {
    within(scene, map.to_image(kept(at, reach)))
}

/// The electrodes, joined where there are two.
pub(super) fn electrodes(scene: &mut Scene, map: &BodyMap, places: &[BodyPoint], reach: Reach) {
    let places: Vec<_> = places.iter().map(|&at| drawn_at(scene, map, at, reach)).collect();
    if places.len() == 2 {
        scene.line(places.clone(), Role::Electrode);
    }
    for at in places {
        scene.marker(at, Glyph::Square, Role::Electrode);
    }
}

/// The tip with its 95 % region; where only one coordinate is known, the line of that coordinate across the body
/// with its 95 % interval.
pub(super) fn tip(
    scene: &mut Scene,
    map: &BodyMap,
    (along, height, covariance): (Option<Coordinate>, Option<Coordinate>, f64),
    reach: Reach,
    layers: LayerSet,
) {
    let (region, sign) = (layers.has(Layer::TipRegion), layers.has(Layer::Tip));
    match (along, height) {
        (Some(x), Some(y)) => {
            let at = BodyPoint::new(x.value, y.value);
            if region && kept(at, reach) == at {
                let outline = body_lines::ellipse(at, (x.sd, y.sd), covariance);
                let outline: Vec<_> =
                    outline.into_iter().map(|at| within(scene, map.to_image(kept(at, reach)))).collect();
                overlay::region(scene, outline);
            }
            if sign {
                let at = drawn_at(scene, map, at, reach);
                scene.marker(at, Glyph::Disc, Role::Tip);
            }
        }
        (Some(x), None) => {
            let line = |value: f64| body_lines::upright(map, value.clamp(reach[0], reach[1]));
            interval(scene, x, &line, region, sign);
        }
        (None, Some(y)) => {
            let line = |value: f64| body_lines::level(map, value.clamp(reach[2], reach[3]));
            interval(scene, y, &line, region, sign);
        }
        (None, None) => {}
    }
}

fn interval(
    scene: &mut Scene,
    coordinate: Coordinate,
    line: &impl Fn(f64) -> Vec<Point>,
    region: bool,
    sign: bool,
) {
    let Coordinate { value, sd } = coordinate;
    let drawn = |scene: &Scene, at: f64| line(at).into_iter().map(|p| within(scene, p)).collect::<Vec<_>>();
    if region {
        let (low, high) = (drawn(scene, value - Z95 * sd), drawn(scene, value + Z95 * sd));
        scene.strip(low, high, Role::TipRegion);
    }
    if sign {
        let points = drawn(scene, value);
        scene.line(points, Role::Tip);
    }
}

/// An empty drawing of a size, and the room for the body between a line of words above and one below.
pub(super) fn sheet(size: (f64, f64)) -> (Scene, Rect) {
    let scene = Scene::new(Space::Points, Rect::new(0.0, 0.0, size.0, size.1));
    let names = Theme::points(TextSize::Small) + space::S2;
    let top = space::S4 + space::S1;
    (scene, Rect::new(space::S3, top, size.0 - space::S3, size.1 - names - space::S2))
}

/// Height of the middle of the line of names at the bottom of a drawing.
pub(crate) fn names_y(size: (f64, f64)) -> f64 {
    size.1 - 0.5 * (Theme::points(TextSize::Small) + space::S2)
}

/// The two words at the left and the right end of a line, in whichever room there is.
pub(crate) fn two_names(scene: &mut Scene, y: f64, left: &str, right: &str) {
    let edge = scene.bounds.grown(-space::S3);
    for (x, align, words) in [(edge.min.x, AlignX::Left, left), (edge.max.x, AlignX::Right, right)] {
        scene.text(Text::new(Point::new(x, y), words, Role::WeakText).aligned(align, AlignY::Middle));
    }
}

/// The patient's sides from left to right of a drawing: `right, entry` and `left`.
pub(super) fn side_words(right_is_left: bool, entry: Option<Side>) -> [String; 2] {
    let sides = if right_is_left { [Side::Right, Side::Left] } else { [Side::Left, Side::Right] };
    sides.map(|side| {
        let name = format::side(side);
        if entry == Some(side) { format!("{name}, entry") } else { name.to_owned() }
    })
}

/// The numbers of a band's two lines where they end; one label for both where they would overlap.
pub(super) fn band_label(
    scene: &mut Scene,
    ends: [Point; 2],
    band: Band,
    (x, y, (right, down)): (AlignX, AlignY, (f64, f64)),
) {
    let edge = scene.bounds.max.x - 2.0;
    let mut label = |at: Point, words: String| {
        // Beside a body that fills its drawing there is no room; the drawing from the side says the same.
        if x == AlignX::Left && at.x + right + width(&words, TextSize::Small) > edge {
            return;
        }
        scene.text(Text::new(at, words, Role::DepthBand).aligned(x, y).shifted(right, down));
    };
    let words = [band.low, band.high].map(format::percent);
    let wide = 0.5 * (width(&words[0], TextSize::Small) + width(&words[1], TextSize::Small)) + space::S1;
    let room = if x == AlignX::Middle { wide } else { Theme::points(TextSize::Small) + 2.0 };
    let [a, b] = ends;
    if a.distance(b) < room {
        label(a.midpoint(b), format::band(band));
    } else {
        for (at, words) in ends.into_iter().zip(words) {
            label(at, words);
        }
    }
}

/// The line of the midline and the target's band about it.
pub(super) fn midline_band(scene: &mut Scene, map: &BodyMap, drawing: &BodyDrawing<'_>) {
    let middle = drawing.position.midline_across();
    if let Some(band) = drawing.band(Rule::Midline) {
        overlay::midline_band(scene, map, Band::new(middle + band.low, middle + band.high));
    }
    if drawing.layers.has(Layer::Midlines) {
        scene.line(body_lines::upright(map, middle), Role::Midline);
    }
}

/// The target's offset over the midline, in a word.
pub(super) fn midline_label(scene: &mut Scene, at: Point, drawing: &BodyDrawing<'_>) {
    if let Some(band) = drawing.band(Rule::Midline)
        && drawing.layers.has(Layer::Labels)
    {
        scene.text(
            Text::new(at, format::offset_band(band), Role::MidlineBand)
                .aligned(AlignX::Middle, AlignY::Bottom)
                .shifted(0.0, -space::S1),
        );
    }
}
