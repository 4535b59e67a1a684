//! Drawings that explain the method, for the manual. They are made with the method itself: every line is a line
//! of a body map, every number and verdict on them is computed.
//!
//! Reading order: [`board`], [`typical`], [`clicking`], [`coordinates`], [`certainty`], [`anatomy`], then [`front`],
//! [`docking`], [`pairs`] and [`turned`] for the other views.

pub mod anatomy;
pub mod board;
pub mod certainty;
pub mod clicking;
pub mod coordinates;
pub mod docking;
pub mod front;
pub mod pairs;
pub mod turned;
pub mod typical;

use crate::scene::drawing::shape::Scene;

/// Every drawing of the manual with its name.
#[must_use]
pub fn all() -> Vec<(&'static str, Scene)> {
    vec![
        ("where-to-click", clicking::where_to_click()),
        ("second-contours", clicking::second_contours()),
        ("depth-and-height", coordinates::depth_and_height()),
        ("curved-borders", coordinates::curved_borders()),
        ("not-projective", coordinates::not_projective()),
        ("three-parts", certainty::three_parts()),
        ("verdicts", certainty::verdicts()),
        ("posterior-wall", anatomy::posterior_wall()),
        ("ap-where-to-click", front::where_to_click()),
        ("ap-midlines", front::midlines()),
        ("ap-lever", front::lever()),
        ("down-the-pedicle", docking::down_the_pedicle()),
        ("pair", pairs::three_sides()),
        ("safe-passage", pairs::safe_passage()),
        ("turned-view", turned::turned_view()),
    ]
}
