//! Sentences that stay until they are put away.

use egui::{Label, RichText, Ui};

use crate::app::command::Command;
use crate::app::session::state::{State, Weight};
use crate::scene::drawing::shape::{Glyph, Role};
use crate::scene::drawing::theme::Theme;
use crate::ui::widgets::{Asked, sign};

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
        asked.push(Command::Dismiss);
    }
}
