//! What a lateral and an AP tell together: the drawings of the body beside each other, and the combined reading.

use crate::case::document::{Case, Shot};
use crate::case::readings::ShotReading;
use crate::case::readings::body_map::body_map;
use crate::measure::reading::{ApReading, LateralReading, PairReading};
use crate::scene::body_map::BodyDrawing;
use crate::scene::drawing::shape::{Role, TextSize};
use crate::scene::drawing::theme::space;
use crate::scene::figure::asked::{FigurePair, FigureShot};
use crate::scene::figure::c_arm::c_arms;
use crate::scene::figure::style::Geometry;
use crate::scene::format;
use crate::scene::overlay::{Layer, LayerSet};
use crate::scene::page::sheet::Sheet;
use crate::scene::words::reading;

/// Height of a drawing of the body.
const DRAWING: f64 = 208.0;
/// The same where readings are in short.
const SHORT_DRAWING: f64 = 128.0;

/// What a lateral and an AP tell together: the drawings beside each other, then the words in two columns.
pub(super) fn together(
    page: &mut Sheet,
    case: &Case,
    shots: &[FigureShot<'_>],
    pair: &FigurePair<'_>,
    (layers, geometry): (LayerSet, &Geometry),
) {
    let short = geometry.short;
    let (Some(lateral), Some(ap)) = (shots.get(pair.lateral), shots.get(pair.ap)) else { return };
    let (ShotReading::Lateral(side), ShotReading::Ap(front)) = (lateral.reading, ap.reading) else { return };
    if !short {
        page.rule();
        let shot = lateral.shot;
        let heading = format::pair(shot.level, shot.side, shot.stage);
        page.paragraph(&heading, Role::Text, TextSize::Body);
        page.y += space::S2;
    }
    let seen = SeenBody {
        lateral: Some((lateral.shot, side)),
        ap: Some((ap.shot, front)),
        pair: Some(pair.reading),
    };
    drawings(page, case, &seen, layers, if short { SHORT_DRAWING } else { DRAWING });
    c_arms(page, Some(side), Some(front));
    if short {
        page.short_lines(&reading::pair(pair.reading));
        page.issues(page.left, page.inner, &pair.reading.issues);
        page.y += space::S2;
        return;
    }
    let top = page.y;
    let width = 0.5 * (page.inner - space::S6);
    let lines = reading::pair(pair.reading);
    let half = lines.len().div_ceil(2);
    let mut bottom = top;
    for (x, lines) in [(page.left, &lines[..half]), (page.left + space::S6 + width, &lines[half..])] {
        page.y = top;
        for line in lines {
            page.reading_line(x, width, line);
        }
        bottom = f64::max(bottom, page.y);
    }
    page.y = bottom;
    page.issues(page.left, page.inner, &pair.reading.issues);
    page.y += space::S2;
}

/// How the C-arm stood in a shot that stands by itself.
pub(super) fn alone(page: &mut Sheet, reading: &ShotReading) {
    match reading {
        ShotReading::Lateral(reading) => c_arms(page, Some(reading), None),
        ShotReading::Ap(reading) => c_arms(page, None, Some(reading)),
        ShotReading::Pedicle(_) => {}
    }
}

/// What is known of a body: the shots that show it with their readings, and what the two tell together.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct SeenBody<'a> {
    pub(crate) lateral: Option<(&'a Shot, &'a LateralReading)>,
    pub(crate) ap: Option<(&'a Shot, &'a ApReading)>,
    pub(crate) pair: Option<&'a PairReading>,
}

/// The body from the side, from the front and from above, beside each other over the whole width and this high.
pub(crate) fn drawings(page: &mut Sheet, case: &Case, seen: &SeenBody<'_>, layers: LayerSet, height: f64) {
    let stage = seen.lateral.map(|(shot, _)| shot).or(seen.ap.map(|(shot, _)| shot)).and_then(|s| s.stage);
    let maps = (
        seen.lateral.and_then(|(shot, _)| body_map(case, shot)),
        seen.ap.and_then(|(shot, _)| body_map(case, shot)),
    );
    let mut drawing = BodyDrawing::new(&case.settings, stage);
    if !layers.has(Layer::Labels) {
        drawing.layers = drawing.layers.without(Layer::Labels);
    }
    if let Some((_, reading)) = seen.lateral {
        drawing = drawing.with_lateral(reading, maps.0.as_ref());
    }
    drawing.sides.entry =
        seen.ap.map(|(shot, _)| shot).or(seen.lateral.map(|(shot, _)| shot)).and_then(|s| s.side);
    if let Some((shot, reading)) = seen.ap {
        drawing = drawing.with_ap(reading, maps.1.as_ref().map(|map| (map, &shot.marks)));
    }
    if let Some(pair) = seen.pair {
        drawing = drawing.with_pair(pair);
    }
    let size = ((page.inner - 2.0 * space::S3) / 3.0, height);
    let three = [drawing.side(size), drawing.front(size), drawing.above(size)];
    let mut x = page.left;
    for drawn in three {
        page.drawing(x, drawn.scene);
        x += size.0 + space::S3;
    }
    page.y += size.1 + space::S3;
}
