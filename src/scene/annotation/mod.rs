//! Labels as shapes: lines in the picture's own coordinates, words in points where they are read.
//!
//! Words find their own places: beside what they name, clear of each other and of the words that are there already,
//! off the tip, the target and the marks as far as there is room, and inside the picture. Words that the user has put
//! somewhere stay there, unless they would lie on other words or leave the picture; then they give way to the nearest
//! free place. The same labels in the same room always stand the same way.
//!
//! Reading order: this file, [`lines`] for what is drawn on the picture, [`interest`] for what words keep off,
//! [`layout`] for where words go.

use crate::case::annotation::list::number;
use crate::case::annotation::{Label, LabelKind, LabelShape as What};
use crate::case::document::{Case, Shot};
use crate::geom::point::{Point, Vec2};
use crate::measure::body::BodyMap;
use crate::scene::annotation::layout::{WantedWords, WordField};
use crate::scene::annotation::lines::Draft;
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Rect, Role, Scene, Shape, Space, Text, TextSize};
use crate::scene::drawing::theme::Theme;
use crate::scene::drawing::type_metrics::{self, wrap};

mod inset;
mod interest;
mod layout;
mod lines;
mod page;

pub use inset::Inset;
pub use page::on_page;

/// The widest box of words, in points, and the share of the room's width it has at most.
const WIDEST: (f64, f64) = (168.0, 0.45);
/// Room around the words in their box, level and upright, in points.
const PADDING: (f64, f64) = (5.0, 3.0);
/// How far from the picture's edge words stay, in points.
const EDGE: f64 = 4.0;
/// From this distance on a line leads from words to what they stand beside, in points.
const LEADER_FROM: f64 = 16.0;

/// What labels are laid out from.
pub struct AnnotatedView<'a> {
    /// The case.
    pub case: &'a Case,
    /// The shot.
    pub shot: &'a Shot,
    /// Its body map, if its marks give one.
    pub map: Option<&'a BodyMap>,
    /// What is drawn on the picture already; its words are kept free.
    pub overlay: Option<&'a Scene>,
    /// Boxes that are kept free beside those words, in points.
    pub kept: &'a [Rect],
    /// The part of the picture that is shown, in image coordinates.
    pub bounds: Rect,
    /// The room it is shown in, in points.
    pub room: Rect,
    /// From image coordinates to points: one scale in all directions.
    pub place: &'a dyn Fn(Point) -> Point,
}

/// Labels, ready to be drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedAnnotations {
    /// Shade, lines and arrows, in image coordinates.
    pub lines: Scene,
    /// Words with their plates and leaders, in points.
    pub words: Scene,
    /// Regions that are shown larger; they lie between the lines and the words.
    pub insets: Vec<Inset>,
    /// The boxes of the words in points, by the labels' places in the list.
    pub boxes: Vec<(usize, Rect)>,
    /// Numbers and what they stand for.
    pub legend: Vec<(String, String)>,
    /// Labels that have no room, or lie outside the part that is shown, by their places in the list.
    pub left_out: Vec<usize>,
}

impl PlacedAnnotations {
    /// Whether there is nothing to draw.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.lines.shapes.is_empty() && self.words.shapes.is_empty() && self.insets.is_empty()
    }
}

impl AnnotatedView<'_> {
    /// Points of the room to a pixel of the picture.
    fn zoom(&self) -> f64 {
        let at = self.bounds.centre();
        (self.place)(at + Vec2::new(1.0, 0.0)).distance((self.place)(at)).max(1e-9)
    }

    /// The labels, laid out.
    #[must_use]
    pub fn drawn(&self) -> PlacedAnnotations {
        let labels = &self.shot.labels;
        let mut drawn = PlacedAnnotations {
            lines: Scene::new(Space::Image, self.bounds),
            words: Scene::new(Space::Points, self.room),
            insets: Vec::new(),
            boxes: Vec::new(),
            legend: legend(labels),
            left_out: Vec::new(),
        };
        let mut field = WordField {
            room: layout_room(self.room),
            blocked: self.words_there().into_iter().chain(interest::tips(self)).collect(),
            areas: Vec::new(),
            lines: Vec::new(),
        };
        field.areas = interest::areas(self);
        self.dim(&mut drawn.lines);
        let mut wanted = Vec::new();
        for (index, label) in labels.iter().enumerate() {
            let What::Known { kind, points, .. } = &label.drawn else { continue };
            if !points.iter().any(|p| self.bounds.contains(*p)) && !self.reaches_in(points) {
                drawn.left_out.push(index);
                continue;
            }
            if *kind == LabelKind::Inset {
                match inset::placed(self, index, &drawn.insets) {
                    Some(inset) => {
                        field.blocked.push(inset.to);
                        drawn.insets.push(inset);
                    }
                    None => drawn.left_out.push(index),
                }
            }
            let draft = lines::of(label, self.zoom(), &mut drawn.lines);
            field.lines.extend(draft.segments.iter().map(|s| s.map(self.place)));
            if let Some(words) = self.words_of(index, label) {
                wanted.push(self.wanted(index, label, &draft, words));
            }
        }
        for inset in &drawn.insets {
            drawn.words.outline(corners(inset.to).to_vec(), Role::Label);
        }
        captions(&mut wanted, &drawn.insets);
        let geometry: Vec<WantedWords> = wanted.iter().map(|(w, _)| w.clone()).collect();
        let places = layout::placed(&geometry, &field);
        self.put(&mut drawn, &wanted, &places);
        drawn.left_out.sort_unstable();
        drawn
    }

    /// Whether the box around these points meets the part that is shown.
    fn reaches_in(&self, points: &[Point]) -> bool {
        points.len() > 1
            && Rect::around(points.iter().copied()).is_some_and(|r| {
                r.min.x <= self.bounds.max.x
                    && r.max.x >= self.bounds.min.x
                    && r.min.y <= self.bounds.max.y
                    && r.max.y >= self.bounds.min.y
            })
    }

    /// All regions that are not dimmed, in one shade over the rest.
    fn dim(&self, scene: &mut Scene) {
        let regions = self.shot.labels.iter().filter(|label| label.kind() == Some(LabelKind::Dim));
        let holes: Vec<Vec<Point>> = regions.map(lines::closed).collect();
        if !holes.is_empty() {
            scene.shapes.push(Shape::Shade { around: self.bounds, holes, role: Role::Dim });
        }
    }

    /// The boxes of the words that are on the picture already.
    fn words_there(&self) -> Vec<Rect> {
        let there = self.overlay.map(|scene| boxes_of(scene, self.place)).unwrap_or_default();
        there.into_iter().chain(self.kept.iter().copied()).collect()
    }

    /// What a label says, broken into lines; `None` where it says nothing.
    fn words_of(&self, index: usize, label: &Label) -> Option<Vec<String>> {
        let words = said(self.shot, self.map, index)?;
        let room = (self.room.width() * WIDEST.1).min(WIDEST.0).max(24.0);
        let kind = label.kind()?;
        Some(if kind == LabelKind::Number { vec![words] } else { lines_of(&words, room) })
    }

    fn wanted(
        &self,
        index: usize,
        label: &Label,
        draft: &Draft,
        lines: Vec<String>,
    ) -> (WantedWords, Vec<String>) {
        let kind = label.kind();
        let points_at = matches!(kind, Some(LabelKind::Text | LabelKind::Number));
        let anchor = (self.place)(draft.anchor);
        let within = Point::new(
            anchor.x.clamp(self.room.min.x, self.room.max.x),
            anchor.y.clamp(self.room.min.y, self.room.max.y),
        );
        let prefer = draft.away.and_then(|away| ((self.place)(draft.anchor + away) - anchor).normalized());
        let wanted = WantedWords {
            index,
            half: half_of(&lines),
            anchor: within,
            prefer,
            by_hand: label.text_at.map(self.place),
            leads_from: if points_at { 0.0 } else { LEADER_FROM },
            own: None,
        };
        (wanted, lines)
    }

    fn put(
        &self,
        drawn: &mut PlacedAnnotations,
        wanted: &[(WantedWords, Vec<String>)],
        places: &[Option<Rect>],
    ) {
        let placed = || wanted.iter().zip(places).filter_map(|((w, lines), at)| Some((w, lines, (*at)?)));
        for (words, _, at) in placed() {
            if let Some([from, to]) = layout::leader(words, at) {
                drawn.words.line(vec![from, to], Role::Leader);
            }
            if self.shot.labels.get(words.index).and_then(Label::kind) == Some(LabelKind::Number) {
                drawn.words.marker(words.anchor, Glyph::Disc, Role::Label);
            }
        }
        for (words, lines, at) in placed() {
            let [a, b, c, d] = corners(at);
            drawn.words.strip(vec![a, b], vec![d, c], Role::LabelPlate);
            let mut y = at.min.y + PADDING.1 + 0.5 * line_height();
            for line in lines {
                let middle = Point::new(at.centre().x, y);
                drawn.words.text(Text::new(middle, line, Role::Text).aligned(AlignX::Middle, AlignY::Middle));
                y += line_height();
            }
            drawn.boxes.push((words.index, at));
        }
        let without = wanted.iter().zip(places).filter(|(_, at)| at.is_none());
        drawn.left_out.extend(without.map(|((words, _), _)| words.index));
        drawn.left_out.dedup();
    }
}

/// The words of an inset stand in it, at its lower edge, unless the user has put them elsewhere.
fn captions(wanted: &mut [(WantedWords, Vec<String>)], insets: &[Inset]) {
    for (words, _) in wanted.iter_mut() {
        let Some(inset) = insets.iter().find(|inset| inset.index == words.index) else { continue };
        let (room, half) = (inset.to, words.half);
        if words.by_hand.is_some() || 2.0 * half.x > room.width() || 2.0 * half.y > room.height() {
            continue;
        }
        let middle = Point::new(room.min.x + half.x, room.max.y - half.y);
        words.own = Some(layout::boxed(middle, half));
        words.leads_from = f64::INFINITY;
    }
}

/// What a label says on the picture: its words with the angle or the length that is worked out, or its number.
#[must_use]
pub fn said(shot: &Shot, map: Option<&BodyMap>, index: usize) -> Option<String> {
    let label = shot.labels.get(index)?;
    let value = lines::value(shot, map, label);
    let words = label.words();
    let said = match (label.kind()?, value) {
        (LabelKind::Number, _) => number(&shot.labels, index)?.to_string(),
        (_, Some(value)) if words.is_empty() => value,
        (_, Some(value)) => format!("{words}: {value}"),
        (_, None) => words,
    };
    (!said.is_empty()).then_some(said)
}

/// The lines of a label by themselves, in image coordinates, for whoever asks how near they pass.
#[must_use]
pub fn line_of(label: &Label) -> Vec<Shape> {
    let mut scene = Scene::new(Space::Image, Rect::new(0.0, 0.0, 1.0, 1.0));
    lines::of(label, 1.0, &mut scene);
    scene.shapes
}

/// The numbered points in their order, with what they stand for.
#[must_use]
pub fn legend(labels: &[Label]) -> Vec<(String, String)> {
    let entry = |(index, label): (usize, &Label)| Some((number(labels, index)?.to_string(), label.words()));
    labels.iter().enumerate().filter_map(entry).collect()
}

/// Words in lines no wider than the room; a word that is wider is broken.
fn lines_of(words: &str, room: f64) -> Vec<String> {
    let mut out = Vec::new();
    for line in wrap(words, TextSize::Small, room) {
        let mut piece = String::new();
        for c in line.chars() {
            piece.push(c);
            if type_metrics::width(&piece, TextSize::Small) > room && piece.chars().count() > 1 {
                piece.pop();
                out.push(std::mem::replace(&mut piece, c.to_string()));
            }
        }
        out.push(piece);
    }
    out
}

fn line_height() -> f64 {
    (Theme::points(TextSize::Small) * 1.3).round()
}

fn half_of(lines: &[String]) -> Vec2 {
    let widest = lines.iter().map(|line| type_metrics::width(line, TextSize::Small)).fold(0.0, f64::max);
    #[expect(clippy::cast_precision_loss, reason = "a few lines")]
    let high = lines.len() as f64 * line_height();
    Vec2::new(0.5 * widest + PADDING.0, 0.5 * high + PADDING.1)
}

/// The boxes of a scene's words.
fn boxes_of(scene: &Scene, place: &dyn Fn(Point) -> Point) -> Vec<Rect> {
    let box_of = |shape: &Shape| match shape {
        Shape::Text(text) => Some(box_around(text, place)),
        _ => None,
    };
    scene.shapes.iter().filter_map(box_of).collect()
}

/// The box of a line of text with its plate.
fn box_around(text: &Text, place: &dyn Fn(Point) -> Point) -> Rect {
    let size = Theme::points(text.size);
    let (wide, high) = (type_metrics::width(&text.words, text.size), 1.2 * size);
    let at = crate::scene::drawing::primitive::displaced(text.at, text.offset, place);
    let left = match text.align.0 {
        AlignX::Left => at.x,
        AlignX::Middle => at.x - 0.5 * wide,
        AlignX::Right => at.x - wide,
    };
    let top = match text.align.1 {
        AlignY::Top => at.y,
        AlignY::Middle => at.y - 0.5 * high,
        AlignY::Bottom => at.y - high,
    };
    Rect::new(left, top, left + wide, top + high).grown(2.0)
}

/// The room that words stand in: a little off the picture's edge, where it is large enough for that.
fn layout_room(room: Rect) -> Rect {
    let large = room.width() > 20.0 * EDGE && room.height() > 20.0 * EDGE;
    if large { room.grown(-EDGE) } else { room }
}

fn corners(r: Rect) -> [Point; 4] {
    [r.min, Point::new(r.max.x, r.min.y), r.max, Point::new(r.min.x, r.max.y)]
}
