//! What the user writes down of a treated body: how long the lesion was made, and remarks. Nothing here is read from a
//! picture, and nothing proposes a value.

use crate::case::document::Case;
use crate::case::document::extra::Extra;
use crate::measure::mark::{Level, Side};

/// What is written down of one body, entered from one side.
#[derive(Clone, Debug, PartialEq)]
pub struct BodyRecord {
    /// The body.
    pub level: Level,
    /// Entry side.
    pub side: Side,
    /// How long the lesion was made, in seconds.
    pub lesion_s: Option<f64>,
    /// The user's own words.
    pub remarks: Option<String>,
    /// Keys that this version does not know.
    pub extra: Extra,
}

/// The longest lesion time that can be meant, in seconds: a day.
const LONGEST_S: f64 = 86_400.0;

/// Why a lesion time cannot be meant, if it cannot.
#[must_use]
pub fn lesion_fault(seconds: f64) -> Option<&'static str> {
    let good = seconds > 0.0 && seconds <= LONGEST_S;
    (!good).then_some("the lesion time must be a positive number of seconds, at most 86400")
}

impl BodyRecord {
    /// Nothing written down yet.
    #[must_use]
    pub fn new(level: Level, side: Side) -> Self {
        Self { level, side, lesion_s: None, remarks: None, extra: Extra::default() }
    }

    /// Whether it says nothing.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.lesion_s.is_none() && self.remarks.is_none() && self.extra.0.is_empty()
    }
}

impl Case {
    /// What is written down of a body and side.
    #[must_use]
    pub fn record(&self, level: Level, side: Side) -> Option<&BodyRecord> {
        self.bodies.iter().find(|record| (record.level, record.side) == (level, side))
    }

    /// Puts a record in its place, down the spine, instead of the one before; an empty one is taken out.
    pub(crate) fn set_record(&mut self, record: BodyRecord) {
        let key = |record: &BodyRecord| (record.level, record.side.key());
        self.bodies.retain(|one| key(one) != key(&record));
        if !record.is_empty() {
            let at = self.bodies.iter().take_while(|one| key(one) < key(&record)).count();
            self.bodies.insert(at, record);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::document::edit::{Edit, EditError};

    fn record(level: Level, lesion_s: Option<f64>) -> BodyRecord {
        BodyRecord { lesion_s, ..BodyRecord::new(level, Side::Right) }
    }

    #[test]
    fn records_stand_down_the_spine_and_empty_ones_go() {
        let mut case = Case::default();
        for level in [Level::L5, Level::L4] {
            case.apply(&Edit::SetRecord(Box::new(record(level, Some(900.0))))).unwrap();
        }
        assert_eq!(case.bodies.iter().map(|r| r.level).collect::<Vec<_>>(), [Level::L4, Level::L5]);
        case.apply(&Edit::SetRecord(Box::new(record(Level::L4, Some(600.0))))).unwrap();
        assert_eq!(case.record(Level::L4, Side::Right).unwrap().lesion_s, Some(600.0));
        assert_eq!(case.record(Level::L4, Side::Left), None);
        case.apply(&Edit::SetRecord(Box::new(record(Level::L4, None)))).unwrap();
        assert_eq!(case.bodies.len(), 1);
    }

    #[test]
    fn a_time_that_cannot_be_meant_is_refused() {
        for bad in [0.0, -3.0, 1e9, f64::NAN, f64::INFINITY] {
            let mut case = Case::default();
            let refused = case.apply(&Edit::SetRecord(Box::new(record(Level::L4, Some(bad)))));
            assert!(matches!(refused, Err(EditError::Implausible(_))), "{bad}");
            assert!(case.bodies.is_empty());
        }
    }
}
