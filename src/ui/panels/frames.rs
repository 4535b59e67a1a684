//! The frames of the shown shot's file: stepping, playing, choosing one, and taking it.

use egui::accesskit::Role as Part;
use egui::{Slider, Ui, WidgetInfo};

use crate::app::command::Command;
use crate::app::command::file::FileCommand;
use crate::app::command::shots::ShotsCommand;
use crate::app::session::state::State;
use crate::app::shots::frames;
use crate::ui::widgets::{Asked, command_button, labelled_button, weak};

/// Height of the line in points.
pub const HEIGHT: f32 = 40.0;

/// Shows the line; only for files of several frames.
pub fn frames_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let Some(place) = frames::place(&state.editor) else { return };
    ui.horizontal_centered(|ui| {
        command_button(ui, state, Command::Shots(ShotsCommand::PreviousFrame), asked);
        let play = if frames::is_playing(&state.editor) { "Stop" } else { "Play" };
        labelled_button(ui, state, Command::Shots(ShotsCommand::Play), play, asked);
        command_button(ui, state, Command::Shots(ShotsCommand::NextFrame), asked);
        let mut number = place.shown + 1;
        ui.spacing_mut().slider_width = (ui.available_width() - 490.0).clamp(60.0, 420.0);
        let slider = ui.add(Slider::new(&mut number, 1..=place.count).show_value(false));
        let words = format!("Frame {} of {}", place.shown + 1, place.count);
        slider.widget_info(|| WidgetInfo::labeled(Part::Slider, true, words.clone()));
        if slider.changed() {
            asked.push(Command::Shots(ShotsCommand::ShowFrame(number - 1)));
        }
        ui.label(&words);
        command_button(ui, state, Command::File(FileCommand::ChooseFrames), asked);
        if place.shown == place.own {
            weak(ui, "marked frame");
        } else {
            command_button(ui, state, Command::Shots(ShotsCommand::UseFrame), asked);
            command_button(ui, state, Command::Shots(ShotsCommand::FrameAsShot), asked);
        }
    });
}
