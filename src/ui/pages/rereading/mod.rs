//! Shows the page on which shots are read again blind.

use egui::{CentralPanel, Frame, Margin, Panel, RichText, ScrollArea, Ui};

use crate::app::command::Command;
use crate::app::pages::rereading::RereadingCommand;
use crate::app::pages::{self, Page};
use crate::app::session::state::State;
use crate::scene::drawing::theme::Theme;
use crate::scene::format;
use crate::ui::look::colour;
use crate::ui::pages::editor::{EditorMemory, editor_ui};
use crate::ui::textures::Textures;
use crate::ui::widgets::{Asked, Typed, command_button};

mod results;
mod setup;

/// Width of the column with what is to be read, in points.
const SETUP: f32 = 372.0;

/// The widest a line of words is, in points.
const READABLE: f32 = 900.0;

/// What the page keeps between frames: text being typed, the editor.
#[derive(Debug, Default)]
pub struct RereadingMemory {
    operator: Typed,
    seed: Typed,
    /// The editor in which shots are read.
    pub editor: EditorMemory,
}

/// Shows the page in all the room there is.
pub fn page_ui(
    ui: &mut Ui,
    state: &mut State,
    memory: &mut RereadingMemory,
    _textures: &mut Textures,
    asked: &mut Asked,
) {
    if state.pages.rereading.session.is_some() {
        session_ui(ui, state, memory, asked);
        return;
    }
    memory.editor.canvas_id = None;
    let theme = Theme::of(state.display.mode);
    let frame = Frame::new().fill(colour(theme.panel)).inner_margin(Margin::same(12));
    Panel::left("rereading setup").resizable(false).exact_size(SETUP).frame(frame).show(ui, |ui| {
        ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            setup::setup_ui(ui, state, &mut memory.operator, &mut memory.seed, asked);
        });
    });
    CentralPanel::default().frame(Frame::new().inner_margin(Margin::same(16))).show(ui, |ui| {
        ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            ui.set_max_width(ui.available_width().min(READABLE));
            results::results_ui(ui, state, asked);
        });
    });
}

/// A shot under its number, and what leads on.
fn session_ui(ui: &mut Ui, state: &mut State, memory: &mut RereadingMemory, asked: &mut Asked) {
    let theme = Theme::of(state.display.mode);
    let frame = Frame::new().fill(colour(theme.panel)).inner_margin(Margin::symmetric(8, 6));
    Panel::top("rereading session").exact_size(40.0).frame(frame).show(ui, |ui| {
        ui.horizontal(|ui| {
            ui.label(RichText::new(title(state)).strong());
            ui.separator();
            for ask in [RereadingCommand::Next, RereadingCommand::SkipPicture, RereadingCommand::Stop] {
                command_button(ui, state, Command::Page(pages::PageCommand::Rereading(ask)), asked);
            }
        });
    });
    editor_ui(ui, state, &mut memory.editor, None, asked);
}

/// What is said of the shot: its number, and what one must know to mark it. Not its stage, which would say where the tip
/// should be.
fn title(state: &State) -> String {
    let Some(session) = &state.pages.rereading.session else { return String::new() };
    let number = format!("Image {} of {}", session.at + 1, session.count());
    let shows =
        session.editor.shot().map(|shot| format::shot(shot.level, shot.side, shot.known_view(), None));
    match shows {
        Some(shows) => format!("{number}: {shows}"),
        None => number,
    }
}

/// The canvas of the page, if it shows one.
#[must_use]
pub fn canvas(state: &State, memory: &RereadingMemory) -> Option<egui::Id> {
    (state.pages.shown == Page::Rereading && state.pages.rereading.session.is_some())
        .then_some(memory.editor.canvas_id)
        .flatten()
}
