//! Colours, sizes of type and signs, and spacing: the only place that has any. Lines stand in [`line_styles`].
//!
//! [`line_styles`]: crate::scene::drawing::line_styles
//!
//! Hues are those of Okabe and Ito (2002, 2008); each role pairs its hue with a pattern or a sign of its own, so
//! that nothing is said by colour alone. Contrast follows WCAG 2.2.

use crate::measure::verdict::State;
use crate::scene::drawing::shape::{Glyph, Role, TextSize};

/// A colour in sRGB, 8 bits a channel, not premultiplied.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Colour {
    /// Red.
    pub r: u8,
    /// Green.
    pub g: u8,
    /// Blue.
    pub b: u8,
    /// Opacity, 255 opaque.
    pub a: u8,
}

/// How a sign is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sign {
    /// Half its size in points.
    pub radius: f64,
    /// Colour of what is filled or drawn.
    pub colour: Colour,
    /// A line around it that keeps it readable on any ground: width in points and colour.
    pub edge: Option<(f64, Colour)>,
}

/// For dim rooms or for paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mode {
    /// Light on dark.
    Dark,
    /// Dark on light.
    Light,
}

/// Grounds, words and lines of the window and of figures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Theme {
    /// Which of the two.
    pub mode: Mode,
    /// Behind everything.
    pub ground: Colour,
    /// Panels and drawings.
    pub panel: Colour,
    /// Buttons, fields, chosen rows.
    pub raised: Colour,
    /// The same under the pointer.
    pub hovered: Colour,
    /// Thin separating lines; of no meaning of their own.
    pub separator: Colour,
    /// The edge of something that can be used, contrast 3 or more against the panel.
    pub edge: Colour,
    /// Words.
    pub text: Colour,
    /// Words of less weight, still 4.5 or more.
    pub weak_text: Colour,
    /// The one accent.
    pub accent: Colour,
    /// Words on the accent.
    pub on_accent: Colour,
    /// Behind chosen text.
    pub selection: Colour,
    /// Behind a dialog.
    pub veil: Colour,
}

/// Spacing: everything stands on a grid of 4 points.
pub mod space {
    /// One step.
    pub const S1: f64 = 4.0;
    /// Between things that belong together.
    pub const S2: f64 = 8.0;
    /// Within a panel.
    pub const S3: f64 = 12.0;
    /// Between groups.
    pub const S4: f64 = 16.0;
    /// Between parts of a page.
    pub const S6: f64 = 24.0;
}

/// Radius of a mark's handle in points.
pub const HANDLE_RADIUS: f64 = 4.5;
/// How near the pointer must be to a mark to grasp it, in points.
pub const GRASP_RADIUS: f64 = 12.0;
/// Corner radius of panels, buttons and plates in points.
pub const CORNER_RADIUS: f64 = 4.0;

pub(super) const BLACK: Colour = Colour::opaque(0x00, 0x00, 0x00);
pub(super) const WHITE: Colour = Colour::opaque(0xFF, 0xFF, 0xFF);
pub(super) const ORANGE: Colour = Colour::opaque(0xE6, 0x9F, 0x00);
pub(super) const SKY_BLUE: Colour = Colour::opaque(0x56, 0xB4, 0xE9);
const BLUISH_GREEN: Colour = Colour::opaque(0x00, 0x9E, 0x73);
pub(super) const YELLOW: Colour = Colour::opaque(0xF0, 0xE4, 0x42);
const BLUE: Colour = Colour::opaque(0x00, 0x72, 0xB2);
const VERMILLION: Colour = Colour::opaque(0xD5, 0x5E, 0x00);
const REDDISH_PURPLE: Colour = Colour::opaque(0xCC, 0x79, 0xA7);

/// What points at something: a light magenta that no mark, sign or line has in either mode.
pub(super) const POINTING: Colour = Colour::opaque(0xFF, 0x8A, 0xFF);

/// The hues of Okabe and Ito by name.
pub const OKABE_ITO: [(&str, Colour); 8] = [
    ("black", BLACK),
    ("orange", ORANGE),
    ("sky blue", SKY_BLUE),
    ("bluish green", BLUISH_GREEN),
    ("yellow", YELLOW),
    ("blue", BLUE),
    ("vermillion", VERMILLION),
    ("reddish purple", REDDISH_PURPLE),
];

impl Colour {
    /// An opaque colour.
    #[must_use]
    pub const fn opaque(r: u8, g: u8, b: u8) -> Self {
        Self { r, g, b, a: 255 }
    }

    /// The same colour with this opacity, 255 opaque.
    #[must_use]
    pub const fn with_alpha(self, a: u8) -> Self {
        Self { a, ..self }
    }

    /// Relative luminance, 0 to 1 (WCAG 2.2, "relative luminance"); the opacity is ignored.
    #[must_use]
    pub fn luminance(self) -> f64 {
        let linear = |c: u8| {
            let c = f64::from(c) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * linear(self.r) + 0.7152 * linear(self.g) + 0.0722 * linear(self.b)
    }

    /// Contrast ratio, 1 to 21 (WCAG 2.2, "contrast ratio"); opacities are ignored.
    #[must_use]
    pub fn contrast(self, other: Self) -> f64 {
        let (a, b) = (self.luminance() + 0.05, other.luminance() + 0.05);
        if a > b { a / b } else { b / a }
    }
}

impl Theme {
    /// For dim rooms; the one the window starts with.
    #[must_use]
    pub const fn dark() -> Self {
        Self {
            mode: Mode::Dark,
            ground: Colour::opaque(0x0E, 0x10, 0x12),
            panel: Colour::opaque(0x17, 0x1A, 0x1D),
            raised: Colour::opaque(0x26, 0x2A, 0x2F),
            hovered: Colour::opaque(0x33, 0x38, 0x3E),
            separator: Colour::opaque(0x2C, 0x31, 0x36),
            edge: Colour::opaque(0x7A, 0x84, 0x8E),
            text: Colour::opaque(0xE8, 0xEB, 0xED),
            weak_text: Colour::opaque(0xAE, 0xB7, 0xBF),
            accent: SKY_BLUE,
            on_accent: BLACK,
            selection: Colour::opaque(0x1E, 0x4B, 0x69),
            veil: BLACK.with_alpha(0xA0),
        }
    }

    /// For bright rooms and for paper.
    #[must_use]
    pub const fn light() -> Self {
        Self {
            mode: Mode::Light,
            ground: Colour::opaque(0xEE, 0xF0, 0xF2),
            panel: WHITE,
            raised: Colour::opaque(0xEB, 0xEE, 0xF0),
            hovered: Colour::opaque(0xDD, 0xE2, 0xE6),
            separator: Colour::opaque(0xDA, 0xDE, 0xE2),
            edge: Colour::opaque(0x79, 0x82, 0x8B),
            text: Colour::opaque(0x1B, 0x1F, 0x23),
            weak_text: Colour::opaque(0x53, 0x5C, 0x65),
            accent: BLUE,
            on_accent: WHITE,
            selection: Colour::opaque(0xC4, 0xE1, 0xF3),
            veil: BLACK.with_alpha(0x60),
        }
    }

    /// The theme of a mode.
    #[must_use]
    pub const fn of(mode: Mode) -> Self {
        match mode {
            Mode::Dark => Self::dark(),
            Mode::Light => Self::light(),
        }
    }

    /// A type size in points.
    #[must_use]
    pub const fn points(size: TextSize) -> f64 {
        match size {
            TextSize::Fine => 6.0,
            TextSize::Small => 12.0,
            TextSize::Body => 15.0,
            TextSize::Large => 28.0,
        }
    }

    /// Colour of lines, signs and words of this role on the panel: 3 or more against it, words 4.5 or more.
    #[must_use]
    pub const fn ink(&self, role: Role) -> Colour {
        let dark = matches!(self.mode, Mode::Dark);
        match role {
            Role::DepthBand
            | Role::MidlineBand
            | Role::Midline
            | Role::OtherMidline
            | Role::DockingTarget
            | Role::FirstCurve
            | Role::Accent => self.accent,
            Role::Grid => self.separator,
            Role::HeightBand | Role::MidHeight | Role::SecondCurve => {
                if dark {
                    ORANGE
                } else {
                    VERMILLION
                }
            }
            Role::Tip | Role::TipRegion | Role::ChosenHandle | Role::Electrode | Role::Preview => {
                if dark {
                    YELLOW
                } else {
                    BLACK
                }
            }
            Role::Inside => BLUISH_GREEN,
            Role::Outside => VERMILLION,
            Role::Undecided => {
                if dark {
                    ORANGE
                } else {
                    REDDISH_PURPLE
                }
            }
            Role::Thirds
            | Role::Quadrants
            | Role::Clock
            | Role::SpinousProcess
            | Role::WeakText
            | Role::Leader
            | Role::Nothing
            | Role::Ruler
            | Role::Limit
            | Role::Dot
            | Role::Cannula => self.weak_text,
            Role::Neighbour | Role::Frame => self.edge,
            Role::Border
            | Role::SecondContour
            | Role::MeanBorder
            | Role::Pedicle
            | Role::Outline
            | Role::Bone
            | Role::Handle
            | Role::PlacedHandle
            | Role::Draft
            | Role::Proposed
            | Role::ProposedFaint
            | Role::ProposedBand
            | Role::Label
            | Role::LabelPlate
            | Role::LegendPlate
            | Role::Dim
            | Role::ThirdCurve
            | Role::Text => self.text,
        }
    }

    /// The fill of areas of this role, translucent where something lies beneath. `on_picture` areas are the same
    /// in both modes.
    #[must_use]
    pub const fn fill(&self, role: Role, ground: Ground) -> Colour {
        let dark = matches!(self.mode, Mode::Dark) || matches!(ground, Ground::Picture);
        match role {
            Role::DepthBand | Role::MidlineBand | Role::DockingTarget => {
                (if dark { SKY_BLUE } else { BLUE }).with_alpha(if dark { 0x38 } else { 0x30 })
            }
            Role::HeightBand => {
                (if dark { ORANGE } else { VERMILLION }).with_alpha(if dark { 0x28 } else { 0x24 })
            }
            Role::TipRegion => (if dark { YELLOW } else { BLACK }).with_alpha(if dark { 0x48 } else { 0x30 }),
            Role::Bone => {
                if dark {
                    Colour::opaque(0x2B, 0x30, 0x35)
                } else {
                    Colour::opaque(0xF1, 0xF3, 0xF5)
                }
            }
            Role::Neighbour => {
                if dark {
                    Colour::opaque(0x20, 0x24, 0x28)
                } else {
                    Colour::opaque(0xF8, 0xF9, 0xFA)
                }
            }
            Role::ProposedBand => (if dark { WHITE } else { BLACK }).with_alpha(0x22),
            Role::LabelPlate => Self::plate(Role::Text).0,
            // A line with a dark core looks like two lines on dark ground; on a gray it looks as it does on the image.
            Role::LegendPlate => match self.mode {
                Mode::Dark => Colour::opaque(0x70, 0x70, 0x70),
                Mode::Light => WHITE.with_alpha(0),
            },
            Role::Dim => BLACK.with_alpha(0xA8),
            Role::SpinousProcess => (if dark { WHITE } else { BLACK }).with_alpha(0x18),
            Role::Inside | Role::Outside | Role::Undecided => self.ink(role).with_alpha(0x40),
            _ => self.ink(role).with_alpha(0x30),
        }
    }

    /// How a sign of this role is drawn.
    #[must_use]
    pub const fn sign(&self, role: Role, ground: Ground) -> Sign {
        let radius = match role {
            Role::Handle => HANDLE_RADIUS,
            Role::PlacedHandle => HANDLE_RADIUS - 2.0,
            Role::Dot => HANDLE_RADIUS - 2.3,
            Role::ChosenHandle => HANDLE_RADIUS + 1.5,
            Role::Tip => 3.2,
            Role::Label => 2.2,
            Role::Electrode => 3.2,
            _ => 5.0,
        };
        match ground {
            Ground::Picture => {
                let Some((edge, hue)) = Self::picture_stroke(role).edge else {
                    return Sign { radius, colour: WHITE, edge: Some((1.5, BLACK)) };
                };
                Sign { radius, colour: hue, edge: Some((edge + 0.6, BLACK)) }
            }
            Ground::Panel => Sign { radius, colour: self.ink(role), edge: None },
        }
    }

    /// Behind a label on a picture, and the label's own colour; the same in both modes.
    #[must_use]
    pub const fn plate(role: Role) -> (Colour, Colour) {
        let words = match Self::picture_stroke(role).edge {
            Some((_, hue)) => hue,
            None => WHITE,
        };
        (BLACK.with_alpha(0xC8), words)
    }
}

/// What lies beneath a shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ground {
    /// A radiograph of any grey.
    Picture,
    /// The theme's panel.
    Panel,
}

/// Role and sign of a verdict's state.
#[must_use]
pub const fn state_sign(state: State) -> (Role, Glyph) {
    match state {
        State::Inside => (Role::Inside, Glyph::Disc),
        State::Outside => (Role::Outside, Glyph::Cross),
        State::Undecided => (Role::Undecided, Glyph::HalfDisc),
        State::NotShown => (Role::Nothing, Glyph::Bar),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// All roles that are drawn as lines or signs on pictures.
    const ON_PICTURE: [Role; 29] = [
        Role::Label,
        Role::Leader,
        Role::Clock,
        Role::MidlineBand,
        Role::Midline,
        Role::OtherMidline,
        Role::Pedicle,
        Role::SpinousProcess,
        Role::Quadrants,
        Role::DockingTarget,
        Role::Border,
        Role::SecondContour,
        Role::MeanBorder,
        Role::DepthBand,
        Role::HeightBand,
        Role::MidHeight,
        Role::Thirds,
        Role::Ruler,
        Role::Tip,
        Role::TipRegion,
        Role::Cannula,
        Role::Electrode,
        Role::Handle,
        Role::PlacedHandle,
        Role::ChosenHandle,
        Role::Preview,
        Role::Draft,
        Role::Proposed,
        Role::ProposedFaint,
    ];

    fn hex(text: &str) -> Colour {
        let part = |at: usize| u8::from_str_radix(&text[at..at + 2], 16).unwrap();
        Colour::opaque(part(1), part(3), part(5))
    }

    /// WCAG 2.2, contrast ratio. Pairs that others have published to two digits: 4.54 and 8.59, 2.15, 7.00 and 21.
    #[test]
    fn contrast_agrees_with_published_pairs() {
        for (a, b, ratio, digits) in [
            ("#000000", "#FFFFFF", 21.0, 1e-9),
            ("#767676", "#FFFFFF", 4.54, 0.005),
            ("#0000FF", "#FFFFFF", 8.59, 0.005),
            ("#0000FF", "#FF0000", 2.15, 0.005),
            ("#595959", "#FFFFFF", 7.00, 0.005),
        ] {
            let found = hex(a).contrast(hex(b));
            assert!((found - ratio).abs() <= digits, "{a} on {b}: {found}");
        }
    }

    /// Okabe and Ito 2002/2008; the ratios against black are recomputed from WCAG's formula outside this project.
    #[test]
    fn hues_are_those_of_okabe_and_ito() {
        let expected = [
            ("orange", "#E69F00", 9.324),
            ("sky blue", "#56B4E9", 9.101),
            ("bluish green", "#009E73", 6.138),
            ("yellow", "#F0E442", 15.881),
            ("blue", "#0072B2", 4.05),
            ("vermillion", "#D55E00", 5.43),
            ("reddish purple", "#CC79A7", 6.86),
        ];
        for (name, code, ratio) in expected {
            let (_, colour) = OKABE_ITO.into_iter().find(|(known, _)| *known == name).unwrap();
            assert_eq!(colour, hex(code), "{name}");
            assert!((colour.contrast(BLACK) - ratio).abs() < 0.006, "{name}: {}", colour.contrast(BLACK));
        }
    }

    #[test]
    fn lines_on_pictures_are_seen_on_every_grey() {
        for role in ON_PICTURE {
            let stroke = Theme::picture_stroke(role);
            let (_, edge) = stroke.edge.unwrap();
            for grey in 0..=255 {
                let ground = Colour::opaque(grey, grey, grey);
                let seen = stroke.colour.contrast(ground).max(edge.contrast(ground));
                assert!(seen >= 3.0, "{role:?} on gray {grey}: {seen:.2}");
            }
        }
    }

    #[test]
    fn lines_of_one_hue_differ_in_pattern_or_are_one_thing() {
        let apart = [
            Role::Border,
            Role::SecondContour,
            Role::Thirds,
            Role::Cannula,
            Role::DepthBand,
            Role::HeightBand,
            Role::MidHeight,
            Role::TipRegion,
            Role::MidlineBand,
            Role::Midline,
            Role::OtherMidline,
            Role::SpinousProcess,
            Role::Label,
        ];
        for (i, a) in apart.into_iter().enumerate() {
            for b in apart.into_iter().skip(i + 1) {
                let (x, y) = (Theme::picture_stroke(a), Theme::picture_stroke(b));
                assert!(x.edge != y.edge || x.dash != y.dash, "{a:?} looks like {b:?}");
            }
        }
    }

    #[test]
    fn words_and_lines_stand_out_from_the_panel_in_both_modes() {
        for theme in [Theme::dark(), Theme::light()] {
            for ground in [theme.panel, theme.ground, theme.raised, theme.fill(Role::Bone, Ground::Panel)] {
                assert!(theme.text.contrast(ground) >= 7.0, "{:?} text", theme.mode);
                assert!(theme.weak_text.contrast(ground) >= 4.5, "{:?} weak text", theme.mode);
                assert!(theme.accent.contrast(ground) >= 3.0, "{:?} accent", theme.mode);
            }
            assert!(theme.text.contrast(theme.hovered) >= 7.0);
            assert!(theme.text.contrast(theme.selection) >= 4.5);
            assert!(theme.edge.contrast(theme.panel) >= 3.0);
            assert!(theme.on_accent.contrast(theme.accent) >= 4.5);
            for role in [
                Role::Inside,
                Role::Outside,
                Role::Undecided,
                Role::Nothing,
                Role::DepthBand,
                Role::HeightBand,
                Role::Tip,
                Role::Thirds,
            ] {
                assert!(theme.ink(role).contrast(theme.panel) >= 3.0, "{:?} {role:?}", theme.mode);
            }
        }
    }

    #[test]
    fn verdicts_differ_in_sign() {
        let states = [State::Inside, State::Outside, State::Undecided, State::NotShown];
        let mut glyphs: Vec<_> = states.into_iter().map(|s| state_sign(s).1).collect();
        glyphs.sort();
        glyphs.dedup();
        assert_eq!(glyphs.len(), states.len());
    }

    #[test]
    fn labels_on_plates_are_readable_on_the_brightest_picture() {
        for role in ON_PICTURE {
            let (plate, words) = Theme::plate(role);
            let share = f64::from(plate.a) / 255.0;
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and 255")]
            let grey = (255.0 * (1.0 - share)).round() as u8;
            assert!(words.contrast(Colour::opaque(grey, grey, grey)) >= 4.5, "{role:?}");
        }
    }
}
