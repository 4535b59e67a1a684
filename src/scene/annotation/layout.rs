//! Where words go: every box in the room, none on another, off what is of interest as far as there is room.
//!
//! Places around the anchor are weighed one after the other, nearer ones first, and each box takes the one that costs
//! least; then the boxes are taken up again in turn while that makes the whole better. A box that finds no place
//! around its anchor takes the cheapest free place of a grid over the room. Nothing is random.

use crate::geom::enclosed::encloses;
use crate::geom::point::{Point, Vec2};
use crate::scene::drawing::shape::Rect;

/// Least distance of two boxes, in points.
const APART: f64 = 3.0;
/// Directions around an anchor.
const DIRECTIONS: u32 = 24;
/// Distances of a box from its anchor, in points.
const GAPS: [f64; 12] = [6.0, 11.0, 18.0, 28.0, 42.0, 60.0, 84.0, 116.0, 160.0, 220.0, 300.0, 420.0];
/// Steps of the grid over the room, in points.
const GRID: f64 = 7.0;
/// How often boxes are taken up again, and for how many at most.
const ROUNDS: u32 = 3;
const FEW: usize = 40;
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

/// Words that want a place.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct WantedWords {
    /// Place of their label in the list.
    pub(super) index: usize,
    /// Half the size of their box.
    pub(super) half: Vec2,
    /// What they stand beside.
    pub(super) anchor: Point,
    /// The direction in which they stand best.
    pub(super) prefer: Option<Vec2>,
    /// The middle of the box where the user has put it.
    pub(super) by_hand: Option<Point>,
    /// From which distance on a line leads to the anchor.
    pub(super) leads_from: f64,
    /// The box itself, where it is given.
    pub(super) own: Option<Rect>,
}

/// Something that words keep off.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Area {
    /// A disc.
    Disc { centre: Point, radius: f64, cost: f64 },
    /// The inside of a closed line.
    Inside { around: Vec<Point>, cost: f64 },
}

/// Where words can go.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct WordField {
    /// The room that no box leaves.
    pub(super) room: Rect,
    /// Boxes that are there already.
    pub(super) blocked: Vec<Rect>,
    /// What words keep off.
    pub(super) areas: Vec<Area>,
    /// Lines that words keep off.
    pub(super) lines: Vec<[Point; 2]>,
}

/// The boxes of the words, in their order; `None` where there is no room at all.
pub(super) fn placed(wanted: &[WantedWords], field: &WordField) -> Vec<Option<Rect>> {
    let mut boxes: Vec<Option<Rect>> = wanted.iter().map(|words| words.own).collect();
    let by_hand = |words: &WantedWords| words.by_hand.is_some();
    let first = (0..wanted.len()).filter(|&i| by_hand(&wanted[i]));
    let then = (0..wanted.len()).filter(|&i| !by_hand(&wanted[i]));
    for i in first.chain(then) {
        if wanted[i].own.is_none() {
            boxes[i] = best(wanted, &boxes, i, field);
        }
    }
    let rounds = if wanted.len() > FEW { 0 } else { ROUNDS };
    for _ in 0..rounds {
        let before = boxes.clone();
        for i in 0..wanted.len() {
            if wanted[i].own.is_none() && !by_hand(&wanted[i]) {
                let kept = boxes[i].take();
                boxes[i] = best(wanted, &boxes, i, field).or(kept);
            }
        }
        if boxes == before {
            break;
        }
    }
    boxes
}

/// The line that leads from a box to its anchor, if one is needed.
pub(super) fn leader(words: &WantedWords, at: Rect) -> Option<[Point; 2]> {
    let from = nearest(at, words.anchor);
    let far = from.distance(words.anchor);
    (far > words.leads_from.max(1.0)).then_some([from, words.anchor])
}

/// A box by its middle and half its size.
pub(super) fn boxed(middle: Point, half: Vec2) -> Rect {
    Rect::new(middle.x - half.x, middle.y - half.y, middle.x + half.x, middle.y + half.y)
}

fn best(wanted: &[WantedWords], boxes: &[Option<Rect>], i: usize, field: &WordField) -> Option<Rect> {
    let words = &wanted[i];
    let room = field.room;
    if 2.0 * words.half.x > room.width() || 2.0 * words.half.y > room.height() {
        return None;
    }
    let taken: Vec<Rect> =
        field.blocked.iter().chain(boxes.iter().flatten()).map(|b| b.grown(APART)).collect();
    let free = |at: Rect| !taken.iter().any(|other| at.overlaps(*other));
    if let Some(middle) = words.by_hand {
        let there = within(boxed(middle, words.half), room);
        let places = around(there.centre(), Vec2::new(0.0, 0.0)).map(|p| within(boxed(p, words.half), room));
        return std::iter::once(there).chain(places).find(|at| free(*at)).or_else(|| {
            let far = |at: &Rect| at.centre().distance(middle);
            grid(room, words.half).filter(|at| free(*at)).min_by(|a, b| far(a).total_cmp(&far(b)))
        });
    }
    let leaders: Vec<[Point; 2]> = wanted
        .iter()
        .zip(boxes)
        .enumerate()
        .filter(|(j, _)| *j != i)
        .filter_map(|(_, (other, at))| leader(other, (*at)?))
        .collect();
    let others: Vec<Rect> = boxes.iter().flatten().copied().collect();
    let cheapest = |places: &mut dyn Iterator<Item = Rect>| {
        let mut best: Option<(f64, Rect)> = None;
        for at in places.filter(|at| free(*at)) {
            let so_far = best.map_or(f64::INFINITY, |(cost, _)| cost);
            if let Some(cost) = cost(words, at, field, &leaders, &others, so_far) {
                best = Some((cost, at));
            }
        }
        best.map(|(_, at)| at)
    };
    let mut near = around(words.anchor, words.half).map(|p| within(boxed(p, words.half), room));
    cheapest(&mut near).or_else(|| cheapest(&mut grid(room, words.half)))
}

/// Middles of boxes around an anchor, nearer ones first.
fn around(anchor: Point, half: Vec2) -> impl Iterator<Item = Point> {
    GAPS.into_iter().flat_map(move |gap| {
        (0..DIRECTIONS).map(move |i| {
            let (sin, cos) = (std::f64::consts::TAU * f64::from(i) / f64::from(DIRECTIONS)).sin_cos();
            let reach = |half: f64, way: f64| if way.abs() > 1e-9 { half / way.abs() } else { f64::INFINITY };
            let own = reach(half.x, cos).min(reach(half.y, sin));
            anchor + Vec2::new(cos, sin) * (own + gap)
        })
    })
}

/// Boxes of this size on a grid over the room.
fn grid(room: Rect, half: Vec2) -> impl Iterator<Item = Rect> {
    let steps =
        |free: f64| (0_u32..).map(move |i| f64::from(i) * GRID).take_while(move |x| *x <= free + 1e-9);
    let (x, y) = (room.width() - 2.0 * half.x, room.height() - 2.0 * half.y);
    steps(y).flat_map(move |dy| steps(x).map(move |dx| boxed(room.min + half + Vec2::new(dx, dy), half)))
}

/// A box moved so far that it lies in the room.
fn within(at: Rect, room: Rect) -> Rect {
    let by = |low: f64, high: f64, from: f64, to: f64| (from - low).max(0.0) + (to - high).min(0.0);
    let shift = Vec2::new(
        by(at.min.x, at.max.x, room.min.x, room.max.x),
        by(at.min.y, at.max.y, room.min.y, room.max.y),
    );
    Rect { min: at.min + shift, max: at.max + shift }
}

/// What a place costs, or `None` as soon as it costs more than `most`.
fn cost(
    words: &WantedWords,
    at: Rect,
    field: &WordField,
    leaders: &[[Point; 2]],
    others: &[Rect],
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

/// The point of a box that is nearest to a place.
fn nearest(at: Rect, p: Point) -> Point {
    Point::new(p.x.clamp(at.min.x, at.max.x), p.y.clamp(at.min.y, at.max.y))
}

/// Whether a line meets a box.
fn meets([a, b]: [Point; 2], at: Rect) -> bool {
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    let d = b - a;
    for (start, way, low, high) in [(a.x, d.x, at.min.x, at.max.x), (a.y, d.y, at.min.y, at.max.y)] {
        if way.abs() < 1e-12 {
            if start < low || start > high {
                return false;
            }
            continue;
        }
        let (s, t) = ((low - start) / way, (high - start) / way);
        from = from.max(s.min(t));
        to = to.min(s.max(t));
    }
    from <= to
}

/// Whether two lines cross.
fn cross([a, b]: [Point; 2], [c, d]: [Point; 2]) -> bool {
    let side = |p: Point, q: Point, r: Point| (q - p).cross(r - p);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(index: usize, x: f64, y: f64) -> WantedWords {
        WantedWords {
            index,
            half: Vec2::new(30.0, 10.0),
            anchor: Point::new(x, y),
            prefer: None,
            by_hand: None,
            leads_from: 0.0,
            own: None,
        }
    }

    fn field() -> WordField {
        WordField {
            room: Rect::new(0.0, 0.0, 400.0, 300.0),
            blocked: Vec::new(),
            areas: Vec::new(),
            lines: Vec::new(),
        }
    }

    #[test]
    fn words_stand_near_their_place_and_not_on_it() {
        let at = placed(&[words(0, 200.0, 150.0)], &field())[0].unwrap();
        assert!(!at.contains(Point::new(200.0, 150.0)));
        assert!(nearest(at, Point::new(200.0, 150.0)).distance(Point::new(200.0, 150.0)) < 10.0, "{at:?}");
    }

    #[test]
    fn words_of_one_place_do_not_overlap_and_their_leaders_do_not_cross_them() {
        let wanted: Vec<_> = (0..12).map(|i| words(i, 200.0, 150.0)).collect();
        let boxes: Vec<Rect> = placed(&wanted, &field()).into_iter().map(Option::unwrap).collect();
        for (i, a) in boxes.iter().enumerate() {
            for (j, b) in boxes.iter().enumerate().filter(|(j, _)| *j != i) {
                assert!(!a.overlaps(*b), "{a:?} {b:?}");
                assert!(!meets(leader(&wanted[i], *a).unwrap(), *b), "the leader of {i} runs through {j}");
            }
        }
    }

    #[test]
    fn words_put_by_hand_stay_or_give_way_as_little_as_needed() {
        let mut first = words(0, 50.0, 50.0);
        first.by_hand = Some(Point::new(200.0, 150.0));
        let mut second = words(1, 60.0, 50.0);
        second.by_hand = Some(Point::new(210.0, 155.0));
        let boxes = placed(&[first, second], &field());
        assert_eq!(boxes[0].unwrap().centre(), Point::new(200.0, 150.0));
        let moved = boxes[1].unwrap();
        assert!(!boxes[0].unwrap().overlaps(moved));
        assert!(moved.centre().distance(Point::new(210.0, 155.0)) < 45.0, "{moved:?}");
    }

    #[test]
    fn words_beyond_the_edge_come_back_into_the_room() {
        let mut wanted = words(0, 5.0, 5.0);
        wanted.by_hand = Some(Point::new(-90.0, 900.0));
        let at = placed(&[wanted], &field())[0].unwrap();
        assert_eq!((at.min.x, at.max.y), (0.0, 300.0));
    }

    #[test]
    fn a_room_that_is_full_leaves_words_out_rather_than_on_others() {
        let mut full = field();
        full.blocked = vec![full.room];
        assert_eq!(placed(&[words(0, 200.0, 150.0)], &full), [None]);
        full.room = Rect::new(0.0, 0.0, 40.0, 40.0);
        full.blocked.clear();
        assert_eq!(placed(&[words(0, 20.0, 20.0)], &full), [None], "wider than the room");
    }

    /// A leader once ran through the target to a corner behind it.
    #[test]
    fn leaders_go_round_the_target() {
        let mut field = field();
        let around = vec![
            Point::new(180.0, 60.0),
            Point::new(220.0, 60.0),
            Point::new(220.0, 260.0),
            Point::new(180.0, 260.0),
        ];
        field.areas = vec![Area::Inside { around: around.clone(), cost: 140.0 }];
        field.blocked = vec![Rect::new(240.0, 0.0, 400.0, 300.0)];
        let wanted = words(0, 232.0, 200.0);
        let at = placed(std::slice::from_ref(&wanted), &field)[0].unwrap();
        let [from, to] = leader(&wanted, at).unwrap();
        let crosses = (0..20).any(|i| encloses(&around, from.lerp(to, f64::from(i) / 20.0)));
        assert!(!crosses, "{at:?}");
    }

    #[test]
    fn words_keep_off_the_tip() {
        let tip = Point::new(200.0, 150.0);
        let mut field = field();
        field.areas = vec![Area::Disc { centre: tip, radius: 16.0, cost: 400.0 }];
        let at = placed(&[words(0, 200.0, 135.0)], &field)[0].unwrap();
        assert!(nearest(at, tip).distance(tip) >= 16.0, "{at:?}");
    }
}
