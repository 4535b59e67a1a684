//! What words keep off as far as there is room: tip, target, marks, the body.

use crate::geom::point::Point;
use crate::measure::body::{BodyMap, BodyPoint, Border};
use crate::measure::mark::{MarkKind, View as From};
use crate::measure::settings::{Band, Rule};
use crate::scene::annotation::AnnotatedView;
use crate::scene::annotation::layout::Area;
use crate::scene::annotation::standing::KeptClear;
use crate::scene::drawing::shape::{Rect, Role, Shape};
use crate::scene::drawing::touch::Enclosure;
use crate::scene::overlay::shown_band;

/// How far around the tip and around a mark words keep off, in points.
const TIP: f64 = 16.0;
const MARK: f64 = 7.0;
/// What it costs words to lie wholly on each, to be weighed against points of distance.
const ON_TIP: f64 = 400.0;
const ON_TARGET: f64 = 140.0;
const ON_MARK: f64 = 60.0;
const ON_BODY: f64 = 170.0;
/// Steps of a side of the body.
const STEPS: u32 = 8;

/// Half the size of a tip's sign, with some room about it, in points.
const SIGN: f64 = 4.0;

/// The signs of the tips: no words stand on one, however crowded the image is.
pub(super) fn tips(view: &AnnotatedView<'_>) -> Vec<Rect> {
    places_of_tips(view).map(|at| Rect::about(at, SIGN)).collect()
}

/// Where tips are drawn: the shot's own, and those of other shots of the same picture.
fn places_of_tips(view: &AnnotatedView<'_>) -> impl Iterator<Item = Point> {
    let own = view.shot.marks.placed().filter(|(at, _)| at.kind == MarkKind::Tip).map(|(_, p)| p);
    let shapes = view.overlay.into_iter().flat_map(|scene| &scene.shapes);
    let others = shapes.filter_map(|shape| match shape {
        Shape::Marker { at, role: Role::Leader, .. } => Some(*at),
        _ => None,
    });
    own.chain(others).map(view.place)
}

/// What words do not lie on at all: the bone, the target as it is drawn, the tips.
pub(super) fn kept_clear(view: &AnnotatedView<'_>) -> KeptClear {
    let whole = Band::new(0.0, 1.0);
    let shapes = view.overlay.into_iter().flat_map(|scene| &scene.shapes);
    let band = |shape: &Shape| match shape {
        Shape::Strip { a, b, role } if is_target(*role) => {
            Some(Enclosure::of(a.iter().chain(b.iter().rev()).map(|p| (view.place)(*p)).collect()))
        }
        _ => None,
    };
    KeptClear {
        bone: Enclosure::of(view.map.map(|map| around(view, map, whole, whole)).unwrap_or_default()),
        bands: shapes.filter_map(band).collect(),
        tips: places_of_tips(view).collect(),
    }
}

const fn is_target(role: Role) -> bool {
    matches!(role, Role::DepthBand | Role::HeightBand | Role::MidlineBand | Role::DockingTarget)
}

/// What is of interest on a shot, in points of the room.
pub(super) fn areas(view: &AnnotatedView<'_>) -> Vec<Area> {
    let mut areas = Vec::new();
    for (at, p) in view.shot.marks.placed().filter(|(at, _)| at.kind.belongs_to(view.shot.view)) {
        let (radius, cost) = if at.kind == MarkKind::Tip { (TIP, ON_TIP) } else { (MARK, ON_MARK) };
        areas.push(Area::Disc { centre: (view.place)(p), radius, cost });
    }
    let Some(map) = view.map else { return areas };
    let whole = Band::new(0.0, 1.0);
    areas.push(Area::Inside { around: around(view, map, whole, whole), cost: ON_BODY });
    let band = |rule| shown_band(&view.case.settings, view.shot.stage, rule);
    let along = match view.shot.view {
        From::Lateral => band(Rule::Depth),
        // The midline is near the body's middle; nearer than that it need not be known here.
        From::Ap | From::Pedicle => band(Rule::Midline).map(|b| Band::new(0.5 + b.low, 0.5 + b.high)),
    };
    if let Some(along) = along {
        let target = around(view, map, along, band(Rule::Height).unwrap_or(whole));
        areas.push(Area::Inside { around: target, cost: ON_TARGET });
    }
    areas
}

/// The outline of the part of the body between two depths and two heights.
fn around(view: &AnnotatedView<'_>, map: &BodyMap, along: Band, height: Band) -> Vec<Point> {
    let at = |border: Border, t: f64| {
        let (u, v) = (along.low + t * (along.high - along.low), height.low + t * (height.high - height.low));
        (view.place)(map.to_image(match border {
            Border::Superior => BodyPoint::new(u, height.low),
            Border::Inferior => BodyPoint::new(u, height.high),
            Border::Start => BodyPoint::new(along.low, v),
            Border::End => BodyPoint::new(along.high, v),
        }))
    };
    let side = |border, forth: bool| {
        (0..STEPS).map(move |i| {
            let t = f64::from(i) / f64::from(STEPS);
            at(border, if forth { t } else { 1.0 - t })
        })
    };
    side(Border::Superior, true)
        .chain(side(Border::End, true))
        .chain(side(Border::Inferior, false))
        .chain(side(Border::Start, false))
        .collect()
}
