//! Shots drawn at random for a stage of the procedure.

use glam::DVec2;

use crate::geom::point::{Point, Vec2};
use crate::measure::mark::{Level, MarkKind, Marks, Material, Side, Stage, View};
use crate::phantom::beam::{Beam, Pose, sign};
use crate::phantom::body::Body;
use crate::phantom::contour::Contour;
use crate::phantom::draw::Draw;
use crate::phantom::instrument::{PlacedInstrument, TipPlace};
use crate::phantom::marks::{self, Reader, Showing};
use crate::phantom::size::{LUMBAR, Size};
use crate::phantom::truth::{self, TruePosition};

/// A body with an instrument in it.
#[derive(Clone, Debug)]
pub struct Subject {
    /// The level.
    pub level: Level,
    /// Entry side.
    pub side: Side,
    /// Stage of the procedure.
    pub stage: Stage,
    /// The body.
    pub body: Body,
    /// The instrument.
    pub instrument: PlacedInstrument,
}

/// Turn and tilt of the ray through the body's middle, in degrees.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ray {
    /// About the patient's long axis.
    pub turn_deg: f64,
    /// Out of the horizontal plane.
    pub tilt_deg: f64,
}

impl Subject {
    /// A body of any lumbar level and either side, its tip where the stage implies.
    #[must_use]
    pub fn drawn(stage: Stage, draw: &mut Draw) -> Self {
        let level = draw.one_of(&LUMBAR);
        let side = draw.one_of(&Side::ALL);
        let body = Body::new(Size::drawn(level, draw));
        let instrument = PlacedInstrument::placed(&body, stage, side, drawn_tip(stage, side, draw));
        Self { level, side, stage, body, instrument }
    }

    /// The true position of its tip.
    #[must_use]
    pub fn truth(&self) -> TruePosition {
        truth::position(&self.body, self.side, self.instrument.tip())
    }

    /// The marks of a reader without error; down the pedicle only the instrument's tip is marked.
    #[must_use]
    pub fn marks(&self, view: View, beam: &Beam, reader: &Reader) -> Marks {
        match view {
            View::Lateral => self.lateral_marks(beam, reader),
            View::Ap => self.ap_marks(beam, reader),
            View::Pedicle => {
                let mut marks = marks::pedicle(&self.body, beam, self.side);
                marks.set(MarkKind::Tip, vec![Some(beam.project(self.instrument.tip()))]);
                marks
            }
        }
    }

    /// The marks of a reader without error in a lateral view.
    #[must_use]
    pub fn lateral_marks(&self, beam: &Beam, reader: &Reader) -> Marks {
        let mut marks = marks::lateral(&self.body, beam, reader);
        marks::add_instrument(&mut marks, beam, &self.instrument);
        marks
    }

    /// The same in an AP view.
    #[must_use]
    pub fn ap_marks(&self, beam: &Beam, reader: &Reader) -> Marks {
        let mut marks = marks::ap(&self.body, beam, reader);
        marks::add_instrument(&mut marks, beam, &self.instrument);
        marks
    }
}

/// Where the tip is at a stage, drawn. Its distance off the middle plane has the root mean square the method takes for
/// the stage (3, 6, 10, 14, 14 mm), on the entry side until the last stage; the depths are the method's typical
/// ones. The spreads and the heights are plausible, no source.
#[must_use]
pub fn drawn_tip(stage: Stage, side: Side, draw: &mut Draw) -> TipPlace {
    let (depth, height, off) = match stage {
        Stage::Docking => ((-0.50, 0.08), (0.30, 0.08), (13.8, 2.4)),
        Stage::Pedicle => ((-0.25, 0.08), (0.32, 0.07), (13.8, 2.4)),
        Stage::PosteriorWall => ((0.05, 0.05), (0.38, 0.07), (9.7, 2.4)),
        Stage::Stylet => ((0.30, 0.08), (0.45, 0.08), (5.5, 2.4)),
        Stage::Final => ((0.40, 0.08), (0.50, 0.07), (0.0, 3.0)),
    };
    let near = |draw: &mut Draw, (mean, sd): (f64, f64)| draw.normal_within(mean, sd, 2.5);
    TipPlace {
        depth: near(draw, depth),
        height: near(draw, height),
        off_middle: sign(side) * near(draw, off),
    }
}

/// A turn and a tilt, each uniform within ± `half_width_deg`.
#[must_use]
pub fn drawn_ray(half_width_deg: f64, draw: &mut Draw) -> Ray {
    Ray {
        turn_deg: draw.between(-half_width_deg, half_width_deg),
        tilt_deg: draw.between(-half_width_deg, half_width_deg),
    }
}

/// A pose whose ray through the body's middle is this one: the body lies up to 25 mm beside the beam's axis
/// (about 2° of decentring), and the pose makes up the rest. Source to body 650–750 mm, any roll to 15°, either
/// side, mirrored or not (common practice, no source).
#[must_use]
pub fn drawn_pose(view: View, side: Side, ray: Ray, draw: &mut Draw) -> Pose {
    let mut pose = Pose::true_view(view, draw.between(0.2, 0.4), 1024.0);
    pose.side = if view == View::Lateral { draw.one_of(&Side::ALL) } else { side };
    pose.source_in_front = draw.coin();
    pose.source_to_body = draw.between(650.0, 750.0);
    pose.source_to_detector = pose.source_to_body + draw.between(250.0, 350.0);
    (pose.turn_deg, pose.tilt_deg) = (ray.turn_deg, ray.tilt_deg);
    pose.roll_deg = draw.between(-15.0, 15.0);
    pose.off_axis = DVec2::new(draw.between(-25.0, 25.0), draw.between(-25.0, 25.0));
    pose.mirrored = draw.coin();
    pose
}

/// A reader who takes each border's near or far contour at random, with two or three interior points on each
/// end plate and one or two on each wall, spaced about evenly.
#[must_use]
pub fn drawn_reader(showing: Showing, draw: &mut Draw) -> Reader {
    let contour = |draw: &mut Draw| if draw.coin() { Contour::Near } else { Contour::Far };
    Reader {
        superior: contour(draw),
        inferior: contour(draw),
        posterior: contour(draw),
        showing,
        superior_at: spaced(&[2, 3], draw),
        inferior_at: spaced(&[2, 3], draw),
        start_at: spaced(&[1, 2], draw),
        end_at: spaced(&[1, 2], draw),
    }
}

fn spaced(numbers: &[u8], draw: &mut Draw) -> Vec<f64> {
    let n = draw.one_of(numbers);
    let step = 1.0 / (f64::from(n) + 1.0);
    (1..=n).map(|i| step * (f64::from(i) + draw.between(-0.15, 0.15))).collect()
}

/// The same marks placed with error: each coordinate of each point off by a normal draw of the standard
/// deviation of its material, in millimetres.
#[must_use]
pub fn placed_with_error(
    marks: &Marks,
    bone_mm: f64,
    metal_mm: f64,
    mm_per_px: f64,
    draw: &mut Draw,
) -> Marks {
    let mut placed = Marks::new();
    for kind in marks.kinds() {
        let sd = match kind.material() {
            Material::Bone => bone_mm / mm_per_px,
            Material::Metal => metal_mm / mm_per_px,
        };
        let off = |p: Point, draw: &mut Draw| p + Vec2::new(draw.normal(0.0, sd), draw.normal(0.0, sd));
        placed.set(kind, marks.slots(kind).iter().map(|slot| slot.map(|p| off(p, draw))).collect());
    }
    placed
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Root mean square of the tip's distance off the middle plane: the method's t by stage.
    #[test]
    fn tips_lie_off_the_middle_as_the_method_takes() {
        for (stage, t) in Stage::ALL.into_iter().zip([14.0, 14.0, 10.0, 6.0, 3.0]) {
            let mut draw = Draw::new(5);
            let n = 2000;
            let squares: f64 =
                (0..n).map(|_| Subject::drawn(stage, &mut draw).truth().off_middle_mm.powi(2)).sum();
            let rms = (squares / f64::from(n)).sqrt();
            assert!((rms / t - 1.0).abs() < 0.06, "{stage:?}: {rms}");
        }
    }

    #[test]
    fn a_seed_gives_the_same_shot() {
        let shot = |seed| {
            let mut draw = Draw::new(seed);
            let subject = Subject::drawn(Stage::Final, &mut draw);
            let ray = drawn_ray(1.4, &mut draw);
            let pose = drawn_pose(View::Lateral, subject.side, ray, &mut draw);
            let reader = drawn_reader(Showing::One, &mut draw);
            let marks = subject.lateral_marks(&pose.beam(glam::DVec3::NEG_X), &reader);
            placed_with_error(&marks, 0.5, 0.25, pose.mm_per_px, &mut draw)
        };
        assert_eq!(shot(11), shot(11));
        assert_ne!(shot(11), shot(12));
    }
}
