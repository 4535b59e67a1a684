//! One file for each page beside the picture.

use egui::Ui;

use crate::app::pages::Page;
use crate::app::session::state::State;
use crate::ui::textures::Textures;
use crate::ui::widgets::Asked;

pub mod compare;
pub mod editor;
pub mod figure;
pub mod overview;
pub mod practice;
pub mod presenting;
pub mod rereading;
pub mod series;
pub mod tip_path;

/// What the pages keep between frames.
#[derive(Debug, Default)]
pub struct PagesMemory {
    overview: overview::OverviewMemory,
    compare: compare::CompareMemory,
    tip_path: tip_path::TipPathMemory,
    figure: figure::FigureMemory,
    series: series::SeriesMemory,
    rereading: rereading::RereadingMemory,
    practice: practice::PracticeMemory,
    presenting: presenting::PresentingMemory,
}

/// Shows the page that is chosen; nothing where that is the picture.
pub fn page_ui(
    ui: &mut Ui,
    state: &mut State,
    memory: &mut PagesMemory,
    textures: &mut Textures,
    asked: &mut Asked,
) {
    figure::copy_ui(ui, state, asked);
    series::copy_ui(ui, state, asked);
    match state.pages.shown {
        Page::Picture => {}
        Page::Overview => overview::page_ui(ui, state, &mut memory.overview, textures, asked),
        Page::Compare => compare::page_ui(ui, state, &mut memory.compare, textures, asked),
        Page::TipPath => tip_path::page_ui(ui, state, &mut memory.tip_path, textures, asked),
        Page::Figure => figure::page_ui(ui, state, &mut memory.figure, textures, asked),
        Page::Series => series::page_ui(ui, state, &mut memory.series, textures, asked),
        Page::Rereading => rereading::page_ui(ui, state, &mut memory.rereading, textures, asked),
        Page::Practice => practice::page_ui(ui, state, &mut memory.practice, textures, asked),
        Page::Presenting => presenting::page_ui(ui, state, &mut memory.presenting, asked),
    }
}

/// The canvas of the shown page, which takes the keys.
#[must_use]
pub fn canvas(state: &State, memory: &PagesMemory) -> Option<egui::Id> {
    match state.pages.shown {
        Page::Rereading => rereading::canvas(state, &memory.rereading),
        Page::Practice => practice::canvas(&memory.practice),
        Page::Picture
        | Page::Overview
        | Page::Compare
        | Page::TipPath
        | Page::Figure
        | Page::Series
        | Page::Presenting => None,
    }
}
