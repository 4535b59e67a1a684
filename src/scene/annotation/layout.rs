//! Where words go: every box in the room, none on another, off what is of interest as far as there is room.
//!
//! Places around the anchor are weighed one after the other, nearer ones first, and each box takes the one that costs
//! least; then the boxes are taken up again in turn while that makes the whole better. A box that finds no place
//! around its anchor takes the cheapest free place of a grid over the room. Nothing is random.
//!
//! Where words are kept off the bone ([`KeptClear`]), those places come first at which a box hides nothing and its leader
//! crosses nothing, then those on plain bone, then all.

use crate::geom::point::{Point, Vec2};
use crate::scene::annotation::cost::cost;
use crate::scene::annotation::standing::{KeptClear, Neighbours, WordStanding};
use crate::scene::drawing::shape::Rect;
use crate::scene::drawing::touch::nearest;

/// Least distance of two boxes, in points.
pub(super) const APART: f64 = 3.0;
/// Directions around an anchor.
const DIRECTIONS: u32 = 24;
/// Distances of a box from its anchor, in points.
const GAPS: [f64; 12] = [6.0, 11.0, 18.0, 28.0, 42.0, 60.0, 84.0, 116.0, 160.0, 220.0, 300.0, 420.0];
/// Steps of the grid over the room, in points, and where words are kept off the bone.
const GRID: f64 = 7.0;
const FINE_GRID: f64 = 4.0;
/// How often boxes are taken up again, and for how many at most.
const ROUNDS: u32 = 3;
const FEW: usize = 40;

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
    /// The box that they stand next to instead of their anchor.
    pub(super) beside: Option<Rect>,
}

/// Something that words keep off.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Area {
    /// A disc.
    Disc { centre: Point, radius: f64, cost: f64 },
    /// The inside of a closed line.
    Inside { around: Vec<Point>, cost: f64 },
}

impl Area {
    /// Whether it is about one place.
    pub(super) const fn is_disc(&self) -> bool {
        matches!(self, Self::Disc { .. })
    }
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
    /// What words do not lie on at all where there is another place.
    pub(super) kept: Option<KeptClear>,
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
    // What is kept off the bone gives way rather than be weighed again and again.
    let rounds = match &field.kept {
        _ if wanted.len() > FEW => 0,
        Some(_) => 1,
        None => ROUNDS,
    };
    for _ in 0..rounds {
        let before = boxes.clone();
        for i in 0..wanted.len() {
            put_again(wanted, &mut boxes, i, field);
        }
        if boxes == before {
            break;
        }
    }
    boxes
}

/// Takes words up again and puts them where they stand best while all others stay.
pub(super) fn put_again(wanted: &[WantedWords], boxes: &mut [Option<Rect>], i: usize, field: &WordField) {
    if wanted[i].own.is_none() && wanted[i].by_hand.is_none() {
        let kept = boxes[i].take();
        boxes[i] = best(wanted, boxes, i, field).or(kept);
    }
}

/// A place at which words hide nothing while all others stay, if there is one.
pub(super) fn clear_place(
    wanted: &[WantedWords],
    boxes: &[Option<Rect>],
    i: usize,
    field: &WordField,
) -> Option<Rect> {
    let mut others = boxes.to_vec();
    *others.get_mut(i)? = None;
    best_standing(wanted, &others, i, field)
        .filter(|(standing, _)| *standing == WordStanding::Clear)
        .map(|(_, at)| at)
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

/// The place at which words stand best, and among those the cheapest: around what they are about, else anywhere.
fn best(wanted: &[WantedWords], boxes: &[Option<Rect>], i: usize, field: &WordField) -> Option<Rect> {
    best_standing(wanted, boxes, i, field).map(|(_, at)| at)
}

fn best_standing(
    wanted: &[WantedWords],
    boxes: &[Option<Rect>],
    i: usize,
    field: &WordField,
) -> Option<(WordStanding, Rect)> {
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
        let found = std::iter::once(there).chain(places).find(|at| free(*at)).or_else(|| {
            let far = |at: &Rect| at.centre().distance(middle);
            grid(room, words.half, GRID).filter(|at| free(*at)).min_by(|a, b| far(a).total_cmp(&far(b)))
        });
        return found.map(|at| (WordStanding::Clear, at));
    }
    let neighbours = Neighbours::of(wanted, boxes, i);
    let find = |places: &mut dyn Iterator<Item = Rect>| {
        let mut best: Option<(WordStanding, f64, Rect)> = None;
        for at in places.filter(|at| free(*at)) {
            let (worst, cheaper) =
                best.map_or((WordStanding::InTheWay, f64::INFINITY), |(worst, cost, _)| (worst, cost));
            let far = nearest(at, words.anchor).distance(words.anchor);
            if worst == WordStanding::Clear && far >= cheaper {
                continue;
            }
            let Some(standing) = neighbours.standing_within(words, at, (field, worst)) else { continue };
            let most = if standing == worst { cheaper } else { f64::INFINITY };
            if let Some(cost) = cost(words, at, field, (&neighbours.leaders, &neighbours.boxes), most) {
                best = Some((standing, cost, at));
            }
        }
        best.map(|(standing, _, at)| (standing, at))
    };
    if let Some(inset) = words.beside {
        let found = find(&mut next_to(inset, words.half).filter(|at| lies_in(*at, room)));
        // Elsewhere nobody sees what they are about.
        if found.is_some() || field.kept.is_some() {
            return found;
        }
    }
    let near = find(&mut around(words.anchor, words.half).map(|p| within(boxed(p, words.half), room)));
    if near.is_some_and(|(standing, _)| standing == WordStanding::Clear) {
        return near;
    }
    let step = if field.kept.is_some() { FINE_GRID } else { GRID };
    let far = find(&mut grid(room, words.half, step));
    [near, far].into_iter().flatten().min_by_key(|(standing, _)| *standing)
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

/// Boxes right below, above and beside a box.
fn next_to(of: Rect, half: Vec2) -> impl Iterator<Item = Rect> {
    let gap = APART + 1.0;
    let (left, right) = (of.min.x + half.x, of.max.x - half.x);
    let (above, below) = (of.min.y - gap - half.y, of.max.y + gap + half.y);
    let (before, behind) = (of.min.x - gap - half.x, of.max.x + gap + half.x);
    let (top, bottom) = (of.min.y + half.y, of.max.y - half.y);
    let places = [
        (left, below),
        (right, below),
        (left, above),
        (right, above),
        (before, top),
        (before, bottom),
        (behind, top),
        (behind, bottom),
    ];
    places.into_iter().map(move |(x, y)| boxed(Point::new(x, y), half))
}

/// Boxes of this size on a grid over the room.
fn grid(room: Rect, half: Vec2, step: f64) -> impl Iterator<Item = Rect> {
    let steps =
        move |free: f64| (0_u32..).map(move |i| f64::from(i) * step).take_while(move |x| *x <= free + 1e-9);
    let (x, y) = (room.width() - 2.0 * half.x, room.height() - 2.0 * half.y);
    steps(y).flat_map(move |dy| steps(x).map(move |dx| boxed(room.min + half + Vec2::new(dx, dy), half)))
}

fn lies_in(at: Rect, room: Rect) -> bool {
    room.contains(at.min) && room.contains(at.max)
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::enclosed::encloses;
    use crate::scene::drawing::touch::meets;

    fn words(index: usize, x: f64, y: f64) -> WantedWords {
        WantedWords {
            index,
            half: Vec2::new(30.0, 10.0),
            anchor: Point::new(x, y),
            prefer: None,
            by_hand: None,
            leads_from: 0.0,
            own: None,
            beside: None,
        }
    }

    fn field() -> WordField {
        WordField {
            room: Rect::new(0.0, 0.0, 400.0, 300.0),
            blocked: Vec::new(),
            areas: Vec::new(),
            lines: Vec::new(),
            kept: None,
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
