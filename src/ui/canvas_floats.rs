//! What floats over the image: zoom and local contrast; and how much of the image is left to be seen.

use egui::{Align2, Area, Context, Frame, Margin, Rect, vec2};

use crate::app::command::Command;
use crate::app::command::view::ViewCommand;
use crate::app::session::state::State;
use crate::scene::drawing::theme::Theme;
use crate::ui::look::colour;
use crate::ui::widgets::{Asked, command_button, sign_button, toggle_button};

/// Shows the buttons of zoom and local contrast at the bottom of the image.
pub fn zoom_ui(ctx: &Context, over: Rect, state: &State, asked: &mut Asked) -> Option<Rect> {
    state.editor.document.as_ref()?.shot()?;
    let theme = Theme::of(state.display.mode);
    let area = Area::new(egui::Id::unique("zoom"))
        .order(egui::Order::Middle)
        .pivot(Align2::RIGHT_BOTTOM)
        .fixed_pos(over.right_bottom() - vec2(8.0, 8.0))
        .constrain(false);
    let shown = area.show(ctx, |ui| {
        let frame = Frame::new().fill(colour(theme.panel)).inner_margin(Margin::same(3)).corner_radius(6);
        frame.show(ui, |ui| {
            ui.spacing_mut().item_spacing.x = 3.0;
            ui.horizontal(|ui| {
                let local =
                    state.editor.document.as_ref().is_some_and(|document| document.aspect().look.local);
                toggle_button(ui, state, Command::View(ViewCommand::LocalContrast), local, asked);
                for command in [Command::View(ViewCommand::Fit), Command::View(ViewCommand::ZoomToBody)] {
                    command_button(ui, state, command, asked);
                }
                sign_button(ui, state, Command::View(ViewCommand::ZoomOut), "−", asked);
                sign_button(ui, state, Command::View(ViewCommand::ZoomIn), "+", asked);
            });
        });
    });
    Some(shown.response.rect)
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
    use egui::pos2;

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
