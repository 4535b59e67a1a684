//! How the shots of a drawn case are taken and what their pictures look like, where that is asked for; the rest is
//! drawn.

use glam::DVec2;

use crate::geom::point::Point;
use crate::measure::mark::{Stage, View};
use crate::phantom::anatomy::tool::CannulaTool;
use crate::phantom::beam::Pose;
use crate::phantom::draw::Draw;
use crate::phantom::imaging::greys::Setting;
use crate::phantom::picture::{Aperture, Bits, Technique};

/// What is asked for. Angles in degrees, lengths in millimetres; `None` is drawn from the seed.
#[derive(Clone, Debug, PartialEq)]
pub struct Look {
    /// Pixels a side.
    pub side_px: u32,
    /// Whether the field is the whole square instead of a disc.
    pub square: bool,
    /// Bits of a sample.
    pub bits: Bits,
    /// Whether words are burned in.
    pub words: bool,
    /// Tube voltage in kV.
    pub kv: Option<f64>,
    /// Dose, 1 for an ordinary still.
    pub dose: Option<f64>,
    /// The screen's setting.
    pub setting: Option<Setting>,
    /// What stands out of the cannula at the stages stylet and final.
    pub tool: Option<CannulaTool>,
    /// Turn of the ray through the body's middle.
    pub turn_deg: Option<f64>,
    /// Tilt of that ray.
    pub tilt_deg: Option<f64>,
    /// Turn of the picture.
    pub roll_deg: Option<f64>,
    /// How far right of and below the beam's axis the body's middle lies.
    pub off_axis: Option<[f64; 2]>,
    /// Source to body.
    pub source_to_body: Option<f64>,
    /// Source to detector.
    pub source_to_detector: Option<f64>,
    /// Size of a pixel in the plane of the body.
    pub mm_per_px: Option<f64>,
    /// Whether pictures are mirrored.
    pub mirrored: bool,
}

/// Pixels a side of a simulated picture, unless another number is asked for.
pub const SIDE: u32 = 768;
/// What a picture shows in the plane of the body, unless another scale is asked for, in millimetres.
const SHOWN_MM: f64 = 0.22 * SIDE as f64;

impl Default for Look {
    fn default() -> Self {
        Self {
            side_px: SIDE,
            square: false,
            bits: Bits::Sixteen,
            words: true,
            kv: None,
            dose: None,
            setting: None,
            tool: None,
            turn_deg: None,
            tilt_deg: None,
            roll_deg: None,
            off_axis: None,
            source_to_body: None,
            source_to_detector: None,
            mm_per_px: None,
            mirrored: false,
        }
    }
}

impl Look {
    /// A drawn pose made fit for looking at: little roll, the body near the middle, one scale; and what is asked for
    /// as it is asked for.
    #[must_use]
    pub fn pose(&self, drawn: Pose) -> Pose {
        let side = f64::from(self.side_px);
        let source_to_body = self.source_to_body.unwrap_or(drawn.source_to_body);
        // A detector that would stand in front of the body moves back with it.
        let beyond = drawn.source_to_detector - drawn.source_to_body;
        Pose {
            turn_deg: self.turn_deg.unwrap_or(drawn.turn_deg),
            tilt_deg: self.tilt_deg.unwrap_or(drawn.tilt_deg),
            roll_deg: self.roll_deg.unwrap_or(drawn.roll_deg / 5.0),
            off_axis: self.off_axis.map_or(drawn.off_axis * 0.5, DVec2::from_array),
            source_to_body,
            source_to_detector: self.source_to_detector.unwrap_or(source_to_body + beyond),
            mm_per_px: self.mm_per_px.unwrap_or(SHOWN_MM / side),
            centre: Point::new(0.5 * side, 0.5 * side),
            mirrored: self.mirrored,
            ..drawn
        }
    }

    /// How a shot of this pose is made; `seed` is its own.
    #[must_use]
    pub fn technique(&self, pose: &Pose, title: &str, seed: u64) -> Technique {
        let mut draw = Draw::new(seed);
        let usual = if pose.view == View::Lateral { 90.0 } else { 78.0 };
        let (kv, dose) =
            (draw.between(usual - 5.0, usual + 5.0).round(), libm::exp2(draw.between(-1.0, 1.0)));
        let setting = draw.one_of(&Setting::ALL);
        let (kv, dose) = (self.kv.unwrap_or(kv), self.dose.unwrap_or(dose));
        let words = if self.words { words(title, kv) } else { Vec::new() };
        Technique {
            side: self.side_px,
            aperture: if self.square { Aperture::Square } else { disc(pose, self.side_px) },
            kv,
            dose,
            setting: self.setting.unwrap_or(setting),
            bits: self.bits,
            words,
            seed,
        }
    }

    /// What stands out of the cannula at a stage.
    #[must_use]
    pub fn tool(&self, stage: Stage) -> CannulaTool {
        match (CannulaTool::of(stage), self.tool) {
            (CannulaTool::Trocar, _) | (_, None) => CannulaTool::of(stage),
            (_, Some(tool)) => tool,
        }
    }
}

/// The round field of a picture that is not cropped.
#[must_use]
pub fn disc(pose: &Pose, side_px: u32) -> Aperture {
    Aperture::Round { centre: pose.centre, radius: 0.5 * f64::from(side_px) - 6.0 }
}

/// The words a machine might burn in; all invented.
#[must_use]
pub fn words(title: &str, kv: f64) -> Vec<String> {
    vec!["SIMULATED".to_owned(), title.to_uppercase(), format!("{kv:.0} KV")]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_asked_for_is_taken_and_the_rest_is_drawn() {
        let drawn = Pose::true_view(View::Ap, 0.3, 1024.0);
        let look = Look { turn_deg: Some(5.0), side_px: 512, dose: Some(0.25), ..Look::default() };
        let pose = look.pose(drawn.clone());
        assert!((pose.turn_deg - 5.0).abs() < 1e-12 && (pose.source_to_body - 700.0).abs() < 1e-12);
        assert!((pose.mm_per_px - 0.33).abs() < 1e-12 && (pose.centre.x - 256.0).abs() < 1e-12);
        let technique = look.technique(&pose, "Simulated 3", 8);
        assert!((technique.dose - 0.25).abs() < 1e-12 && technique.side == 512);
        assert_eq!(technique, look.technique(&pose, "Simulated 3", 8));
        assert_eq!(technique.words[1], "SIMULATED 3");
    }

    #[test]
    fn a_detector_stays_behind_the_body() {
        let look = Look { source_to_body: Some(1200.0), ..Look::default() };
        let pose = look.pose(Pose::true_view(View::Ap, 0.3, 1024.0));
        assert!(pose.source_to_detector > 1200.0);
    }

    /// The docking, the pedicle and the wall are reached with the sharp trocar, whatever is asked for later.
    #[test]
    fn the_tool_suits_the_stage() {
        let look = Look { tool: Some(CannulaTool::RadiolucentStylet), ..Look::default() };
        assert_eq!(look.tool(Stage::Pedicle), CannulaTool::Trocar);
        assert_eq!(look.tool(Stage::Stylet), CannulaTool::RadiolucentStylet);
        assert_eq!(Look::default().tool(Stage::Final), CannulaTool::Probe);
    }
}
