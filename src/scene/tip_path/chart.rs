//! Depth, height and mediolateral position over the shots of a run, as lines with their 95 % intervals and the target's bands.

use crate::geom::point::Point;
use crate::measure::mark::Stage;
use crate::measure::quantity::Z95;
use crate::measure::settings::{Band, Rule, Settings};
use crate::scene::body_map::{Coordinate, Position};
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Rect, Role, Scene, Space, Text};
use crate::scene::drawing::theme::space;
use crate::scene::format;
use crate::scene::overlay::shown_band;
use crate::scene::tip_path::TipRun;

/// Room for the numbers on the left, and for the names above and the numbers below, in points.
const LEFT: f64 = 40.0;
const ABOVE: f64 = 20.0;
const BELOW: f64 = 20.0;
/// The least that a line's room spans, in fractions.
const SPAN: (f64, f64) = (0.0, 1.0);
/// Steps of the level lines, in fractions.
const STEP: f64 = 0.25;

/// One of the lines.
struct Line {
    name: &'static str,
    /// Its name as a sentence begins.
    capital: &'static str,
    pick: fn(&Position) -> Option<Coordinate>,
    band: Option<(Rule, Role)>,
}

const LINES: [Line; 3] = [
    Line { name: "depth", capital: "Depth", pick: |p| p.depth, band: Some((Rule::Depth, Role::DepthBand)) },
    Line {
        name: "height",
        capital: "Height",
        pick: |p| p.height,
        band: Some((Rule::Height, Role::HeightBand)),
    },
    Line { name: "mediolateral", capital: "Mediolateral", pick: |p| p.across, band: None },
];

/// The three lines beside each other in a drawing of this size, with a sentence for those who cannot see it.
#[must_use]
pub fn chart(way: &TipRun, settings: &Settings, size: (f64, f64)) -> (Scene, String) {
    let mut scene = Scene::new(Space::Points, Rect::new(0.0, 0.0, size.0, size.1));
    let mut sentences = Vec::new();
    let width = (size.0 - 2.0 * space::S4) / 3.0;
    for (line, x) in LINES.iter().zip([0.0, width + space::S4, 2.0 * (width + space::S4)]) {
        let room = Rect::new(x + LEFT, ABOVE, x + width - space::S2, size.1 - BELOW);
        draw(&mut scene, way, settings, line, room);
        sentences.push(words(way, line));
    }
    (scene, sentences.join(" "))
}

fn words(way: &TipRun, line: &Line) -> String {
    let values: Vec<String> = way
        .moments
        .iter()
        .filter_map(|m| {
            let value = (line.pick)(&m.stop.position)?.value;
            let words = line
                .band
                .map_or_else(|| format::percent(value), |(rule, _)| format::coordinate_value(rule, value));
            Some(format!("{}: {words}", m.stop.number))
        })
        .collect();
    let values = if values.is_empty() { "not known".to_owned() } else { values.join(", ") };
    format!("{} by shot: {values}.", line.capital)
}

fn draw(scene: &mut Scene, way: &TipRun, settings: &Settings, line: &Line, room: Rect) {
    let known: Vec<(usize, Coordinate)> = way
        .moments
        .iter()
        .enumerate()
        .filter_map(|(i, m)| Some((i, (line.pick)(&m.stop.position)?)))
        .collect();
    let reach = |c: &Coordinate, sign: f64| c.value + sign * Z95 * c.sd;
    let low = known.iter().map(|(_, c)| reach(c, -1.0)).fold(SPAN.0, f64::min);
    let high = known.iter().map(|(_, c)| reach(c, 1.0)).fold(SPAN.1, f64::max);
    let (low, high) = ((low / STEP).floor() * STEP, (high / STEP).ceil() * STEP);
    let y = |value: f64| room.max.y - (value - low) / (high - low) * room.height();
    #[expect(clippy::cast_precision_loss, reason = "a number of shots")]
    let x = |i: usize| {
        let n = way.moments.len().max(1) as f64;
        room.min.x + (i as f64 + 0.5) / n * room.width()
    };
    let across = |value: f64| vec![Point::new(room.min.x, y(value)), Point::new(room.max.x, y(value))];
    if let Some((rule, role)) = line.band
        && let Some(Band { low, high }) = shown_band(settings, Some(Stage::Final), rule)
    {
        scene.strip(across(low), across(high), role);
        scene.line(across(low), role);
        scene.line(across(high), role);
    }
    let mut level = low;
    while level <= high + 1e-9 {
        scene.line(across(level), Role::Frame);
        let at = Point::new(room.min.x - space::S1, y(level));
        scene.text(
            Text::new(at, format::percent(level), Role::WeakText).aligned(AlignX::Right, AlignY::Middle),
        );
        level += STEP;
    }
    scene.text(
        Text::new(Point::new(room.min.x, 0.5 * ABOVE), line.name, Role::Text)
            .aligned(AlignX::Left, AlignY::Middle),
    );
    for (i, moment) in way.moments.iter().enumerate() {
        let at = Point::new(x(i), room.max.y + 0.5 * BELOW);
        let text = Text::new(at, moment.stop.number.to_string(), Role::WeakText);
        scene.text(text.aligned(AlignX::Middle, AlignY::Middle));
    }
    scene.line(known.iter().map(|(i, c)| Point::new(x(*i), y(c.value))).collect(), Role::Tip);
    for (i, c) in &known {
        scene.line([-1.0, 1.0].map(|sign| Point::new(x(*i), y(reach(c, sign)))).to_vec(), Role::Tip);
        scene.marker(Point::new(x(*i), y(c.value)), Glyph::Disc, Role::Tip);
    }
}
