//! Buttons that save and copy the numbers of the part that is shown.

use egui::Ui;

use crate::app::command::Command;
use crate::app::pages::PageCommand;
use crate::app::pages::series::SeriesCommand;
use crate::app::session::state::State;
use crate::ui::widgets::{Asked, command_button};

/// Saving and copying the numbers of the part that is shown.
pub(super) fn data_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    ui.horizontal_wrapped(|ui| {
        for &table in state.pages.series.part.data() {
            for ask in [SeriesCommand::SaveData(table), SeriesCommand::CopyData(table)] {
                command_button(ui, state, Command::Page(PageCommand::Series(ask)), asked);
            }
        }
    });
}
