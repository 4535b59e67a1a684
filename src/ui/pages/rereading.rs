//! Shows the page with shots read again blind.

use egui::Ui;

use crate::app::state::State;
use crate::ui::textures::Textures;
use crate::ui::widgets::Asked;

/// What the page keeps between frames: text being typed, what is dragged.
#[derive(Debug, Default)]
pub struct Memory {}

/// Shows the page in all the room there is.
pub fn page_ui(
    _ui: &mut Ui,
    _state: &State,
    _memory: &mut Memory,
    _textures: &mut Textures,
    _asked: &mut Asked,
) {
}
