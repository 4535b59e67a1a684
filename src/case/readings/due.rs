//! Readings of many shots as a work by itself, so that whoever waits for them can do it elsewhere and go on meanwhile.

use std::collections::BTreeMap;

use crate::case::document::Case;
use crate::case::readings::{Picture, ReadPairOf, ShotReading, read_apart, read_matched_with};

/// Readings that are to be made: of shots by themselves and of matched pairs, of a case as it was when they were asked for.
#[derive(Clone, Debug)]
pub struct DueReadings {
    /// Its number; no other has it.
    pub number: u64,
    case: Case,
    /// What is known of the image of each shot to be read, by its place, and why pairings by hand cannot be.
    known: BTreeMap<usize, (Picture, Vec<String>)>,
    units: Vec<Unit>,
    mm: bool,
}

/// What is read together, by places in the case.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Unit {
    /// A shot of no matched pair.
    Alone(usize),
    /// A matched pair, lateral first.
    Pair(usize, usize),
}

/// Readings as they were made for a [`DueReadings`].
#[derive(Clone, Debug, PartialEq)]
pub struct MadeReadings {
    /// The number of what was asked for.
    pub number: u64,
    /// The readings with the ids of their shots.
    pub(super) shots: Vec<(String, ShotReading)>,
    /// The matched pairs, with the places that their shots had then.
    pub(super) pairs: Vec<([String; 2], ReadPairOf)>,
}

impl Unit {
    /// The places of its shots.
    pub(super) fn shots(self) -> impl Iterator<Item = usize> {
        let (one, other) = match self {
            Self::Alone(shot) => (shot, None),
            Self::Pair(lateral, ap) => (lateral, Some(ap)),
        };
        [Some(one), other].into_iter().flatten()
    }

    /// Reads it, given of each shot what is known of its image and why pairings by hand cannot be; with `mm` a shot without
    /// a scale says that it has no millimeters.
    pub(super) fn read<'a>(
        self,
        case: &Case,
        known: impl Fn(usize) -> (&'a Picture, &'a [String]),
        mm: bool,
    ) -> (Vec<(usize, ShotReading)>, Option<ReadPairOf>) {
        let (mut shots, pair) = match self {
            Self::Alone(shot) => {
                let (picture, refused) = known(shot);
                (vec![(shot, read_apart(case, shot, picture, refused))], None)
            }
            Self::Pair(lateral, ap) => {
                let (of_lateral, of_ap, pair) =
                    read_matched_with(case, (lateral, ap), known(lateral), known(ap));
                (vec![(lateral, of_lateral), (ap, of_ap)], Some(pair))
            }
        };
        if mm {
            for (index, reading) in &mut shots {
                reading.ask_for_mm(&case.shots[*index]);
            }
        }
        (shots, pair)
    }
}

impl PartialEq for DueReadings {
    fn eq(&self, other: &Self) -> bool {
        self.number == other.number
    }
}

impl DueReadings {
    pub(super) fn new(
        number: u64,
        case: &Case,
        units: Vec<Unit>,
        known: impl Fn(usize) -> (Picture, Vec<String>),
        mm: bool,
    ) -> Self {
        let places = units.iter().flat_map(|unit| unit.shots());
        Self { number, case: case.clone(), known: places.map(|at| (at, known(at))).collect(), units, mm }
    }

    /// How many shots are to be read.
    #[must_use]
    pub fn shots(&self) -> usize {
        self.known.len()
    }

    /// Makes them; between any two it asks whether they are still wanted, and leaves the rest unmade where they are not.
    #[must_use]
    pub fn make(&self, wanted: impl Fn() -> bool) -> MadeReadings {
        let mut made = self.unmade();
        let id = |index: usize| self.case.shots[index].id.clone();
        for unit in self.units.iter().take_while(|_| wanted()) {
            let known = |at: usize| {
                let (picture, refused) = &self.known[&at];
                (picture, refused.as_slice())
            };
            let (shots, pair) = unit.read(&self.case, known, self.mm);
            made.shots.extend(shots.into_iter().map(|(index, reading)| (id(index), reading)));
            made.pairs.extend(pair.map(|pair| ([id(pair.lateral), id(pair.ap)], pair)));
        }
        made
    }

    /// What there is where none was made.
    #[must_use]
    pub const fn unmade(&self) -> MadeReadings {
        MadeReadings { number: self.number, shots: Vec::new(), pairs: Vec::new() }
    }
}
