//! A finished figure: shots with their overlay, what was read, what the lines mean, and the caution.

pub(crate) mod c_arm;
pub(crate) mod legend;
pub mod questions;
pub mod style;

use std::sync::Arc;

use crate::case::document::figure_spec::FigureKind;
use crate::case::document::redaction::covered;
use crate::case::document::{Case, Shot};
use crate::case::image::frame::{Frame, Samples};
use crate::case::readings::body_map::body_map;
use crate::case::readings::{ReadPairOf, ShotReading};
use crate::geom::point::Point;
use crate::measure::compare::{self, Position};
use crate::measure::issue::Issue;
use crate::measure::mark::{MarkKind, Material};
use crate::measure::reading::{ApReading, Field, LateralReading, PairReading};
use crate::scene::annotation;
use crate::scene::body_map::BodyDrawing;
use crate::scene::drawing::shape::{AlignX, Greys, Picture, Rect, Role, Scene, Space, TextSize};
use crate::scene::drawing::theme::{Ground, space};
use crate::scene::drawing::type_metrics::wrap;
use crate::scene::figure::c_arm::c_arms;
use crate::scene::figure::legend::legend;
use crate::scene::figure::style::{FigureStyle, Geometry, furniture, geometries, letter, screen};
use crate::scene::format;
use crate::scene::overlay::of_shot::ShotOverlay;
use crate::scene::overlay::{Layer, LayerSet};
use crate::scene::page::sheet::Sheet;
use crate::scene::page::{Page, PagePart};
use crate::scene::window_level::{Region, WindowLevel};
use crate::scene::words::caution;
use crate::scene::words::reading;
use crate::scene::words::tip_path;

/// How a figure is to be made.
#[derive(Clone, Debug)]
pub struct FigureOptions {
    /// The heading; none where empty.
    pub title: Option<String>,
    /// The overlay's layers; none leaves the pictures clean, without readings.
    pub layers: Option<LayerSet>,
    /// Grey levels; those that suit the part shown where not given.
    pub window: Option<WindowLevel>,
    /// How much of each frame is shown.
    pub extent: Extent,
    /// What it has beside that.
    pub style: FigureStyle,
}

/// How much of a frame a figure shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Extent {
    /// The body and what is about it; the whole frame where nothing of the body is marked. Nothing else of the
    /// frame goes into the file, so that what was burned into its margins stays out of it.
    AroundBody,
    /// The whole frame.
    Whole,
}

/// A shot in a figure.
#[derive(Clone, Copy, Debug)]
pub struct FigureShot<'a> {
    /// The shot.
    pub shot: &'a Shot,
    /// Its reading.
    pub reading: &'a ShotReading,
    /// Its frame, if it can be opened.
    pub frame: Option<&'a Frame>,
    /// The part of the frame in which there is a picture.
    pub field: Field,
}

/// A lateral and an AP shot of the figure that belong together.
#[derive(Clone, Copy, Debug)]
pub struct FigurePair<'a> {
    /// Place of the lateral among the figure's shots.
    pub lateral: usize,
    /// Place of the AP.
    pub ap: usize,
    /// What the two tell together.
    pub reading: &'a PairReading,
}

/// The matched pairs of which both shots are in a figure of these shots, given by their places in the case.
#[must_use]
pub fn pairs_among<'a>(pairs: &'a [ReadPairOf], places: &[usize]) -> Vec<FigurePair<'a>> {
    let place = |of: usize| places.iter().position(|&at| at == of);
    pairs
        .iter()
        .filter_map(|pair| {
            Some(FigurePair { lateral: place(pair.lateral)?, ap: place(pair.ap)?, reading: &pair.reading })
        })
        .collect()
}

/// Height of a drawing of the body.
const DRAWING: f64 = 208.0;
/// The same where readings are in short.
const SHORT_DRAWING: f64 = 128.0;

/// Lays out a figure: the shots, and below them for each matched pair the body from three sides with the tip.
#[must_use]
pub fn figure(
    case: &Case,
    shots: &[FigureShot<'_>],
    pairs: &[FigurePair<'_>],
    options: &FigureOptions,
) -> Page {
    let made = Made { case, shots, pairs, options };
    let mut crowded = None;
    for geometry in geometries(&options.style, shots.len()) {
        let (page, height, pictures) = made.laid_out(&geometry);
        match geometry.fitted(height, pictures) {
            Some(fitted) if fitted == geometry => return page,
            Some(fitted) => return made.laid_out(&fitted).0,
            // It grows beyond its height rather than lose something.
            None => crowded = Some(page),
        }
    }
    crowded.unwrap_or_else(|| made.laid_out(&screen(shots.len())).0)
}

/// What a figure is made of.
struct Made<'a> {
    case: &'a Case,
    shots: &'a [FigureShot<'a>],
    pairs: &'a [FigurePair<'a>],
    options: &'a FigureOptions,
}

impl Made<'_> {
    /// The page in these sizes, the height of what is on it, and how much of that pictures take.
    fn laid_out(&self, geometry: &Geometry) -> (Page, f64, f64) {
        let Self { case, shots, pairs, options } = *self;
        let margin = geometry.margin;
        let mut page = Sheet::new(margin, margin, geometry.inner(), self.raster(geometry));
        if let Some(title) = options.title.as_deref().filter(|t| !t.trim().is_empty()) {
            page.paragraph(title, Role::Text, geometry.title);
            page.y += space::S2;
        }
        let mut pictures = 0.0;
        for (number, row) in shots.chunks(geometry.columns).enumerate() {
            // Pictures beside each other begin at one height, however many lines their headings have.
            let headings =
                row.iter().map(|shot| wrap(&heading(shot.shot), heading_size(geometry), geometry.column));
            let most = headings.map(|lines| lines.len()).max().unwrap_or(1);
            let top = page.y;
            let (mut bottom, mut tallest) = (top, 0.0);
            for (i, shot) in row.iter().enumerate() {
                page.y = top;
                let height =
                    self.column_of(&mut page, geometry, (i, number * geometry.columns + i, most), shot);
                bottom = f64::max(bottom, page.y);
                tallest = f64::max(tallest, height);
            }
            page.y = bottom + space::S4;
            pictures += tallest;
        }
        if let Some(layers) = options.layers {
            self.below(&mut page, geometry);
            if options.style.legend {
                let scale_bar = options.style.scale_bar && shots.iter().any(|s| s.shot.mm_per_px.is_some());
                let stages: Vec<_> = shots.iter().map(|shot| shot.shot.stage).collect();
                page.legend(&legend(&page.parts, &case.settings, &stages, scale_bar));
            }
            let with_drawings = matches!(options.style.kind, None | Some(FigureKind::Pair));
            for pair in pairs.iter().filter(|_| with_drawings) {
                together(&mut page, case, shots, pair, (layers, geometry));
            }
            if let (None, None, [], [only]) = (options.style.kind, geometry.height, pairs, shots) {
                alone(&mut page, only.reading);
            }
        }
        if let Some(caption) = options.style.caption.as_deref().filter(|c| !c.trim().is_empty()) {
            page.paragraph(caption, Role::Text, TextSize::Small);
            page.y += space::S2;
        }
        let foot = space::S3 + page.height_of(caution::SHORT, TextSize::Small);
        let height = page.y + foot + margin - space::S1;
        let high = geometry.height.map_or(height, |fixed| fixed.max(height));
        page.y += high - height;
        page.rule();
        page.paragraph(caution::SHORT, Role::WeakText, TextSize::Small);
        let size = (geometry.inner() + 2.0 * margin, high);
        (page.finish(size, geometry.scale), height, pictures)
    }

    /// Pixels to a point with which the first picture's pixels become whole squares.
    fn raster(&self, geometry: &Geometry) -> f64 {
        let with_frame = self.shots.iter().find(|shot| shot.frame.is_some());
        let Some(shot) = with_frame else { return geometry.least_raster };
        let to_points = geometry.picture / bounds_of(shot, self.options.extent).width().max(1.0);
        (geometry.least_raster * to_points).ceil().max(1.0) / to_points
    }

    /// A shot with its words; gives the height of its picture.
    fn column_of(
        &self,
        page: &mut Sheet,
        geometry: &Geometry,
        (column, index, lines): (usize, usize, usize),
        figure_shot: &FigureShot<'_>,
    ) -> f64 {
        let Self { case, options, .. } = *self;
        let FigureShot { shot, reading, .. } = *figure_shot;
        let (mut x, mut width) = (geometry.column_at(column), geometry.column);
        let size = heading_size(geometry);
        let own = wrap(&heading(shot), size, width);
        (own.len()..lines).for_each(|_| page.y += Sheet::line_height(size));
        page.lines(x, width, &heading(shot), Role::Text, size);
        page.y += space::S1;
        let top = page.y;
        let layers = options
            .layers
            .map(|layers| if geometry.picture < CROWDED { layers.without(Layer::Ruler) } else { layers });
        let how = FigureOptions { layers, ..options.clone() };
        let room = pictured(page, (x, geometry.picture), case, figure_shot, &how);
        let height = room.height();
        let letter = options.style.letters.then(|| letter(index)).flatten();
        let mm_per_px = shot.mm_per_px.filter(|_| options.style.scale_bar);
        let mm = mm_per_px.map(|scale| scale * bounds_of(figure_shot, options.extent).width());
        let scene = furniture(room, letter, mm);
        if !scene.shapes.is_empty() {
            page.parts.push(PagePart { room, scene, ground: Ground::Picture });
        }
        page.y += space::S3;
        if options.layers.is_none() {
            return height;
        }
        let bottom = page.y;
        if geometry.beside {
            page.y = top;
            x += geometry.picture + geometry.gap;
            width -= geometry.picture + geometry.gap;
        }
        let lines = reading::lines(reading);
        if lines.is_empty() {
            page.lines(x, width, "No reading.", Role::Text, size);
        }
        if geometry.short && !geometry.beside {
            // What a pair tells stands below its drawings.
            let told_below = options.style.kind == Some(FigureKind::Pair) && !self.pairs.is_empty();
            for line in reading::chief(&lines).filter(|_| !told_below) {
                page.short_line(x, line);
            }
        } else {
            lines.iter().for_each(|line| page.reading_line(x, width, line));
            page.issues(x, width, reading.issues());
        }
        page.y = f64::max(page.y, bottom);
        height
    }

    /// What stands below all pictures: what changed, and what short readings leave out.
    fn below(&self, page: &mut Sheet, geometry: &Geometry) {
        let before = page.y;
        if self.options.style.kind == Some(FigureKind::BeforeAfter)
            && let [before, after] = self.shots
        {
            for sentence in change_between(self.case, before, after) {
                page.paragraph(&sentence, Role::Text, TextSize::Small);
            }
        }
        if geometry.short && !geometry.beside {
            for (i, shot) in self.shots.iter().enumerate() {
                for issue in shot.reading.issues() {
                    let name = letter(i).map(|letter| format!("{letter}: ")).unwrap_or_default();
                    let issue = Issue { text: format!("{name}{}", issue.text), ..issue.clone() };
                    page.issues(page.left, page.inner, &[issue]);
                }
            }
            let verdicts = self.shots.iter().flat_map(|shot| shot.reading.verdicts());
            page.states(verdicts.map(|verdict| verdict.state));
        }
        if page.y > before {
            page.y += space::S2;
        }
    }
}

/// What stands over a shot.
fn heading(shot: &Shot) -> String {
    format::shot(shot.level, shot.side, shot.known_view(), shot.stage)
}

/// Pictures narrower than this, in points, have no ruler: its numbers would hide the body.
const CROWDED: f64 = 220.0;

fn heading_size(geometry: &Geometry) -> TextSize {
    if geometry.column < CROWDED { TextSize::Small } else { TextSize::Body }
}

/// What changed from one shot to a later one of the same body and view, a sentence each.
fn change_between(case: &Case, before: &FigureShot<'_>, after: &FigureShot<'_>) -> Vec<String> {
    let same_body = before.shot.level.is_some() && before.shot.level == after.shot.level;
    if !same_body || before.shot.side != after.shot.side {
        return Vec::new();
    }
    let matters = case.settings.change_that_matters;
    let (along, change) = match (before.reading, after.reading) {
        (ShotReading::Lateral(a), ShotReading::Lateral(b)) => {
            ("depth", compare::lateral(a, b, Position::Own, matters))
        }
        (ShotReading::Ap(a), ShotReading::Ap(b)) => ("across", compare::ap(a, b, Position::Own, matters)),
        _ => return Vec::new(),
    };
    let midline = change.midline.as_ref().map(|(_, change)| change);
    let all = [(along, change.along.as_ref()), ("height", change.height.as_ref()), ("midline", midline)];
    let said =
        all.into_iter().filter_map(|(name, change)| Some(format!("{name} {}", tip_path::change(change?))));
    let said: Vec<String> = said.collect();
    if said.is_empty() { said } else { vec![format!("From the first to the second: {}.", said.join("; "))] }
}

/// The shot's picture with what is drawn on it, from `x` on and `width` wide; gives its place. The sheet goes on below
/// it.
pub(crate) fn pictured(
    page: &mut Sheet,
    (x, width): (f64, f64),
    case: &Case,
    figure_shot: &FigureShot<'_>,
    options: &FigureOptions,
) -> Rect {
    let FigureShot { shot, reading, frame, .. } = *figure_shot;
    let bounds = bounds_of(figure_shot, options.extent);
    page.y = page.snapped(page.y);
    let left = page.snapped(x);
    let room = Rect::new(left, page.y, left + width, page.y + width * bounds.height() / bounds.width());
    let mut picture = Scene::new(Space::Image, bounds);
    if let Some(frame) = frame {
        let frame = &*covered(frame, &shot.covers);
        let region = region_of(bounds);
        let window = window_of(frame, figure_shot.field, bounds, options);
        picture.picture(bounds, Arc::new(shown(frame, window, region)));
    } else {
        picture.outline(corners(bounds), Role::Frame);
    }
    page.parts.push(PagePart { room, scene: picture, ground: Ground::Picture });
    let mut numbered = Vec::new();
    if let Some(layers) = options.layers {
        let map = body_map(case, shot);
        let (map, reading, zoom) = (map.as_ref(), Some(reading), width / bounds.width());
        let scene = ShotOverlay { case, shot, marks: &shot.marks, map, reading, layers, zoom }.scene(bounds);
        page.parts.push(PagePart { room, scene: scene.clone(), ground: Ground::Picture });
        if layers.has(Layer::Teaching) {
            let enlarged = |part: Rect| {
                let frame = covered(frame?, &shot.covers);
                let window = window_of(&frame, figure_shot.field, bounds, options);
                Some(Arc::new(shown(&frame, window, region_of(part))))
            };
            // The letter is not known here; none is wider than this one.
            let mm = shot.mm_per_px.filter(|_| options.style.scale_bar).map(|scale| scale * bounds.width());
            let kept = furniture(room, options.style.letters.then_some('W'), mm);
            let drawn = [&scene, &kept];
            numbered = annotation::on_page(case, shot, map, (drawn, room), &enlarged, &mut page.parts);
        }
    }
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

/// The grey levels of a figure's picture: those asked for, else those that suit the part shown.
fn window_of(frame: &Frame, field: Field, bounds: Rect, options: &FigureOptions) -> WindowLevel {
    options.window.unwrap_or_else(|| WindowLevel::automatic_in(frame, field, region_of(bounds)))
}

/// What a lateral and an AP tell together: the drawings beside each other, then the words in two columns.
fn together(
    page: &mut Sheet,
    case: &Case,
    shots: &[FigureShot<'_>],
    pair: &FigurePair<'_>,
    (layers, geometry): (LayerSet, &Geometry),
) {
    let short = geometry.short;
    let (Some(lateral), Some(ap)) = (shots.get(pair.lateral), shots.get(pair.ap)) else { return };
    let (ShotReading::Lateral(side), ShotReading::Ap(front)) = (lateral.reading, ap.reading) else { return };
    if !short {
        page.rule();
        let shot = lateral.shot;
        let heading = format::pair(shot.level, shot.side, shot.stage);
        page.paragraph(&heading, Role::Text, TextSize::Body);
        page.y += space::S2;
    }
    let seen = SeenBody {
        lateral: Some((lateral.shot, side)),
        ap: Some((ap.shot, front)),
        pair: Some(pair.reading),
    };
    drawings(page, case, &seen, layers, if short { SHORT_DRAWING } else { DRAWING });
    // A page of fixed height has no room for it.
    if geometry.height.is_none() {
        c_arms(page, Some(side), Some(front));
    }
    if short {
        page.short_lines(&reading::pair(pair.reading));
        page.issues(page.left, page.inner, &pair.reading.issues);
        page.y += space::S2;
        return;
    }
    let top = page.y;
    let width = 0.5 * (page.inner - space::S6);
    let lines = reading::pair(pair.reading);
    let half = lines.len().div_ceil(2);
    let mut bottom = top;
    for (x, lines) in [(page.left, &lines[..half]), (page.left + space::S6 + width, &lines[half..])] {
        page.y = top;
        for line in lines {
            page.reading_line(x, width, line);
        }
        bottom = f64::max(bottom, page.y);
    }
    page.y = bottom;
    page.issues(page.left, page.inner, &pair.reading.issues);
    page.y += space::S2;
}

/// How the C-arm stood in a shot that stands by itself.
fn alone(page: &mut Sheet, reading: &ShotReading) {
    match reading {
        ShotReading::Lateral(reading) => c_arms(page, Some(reading), None),
        ShotReading::Ap(reading) => c_arms(page, None, Some(reading)),
        ShotReading::Pedicle(_) => {}
    }
}

/// What is known of a body: the shots that show it with their readings, and what the two tell together.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct SeenBody<'a> {
    pub(crate) lateral: Option<(&'a Shot, &'a LateralReading)>,
    pub(crate) ap: Option<(&'a Shot, &'a ApReading)>,
    pub(crate) pair: Option<&'a PairReading>,
}

/// The body from the side, from the front and from above, beside each other over the whole width and this high.
pub(crate) fn drawings(page: &mut Sheet, case: &Case, seen: &SeenBody<'_>, layers: LayerSet, height: f64) {
    let stage = seen.lateral.map(|(shot, _)| shot).or(seen.ap.map(|(shot, _)| shot)).and_then(|s| s.stage);
    let maps = (
        seen.lateral.and_then(|(shot, _)| body_map(case, shot)),
        seen.ap.and_then(|(shot, _)| body_map(case, shot)),
    );
    let mut drawing = BodyDrawing::new(&case.settings, stage);
    if !layers.has(Layer::Labels) {
        drawing.layers = drawing.layers.without(Layer::Labels);
    }
    if let Some((_, reading)) = seen.lateral {
        drawing = drawing.with_lateral(reading, maps.0.as_ref());
    }
    drawing.sides.entry =
        seen.ap.map(|(shot, _)| shot).or(seen.lateral.map(|(shot, _)| shot)).and_then(|s| s.side);
    if let Some((shot, reading)) = seen.ap {
        drawing = drawing.with_ap(reading, maps.1.as_ref().map(|map| (map, &shot.marks)));
    }
    if let Some(pair) = seen.pair {
        drawing = drawing.with_pair(pair);
    }
    let size = ((page.inner - 2.0 * space::S3) / 3.0, height);
    let three = [drawing.side(size), drawing.front(size), drawing.above(size)];
    let mut x = page.left;
    for drawn in three {
        page.drawing(x, drawn.scene);
        x += size.0 + space::S3;
    }
    page.y += size.1 + space::S3;
}

/// What is shown of a shot, in whole pixels: the body in the middle of a region three wide and two high, or the
/// whole frame; without a frame, the marks and some room about them.
pub(crate) fn bounds_of(figure_shot: &FigureShot<'_>, extent: Extent) -> Rect {
    let FigureShot { shot, frame, .. } = *figure_shot;
    let marked = |kinds: fn(MarkKind) -> bool| {
        Rect::around(shot.marks.placed().filter(|(at, _)| kinds(at.kind)).map(|(_, p)| p))
    };
    let Some(frame) = frame else {
        let around = marked(|_| true).unwrap_or(Rect::new(0.0, 0.0, 100.0, 75.0));
        return around.grown(0.25 * around.width().max(around.height()).max(1.0));
    };
    let (width, height) = (f64::from(frame.width.max(1)), f64::from(frame.height.max(1)));
    let whole = Rect::new(0.0, 0.0, width, height);
    let body = marked(|kind| kind.material() == Material::Bone || kind == MarkKind::Tip);
    let Some(body) = body.filter(|_| extent == Extent::AroundBody) else { return whole };
    let wide = (2.1 * body.width()).max(2.1 * 1.5 * body.height()).max(24.0).min(width).round();
    let high = (wide / 1.5).max(1.3 * body.height()).min(height).round();
    let start = |middle: f64, side: f64, all: f64| (middle - 0.5 * side).round().min(all - side).max(0.0);
    let (x, y) = (start(body.centre().x, wide, width), start(body.centre().y, high, height));
    Rect::new(x, y, x + wide, y + high)
}

pub(crate) fn region_of(bounds: Rect) -> Region {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "whole pixels within a frame"
    )]
    let whole = |x: f64| x.max(0.0) as u32;
    Region {
        x: whole(bounds.min.x),
        y: whole(bounds.min.y),
        width: whole(bounds.width()),
        height: whole(bounds.height()),
    }
}

/// Whether a figure that shows what is about the body shows the whole frame, since nothing of the body is marked.
pub(crate) fn shows_whole(shot: &Shot) -> bool {
    let of_body = |kind: MarkKind| kind.material() == Material::Bone || kind == MarkKind::Tip;
    !shot.marks.placed().any(|(at, _)| of_body(at.kind))
}

fn corners(r: Rect) -> Vec<Point> {
    vec![r.min, Point::new(r.max.x, r.min.y), r.max, Point::new(r.min.x, r.max.y)]
}

/// A part of a frame through a window, 16 bits staying 16 bits; the part is cut to the frame.
#[must_use]
pub fn shown(frame: &Frame, window: WindowLevel, region: Region) -> Picture {
    let (x0, x1) = (region.x.min(frame.width), region.x.saturating_add(region.width).min(frame.width));
    let (y0, y1) = (region.y.min(frame.height), region.y.saturating_add(region.height).min(frame.height));
    let rows = (y0..y1).map(|y| {
        let start = y as usize * frame.width as usize;
        start + x0 as usize..start + x1 as usize
    });
    let greys = match &frame.samples {
        Samples::Gray8(s) => {
            let grey = |&v: &u8| window.grey(f64::from(v));
            Greys::Eight(rows.flat_map(|row| s.get(row).unwrap_or(&[])).map(grey).collect())
        }
        Samples::Gray16(s) => {
            let grey = |&v: &u16| window.grey16(f64::from(v));
            Greys::Sixteen(rows.flat_map(|row| s.get(row).unwrap_or(&[])).map(grey).collect())
        }
    };
    Picture { width: x1 - x0, height: y1 - y0, greys }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::{Marks, View};
    use crate::measure::reading::LateralReading;

    fn frame(width: u32, height: u32) -> Frame {
        let values = (0..width * height).map(|i| u16::try_from(i % 60_000).unwrap()).collect();
        Frame {
            width,
            height,
            samples: Samples::Gray16(values),
            was_colour: false,
            digest: String::new(),
            warnings: Vec::new(),
            taken: None,
            facts: Default::default(),
        }
    }

    fn bounds(marks: Marks, size: (u32, u32), extent: Extent) -> Rect {
        let mut shot = Shot::new("a", "a.png", View::Lateral);
        shot.marks = marks;
        let reading = ShotReading::Lateral(Box::<LateralReading>::default());
        let frame = frame(size.0, size.1);
        let shot = FigureShot { shot: &shot, reading: &reading, frame: Some(&frame), field: Field::Whole };
        bounds_of(&shot, extent)
    }

    #[test]
    fn what_is_shown_lies_in_the_frame_and_holds_the_body() {
        for corner in [(2.0, 2.0), (180.0, 90.0), (330.0, 270.0)] {
            let (x, y) = corner;
            let marks = Marks::new()
                .with(MarkKind::SuperiorEndPlate, &[(x, y), (x + 60.0, y)])
                .with(MarkKind::InferiorEndPlate, &[(x, y + 25.0), (x + 60.0, y + 25.0)]);
            let shown = bounds(marks, (400, 300), Extent::AroundBody);
            assert!(Rect::new(0.0, 0.0, 400.0, 300.0).contains(shown.min), "{shown:?}");
            assert!(Rect::new(0.0, 0.0, 400.0, 300.0).contains(shown.max), "{shown:?}");
            assert!(shown.contains(Point::new(x, y)) && shown.contains(Point::new(x + 60.0, y + 25.0)));
            assert!((shown.width() / shown.height() - 1.5).abs() < 0.02);
        }
    }

    #[test]
    fn without_a_marked_body_the_whole_frame_is_shown() {
        let whole = Rect::new(0.0, 0.0, 400.0, 300.0);
        assert_eq!(bounds(Marks::new(), (400, 300), Extent::AroundBody), whole);
        let marks = Marks::new().with(MarkKind::SuperiorEndPlate, &[(100.0, 100.0), (160.0, 100.0)]);
        assert_eq!(bounds(marks, (400, 300), Extent::Whole), whole);
    }

    #[test]
    fn a_part_of_a_frame_is_that_part() {
        let frame = frame(7, 5);
        let window = WindowLevel { low: 0.0, high: 65535.0, inverted: false };
        let part = shown(&frame, window, Region { x: 2, y: 1, width: 3, height: 9 });
        assert_eq!((part.width, part.height), (3, 4));
        let Greys::Sixteen(greys) = part.greys else { panic!("not 16 bits") };
        assert_eq!(&greys[..4], &[9, 10, 11, 16]);
    }
}
