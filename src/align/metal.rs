//! Where the instruments of a shot lie in its picture, so that they can be left out when bone is compared.

use crate::geom::point::Point;
use crate::geom::segment;
use crate::measure::mark::{MarkKind, Marks};

/// Half the width of what is left out, in millimetres: a cannula's radius and how far marks and blur may be off.
const REACH_MM: f64 = 2.5;
/// How many times its marked length a cannula is taken to go on outward.
const OUTWARD: f64 = 5.0;

/// The instruments of one shot: a line from outside along the cannula, over the electrodes, to the tip.
#[derive(Clone, Debug)]
pub(crate) struct Metal {
    line: Vec<Point>,
    reach_px: f64,
}

impl Metal {
    /// The marked instruments of a shot.
    pub(crate) fn of(marks: &Marks, mm_per_px: f64) -> Self {
        let cannula = marks.complete(MarkKind::Cannula).unwrap_or_default();
        let outward = match cannula.as_slice() {
            [outer, next, ..] => Some(*outer + (*outer - *next) * OUTWARD),
            _ => None,
        };
        let rest = [MarkKind::Electrodes, MarkKind::Tip].map(|kind| marks.complete(kind).unwrap_or_default());
        let line = outward.into_iter().chain(cannula).chain(rest.into_iter().flatten()).collect();
        Self { line, reach_px: REACH_MM / mm_per_px }
    }

    /// Whether a place lies on or close to an instrument.
    pub(crate) fn covers(&self, p: Point) -> bool {
        let near = |a: Point, b: Point| segment::distance([a, b], p) <= self.reach_px;
        match self.line.as_slice() {
            [only] => near(*only, *only),
            line => line.windows(2).any(|pair| near(pair[0], pair[1])),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// At 0.5 mm a pixel, 2.5 mm are 5 px.
    #[test]
    fn a_band_along_the_instruments_is_covered() {
        let marks = Marks::new()
            .with(MarkKind::Cannula, &[(100.0, 50.0), (80.0, 50.0)])
            .with(MarkKind::Tip, &[(60.0, 60.0)]);
        let metal = Metal::of(&marks, 0.5);
        for (x, y, covered) in [
            (90.0, 54.9, true),
            (90.0, 55.2, false),
            (190.0, 48.0, true),
            (210.0, 50.0, false),
            (70.0, 55.0, true),
            (60.0, 64.9, true),
            (50.0, 60.0, false),
        ] {
            assert_eq!(metal.covers(Point::new(x, y)), covered, "{x} {y}");
        }
        assert!(!Metal::of(&Marks::new(), 0.5).covers(Point::new(0.0, 0.0)));
        let alone = Metal::of(&Marks::new().with(MarkKind::Tip, &[(60.0, 60.0)]), 0.5);
        assert!(alone.covers(Point::new(62.0, 60.0)) && !alone.covers(Point::new(70.0, 60.0)));
    }
}
