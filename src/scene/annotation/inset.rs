//! A region shown larger: in which corner of the room it stands, and how large.

use crate::case::annotation::{Corner, LabelShape};
use crate::geom::point::{Point, Vec2};
use crate::scene::annotation::interest;
use crate::scene::annotation::layout::share;
use crate::scene::annotation::{AnnotatedView, half_of};
use crate::scene::drawing::shape::Rect;

/// The largest share of the room's sides that an inset takes.
const MOST: f64 = 0.42;
/// An inset that is enlarged less shows nothing new.
const LEAST: f64 = 1.1;
/// How much smaller an inset may get rather than hide what matters, what each tenth of its size is worth beside that, and from
/// which enlargement on.
const SMALLER: [f64; 4] = [1.0, 0.9, 0.8, 0.7];
const A_TENTH: f64 = 16.0;
const STILL_LARGER: f64 = 1.4;
/// By how much more than another corner the one that was asked for may hide.
const ASKED_FOR: f64 = 40.0;
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

/// The inset of a label: in its corner, or in another one where that would lie on its own region or on another
/// inset, or hide a tip or much of what matters; smaller than asked for where the room is small, or where it would hide a corner
/// of the body otherwise. `None` where no corner is free.
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
    // What is said of it stays within it.
    let label = view.shot.labels.get(index)?;
    let caption = view.words_of(index, label).map(|lines| half_of(&lines) * 2.0);
    let holds = |part: f64| {
        let fits =
            |size: Vec2| size.x <= seen.width() * times * part && size.y <= seen.height() * times * part;
        caption.is_none_or(fits)
    };
    let good = |part: f64| times * part >= STILL_LARGER && (holds(part) || !holds(1.0));
    let boxes = SMALLER.into_iter().filter(|part| *part >= 1.0 || good(*part)).flat_map(|part| {
        let size = Vec2::new(seen.width(), seen.height()) * (times * part);
        Corner::ALL.into_iter().map(move |corner| (corner, part, in_corner(room, size, corner)))
    });
    let tips = interest::tips(view);
    let free = |to: &Rect| {
        let clear = !view.kept.iter().chain(&tips).any(|kept| to.overlaps(*kept));
        clear && !to.overlaps(seen) && others.iter().all(|other| !to.overlaps(other.to.grown(MARGIN)))
    };
    // The corner that was asked for, unless another hides clearly less of tip, target, marks and bone.
    let areas = interest::areas(view);
    let hides = |to: Rect| areas.iter().map(|area| share(to, area)).sum::<f64>();
    let cost = |(at, part, to): (Corner, f64, Rect)| {
        let wished = if at == *corner { ASKED_FOR } else { 0.0 };
        (hides(to) + A_TENTH * 10.0 * (1.0 - part) - wished, part, to)
    };
    let free = boxes.filter(|(.., to)| free(to)).map(cost);
    let (_, part, to) = free.min_by(|(a, ..), (b, ..)| a.total_cmp(b))?;
    Some(Inset { index, from, to, zoom: view.zoom() * times * part })
}

fn in_corner(room: Rect, size: Vec2, corner: Corner) -> Rect {
    let left = matches!(corner, Corner::TopLeft | Corner::BottomLeft);
    let top = matches!(corner, Corner::TopLeft | Corner::TopRight);
    let x = if left { room.min.x + MARGIN } else { room.max.x - MARGIN - size.x };
    let y = if top { room.min.y + MARGIN } else { room.max.y - MARGIN - size.y };
    Rect::new(x, y, x + size.x, y + size.y)
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
