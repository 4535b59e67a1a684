//! Words and lines on their grounds by the formula of WCAG 2.2, and hues told apart with colour blindness.

use stillmark::scene::drawing::contrast::pairs;
use stillmark::scene::drawing::shape::Role;
use stillmark::scene::drawing::theme::{Colour, Ground, Mode, Theme};

/// Roles of words in figures and drawings.
const WORDS: [Role; 2] = [Role::Text, Role::WeakText];

/// Roles of lines and signs that mean something.
const LINES: [Role; 32] = [
    Role::Border,
    Role::SecondContour,
    Role::MeanBorder,
    Role::DepthBand,
    Role::HeightBand,
    Role::MidHeight,
    Role::MidlineBand,
    Role::Midline,
    Role::OtherMidline,
    Role::Pedicle,
    Role::SpinousProcess,
    Role::Quadrants,
    Role::Clock,
    Role::DockingTarget,
    Role::Thirds,
    Role::Ruler,
    Role::Tip,
    Role::TipRegion,
    Role::Cannula,
    Role::Electrode,
    Role::ChosenHandle,
    Role::Preview,
    Role::Draft,
    Role::Proposed,
    Role::ProposedFaint,
    Role::Outline,
    Role::Neighbour,
    Role::Frame,
    Role::Leader,
    Role::Inside,
    Role::Outside,
    Role::Undecided,
];

fn themes() -> [Theme; 2] {
    [Mode::Dark, Mode::Light].map(Theme::of)
}

/// Every pair of the window, as it is used: WCAG 2.2, success criteria 1.4.3 and 1.4.11, level AA.
#[test]
fn every_pair_of_the_window_stands_out() {
    for theme in themes() {
        for pair in pairs(&theme) {
            let contrast = pair.ink.contrast(pair.ground);
            assert!(contrast >= pair.least, "{:?}: {pair:?}: {contrast:.2}", theme.mode);
        }
    }
}

/// WCAG 2.2, success criterion 1.4.3: 4.5 for words.
#[test]
fn words_stand_out_from_the_panel() {
    for theme in themes() {
        for role in WORDS {
            let contrast = theme.ink(role).contrast(theme.panel);
            assert!(contrast >= 4.5, "{role:?} in {:?}: {contrast:.2}", theme.mode);
        }
    }
}

/// WCAG 2.2, success criterion 1.4.11: 3 for what is needed to understand a graphic.
#[test]
fn lines_and_signs_stand_out_from_the_panel() {
    for theme in themes() {
        for role in LINES {
            for colour in [theme.stroke(role).colour, theme.sign(role, Ground::Panel).colour] {
                let contrast = colour.contrast(theme.panel);
                assert!(contrast >= 3.0, "{role:?} in {:?}: {contrast:.2}", theme.mode);
            }
        }
    }
}

/// A colour of some opacity over another (CSS Compositing, simple alpha compositing).
fn over(top: Colour, below: u8) -> Colour {
    let mixed = |c: u8| {
        let share = f64::from(top.a) / 255.0;
        let value = f64::from(c) * share + f64::from(below) * (1.0 - share);
        (0..=255_u8).min_by(|a, b| (f64::from(*a) - value).abs().total_cmp(&(f64::from(*b) - value).abs()))
    };
    let [r, g, b] = [top.r, top.g, top.b].map(|c| mixed(c).unwrap_or(0));
    Colour::opaque(r, g, b)
}

#[test]
fn labels_stand_out_from_their_plates_on_every_grey() {
    for role in LINES.into_iter().chain(WORDS) {
        let (plate, words) = Theme::plate(role);
        for grey in 0..=255 {
            let contrast = words.contrast(over(plate, grey));
            assert!(contrast >= 4.5, "{role:?} on {grey}: {contrast:.2}");
        }
    }
}

/// A two-tone line stands out where either of its tones does.
#[test]
fn lines_on_pictures_stand_out_from_every_grey() {
    for role in LINES {
        let stroke = Theme::picture_stroke(role);
        let tones = [Some(stroke.colour), stroke.edge.map(|(_, colour)| colour)];
        for grey in 0..=255 {
            let ground = Colour::opaque(grey, grey, grey);
            let best = tones.iter().flatten().map(|tone| tone.contrast(ground)).fold(0.0, f64::max);
            assert!(best >= 3.0, "{role:?} on {grey}: {best:.2}");
        }
    }
}

/// Machado, Oliveira and Fernandes 2009, severity 1.0, on linear RGB; the matrices are from memory.
const SIMULATED: [(&str, [[f64; 3]; 3]); 3] = [
    (
        "protanopia",
        [
            [0.152_286, 1.052_583, -0.204_868],
            [0.114_503, 0.786_281, 0.099_216],
            [-0.003_882, -0.048_116, 1.051_998],
        ],
    ),
    (
        "deuteranopia",
        [
            [0.367_322, 0.860_646, -0.227_968],
            [0.280_085, 0.672_501, 0.047_413],
            [-0.011_820, 0.042_940, 0.968_881],
        ],
    ),
    (
        "tritanopia",
        [
            [1.255_528, -0.076_749, -0.178_779],
            [-0.078_411, 0.930_809, 0.147_602],
            [0.004_733, 0.691_367, 0.303_900],
        ],
    ),
];

/// sRGB to linear light (IEC 61966-2-1).
fn linear(colour: Colour) -> [f64; 3] {
    [colour.r, colour.g, colour.b].map(|c| {
        let c = f64::from(c) / 255.0;
        if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
    })
}

fn through(matrix: &[[f64; 3]; 3], rgb: [f64; 3]) -> [f64; 3] {
    matrix.map(|row| row.iter().zip(rgb).map(|(a, b)| a * b).sum::<f64>().clamp(0.0, 1.0))
}

/// Linear sRGB to CIE L*a*b* under D65 (CIE 15).
fn lab(rgb: [f64; 3]) -> [f64; 3] {
    let to_xyz = [[0.412_4, 0.357_6, 0.180_5], [0.212_6, 0.715_2, 0.072_2], [0.019_3, 0.119_2, 0.950_5]];
    let white = [0.950_47, 1.0, 1.088_83];
    let xyz = to_xyz.map(|row| row.iter().zip(rgb).map(|(a, b)| a * b).sum::<f64>());
    let f = |t: f64| {
        if t > (6.0_f64 / 29.0).powi(3) { t.cbrt() } else { t * (29.0_f64 / 6.0).powi(2) / 3.0 + 4.0 / 29.0 }
    };
    let [x, y, z] = [f(xyz[0] / white[0]), f(xyz[1] / white[1]), f(xyz[2] / white[2])];
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

fn distance(a: [f64; 3], b: [f64; 3]) -> f64 {
    a.iter().zip(b).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt()
}

/// By hand: white to black is a hundred steps of lightness, and a matrix whose rows add up to one leaves greys alone.
#[test]
fn the_simulation_is_what_it_should_be() {
    let grey = Colour::opaque(128, 128, 128);
    assert!((distance(lab([1.0; 3]), lab([0.0; 3])) - 100.0).abs() < 0.1);
    for (name, matrix) in &SIMULATED {
        assert!(distance(lab(through(matrix, linear(grey))), lab(linear(grey))) < 0.5, "{name}");
    }
}

/// Hues that stand for different things are told apart: 10 in CIE 1976 is seen at a glance (common practice, no
/// source). Beside that each has a pattern or sign of its own, so nothing hangs on hue alone.
#[test]
fn hues_are_told_apart_with_colour_blindness() {
    let verdicts = [Role::Inside, Role::Outside, Role::Undecided];
    let bands = [Role::DepthBand, Role::HeightBand, Role::Tip, Role::Border];
    let mut sets: Vec<(String, Vec<Colour>)> = Vec::new();
    for theme in themes() {
        sets.push((format!("verdicts in {:?}", theme.mode), verdicts.map(|role| theme.ink(role)).to_vec()));
        sets.push((
            format!("bands in {:?}", theme.mode),
            bands[..2].iter().map(|role| theme.ink(*role)).collect(),
        ));
    }
    let edge = |role: Role| Theme::picture_stroke(role).edge.map(|(_, colour)| colour);
    sets.push(("lines on pictures".to_owned(), bands.into_iter().filter_map(edge).collect()));
    for (what, colours) in sets {
        for (i, a) in colours.iter().enumerate() {
            for b in &colours[i + 1..] {
                for (name, matrix) in &SIMULATED {
                    let seen = |colour: Colour| lab(through(matrix, linear(colour)));
                    let apart = distance(seen(*a), seen(*b));
                    assert!(apart >= 10.0, "{what} with {name}: {a:?} and {b:?} are {apart:.1} apart");
                }
            }
        }
    }
}
