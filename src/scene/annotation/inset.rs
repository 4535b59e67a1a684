//! A region shown larger: where in the room it stands, and how large.

use crate::case::annotation::{Corner, LabelShape};
use crate::geom::point::{Point, Vec2};
use crate::scene::annotation::cost::share;
use crate::scene::annotation::words::half_of;
use crate::scene::annotation::{AnnotatedView, WithoutRoom, interest, lines};
use crate::scene::drawing::shape::{Rect, Scene, Space};
use crate::scene::drawing::touch::meets;

/// The largest share of the room's sides that an inset takes.
const MOST: f64 = 0.42;
/// An inset that is enlarged less shows nothing new.
const LEAST: f64 = 1.1;
/// How much smaller an inset may get rather than hide what matters, what each tenth of its size is worth beside that, and from
/// which enlargement on.
const SMALLER: [f64; 6] = [1.0, 0.9, 0.8, 0.7, 0.6, 0.5];
const A_TENTH: f64 = 16.0;
const STILL_LARGER: f64 = 1.4;
/// The same where words are kept off the bone.
const AT_ALL_LARGER: f64 = 1.2;
/// By how much more than another corner the one that was asked for may hide.
const ASKED_FOR: f64 = 40.0;
/// What it costs to stand at an edge rather than in a corner, on words that are there already, and on bone at all.
const AT_AN_EDGE: f64 = 40.0;
const ON_WORDS: f64 = 30.0;
/// And on the line of another annotation.
const ON_LINE: f64 = 60.0;
const ON_BONE: f64 = 150.0;
/// Places along each edge of the room, beside the corners.
const ALONG: u32 = 8;
/// From the room's edge, in points.
const MARGIN: f64 = 6.0;

/// A region of the picture and the box that shows it larger.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Inset {
    /// Place of its label in the list.
    pub index: usize,
    /// The region, in image coordinates.
    pub from: Rect,
    /// The box, in points.
    pub to: Rect,
    /// Points of the box to a pixel of the picture.
    pub zoom: f64,
}

/// The inset of a label: in its corner, or in another one or at an edge where that would lie on its own region or on another
/// inset, or hide a tip, words, or much of what matters; smaller than asked for where the room is small, or where it would
/// hide bone otherwise. `None` where no place is free.
pub(super) fn placed(view: &AnnotatedView<'_>, index: usize, others: &[Inset]) -> Option<Inset> {
    let LabelShape::Known { points, corner, times, .. } = &view.shot.labels.get(index)?.drawn else {
        return None;
    };
    let &[a, b] = points.as_slice() else { return None };
    let from = cut(Rect::around([a, b])?, view.bounds)?;
    let shown = [from.min, from.max, Point::new(from.min.x, from.max.y), Point::new(from.max.x, from.min.y)];
    let seen = Rect::around(shown.map(view.place))?;
    let room = view.room;
    let most = (MOST * room.width() / seen.width()).min(MOST * room.height() / seen.height());
    let times = times.min(most);
    if times < LEAST {
        return None;
    }
    // What is said of it stays within it, unless there is a place for that next to it.
    let label = view.shot.labels.get(index)?;
    let caption = view.words_of(index, label).map(|lines| half_of(&lines) * 2.0);
    let holds = |part: f64| {
        let fits =
            |size: Vec2| size.x <= seen.width() * times * part && size.y <= seen.height() * times * part;
        view.without_room != WithoutRoom::Anywhere || caption.is_none_or(fits)
    };
    let strict = view.without_room != WithoutRoom::Anywhere;
    let larger = if strict { AT_ALL_LARGER } else { STILL_LARGER };
    let good = |part: f64| times * part >= larger && (holds(part) || !holds(1.0));
    let boxes = SMALLER.into_iter().filter(|part| *part >= 1.0 || good(*part)).flat_map(|part| {
        let size = Vec2::new(seen.width(), seen.height()) * (times * part);
        let corners = Corner::ALL.into_iter().map(move |at| (Some(at), in_corner(room, size, at)));
        corners.chain(at_edges(room, size).map(|to| (None, to))).map(move |(at, to)| (at, part, to))
    });
    let tips = interest::tips(view);
    let free = |to: &Rect| {
        let clear = !view.kept.iter().chain(&tips).any(|kept| to.overlaps(*kept));
        clear && !to.overlaps(seen) && others.iter().all(|other| !to.overlaps(other.to.grown(MARGIN)))
    };
    // The corner that was asked for, unless another place hides clearly less of tip, target, marks, bone and words.
    let (areas, words) = (interest::areas(view), view.words_there());
    let (kept, lines) = (interest::kept_clear(view), lines_of_others(view, index));
    // In a figure it is left out rather than lie on a corner of the body, on the target, or on a tip.
    let teaches = |to: &Rect| {
        let on_mark = areas.iter().any(|area| area.is_disc() && share(*to, area) > 0.0);
        strict && (on_mark || kept.bands.iter().any(|band| band.lies_under(*to)))
    };
    let hides = |to: Rect| {
        let on_areas: f64 = areas.iter().map(|area| share(to, area)).sum();
        let on_words: f64 = words.iter().filter(|words| to.overlaps(**words)).map(|_| ON_WORDS).sum();
        let on_lines = lines.iter().filter(|of| of.iter().any(|line| meets(*line, to))).map(|_| ON_LINE);
        on_areas + on_words + on_lines.sum::<f64>() + if kept.bone.lies_under(to) { ON_BONE } else { 0.0 }
    };
    let cost = |(at, part, to): (Option<Corner>, f64, Rect)| {
        let place = match at {
            Some(at) if at == *corner => -ASKED_FOR,
            Some(_) => 0.0,
            None => AT_AN_EDGE,
        };
        (hides(to) + A_TENTH * 10.0 * (1.0 - part) + place, part, to)
    };
    let free = boxes.filter(|(.., to)| free(to) && !teaches(to)).map(cost);
    let (_, part, to) = free.min_by(|(a, ..), (b, ..)| a.total_cmp(b))?;
    Some(Inset { index, from, to, zoom: view.zoom() * times * part })
}

/// The lines of the other annotations, in points.
fn lines_of_others(view: &AnnotatedView<'_>, index: usize) -> Vec<Vec<[Point; 2]>> {
    let mut unused = Scene::new(Space::Image, view.bounds);
    let others = view.shot.labels.iter().enumerate().filter(|(i, _)| *i != index);
    let mut of = |label| lines::of(label, view.zoom(), &mut unused).segments;
    others.map(|(_, label)| of(label).into_iter().map(|line| line.map(view.place)).collect()).collect()
}

fn in_corner(room: Rect, size: Vec2, corner: Corner) -> Rect {
    let left = matches!(corner, Corner::TopLeft | Corner::BottomLeft);
    let top = matches!(corner, Corner::TopLeft | Corner::TopRight);
    let x = if left { room.min.x + MARGIN } else { room.max.x - MARGIN - size.x };
    let y = if top { room.min.y + MARGIN } else { room.max.y - MARGIN - size.y };
    Rect::new(x, y, x + size.x, y + size.y)
}

/// Boxes of this size along the edges of the room, between its corners.
fn at_edges(room: Rect, size: Vec2) -> impl Iterator<Item = Rect> {
    let (first, last) = (in_corner(room, size, Corner::TopLeft), in_corner(room, size, Corner::BottomRight));
    (1..ALONG).map(|i| f64::from(i) / f64::from(ALONG)).flat_map(move |t| {
        let between = first.min.lerp(last.min, t);
        let places = [
            Point::new(between.x, first.min.y),
            Point::new(between.x, last.min.y),
            Point::new(first.min.x, between.y),
            Point::new(last.min.x, between.y),
        ];
        places.map(|at| Rect { min: at, max: at + size })
    })
}

/// The part of a rectangle that lies in another, in whole pixels, if that has an area.
fn cut(r: Rect, to: Rect) -> Option<Rect> {
    let cut = Rect::new(
        r.min.x.floor().max(to.min.x),
        r.min.y.floor().max(to.min.y),
        r.max.x.ceil().min(to.max.x),
        r.max.y.ceil().min(to.max.y),
    );
    (cut.width() >= 1.0 && cut.height() >= 1.0).then_some(cut)
}
