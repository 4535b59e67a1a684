//! Down the pedicle: the docking point in the pedicle's own frame.

use crate::case::readings::ShotReading;
use crate::geom::point::Point;
use crate::measure::mark::{MarkKind, Marks, Stage, View};
use crate::measure::pedicle::{PedicleFrame, read_pedicle};
use crate::measure::settings::Settings;
use crate::measure::verdict::VerdictRule;
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Role, Scene};
use crate::scene::drawing::theme::state_sign;
use crate::scene::format;
use crate::scene::lesson::board::{Board, WIDTH};
use crate::scene::lesson::typical;
use crate::scene::overlay::LayerSet;
use crate::scene::overlay::body_lines;

const LEFT: (AlignX, AlignY) = (AlignX::Left, AlignY::Middle);

/// The outline with its quarters, its clock, the target, and one docking point with its numbers.
#[must_use]
pub fn down_the_pedicle() -> Scene {
    let mut board = Board::new(380.0);
    let settings = Settings::default();
    // A pedicle 15 mm high and 11 mm wide, a little oblique, ten points to a millimetre; lateral on the left.
    let marks = Marks::new()
        .with(MarkKind::Pedicle, &[(206.0, 106.0), (190.0, 256.0), (254.0, 176.0), (142.0, 186.0)])
        .with(MarkKind::Tip, &[(174.0, 146.0)]);
    let mut input = typical::input(View::Pedicle, &marks, Some(Stage::Docking), &settings);
    input.mm_per_px = Some(0.1);
    let reading = read_pedicle(&input);
    let Some(frame) = PedicleFrame::of(&marks) else { return board.scene };
    let around: Vec<_> = (0..96)
        .map(|i| {
            let (sin, cos) = (std::f64::consts::TAU * f64::from(i) / 96.0).sin_cos();
            frame.to_image(cos, sin)
        })
        .collect();
    let (a, b) = body_lines::halves(&around);
    board.scene.strip(a, b, Role::Bone);
    let drawn = ShotReading::Pedicle(Box::new(reading.clone()));
    let over = typical::overlay(&input, None, Some(&drawn), LayerSet::all(), board.scene.bounds);
    board.put(Point::new(0.0, 0.0), over);
    for p in marks.slots(MarkKind::Pedicle).iter().flatten() {
        board.scene.marker(*p, Glyph::Target, Role::Accent);
    }
    let x = 400.0;
    board.title(Point::new(x, 34.0), "the docking point");
    let mut y = 76.0;
    let rows = [
        ("toward lateral", &reading.lateral_offset, "1 at the lateral border, −1 at the medial border"),
        ("toward superior", &reading.superior_offset, "1 at the superior border, −1 at the inferior border"),
        ("from the center", &reading.radius, "1 on the outline"),
    ];
    for (name, quantity, words) in rows {
        let Some(quantity) = quantity else { continue };
        board.words(Point::new(x, y), LEFT, name, Role::Text);
        board.number(Point::new(x + 112.0, y), LEFT, &format::number_of(quantity), Role::Text);
        board.words(Point::new(x, y + 17.0), LEFT, words, Role::WeakText);
        y += 46.0;
    }
    if let Some(hour) = reading.clock_hour {
        board.words(Point::new(x, y), LEFT, "clock", Role::Text);
        board.number(Point::new(x + 112.0, y), LEFT, &format::clock_hour(hour), Role::Text);
        board.words(Point::new(x, y + 17.0), LEFT, "as displayed, 12 at the superior border", Role::WeakText);
        y += 46.0;
    }
    if let Some(verdict) = reading.verdicts.iter().find(|v| v.rule == VerdictRule::Docking) {
        let (role, glyph) = state_sign(verdict.state);
        board.scene.marker(Point::new(x + 6.0, y), glyph, role);
        let words =
            format!("{}; probability {}", format::verdict(verdict), format::probability(verdict.p_inside));
        board.paragraph(Point::new(x + 20.0, y - 8.0), WIDTH - x - 44.0, AlignX::Left, &words, Role::Text);
    }
    board.scene.marker(Point::new(40.0, 356.0), Glyph::Target, Role::Accent);
    let words =
        "the four extreme points of the outline; the blue quadrant is the docking target (common practice)";
    board.words(Point::new(52.0, 356.0), LEFT, words, Role::WeakText);
    board.scene
}
