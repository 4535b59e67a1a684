//! A small line of a reading, and a sentence with its sign.

use egui::accesskit::Role as Part;
use egui::{Align, Label, Layout, RichText, Ui, WidgetInfo};

use crate::app::display::reading_details::DetailLine;
use crate::scene::drawing::shape::{Glyph, Role};
use crate::scene::drawing::theme::{Theme, space};
use crate::ui::look::{colour, pt};
use crate::ui::widgets::{sign, weak};

/// Shows a small line: what it is, how much, and what is to be said of it.
pub fn detail_ui(ui: &mut Ui, line: &DetailLine, theme: &Theme) {
    ui.add_space(pt(space::S1));
    let inner = ui.vertical(|ui| {
        ui.spacing_mut().interact_size.y = 18.0;
        ui.spacing_mut().item_spacing.y = 0.0;
        ui.horizontal(|ui| {
            if let Some((role, glyph)) = line.sign {
                sign(ui, theme, role, glyph);
            }
            ui.label(RichText::new(line.name).small().color(colour(theme.weak_text)));
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                ui.label(RichText::new(&line.number).color(colour(theme.text)));
            });
        });
        if !line.words.is_empty() {
            weak(ui, &line.words);
        }
    });
    let spoken = line.spoken();
    inner.response.widget_info(|| WidgetInfo::labeled(Part::Label, true, spoken.clone()));
}

/// A sentence with its sign.
pub fn said(ui: &mut Ui, theme: &Theme, (role, glyph): (Role, Glyph), sentence: &str) {
    ui.horizontal_top(|ui| {
        sign(ui, theme, role, glyph);
        ui.add(Label::new(RichText::new(sentence).small()).wrap());
    });
}
