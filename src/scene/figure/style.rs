//! The house style of figures: widths in points of paper, type, how many pictures stand beside each other, letters and
//! scale bars.
//!
//! Column widths are those that many journals share (common practice, no source): 85 mm, 120 mm and 175 mm. Small type is
//! then 7.2 points, everything to be read 9 points. A slide is 16:9, 960 × 540 points.

use crate::case::document::figure_spec::{FigureGround, FigureKind, FigureSpec, FigureWidth};
use crate::geom::point::Point;
use crate::scene::drawing::shape::{AlignX, AlignY, Rect, Role, Scene, Space, Text, TextSize};
use crate::scene::drawing::theme::space;
use crate::scene::figure::{Extent, FigureOptions};
use crate::scene::format;
use crate::scene::overlay::LayerSet;

/// What a figure has beside its pictures and readings.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureStyle {
    /// What it is; where not said, shots stand as they come.
    pub kind: Option<FigureKind>,
    /// How wide it is; where not said, as wide as suits a screen.
    pub width: Option<FigureWidth>,
    /// Whether the pictures have letters.
    pub letters: bool,
    /// Words below the pictures.
    pub caption: Option<String>,
    /// Whether calibrated pictures have a bar of known length.
    pub scale_bar: bool,
    /// Whether what the lines mean is said.
    pub legend: bool,
}

impl Default for FigureStyle {
    fn default() -> Self {
        Self { kind: None, width: None, letters: false, caption: None, scale_bar: false, legend: true }
    }
}

impl FigureOptions {
    /// What a template asks for; `title` is the case's.
    #[must_use]
    pub fn of_spec(spec: &FigureSpec, title: Option<&str>) -> Self {
        Self {
            title: spec.title.clone().or_else(|| title.map(str::to_owned)),
            layers: spec.marked.then(LayerSet::default),
            window: None,
            extent: if spec.whole { Extent::Whole } else { Extent::AroundBody },
            style: FigureStyle {
                kind: Some(spec.kind),
                width: Some(spec.width),
                letters: spec.letters,
                caption: spec.caption.clone(),
                scale_bar: spec.scale_bar,
                legend: spec.legend,
            },
        }
    }
}

/// Sizes of a figure, in points of the layout but for `scale`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Geometry {
    /// Room about everything.
    pub(super) margin: f64,
    /// Between pictures beside each other.
    pub(super) gap: f64,
    /// Pictures beside each other.
    pub(super) columns: usize,
    /// Width of what a picture and its words take.
    pub(super) column: f64,
    /// Width of a picture in it.
    pub(super) picture: f64,
    /// Whether the words stand beside the picture and not below it.
    pub(super) beside: bool,
    /// Whether readings are in short.
    pub(super) short: bool,
    /// Height of the page where it is fixed.
    pub(super) height: Option<f64>,
    /// Size of the title.
    pub(super) title: TextSize,
    /// Points of paper to a point of the layout.
    pub(super) scale: f64,
    /// Pixels to a point, at least.
    pub(super) least_raster: f64,
}

/// Points of paper to a point of the layout at a journal's width.
const JOURNAL: f64 = 0.6;
/// A slide in points of paper.
const SLIDE: (f64, f64) = (960.0, 540.0);
/// The same for slides, larger type first.
const SLIDES: [f64; 4] = [1.25, 1.05, 0.9, 0.75];
/// Below this share of its column a picture on a slide gives way to smaller type.
const LEAST_PICTURE: f64 = 0.5;
/// Columns narrower than this have readings in short.
const NARROW: f64 = 300.0;
/// Pixels to an inch that print asks for (common practice, no source).
const PRINT: f64 = 300.0;

/// A kind of figure in words.
#[must_use]
pub const fn kind_name(kind: FigureKind) -> &'static str {
    match kind {
        FigureKind::Shot => "One shot",
        FigureKind::BeforeAfter => "Before | after",
        FigureKind::Sequence => "Sequence",
        FigureKind::Pair => "Lateral and AP",
    }
}

/// A width in words.
#[must_use]
pub const fn width_name(width: FigureWidth) -> &'static str {
    match width {
        FigureWidth::Single => "85 mm",
        FigureWidth::OneAndHalf => "120 mm",
        FigureWidth::Double => "175 mm",
        FigureWidth::Slide => "Slide 16:9",
    }
}

/// A ground in words.
#[must_use]
pub const fn ground_name(ground: FigureGround) -> &'static str {
    match ground {
        FigureGround::Light => "Light",
        FigureGround::Dark => "Dark",
    }
}

/// Width in points of paper.
#[must_use]
pub fn width_pt(width: FigureWidth) -> f64 {
    let mm = |mm: f64| mm / 25.4 * 72.0;
    match width {
        FigureWidth::Single => mm(85.0),
        FigureWidth::OneAndHalf => mm(120.0),
        FigureWidth::Double => mm(175.0),
        FigureWidth::Slide => SLIDE.0,
    }
}

/// Geometries to be tried in their order until one fits; the last fits as well as it may.
pub(super) fn geometries(style: &FigureStyle, shots: usize) -> Vec<Geometry> {
    let Some(width) = style.width else { return vec![screen(shots)] };
    let columns = match (style.kind, width) {
        (Some(FigureKind::Shot), _) => 1,
        (Some(FigureKind::BeforeAfter | FigureKind::Pair), _) | (_, FigureWidth::Single) => 2,
        (_, FigureWidth::OneAndHalf) => 3,
        (_, FigureWidth::Double | FigureWidth::Slide) => 4,
    };
    let columns = columns.min(shots.max(1));
    let with = |scale: f64| {
        let slide = width == FigureWidth::Slide;
        let (margin, gap) = if slide { (space::S6, space::S6) } else { (space::S3, space::S3) };
        let inner = width_pt(width) / scale - 2.0 * margin;
        #[expect(clippy::cast_precision_loss, reason = "at most four")]
        let column = (inner + gap) / columns as f64 - gap;
        let beside = slide && columns == 1;
        Geometry {
            margin,
            gap,
            columns,
            column,
            picture: if beside { 0.62 * column } else { column },
            beside,
            short: slide || column < NARROW || style.kind == Some(FigureKind::Sequence),
            height: slide.then_some(SLIDE.1 / scale),
            title: if slide { TextSize::Large } else { TextSize::Body },
            scale,
            least_raster: if slide { 1920.0 / SLIDE.0 * scale } else { PRINT / 72.0 * scale },
        }
    };
    if width == FigureWidth::Slide { SLIDES.map(with).to_vec() } else { vec![with(JOURNAL)] }
}

/// As wide as suits a screen.
pub(super) fn screen(shots: usize) -> Geometry {
    const ALONE: f64 = 560.0;
    const AMONG: f64 = 384.0;
    let column = if shots == 1 { ALONE } else { AMONG };
    let columns = match shots {
        0 | 1 => 1,
        2 | 4 => 2,
        _ => 3,
    };
    Geometry {
        margin: space::S6,
        gap: space::S6,
        columns,
        column,
        picture: column,
        beside: false,
        short: false,
        height: None,
        title: TextSize::Large,
        scale: 1.0,
        least_raster: 2.0,
    }
}

impl Geometry {
    /// Width of all columns together.
    pub(super) fn inner(&self) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "at most four")]
        let columns = self.columns as f64;
        columns * (self.column + self.gap) - self.gap
    }

    /// Left edge of a column.
    pub(super) fn column_at(&self, index: usize) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "at most four")]
        let index = index as f64;
        self.margin + index * (self.column + self.gap)
    }

    /// The same with pictures so much smaller that a page of this height, of which pictures take `pictures`, fits; none
    /// where they would become too small.
    pub(super) fn fitted(&self, height: f64, pictures: f64) -> Option<Self> {
        let most = self.height.unwrap_or(f64::INFINITY);
        if height <= most {
            return Some(*self);
        }
        // A point to spare, since places are moved to whole pixels.
        let share = (pictures - (height + 1.0 - most)) / pictures.max(1.0);
        (share >= LEAST_PICTURE).then_some(Self { picture: self.picture * share, ..*self })
    }
}

/// The letter of a picture: a, b, … z; none beyond.
#[must_use]
pub fn letter(index: usize) -> Option<char> {
    ('a'..='z').nth(index)
}

/// Lengths of scale bars in millimetres.
const BARS_MM: [f64; 7] = [100.0, 50.0, 20.0, 10.0, 5.0, 2.0, 1.0];
/// The longest part of a picture's width that a scale bar takes.
const LONGEST_BAR: f64 = 0.3;

/// Letter and scale bar of a picture in this room, `mm` wide where it is calibrated.
pub(super) fn furniture(room: Rect, letter: Option<char>, mm: Option<f64>) -> Scene {
    let (width, height) = (room.width(), room.height());
    let mut scene = Scene::new(Space::Points, Rect::new(0.0, 0.0, width, height));
    if let Some(letter) = letter {
        let at = Point::new(space::S3, space::S2 + space::S1);
        let text = Text::new(at, letter.to_string(), Role::Text).sized(TextSize::Body);
        scene.text(text.aligned(AlignX::Left, AlignY::Top).on_plate());
    }
    let bar = |mm: f64| BARS_MM.into_iter().find(|bar| *bar <= LONGEST_BAR * mm).map(|bar| (bar, bar / mm));
    if let Some((bar, share)) = mm.and_then(bar) {
        let (left, y) = (space::S3, height - space::S3);
        let right = left + share * width;
        scene.line(vec![Point::new(left, y), Point::new(right, y)], Role::Frame);
        for x in [left, right] {
            scene.line(vec![Point::new(x, y - 3.0), Point::new(x, y + 3.0)], Role::Frame);
        }
        let at = Point::new(left + 0.5 * share * width, y - space::S2 - space::S1);
        let words = Text::new(at, format!("{} mm", format::as_typed(bar)), Role::Text);
        scene.text(words.aligned(AlignX::Middle, AlignY::Bottom).on_plate());
    }
    scene
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::drawing::shape::Shape;
    use crate::scene::drawing::theme::Theme;

    fn style(kind: FigureKind, width: FigureWidth) -> FigureStyle {
        FigureStyle { kind: Some(kind), width: Some(width), ..FigureStyle::default() }
    }

    /// Millimetres to points by hand: 85 mm / 25.4 × 72 = 240.94.
    #[test]
    fn a_figure_is_as_wide_as_its_column() {
        assert!((width_pt(FigureWidth::Single) - 240.94).abs() < 0.01);
        for kind in FigureKind::ALL {
            for width in FigureWidth::ALL {
                for shots in [1, 2, 5, 9] {
                    for geometry in geometries(&style(kind, width), shots) {
                        let page = (geometry.inner() + 2.0 * geometry.margin) * geometry.scale;
                        assert!((page - width_pt(width)).abs() < 1e-9, "{kind:?} {width:?} {shots}");
                        assert!(geometry.column > 60.0 && geometry.picture <= geometry.column);
                        // Nothing is set in less than 6 points, which most journals refuse (common practice).
                        assert!(Theme::points(TextSize::Small) * geometry.scale >= 6.0);
                    }
                }
            }
        }
    }

    #[test]
    fn pictures_give_way_until_they_would_be_too_small() {
        let slide = geometries(&style(FigureKind::BeforeAfter, FigureWidth::Slide), 2)[0];
        let most = slide.height.unwrap();
        assert_eq!(slide.fitted(most, 100.0), Some(slide));
        let smaller = slide.fitted(most + 19.0, 100.0).unwrap();
        assert!((smaller.picture - 0.8 * slide.picture).abs() < 1e-9);
        assert_eq!(slide.fitted(most + 90.0, 100.0), None);
    }

    /// A picture 60 mm wide on 300 points: a third of that is 18 mm, so the bar is 10 mm and 50 points long.
    #[test]
    fn a_scale_bar_is_as_long_as_it_says() {
        let room = Rect::new(10.0, 10.0, 310.0, 210.0);
        let scene = furniture(room, Some('a'), Some(60.0));
        let Some(Shape::Line { points, .. }) =
            scene.shapes.iter().find(|shape| matches!(shape, Shape::Line { .. }))
        else {
            panic!("no bar")
        };
        assert!((points[1].x - points[0].x - 50.0).abs() < 1e-9);
        let words: Vec<_> = scene
            .shapes
            .iter()
            .filter_map(|shape| if let Shape::Text(text) = shape { Some(text.words.as_str()) } else { None })
            .collect();
        assert_eq!(words, ["a", "10 mm"]);
        assert!(furniture(room, None, None).shapes.is_empty());
        assert_eq!((letter(0), letter(25), letter(26)), (Some('a'), Some('z'), None));
    }
}
