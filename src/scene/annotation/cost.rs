//! What a place costs words, against points of distance from what they are about.

use crate::geom::enclosed::encloses;
use crate::geom::point::Point;
use crate::geom::segment::cross;
use crate::scene::annotation::layout::{Area, WantedWords, WordField, leader};
use crate::scene::drawing::shape::Rect;
use crate::scene::drawing::touch::{meets, nearest};

/// What it costs a box to lie on a leader or a leader on a box, two leaders to cross, a box to lie on a label's line,
/// and to stand on the other side than preferred, against points of distance.
const ON_LEADER: f64 = 260.0;
const CROSSING: f64 = 90.0;
const ON_LINE: f64 = 45.0;
const OTHER_SIDE: f64 = 7.0;
/// Leaders go round areas on which a box would cost at least this: the tip and the target.
const WORTH_A_WAY_ROUND: f64 = 100.0;
/// Points of a box at which it is asked what it lies on, level and upright.
const SAMPLES: (u32, u32) = (7, 4);

/// What a place costs, or `None` as soon as it costs more than `most`.
pub(super) fn cost(
    words: &WantedWords,
    at: Rect,
    field: &WordField,
    (leaders, others): (&[[Point; 2]], &[Rect]),
    most: f64,
) -> Option<f64> {
    let mut cost = nearest(at, words.anchor).distance(words.anchor);
    if at.contains(words.anchor) {
        cost += ON_LEADER;
    }
    if let (Some(prefer), Some(way)) = (words.prefer, (at.centre() - words.anchor).normalized()) {
        cost += OTHER_SIDE * (1.0 - prefer.dot(way));
    }
    let own = leader(words, at);
    let mut add = |more: f64| {
        cost += more;
        cost < most
    };
    if !add(0.0) {
        return None;
    }
    for line in leaders {
        let mut more = 0.0;
        if meets(*line, at) {
            more += ON_LEADER;
        }
        if own.is_some_and(|own| cross(own, *line)) {
            more += CROSSING;
        }
        if !add(more) {
            return None;
        }
    }
    if let Some(own) = own {
        for other in others.iter().chain(&field.blocked) {
            if meets(own, *other) && !add(ON_LEADER) {
                return None;
            }
        }
    }
    if let Some([from, to]) = own {
        for area in &field.areas {
            if !add(crossed(from, to, area)) {
                return None;
            }
        }
    }
    for line in &field.lines {
        if meets(*line, at) && !add(ON_LINE) {
            return None;
        }
    }
    for area in &field.areas {
        if !add(share(at, area)) {
            return None;
        }
    }
    Some(cost)
}

/// What it costs a leader to cross the tip or the target on its way to something else.
fn crossed(from: Point, to: Point, area: &Area) -> f64 {
    const STEPS: u32 = 12;
    let (Area::Disc { cost, .. } | Area::Inside { cost, .. }) = area;
    let within = |p: Point| match area {
        Area::Disc { centre, radius, .. } => p.distance(*centre) < *radius,
        Area::Inside { around, .. } => encloses(around, p),
    };
    if *cost < WORTH_A_WAY_ROUND || within(to) {
        return 0.0;
    }
    let crosses = (0..STEPS).any(|i| within(from.lerp(to, f64::from(i) / f64::from(STEPS))));
    if crosses { *cost } else { 0.0 }
}

/// What it costs a box to lie on an area as far as it does.
pub(super) fn share(at: Rect, area: &Area) -> f64 {
    let (inside, cost): (Box<dyn Fn(Point) -> bool>, f64) = match area {
        Area::Disc { centre, radius, cost } => {
            // A disc is smaller than a box: touching it at all is what counts.
            return if nearest(at, *centre).distance(*centre) < *radius { *cost } else { 0.0 };
        }
        Area::Inside { around, cost } => (Box::new(|p| encloses(around, p)), *cost),
    };
    let (columns, rows) = SAMPLES;
    let step = |i: u32, n: u32| f64::from(i) / f64::from(n - 1);
    let sample =
        |i, j| Point::new(at.min.x + at.width() * step(i, columns), at.min.y + at.height() * step(j, rows));
    let hits =
        (0..columns).flat_map(|i| (0..rows).map(move |j| (i, j))).filter(|&(i, j)| inside(sample(i, j)));
    #[expect(clippy::cast_precision_loss, reason = "a few samples")]
    let share = hits.count() as f64 / f64::from(columns * rows);
    share * cost
}
