//! Sentences that stay until they are put away.

use egui::{Label, RichText, Ui};

use crate::app::command::Command;
use crate::app::command::window::WindowCommand;
use crate::app::session::state::{State, Weight};
use crate::scene::drawing::shape::{Glyph, Role};
use crate::scene::drawing::theme::Theme;
use crate::ui::widgets::{Asked, sign};

/// How far above the window's lower edge a hint stands, in points.
const HINT_ABOVE: f32 = 132.0;
/// How wide it may be.
const HINT_WIDTH: f32 = 460.0;

/// Shows what there is to be read.
pub fn notices_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let theme = Theme::of(state.display.mode);
    for notice in &state.notices {
        ui.horizontal_top(|ui| {
            let (role, glyph) = match notice.weight {
                Weight::Note => (Role::Text, Glyph::Disc),
                Weight::Trouble => (Role::Undecided, Glyph::Triangle),
            };
            sign(ui, &theme, role, glyph);
            ui.add(Label::new(RichText::new(&notice.text)).wrap());
        });
    }
    if ui.button("Put away").on_hover_text("Key: Esc").clicked() {
        asked.push(Command::Window(WindowCommand::Dismiss));
    }
}

/// Says why the last command did nothing, over whatever is there: nothing moves for it, and it goes with the next
/// command.
pub fn hint_ui(ctx: &egui::Context, state: &State) {
    let Some(sentence) = &state.refused else { return };
    let area = egui::Area::new(egui::Id::unique("hint"))
        .order(egui::Order::Foreground)
        .anchor(egui::Align2::CENTER_BOTTOM, egui::vec2(0.0, -HINT_ABOVE))
        .interactable(false);
    area.show(ctx, |ui| {
        egui::Frame::popup(ui.style()).show(ui, |ui| {
            ui.set_max_width(HINT_WIDTH);
            ui.add(Label::new(sentence).wrap());
        });
    });
}
