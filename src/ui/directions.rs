//! Words at the edges of a lateral image that tell which way the spine faces, so that nobody marks a body the wrong way
//! round; and, while the pointer is elsewhere, what the pointer does over the image.

use egui::{Align2, Painter, Pos2, Rect};

use crate::app::display::viewport::Turn;
use crate::app::session::document::Document;
use crate::geom::point::Vec2;
use crate::measure::mark::View;
use crate::scene::drawing::shape::{Role, TextSize};
use crate::scene::drawing::theme::Theme;
use crate::ui::look::{colour, font};

/// What the pointer does over the image, where it is not over it.
pub const POINTER: &str = "Wheel: zoom.  Middle button or Shift: pan.  Right button: window/level.";

/// Which words stand at the left and the right edge; `None` where the image is no lateral or is turned on its side, and as
/// long as nothing tells which way the spine faces.
fn words(document: &Document) -> Option<[String; 2]> {
    document.shot().filter(|shot| shot.shows(View::Lateral))?;
    if !is_level(document.aspect().turn) {
        return None;
    }
    let mut words = ["posterior".to_owned(), "anterior".to_owned()];
    if !document.posterior_is_left()? {
        words.swap(0, 1);
    }
    Some(words)
}

/// Whether left and right of the stored image are seen at the left and the right.
fn is_level(turn: Turn) -> bool {
    turn.seen(Vec2::new(1.0, 0.0)).x.abs() > 0.7
}

/// Draws them in the middle of both edges.
pub fn paint(painter: &Painter, rect: Rect, document: &Document, theme: &Theme) {
    let Some([left, right]) = words(document) else { return };
    let y = rect.top() + 0.5 * rect.height();
    plate(painter, Pos2::new(rect.left() + 10.0, y), Align2::LEFT_CENTER, left, theme);
    plate(painter, Pos2::new(rect.right() - 10.0, y), Align2::RIGHT_CENTER, right, theme);
}

/// Words on a plate of their own, anchored at a place of the screen.
pub fn plate(painter: &Painter, at: Pos2, anchor: Align2, words: String, theme: &Theme) {
    let (plate, ink) = Theme::plate(Role::Text);
    let galley = painter.layout_no_wrap(words, font(TextSize::Small), colour(ink));
    let area = anchor.anchor_size(at, galley.size());
    painter.rect_filled(area.expand2(egui::vec2(4.0, 2.0)), 3.0, colour(plate));
    painter.galley(area.min, galley, colour(theme.text));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::document::{Case, Shot};
    use crate::measure::mark::{MarkKind, Marks, Stage};

    fn document(marks: Marks) -> Document {
        let mut shot = Shot::new("a", "a.png", View::Lateral);
        shot.stage = Some(Stage::Final);
        shot.marks = marks;
        Document::fresh(Case { shots: vec![shot].into(), ..Case::default() })
    }

    /// The superior endplate is marked from its posterior end: here that is on the right.
    #[test]
    fn the_edges_say_what_the_marks_tell_and_nothing_before_that() {
        assert_eq!(words(&document(Marks::new())), None);
        let marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(200.0, 100.0), (100.0, 100.0)])
            .with(MarkKind::InferiorEndPlate, &[(200.0, 180.0), (100.0, 180.0)]);
        let mut turned = document(marks);
        assert_eq!(words(&turned).unwrap(), ["anterior", "posterior"]);
        turned.aspect_mut().unwrap().turn = Turn::default().flipped();
        assert_eq!(words(&turned).unwrap(), ["posterior", "anterior"], "as displayed");
        turned.aspect_mut().unwrap().turn = Turn::default().turned(90.0);
        assert_eq!(words(&turned), None, "on its side");
    }
}
