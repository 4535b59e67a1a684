//! Shots read again blind: who read them, in which round, in which order, and the marks of that reading.

use crate::case::document::extra::Extra;
use crate::case::document::{Case, Shot};
use crate::measure::mark::{Level, Marks, View};

/// The longest word for an operator, in characters.
pub const LONGEST_OPERATOR: usize = 40;

/// How far the reading of one shot has come.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Progress {
    /// It is still to be read, or under way.
    Open,
    /// It has been read.
    #[default]
    Done,
    /// It was left out on purpose.
    Skipped,
}

/// The reading of one shot.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Reread {
    /// Id of the shot.
    pub shot: String,
    /// How far it has come.
    pub progress: Progress,
    /// The marks of this reading.
    pub marks: Marks,
    /// Keys that this version does not know.
    pub extra: Extra,
    /// Marks that this version does not know.
    pub marks_extra: Extra,
}

/// One round of one operator.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rereading {
    /// Who reads, as a short word of the user's own.
    pub operator: String,
    /// Which round of this operator, from 1.
    pub round: u32,
    /// By which the order was shuffled.
    pub seed: u64,
    /// The shots in the order in which they are shown.
    pub readings: Vec<Reread>,
    /// Keys that this version does not know.
    pub extra: Extra,
}

/// Which shots are read again.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Which {
    /// Every lateral and AP shot of the final stage.
    #[default]
    Finals,
    /// Every lateral and AP shot.
    All,
    /// Every lateral and AP shot of this level.
    Level(Level),
    /// These shots.
    Chosen(Vec<String>),
}

impl Progress {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Open, Self::Done, Self::Skipped];

    /// The key in the case file.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Done => "done",
            Self::Skipped => "skipped",
        }
    }
}

impl Which {
    /// The shots in the case's order. Shots without a first marking are among them: a reading needs none before it.
    #[must_use]
    pub fn shots(&self, case: &Case) -> Vec<String> {
        let read = |shot: &&Shot| matches!(shot.known_view(), Some(View::Lateral | View::Ap));
        let wanted = |shot: &&Shot| match self {
            Self::Finals => shot.stage == Some(crate::measure::mark::Stage::Final) && read(shot),
            Self::All => read(shot),
            Self::Level(level) => shot.level == Some(*level) && read(shot),
            Self::Chosen(ids) => ids.contains(&shot.id),
        };
        case.shots.iter().filter(wanted).map(|shot| shot.id.clone()).collect()
    }
}

impl Rereading {
    /// A round with nothing read yet, its shots shuffled by the seed.
    #[must_use]
    pub fn new(operator: &str, round: u32, seed: u64, shots: Vec<String>) -> Self {
        let reading = |shot| Reread { shot, progress: Progress::Open, ..Reread::default() };
        let readings = shuffled(shots, seed).into_iter().map(reading).collect();
        Self { operator: operator.trim().to_owned(), round, seed, readings, extra: Extra::default() }
    }

    /// How many shots have been read.
    #[must_use]
    pub fn done(&self) -> usize {
        self.readings.iter().filter(|reading| reading.progress == Progress::Done).count()
    }

    /// How many are still to be read.
    #[must_use]
    pub fn open(&self) -> usize {
        self.readings.iter().filter(|reading| reading.progress == Progress::Open).count()
    }

    /// Why the round cannot be kept, if it cannot.
    #[must_use]
    pub fn fault(&self) -> Option<&'static str> {
        if self.operator.trim().is_empty() {
            return Some("enter a short code for the reader");
        }
        if self.operator.chars().count() > LONGEST_OPERATOR {
            return Some("the reader code is too long; use at most 40 characters");
        }
        if self.operator.chars().any(char::is_control) {
            return Some("the reader code contains characters that cannot be printed; type it again");
        }
        (self.round == 0).then_some("sessions are numbered from 1")
    }
}

impl Case {
    /// The round of this operator.
    #[must_use]
    pub fn rereading(&self, operator: &str, round: u32) -> Option<&Rereading> {
        self.rereadings.iter().find(|one| one.operator == operator && one.round == round)
    }

    /// The next round of an operator, from 1.
    #[must_use]
    pub fn next_round(&self, operator: &str) -> u32 {
        let own = self.rereadings.iter().filter(|one| one.operator == operator.trim());
        own.map(|one| one.round).max().unwrap_or(0).saturating_add(1)
    }
}

/// A list in an order that follows from the seed alone, on every machine and for good, because an order that is kept has
/// to be the one that was shown: Fisher and Yates' shuffle from the end (Knuth, *The Art of Computer Programming* 2,
/// algorithm P), numbers by SplitMix64 (Steele, Lea and Flood 2014), the index by the high half of a product (Lemire
/// 2019); all from memory.
#[must_use]
pub fn shuffled(mut list: Vec<String>, seed: u64) -> Vec<String> {
    let mut state = seed;
    for i in (1..list.len()).rev() {
        state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let j = (u128::from(mixed(state)) * (i as u128 + 1)) >> 64;
        list.swap(i, usize::try_from(j).unwrap_or(i));
    }
    list
}

const fn mixed(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(n: usize) -> Vec<String> {
        (0..n).map(|i| i.to_string()).collect()
    }

    #[test]
    fn an_order_follows_from_its_seed_and_holds_every_shot_once() {
        assert_eq!(shuffled(names(9), 4), shuffled(names(9), 4));
        assert_ne!(shuffled(names(9), 4), shuffled(names(9), 5));
        let mut all = shuffled(names(9), 4);
        all.sort();
        assert_eq!(all, names(9));
    }

    /// First output of SplitMix64 for the seed 1234567: 6457827717110365317 (published with the generator, from memory).
    #[test]
    fn numbers_are_those_of_the_generator() {
        assert_eq!(mixed(1_234_567_u64.wrapping_add(0x9e37_79b9_7f4a_7c15)), 6_457_827_717_110_365_317);
    }

    /// Each of four shots comes first about as often: with 4,000 seeds 1,000 times each, chi-squared below its 99.9 %
    /// quantile for 3 degrees of freedom, 16.27 (tables).
    #[test]
    fn every_shot_comes_first_equally_often() {
        let mut counts = [0.0_f64; 4];
        for seed in 0..4000 {
            let first: usize = shuffled(names(4), seed)[0].parse().unwrap();
            counts[first] += 1.0;
        }
        let chi: f64 = counts.iter().map(|n| (n - 1000.0).powi(2) / 1000.0).sum();
        assert!(chi < 16.27, "{counts:?}");
    }

    #[test]
    fn rounds_count_on_for_each_operator() {
        let mut case = Case::default();
        assert_eq!(case.next_round("A"), 1);
        case.rereadings.push(Rereading::new("A", 2, 1, names(2)));
        assert_eq!((case.next_round("A "), case.next_round("B")), (3, 1));
        assert!(Rereading::new(" ", 1, 1, names(2)).fault().is_some());
        assert!(Rereading::new("A", 0, 1, names(2)).fault().is_some());
        assert_eq!(Rereading::new("A", 1, 1, names(2)).fault(), None);
    }
}
