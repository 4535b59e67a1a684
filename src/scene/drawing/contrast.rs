//! The pairs of colors in which the window's words and edges are shown, each with the contrast that it must reach.

use crate::scene::drawing::theme::{Colour, Theme};

/// Opacity of what is not available: still readable against the panel.
pub const DISABLED_OPACITY: f64 = 0.72;

/// One pair.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ColorPair {
    /// Where it is used.
    pub what: &'static str,
    /// Color of words, lines or edges.
    pub ink: Colour,
    /// Color behind.
    pub ground: Colour,
    /// The contrast that WCAG 2.2 asks for at level AA: 4.5 for words (1.4.3), 3 for controls and graphics (1.4.11).
    pub least: f64,
}

/// Every pair of a theme that the window uses.
#[must_use]
pub fn pairs(theme: &Theme) -> Vec<ColorPair> {
    let words = |what, ink, ground| ColorPair { what, ink, ground, least: 4.5 };
    let edge = |what, ink, ground| ColorPair { what, ink, ground, least: 3.0 };
    let mut all = Vec::new();
    for (what, ground) in [
        ("on a panel", theme.panel),
        ("on the ground", theme.ground),
        ("on a button", theme.raised),
        ("on a button under the pointer", theme.hovered),
        ("on what is selected", theme.selection),
    ] {
        all.push(words(what, theme.text, ground));
        all.push(words(what, theme.weak_text, ground));
    }
    all.push(words("on the first action", theme.on_accent, theme.accent));
    for (what, ground) in
        [("of a button that is not available", theme.raised), ("not available", theme.panel)]
    {
        let fade = |c: Colour| faded(c, theme.panel);
        all.push(words(what, fade(theme.text), fade(ground)));
    }
    for (what, ground) in [("edge on a panel", theme.panel), ("edge on the ground", theme.ground)] {
        all.push(edge(what, theme.edge, ground));
        all.push(edge(what, theme.accent, ground));
    }
    all
}

/// A color as it is seen at the opacity of what is not available.
fn faded(top: Colour, below: Colour) -> Colour {
    let mixed = |a: u8, b: u8| {
        let value = f64::from(a) * DISABLED_OPACITY + f64::from(b) * (1.0 - DISABLED_OPACITY);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a mean of two bytes is one"
        )]
        let byte = value.round() as u8;
        byte
    };
    Colour::opaque(mixed(top.r, below.r), mixed(top.g, below.g), mixed(top.b, below.b))
}
