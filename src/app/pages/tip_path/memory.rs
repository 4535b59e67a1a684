//! What the page with the tip path remembers.

use crate::app::display::viewport::Canvas;
use crate::app::display::viewport::Showing;
use crate::geom::circle::Circle;
use crate::geom::point::Point;
use crate::measure::ahead::Ahead;
use crate::measure::ahead::Stylet;
use crate::measure::mark::Level;
use crate::measure::mark::Side;
use crate::scene::tip_path::TipRun;

/// What of the page is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Tab {
    /// The way through the body.
    #[default]
    Way,
    /// The curve ahead.
    Curve,
}

/// What the page remembers.
#[derive(Debug, Default)]
pub struct TipPathPage {
    /// The body and entry side.
    pub body: Option<(Level, Side)>,
    /// Its way; `None` where no shot has level and side.
    pub way: Option<TipRun>,
    /// The shots of that body by their ids: what the page shows.
    pub shots: Vec<String>,
    /// What is shown.
    pub tab: Tab,
    /// The curve ahead.
    pub curve: CurveMemory,
}

/// The shape of the drawn stylet.
pub type StyletShape = Stylet;

/// What is remembered of the curve.
#[derive(Debug)]
pub struct CurveMemory {
    /// Id of the shot it is drawn on.
    pub shot: Option<String>,
    /// Its shape.
    pub shape: StyletShape,
    /// Places clicked along a visible curve.
    pub clicks: Vec<Point>,
    /// The circle through them, with its radius in millimetres.
    pub circle: Option<(Circle, f64)>,
    /// The course, or why there is none.
    pub course: Option<Result<Ahead, String>>,
    /// Place of the next lateral shot of the body in the case, and its tip on this picture.
    pub next: Option<(usize, Option<Point>)>,
    /// Which part of the picture is seen; the body where nothing was chosen.
    pub showing: Option<Showing>,
    /// The room that the picture has.
    pub canvas: Canvas,
}

impl Default for CurveMemory {
    fn default() -> Self {
        Self {
            shot: None,
            // Only where the sliders begin.
            shape: StyletShape { radius_mm: 25.0, bend_deg: 45.0, turn_deg: 0.0, lean_deg: 0.0 },
            clicks: Vec::new(),
            circle: None,
            course: None,
            next: None,
            showing: None,
            canvas: Canvas::default(),
        }
    }
}
