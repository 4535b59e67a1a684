//! What has been clicked of the screen in a photo: its points, and the outline that they give.

use crate::app::annotation::screen_clicks::ScreenPoint;
use crate::app::session::document::Document;
use crate::geom::point::Point;
use crate::scene::drawing::shape::{Glyph, Rect, Role, Scene, Space};
use crate::scene::drawing::theme::{Ground, Theme};
use crate::ui::paint;

/// Draws it over the image.
pub(crate) fn paint(
    painter: &egui::Painter,
    document: &Document,
    theme: &Theme,
    screen: impl Fn(Point) -> Point,
) {
    let Some(clicks) = document.straightening() else { return };
    let mut lines = Scene::new(Space::Image, Rect::new(0.0, 0.0, 1.0, 1.0));
    let outline = clicks.outline();
    if outline.len() > 1 {
        lines.line(outline, Role::Accent);
    }
    for (point, at) in clicks.points() {
        let glyph = match point {
            ScreenPoint::Edge(_) => Glyph::Ring,
            ScreenPoint::Centre => Glyph::Cross,
        };
        lines.marker(at, glyph, Role::ChosenHandle);
    }
    paint::scene(painter, &lines, theme, Ground::Picture, screen);
}
