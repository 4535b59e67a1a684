//! What a view down the pedicle shows: the outline in its own frame, its quarters, where docking aims, the clock.

use crate::case::readings::ShotReading;
use crate::geom::point::{Point, Vec2};
use crate::measure::body::BodyPoint;
use crate::measure::mark::{MarkKind, MarkRef, Stage};
use crate::measure::pedicle::PedicleFrame;
use crate::scene::drawing::shape::{Role, Scene};
use crate::scene::format;
use crate::scene::overlay::body_lines;
use crate::scene::overlay::{Layer, Overlay, label, region};

/// Points around the outline.
const AROUND: u32 = 96;
/// Shortest half axis, in points of the screen, that has room for the hours' numbers.
const ROOM_FOR_HOURS: f64 = 34.0;

impl Overlay<'_> {
    pub(super) fn pedicle(&self, scene: &mut Scene) {
        let Some(frame) = PedicleFrame::of(self.marks) else {
            self.axes(scene);
            return;
        };
        let docking = self.stage.is_none_or(|stage| stage == Stage::Docking);
        if self.layers.has(Layer::DockingTarget) && docking {
            target(scene, frame);
        }
        if self.layers.has(Layer::Quadrants) {
            for (x, y) in [(1.0, 0.0), (0.0, 1.0)] {
                scene.line(vec![frame.to_image(-x, -y), frame.to_image(x, y)], Role::Quadrants);
            }
            self.clock(scene, frame);
        }
        if self.layers.has(Layer::Pedicles) {
            let outline = (0..AROUND).map(|i| on_outline(frame, f64::from(i) / f64::from(AROUND)));
            scene.outline(outline.collect(), Role::Pedicle);
        }
        self.docking_region(scene, frame);
    }

    /// While a border is missing: the axes through those that are placed.
    fn axes(&self, scene: &mut Scene) {
        let placed = |index| self.marks.point(MarkRef { kind: MarkKind::Pedicle, index });
        for (a, b) in [(0, 1), (2, 3)] {
            if let (Some(a), Some(b), true) = (placed(a), placed(b), self.layers.has(Layer::Quadrants)) {
                scene.line(vec![a, b], Role::Quadrants);
            }
        }
    }

    /// Ticks at the hours, their numbers at the quarters, lateral and medial by name.
    fn clock(&self, scene: &mut Scene, frame: PedicleFrame) {
        // As seen in the picture: toward three o’clock is toward the right, whichever border lies there.
        let right = if frame.lateral.x >= 0.0 { 1.0 } else { -1.0 };
        let at = |hour: u32, r: f64| {
            let (sin, cos) = (f64::from(hour) * std::f64::consts::TAU / 12.0).sin_cos();
            frame.to_image(r * right * sin, r * cos)
        };
        for hour in 1..=12 {
            let reach = if hour % 3 == 0 { 1.12 } else { 1.06 };
            scene.line(vec![at(hour, 1.0), at(hour, reach)], Role::Clock);
        }
        let room = frame.lateral.length().min(frame.superior.length()) * self.zoom >= ROOM_FOR_HOURS;
        if !self.layers.has(Layer::Labels) || !room {
            return;
        }
        for hour in [3, 6, 9, 12] {
            let (edge, out) = (at(hour, 1.0), at(hour, 1.0) - frame.centre);
            let away = out.normalized().unwrap_or(Vec2::new(0.0, -1.0));
            scene.text(label(edge, away * 18.0, format::hour(hour), Role::Clock));
        }
        for (x, words) in [(1.0, "lateral"), (-1.0, "medial")] {
            let edge = frame.to_image(x, 0.0);
            let away = (edge - frame.centre).normalized().unwrap_or(Vec2::new(1.0, 0.0));
            scene.text(label(edge, away * 54.0, words.to_owned(), Role::Text));
        }
    }

    /// The region that holds the docking point.
    fn docking_region(&self, scene: &mut Scene, frame: PedicleFrame) {
        let Some(ShotReading::Pedicle(reading)) = self.reading else { return };
        if let (Some(x), Some(y)) = (&reading.lateral_offset, &reading.superior_offset)
            && self.layers.has(Layer::TipRegion)
        {
            let at = BodyPoint::new(x.value, y.value);
            let outline = body_lines::ellipse(at, (x.sd(), y.sd()), reading.covariance);
            region(scene, outline.into_iter().map(|p| frame.to_image(p.along, p.height)).collect());
        }
    }
}

/// A place on the outline, by the fraction of the way round from the lateral border over the superior one.
fn on_outline(frame: PedicleFrame, share: f64) -> Point {
    let (sin, cos) = (std::f64::consts::TAU * share).sin_cos();
    frame.to_image(cos, sin)
}

/// Where docking aims: the superior-lateral quarter, within the outline.
fn target(scene: &mut Scene, frame: PedicleFrame) {
    let arc: Vec<_> = (0..=24).map(|i| on_outline(frame, 0.25 * f64::from(i) / 24.0)).collect();
    scene.strip(arc.clone(), vec![frame.centre; arc.len()], Role::DockingTarget);
    let mut edge = arc;
    edge.push(frame.centre);
    scene.outline(edge, Role::DockingTarget);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::document::{Case, Shot};
    use crate::case::readings::{Picture, read_shot};
    use crate::measure::mark::{Marks, View};
    use crate::scene::drawing::shape::{Rect, Shape};
    use crate::scene::overlay::LayerSet;

    /// Superior, inferior, medial, lateral; lateral on the left of the picture where `left`.
    fn shot(left: bool) -> Shot {
        let mut shot = Shot::new("a", "a.png", View::Pedicle);
        shot.stage = Some(Stage::Docking);
        let out = if left { -40.0 } else { 40.0 };
        shot.marks = Marks::new()
            .with(
                MarkKind::Pedicle,
                &[(200.0, 140.0), (200.0, 260.0), (200.0 - out, 200.0), (200.0 + out, 200.0)],
            )
            .with(MarkKind::Tip, &[(200.0 + 0.4 * out, 176.0)]);
        shot
    }

    fn drawn(shot: &Shot, layers: LayerSet) -> Scene {
        let case = Case { shots: vec![shot.clone()].into(), ..Case::default() };
        let reading = read_shot(&case, 0, |_| Picture::NotLookedAt);
        let overlay = Overlay {
            view: View::Pedicle,
            marks: &shot.marks,
            map: None,
            reading: Some(&reading),
            stage: shot.stage,
            settings: &case.settings,
            layers,
            zoom: 2.0,
        };
        overlay.scene(Rect::new(0.0, 0.0, 400.0, 400.0))
    }

    /// The words of the scene with their places, displaced as drawn at this zoom.
    fn words(scene: &Scene) -> Vec<(String, Point)> {
        let word = |shape: &Shape| match shape {
            Shape::Text(text) => Some((text.words.clone(), text.at)),
            _ => None,
        };
        scene.shapes.iter().filter_map(word).collect()
    }

    #[test]
    fn three_oclock_is_on_the_right_whichever_border_lies_there() {
        for left in [true, false] {
            let scene = drawn(&shot(left), LayerSet::all());
            let words = words(&scene);
            let at = |name: &str| words.iter().find(|(word, _)| word == name).unwrap().1;
            assert!(at("3").x > 200.0 && at("9").x < 200.0 && at("12").y < 200.0 && at("6").y > 200.0);
            assert_eq!(at("lateral").x < at("medial").x, left);
        }
    }

    #[test]
    fn the_target_is_the_superior_lateral_quarter() {
        for left in [true, false] {
            let scene = drawn(&shot(left), LayerSet::NONE.with(Layer::DockingTarget));
            let [Shape::Strip { a, .. }, Shape::Line { .. }] = scene.shapes.as_slice() else {
                panic!("{:?}", scene.shapes)
            };
            let out = |p: &Point| if left { 200.0 - p.x } else { p.x - 200.0 };
            assert!(a.iter().all(|p| p.y <= 200.0 + 1e-9 && out(p) >= -1e-9));
        }
        let mut later = shot(true);
        later.stage = Some(Stage::Pedicle);
        assert!(drawn(&later, LayerSet::NONE.with(Layer::DockingTarget)).shapes.is_empty());
    }

    #[test]
    fn an_outline_that_is_not_whole_shows_its_axes() {
        let mut shot = shot(true);
        let mut slots = shot.marks.slots(MarkKind::Pedicle).to_vec();
        slots[3] = None;
        shot.marks.set(MarkKind::Pedicle, slots);
        let scene = drawn(&shot, LayerSet::NONE.with(Layer::Quadrants));
        assert_eq!(scene.shapes.len(), 1);
    }
}
