//! One file for each page beside the picture.

use egui::Ui;

use crate::app::pages::Page;
use crate::app::state::State;
use crate::ui::textures::Textures;
use crate::ui::widgets::Asked;

pub mod compare;
pub mod desk;
pub mod figure;
pub mod practice;
pub mod rereading;
pub mod run;
pub mod series;

/// What the pages keep between frames.
#[derive(Debug, Default)]
pub struct Memory {
    compare: compare::Memory,
    run: run::Memory,
    figure: figure::Memory,
    series: series::Memory,
    rereading: rereading::Memory,
    practice: practice::Memory,
}

/// Shows the page that is chosen; nothing where that is the picture.
pub fn page_ui(
    ui: &mut Ui,
    state: &mut State,
    memory: &mut Memory,
    textures: &mut Textures,
    asked: &mut Asked,
) {
    match state.pages.shown {
        Page::Picture => {}
        Page::Compare => compare::page_ui(ui, state, &mut memory.compare, textures, asked),
        Page::Run => run::page_ui(ui, state, &mut memory.run, textures, asked),
        Page::Figure => figure::page_ui(ui, state, &mut memory.figure, textures, asked),
        Page::Series => series::page_ui(ui, state, &mut memory.series, textures, asked),
        Page::Rereading => rereading::page_ui(ui, state, &mut memory.rereading, textures, asked),
        Page::Practice => practice::page_ui(ui, state, &mut memory.practice, textures, asked),
    }
}

/// The canvas of the shown page, which takes the keys.
#[must_use]
pub fn canvas(state: &State, memory: &Memory) -> Option<egui::Id> {
    match state.pages.shown {
        Page::Rereading => rereading::canvas(state, &memory.rereading),
        Page::Practice => practice::canvas(&memory.practice),
        Page::Picture | Page::Compare | Page::Run | Page::Figure | Page::Series => None,
    }
}
