//! A lateral and an AP together: three coordinates, and safe passage.

use crate::geom::point::Point;
use crate::measure::mark::{Side, Stage};
use crate::measure::settings::{Rule, Settings};
use crate::measure::verdict::VerdictRule;
use crate::scene::body_map::BodyDrawing;
use crate::scene::drawing::shape::{AlignX, AlignY, Role, Scene};
use crate::scene::drawing::theme::state_sign;
use crate::scene::format;
use crate::scene::lesson::board::{Board, WIDTH};
use crate::scene::lesson::typical;

const LEFT: (AlignX, AlignY) = (AlignX::Left, AlignY::Middle);
const CENTRED: (AlignX, AlignY) = (AlignX::Middle, AlignY::Middle);

/// The drawing of a typical pair's tip.
fn drawing<'a>(
    settings: &'a Settings,
    read: &crate::measure::pair::ReadPair,
    stage: Stage,
) -> BodyDrawing<'a> {
    let mut drawing = BodyDrawing::new(settings, Some(stage));
    drawing.sides.entry = Some(Side::Right);
    drawing.with_lateral(&read.lateral, None).with_ap(&read.ap, None).with_pair(&read.pair)
}

/// One tip from the side, from the front and from above.
#[must_use]
pub fn three_sides() -> Scene {
    let mut board = Board::new(340.0);
    let settings = Settings::default();
    let Some(read) = typical::pair(0.41, 0.46, [0.50, 0.53], Stage::Final) else { return board.scene };
    let drawing = drawing(&settings, &read, Stage::Final);
    let size = (224.0, 210.0);
    let parts = [
        ("lateral", "lateral: depth and height", drawing.side(size)),
        ("AP", "AP: mediolateral position and height", drawing.front(size)),
        ("axial", "both: mediolateral position and depth", drawing.above(size)),
    ];
    for (i, (title, words, drawn)) in parts.into_iter().enumerate() {
        let x = 12.0 + f64::from(u32::try_from(i).unwrap_or(0)) * 236.0;
        board.title(Point::new(x + 12.0, 14.0), title);
        board.words(Point::new(x + 12.0, 44.0), LEFT, words, Role::WeakText);
        board.put(Point::new(x, 60.0), drawn.scene);
    }
    let rows = [
        ("depth", read.pair.depth.as_ref().map(format::percent_of)),
        ("height", read.pair.height.as_ref().map(format::percent_of)),
        ("midline", read.pair.midline.as_ref().map(|(_, offset)| format::coordinate(Rule::Midline, offset))),
    ];
    for (i, (name, number)) in rows.into_iter().enumerate() {
        let x = 24.0 + f64::from(u32::try_from(i).unwrap_or(0)) * 236.0;
        board.words(Point::new(x, 302.0), LEFT, name, Role::WeakText);
        board.number(Point::new(x + 56.0, 302.0), LEFT, &number.unwrap_or_default(), Role::Text);
    }
    let note = "The height is the inverse-variance weighted mean of the two views.";
    board.words(Point::new(24.0, 326.0), LEFT, note, Role::WeakText);
    board.scene
}

/// Three tips from above: lateral to the medial border behind the wall, medial to it behind the wall, and already in
/// the body.
#[must_use]
pub fn safe_passage() -> Scene {
    let mut board = Board::new(372.0);
    let settings = Settings::default();
    let cases = [
        ("lateral to the border", -0.22, 0.15),
        ("medial to it, posterior to the wall", -0.22, 0.36),
        ("already in the body", 0.20, 0.36),
    ];
    for (i, (title, depth, across)) in cases.into_iter().enumerate() {
        let x = 12.0 + f64::from(u32::try_from(i).unwrap_or(0)) * 236.0;
        let Some(read) = typical::pair(depth, across, [0.36, 0.36], Stage::Pedicle) else { continue };
        let mut drawing = drawing(&settings, &read, Stage::Pedicle);
        drawing.layers = crate::scene::overlay::LayerSet::all()
            .without(crate::scene::overlay::Layer::DepthBand)
            .without(crate::scene::overlay::Layer::MidlineBand);
        board.words(Point::new(x + 112.0, 20.0), CENTRED, title, Role::Text);
        board.put(Point::new(x, 34.0), drawing.above((224.0, 230.0)).scene);
        let Some(verdict) = read.pair.verdicts.iter().find(|v| v.rule == VerdictRule::SafePassage) else {
            continue;
        };
        let (role, glyph) = state_sign(verdict.state);
        board.scene.marker(Point::new(x + 18.0, 288.0), glyph, role);
        board.words(Point::new(x + 32.0, 288.0), LEFT, format::state(verdict.state), Role::Text);
        let q = verdict.q.map(format::probability).unwrap_or_default();
        let words = format!("crossed before the wall: {q}");
        board.words(Point::new(x + 32.0, 306.0), LEFT, &words, Role::WeakText);
    }
    board.paragraph(
        Point::new(24.0, 330.0),
        WIDTH - 48.0,
        AlignX::Left,
        "Only the medial border is checked. Inferior and lateral breach are not assessed, and a tip already in the body says nothing about its path.",
        Role::WeakText,
    );
    board.scene
}
