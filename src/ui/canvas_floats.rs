//! The buttons of zoom and local contrast beside the image, and how much of the image is seen below what floats over it.

use egui::{Rect, Ui};

use crate::app::command::Command;
use crate::app::command::view::ViewCommand;
use crate::app::session::state::State;
use crate::ui::widgets::{Asked, command_button, sign_button, toggle_button};

/// Room in points that all the buttons need, and that they need without those of the wheel.
pub const ALL_OF_ZOOM: f32 = 374.0;
const WITHOUT_STEPS: f32 = 306.0;

/// Shows the buttons of zoom and local contrast, beside the image rather than upon it, from the right to the left; as many
/// as there is room for. All of it is in the menu of the image, too.
pub fn zoom_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let Some(document) = state.editor.document.as_ref().filter(|document| document.shot().is_some()) else {
        return;
    };
    let room = ui.available_width();
    if room < WITHOUT_STEPS {
        return;
    }
    if room >= ALL_OF_ZOOM {
        sign_button(ui, state, Command::View(ViewCommand::ZoomIn), "+", asked);
        sign_button(ui, state, Command::View(ViewCommand::ZoomOut), "−", asked);
    }
    for command in [Command::View(ViewCommand::ZoomToBody), Command::View(ViewCommand::Fit)] {
        command_button(ui, state, command, asked);
    }
    let local = document.aspect().look.local;
    toggle_button(ui, state, Command::View(ViewCommand::LocalContrast), local, asked);
}

/// Share of the window in which the image is seen: the part of the canvas that the image fills, less what floats
/// over it. The image is taken as upright, or as turned by quarters.
#[must_use]
pub fn image_share(canvas: Rect, image: Rect, floats: &[Rect], window: Rect) -> f64 {
    let area = |rect: Rect| f64::from(rect.width().max(0.0)) * f64::from(rect.height().max(0.0));
    let seen = canvas.intersect(image);
    if !seen.is_positive() {
        return 0.0;
    }
    // Floats stand in corners of their own, so none covers another.
    let covered: f64 =
        floats.iter().map(|float| float.intersect(seen)).filter(|r| r.is_positive()).map(area).sum();
    (area(seen) - covered) / area(window).max(1.0)
}

#[cfg(test)]
mod tests {
    use egui::{pos2, vec2};

    use super::*;

    /// By hand: of a window of 100 × 100 the canvas is 80 × 50, the image 40 × 50 of it, a float 10 × 10 of that.
    #[test]
    fn the_share_is_what_is_seen_of_the_image() {
        let rect = |x: f32, y: f32, w: f32, h: f32| Rect::from_min_size(pos2(x, y), vec2(w, h));
        let share = image_share(
            rect(10.0, 10.0, 80.0, 50.0),
            rect(50.0, 0.0, 100.0, 100.0),
            &[rect(50.0, 10.0, 10.0, 10.0)],
            rect(0.0, 0.0, 100.0, 100.0),
        );
        assert!((share - 0.19).abs() < 1e-9, "{share}");
        let beside = rect(95.0, 0.0, 5.0, 5.0);
        assert!(
            image_share(rect(0.0, 0.0, 90.0, 90.0), beside, &[], rect(0.0, 0.0, 100.0, 100.0)).abs() < 1e-9
        );
    }
}
