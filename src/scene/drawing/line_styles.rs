//! Lines: how wide, in which pattern and with which edge each role is drawn, on a picture and in a drawing. Figures draw the
//! same lines; a page's scale makes them thinner or thicker with everything else.
//!
//! **Lines on pictures** have a dark core and a light edge that carries the hue. A two-tone line is seen where
//! either tone stands out from the ground. The grey that hides it best lies between the two, where each has the
//! square root of their contrast; so a line keeps the ratio 3 that WCAG asks of graphics on *every* grey exactly
//! when core and edge differ by 9 or more. White (21), yellow (15.9), orange (9.3) and sky blue (9.1) do against
//! black, the other hues do not, and are not used there.

use crate::scene::drawing::shape::Role;
use crate::scene::drawing::theme::{BLACK, Colour, ORANGE, SKY_BLUE, Theme, WHITE, YELLOW};

/// How a line is drawn: first the edge, if it has one, then the core on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// Width of the core in points.
    pub width: f64,
    /// Colour of the core.
    pub colour: Colour,
    /// The edge: how far it reaches beyond the core on either side, in points, and its colour.
    pub edge: Option<(f64, Colour)>,
    /// Lengths of dashes and gaps in points; empty for an unbroken line.
    pub dash: &'static [f64],
}

impl Theme {
    /// How a line of this role is drawn on a picture: readable on every grey, the same in both modes.
    #[must_use]
    pub const fn picture_stroke(role: Role) -> Stroke {
        const DASHED: &[f64] = &[7.0, 4.0];
        const SHORT: &[f64] = &[4.0, 4.0];
        const DOTTED: &[f64] = &[1.5, 4.5];
        const LOOSE: &[f64] = &[9.0, 6.0];
        const DASH_DOT: &[f64] = &[9.0, 3.5, 1.5, 3.5];
        const DASH_DOT_DOT: &[f64] = &[11.0, 3.0, 1.5, 3.0, 1.5, 3.0];
        let (width, hue, dash): (f64, Colour, &'static [f64]) = match role {
            Role::Border => (1.0, WHITE, &[]),
            Role::SecondContour => (1.0, WHITE, DASHED),
            Role::MeanBorder => (1.4, WHITE, &[]),
            Role::DepthBand => (1.2, SKY_BLUE, &[]),
            Role::HeightBand => (1.2, ORANGE, DASHED),
            Role::MidHeight => (1.0, ORANGE, DASH_DOT),
            Role::MidlineBand => (1.2, SKY_BLUE, DASHED),
            Role::Midline => (1.4, SKY_BLUE, DASH_DOT),
            Role::OtherMidline => (1.0, SKY_BLUE, DOTTED),
            Role::SpinousProcess => (1.0, WHITE, SHORT),
            Role::DockingTarget => (1.2, SKY_BLUE, &[]),
            Role::Thirds | Role::Quadrants => (1.0, WHITE, DOTTED),
            Role::Tip | Role::TipRegion | Role::ChosenHandle | Role::Accent => (1.2, YELLOW, &[]),
            Role::Electrode => (1.2, YELLOW, SHORT),
            Role::Cannula => (1.0, WHITE, DASH_DOT),
            Role::Label => (1.4, ORANGE, &[]),
            Role::Preview => (0.8, YELLOW, SHORT),
            Role::Draft => (0.8, WHITE, LOOSE),
            Role::Proposed => (1.0, WHITE, DASH_DOT_DOT),
            Role::ProposedFaint => (0.5, WHITE, DASH_DOT_DOT),
            _ => (1.0, WHITE, &[]),
        };
        Stroke { width, colour: BLACK, edge: Some((0.9, hue)), dash }
    }

    /// How a line of this role is drawn in a drawing, on the panel.
    #[must_use]
    pub const fn stroke(&self, role: Role) -> Stroke {
        let (width, dash): (f64, &'static [f64]) = match role {
            Role::Border | Role::Outline | Role::Pedicle => (1.5, &[]),
            Role::SecondContour => (1.2, &[5.0, 3.0]),
            Role::MeanBorder => (1.8, &[]),
            Role::DepthBand => (1.4, &[]),
            Role::HeightBand => (1.4, &[6.0, 3.0]),
            Role::MidHeight => (1.2, &[7.0, 3.0, 1.5, 3.0]),
            Role::MidlineBand => (1.4, &[6.0, 3.0]),
            Role::Midline => (1.2, &[7.0, 3.0, 1.5, 3.0]),
            Role::SpinousProcess => (1.2, &[3.0, 3.0]),
            Role::DockingTarget => (1.4, &[]),
            Role::Thirds | Role::Quadrants | Role::OtherMidline => (1.2, &[1.5, 3.5]),
            Role::Tip | Role::TipRegion => (1.4, &[]),
            Role::Electrode => (1.4, &[3.0, 3.0]),
            Role::Cannula => (3.0, &[]),
            Role::Preview => (1.2, &[4.0, 4.0]),
            Role::Draft => (1.2, &[8.0, 5.0]),
            Role::Proposed => (1.4, &[9.0, 3.0, 1.5, 3.0, 1.5, 3.0]),
            Role::ProposedFaint => (0.8, &[9.0, 3.0, 1.5, 3.0, 1.5, 3.0]),
            Role::Inside | Role::Outside | Role::Undecided | Role::Accent | Role::FirstCurve => (2.0, &[]),
            Role::SecondCurve => (1.8, &[7.0, 3.0]),
            Role::ThirdCurve => (1.6, &[1.6, 2.6]),
            Role::Limit => (1.2, &[9.0, 3.0, 1.5, 3.0]),
            Role::Grid => (0.5, &[]),
            _ => (1.0, &[]),
        };
        Stroke { width, colour: self.ink(role), edge: None, dash }
    }
}
