//! Shows the page with two shots of one body laid on each other.
//!
//! Reading order: [`head`] (which shots, and how), [`sides`] (two pictures beside each other), [`layered`] (one on the
//! other), [`change`] (what changed).

use egui::{CentralPanel, Frame, Margin, Panel, ScrollArea, Ui};

use crate::app::command::Command;
use crate::app::pages::compare::CompareMode;
use crate::app::pages::{Page, PageCommand};
use crate::app::session::state::State;
use crate::scene::drawing::emblem::{Emblem, emblem};
use crate::scene::drawing::theme::Theme;
use crate::ui::look::colour;
use crate::ui::textures::{LayeredSight, Sight, Textures};
use crate::ui::widgets::{Asked, empty_page_ui};

mod change;
mod head;
mod layered;
pub(super) mod sides;

/// Width of the column with what changed, in points.
const CHANGE: f32 = 320.0;

/// What the page keeps between frames: text being typed, what is dragged.
#[derive(Debug, Default)]
pub struct CompareMemory {
    sights: [Sight; 2],
    layered: LayeredSight,
    dragging_line: bool,
    ticked: f64,
}

/// Shows the page in all the room there is.
pub fn page_ui(
    ui: &mut Ui,
    state: &State,
    memory: &mut CompareMemory,
    _textures: &mut Textures,
    asked: &mut Asked,
) {
    let theme = Theme::of(state.display.mode);
    let panel = Frame::new().fill(colour(theme.panel));
    Panel::top("compared").frame(panel.inner_margin(Margin::symmetric(8, 6))).show(ui, |ui| {
        head::head_ui(ui, state, asked);
    });
    Panel::right("change")
        .resizable(false)
        .exact_size(CHANGE)
        .frame(panel.inner_margin(Margin::same(12)))
        .show(ui, |ui| {
            ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
                ui.set_width(ui.available_width() - 4.0);
                change::change_ui(ui, state, &theme, asked);
            });
        });
    if state.editor.document.as_ref().is_some_and(|document| state.pages.compare.places(document).is_none()) {
        CentralPanel::default().frame(Frame::new().inner_margin(Margin::same(16))).show(ui, |ui| {
            empty_page_ui(
                ui,
                state,
                &emblem(Emblem::Compare),
                (
                    "Register two shots of one body and measure how far the tip moved between them.",
                    "Example: from stylet to final, depth +9 % (95 % interval: +5 to +13 %), moved. It needs two lateral or two AP shots of one level: set level and view beside the images, or select two shots above.",
                ),
                (Command::Page(PageCommand::Go(Page::Picture)), "Label the shots"),
                asked,
            );
        });
        return;
    }
    match state.pages.compare.mode {
        CompareMode::SideBySide => sides::sides_ui(ui, state, memory, &theme, asked),
        CompareMode::Blend | CompareMode::Alternate | CompareMode::Divider | CompareMode::Difference => {
            layered::layered_ui(ui, state, memory, &theme, asked);
        }
    }
}
