//! What becomes of words for which there is no place off the bone: they give way to a small number, or are left out.
//!
//! Whatever hides something gives way until all that is left hides nothing; then one after the other takes a place back where
//! there is one now.

use crate::geom::point::{Point, Vec2};
use crate::scene::annotation::layout::{self, WantedWords, WordField};
use crate::scene::annotation::standing::{WordStanding, standing};
use crate::scene::drawing::shape::Rect;

/// What becomes of words for which there is no place off the bone.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum WithoutRoom {
    /// They stand where they hide least.
    Anywhere,
    /// A small number stands in their place, and they stand in the legend.
    #[default]
    Numbered,
    /// They are left out.
    LeftOut,
}

/// What words can become.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Yields {
    /// A number of this half size, whose words stand elsewhere.
    ToNumber(Vec2),
    /// They are a number already, which may stand on plain bone.
    IsNumber,
    /// Nothing: they are left out.
    Out,
}

/// What they have become.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Became {
    /// What they were.
    Unchanged,
    /// A number.
    Number,
    /// They are left out.
    Nothing,
}

/// Words on their way to a place.
struct Settling<'a> {
    wanted: &'a mut [WantedWords],
    whole: Vec<WantedWords>,
    yields: &'a [Yields],
    became: Vec<Became>,
    field: &'a WordField,
}

/// The boxes of the words and what each has become; their sizes are changed with it. `yields` says of each what it can
/// become.
pub(super) fn settled(
    wanted: &mut [WantedWords],
    yields: &[Yields],
    field: &WordField,
) -> (Vec<Option<Rect>>, Vec<Became>) {
    let (whole, became) = (wanted.to_vec(), vec![Became::Unchanged; wanted.len()]);
    let mut settling = Settling { wanted, whole, yields, became, field };
    let mut boxes = layout::placed(settling.wanted, field);
    // Each gives way twice at most: to a number, and to nothing.
    for _ in 0..2 * settling.whole.len() {
        let in_the_way = settling.in_the_way(&boxes);
        if in_the_way.is_empty() {
            break;
        }
        in_the_way.into_iter().for_each(|i| settling.give_way(i));
        boxes = layout::placed(settling.wanted, field);
    }
    for i in 0..boxes.len() {
        settling.come_back(i, &mut boxes);
    }
    // What has become free in the meantime may be nearer.
    for i in 0..boxes.len() {
        layout::put_again(settling.wanted, &mut boxes, i, field);
    }
    (boxes, settling.became)
}

impl Settling<'_> {
    /// The words that hide something, or have no place.
    fn in_the_way(&self, boxes: &[Option<Rect>]) -> Vec<usize> {
        let is = |i: usize, what: Became| self.became.get(i) == Some(&what);
        let is_number = |i: usize| is(i, Became::Number) || self.yields.get(i) == Some(&Yields::IsNumber);
        // What the user has put somewhere stays there, and what stands in its own box has it.
        let stays = |words: &WantedWords| words.by_hand.is_some() || words.own.is_some();
        let good = |i: usize| match standing(self.wanted, boxes, i, self.field) {
            Some(WordStanding::Clear) => true,
            Some(WordStanding::OnBone) => is_number(i),
            Some(WordStanding::InTheWay) | None => false,
        };
        let words = self.wanted.iter().enumerate();
        let wrong = words.filter(|(i, words)| !stays(words) && !is(*i, Became::Nothing) && !good(*i));
        wrong.map(|(i, _)| i).collect()
    }

    fn give_way(&mut self, i: usize) {
        let number = match (self.yields.get(i), self.became.get(i)) {
            (Some(Yields::ToNumber(half)), Some(Became::Unchanged)) => Some(*half),
            _ => None,
        };
        let holds =
            |half: &Vec2, inset: Rect| 2.0 * half.x <= inset.width() && 2.0 * half.y <= inset.height();
        let inset = self.wanted.get(i).and_then(|words| words.beside);
        let number = number.filter(|half| inset.is_none_or(|inset| holds(half, inset)));
        let (Some(words), Some(became)) = (self.wanted.get_mut(i), self.became.get_mut(i)) else { return };
        match (number, inset) {
            // What is said of an inset has its number in the inset's corner.
            (Some(half), Some(inset)) => {
                let middle = Point::new(inset.min.x + half.x, inset.max.y - half.y);
                words.own = Some(layout::boxed(middle, half));
                words.half = half;
            }
            (Some(half), None) => words.half = half,
            // Larger than any room.
            (None, _) => words.half = Vec2::new(f64::INFINITY, f64::INFINITY),
        }
        *became = if number.is_some() { Became::Number } else { Became::Nothing };
    }

    /// Puts words back where there is room for them while everything else stays.
    fn come_back(&mut self, i: usize, boxes: &mut [Option<Rect>]) {
        if self.became[i] == Became::Unchanged {
            return;
        }
        let given = std::mem::replace(&mut self.wanted[i], self.whole[i].clone());
        match layout::clear_place(self.wanted, boxes, i, self.field) {
            Some(at) => {
                boxes[i] = Some(at);
                self.became[i] = Became::Unchanged;
            }
            None => self.wanted[i] = given,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::annotation::standing::KeptClear;
    use crate::scene::drawing::touch::Enclosure;

    fn words(index: usize, x: f64, y: f64) -> WantedWords {
        WantedWords {
            index,
            half: Vec2::new(40.0, 10.0),
            anchor: Point::new(x, y),
            prefer: None,
            by_hand: None,
            leads_from: 0.0,
            own: None,
            beside: None,
        }
    }

    fn square(x0: f64, y0: f64, x1: f64, y1: f64) -> Vec<Point> {
        [(x0, y0), (x1, y0), (x1, y1), (x0, y1)].map(|(x, y)| Point::new(x, y)).to_vec()
    }

    /// A bone that leaves 30 points around it, a band across its middle.
    fn field() -> WordField {
        let bone = Enclosure::of(square(30.0, 30.0, 270.0, 170.0));
        let bands = vec![Enclosure::of(square(140.0, 30.0, 160.0, 170.0))];
        WordField {
            room: Rect::new(0.0, 0.0, 300.0, 200.0),
            blocked: Vec::new(),
            areas: Vec::new(),
            lines: Vec::new(),
            kept: Some(KeptClear { bone, bands, tips: vec![Point::new(150.0, 100.0)] }),
        }
    }

    const NUMBER: Vec2 = Vec2::new(7.0, 9.0);

    #[test]
    fn words_with_a_place_off_the_bone_take_it_and_their_leaders_go_round_the_target() {
        let mut wanted = [words(0, 100.0, 100.0), words(1, 150.0, 100.0), words(2, 200.0, 100.0)];
        let field = field();
        let (boxes, became) = settled(&mut wanted, &[Yields::ToNumber(NUMBER); 3], &field);
        assert_eq!(became, [Became::Unchanged; 3], "{boxes:?}");
        for i in 0..3 {
            assert_eq!(standing(&wanted, &boxes, i, &field), Some(WordStanding::Clear), "{:?}", boxes[i]);
        }
    }

    /// Eight times words 80 wide and 20 high: above and below there is room for three each, beside the bone for none.
    #[test]
    fn words_without_a_place_become_numbers_or_are_left_out() {
        let places = [40.0, 80.0, 120.0, 130.0, 170.0, 180.0, 220.0, 260.0];
        let field = field();
        for (yields, instead) in [(Yields::ToNumber(NUMBER), Became::Number), (Yields::Out, Became::Nothing)]
        {
            let mut wanted: Vec<_> = places.iter().enumerate().map(|(i, x)| words(i, *x, 100.0)).collect();
            let (boxes, became) = settled(&mut wanted, &[yields; 8], &field);
            assert!(became.iter().filter(|became| **became == instead).count() >= 2, "{became:?}");
            for i in 0..8 {
                let stands = standing(&wanted, &boxes, i, &field);
                match became[i] {
                    Became::Unchanged => assert_eq!(stands, Some(WordStanding::Clear), "{i}"),
                    Became::Number => {
                        assert!(
                            matches!(stands, Some(WordStanding::Clear | WordStanding::OnBone)),
                            "{i}: {stands:?}"
                        );
                    }
                    Became::Nothing => assert_eq!(boxes[i], None),
                }
            }
        }
    }

    #[test]
    fn what_the_user_has_put_somewhere_stays() {
        let mut by_hand = words(0, 100.0, 100.0);
        by_hand.by_hand = Some(Point::new(150.0, 100.0));
        let mut wanted = [by_hand];
        let (boxes, became) = settled(&mut wanted, &[Yields::ToNumber(NUMBER)], &field());
        assert_eq!(boxes[0].map(Rect::centre), Some(Point::new(150.0, 100.0)));
        assert_eq!(became, [Became::Unchanged]);
    }
}
