//! Differences of two readings against their mean (Bland and Altman 1986), with bias and limits of agreement.

use crate::geom::point::Point;
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Rect, Role, Scene, Space, Text, TextSize};
use crate::scene::drawing::type_metrics::width;
use crate::scene::format;
use crate::scene::plot::spread;
use crate::stats::agreement::Agreement;

/// Room on the left for the numbers of the axis, in points.
const LEFT: f64 = 56.0;
/// Between the plot and the words at its lines, and behind these.
const BESIDE: f64 = 6.0;
/// Room above and below.
const TOP: f64 = 30.0;
const BOTTOM: f64 = 44.0;
/// Height of a line of words.
const LINE: f64 = 16.0;
/// Dashes of a limit, on and off.
const DASH: (f64, f64) = (6.0, 4.0);

/// What the plot says of its axes.
#[derive(Clone, Debug, PartialEq)]
pub struct AxisWords {
    /// What was read, with its unit: `Depth, % of the body's depth`.
    pub what: String,
    /// The first reading.
    pub first: String,
    /// The second, which is taken from the first.
    pub second: String,
}

/// The plot, of this width and height in points. Readable in grey: the bias is a full line, the limits are dashed, their
/// exact intervals are strips.
#[must_use]
pub fn agreement_plot(pairs: &[(f64, f64)], found: &Agreement, words: &AxisWords, size: (f64, f64)) -> Scene {
    let mut scene = Scene::new(Space::Points, Rect::new(0.0, 0.0, size.0, size.1));
    let named =
        [("upper limit", found.upper.value), ("bias", found.bias.value), ("lower limit", found.lower.value)];
    let said = named.map(|(name, value)| format!("{name} {}", format::measured_briefly(value)));
    let words_wide = said.iter().map(|words| width(words, TextSize::Small)).fold(0.0, f64::max);
    let right = words_wide + 2.0 * BESIDE;
    let room = Rect::new(LEFT, TOP, (size.0 - right).max(LEFT + 10.0), (size.1 - BOTTOM).max(TOP + 10.0));
    let points: Vec<Point> = pairs.iter().map(|(a, b)| Point::new(0.5 * (a + b), a - b)).collect();
    let ends = [found.lower.exact.0, found.upper.exact.1, found.lower.value, found.upper.value, 0.0];
    let across = DifferenceAxis::holding(points.iter().map(|p| p.x), (room.min.x, room.max.x));
    let up = DifferenceAxis::holding(
        points.iter().map(|p| p.y).chain(ends.into_iter().filter(|y| y.is_finite())),
        (room.max.y, room.min.y),
    );
    let text =
        |at: Point, words: &str, align| Text::new(at, words, Role::WeakText).aligned(align, AlignY::Middle);
    for value in across.ticks() {
        let x = across.at(value);
        scene.line(vec![Point::new(x, room.max.y), Point::new(x, room.max.y + 4.0)], Role::Ruler);
        scene.text(text(Point::new(x, room.max.y + 14.0), &format::tick(value, across.step), AlignX::Middle));
    }
    for value in up.ticks() {
        let y = up.at(value);
        scene.line(vec![Point::new(room.min.x - 4.0, y), Point::new(room.min.x, y)], Role::Ruler);
        scene.text(text(Point::new(room.min.x - 8.0, y), &format::tick(value, up.step), AlignX::Right));
    }
    scene.outline(
        vec![room.min, Point::new(room.max.x, room.min.y), room.max, Point::new(room.min.x, room.max.y)],
        Role::Frame,
    );
    let level = |y: f64| (Point::new(room.min.x, up.at(y)), Point::new(room.max.x, up.at(y)));
    for limit in [&found.lower, &found.upper] {
        if limit.exact.0.is_finite() && limit.exact.1.is_finite() {
            let (a, b) = (level(limit.exact.0), level(limit.exact.1));
            scene.strip(vec![a.0, a.1], vec![b.0, b.1], Role::DepthBand);
        }
    }
    let zero = level(0.0);
    scene.line(vec![zero.0, zero.1], Role::Frame);
    let bias = level(found.bias.value);
    scene.line(vec![bias.0, bias.1], Role::Accent);
    for limit in [&found.lower, &found.upper] {
        let (from, to) = level(limit.value);
        let mut x = from.x;
        while x < to.x {
            let end = (x + DASH.0).min(to.x);
            scene.line(vec![Point::new(x, from.y), Point::new(end, from.y)], Role::Accent);
            x += DASH.0 + DASH.1;
        }
    }
    for p in &points {
        scene.marker(Point::new(across.at(p.x), up.at(p.y)), Glyph::Ring, Role::Text);
    }
    let right = room.max.x + BESIDE;
    let own = named.map(|(_, value)| up.at(value));
    // Limits close to the bias have their words apart all the same.
    let places = spread(&own, LINE, (room.min.y, room.max.y)).unwrap_or_else(|| own.to_vec());
    for (words, y) in said.iter().zip(places) {
        scene.text(text(Point::new(right, y), words, AlignX::Left));
    }
    let head = format!("{}: {} − {}", words.what, words.first, words.second);
    let head = if width(&head, TextSize::Small) > size.0 {
        format!("{}: first − second", words.what)
    } else {
        head
    };
    scene.text(Text::new(Point::new(4.0, 4.0), head, Role::Text).aligned(AlignX::Left, AlignY::Top));
    let below = Point::new(0.5 * (room.min.x + room.max.x), size.1 - 4.0);
    scene.text(Text::new(below, "mean of the two", Role::WeakText).aligned(AlignX::Middle, AlignY::Bottom));
    scene
}

/// An axis from a value to another, drawn from a place to another.
struct DifferenceAxis {
    values: (f64, f64),
    places: (f64, f64),
    step: f64,
}

impl DifferenceAxis {
    /// An axis that holds these values with a little room on both sides.
    fn holding(values: impl Iterator<Item = f64>, places: (f64, f64)) -> Self {
        let (low, high) =
            values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| (low.min(x), high.max(x)));
        let (low, high) = if low > high { (0.0, 1.0) } else { (low, high) };
        let room = (0.06 * (high - low)).max(1e-6 * low.abs().max(high.abs())).max(1e-9);
        let values = (low - room, high + room);
        let rough = (values.1 - values.0) / 5.0;
        let power = 10.0_f64.powf(rough.log10().floor());
        let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * power).find(|s| *s >= rough);
        Self { values, places, step: step.unwrap_or(rough) }
    }

    fn at(&self, value: f64) -> f64 {
        let share = (value - self.values.0) / (self.values.1 - self.values.0);
        self.places.0 + share * (self.places.1 - self.places.0)
    }

    fn ticks(&self) -> Vec<f64> {
        let first = (self.values.0 / self.step).ceil() * self.step;
        (0..12).map(|i| first + f64::from(i) * self.step).take_while(|x| *x <= self.values.1).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::drawing::shape::Shape;
    use crate::stats::agreement::agreement;

    #[test]
    fn every_pair_is_a_ring_at_its_place_and_the_lines_have_their_words() {
        let pairs = [(40.0, 41.0), (50.0, 48.0), (45.0, 45.5), (38.0, 38.0)];
        let found = agreement(&pairs.map(|(a, b)| a - b)).unwrap();
        let words = AxisWords { what: "Depth, %".into(), first: "R1".into(), second: "R2".into() };
        let scene = agreement_plot(&pairs, &found, &words, (400.0, 260.0));
        let rings: Vec<Point> = scene
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Marker { at, .. } => Some(*at),
                _ => None,
            })
            .collect();
        assert_eq!(rings.len(), 4);
        // A larger mean lies further right, a larger difference higher up.
        assert!(rings[1].x > rings[0].x && rings[1].y < rings[0].y);
        assert!(rings.iter().all(|p| scene.bounds.contains(*p)));
        let said = |words: &str| {
            scene.shapes.iter().any(|shape| matches!(shape, Shape::Text(text) if text.words.contains(words)))
        };
        assert!(said("bias") && said("upper limit") && said("lower limit") && said("R1 − R2"));
    }

    #[test]
    fn the_same_readings_twice_are_drawn_too() {
        let pairs = [(40.0, 40.0), (40.0, 40.0)];
        let found = agreement(&[0.0, 0.0]).unwrap();
        let words = AxisWords { what: "Depth".into(), first: "a".into(), second: "b".into() };
        let scene = agreement_plot(&pairs, &found, &words, (300.0, 200.0));
        for shape in &scene.shapes {
            if let Shape::Line { points, .. } = shape {
                assert!(points.iter().all(|p| p.is_finite()), "{points:?}");
            }
        }
    }
}
