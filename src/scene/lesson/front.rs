//! The AP view: where to click, the three midlines, and how a turned ray moves a tip against them.

use crate::case::readings::ShotReading;
use crate::geom::point::{Point, Vec2};
use crate::measure::ap::{ap_body_map, read_ap};
use crate::measure::body::{BodyPoint, Border};
use crate::measure::mark::{Marks, PatientRight, Side, Stage, View};
use crate::measure::reading::MidlineBy;
use crate::measure::settings::{Rule, Settings};
use crate::scene::body_map::above;
use crate::scene::body_map::front::{BodyFromFront, FrontPedicle, pedicle_shape, spinous_outline};
use crate::scene::body_map::parts::{bone, borders};
use crate::scene::drawing::primitive::fit;
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Rect, Role, Scene};
use crate::scene::format;
use crate::scene::lesson::board::{Board, WIDTH};
use crate::scene::lesson::typical;
use crate::scene::overlay::{Layer, LayerSet};
use crate::scene::words::reading::midline_by;

const LEFT: (AlignX, AlignY) = (AlignX::Left, AlignY::Middle);
const RIGHT: (AlignX, AlignY) = (AlignX::Right, AlignY::Middle);
const CENTRED: (AlignX, AlignY) = (AlignX::Middle, AlignY::Middle);

/// An AP body with everything that is marked on it by name.
#[must_use]
pub fn where_to_click() -> Scene {
    let mut board = Board::new(404.0);
    let room = Rect::new(170.0, 84.0, 550.0, 330.0);
    let Some(body) = BodyFromFront::typical(PatientRight::ImageLeft, None, room) else { return board.scene };
    let map = &body.map;
    let at = |across: f64, height: f64| map.to_image(BodyPoint::new(across, height));
    bone(&mut board.scene, map);
    if let Some(spinous) = body.spinous {
        board.scene.outline(spinous_outline(map, spinous), Role::Neighbour);
        for across in spinous.borders {
            board.scene.marker(at(across, spinous.height), Glyph::Ring, Role::Handle);
        }
        let place = at(spinous.borders[1], spinous.height);
        let words = Point::new(566.0, place.y + 10.0);
        board.words(words, LEFT, "spinous process,", Role::Text);
        board.words(words + Vec2::new(0.0, 17.0), LEFT, "both its borders", Role::Text);
        board.leader(words + Vec2::new(-5.0, 0.0), place);
    }
    borders(&mut board.scene, map);
    for pedicle in &body.pedicles {
        pedicle_shape(&mut board.scene, map, *pedicle, Role::Pedicle);
        let FrontPedicle { lateral, medial, height, .. } = *pedicle;
        for across in [lateral, medial] {
            board.scene.marker(at(across, height), Glyph::Ring, Role::Handle);
        }
    }
    for border in [Border::Superior, Border::Inferior, Border::Start, Border::End] {
        let t = if border == Border::Start || border == Border::End { 0.62 } else { 0.5 };
        board.scene.marker(map.border(border, t), Glyph::Ring, Role::Handle);
    }
    for (across, height) in [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)] {
        board.scene.marker(at(across, height), Glyph::Target, Role::Accent);
    }
    names(&mut board, &body);
    let y = 386.0;
    board.scene.marker(Point::new(150.0, y), Glyph::Target, Role::Accent);
    board.words(Point::new(162.0, y), LEFT, "end of an endplate, always required", Role::WeakText);
    board.scene.marker(Point::new(396.0, y), Glyph::Ring, Role::Handle);
    board.words(Point::new(408.0, y), LEFT, "improves the reading, optional", Role::WeakText);
    board.scene
}

fn names(board: &mut Board, body: &BodyFromFront) {
    let map = &body.map;
    let at = |across: f64, height: f64| map.to_image(BodyPoint::new(across, height));
    let plate = map.border(Border::Superior, 0.5);
    board.words(Point::new(plate.x, 30.0), CENTRED, "superior endplate", Role::Text);
    let more = "from end to end, where endplate and wall meet; in either order";
    board.words(Point::new(plate.x, 47.0), CENTRED, more, Role::WeakText);
    board.leader(Point::new(plate.x, 57.0), plate);
    let plate = map.border(Border::Inferior, 0.5);
    board.words(Point::new(plate.x, plate.y + 44.0), CENTRED, "inferior endplate", Role::Text);
    board.leader(Point::new(plate.x, plate.y + 34.0), plate);
    let wall = map.border(Border::End, 0.62);
    board.words(Point::new(566.0, wall.y - 22.0), LEFT, "wall, mid-height", Role::Text);
    board.leader(Point::new(561.0, wall.y - 20.0), wall);
    for pedicle in &body.pedicles {
        let FrontPedicle { side, lateral, medial, height } = *pedicle;
        let right = side == Some(Side::Right);
        let (x, align, beside) = if right { (152.0, RIGHT, 5.0) } else { (566.0, LEFT, -5.0) };
        if right {
            for (across, y, words) in [(lateral, 122.0, "lateral border"), (medial, 158.0, "medial border")] {
                let words_at = Point::new(x, y);
                board.words(words_at, align, words, Role::Text);
                board.leader(words_at + Vec2::new(beside, 0.0), at(across, height));
            }
            board.words(Point::new(x, 140.0), align, "of the pedicle", Role::WeakText);
        } else {
            board.words(Point::new(x, 112.0), align, "the other pedicle", Role::Text);
            board.words(Point::new(x, 129.0), align, "the same", Role::WeakText);
            board.leader(Point::new(x + beside, 114.0), at(lateral, height));
        }
    }
    let y = at(0.0, 1.0).y + 44.0;
    board.words(Point::new(at(0.0, 1.0).x, y), CENTRED, "patient’s right", Role::WeakText);
    board.words(Point::new(at(1.0, 1.0).x, y), CENTRED, "patient’s left", Role::WeakText);
}

/// Marks in millimetres carried into a drawing.
fn placed(marks: &Marks, room: Rect) -> Option<Marks> {
    let bounds = Rect::around(marks.placed().map(|(_, p)| p))?;
    let (scale, origin) = fit(bounds, room);
    Some(marks.map(|p| origin + p.to_vec() * scale))
}

/// One tip against the three midlines of a body whose spinous process deviates.
#[must_use]
pub fn midlines() -> Scene {
    let mut board = Board::new(360.0);
    let settings = Settings::default();
    let Some(marks) = typical::ap_marks(0.52, 0.5, 0.07) else { return board.scene };
    let reading = read_ap(&typical::input(View::Ap, &marks, Some(Stage::Final), &settings));
    let best = reading.midline_by.best().map(|(by, _)| by);
    let offsets = [
        (MidlineBy::Pedicles, reading.midline_by.pedicles.clone()),
        (MidlineBy::SpinousProcess, reading.midline_by.spinous_process.clone()),
        (MidlineBy::Body, reading.midline_by.body.clone()),
    ];
    let reading = ShotReading::Ap(Box::new(reading));
    let Some(marks) = placed(&marks, Rect::new(40.0, 60.0, 424.0, 290.0)) else { return board.scene };
    let Ok(map) = ap_body_map(&marks, Some(Side::Right), None) else { return board.scene };
    bone(&mut board.scene, &map);
    let shown = typical::input(View::Ap, &marks, Some(Stage::Final), &settings);
    let layers = LayerSet::all().without(Layer::Ruler).without(Layer::HeightBand);
    let over = typical::overlay(&shown, Some(&map), Some(&reading), layers, board.scene.bounds);
    board.put(Point::new(0.0, 0.0), over);
    let x = 470.0;
    board.title(Point::new(x, 38.0), "one tip, three midlines");
    let mut y = 78.0;
    for (by, offset) in offsets {
        let Some(offset) = offset else { continue };
        let strong = Some(by) == best;
        let role = if strong { Role::Midline } else { Role::OtherMidline };
        board.scene.line(vec![Point::new(x, y), Point::new(x + 34.0, y)], role);
        board.number(Point::new(x + 46.0, y), LEFT, &format::coordinate(Rule::Midline, &offset), Role::Text);
        let words = if strong { ", reference" } else { "" };
        let words = format!("{}{words}", midline_by(by));
        board.words(Point::new(x + 46.0, y + 18.0), LEFT, &words, Role::WeakText);
        y += 48.0;
    }
    board.paragraph(
        Point::new(x, y + 4.0),
        WIDTH - x - 24.0,
        AlignX::Left,
        "Here only the spinous process deviates. The three are never averaged, and their difference is not called rotation.",
        Role::WeakText,
    );
    let note = "Everything is compared in the coordinates of the body: the lines follow its shape.";
    board.words(Point::new(40.0, 336.0), LEFT, note, Role::WeakText);
    board.scene
}

/// Seen from above: a ray turned against the body moves what lies behind against what lies in front.
#[must_use]
pub fn lever() -> Scene {
    const TURN_DEG: f64 = 8.0;
    let mut board = Board::new(400.0);
    let room = Rect::new(60.0, 44.0, 380.0, 330.0);
    let Some(body) = above::BodyFromAbove::typical(PatientRight::ImageLeft, Some(Side::Right), room) else {
        return board.scene;
    };
    body.inside(&mut board.scene);
    body.outline(&mut board.scene);
    let at = |across: f64, depth: f64| body.map.to_image(BodyPoint::new(across, depth));
    // The tip, the pedicles' medial borders and the back of the spinous process, as drawn, all truly in the midline
    // or about it.
    let (tip, spinous) = (at(0.5, 0.40), at(0.5, -0.80));
    let medial = [at(0.24, -0.15), at(0.76, -0.15)];
    let detector = 362.0;
    let tan = TURN_DEG.to_radians().tan();
    let seen = |p: Point| Point::new(p.x + (detector - p.y) * tan, detector);
    for p in [tip, spinous, medial[0], medial[1]] {
        board.scene.line(vec![p, seen(p)], Role::Leader);
    }
    board.scene.line(vec![Point::new(60.0, detector), Point::new(420.0, detector)], Role::Frame);
    board.words(Point::new(60.0, detector + 16.0), LEFT, "picture", Role::WeakText);
    for p in medial {
        board.scene.marker(p, Glyph::Ring, Role::Handle);
        board.scene.marker(seen(p), Glyph::Ring, Role::Handle);
    }
    board.scene.marker(spinous, Glyph::Plus, Role::Text);
    board.scene.marker(seen(spinous), Glyph::Plus, Role::Text);
    board.scene.marker(tip, Glyph::Disc, Role::Tip);
    board.scene.marker(seen(tip), Glyph::Disc, Role::Tip);
    let width = (at(1.0, 0.5).x - at(0.0, 0.5).x).abs();
    let middle = seen(medial[0]).midpoint(seen(medial[1]));
    let x = 456.0;
    board.title(Point::new(x, 44.0), "a rotated beam, seen from superior");
    let mut y = 84.0;
    for (glyph, role, words, from) in [
        (Glyph::Ring, Role::Handle, "by the pedicles", middle),
        (Glyph::Plus, Role::Text, "by the spinous process", seen(spinous)),
    ] {
        board.scene.marker(Point::new(x + 6.0, y), glyph, role);
        board.words(Point::new(x + 20.0, y), LEFT, words, Role::Text);
        let offset = (seen(tip).x - from.x) / width;
        board.number(Point::new(x + 20.0, y + 20.0), LEFT, &format::signed_percent(offset), Role::Text);
        board.words(
            Point::new(x + 74.0, y + 20.0),
            LEFT,
            "of the width, from the rotation alone",
            Role::WeakText,
        );
        y += 54.0;
    }
    board.paragraph(
        Point::new(x, y),
        WIDTH - x - 24.0,
        AlignX::Left,
        &format!(
            "The tip is truly in the midline; the beam is drawn rotated by {}. The farther a landmark lies posterior to the tip, the more a rotation shifts one against the other. This is why the pedicles are preferred to the spinous process, and why the matched lateral, which gives the depth, reduces the uncertainty of an AP reading.",
            format::degrees(TURN_DEG)
        ),
        Role::WeakText,
    );
    board.scene
}
