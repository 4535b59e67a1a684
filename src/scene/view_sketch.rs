//! How the C-arm stood: small drawings of it from above and from the side, with the angle between its ray and that of a true
//! view, and the range that holds that angle with 95 % probability.

use crate::case::readings::ShotReading;
use crate::geom::point::{Point, Vec2};
use crate::measure::quantity::Z95;
use crate::measure::reading::{ApReading, LateralReading};
use crate::measure::true_view::view::Angle;
use crate::scene::body_map::Described;
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Rect, Role, Scene, Space, Text, TextSize};
use crate::scene::drawing::theme::{Theme, space};
use crate::scene::drawing::type_metrics::width;
use crate::scene::words::true_view::angle as angle_words;

/// Points of a curved line.
const STEPS: u32 = 32;
/// Depth over width of the body from above, and its height over its depth from the side.
const FLAT: f64 = 0.72;

/// What is drawn.
#[derive(Clone, Copy, Debug)]
struct Sketch {
    /// `from above`.
    name: &'static str,
    angle: Angle,
    /// Whether the direction of the angle is not known.
    either_way: bool,
    /// The ray of a true view, from the tube to the detector.
    ray: Vec2,
    /// A round body, with its arch behind it, or an upright one.
    above: bool,
}

/// The drawings of a shot's C-arm, each of this size, from above and then from the side; none where nothing is known.
#[must_use]
pub fn of_shot(reading: &ShotReading, size: (f64, f64)) -> Vec<Described> {
    match reading {
        ShotReading::Lateral(reading) => of_lateral(reading, size),
        ShotReading::Ap(reading) => of_ap(reading, size),
        ShotReading::Pedicle(_) => Vec::new(),
    }
}

/// The same of a lateral: from above, then from the front.
pub(crate) fn of_lateral(reading: &LateralReading, size: (f64, f64)) -> Vec<Described> {
    let Some(view) = &reading.true_view else { return Vec::new() };
    let across = Vec2::new(1.0, 0.0);
    let sketch = |name, angle, either_way, above| Sketch { name, angle, either_way, ray: across, above };
    let both =
        [sketch("from above", view.turn_abs, true, true), sketch("from the front", view.tilt, false, false)];
    both.map(|sketch| sketch.drawn(size)).to_vec()
}

/// The same of an AP: from above, then from the side.
pub(crate) fn of_ap(reading: &ApReading, size: (f64, f64)) -> Vec<Described> {
    let Some(view) = &reading.true_view else { return Vec::new() };
    let sketch = |name, angle, ray, above| Sketch { name, angle, either_way: false, ray, above };
    let turn = view.turn.map(|turn| sketch("from above", turn, Vec2::new(0.0, 1.0), true));
    let tilt = view.tilt.map(|tilt| sketch("from the side", tilt, Vec2::new(1.0, 0.0), false));
    turn.into_iter().chain(tilt).map(|sketch| sketch.drawn(size)).collect()
}

/// An AP's C-arm from above and from the side in two rooms of a scene, for the manual.
pub(crate) fn ap_in(scene: &mut Scene, [above, side]: [Rect; 2], turn: Angle, tilt: Angle) {
    let sketch = |name, angle, ray, above| Sketch { name, angle, either_way: false, ray, above };
    sketch("from above", turn, Vec2::new(0.0, 1.0), true).draw(scene, above);
    sketch("from the side", tilt, Vec2::new(1.0, 0.0), false).draw(scene, side);
}

impl Sketch {
    fn drawn(self, (width, height): (f64, f64)) -> Described {
        let room = Rect::new(0.0, 0.0, width, height);
        let mut scene = Scene::new(Space::Points, room);
        self.draw(&mut scene, room);
        let direction = if self.either_way { " to either side" } else { "" };
        let words = format!(
            "The C-arm {}: its ray lies {}{direction} off that of a true view.",
            self.name,
            angle_words(self.angle)
        );
        Described { scene, words }
    }

    fn draw(self, scene: &mut Scene, at: Rect) {
        let (size, small) = (Theme::points(TextSize::Small), TextSize::Small);
        let [name, angle] = self.caption();
        // Where there is room the words stand beside the drawing, else below it.
        let longest = [&name, &angle].map(|words| width(words, small)).into_iter().fold(0.0, f64::max);
        let beside = at.height() + space::S2 + longest <= at.width() + space::S1;
        let (high, line) = (if beside { at.height() } else { at.height() - space::S4 }, 1.3 * size);
        let radius = 0.5 * (high.min(at.width()) - 2.0 * space::S1).max(1.0);
        let x = if beside { at.min.x + radius + space::S1 } else { at.centre().x };
        let centre = Point::new(x, at.min.y + 0.5 * high);
        if beside {
            for (words, y) in [(name, -0.5 * line), (angle, 0.5 * line)] {
                let to = centre + Vec2::new(radius + space::S2, y);
                let text = Text::new(to, words, Role::Text).aligned(AlignX::Left, AlignY::Middle);
                scene.text(text.sized(small));
            }
        } else {
            let words = Text::new(Point::new(x, at.max.y), format!("{name}: {angle}"), Role::Text);
            scene.text(words.aligned(AlignX::Middle, AlignY::Bottom).sized(small));
        }
        self.body(scene, centre, 0.42 * radius);
        // A true view's ray, and the fan of those that the marks allow.
        let ends = |deg: f64| {
            let way = turned(self.ray, deg) * radius;
            [centre - way, centre + way]
        };
        scene.line(ends(0.0).to_vec(), Role::Leader);
        let half = Z95 * self.angle.sd_deg;
        let ways = if self.either_way { &[1.0, -1.0][..] } else { &[1.0][..] };
        for &sign in ways {
            let middle = sign * self.angle.deg;
            for end in [0, 1] {
                let (from, to) = (middle - half, middle + half);
                let at = |i: u32| ends(from + (to - from) * f64::from(i) / f64::from(STEPS))[end];
                let rim: Vec<Point> = (0..=STEPS).map(at).collect();
                scene.strip(vec![centre; rim.len()], rim, Role::TipRegion);
            }
            self.c_arm(scene, ends(middle), centre, radius);
        }
    }

    /// From where it is seen, and the angle.
    fn caption(self) -> [String; 2] {
        let angle = match (self.either_way, self.angle.deg.abs() < 0.5) {
            (true, true) => format!("within {:.0}°", Z95 * self.angle.sd_deg),
            (true, false) => format!("±{}", angle_words(self.angle)),
            (false, _) => angle_words(self.angle),
        };
        [self.name.to_owned(), angle]
    }

    /// The body in the middle.
    fn body(self, scene: &mut Scene, centre: Point, size: f64) {
        if !self.above {
            let (w, h) = (size, FLAT * size);
            let corner = |x: f64, y: f64| centre + Vec2::new(x * w, y * h);
            scene.outline(
                vec![corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)],
                Role::Outline,
            );
            return;
        }
        let round = (0..STEPS).map(|i| {
            let (sin, cos) = (std::f64::consts::TAU * f64::from(i) / f64::from(STEPS)).sin_cos();
            centre + Vec2::new(cos * size, sin * FLAT * size)
        });
        scene.outline(round.collect(), Role::Outline);
        let behind = centre + Vec2::new(0.0, -FLAT * size);
        scene.line(vec![behind, behind + Vec2::new(0.0, -0.6 * size)], Role::Outline);
    }

    /// Tube, detector, the ray between them, and the arm that holds both.
    fn c_arm(self, scene: &mut Scene, [tube, detector]: [Point; 2], centre: Point, radius: f64) {
        scene.line(vec![tube, detector], Role::Accent);
        let way = (detector - tube).normalized().unwrap_or(self.ray);
        let side = way.perpendicular() * (0.28 * radius);
        scene.line(vec![detector + side, detector - side], Role::Border);
        let arm = (0..=STEPS).map(|i| centre - turned(way, 180.0 * f64::from(i) / f64::from(STEPS)) * radius);
        scene.line(arm.collect(), Role::Frame);
        scene.marker(tube, Glyph::Disc, Role::Accent);
    }
}

fn turned(v: Vec2, deg: f64) -> Vec2 {
    let (sin, cos) = deg.to_radians().sin_cos();
    Vec2::new(v.x * cos - v.y * sin, v.x * sin + v.y * cos)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::true_view::view::ApTrueView;

    #[test]
    fn an_ap_is_drawn_from_above_and_from_the_side_with_its_angles() {
        let view = ApTrueView {
            turn: Some(Angle { deg: 5.0, sd_deg: 2.0 }),
            tilt: Some(Angle { deg: 0.0, sd_deg: 0.9 }),
            ..ApTrueView::default()
        };
        let reading = ApReading { true_view: Some(view), ..ApReading::default() };
        let drawn = of_shot(&ShotReading::Ap(Box::new(reading)), (120.0, 110.0));
        assert_eq!(drawn.len(), 2);
        assert!(
            drawn[0].words.contains("from above") && drawn[0].words.contains("5° ± 4°"),
            "{}",
            drawn[0].words
        );
        assert!(drawn[1].words.contains("from the side") && drawn[1].words.contains("0° ± 2°"));
        assert!(of_shot(&ShotReading::Lateral(Box::default()), (120.0, 110.0)).is_empty());
    }
}
