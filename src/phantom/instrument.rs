//! Instruments: a cannula through the pedicle, a curved stylet or probe beyond its mouth.

use glam::DVec3;

use crate::measure::mark::{Side, Stage};
use crate::phantom::beam::sign;
use crate::phantom::body::Body;

/// An instrument in place.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedInstrument {
    /// The cannula's end outside the patient.
    pub outside: DVec3,
    /// The cannula's mouth.
    pub mouth: DVec3,
    /// From the mouth to the tip; a single point, the mouth, where nothing stands out of the cannula.
    pub course: Vec<DVec3>,
    /// Proximal and distal electrode, where it is a probe.
    pub electrodes: Option<[DVec3; 2]>,
    /// Radius of the cannula in millimetres (no source, plausible).
    pub cannula_radius: f64,
    /// Radius of the stylet or probe.
    pub probe_radius: f64,
}

/// The tip's place with respect to the body: fractions of depth and height, and millimetres off the middle
/// plane, positive on the patient's left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TipPlace {
    /// 0 posterior to 1 anterior; beyond both ends too.
    pub depth: f64,
    /// 0 superior to 1 inferior.
    pub height: f64,
    /// Off the middle plane.
    pub off_middle: f64,
}

/// Steps of a curved course.
const STEPS: u32 = 24;
/// From the tip back to the distal and the proximal electrode (no source, plausible).
const ELECTRODES: [f64; 2] = [8.0, 2.0];

impl PlacedInstrument {
    /// The instrument of a stage with its tip at this place, through the pedicle of `side`.
    #[must_use]
    pub fn placed(body: &Body, stage: Stage, side: Side, tip: TipPlace) -> Self {
        let at = |p: TipPlace| {
            let q = body.at(p.depth, 0.0, p.height);
            DVec3::new(q.x, p.off_middle, q.z)
        };
        let tip = at(tip);
        let pedicle = body.pedicle(sign(side));
        // A little from above, as through the skin.
        let outward = (pedicle.axis + DVec3::new(0.0, 0.0, 0.18)).normalize();
        let straight = matches!(stage, Stage::Docking | Stage::Pedicle | Stage::PosteriorWall);
        let mouth = if straight { tip } else { mouth_of(body, pedicle.centre, outward) };
        let course = if straight { vec![tip] } else { curve(mouth, -outward, tip) };
        let electrodes =
            (stage == Stage::Final).then(|| ELECTRODES.map(|back| along_from_tip(&course, back)));
        Self {
            outside: mouth + outward * 200.0,
            mouth,
            course,
            electrodes,
            cannula_radius: 1.7,
            probe_radius: 0.7,
        }
    }

    /// The tip.
    #[must_use]
    pub fn tip(&self) -> DVec3 {
        self.course.last().copied().unwrap_or(self.mouth)
    }
}

/// Where the cannula's mouth comes to rest: just inside the body, on the way through the pedicle's middle.
fn mouth_of(body: &Body, through: DVec3, outward: DVec3) -> DVec3 {
    let x = body.at(0.06, 0.0, 0.35).x;
    through + outward * ((x - through.x) / outward.x)
}

/// A quadratic curve that leaves the mouth straight on and ends at the tip.
fn curve(mouth: DVec3, onward: DVec3, tip: DVec3) -> Vec<DVec3> {
    let control = mouth + onward * (0.5 * mouth.distance(tip));
    let at = |t: f64| mouth * ((1.0 - t) * (1.0 - t)) + control * (2.0 * t * (1.0 - t)) + tip * (t * t);
    (0..=STEPS).map(|i| at(f64::from(i) / f64::from(STEPS))).collect()
}

/// The place this far back from the tip along the course, or straight back beyond its beginning.
fn along_from_tip(course: &[DVec3], back: f64) -> DVec3 {
    let mut left = back;
    let mut last = (DVec3::ZERO, DVec3::NEG_X);
    for pair in course.windows(2).rev() {
        let (from, to) = (pair[1], pair[0]);
        let length = from.distance(to);
        let direction = (to - from) / length;
        if left <= length {
            return from + direction * left;
        }
        left -= length;
        last = (to, direction);
    }
    last.0 + last.1 * left
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::Level;
    use crate::phantom::size::{Sample, Size};

    #[test]
    fn the_tip_is_where_it_was_put() {
        let body = Body::new(Size::typical(Level::L4, Sample::All));
        let place = TipPlace { depth: 0.4, height: 0.5, off_middle: -2.0 };
        for stage in Stage::ALL {
            let i = PlacedInstrument::placed(&body, stage, Side::Right, place);
            let expected = body.at(0.4, 0.0, 0.5);
            assert!(i.tip().distance(DVec3::new(expected.x, -2.0, expected.z)) < 1e-12);
            assert!(
                (i.outside.x < i.mouth.x) && i.outside.y < i.mouth.y,
                "it comes from behind, on the right"
            );
            assert_eq!(i.electrodes.is_some(), stage == Stage::Final);
        }
    }

    #[test]
    fn electrodes_lie_behind_the_tip() {
        let body = Body::new(Size::typical(Level::L4, Sample::All));
        let place = TipPlace { depth: 0.45, height: 0.5, off_middle: 0.0 };
        let i = PlacedInstrument::placed(&body, Stage::Final, Side::Right, place);
        let [proximal, distal] = i.electrodes.unwrap();
        assert!((distal.distance(i.tip()) - 2.0).abs() < 0.05);
        assert!(proximal.distance(i.tip()) < 8.0 && proximal.distance(i.tip()) > 7.0);
    }
}
