//! A region shown larger: in which corner of the room it stands, and how large.

use crate::case::annotation::{Corner, LabelShape};
use crate::geom::point::{Point, Vec2};
use crate::scene::annotation::AnnotatedView;
use crate::scene::annotation::interest;
use crate::scene::annotation::layout::share;
use crate::scene::drawing::shape::Rect;

/// The largest share of the room's sides that an inset takes.
const MOST: f64 = 0.42;
/// An inset that is enlarged less shows nothing new.
const LEAST: f64 = 1.1;
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
/// inset, or hide a tip or much of what matters; smaller than asked for where the room is small. `None` where no corner is free.
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
    let size = Vec2::new(seen.width() * times, seen.height() * times);
    let order = std::iter::once(*corner).chain(Corner::ALL.into_iter().filter(|other| other != corner));
    let boxes = order.map(|corner| in_corner(room, size, corner));
    let tips = interest::tips(view);
    let free = |to: &Rect| {
        let clear = !view.kept.iter().chain(&tips).any(|kept| to.overlaps(*kept));
        clear && !to.overlaps(seen) && others.iter().all(|other| !to.overlaps(other.to.grown(MARGIN)))
    };
    // The corner that was asked for, unless another hides clearly less of tip, target, marks and bone.
    let areas = interest::areas(view);
    let hides = |to: Rect| areas.iter().map(|area| share(to, area)).sum::<f64>();
    let cost = |(i, to): (usize, Rect)| (hides(to) - if i == 0 { ASKED_FOR } else { 0.0 }, to);
    let (_, to) =
        boxes.enumerate().filter(|(_, to)| free(to)).map(cost).min_by(|(a, _), (b, _)| a.total_cmp(b))?;
    Some(Inset { index, from, to, zoom: view.zoom() * times })
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
