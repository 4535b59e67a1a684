//! Reading a shot down the pedicle: the docking point in the pedicle's own frame (method, section 3).

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use crate::geom::point::{Point, Vec2};
use crate::measure::gradient::Gradient;
use crate::measure::issue::{Issue, IssueCode};
use crate::measure::mark::{MarkKind, MarkRef, Marks, Stage};
use crate::measure::marked::missing;
use crate::measure::quantity::Quantity;
use crate::measure::reading::{PedicleReading, Quadrant, ShotInput};
use crate::measure::simulate;
use crate::measure::true_view::choice::Basis;
use crate::measure::typical::TYPICAL_PEDICLE_HEIGHT_MM;
use crate::measure::verdict::{CONFIDENCE, Nominal, State, Verdict, VerdictRule};

/// Draws for the docking probability, and their seed: the same marks give the same verdict.
const DRAWS: u32 = 4096;
const SEED: u64 = 4096;

/// The frame of a pedicle seen on face: from its centre to its lateral and to its superior border.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PedicleFrame {
    /// Mean of the four extreme points.
    pub centre: Point,
    /// Half the way from the medial to the lateral border.
    pub lateral: Vec2,
    /// Half the way from the inferior to the superior border.
    pub superior: Vec2,
}

impl PedicleFrame {
    /// The frame of the four extreme points in the order superior, inferior, medial, lateral; `None` where
    /// they lie on one line.
    #[must_use]
    pub fn new([superior, inferior, medial, lateral]: [Point; 4]) -> Option<Self> {
        let centre = superior.midpoint(inferior).midpoint(medial.midpoint(lateral));
        let frame = Self { centre, lateral: (lateral - medial) / 2.0, superior: (superior - inferior) / 2.0 };
        let area = frame.lateral.cross(frame.superior).abs();
        let size = frame.lateral.length() * frame.superior.length();
        (size.is_finite() && area > 1e-3 * size).then_some(frame)
    }

    /// The frame of a shot's marks, if its pedicle is marked.
    #[must_use]
    pub fn of(marks: &Marks) -> Option<Self> {
        Self::new(marks.complete(MarkKind::Pedicle)?.try_into().ok()?)
    }

    /// The image place at these offsets.
    #[must_use]
    pub fn to_image(self, lateral: f64, superior: f64) -> Point {
        self.centre + self.lateral * lateral + self.superior * superior
    }

    /// Offsets of an image place: toward the lateral and toward the superior border.
    #[must_use]
    pub fn offsets(self, p: Point) -> (f64, f64) {
        let d = p - self.centre;
        let det = self.lateral.cross(self.superior);
        (d.cross(self.superior) / det, self.lateral.cross(d) / det)
    }

    /// Clock hour of offsets as seen in the picture, over 0 up to 12.
    #[must_use]
    pub fn clock_hour(self, (x, y): (f64, f64)) -> f64 {
        let right = if self.lateral.x >= 0.0 { x } else { -x };
        let hour = (right.atan2(y).to_degrees() / 30.0).rem_euclid(12.0);
        if hour == 0.0 { 12.0 } else { hour }
    }
}

/// Reads a shot down the pedicle.
///
/// Never panics on any marks; what stands in the way is among the issues.
#[must_use]
pub fn read_pedicle(input: &ShotInput<'_>) -> PedicleReading {
    let mut reading = read(input, input.marks);
    reading.mark_sds = input.placing().each();
    if let Some((scale, _)) = reading.scale {
        // Only docking has this target; other stages and shots without one are read without a verdict.
        reading.verdicts = reading
            .lateral_offset
            .as_ref()
            .zip(reading.superior_offset.as_ref())
            .filter(|_| input.stage == Some(Stage::Docking))
            .map(|(x, y)| vec![docking(input, scale, (x.value, y.value))])
            .unwrap_or_default();
        if let Some(run) = input.monte_carlo {
            let placement = input.placing().at(scale);
            simulate::run(run, input.marks, &placement, &mut reading, |marks| read(input, marks));
        }
    }
    reading
}

fn read(input: &ShotInput<'_>, marks: &Marks) -> PedicleReading {
    let mut reading = PedicleReading::default();
    if let Some(issue) = missing(marks, &[MarkKind::Pedicle, MarkKind::Tip]) {
        reading.issues.push(issue);
        return reading;
    }
    let Some((outline, tip)) = outline_and_tip(marks) else { return reading };
    let Some(frame) = PedicleFrame::new(outline) else {
        reading.issues.push(Issue::new(
            IssueCode::FoldedBody,
            "The four pedicle points lie on one line or on top of each other; place them at its superior, inferior, medial and lateral extremes.",
        ));
        return reading;
    };
    let height = 2.0 * frame.superior.length();
    let calibrated = input.mm_per_px.filter(|s| s.is_finite() && *s > 0.0);
    let scale = calibrated.unwrap_or(TYPICAL_PEDICLE_HEIGHT_MM / height);
    let sd = input.placing().at(scale);
    let (x, y) = frame.offsets(tip);
    let (gx, gy) = gradients(outline, tip, 1e-5 * height);
    let r = x.hypot(y);
    let gr =
        if r > 0.0 { gx.scaled(x / r).plus(y / r, &gy) } else { gx.plus(1.0, &gy).scaled(0.5_f64.sqrt()) };
    reading.scale = Some((scale, calibrated.is_none()));
    reading.lateral_offset = Some(gx.quantity(x, &sd, 0.0));
    reading.superior_offset = Some(gy.quantity(y, &sd, 0.0));
    reading.covariance = gx.covariance(&gy, &sd);
    reading.radius = Some(gr.quantity(r, &sd, 0.0));
    reading.clock_hour = Some(frame.clock_hour((x, y)));
    reading.quadrant = Some(match (x > 0.0, y > 0.0) {
        (true, true) => Quadrant::SuperiorLateral,
        (false, true) => Quadrant::SuperiorMedial,
        (true, false) => Quadrant::InferiorLateral,
        (false, false) => Quadrant::InferiorMedial,
    });
    reading
}

fn outline_and_tip(marks: &Marks) -> Option<([Point; 4], Point)> {
    let outline = marks.complete(MarkKind::Pedicle)?.try_into().ok()?;
    let tip = *marks.complete(MarkKind::Tip)?.first()?;
    Some((outline, tip))
}

/// Gradients of both offsets by all five marks, by central differences.
fn gradients(outline: [Point; 4], tip: Point, step: f64) -> (Gradient, Gradient) {
    let (mut gx, mut gy) = (Gradient::default(), Gradient::default());
    let offsets = |points: [Point; 5]| {
        let [a, b, c, d, tip] = points;
        PedicleFrame::new([a, b, c, d]).map(|frame| frame.offsets(tip))
    };
    let [a, b, c, d] = outline;
    let points = [a, b, c, d, tip];
    for index in 0..5 {
        let mark = if index < 4 {
            MarkRef { kind: MarkKind::Pedicle, index }
        } else {
            MarkRef { kind: MarkKind::Tip, index: 0 }
        };
        let slope = |direction: Vec2| {
            let moved = |sign: f64| {
                let mut moved = points;
                moved[index] += direction * (sign * step);
                offsets(moved)
            };
            let ((x1, y1), (x0, y0)) = (moved(1.0)?, moved(-1.0)?);
            Some(((x1 - x0) / (2.0 * step), (y1 - y0) / (2.0 * step)))
        };
        let (dx, dy) = (slope(Vec2::new(1.0, 0.0)), slope(Vec2::new(0.0, 1.0)));
        if let (Some((xx, yx)), Some((xy, yy))) = (dx, dy) {
            gx.push_new(mark, Vec2::new(xx, xy));
            gy.push_new(mark, Vec2::new(yx, yy));
        }
    }
    (gx, gy)
}

/// Superior-lateral quadrant, on the outline or inside it (common practice, no source).
fn in_target((x, y): (f64, f64)) -> bool {
    x > 0.0 && y > 0.0 && x.hypot(y) <= 1.0
}

fn docking(input: &ShotInput<'_>, scale: f64, (x, y): (f64, f64)) -> Verdict {
    let placement = input.placing().at(scale);
    let mut random = ChaCha8Rng::seed_from_u64(SEED);
    let placed: Vec<(MarkRef, Point)> = input.marks.placed().collect();
    let inside: u32 = (0..DRAWS)
        .map(|_| {
            let (mut outline, mut tip) = ([Point::default(); 4], Point::default());
            // Every mark is drawn, used or not, so that a seed means the same for whatever is read.
            for &(at, p) in &placed {
                let p = placement.jitter(at, p, &mut random);
                match at.kind {
                    MarkKind::Pedicle => outline[at.index.min(3)] = p,
                    MarkKind::Tip => tip = p,
                    _ => {}
                }
            }
            let hit = PedicleFrame::new(outline).is_some_and(|frame| in_target(frame.offsets(tip)));
            u32::from(hit)
        })
        .sum();
    let p_inside = f64::from(inside) / f64::from(DRAWS);
    let nominal = if in_target((x, y)) {
        Nominal::Inside
    } else if x <= 0.0 {
        Nominal::Past
    } else if y <= 0.0 {
        Nominal::Inferior
    } else {
        Nominal::High
    };
    let state = if p_inside >= CONFIDENCE {
        State::Inside
    } else if p_inside <= 1.0 - CONFIDENCE {
        State::Outside
    } else {
        State::Undecided
    };
    Verdict {
        rule: VerdictRule::Docking,
        band: None,
        nominal,
        state,
        p_inside,
        basis: Basis::Direct,
        q: None,
    }
}

impl simulate::Quantities for PedicleReading {
    fn quantities(&mut self) -> Vec<&mut Quantity> {
        [&mut self.lateral_offset, &mut self.superior_offset, &mut self.radius]
            .into_iter()
            .filter_map(Option::as_mut)
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::View;
    use crate::measure::reading::Lent;
    use crate::measure::settings::Settings;
    use crate::measure::true_view::known::Known;

    fn read_at(tip: (f64, f64), mirrored: bool) -> PedicleReading {
        let side = if mirrored { -1.0 } else { 1.0 };
        let at = |x: f64, y: f64| (100.0 + side * x, 100.0 + y);
        let marks = Marks::new()
            .with(MarkKind::Pedicle, &[at(0.0, -30.0), at(0.0, 30.0), at(-20.0, 0.0), at(20.0, 0.0)])
            .with(MarkKind::Tip, &[at(tip.0, tip.1)]);
        let settings = Settings::default();
        read_pedicle(&ShotInput {
            view: View::Pedicle,
            marks: &marks,
            side: None,
            stage: Some(Stage::Docking),
            patient_right: None,
            mm_per_px: None,
            mm_per_px_sd: None,
            frame: None,
            settings: &settings,
            known: Known::default(),
            mark_errors: None,
            lent: Lent::default(),
            monte_carlo: None,
        })
    }

    /// By hand: half axes 20 and 30 px; a tip 10 px lateral and 15 px superior has x = y = 0.5, r = √½,
    /// θ = atan2(0.5, 0.5) = 45°, half past one where lateral is to the right, half past ten where it is left.
    #[test]
    fn offsets_radius_and_hour_by_hand() {
        for (mirrored, hour) in [(false, 1.5), (true, 10.5)] {
            let reading = read_at((10.0, -15.0), mirrored);
            let value = |q: Option<Quantity>| q.unwrap().value;
            assert!((value(reading.lateral_offset) - 0.5).abs() < 1e-12);
            assert!((value(reading.superior_offset) - 0.5).abs() < 1e-12);
            assert!((value(reading.radius) - 0.5_f64.sqrt()).abs() < 1e-12);
            assert!((reading.clock_hour.unwrap() - hour).abs() < 1e-12);
            assert_eq!(reading.quadrant, Some(Quadrant::SuperiorLateral));
            assert_eq!(reading.verdicts[0].nominal, Nominal::Inside);
        }
    }

    /// By hand: 60 px are 15 mm, so 0.25 mm of metal is 1 px; a tip x = d/20 answers to itself with 1/20 = 0.05.
    #[test]
    fn the_metal_part_by_hand() {
        let reading = read_at((0.0, 0.0), false);
        assert!((reading.lateral_offset.unwrap().budget.metal - 0.05).abs() < 1e-9);
        assert_eq!(reading.scale.map(|(_, assumed)| assumed), Some(true));
    }

    #[test]
    fn twelve_is_written_twelve() {
        assert!((read_at((0.0, -10.0), false).clock_hour.unwrap() - 12.0).abs() < 1e-12);
        assert!((read_at((0.0, 10.0), false).clock_hour.unwrap() - 6.0).abs() < 1e-12);
    }

    #[test]
    fn medial_docking_is_outside() {
        let verdict = read_at((-15.0, -10.0), false).verdicts[0];
        assert_eq!((verdict.nominal, verdict.state), (Nominal::Past, State::Outside));
    }
}
