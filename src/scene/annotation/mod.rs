//! Labels as shapes: lines in the picture's own coordinates, words in points where they are read.
//!
//! Words find their own places: beside what they name, clear of each other and of the words that are there already,
//! off the tip, the target and the marks as far as there is room, and inside the picture. Words that the user has put
//! somewhere stay there, unless they would lie on other words or leave the picture; then they give way to the nearest
//! free place. In a figure no words lie on the body: those without a place off it become small numbers, or are left out.
//! The same labels in the same room always stand the same way.
//!
//! Reading order: this file, [`lines`] for what is drawn on the picture, [`interest`] for what words keep off,
//! [`layout`] for where words go, [`cost`] and [`standing`] for what a place is worth, [`give_way`] for words without one.

use crate::case::annotation::list::number;
use crate::case::annotation::{Label, LabelKind, LabelShape as What};
use crate::case::document::{Case, Shot};
use crate::geom::point::{Point, Vec2};
use crate::measure::body::BodyMap;
use crate::scene::annotation::give_way::{Became, Yields};
use crate::scene::annotation::layout::{WantedWords, WordField};
use crate::scene::annotation::lines::Draft;
use crate::scene::annotation::words::{boxes_of, half_of, half_of_number, line_height, lines_of};
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Rect, Role, Scene, Shape, Space, Text, TextSize};
use crate::scene::drawing::touch::cut;
use crate::scene::drawing::type_metrics;

mod cost;
mod give_way;
mod inset;
mod interest;
mod layout;
mod lines;
mod page;
mod standing;
mod words;

pub use give_way::WithoutRoom;
pub use inset::Inset;
pub use page::{NO_ROOM, on_page};

/// The widest box of words, in points, and the share of the room's width it has at most.
const WIDEST: (f64, f64) = (168.0, 0.45);
/// How far from the picture's edge words stay, in points.
const EDGE: f64 = 4.0;
/// From this distance on a line leads from words to what they stand beside, in points.
const LEADER_FROM: f64 = 16.0;

/// Words on their way to a place, and their lines.
type Drafted = (WantedWords, Vec<String>);

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
    /// What becomes of words for which there is no place off the bone.
    pub without_room: WithoutRoom,
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
    /// Numbers that are on the picture and what they stand for.
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
            legend: Vec::new(),
            left_out: Vec::new(),
        };
        let mut field = WordField {
            room: layout_room(self.room),
            blocked: self.words_there().into_iter().chain(interest::tips(self)).collect(),
            areas: interest::areas(self)
                .into_iter()
                .filter(|area| !self.is_strict() || area.is_disc())
                .collect(),
            lines: Vec::new(),
            kept: self.is_strict().then(|| interest::kept_clear(self)),
        };
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
                    None => {
                        drawn.left_out.push(index);
                        if self.is_strict() {
                            continue;
                        }
                    }
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
        self.captions(&mut wanted, &drawn.insets);
        let (places, keyed) = self.settled(&mut wanted, &field);
        self.put(&mut drawn, &wanted, &places);
        drawn.left_out.sort_unstable();
        drawn.left_out.dedup();
        let out = &drawn.left_out;
        drawn.legend = legend(labels, |index| !self.is_strict() || !out.contains(&index));
        drawn.legend.extend(keyed);
        drawn
    }

    /// Whether words are kept off the bone.
    fn is_strict(&self) -> bool {
        self.without_room != WithoutRoom::Anywhere
    }

    /// The places of the words. What gives way to a number says that number from here on, and is given with its words.
    fn settled(
        &self,
        wanted: &mut [Drafted],
        field: &WordField,
    ) -> (Vec<Option<Rect>>, Vec<(String, String)>) {
        let mut words: Vec<WantedWords> = wanted.iter().map(|(words, _)| words.clone()).collect();
        if !self.is_strict() {
            return (layout::placed(&words, field), Vec::new());
        }
        let yields: Vec<Yields> = words.iter().map(|words| self.yields(words.index)).collect();
        let (places, became) = give_way::settled(&mut words, &yields, field);
        let mut keyed = Vec::new();
        let mut next = legend(&self.shot.labels, |_| true).len();
        for (((drafted, lines), words), became) in wanted.iter_mut().zip(words).zip(became) {
            *drafted = words;
            if became == Became::Number {
                next += 1;
                *lines = vec![next.to_string()];
                let said = said(self.shot, self.map, drafted.index).unwrap_or_default();
                keyed.push((next.to_string(), said.replace('\n', " ")));
            }
        }
        (places, keyed)
    }

    /// What the words of a label become where there is no room for them.
    fn yields(&self, index: usize) -> Yields {
        match (self.shot.labels.get(index).and_then(Label::kind), self.without_room) {
            (Some(LabelKind::Number), _) => Yields::IsNumber,
            (_, WithoutRoom::Numbered) => Yields::ToNumber(half_of_number(self.shot.labels.len())),
            (_, WithoutRoom::Anywhere | WithoutRoom::LeftOut) => Yields::Out,
        }
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
        let mut room = (self.room.width() * WIDEST.1).min(WIDEST.0).max(24.0);
        if self.is_strict() {
            // A word that is broken in a small picture is not read.
            let longest = words.split_whitespace().map(|word| type_metrics::width(word, TextSize::Small));
            room = room.max(longest.fold(0.0, f64::max).min(self.room.width()));
        }
        let kind = label.kind()?;
        Some(if kind == LabelKind::Number { vec![words] } else { lines_of(&words, room) })
    }

    fn wanted(&self, index: usize, label: &Label, draft: &Draft, lines: Vec<String>) -> Drafted {
        let kind = label.kind();
        let points_at = matches!(kind, Some(LabelKind::Text | LabelKind::Number));
        let is_small = kind == Some(LabelKind::Number) && self.is_strict();
        let anchor = (self.place)(draft.anchor);
        let beside = (self.place)(self.seen_anchor(kind, draft));
        let within = Point::new(
            beside.x.clamp(self.room.min.x, self.room.max.x),
            beside.y.clamp(self.room.min.y, self.room.max.y),
        );
        let prefer = draft.away.and_then(|away| ((self.place)(draft.anchor + away) - anchor).normalized());
        let wanted = WantedWords {
            index,
            half: if is_small { half_of_number(self.shot.labels.len()) } else { half_of(&lines) },
            anchor: within,
            prefer,
            by_hand: label.text_at.map(self.place),
            leads_from: if points_at { 0.0 } else { LEADER_FROM },
            own: None,
            beside: None,
        };
        (wanted, lines)
    }

    /// What words stand beside, in image coordinates: where that lies outside the part shown, the place at which the line
    /// comes in.
    fn seen_anchor(&self, kind: Option<LabelKind>, draft: &Draft) -> Point {
        let outside = !self.bounds.contains(draft.anchor);
        let line = draft.segments.first().filter(|_| outside).and_then(|line| cut(*line, self.bounds));
        match (line, kind) {
            (Some([from, _]), Some(LabelKind::Arrow)) => from,
            (Some([from, to]), _) => from.midpoint(to),
            (None, _) => draft.anchor,
        }
    }

    /// The words of an inset stand in it, at its lower edge, unless the user has put them elsewhere or they would hide much of
    /// it; then they stand next to it.
    fn captions(&self, wanted: &mut [Drafted], insets: &[Inset]) {
        const MOST: f64 = 0.4;
        for (words, _) in wanted.iter_mut().filter(|(words, _)| words.by_hand.is_none()) {
            let Some(inset) = insets.iter().find(|inset| inset.index == words.index) else { continue };
            let (room, half) = (inset.to, words.half);
            let most = if self.is_strict() { MOST * room.height() } else { room.height() };
            words.leads_from = f64::INFINITY;
            if 2.0 * half.x <= room.width() && 2.0 * half.y <= most {
                words.own = Some(layout::boxed(Point::new(room.min.x + half.x, room.max.y - half.y), half));
            } else {
                words.beside = Some(room);
            }
        }
    }

    fn put(&self, drawn: &mut PlacedAnnotations, wanted: &[Drafted], places: &[Option<Rect>]) {
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
            let others = lines.iter().skip(1).map(|_| line_height()).sum::<f64>();
            let mut y = at.centre().y - 0.5 * others;
            for line in lines {
                let middle = Point::new(at.centre().x, y);
                drawn.words.text(Text::new(middle, line, Role::Text).aligned(AlignX::Middle, AlignY::Middle));
                y += line_height();
            }
            drawn.boxes.push((words.index, at));
        }
        let without = wanted.iter().zip(places).filter(|(_, at)| at.is_none());
        drawn.left_out.extend(without.map(|((words, _), _)| words.index));
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

/// The numbered points that are to be named, in their order, with what they stand for.
fn legend(labels: &[Label], named: impl Fn(usize) -> bool) -> Vec<(String, String)> {
    let entry = |(index, label): (usize, &Label)| Some((number(labels, index)?.to_string(), label.words()));
    labels.iter().enumerate().filter(|(index, _)| named(*index)).filter_map(entry).collect()
}

/// The room that words stand in: a little off the picture's edge, where it is large enough for that.
fn layout_room(room: Rect) -> Rect {
    let large = room.width() > 20.0 * EDGE && room.height() > 20.0 * EDGE;
    if large { room.grown(-EDGE) } else { room }
}

fn corners(r: Rect) -> [Point; 4] {
    [r.min, Point::new(r.max.x, r.min.y), r.max, Point::new(r.min.x, r.max.y)]
}
