//! Shots for practising: one at a time, of a chosen difficulty.

use crate::measure::mark::{Stage, View};
use crate::phantom::draw::Draw;
use crate::phantom::imaging::greys::Setting;
use crate::phantom::look::Look;
use crate::phantom::series::{Series, WantedShots, drawn};

/// How hard a shot is to mark.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Difficulty {
    /// Much dose, a true view, no words over the picture.
    Clear,
    /// As saved stills are: the usual dose, the ray turned less than shows.
    #[default]
    Ordinary,
    /// Little dose, a view turned by up to 4° so that borders may show twice, words burned in.
    Hard,
}

/// The largest turn and tilt of a hard shot, in degrees.
const HARD_DEG: f64 = 4.0;

impl Difficulty {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Clear, Self::Ordinary, Self::Hard];

    /// The name it is asked for by.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Clear => "clear",
            Self::Ordinary => "ordinary",
            Self::Hard => "hard",
        }
    }
}

/// A series of one shot in this view; the stage (cannula at the posterior wall, stylet, final) and all else follow from
/// the seed.
#[must_use]
pub fn exercise(seed: u64, view: View, difficulty: Difficulty, side_px: u32) -> Series {
    // A stream of its own: what the shot shows does not depend on how hard it is to see.
    let mut draw = Draw::new(seed ^ 0x7072_6163_7469_7365);
    let stage = match view {
        View::Pedicle => Stage::Docking,
        View::Lateral | View::Ap => draw.one_of(&[Stage::PosteriorWall, Stage::Stylet, Stage::Final]),
    };
    let (turn, tilt) = (draw.between(-HARD_DEG, HARD_DEG), draw.between(-HARD_DEG, HARD_DEG));
    let mirrored = draw.coin();
    let usual = Look { side_px, words: false, mirrored, ..Look::default() };
    let look = match difficulty {
        Difficulty::Clear => Look { dose: Some(3.0), turn_deg: Some(0.0), tilt_deg: Some(0.0), ..usual },
        Difficulty::Ordinary => usual,
        Difficulty::Hard => Look {
            dose: Some(0.3),
            turn_deg: Some(turn),
            tilt_deg: Some(tilt),
            setting: Some(Setting::Bright),
            words: true,
            ..usual
        },
    };
    drawn(seed, WantedShots { view: Some(view), stage: Some(stage), ..WantedShots::default() }, &look)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_is_one_shot_and_it_shows_the_same_however_hard_it_is() {
        for view in View::ALL {
            let tips: Vec<_> = Difficulty::ALL
                .map(|difficulty| {
                    let series = exercise(3, view, difficulty, 256);
                    assert_eq!((series.shots.len(), series.shots[0].pose.view), (1, view));
                    series.shots[0].truth
                })
                .to_vec();
            assert!(tips.iter().all(|tip| *tip == tips[0]));
        }
        let hard = &exercise(3, View::Lateral, Difficulty::Hard, 256).shots[0];
        assert!(hard.pose.turn_deg.abs() <= HARD_DEG && hard.pose.turn_deg != 0.0);
    }
}
