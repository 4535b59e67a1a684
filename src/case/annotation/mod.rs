//! Labels: words and drawing on a shot, for teaching. They change no reading.
//!
//! Places are image coordinates (method, section 1), so that a label stays on what it names at every zoom and turn.
//!
//! Reading order: this file for what a label is, [`list`] for the labels of a shot together, [`value`] for the angle
//! and the length that are worked out, [`copied`] for labels on their way to another shot.

use crate::case::document::extra::Extra;
use crate::geom::point::{Point, Vec2};
use crate::measure::mark::MAX_COORDINATE_PX;

pub mod copied;
pub mod list;
pub mod value;

/// The most labels a shot has.
pub const MAX_LABELS: usize = 200;
/// The most characters a label's text has.
pub const MAX_TEXT: usize = 200;
/// The most points of a curve or an outline.
pub const MAX_POINTS: usize = 64;
/// How many times larger an inset may show its region.
pub const TIMES: std::ops::RangeInclusive<f64> = 1.5..=8.0;

/// What a label is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LabelKind {
    /// Words with a line that leads to their place: one point.
    Text,
    /// An arrow: where it begins, where its head is.
    Arrow,
    /// A straight line: its two ends.
    Line,
    /// A curved line through three points or more.
    Curve,
    /// An angle: a point on one side, the corner, a point on the other side.
    Angle,
    /// A length: its two ends.
    Length,
    /// A closed line: a polygon of three points or more; a round one has both ends of an axis, and a third point
    /// whose distance from that axis is its other half axis.
    Outline,
    /// Everything but one region is dimmed; the region is given as an outline is.
    Dim,
    /// A point with a number, which the legend explains.
    Number,
    /// A region shown larger in a corner of the picture: two opposite corners of the region.
    Inset,
}

/// A corner of the picture as it is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Corner {
    /// Top left.
    TopLeft,
    /// Top right.
    #[default]
    TopRight,
    /// Bottom left.
    BottomLeft,
    /// Bottom right.
    BottomRight,
}

/// One label of a shot.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// What it is, with its points.
    pub drawn: LabelShape,
    /// Its words; may be empty.
    pub text: String,
    /// The middle of its words where the user has put them; they find their own place without.
    pub text_at: Option<Point>,
    /// What the file says of it that this version does not know.
    pub extra: Extra,
}

/// What a label draws.
#[derive(Clone, Debug, PartialEq)]
pub enum LabelShape {
    /// A kind that is known here.
    Known {
        /// Which.
        kind: LabelKind,
        /// Its points, in the order its kind says.
        points: Vec<Point>,
        /// Whether an outline or a region is round.
        round: bool,
        /// In which corner an inset stands.
        corner: Corner,
        /// How many times larger it shows its region.
        times: f64,
    },
    /// One that a later version wrote, word for word; it is kept and not drawn.
    Unknown(String),
}

/// How much larger an inset shows its region unless something else is said.
pub const USUAL_TIMES: f64 = 2.5;

impl LabelKind {
    /// All kinds, in the order they are offered.
    pub const ALL: [Self; 10] = [
        Self::Text,
        Self::Arrow,
        Self::Line,
        Self::Curve,
        Self::Angle,
        Self::Length,
        Self::Outline,
        Self::Dim,
        Self::Number,
        Self::Inset,
    ];

    /// Its key in the case file.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Text => "text",
            Self::Arrow => "arrow",
            Self::Line => "line",
            Self::Curve => "curve",
            Self::Angle => "angle",
            Self::Length => "length",
            Self::Outline => "outline",
            Self::Dim => "dim",
            Self::Number => "number",
            Self::Inset => "inset",
        }
    }

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Text => "Text",
            Self::Arrow => "Arrow",
            Self::Line => "Line",
            Self::Curve => "Curve",
            Self::Angle => "Angle",
            Self::Length => "Length",
            Self::Outline => "Outline",
            Self::Dim => "Dim the rest",
            Self::Number => "Number",
            Self::Inset => "Inset",
        }
    }

    /// The fewest and the most points it has.
    #[must_use]
    pub const fn count(self, round: bool) -> (usize, usize) {
        match self {
            Self::Text | Self::Number => (1, 1),
            Self::Arrow | Self::Line | Self::Length | Self::Inset => (2, 2),
            Self::Angle => (3, 3),
            Self::Curve => (3, MAX_POINTS),
            Self::Outline | Self::Dim if round => (3, 3),
            Self::Outline | Self::Dim => (3, MAX_POINTS),
        }
    }

    /// Whether it can be round.
    #[must_use]
    pub const fn can_be_round(self) -> bool {
        matches!(self, Self::Outline | Self::Dim)
    }
}

impl Corner {
    /// All corners.
    pub const ALL: [Self; 4] = [Self::TopLeft, Self::TopRight, Self::BottomLeft, Self::BottomRight];

    /// Its key in the case file.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::TopLeft => "top_left",
            Self::TopRight => "top_right",
            Self::BottomLeft => "bottom_left",
            Self::BottomRight => "bottom_right",
        }
    }

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::TopLeft => "top left",
            Self::TopRight => "top right",
            Self::BottomLeft => "bottom left",
            Self::BottomRight => "bottom right",
        }
    }
}

impl Label {
    /// A label of a kind without words.
    #[must_use]
    pub fn new(kind: LabelKind, points: Vec<Point>) -> Self {
        let drawn =
            LabelShape::Known { kind, points, round: false, corner: Corner::default(), times: USUAL_TIMES };
        Self { drawn, text: String::new(), text_at: None, extra: Extra::default() }
    }

    /// The same with words.
    #[must_use]
    pub fn saying(mut self, text: impl Into<String>) -> Self {
        self.text = text.into();
        self
    }

    /// The same as a round outline or region.
    #[must_use]
    pub fn rounded(mut self) -> Self {
        if let LabelShape::Known { round, .. } = &mut self.drawn {
            *round = true;
        }
        self
    }

    /// A label of a later version, word for word as it stands in the file.
    #[must_use]
    pub fn unknown(json: impl Into<String>) -> Self {
        let drawn = LabelShape::Unknown(json.into());
        Self { drawn, text: String::new(), text_at: None, extra: Extra::default() }
    }

    /// Its kind; `None` for one of a later version.
    #[must_use]
    pub const fn kind(&self) -> Option<LabelKind> {
        match &self.drawn {
            LabelShape::Known { kind, .. } => Some(*kind),
            LabelShape::Unknown(_) => None,
        }
    }

    /// Its points.
    #[must_use]
    pub fn points(&self) -> &[Point] {
        match &self.drawn {
            LabelShape::Known { points, .. } => points,
            LabelShape::Unknown(_) => &[],
        }
    }

    /// Its points, to be changed.
    pub fn points_mut(&mut self) -> &mut [Point] {
        match &mut self.drawn {
            LabelShape::Known { points, .. } => points,
            LabelShape::Unknown(_) => &mut [],
        }
    }

    /// Whether it is a round outline or region.
    #[must_use]
    pub const fn is_round(&self) -> bool {
        matches!(self.drawn, LabelShape::Known { round: true, .. })
    }

    /// The same moved as a whole, words included.
    #[must_use]
    pub fn moved(mut self, by: Vec2) -> Self {
        for point in self.points_mut() {
            *point += by;
        }
        self.text_at = self.text_at.map(|at| at + by);
        self
    }

    /// Its words as they are written: spaces and line breaks made one, ends taken off.
    #[must_use]
    pub fn words(&self) -> String {
        self.text.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// Why it cannot be meant, as the end of a sentence; `None` for a sound one and for one of a later version.
    #[must_use]
    pub fn fault(&self) -> Option<String> {
        let LabelShape::Known { kind, points, round, times, .. } = &self.drawn else { return None };
        if *round && !kind.can_be_round() {
            return Some(format!(
                "an annotation of the kind “{}” cannot be round; remove “round”",
                kind.key()
            ));
        }
        let (least, most) = kind.count(*round);
        let found = points.len();
        if found < least || found > most {
            let needed = if least == most { least.to_string() } else { format!("{least} to {most}") };
            let one = if most == 1 { "point" } else { "points" };
            return Some(format!(
                "an annotation of the kind “{}” has {needed} {one}, not {found}",
                kind.key()
            ));
        }
        if points.iter().chain(&self.text_at).any(|p| !reachable(*p)) {
            return Some("an annotation point lies outside any image; correct it".to_owned());
        }
        if self.text.chars().count() > MAX_TEXT {
            return Some(format!("an annotation text has more than {MAX_TEXT} characters; shorten it"));
        }
        if *kind == LabelKind::Inset {
            let flat = |a: f64, b: f64| (a - b).abs() < 1.0;
            if let [a, b] = points.as_slice()
                && (flat(a.x, b.x) || flat(a.y, b.y))
            {
                return Some("the region of an inset has no area; draw a larger one".to_owned());
            }
            if !TIMES.contains(times) {
                let (low, high) = (TIMES.start(), TIMES.end());
                return Some(format!("an inset shows its region {low} to {high} times larger, not {times}"));
            }
        }
        None
    }
}

fn reachable(p: Point) -> bool {
    p.x.abs() <= MAX_COORDINATE_PX && p.y.abs() <= MAX_COORDINATE_PX
}

/// Why a shot cannot have these labels, as the end of a sentence.
#[must_use]
pub fn fault(labels: &[Label]) -> Option<String> {
    if labels.len() > MAX_LABELS {
        let found = labels.len();
        return Some(format!(
            "has {found} annotations; a shot can have at most {MAX_LABELS}, so remove the others"
        ));
    }
    labels.iter().find_map(Label::fault)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(n: usize) -> Vec<Point> {
        (0..n)
            .map(|i| {
                Point::new(
                    f64::from(u32::try_from(i).unwrap()) * 9.0,
                    4.0 * f64::from(u32::try_from(i % 3).unwrap()),
                )
            })
            .collect()
    }

    #[test]
    fn every_kind_has_its_number_of_points() {
        for kind in LabelKind::ALL {
            let (least, most) = kind.count(false);
            for n in 0..=MAX_POINTS + 1 {
                let sound = Label::new(kind, points(n)).fault().is_none();
                assert_eq!(sound, (least..=most).contains(&n), "{kind:?} with {n}");
            }
        }
        assert!(Label::new(LabelKind::Outline, points(3)).rounded().fault().is_none());
        assert!(Label::new(LabelKind::Outline, points(4)).rounded().fault().is_some());
        assert!(Label::new(LabelKind::Arrow, points(2)).rounded().fault().is_some());
    }

    #[test]
    fn what_no_picture_holds_is_refused() {
        for bad in [f64::NAN, f64::INFINITY, 1e9] {
            let label = Label::new(LabelKind::Text, vec![Point::new(bad, 1.0)]);
            assert!(label.fault().is_some_and(|text| text.contains("outside any image")), "{bad}");
            let mut label = Label::new(LabelKind::Text, points(1));
            label.text_at = Some(Point::new(1.0, bad));
            assert!(label.fault().is_some(), "{bad}");
        }
        let flat = Label::new(LabelKind::Inset, vec![Point::new(1.0, 1.0), Point::new(1.0, 9.0)]);
        assert!(flat.fault().is_some());
        assert!(Label::new(LabelKind::Text, points(1)).saying("x".repeat(MAX_TEXT + 1)).fault().is_some());
        assert!(fault(&vec![Label::new(LabelKind::Text, points(1)); MAX_LABELS + 1]).is_some());
        assert!(fault(&vec![Label::new(LabelKind::Text, points(1)); MAX_LABELS]).is_none());
    }

    #[test]
    fn the_words_that_are_drawn_are_one_line() {
        assert_eq!(
            Label::new(LabelKind::Text, points(1)).saying(" tip\n of\tthe  probe ").words(),
            "tip of the probe"
        );
    }
}
