//! Plots as data: axes with round numbers, lines, signs, intervals and limits, drawn alike on the screen, in figures and
//! on paper. What differs, differs in pattern or sign, so that everything is read in grey.
//!
//! Reading order: this file (a chart and how it is drawn), [`ticks`] (round numbers), [`audit`] (what a series of bodies
//! says), [`shares`] (shares with their intervals), [`tips`] (all tips in a body).

use crate::geom::point::Point;
use crate::scene::body_map::Described;
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Rect, Role, Scene, Space, Text, TextSize};
use crate::scene::drawing::theme::{Theme, space};
use crate::scene::drawing::type_metrics::width;
use crate::scene::format;

pub mod agreement;
pub mod audit;
pub mod shares;
pub mod ticks;
pub mod tips;

/// One axis of a chart.
#[derive(Clone, Debug)]
pub struct Axis {
    /// What it is, in words.
    pub label: String,
    /// Lower end.
    pub low: f64,
    /// Upper end, above the lower.
    pub high: f64,
    /// Places with their words, ascending.
    pub ticks: Vec<(f64, String)>,
    /// Any place of it in words.
    pub number: fn(f64) -> String,
}

/// Something in a chart. An empty name is left out of the key.
#[derive(Clone, Debug, PartialEq)]
pub enum PlotLayer {
    /// A line through points.
    Line {
        /// The points.
        points: Vec<(f64, f64)>,
        /// How it is drawn.
        role: Role,
        /// What it is.
        name: String,
    },
    /// A sign at each point.
    Signs {
        /// The points.
        points: Vec<(f64, f64)>,
        /// Which sign.
        glyph: Glyph,
        /// How it is drawn.
        role: Role,
        /// What they are.
        name: String,
    },
    /// Upright intervals.
    Intervals {
        /// Place along x, lower and upper end.
        ends: Vec<(f64, f64, f64)>,
        /// How they are drawn.
        role: Role,
    },
    /// A level line through the whole chart.
    Limit {
        /// Where.
        at: f64,
        /// What it is, written on it.
        name: String,
    },
    /// The area between two levels.
    Band {
        /// Lower level.
        low: f64,
        /// Upper level.
        high: f64,
        /// How it is drawn.
        role: Role,
        /// What it is.
        name: String,
    },
}

/// A chart.
#[derive(Clone, Debug)]
pub struct Chart {
    /// What stands above it.
    pub title: String,
    /// The level axis.
    pub x: Axis,
    /// The upright axis.
    pub y: Axis,
    /// What is in it, later ones on top.
    pub layers: Vec<PlotLayer>,
    /// What it shows, in one sentence, for those who cannot see it.
    pub words: String,
}

/// Length of the piece of a line in the key, in points.
const PIECE: f64 = 26.0;
/// The largest share of a chart's width that names at the ends of lines may take.
const DIRECT: f64 = 0.34;

/// The names of a chart's lines, written at their ends instead of in the key.
#[derive(Clone, Debug, PartialEq)]
pub struct DirectNames {
    /// Room that they need on the right, in points.
    pub wide: f64,
    /// Which layer, and at which level of the upright axis its name stands.
    pub names: Vec<(usize, f64)>,
}

impl Axis {
    /// An axis with round numbers over this range; `words` says a number.
    #[must_use]
    pub fn round(label: impl Into<String>, (low, high): (f64, f64), words: fn(f64) -> String) -> Self {
        let places = ticks::round(low, high, 6);
        let low = places.first().copied().unwrap_or(low).min(low);
        let high = places.last().copied().unwrap_or(high).max(high);
        let ticks = places.into_iter().map(|at| (at, words(at))).collect();
        Self { label: label.into(), low, high, ticks, number: words }
    }
}

impl Axis {
    /// An axis of plain numbers, all ticks with as many decimals as the distance between them needs.
    #[must_use]
    pub fn numbers(label: impl Into<String>, range: (f64, f64)) -> Self {
        let mut axis = Self::round(label, range, format::measured);
        let step = axis.ticks.windows(2).map(|two| two[1].0 - two[0].0).fold(f64::INFINITY, f64::min);
        if step.is_finite() {
            axis.ticks.iter_mut().for_each(|(at, words)| *words = format::tick(*at, step));
        }
        axis
    }

    /// A place of the axis in words.
    #[must_use]
    pub fn said(&self, at: f64) -> String {
        (self.number)(at)
    }
}

impl PlotLayer {
    /// What stands for it in the key: its name, and whether a line, a sign or an area.
    fn in_key(&self) -> Option<&str> {
        match self {
            Self::Line { name, .. } | Self::Signs { name, .. } | Self::Band { name, .. } => {
                Some(name.as_str()).filter(|name| !name.is_empty())
            }
            Self::Intervals { .. } | Self::Limit { .. } => None,
        }
    }
}

impl Chart {
    /// The chart in a drawing of this size, in points.
    #[must_use]
    pub fn drawn(&self, (wide, high): (f64, f64)) -> Described {
        let mut scene = Scene::new(Space::Points, Rect::new(0.0, 0.0, wide, high));
        let line = Theme::points(TextSize::Small) + space::S1;
        let direct = self.direct((wide, high));
        let head = self.head(wide, direct.is_some());
        let top = head.bounds.max.y;
        scene.shapes.extend(head.shapes);
        let room = self.room((wide, high), top, direct.as_ref().map_or(0.0, |direct| direct.wide));
        let name = Text::new(Point::new(space::S2, top + 0.5 * line - 2.0), &self.y.label, Role::WeakText);
        scene.text(name);
        if room.width() > 20.0 && room.height() > 20.0 {
            let place = self.placing(room);
            self.axes(&mut scene, room, &place, line);
            for layer in &self.layers {
                self.layer(&mut scene, room, &place, layer);
            }
            self.limit_names(&mut scene, room, &place, line);
            for (index, level) in direct.into_iter().flat_map(|direct| direct.names) {
                let at = Point::new(room.max.x + space::S2, place(self.x.high, level).y);
                let name = self.layers.get(index).and_then(PlotLayer::in_key).unwrap_or_default();
                scene.text(Text::new(at, name, Role::Text));
            }
        }
        Described { scene, words: self.words.clone() }
    }

    /// Where the numbers are drawn, below a head of this height and with this much room on the right.
    fn room(&self, (wide, high): (f64, f64), top: f64, right: f64) -> Rect {
        let line = Theme::points(TextSize::Small) + space::S1;
        let numbers = self.y.ticks.iter().map(|(_, words)| width(words, TextSize::Small)).fold(0.0, f64::max);
        let left = space::S2 + numbers + space::S2;
        // The last number of the level axis stands half beyond the end of it.
        let last = self.x.ticks.last().map_or(0.0, |(_, words)| 0.5 * width(words, TextSize::Small) + 2.0);
        // The axis's word stands above its highest number.
        let top = top + 1.5 * line;
        Rect::new(left, top, wide - (space::S4 + right).max(last), high - 2.0 * line - space::S1)
    }

    /// The names of the lines at their ends, where all of them have room there in a drawing of this size: no wider than a
    /// third of it, none further from its line than a line of words and a half.
    #[must_use]
    pub fn direct(&self, (wide, high): (f64, f64)) -> Option<DirectNames> {
        let line = Theme::points(TextSize::Small) + space::S1;
        let mut ends = Vec::new();
        let mut widest = 0.0_f64;
        for (index, layer) in self.layers.iter().enumerate() {
            let PlotLayer::Line { points, name, .. } = layer else { continue };
            if !name.is_empty() {
                ends.push((index, points.last()?.1));
                widest = widest.max(width(name, TextSize::Small));
            }
        }
        let right = widest + space::S2;
        let room = self.room((wide, high), self.head_height(wide, true), right);
        if ends.is_empty() || right > DIRECT * wide || room.height() < 3.0 * line || room.width() < 20.0 {
            return None;
        }
        let place = self.placing(room);
        ends.sort_by(|a, b| b.1.total_cmp(&a.1));
        let own: Vec<f64> = ends.iter().map(|(_, y)| place(self.x.high, *y).y).collect();
        let half = 0.5 * line;
        let spread = spread(&own, line, (room.min.y + half, room.max.y - half))?;
        let far = own.iter().zip(&spread).any(|(own, now)| (own - now).abs() > 1.5 * line);
        let level = |y: f64| self.y.low + (room.max.y - y) / room.height() * (self.y.high - self.y.low);
        let names = ends.iter().zip(spread).map(|((index, _), y)| (*index, level(y))).collect();
        (!far).then_some(DirectNames { wide: right, names })
    }

    /// Its title, and the key to what is in it, in as many lines as that needs; without the lines where their names stand
    /// at their ends.
    #[must_use]
    pub fn head(&self, wide: f64, direct: bool) -> Scene {
        let line = Theme::points(TextSize::Small) + space::S1;
        let key = self.key_rows(wide - 2.0 * space::S3, line, direct);
        let high = Self::height_of_head(&key);
        let mut scene = Scene::new(Space::Points, Rect::new(0.0, 0.0, wide, high));
        scene.text(Text::new(Point::new(space::S2, 0.5 * line + 2.0), &self.title, Role::Text));
        for (x, y, index) in key {
            self.in_key(&mut scene, Point::new(space::S3 + x, line + space::S1 + y + 0.5 * line), index);
        }
        scene
    }

    /// How high the head is, without its drawing.
    fn head_height(&self, wide: f64, direct: bool) -> f64 {
        let line = Theme::points(TextSize::Small) + space::S1;
        Self::height_of_head(&self.key_rows(wide - 2.0 * space::S3, line, direct))
    }

    fn height_of_head(key: &[(f64, f64, usize)]) -> f64 {
        let line = Theme::points(TextSize::Small) + space::S1;
        line + space::S1 + key.last().map_or(0.0, |(_, y, _)| y + line)
    }

    /// From the chart's numbers to the drawing's points.
    fn placing(&self, room: Rect) -> impl Fn(f64, f64) -> Point + use<> {
        let (x0, y0) = (self.x.low, self.y.low);
        let across = room.width() / (self.x.high - x0).max(1e-12);
        let up = room.height() / (self.y.high - y0).max(1e-12);
        move |x, y| Point::new(room.min.x + (x - x0) * across, room.max.y - (y - y0) * up)
    }

    /// Where each layer stands in the key: from the left, from the top, and which it is.
    fn key_rows(&self, room: f64, line: f64, direct: bool) -> Vec<(f64, f64, usize)> {
        let (mut x, mut y) = (0.0, 0.0);
        let mut rows = Vec::new();
        for (index, layer) in self.layers.iter().enumerate() {
            let at_its_end = direct && matches!(layer, PlotLayer::Line { .. });
            let Some(name) = layer.in_key().filter(|_| !at_its_end) else { continue };
            let needed = PIECE + space::S2 + width(name, TextSize::Small) + space::S4;
            if x > 0.0 && x + needed > room {
                (x, y) = (0.0, y + line);
            }
            rows.push((x, y, index));
            x += needed;
        }
        rows
    }

    fn in_key(&self, scene: &mut Scene, at: Point, index: usize) {
        let Some(layer) = self.layers.get(index) else { return };
        let end = Point::new(at.x + PIECE, at.y);
        match layer {
            PlotLayer::Line { role, .. } => scene.line(vec![at, end], *role),
            PlotLayer::Signs { glyph, role, .. } => scene.marker(at.midpoint(end), *glyph, *role),
            PlotLayer::Band { role, .. } => {
                let edge = |dy: f64| vec![Point::new(at.x, at.y + dy), Point::new(end.x, at.y + dy)];
                scene.strip(edge(-5.0), edge(5.0), *role);
            }
            PlotLayer::Intervals { .. } | PlotLayer::Limit { .. } => {}
        }
        let name = layer.in_key().unwrap_or_default();
        scene.text(Text::new(Point::new(end.x + space::S2, end.y), name, Role::Text));
    }

    fn axes(&self, scene: &mut Scene, room: Rect, place: &impl Fn(f64, f64) -> Point, line: f64) {
        for (at, words) in &self.y.ticks {
            let y = place(self.x.low, *at).y;
            scene.line(vec![Point::new(room.min.x, y), Point::new(room.max.x, y)], Role::Grid);
            let number = Text::new(Point::new(room.min.x - space::S1, y), words, Role::WeakText);
            scene.text(number.aligned(AlignX::Right, AlignY::Middle));
        }
        let mut free = f64::NEG_INFINITY;
        for (at, words) in &self.x.ticks {
            let x = place(*at, self.y.low).x;
            scene.line(vec![Point::new(x, room.max.y), Point::new(x, room.max.y + 4.0)], Role::Frame);
            // Where two would touch, the second is left out.
            let half = 0.5 * width(words, TextSize::Small);
            if x - half >= free {
                let number = Text::new(Point::new(x, room.max.y + 5.0), words, Role::WeakText);
                scene.text(number.aligned(AlignX::Middle, AlignY::Top));
                free = x + half + space::S1;
            }
        }
        scene.line(vec![room.min, Point::new(room.min.x, room.max.y), room.max], Role::Frame);
        let name =
            Text::new(Point::new(room.max.x, scene.bounds.max.y - 0.5 * line), &self.x.label, Role::WeakText);
        scene.text(name.aligned(AlignX::Right, AlignY::Middle));
    }

    /// The names of limits, on plates so that nothing strikes them through, and apart where the limits are not: that of a
    /// lower limit below its line, that of an upper one above.
    fn limit_names(&self, scene: &mut Scene, room: Rect, place: &impl Fn(f64, f64) -> Point, line: f64) {
        let own = self.layers.iter().filter_map(|layer| match layer {
            PlotLayer::Limit { at, name } if (self.y.low..=self.y.high).contains(at) => {
                let away = if *at < 0.0 { 0.5 * line } else { -0.5 * line };
                Some((place(self.x.low, *at).y + away, name))
            }
            _ => None,
        });
        let mut names: Vec<(f64, &String)> = own.collect();
        names.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut free = room.min.y + 0.5 * line;
        for (y, name) in names {
            let y = y.max(free).min(room.max.y - 0.5 * line);
            let at = Point::new(room.max.x - space::S1, y);
            scene.text(Text::new(at, name, Role::WeakText).aligned(AlignX::Right, AlignY::Middle).on_plate());
            free = y + line;
        }
    }

    fn layer(&self, scene: &mut Scene, room: Rect, place: &impl Fn(f64, f64) -> Point, layer: &PlotLayer) {
        let inside =
            |p: Point| Point::new(p.x.clamp(room.min.x, room.max.x), p.y.clamp(room.min.y, room.max.y));
        let across = |y: f64| {
            let y = inside(place(self.x.low, y)).y;
            vec![Point::new(room.min.x, y), Point::new(room.max.x, y)]
        };
        match layer {
            PlotLayer::Line { points, role, .. } => {
                let points: Vec<Point> = points.iter().map(|&(x, y)| inside(place(x, y))).collect();
                match points.as_slice() {
                    [] => {}
                    // One place alone is no line, and is seen all the same.
                    [one] => scene.line(vec![*one, Point::new(one.x + 1.5, one.y)], *role),
                    _ => scene.line(points, *role),
                }
            }
            PlotLayer::Signs { points, glyph, role, .. } => {
                for at in thinned(points.iter().map(|&(x, y)| inside(place(x, y)))) {
                    scene.marker(at, *glyph, *role);
                }
            }
            PlotLayer::Intervals { ends, role } => {
                for &(x, low, high) in ends {
                    let (low, high) = (inside(place(x, low)), inside(place(x, high)));
                    scene.line(vec![low, high], *role);
                    for end in [low, high] {
                        scene.line(
                            vec![Point::new(end.x - 4.0, end.y), Point::new(end.x + 4.0, end.y)],
                            *role,
                        );
                    }
                }
            }
            PlotLayer::Limit { at, .. } => {
                if (self.y.low..=self.y.high).contains(at) {
                    scene.line(across(*at), Role::Limit);
                }
            }
            PlotLayer::Band { low, high, role, .. } => scene.strip(across(*low), across(*high), *role),
        }
    }
}

/// Places along a line, given in their order, moved as little as needs be to be so far `apart` and within `room`; none where
/// there is no room for all.
pub(crate) fn spread(places: &[f64], apart: f64, (low, high): (f64, f64)) -> Option<Vec<f64>> {
    let mut free = low;
    let mut spread: Vec<f64> = places
        .iter()
        .map(|&place| {
            let at = place.max(free);
            free = at + apart;
            at
        })
        .collect();
    // What came to lie beyond the end is pushed back, and what is before it with it.
    let mut most = high;
    for at in spread.iter_mut().rev() {
        *at = at.min(most);
        most = *at - apart;
    }
    spread.first().is_none_or(|first| *first >= low - 1e-9).then_some(spread)
}

/// Places of which those that would cover each other are drawn once: half a point apart is seen as one.
pub(crate) fn thinned(places: impl Iterator<Item = Point>) -> Vec<Point> {
    let mut seen = std::collections::BTreeSet::new();
    #[expect(clippy::cast_possible_truncation, reason = "places of a drawing")]
    let half_points = |x: f64| (2.0 * x).round() as i64;
    places.filter(|at| seen.insert((half_points(at.x), half_points(at.y)))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::body_map::tests::{points, words};
    use crate::scene::drawing::shape::Shape;

    fn chart() -> Chart {
        let line = |role, name: &str, up: f64| PlotLayer::Line {
            points: (0..5).map(|i| (f64::from(i), up * f64::from(i))).collect(),
            role,
            name: name.to_owned(),
        };
        Chart {
            title: "A title".to_owned(),
            x: Axis::round("Body", (0.0, 4.0), format::rounded),
            y: Axis::round("Sum", (-1.0, 7.0), format::rounded),
            layers: vec![
                PlotLayer::Band { low: 1.0, high: 2.0, role: Role::DepthBand, name: "a band".to_owned() },
                line(Role::FirstCurve, "first", 1.0),
                line(Role::SecondCurve, "second", 9.0),
                PlotLayer::Intervals { ends: vec![(1.0, -9.0, 2.0)], role: Role::FirstCurve },
                PlotLayer::Limit { at: 3.0, name: "limit".to_owned() },
                PlotLayer::Signs {
                    points: vec![(1.0, 1.0), (1.0, 1.0), (2.0, 90.0)],
                    glyph: Glyph::Disc,
                    role: Role::Dot,
                    name: String::new(),
                },
            ],
            words: "A chart.".to_owned(),
        }
    }

    #[test]
    fn everything_stays_within_the_drawing() {
        for size in [(240.0, 160.0), (900.0, 500.0), (60.0, 40.0)] {
            let drawn = chart().drawn(size);
            if size.0 > 100.0 {
                assert!(points(&drawn.scene).iter().all(|p| drawn.scene.bounds.contains(*p)), "{size:?}");
            }
        }
    }

    #[test]
    fn axes_key_and_limits_are_said() {
        let drawn = chart().drawn((400.0, 300.0));
        let said = words(&drawn.scene);
        for word in ["A title", "Body", "Sum", "first", "second", "a band", "limit", "0", "4", "6"] {
            assert!(said.contains(&word), "{word}: {said:?}");
        }
        let discs = drawn.scene.shapes.iter().filter(|s| matches!(s, Shape::Marker { .. })).count();
        assert_eq!(discs, 2, "what would be covered is drawn once");
    }

    /// “sum” once touched the “20” below it.
    #[test]
    fn the_axis_word_stands_clear_of_the_highest_number() {
        let mut chart = chart();
        chart.y = Axis::numbers("sum", (0.0, 20.0));
        let drawn = chart.drawn((400.0, 300.0));
        let level = |said: &str| {
            let text = |shape: &Shape| match shape {
                Shape::Text(text) if text.words == said => Some(text.at.y),
                _ => None,
            };
            drawn.scene.shapes.iter().find_map(text).unwrap()
        };
        assert!(level("20") - level("sum") >= Theme::points(TextSize::Small) + space::S1);
    }

    /// Limits of ±2.71 on an axis to 120 once had their names on each other, struck through by their lines.
    #[test]
    fn names_of_limits_close_to_each_other_are_both_read() {
        let limit = |at: f64| PlotLayer::Limit { at, name: format!("limit {at}") };
        let mut chart = chart();
        chart.y = Axis::numbers("sum", (-3.0, 120.0));
        chart.layers = vec![limit(2.71), limit(-2.71), limit(3.0)];
        let drawn = chart.drawn((400.0, 300.0));
        let name = |shape: &Shape| match shape {
            Shape::Text(text) if text.words.starts_with("limit") => Some((text.at.y, text.plate)),
            _ => None,
        };
        let mut places: Vec<(f64, bool)> = drawn.scene.shapes.iter().filter_map(name).collect();
        places.sort_by(|a, b| a.0.total_cmp(&b.0));
        assert!(places.len() == 3 && places.iter().all(|(_, plate)| *plate));
        assert!(
            places.windows(2).all(|two| two[1].0 - two[0].0 >= Theme::points(TextSize::Small)),
            "{places:?}"
        );
    }

    /// By hand: two at one place part by one line; the last has no room below and pushes the others up.
    #[test]
    fn places_are_spread_as_little_as_needs_be() {
        assert_eq!(spread(&[10.0, 10.0, 50.0], 12.0, (0.0, 60.0)), Some(vec![10.0, 22.0, 50.0]));
        assert_eq!(spread(&[55.0, 58.0], 12.0, (0.0, 60.0)), Some(vec![48.0, 60.0]));
        assert_eq!(spread(&[5.0, 6.0], 12.0, (0.0, 10.0)), None);
    }

    #[test]
    fn lines_are_named_at_their_ends_where_there_is_room_and_in_the_key_elsewhere() {
        let mut chart = chart();
        chart.y = Axis::round("Sum", (0.0, 40.0), format::rounded);
        let direct = chart.direct((400.0, 300.0)).expect("room for two names");
        assert_eq!(direct.names.len(), 2);
        let drawn = chart.drawn((400.0, 300.0)).scene;
        let at = |name: &str| {
            drawn.shapes.iter().find_map(|shape| match shape {
                Shape::Text(text) if text.words == name => Some(text.at),
                _ => None,
            })
        };
        let (first, second) = (at("first").unwrap(), at("second").unwrap());
        assert!(first.x > 300.0 && second.x > 300.0 && second.y < first.y, "higher lines have higher names");
        assert!(at("a band").unwrap().y < 60.0, "what is no line stays in the key");
        // In a narrow drawing the names would take too much of it.
        assert_eq!(chart.direct((90.0, 300.0)), None);
    }

    /// Ticks once read 2.500, 2, 0.5000 on one axis.
    #[test]
    fn ticks_of_one_axis_have_one_precision() {
        let said = |low, high| {
            let axis = Axis::numbers("sum", (low, high));
            axis.ticks.into_iter().map(|(_, words)| words).collect::<Vec<_>>()
        };
        assert_eq!(said(0.0, 2.5), ["0.0", "0.5", "1.0", "1.5", "2.0", "2.5"]);
        assert_eq!(said(0.0, 120.0), ["0", "20", "40", "60", "80", "100", "120"]);
    }

    /// By hand: an axis from 0 to 4 over the room; the second point of the first line lies a quarter along.
    #[test]
    fn places_are_proportional() {
        let drawn = chart().drawn((400.0, 300.0));
        let line = drawn.scene.shapes.iter().find_map(|shape| match shape {
            Shape::Line { points, role: Role::FirstCurve, .. } if points.len() == 5 => Some(points.clone()),
            _ => None,
        });
        let line = line.unwrap();
        assert!(((line[1].x - line[0].x) * 4.0 - (line[4].x - line[0].x)).abs() < 1e-9);
        assert!(line[4].y < line[0].y, "up is up");
    }
}
