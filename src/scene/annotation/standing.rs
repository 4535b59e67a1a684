//! How a box of words stands among the others: whether it hides something, and whether its leader crosses something.

use crate::geom::point::Point;
use crate::geom::segment::{cross, distance};
use crate::scene::annotation::layout::{WantedWords, WordField, leader};
use crate::scene::drawing::shape::Rect;
use crate::scene::drawing::touch::{Enclosure, meets};

/// How near a tip no box and no leader comes, in points.
const SIGN: f64 = 5.0;
/// How far before its end a leader no longer counts as crossing what it ends at, in points.
const END: f64 = 3.0;

/// How a box stands, the best first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum WordStanding {
    /// It hides nothing, and its leader crosses nothing.
    Clear,
    /// It lies on bone beside the target.
    OnBone,
    /// It lies on target or tip, or its leader crosses something.
    InTheWay,
}

/// What words do not lie on, and leaders do not cross on their way to something else.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct KeptClear {
    /// The outline of the bone.
    pub(super) bone: Enclosure,
    /// The bands of the target, as they are drawn.
    pub(super) bands: Vec<Enclosure>,
    /// The tips.
    pub(super) tips: Vec<Point>,
}

impl KeptClear {
    /// Whether a leader crosses a tip or a band on its way to something that is neither.
    fn is_crossed(&self, [from, to]: [Point; 2]) -> bool {
        let Some(way) = (to - from).normalized() else { return false };
        let long = from.distance(to);
        let short = [from, from + way * (long - END).max(0.0)];
        let tip = |tip: &Point| tip.distance(to) > SIGN && distance([from, to], *tip) < SIGN;
        let band = |band: &Enclosure| long > END && band.is_entered(short) && !band.holds(to);
        self.tips.iter().any(tip) || self.bands.iter().any(band)
    }
}

/// The boxes and leaders of all other words.
pub(super) struct Neighbours {
    pub(super) leaders: Vec<[Point; 2]>,
    pub(super) boxes: Vec<Rect>,
}

impl Neighbours {
    /// Those of all words but one.
    pub(super) fn of(wanted: &[WantedWords], boxes: &[Option<Rect>], i: usize) -> Self {
        let others = || wanted.iter().zip(boxes).enumerate().filter(|(j, _)| *j != i).map(|(_, both)| both);
        Self {
            leaders: others().filter_map(|(other, at)| leader(other, (*at)?)).collect(),
            boxes: others().filter_map(|(_, at)| *at).collect(),
        }
    }

    /// How a box of these words would stand among them.
    fn standing(&self, words: &WantedWords, at: Rect, field: &WordField) -> WordStanding {
        self.standing_within(words, at, (field, WordStanding::InTheWay)).unwrap_or(WordStanding::InTheWay)
    }

    /// The same, `None` where it is worse than that.
    pub(super) fn standing_within(
        &self,
        words: &WantedWords,
        at: Rect,
        (field, worst): (&WordField, WordStanding),
    ) -> Option<WordStanding> {
        let Some(kept) = &field.kept else { return Some(WordStanding::Clear) };
        let on_bone = kept.bone.lies_under(at);
        if on_bone && worst == WordStanding::Clear {
            return None;
        }
        let own = leader(words, at);
        let meets_leader = |line: &[Point; 2]| meets(*line, at) || own.is_some_and(|own| cross(own, *line));
        let through_words = |own: [Point; 2]| {
            let there = self.boxes.iter().chain(&field.blocked);
            there.filter(|other| !other.contains(words.anchor)).any(|other| meets(own, *other))
        };
        let on_target = kept.tips.iter().any(|tip| at.grown(SIGN).contains(*tip))
            || kept.bands.iter().any(|band| band.lies_under(at));
        let crosses = |own: [Point; 2]| kept.is_crossed(own) || through_words(own);
        let in_the_way = on_target || self.leaders.iter().any(meets_leader) || own.is_some_and(crosses);
        let standing = match (in_the_way, on_bone) {
            (true, _) => WordStanding::InTheWay,
            (false, true) => WordStanding::OnBone,
            (false, false) => WordStanding::Clear,
        };
        (standing <= worst).then_some(standing)
    }
}

/// How a placed box of words stands among all the others.
pub(super) fn standing(
    wanted: &[WantedWords],
    boxes: &[Option<Rect>],
    i: usize,
    field: &WordField,
) -> Option<WordStanding> {
    let at = (*boxes.get(i)?)?;
    Some(Neighbours::of(wanted, boxes, i).standing(wanted.get(i)?, at, field))
}
