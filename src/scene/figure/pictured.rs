//! A shot's picture on a page with everything that lies over it: overlay, letter and scale bar, annotations.

use std::sync::Arc;

use crate::case::annotation::Label;
use crate::case::document::redaction::covered;
use crate::case::document::{Case, Shot};
use crate::case::image::frame::Frame;
use crate::case::readings::body_map::body_map;
use crate::geom::enclosed::encloses;
use crate::geom::point::Point;
use crate::measure::body::{BodyMap, Border};
use crate::measure::mark::MarkKind;
use crate::measure::reading::Field;
use crate::scene::annotation;
use crate::scene::drawing::primitive::fit;
use crate::scene::drawing::shape::{AlignX, Rect, Role, Scene, Shape, Space, TextSize};
use crate::scene::drawing::theme::{Ground, space};
use crate::scene::drawing::touch::lies_on;
use crate::scene::figure::asked::{FigureOptions, FigureShot};
use crate::scene::figure::clear::{clear, plate_of};
use crate::scene::figure::furniture::{Furniture, ScaleBar};
use crate::scene::figure::region::{bounds_of, region_of, shown};
use crate::scene::format;
use crate::scene::overlay::body_lines;
use crate::scene::overlay::of_shot::ShotOverlay;
use crate::scene::overlay::{Layer, LayerSet};
use crate::scene::page::PagePart;
use crate::scene::page::sheet::Sheet;
use crate::scene::window_level::WindowLevel;

/// Numbers with their words, for below the picture.
pub(super) type Numbered = Vec<(String, String)>;

/// The shot's picture with what is drawn on it, from `x` on and `width` wide; the sheet goes on below it and below the
/// words of its numbers.
pub(crate) fn pictured(
    page: &mut Sheet,
    (x, width): (f64, f64),
    case: &Case,
    figure_shot: &FigureShot<'_>,
    options: &FigureOptions,
) -> Rect {
    let bounds = bounds_of(figure_shot, options.extent);
    framed(page, (x, width), case, figure_shot, (options, bounds, &Furniture::default()))
}

/// The same with what stands in its corners and the part of the frame that is shown.
pub(super) fn framed(
    page: &mut Sheet,
    (x, width): (f64, f64),
    case: &Case,
    figure_shot: &FigureShot<'_>,
    (options, bounds, furniture): (&FigureOptions, Rect, &Furniture),
) -> Rect {
    page.y = page.snapped(page.y);
    let left = page.snapped(x);
    let room = Rect::new(left, page.y, left + width, page.y + width * bounds.height() / bounds.width());
    let numbered = in_room(page, room, case, figure_shot, (options, bounds, furniture));
    page.y = room.max.y;
    if !numbered.is_empty() {
        page.y += space::S2;
    }
    for (number, words) in &numbered {
        page.word((x, AlignX::Left), number, Role::Text, TextSize::Small);
        page.lines(x + space::S6, width - space::S6, words, Role::Text, TextSize::Small);
    }
    room
}

/// The same in a room that is given; what its numbers stand for is left to whoever asks.
pub(super) fn in_room(
    page: &mut Sheet,
    room: Rect,
    case: &Case,
    figure_shot: &FigureShot<'_>,
    (options, bounds, furniture): (&FigureOptions, Rect, &Furniture),
) -> Numbered {
    let FigureShot { shot, reading, frame, field } = *figure_shot;
    let mut picture = Scene::new(Space::Image, bounds);
    if let Some(frame) = frame {
        let frame = &*covered(frame, &shot.covers);
        let window = window_of(frame, field, bounds, options);
        picture.picture(bounds, Arc::new(shown(frame, window, region_of(bounds))));
    } else {
        picture.outline(corners(bounds), Role::Frame);
    }
    page.parts.push(PagePart { room, scene: picture, ground: Ground::Picture });
    let (scale, origin) = fit(bounds, room);
    let place = |p: Point| origin + p.to_vec() * scale;
    let map = body_map(case, shot);
    let bone: Vec<Point> =
        map.as_ref().map(|map| outline(map).into_iter().map(place).collect()).unwrap_or_default();
    let overlay = options.layers.map(|layers| {
        let overlay = ShotOverlay {
            case,
            shot,
            marks: &shot.marks,
            map: map.as_ref(),
            reading: Some(reading),
            layers,
            zoom: scale,
        };
        overlay.scene(bounds)
    });
    let words: Vec<Rect> = overlay.iter().flat_map(|scene| plates_of(scene, &place)).collect();
    let marks: Vec<(MarkKind, Point)> = shot.marks.placed().map(|(at, p)| (at.kind, place(p))).collect();
    let cost_of_heading =
        |at: Rect| hidden(at, &bone, &words, &marks) + if lies_on(at, &bone) { HEADING_ON_BONE } else { 0.0 };
    let mut standing = furniture.headed(room, &cost_of_heading);
    // The bar leaves the numbers their places as far as it can.
    let mut placed = overlay.clone().filter(|_| furniture.bar.is_some());
    let words = placed.as_mut().map_or(words, |scene| {
        clear(scene, room, &kept_free(scene, &standing.boxes, &place), &bone);
        plates_of(scene, &place)
    });
    let cost_of_bar = |at: Rect| {
        let on_words = words.iter().filter(|words| at.overlaps(**words)).map(|_| ON_PLACED).sum::<f64>();
        let on_bone = if lies_on(at, &bone) { BAR_ON_BONE } else { 0.0 };
        hidden(at, &bone, &words, &marks) + on_words + on_bone
    };
    if !furniture.add_bar(&mut standing, room, (&cost_of_bar, BAR_ON_BONE)) && options.style.scale_bar {
        page.left_out.push(without_bar(shot, furniture.bar));
    }
    let (over, boxes) = (standing.scene, standing.boxes);
    let mut numbered = Vec::new();
    if let (Some(layers), Some(mut scene)) = (options.layers, overlay) {
        if furniture.plain {
            let refines = |shape: &Shape| matches!(shape, Shape::Line { role: Role::MidHeight, .. });
            scene.shapes.retain(|shape| !refines(shape));
        }
        let mut kept = kept_free(&scene, &boxes, &place);
        if layers.has(Layer::Teaching) {
            kept.extend(shot.labels.iter().flat_map(|label| beside_line(label, &place)));
        }
        clear(&mut scene, room, &kept, &bone);
        page.parts.push(PagePart { room, scene: scene.clone(), ground: Ground::Picture });
        if layers.has(Layer::Teaching) {
            let enlarged = |part: Rect| {
                let frame = covered(frame?, &shot.covers);
                let window = window_of(&frame, field, bounds, options);
                Some(Arc::new(shown(&frame, window, region_of(part))))
            };
            let drawn = ([&scene, &over], room, furniture.labels);
            let overlay_at = page.parts.len() - 1;
            let map = map.as_ref();
            numbered = annotation::on_page(case, shot, map, drawn, &enlarged, &mut page.parts);
            drop_below_insets(&mut page.parts, overlay_at, &place);
        }
    }
    if !over.shapes.is_empty() {
        page.parts.push(PagePart { room, scene: over, ground: Ground::Picture });
    }
    numbered
}

/// Why an image has no scale bar.
fn without_bar(shot: &Shot, bar: Option<ScaleBar>) -> String {
    let why = match (shot.mm_per_px, bar) {
        (None, _) => "it is not calibrated",
        (Some(_), None) => "no round length suits it",
        (Some(_), Some(_)) => "there is no room for one beside the body",
    };
    format!("{} has no scale bar: {why}.", name(shot))
}

/// A shot as a sentence about it begins.
pub(super) fn name(shot: &Shot) -> String {
    format::shot(shot.level, shot.side, shot.known_view(), shot.stage)
}

/// What it costs a scale bar to take the place of a number, beside what that hides.
const ON_PLACED: f64 = 16.0;
/// And to lie on bone, and what that costs a heading.
const HEADING_ON_BONE: f64 = 16.0;
const BAR_ON_BONE: f64 = 40.0;

/// The plates of a scene's words on the page.
fn plates_of(scene: &Scene, place: &dyn Fn(Point) -> Point) -> Vec<Rect> {
    let plate = |shape: &Shape| match shape {
        Shape::Text(text) => Some(plate_of(text, place)),
        _ => None,
    };
    scene.shapes.iter().filter_map(plate).collect()
}

/// What numbers keep off: what stands on the image, and signs.
fn kept_free(scene: &Scene, boxes: &[Rect], place: &dyn Fn(Point) -> Point) -> Vec<Rect> {
    boxes.iter().copied().chain(signs(scene, place)).collect()
}

/// The boxes of the tip and the electrodes: no number stands on what it is about.
fn signs(scene: &Scene, place: &dyn Fn(Point) -> Point) -> Vec<Rect> {
    const HALF: f64 = 5.0;
    let sign = |shape: &Shape| match shape {
        Shape::Marker { at, role: Role::Tip | Role::Electrode, .. } => {
            let at = place(*at);
            Some(Rect::about(at, HALF))
        }
        _ => None,
    };
    scene.shapes.iter().filter_map(sign).collect()
}

/// Small boxes along the lines of an annotation: what is drawn there stays where it is, and no number lies beneath it.
fn beside_line(label: &Label, place: &dyn Fn(Point) -> Point) -> Vec<Rect> {
    const STEP: f64 = 4.0;
    const HALF: f64 = 2.0;
    let mut boxes = Vec::new();
    for shape in annotation::line_of(label) {
        let Shape::Line { points, .. } = shape else { continue };
        for ends in points.windows(2) {
            let (from, to) = (place(ends[0]), place(ends[1]));
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few steps")]
            let steps = (from.distance(to) / STEP).ceil().clamp(1.0, 400.0) as u32;
            boxes.extend((0..=steps).map(|i| {
                let at = from + (to - from) * (f64::from(i) / f64::from(steps));
                Rect::about(at, HALF)
            }));
        }
    }
    boxes
}

/// Leaves out the words of the overlay over which an inset stands.
fn drop_below_insets(parts: &mut [PagePart], overlay: usize, place: &dyn Fn(Point) -> Point) {
    let Some((below, above)) = parts.split_at_mut_checked(overlay + 1) else { return };
    let Some(overlay) = below.last_mut() else { return };
    let inset = |part: &&PagePart| part.scene.space == Space::Image && part.room != overlay.room;
    let insets: Vec<Rect> = above.iter().filter(inset).map(|part| part.room.grown(2.0)).collect();
    overlay.scene.shapes.retain(|shape| match shape {
        Shape::Text(text) => !insets.iter().any(|inset| inset.overlaps(plate_of(text, place))),
        _ => true,
    });
}

/// How much a box hides of what matters: the tip most, then marks and words, bone by its share.
fn hidden(at: Rect, bone: &[Point], words: &[Rect], marks: &[(MarkKind, Point)]) -> f64 {
    const STEPS: u32 = 5;
    const TIP: f64 = 400.0;
    const ON_BONE: f64 = 12.0;
    let step = |i: u32| f64::from(i) / f64::from(STEPS - 1);
    let samples = (0..STEPS).flat_map(|i| (0..STEPS).map(move |j| (step(i), step(j))));
    let point = |(x, y): (f64, f64)| Point::new(at.min.x + x * at.width(), at.min.y + y * at.height());
    let on_bone = samples.filter(|s| encloses(bone, point(*s))).count();
    let on_words = words.iter().filter(|words| at.overlaps(**words)).count();
    let of_mark = |(kind, mark): &(MarkKind, Point)| match kind {
        MarkKind::Tip if at.grown(2.0).contains(*mark) => TIP,
        MarkKind::Tip if at.grown(8.0).contains(*mark) => 20.0,
        _ if at.grown(4.0).contains(*mark) => 10.0,
        _ => 0.0,
    };
    let on_marks: f64 = marks.iter().map(of_mark).sum();
    let at_all = if lies_on(at, bone) { ON_BONE } else { 0.0 };
    #[expect(clippy::cast_precision_loss, reason = "a few")]
    let cost = at_all + on_bone as f64 + 4.0 * on_words as f64 + on_marks;
    cost
}

/// The body's borders as one closed line, in image coordinates.
fn outline(map: &BodyMap) -> Vec<Point> {
    let border = |border, back: bool| {
        let mut line = body_lines::border(map, border);
        if back {
            line.reverse();
        }
        line
    };
    let mut around = border(Border::Superior, false);
    around.extend(border(Border::End, false));
    around.extend(border(Border::Inferior, true));
    around.extend(border(Border::Start, true));
    around
}

/// The layers that an image of this width, in points, has room for: the numbers of a ruler would hide a small body.
pub(super) fn with_room(layers: LayerSet, width: f64) -> LayerSet {
    const CROWDED: f64 = 220.0;
    const TINY: f64 = 120.0;
    let layers = if width < CROWDED { layers.without(Layer::Ruler) } else { layers };
    if width < TINY { layers.without(Layer::Labels) } else { layers }
}

/// The grey levels of a figure's picture: those asked for, else those that suit the part shown.
fn window_of(frame: &Frame, field: Field, bounds: Rect, options: &FigureOptions) -> WindowLevel {
    options.window.unwrap_or_else(|| WindowLevel::automatic_in(frame, field, region_of(bounds)))
}

fn corners(r: Rect) -> Vec<Point> {
    vec![r.min, Point::new(r.max.x, r.min.y), r.max, Point::new(r.min.x, r.max.y)]
}

/// The scale bars of a figure's images, of each the part of the frame that is shown: all of one length where one fits
/// all; none where an image has no scale or is to have no bar.
pub(super) fn bars<'a>(
    images: impl Iterator<Item = (&'a Shot, Rect)>,
    options: &FigureOptions,
) -> Vec<Option<ScaleBar>> {
    let wide = |(shot, bounds): (&Shot, Rect)| {
        let mm_per_px = shot.mm_per_px.filter(|_| options.style.scale_bar)?;
        Some(mm_per_px * bounds.width()).filter(|mm| mm.is_finite() && *mm > 0.0)
    };
    let wide: Vec<Option<f64>> = images.map(wide).collect();
    let common = ScaleBar::common(wide.iter().copied().flatten());
    wide.into_iter()
        .map(|wide| common.map_or_else(|| ScaleBar::of(wide?), |mm| Some(ScaleBar { mm, of: wide? })))
        .collect()
}
