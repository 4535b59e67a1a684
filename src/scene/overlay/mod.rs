//! Marks + body map + reading + target → shapes over a picture, in image coordinates.
//!
//! The lines are those of the body's own coordinates, so on a curved or wedged body they are curved and not
//! parallel: a place on the "30 %" line is at 30 % whatever its height.
//!
//! Reading order: [`of_shot`] for how it is put together for a shot of a case, [`layers`], [`body`] for what lateral and AP share, [`ap`], [`pedicle`].

use crate::case::readings::ShotReading;
use crate::geom::point::{Point, Vec2};
use crate::measure::body::{BodyMap, BodyPoint, Border};
use crate::measure::mark::{MarkKind, Marks, Stage, View};
use crate::measure::reading::Place;
use crate::measure::settings::{Band, Rule, Settings};
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Rect, Role, Scene, Space, Text};
use crate::scene::format;

pub mod ap;
pub mod body;
pub mod body_lines;
pub mod both_sides;
pub mod layers;
pub mod of_shot;
pub mod pedicle;
pub mod preview;
pub mod proposed;

pub(crate) use body::{depth_band, height_band, level_band, midline_band, thirds};
pub use layers::{Layer, LayerSet};

/// What an overlay is drawn from; it is put together in [`of_shot`] and nowhere else.
#[derive(Clone, Copy, Debug)]
struct Overlay<'a> {
    /// From where the shot looks.
    pub view: View,
    /// Its marks.
    pub marks: &'a Marks,
    /// Its body map, once the marks give one.
    pub map: Option<&'a BodyMap>,
    /// What is read from them, once something can be: the tip's region, and the sides of an AP view.
    pub reading: Option<&'a ShotReading>,
    /// Stage of the procedure; its target is shown.
    pub stage: Option<Stage>,
    /// The case's settings.
    pub settings: &'a Settings,
    /// What to show.
    pub layers: LayerSet,
    /// Points of the screen to a pixel of the picture: decides how many numbers the ruler has room for.
    pub zoom: f64,
}

/// The band of a rule that is drawn at a stage: the stage's own target; where the stage has none, that of the
/// final position, which every stage leads to.
#[must_use]
pub fn shown_band(settings: &Settings, stage: Option<Stage>, rule: Rule) -> Option<Band> {
    let stages = &settings.targets.stages;
    let stage = stage.filter(|s| stages.get(s).is_some_and(|bands| !bands.is_empty()));
    settings.targets.band(Some(stage.unwrap_or(Stage::Final)), rule)
}

impl Overlay<'_> {
    /// The shapes over a picture that fills `bounds`.
    #[must_use]
    fn scene(&self, bounds: Rect) -> Scene {
        let mut scene = Scene::new(Space::Image, bounds);
        match (self.view, self.map) {
            (View::Pedicle, _) => self.pedicle(&mut scene),
            (view, Some(map)) => {
                if view == View::Lateral {
                    self.depth(&mut scene, map);
                } else {
                    self.across(&mut scene, map);
                }
                self.heights(&mut scene, map);
                self.contours(&mut scene, map);
                if view == View::Ap {
                    self.structures(&mut scene, map);
                }
                if self.layers.has(Layer::Ruler) {
                    let across = view == View::Lateral || self.sides().is_some();
                    body::ruler(&mut scene, map, self.zoom, self.layers.has(Layer::Labels), across);
                }
            }
            (_, None) => self.unfinished(&mut scene),
        }
        self.instruments(&mut scene);
        self.tip(&mut scene);
        scene
    }

    /// The numbers of a band's two lines outside a border, moved apart along it where they would overlap.
    fn pair_of_labels(
        &self,
        scene: &mut Scene,
        map: &BodyMap,
        ends: [BodyPoint; 2],
        border: Border,
        role: Role,
    ) {
        let upright = border == Border::End;
        let (room, far) = if upright { (21.0, 21.0) } else { (42.0, 16.0) };
        let [low, high] = ends.map(|at| edge(map, at, border));
        let apart = high.0 - low.0;
        let along = apart.normalized().unwrap_or(Vec2::new(1.0, 0.0));
        let missing = (room - apart.length() * self.zoom).max(0.0);
        for ((at, away), end, side) in [(low, ends[0], -0.5), (high, ends[1], 0.5)] {
            let fraction = if upright { end.height } else { end.along };
            let offset = away * far + along * (side * missing);
            scene.text(label(at, offset, format::percent(fraction), role));
        }
    }

    fn instruments(&self, scene: &mut Scene) {
        let placed = |kind| self.marks.slots(kind).iter().copied().flatten().collect::<Vec<_>>();
        let cannula = placed(MarkKind::Cannula);
        if self.layers.has(Layer::Cannula) && cannula.len() >= 2 {
            scene.line(cannula, Role::Cannula);
        }
        if self.layers.has(Layer::Electrodes) {
            let electrodes = placed(MarkKind::Electrodes);
            if electrodes.len() == 2 {
                scene.line(electrodes.clone(), Role::Electrode);
            }
            for at in electrodes {
                scene.marker(at, Glyph::Square, Role::Electrode);
            }
        }
    }

    fn tip(&self, scene: &mut Scene) {
        let place = match self.reading {
            Some(ShotReading::Lateral(reading)) => reading.tip.as_ref(),
            Some(ShotReading::Ap(reading)) => reading.tip.as_ref(),
            Some(ShotReading::Pedicle(_)) | None => None,
        };
        if let (Some(map), Some(place), true) = (self.map, place, self.layers.has(Layer::TipRegion)) {
            tip_region(scene, map, place);
        }
        let tip = self.marks.slots(MarkKind::Tip).first().copied().flatten();
        if let Some(at) = tip
            && self.layers.has(Layer::Tip)
        {
            scene.marker(at, Glyph::Disc, Role::Tip);
        }
    }
}

/// The 95 % region of the tip: its area and its outline.
pub(crate) fn tip_region(scene: &mut Scene, map: &BodyMap, tip: &Place) {
    region(scene, body_lines::region(tip).into_iter().map(|at| map.to_image(at)).collect());
}

/// A region that holds the tip: its area and its outline.
pub(crate) fn region(scene: &mut Scene, outline: Vec<Point>) {
    let (a, b) = body_lines::halves(&outline);
    scene.strip(a, b, Role::TipRegion);
    scene.outline(outline, Role::TipRegion);
}

/// A place on a border, and the direction of length one that leads out of the body there.
fn edge(map: &BodyMap, at: BodyPoint, border: Border) -> (Point, Vec2) {
    let (p, du, dv) = map.to_image_with_derivatives(at);
    let away = match border {
        Border::Superior => -dv,
        Border::Inferior => dv,
        Border::Start => -du,
        Border::End => du,
    };
    (p, away.normalized().unwrap_or(Vec2::new(0.0, -1.0)))
}

/// A label at an offset in points from a place.
fn label(at: Point, offset: Vec2, words: String, role: Role) -> Text {
    Text::new(at, words, role).aligned(AlignX::Middle, AlignY::Middle).shifted(offset.x, offset.y).on_plate()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::lateral::lateral_body_map;
    use crate::scene::drawing::shape::Shape;

    fn marks() -> Marks {
        Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(412.0, 305.0), (340.0, 316.0), (268.0, 318.0)])
            .with(MarkKind::InferiorEndPlate, &[(405.0, 398.0), (262.0, 421.0)])
            .with(MarkKind::Tip, &[(365.4, 356.9)])
    }

    fn drawn(marks: &Marks, layers: LayerSet) -> Scene {
        let map = lateral_body_map(marks).ok();
        let settings = Settings::default();
        let overlay = Overlay {
            view: View::Lateral,
            marks,
            map: map.as_ref(),
            reading: None,
            stage: None,
            settings: &settings,
            layers,
            zoom: 1.0,
        };
        overlay.scene(Rect::new(0.0, 0.0, 700.0, 700.0))
    }

    fn roles(scene: &Scene) -> Vec<Role> {
        let role = |shape: &Shape| match shape {
            Shape::Line { role, .. }
            | Shape::Strip { role, .. }
            | Shape::Shade { role, .. }
            | Shape::Marker { role, .. } => Some(*role),
            Shape::Text(text) => Some(text.role),
            Shape::Picture { .. } => None,
        };
        scene.shapes.iter().filter_map(role).collect()
    }

    #[test]
    fn every_layer_can_be_switched_off_by_itself() {
        let marks = marks()
            .with(MarkKind::Cannula, &[(500.0, 300.0), (420.0, 340.0)])
            .with(MarkKind::Electrodes, &[(380.0, 350.0), (366.0, 356.0)])
            .with(MarkKind::PosteriorWallSecond, &[(418.0, 306.0), (411.0, 399.0)]);
        let alone = [
            (Layer::DepthBand, Role::DepthBand),
            (Layer::HeightBand, Role::HeightBand),
            (Layer::Thirds, Role::Thirds),
            (Layer::Borders, Role::Border),
            (Layer::Contours, Role::SecondContour),
            (Layer::Ruler, Role::Ruler),
            (Layer::Cannula, Role::Cannula),
            (Layer::Electrodes, Role::Electrode),
            (Layer::Tip, Role::Tip),
        ];
        for (layer, role) in alone {
            assert!(roles(&drawn(&marks, LayerSet::NONE.with(layer))).contains(&role), "{layer:?} alone");
            assert!(
                !roles(&drawn(&marks, LayerSet::all().without(layer))).contains(&role),
                "without {layer:?}"
            );
        }
        assert!(drawn(&marks, LayerSet::NONE).shapes.is_empty());
        let words = |s: &Scene| s.shapes.iter().any(|shape| matches!(shape, Shape::Text(_)));
        assert!(words(&drawn(&marks, LayerSet::all())));
        assert!(!words(&drawn(&marks, LayerSet::all().without(Layer::Labels))));
    }

    /// A point on the drawn 30 % line is read at 30 %, whatever its height: the line is the reading's own.
    #[test]
    fn points_on_the_drawn_line_read_its_number() {
        let marks = marks();
        let map = lateral_body_map(&marks).unwrap();
        let scene = drawn(&marks, LayerSet::NONE.with(Layer::DepthBand));
        let lines: Vec<_> = scene
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Line { points, .. } => Some(points),
                _ => None,
            })
            .collect();
        for (line, along) in lines.iter().zip([0.3, 0.5]) {
            for p in *line {
                assert!((map.to_body(*p).unwrap().along - along).abs() < 1e-8);
            }
        }
    }

    #[test]
    fn unfinished_marks_are_drawn_as_far_as_they_go() {
        let mut marks = Marks::new();
        marks.set(MarkKind::SuperiorEndPlate, vec![Some(Point::new(1.0, 1.0)), Some(Point::new(9.0, 1.0))]);
        marks.set(MarkKind::InferiorEndPlate, vec![Some(Point::new(1.0, 7.0)), None]);
        let scene = drawn(&marks, LayerSet::all());
        // The superior end plate and the posterior wall; of the anterior wall only one end is known.
        assert_eq!(roles(&scene), vec![Role::Border, Role::Border]);
        assert!(drawn(&Marks::new(), LayerSet::all()).shapes.is_empty());
    }

    #[test]
    fn a_stage_without_a_target_shows_the_final_one() {
        let settings = Settings::default();
        let band = |stage, rule| shown_band(&settings, stage, rule);
        assert_eq!(band(Some(Stage::Stylet), Rule::Depth), Some(Band::new(0.3, 0.5)));
        assert_eq!(band(Some(Stage::PosteriorWall), Rule::Depth), Some(Band::new(-0.05, 0.15)));
        assert_eq!(band(Some(Stage::PosteriorWall), Rule::Height), None);
        assert_eq!(band(None, Rule::Height), Some(Band::new(0.4, 0.6)));
    }
}
