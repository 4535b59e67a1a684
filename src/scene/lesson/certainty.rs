//! How sure a reading is, and what follows for the verdict.

use crate::geom::point::{Point, Vec2};
use crate::measure::body::BodyMap;
use crate::measure::lateral::read_lateral;
use crate::measure::mark::{Stage, View};
use crate::measure::quantity::{Budget, Quantity, Z95};
use crate::measure::settings::{Band, Rule, Settings};
use crate::measure::verdict::Verdict;
use crate::scene::body_map::parts::{borders, carried};
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Rect, Role, Scene};
use crate::scene::drawing::theme::state_sign;
use crate::scene::format;
use crate::scene::lesson::board::{Board, PlacedBody, WIDTH};
use crate::scene::lesson::typical;
use crate::scene::overlay::body_lines;

const LEFT: (AlignX, AlignY) = (AlignX::Left, AlignY::Middle);
const CENTRED: (AlignX, AlignY) = (AlignX::Middle, AlignY::Middle);

/// The uncertainty of the depth of a tip in the typical body on a calibrated final shot.
fn budget_of(depth: f64, height: f64) -> Option<Budget> {
    let marks = typical::lateral_marks(depth, height)?;
    let settings = Settings::default();
    let input = typical::input(View::Lateral, &marks, Some(Stage::Final), &settings);
    read_lateral(&input).tip.map(|tip| tip.along.budget)
}

/// The three parts of the uncertainty, and their sum in quadrature for a typical reading.
#[must_use]
pub fn three_parts() -> Scene {
    let mut board = Board::new(470.0);
    let settings = Settings::default();
    let radius = (-2.0 * 0.05_f64.ln()).sqrt();
    let width = 208.0;
    let columns = [
        ("bone", "how each border is marked", "SD 0.5 mm; 95 % of clicks fall within the circles"),
        ("metal", "how the tip is marked", "0.25 mm: metal has a sharp edge"),
        ("view", "how the beam passes the body", "undetected rotation up to ± 1.4°; drawn ten times larger"),
    ];
    for (i, (name, what, more)) in columns.into_iter().enumerate() {
        let x = 24.0 + f64::from(u32::try_from(i).unwrap_or(0)) * (width + 24.0);
        board.title(Point::new(x, 14.0), name);
        board.paragraph(Point::new(x, 36.0), width, AlignX::Left, what, Role::Text);
        board.paragraph(Point::new(x, 53.0), width, AlignX::Left, more, Role::WeakText);
        let Some(body) = PlacedBody::new(Rect::new(x, 104.0, x + width, 250.0)) else { continue };
        let tip = body.at(0.38, 0.53);
        if name == "view" {
            turned(&mut board, &body);
        } else {
            board.body(&body);
        }
        match name {
            "bone" => {
                for &at in body.outline.first[0].iter().chain(&body.outline.first[1]) {
                    board.circle(at, radius * settings.bone_sd_mm * body.scale, Role::Accent);
                }
                let walls = [&body.outline.first[2], &body.outline.first[3]];
                for &at in walls.into_iter().flat_map(|w| w.get(1..w.len() - 1).unwrap_or(&[])) {
                    board.circle(at, radius * settings.bone_sd_mm * body.scale, Role::Accent);
                }
            }
            "metal" => {
                let PlacedBody { scale, .. } = body;
                board.scene.line(vec![body.at(-0.3, 0.2), body.at(0.08, 0.42), tip], Role::Cannula);
                board.circle(tip, radius * settings.metal_sd_mm * scale, Role::Accent);
            }
            _ => {}
        }
        if name != "metal" {
            board.scene.marker(tip, Glyph::Disc, Role::Tip);
        }
    }
    if let Some(budget) = budget_of(0.38, 0.53) {
        sum(&mut board, budget);
    }
    board.scene
}

/// The body, and the same body with its two sides apart, as a turned ray shows it.
fn turned(board: &mut Board, body: &PlacedBody) {
    board.inside(body);
    // Half the distance of the two contours of each wall: its margin's distance from the middle plane (12 mm
    // behind, 4 mm in front) times the sine of the turn.
    let turn = 10.0 * 1.4_f64.to_radians().sin();
    for side in [-1.0, 1.0] {
        let place = |p: Point| {
            let u = body.map.to_body(p).map_or(0.5, |at| at.along.clamp(0.0, 1.0));
            let off = 12.0 * (1.0 - u) + 4.0 * u;
            p + Vec2::new(side * turn * off * body.scale, 0.0)
        };
        let outline = carried(&body.outline, &place);
        if let Ok(map) = BodyMap::new(&outline) {
            for border in crate::measure::body::Border::ALL {
                board.scene.line(body_lines::border(&map, border), Role::SecondContour);
            }
        }
    }
    borders(&mut board.scene, &body.map);
}

/// Bars of the three parts and of their sum, in percent points of the depth.
fn sum(board: &mut Board, budget: Budget) {
    let (x, bar_x, per_point) = (24.0, 150.0, 120.0);
    board.title(Point::new(x, 284.0), "combined, for the depth of a typical reading");
    let rows = [
        ("bone", budget.bone, Role::Accent),
        ("metal", budget.metal, Role::Accent),
        ("view", budget.of_view(), Role::Accent),
        ("in quadrature", budget.sd(), Role::Text),
    ];
    for (i, (name, sd, role)) in rows.into_iter().enumerate() {
        let y = 324.0 + f64::from(u32::try_from(i).unwrap_or(0)) * 26.0;
        board.words(
            Point::new(x, y),
            LEFT,
            name,
            if role == Role::Text { Role::Text } else { Role::WeakText },
        );
        let end = bar_x + 100.0 * sd * per_point;
        let p = Point::new;
        board.scene.strip(
            vec![p(bar_x, y - 6.0), p(end, y - 6.0)],
            vec![p(bar_x, y + 6.0), p(end, y + 6.0)],
            role,
        );
        board
            .scene
            .outline(vec![p(bar_x, y - 6.0), p(end, y - 6.0), p(end, y + 6.0), p(bar_x, y + 6.0)], role);
        board.number(p(end + 10.0, y), LEFT, &format::budget_part(sd), Role::Text);
    }
    let quantity = Quantity { value: 0.38, budget, influences: Vec::new(), monte_carlo: None };
    let y = 438.0;
    board.words(
        Point::new(x, y),
        LEFT,
        "standard uncertainties in percentage points; the 95 % interval extends 1.96 times as far to either side:",
        Role::WeakText,
    );
    board.number(
        Point::new(WIDTH - 24.0, y),
        (AlignX::Right, AlignY::Middle),
        &format::percent_of(&quantity),
        Role::Text,
    );
}

/// Intervals against a band: inside, too close to call, outside.
#[must_use]
pub fn verdicts() -> Scene {
    let mut board = Board::new(330.0);
    let band = Band::new(0.30, 0.50);
    let (x0, x1) = (40.0, 336.0);
    let x = |fraction: f64| x0 + (fraction - 0.20) / 0.45 * (x1 - x0);
    let (top, bottom) = (46.0, 280.0);
    let p = Point::new;
    let edge = |fraction: f64| vec![p(x(fraction), top), p(x(fraction), bottom)];
    board.scene.strip(edge(band.low), edge(band.high), Role::DepthBand);
    for fraction in [band.low, band.high] {
        board.scene.line(edge(fraction), Role::DepthBand);
    }
    board.words(p(x(band.middle()), 28.0), CENTRED, "target", Role::DepthBand);
    board.scene.line(vec![p(x0, bottom), p(x1, bottom)], Role::Ruler);
    for tenth in 2..=6 {
        let fraction = f64::from(tenth) / 10.0;
        board.scene.line(vec![p(x(fraction), bottom), p(x(fraction), bottom + 6.0)], Role::Ruler);
        board.words(p(x(fraction), bottom + 17.0), CENTRED, &format::percent(fraction), Role::WeakText);
    }
    board.words(p(x(0.425), bottom + 38.0), CENTRED, "depth", Role::WeakText);
    for (i, (value, sd)) in [(0.40, 0.02), (0.48, 0.02), (0.52, 0.02), (0.57, 0.02)].into_iter().enumerate() {
        let y = 78.0 + f64::from(u32::try_from(i).unwrap_or(0)) * 54.0;
        let verdict = Verdict::on_band(Rule::Depth, band, value, sd);
        let (role, glyph) = state_sign(verdict.state);
        let (low, high) = (value - Z95 * sd, value + Z95 * sd);
        board.scene.line(vec![p(x(low), y), p(x(high), y)], Role::Text);
        for end in [low, high] {
            board.scene.line(vec![p(x(end), y - 5.0), p(x(end), y + 5.0)], Role::Text);
        }
        board.scene.marker(p(x(value), y), Glyph::Disc, Role::Text);
        board.scene.marker(p(384.0, y - 9.0), glyph, role);
        board.words(p(400.0, y - 9.0), LEFT, format::state(verdict.state), Role::Text);
        board.words(p(400.0, y + 9.0), LEFT, &by_number(&verdict), Role::WeakText);
    }
    board.scene
}

fn by_number(verdict: &Verdict) -> String {
    format!(
        "the number is {}; inside with {}",
        format::nominal(verdict.nominal),
        format::probability(verdict.p_inside)
    )
}
