//! The house style of figures: widths in points of paper, type, how many pictures stand beside each other.
//!
//! Column widths are those that many journals share (common practice, no source): 85 mm, 120 mm and 175 mm. Small type is
//! then 7.2 points, everything to be read 9 points. A slide is 960 × 540 points (16:9) or 720 × 540 (4:3), a poster's
//! figure 600 mm wide with type three times that of a screen.

use crate::case::document::figure_spec::{FigureGround, FigureKind, FigureWidth};
use crate::scene::drawing::shape::TextSize;
use crate::scene::drawing::theme::{Theme, space};
use crate::scene::figure::asked::FigureStyle;

/// Sizes of a figure that grows downward, in points of the layout but for `scale`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Geometry {
    /// Room about everything.
    pub(super) margin: f64,
    /// Between pictures beside each other.
    pub(super) gap: f64,
    /// Pictures beside each other.
    pub(super) columns: usize,
    /// Width of a picture and its words.
    pub(super) column: f64,
    /// Whether readings are in short.
    pub(super) short: bool,
    /// Whether it is for a screen, with room for everything.
    pub(super) screen: bool,
    /// Size of the title.
    pub(super) title: TextSize,
    /// Points of paper to a point of the layout.
    pub(super) scale: f64,
    /// Pixels to a point, at least.
    pub(super) least_raster: f64,
}

/// Points of paper to a point of the layout at a journal's width, and on a poster.
const JOURNAL: f64 = 0.6;
const POSTER: f64 = 3.0;
/// Slides in points of paper.
const SLIDE: (f64, f64) = (960.0, 540.0);
const SLIDE_FOUR_THREE: (f64, f64) = (720.0, 540.0);
/// Columns narrower than this have readings in short.
const NARROW: f64 = 300.0;
/// Pixels to an inch that print asks for, and a poster (common practice, no source).
const PRINT: f64 = 300.0;
const POSTER_PRINT: f64 = 150.0;

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
        FigureWidth::SlideFourThree => "Slide 4:3",
        FigureWidth::Poster => "Poster 600 mm",
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
        FigureWidth::SlideFourThree => SLIDE_FOUR_THREE.0,
        FigureWidth::Poster => mm(600.0),
    }
}

/// Width and height of a slide in points of paper; none for what grows downward.
#[must_use]
pub const fn slide_pt(width: FigureWidth) -> Option<(f64, f64)> {
    match width {
        FigureWidth::Slide => Some(SLIDE),
        FigureWidth::SlideFourThree => Some(SLIDE_FOUR_THREE),
        FigureWidth::Single | FigureWidth::OneAndHalf | FigureWidth::Double | FigureWidth::Poster => None,
    }
}

/// The sizes of a figure that grows downward.
pub(super) fn geometry(style: &FigureStyle, shots: usize) -> Geometry {
    let Some(width) = style.width else { return screen(shots) };
    let columns = columns(style.kind, width, shots.max(1));
    let (scale, print) = if width == FigureWidth::Poster { (POSTER, POSTER_PRINT) } else { (JOURNAL, PRINT) };
    let (margin, gap) = (space::S3, space::S3);
    let inner = width_pt(width) / scale - 2.0 * margin;
    #[expect(clippy::cast_precision_loss, reason = "at most four")]
    let column = (inner + gap) / columns as f64 - gap;
    Geometry {
        margin,
        gap,
        columns,
        column,
        short: column < NARROW || matches!(style.kind, Some(FigureKind::Sequence | FigureKind::Pair)),
        screen: false,
        title: TextSize::Body,
        scale,
        least_raster: print / 72.0 * scale,
    }
}

/// As many beside each other as leave each wide enough to be read at this width.
fn columns(kind: Option<FigureKind>, width: FigureWidth, shots: usize) -> usize {
    let most = match width {
        // Up to three stand below each other, as wide as the column.
        FigureWidth::Single => 1 + usize::from(shots > 3),
        FigureWidth::OneAndHalf | FigureWidth::Poster => 2,
        FigureWidth::Double | FigureWidth::Slide | FigureWidth::SlideFourThree => match shots {
            4 => 2,
            0..=6 => 3,
            _ => 4,
        },
    };
    let wanted = match kind {
        Some(FigureKind::Shot) => 1,
        Some(FigureKind::BeforeAfter | FigureKind::Pair) => 2,
        Some(FigureKind::Sequence) | None => shots,
    };
    most.min(wanted).min(shots).max(1)
}

/// As wide as suits a screen.
fn screen(shots: usize) -> Geometry {
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
        short: false,
        screen: true,
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
}

/// Type of 18 points on a slide is small type of the layout.
const SMALLEST_PT: f64 = 18.0;
/// Pixels across a slide, at least.
pub(crate) const SLIDE_PIXELS: f64 = 1920.0;
/// Room at the edges of a slide, in points of its layout.
pub(crate) const SLIDE_MARGIN: f64 = 6.0;

/// Width and height of a slide in points of its layout, and how many points of the page one of them is; none for widths that
/// are no slide.
#[must_use]
pub(crate) fn slide_size(width: FigureWidth) -> Option<((f64, f64), f64)> {
    let (wide, high) = slide_pt(width)?;
    let scale = SMALLEST_PT / Theme::points(TextSize::Small);
    Some(((wide / scale, high / scale), scale))
}

/// A title and what is shown, as one message: a title that is a sentence of its own is not led on by a colon.
#[must_use]
pub(crate) fn titled(title: &str, body: &str) -> String {
    if title.ends_with(['?', '.', '!']) { format!("{title} {body}") } else { format!("{title}: {body}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn style(kind: FigureKind, width: FigureWidth) -> FigureStyle {
        FigureStyle { kind: Some(kind), width: Some(width), ..FigureStyle::default() }
    }

    /// Millimetres to points by hand: 85 mm / 25.4 × 72 = 240.94.
    #[test]
    fn a_figure_is_as_wide_as_its_column() {
        assert!((width_pt(FigureWidth::Single) - 240.94).abs() < 0.01);
        for kind in FigureKind::ALL {
            for width in FigureWidth::ALL.into_iter().filter(|width| slide_pt(*width).is_none()) {
                for shots in [1, 2, 5, 9] {
                    let geometry = geometry(&style(kind, width), shots);
                    let page = (geometry.inner() + 2.0 * geometry.margin) * geometry.scale;
                    assert!((page - width_pt(width)).abs() < 1e-9, "{kind:?} {width:?} {shots}");
                    assert!(geometry.column > 120.0, "{kind:?} {width:?} {shots}: {}", geometry.column);
                    // Nothing is set in less than 7 points at the final width.
                    assert!(Theme::points(TextSize::Small) * geometry.scale >= 7.0);
                }
            }
        }
    }

    #[test]
    fn two_images_of_a_narrow_column_stand_below_each_other() {
        let narrow = geometry(&style(FigureKind::BeforeAfter, FigureWidth::Single), 2);
        assert_eq!(narrow.columns, 1);
        assert!(narrow.column * narrow.scale > 220.0);
        assert_eq!(geometry(&style(FigureKind::Pair, FigureWidth::Double), 2).columns, 2);
        assert_eq!(geometry(&style(FigureKind::Sequence, FigureWidth::Double), 4).columns, 2);
        assert_eq!(geometry(&style(FigureKind::Sequence, FigureWidth::Double), 5).columns, 3);
    }
}
