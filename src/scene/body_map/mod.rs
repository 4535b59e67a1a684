//! Small drawings of a body from the side, from the front and from above: where the tip lies in it, and where the
//! next mark belongs.
//!
//! A drawing is a body like any other: an outline, its body map, and the same lines as on the picture. Only the
//! outline is a typical one, or the marked body's own. A coordinate that no picture tells is a line across the
//! body, never a guessed place.
//!
//! Reading order: this file (what is shown), `views` (the three drawings), [`side`], [`front`], [`above`], [`lie`] (how a body's stills lie), then [`click`] and its [`click_ap`] and [`click_pedicle`].

use crate::case::readings::ShotReading;
use crate::measure::body::{BodyMap, BodyPoint};
use crate::measure::mark::{Marks, PatientRight, Side, Stage};
use crate::measure::quantity::Quantity;
use crate::measure::reading::{
    ApReading, Electrodes, LateralReading, MidlineBy, MidlineOffsets, PairReading,
};
use crate::measure::settings::{Band, Rule, Settings};
use crate::scene::drawing::shape::Scene;
use crate::scene::format;
use crate::scene::overlay::{self, Layer, LayerSet};

pub mod above;
pub mod click;
pub mod click_ap;
pub mod click_pedicle;
pub mod front;
pub mod lie;
pub(crate) mod parts;
pub mod side;
pub mod tip_path;
mod views;

/// On which side of a drawing or picture the posterior wall is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Posterior {
    /// On the left.
    #[default]
    Left,
    /// On the right.
    Right,
}

/// What is known of the patient's sides.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sides {
    /// Which side of the picture is the patient's right.
    pub patient_right: Option<PatientRight>,
    /// From which side the pedicle was entered.
    pub entry: Option<Side>,
}

/// One coordinate of the tip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coordinate {
    /// Its value as a fraction of the body.
    pub value: f64,
    /// Its standard uncertainty.
    pub sd: f64,
}

/// The tip's place in the body, as far as it is known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Position {
    /// Depth fraction.
    pub depth: Option<Coordinate>,
    /// Across fraction from the entry side's wall.
    pub across: Option<Coordinate>,
    /// Height fraction.
    pub height: Option<Coordinate>,
    /// Covariance of depth and height.
    pub depth_height: f64,
    /// Covariance of across and height.
    pub across_height: f64,
    /// The midline that the verdict uses, by what it was found, and the tip's offset from it.
    pub midline: Option<(MidlineBy, f64)>,
}

/// A place on the way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stop {
    /// Its number, from 1.
    pub number: usize,
    /// Where.
    pub position: Position,
}

/// A drawing with what it shows in one sentence, for those who cannot see it.
#[derive(Clone, Debug, PartialEq)]
pub struct Described {
    /// The drawing, in points.
    pub scene: Scene,
    /// The sentence.
    pub words: String,
}

/// What the drawings of a body show; [`BodyDrawing::new`] shows a typical body and the target, and the readings
/// are added to it.
#[derive(Clone, Debug)]
pub struct BodyDrawing<'a> {
    /// Where the tip is.
    pub position: Position,
    /// The marked body's own outline from the side; without one a typical body is drawn.
    pub lateral: Option<&'a BodyMap>,
    /// The marked body's own outline from the front, with the marks that show its pedicles and spinous process.
    pub ap: Option<(&'a BodyMap, &'a Marks)>,
    /// On which side of the drawing a typical body has its posterior wall.
    pub posterior: Posterior,
    /// The patient's sides.
    pub sides: Sides,
    /// The electrodes as depth and height.
    pub lateral_electrodes: Vec<BodyPoint>,
    /// The electrodes as across and height.
    pub ap_electrodes: Vec<BodyPoint>,
    /// The way of the tip in numbered places; empty where only one place is shown.
    pub way: Vec<Stop>,
    /// Stage of the procedure; its target is shown.
    pub stage: Option<Stage>,
    /// The case's settings.
    pub settings: &'a Settings,
    /// What to show.
    pub layers: LayerSet,
}

impl Coordinate {
    fn of(quantity: &Quantity) -> Self {
        Self { value: quantity.value, sd: quantity.sd() }
    }
}

impl Position {
    /// What a lateral tells by itself, as the view shows it: depth and height.
    #[must_use]
    pub fn of_lateral(reading: &LateralReading) -> Self {
        let Some(tip) = &reading.tip else { return Self::default() };
        Self {
            depth: Some(Coordinate::of(&tip.along)),
            height: Some(Coordinate::of(&tip.height)),
            depth_height: tip.covariance,
            ..Self::default()
        }
    }

    /// What an AP tells by itself, as the view shows it: across and height; only the height where the sides are not known.
    #[must_use]
    pub fn of_ap(reading: &ApReading) -> Self {
        Self {
            across: reading.tip.as_ref().map(|tip| Coordinate::of(&tip.along)),
            height: reading.height.as_ref().map(Coordinate::of),
            across_height: reading.tip.as_ref().map_or(0.0, |tip| tip.covariance),
            midline: reading.midline_by.best().map(|(by, offset)| (by, offset.value)),
            ..Self::default()
        }
    }

    /// What a matched pair tells, as its views show it: all three.
    #[must_use]
    pub fn of_pair(reading: &PairReading) -> Self {
        Self {
            depth: reading.depth.as_ref().map(Coordinate::of),
            across: reading.across.as_ref().map(Coordinate::of),
            height: reading.height.as_ref().map(Coordinate::of),
            depth_height: reading.depth_height,
            across_height: reading.across_height,
            midline: reading.midline.as_ref().map(|(by, offset)| (*by, offset.value)),
        }
    }

    /// The same place as true views would show it, coordinate by coordinate where that is known; a verdict goes by this one.
    fn seen_true(
        self,
        [depth, across, height]: [Option<&Quantity>; 3],
        midline_by: Option<&MidlineOffsets>,
    ) -> Self {
        let place = |own: Option<Coordinate>, corrected: Option<&Quantity>| {
            own.map(|own| corrected.map_or(own, Coordinate::of))
        };
        let shown = Self {
            depth: place(self.depth, depth),
            across: place(self.across, across),
            height: place(self.height, height),
            midline: self.midline.map(|(by, offset)| {
                (by, midline_by.and_then(|offsets| offsets.by(by)).map_or(offset, |q| q.value))
            }),
            ..self
        };
        // Marks place the tip in common in both directions no more than each alone allows.
        let most = |covariance: f64, a: Option<Coordinate>, b: Option<Coordinate>| {
            a.zip(b).map_or(0.0, |(a, b)| covariance.clamp(-0.9 * a.sd * b.sd, 0.9 * a.sd * b.sd))
        };
        Self {
            depth_height: most(self.depth_height, shown.depth, shown.height),
            across_height: most(self.across_height, shown.across, shown.height),
            ..shown
        }
    }

    /// Where the verdict's midline lies across the body; its middle where nothing else is known.
    #[must_use]
    pub fn midline_across(&self) -> f64 {
        match (self.across, self.midline) {
            (Some(across), Some((_, offset))) => across.value - offset,
            _ => 0.5,
        }
    }
}

impl Stop {
    /// A place as a shot tells it, all three coordinates where it belongs to a matched pair; `None` down the pedicle.
    #[must_use]
    pub fn of(number: usize, reading: &ShotReading, pair: Option<&PairReading>) -> Option<Self> {
        let position = match (reading, pair) {
            (_, Some(pair)) => Position::of_pair(pair),
            (ShotReading::Lateral(reading), None) => Position::of_lateral(reading),
            (ShotReading::Ap(reading), None) => Position::of_ap(reading),
            (ShotReading::Pedicle(_), None) => return None,
        };
        Some(Self { number, position })
    }
}

impl<'a> BodyDrawing<'a> {
    /// A typical body with the target of a stage.
    #[must_use]
    pub fn new(settings: &'a Settings, stage: Option<Stage>) -> Self {
        Self {
            position: Position::default(),
            lateral: None,
            ap: None,
            posterior: Posterior::default(),
            sides: Sides::default(),
            lateral_electrodes: Vec::new(),
            ap_electrodes: Vec::new(),
            way: Vec::new(),
            stage,
            settings,
            layers: LayerSet::all().without(Layer::Thirds).without(Layer::Ruler),
        }
    }

    /// The same with what a lateral tells.
    #[must_use]
    pub fn with_lateral(mut self, reading: &LateralReading, map: Option<&'a BodyMap>) -> Self {
        let direct = Position::of_lateral(reading);
        let view = reading.true_view.as_ref();
        let own = direct.seen_true([view.map(|v| &v.depth), None, view.map(|v| &v.height)], None);
        self.position =
            Position { depth: own.depth, depth_height: own.depth_height, ..self.with_height(own.height) };
        self.lateral = map;
        self.lateral_electrodes = places(reading.electrodes.as_ref());
        self
    }

    /// The same with what an AP tells; the sides are the reading's where it knows them.
    #[must_use]
    pub fn with_ap(mut self, reading: &ApReading, body: Option<(&'a BodyMap, &'a Marks)>) -> Self {
        let direct = Position::of_ap(reading);
        let view = reading.true_view.as_ref();
        let [across, height] = [view.and_then(|v| v.across.as_ref()), view.and_then(|v| v.height.as_ref())];
        let own = direct.seen_true([None, across, height], view.map(|v| &v.midline_by));
        self.position = Position {
            across: own.across,
            across_height: own.across_height,
            midline: own.midline,
            ..self.with_height(own.height)
        };
        self.ap = body;
        self.sides.patient_right = reading.patient_right.or(self.sides.patient_right);
        self.ap_electrodes = places(reading.electrodes.as_ref());
        self
    }

    /// The same with the three coordinates of a pair, which take the place of what each of its two shots tells.
    #[must_use]
    pub fn with_pair(mut self, reading: &PairReading) -> Self {
        let view = &reading.true_view;
        let corrected = [view.depth.as_ref(), view.across.as_ref(), view.height.as_ref()];
        self.position = Position::of_pair(reading).seen_true(corrected, Some(&view.midline_by));
        self
    }

    fn with_height(&self, height: Option<Coordinate>) -> Position {
        Position { height: height.or(self.position.height), ..self.position }
    }

    /// The band of a rule that is drawn, if its layer is on.
    fn band(&self, rule: Rule) -> Option<Band> {
        let layer = match rule {
            Rule::Depth => Layer::DepthBand,
            Rule::Height => Layer::HeightBand,
            Rule::Midline => Layer::MidlineBand,
        };
        self.layers.has(layer).then(|| overlay::shown_band(self.settings, self.stage, rule)).flatten()
    }

    /// The end of a sentence: the target in two directions.
    fn target_words(&self, rules: [Rule; 2]) -> String {
        let bands: Vec<_> = rules
            .into_iter()
            .filter_map(|rule| {
                let band = overlay::shown_band(self.settings, self.stage, rule)?;
                Some(match rule {
                    Rule::Depth => format!("{} of the depth", format::band(band)),
                    Rule::Height => format!("{} of the height", format::band(band)),
                    Rule::Midline => format!("{} relative to the midline", format::offset_band(band)),
                })
            })
            .collect();
        if bands.is_empty() { ".".to_owned() } else { format!("; target {}.", bands.join(" and ")) }
    }

    /// Depth, across and height of the tip in words, `None` where a coordinate is not known.
    fn words(&self, rule: Rule) -> (Option<String>, &'static str) {
        let Position { depth, across, height, .. } = self.position;
        match rule {
            Rule::Depth => (depth.map(|c| along(rule, c.value)), "depth"),
            Rule::Height => (height.map(|c| along(rule, c.value)), "height"),
            Rule::Midline => {
                let offset = self.position.midline.map(|(_, offset)| offset);
                let from = offset.map_or_else(String::new, |offset| {
                    format!(", {},", format::beside_midline_of(offset, self.sides.entry))
                });
                (
                    across.map(|c| format!("mediolateral position {}{from}", format::percent(c.value))),
                    "mediolateral position",
                )
            }
        }
    }

    /// The tip in words by two directions.
    fn tip_words(&self, rules: [Rule; 2]) -> String {
        match rules.map(|rule| self.words(rule)) {
            [(Some(a), _), (Some(b), _)] => format!("the tip at {a} and {b}"),
            [(Some(a), _), (None, name)] | [(None, name), (Some(a), _)] => {
                format!("the tip at {}, {name} not known", a.trim_end_matches(','))
            }
            [(None, _), (None, _)] => "no tip marked yet".to_owned(),
        }
    }

    /// How the drawings from the front and from above are turned, in words.
    fn sides_words(&self, right: Option<PatientRight>) -> String {
        let right = right.map(|right| match right {
            PatientRight::ImageLeft => ", patient's right on image left",
            PatientRight::ImageRight => ", patient's right on image right",
        });
        let entry = self.sides.entry.map(|side| format!(", entered from the {}", format::side(side)));
        format!("{}{}", right.unwrap_or_default(), entry.unwrap_or_default())
    }
}

fn places(electrodes: Option<&Electrodes>) -> Vec<BodyPoint> {
    electrodes.map_or_else(Vec::new, |both| {
        [&both.proximal, &both.distal]
            .map(|place| BodyPoint::new(place.along.value, place.height.value))
            .to_vec()
    })
}

/// A depth or height in words: `38 % of the depth`, `28 % posterior to the wall`.
fn along(rule: Rule, value: f64) -> String {
    let words = format::coordinate_value(rule, value);
    if words.ends_with('%') { format!("{words} of the {}", rule.key()) } else { words }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::geom::point::Point;
    use crate::scene::body_map::parts::side_words;
    use crate::scene::drawing::shape::Role;
    use crate::scene::drawing::shape::Shape;

    /// The points of everything in a scene.
    pub(crate) fn points(scene: &Scene) -> Vec<Point> {
        let of = |shape: &Shape| match shape {
            Shape::Line { points, .. } => points.clone(),
            Shape::Strip { a, b, .. } => a.iter().chain(b).copied().collect(),
            Shape::Marker { at, .. } => vec![*at],
            Shape::Text(text) => vec![text.at],
            Shape::Shade { .. } | Shape::Picture { .. } => Vec::new(),
        };
        scene.shapes.iter().flat_map(of).collect()
    }

    /// Where the tip's sign is.
    pub(crate) fn tip_of(scene: &Scene) -> Option<Point> {
        scene.shapes.iter().find_map(|shape| match shape {
            Shape::Marker { at, role: Role::Tip, .. } => Some(*at),
            _ => None,
        })
    }

    /// The words of a scene.
    pub(crate) fn words(scene: &Scene) -> Vec<&str> {
        let of = |shape: &'_ Shape| matches!(shape, Shape::Text(_));
        scene
            .shapes
            .iter()
            .filter(|shape| of(shape))
            .filter_map(|shape| match shape {
                Shape::Text(text) => Some(text.words.as_str()),
                _ => None,
            })
            .collect()
    }

    fn at(value: f64) -> Option<Coordinate> {
        Some(Coordinate { value, sd: 0.016 })
    }

    fn drawing(settings: &Settings, position: Position) -> BodyDrawing<'_> {
        BodyDrawing { position, ..BodyDrawing::new(settings, Some(Stage::Final)) }
    }

    fn three(drawing: &BodyDrawing<'_>, size: (f64, f64)) -> [Described; 3] {
        [drawing.side(size), drawing.front(size), drawing.above(size)]
    }

    #[test]
    fn everything_stays_in_the_drawings_wherever_the_tip_is() {
        let settings = Settings::default();
        for (a, b, c) in [(0.4, 0.5, 0.5), (-0.9, -0.9, -0.9), (1.9, 1.9, 1.9)] {
            for known in 0..8_u8 {
                let if_known = |bit: u8, value| at(value).filter(|_| known & bit != 0);
                let position = Position {
                    depth: if_known(1, a),
                    across: if_known(2, b),
                    height: if_known(4, c),
                    ..Position::default()
                };
                for right in [None, Some(PatientRight::ImageLeft), Some(PatientRight::ImageRight)] {
                    let mut drawing = drawing(&settings, position);
                    drawing.sides = Sides { patient_right: right, entry: Some(Side::Right) };
                    for size in [(136.0, 120.0), (260.0, 200.0)] {
                        for drawn in three(&drawing, size) {
                            let bounds = drawn.scene.bounds;
                            assert!(points(&drawn.scene).iter().all(|&p| bounds.contains(p)), "{drawn:?}");
                        }
                    }
                }
            }
        }
    }

    #[test]
    fn a_coordinate_that_is_not_known_is_a_line_and_never_a_place() {
        let settings = Settings::default();
        let lateral_alone = Position { depth: at(0.4), height: at(0.5), ..Position::default() };
        let [side, front, above] = three(&drawing(&settings, lateral_alone), (240.0, 200.0));
        assert!(tip_of(&side.scene).is_some());
        for drawn in [front, above] {
            assert!(tip_of(&drawn.scene).is_none());
            let line = |shape: &Shape| matches!(shape, Shape::Line { role: Role::Tip, .. });
            assert_eq!(drawn.scene.shapes.iter().filter(|shape| line(shape)).count(), 1);
            assert!(drawn.words.contains("not known"), "{}", drawn.words);
        }
    }

    #[test]
    fn the_sentences_say_what_is_drawn() {
        let settings = Settings::default();
        let pair = Position {
            depth: at(0.38),
            across: at(0.46),
            height: at(0.52),
            midline: Some((MidlineBy::Pedicles, -0.04)),
            ..Position::default()
        };
        let mut drawing = drawing(&settings, pair);
        drawing.sides = Sides { patient_right: Some(PatientRight::ImageLeft), entry: Some(Side::Right) };
        let [side, front, above] = three(&drawing, (240.0, 200.0)).map(|drawn| drawn.words);
        assert_eq!(
            side,
            "Lateral drawing of the body, posterior on the left: the tip at 38 % of the depth and 52 % of the height; \
             target 30–50 % of the depth and 40–60 % of the height."
        );
        assert_eq!(
            front,
            "AP drawing of the body, seen from anterior, patient's right on image left, entered from the right: the tip at \
             mediolateral position 46 %, 4 % short of the midline (patient's right), and 52 % of the height; target ±10 % relative to the midline and 40–60 % of \
             the height."
        );
        assert_eq!(
            above,
            "Axial drawing of the body, seen from superior, patient's right on image left, entered from the right: the tip at \
             mediolateral position 46 %, 4 % short of the midline (patient's right), and 38 % of the depth; target ±10 % relative to the midline and 30–50 % of the depth."
        );
    }

    #[test]
    fn the_right_side_is_where_the_picture_has_it() {
        let settings = Settings::default();
        let position = Position { across: at(0.2), height: at(0.5), ..Position::default() };
        for (right, entry, on_left) in [
            (PatientRight::ImageLeft, Side::Right, true),
            (PatientRight::ImageLeft, Side::Left, false),
            (PatientRight::ImageRight, Side::Right, false),
            (PatientRight::ImageRight, Side::Left, true),
        ] {
            let mut drawing = drawing(&settings, position);
            drawing.sides = Sides { patient_right: Some(right), entry: Some(entry) };
            let scene = drawing.front((240.0, 200.0)).scene;
            assert_eq!(tip_of(&scene).unwrap().x < 120.0, on_left, "{right:?} {entry:?}");
            let [left, _] = side_words(right == PatientRight::ImageLeft, Some(entry));
            assert!(words(&scene).contains(&left.as_str()));
        }
    }
}
