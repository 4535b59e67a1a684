//! Shows the page with the bodies of many cases: folders and filters above, below them the part that is chosen.

use egui::{CentralPanel, Frame, Margin, Panel, RichText, ScrollArea, Ui};

use crate::app::command::Command;
use crate::app::pages;
use crate::app::pages::series::{AuditTable, SeriesClip, SeriesCommand, SeriesSection, SeriesState};
use crate::app::session::state::State;
use crate::scene::drawing::emblem::{Emblem, emblem};
use crate::scene::drawing::theme::{Theme, space};
use crate::scene::format;
use crate::ui::look::{colour, pt};
use crate::ui::pages::figure::image;
use crate::ui::textures::Textures;
use crate::ui::widgets::{Asked, Typed, command_button, empty_page_ui, tab};

mod data;
mod filter;
mod plots;
mod shares;
mod table;

/// What the page keeps between frames: text being typed, what is dragged.
#[derive(Debug, Default)]
pub struct SeriesMemory {
    find: Typed,
    rates: [Typed; 2],
    drawn: plots::Drawn,
}

/// A command of this page.
const fn on(ask: SeriesCommand) -> Command {
    Command::Page(pages::PageCommand::Series(ask))
}

/// Shows the page in all the room there is.
pub fn page_ui(
    ui: &mut Ui,
    state: &State,
    memory: &mut SeriesMemory,
    _textures: &mut Textures,
    asked: &mut Asked,
) {
    let theme = Theme::of(state.display.mode);
    let series = &state.pages.series;
    let bar = || Frame::new().fill(colour(theme.panel)).inner_margin(Margin::symmetric(12, 6));
    let empty = series.found.is_none() && series.reading.is_none();
    if !empty {
        Panel::top("series folders").frame(bar()).show(ui, |ui| folders(ui, state, series, asked));
    }
    if series.skipped {
        Panel::top("series skipped").frame(bar()).show(ui, |ui| passed_over(ui, series));
    }
    if series.found.is_some() {
        Panel::top("series filter").frame(bar()).show(ui, |ui| {
            filter::filter_ui(ui, state, &mut memory.find, asked);
            ui.add_space(pt(space::S1));
            ui.horizontal(|ui| tabs(ui, state, asked));
        });
    }
    let middle = Frame::new().fill(colour(theme.ground)).inner_margin(Margin::symmetric(12, 8));
    CentralPanel::default().frame(middle).show(ui, |ui| {
        if empty {
            empty_page_ui(
                ui,
                state,
                &emblem(Emblem::Series),
                (
                    "See every treated body of many cases: where the final tip lies, and whether it is inside the target.",
                    "Example: of 40 bodies, 31 are inside the target, 78 % (95 % interval: 62 to 88 %). Images are not opened, and no file is changed.",
                ),
                (on(SeriesCommand::AddFolder), "Add a folder of cases"),
                asked,
            );
            return;
        }
        match series.part {
            SeriesSection::Table => table::table_ui(ui, state, asked),
            SeriesSection::Tips => plots::tips_ui(ui, state, &mut memory.drawn, asked),
            SeriesSection::Shares => shares::shares_ui(ui, state, &theme, asked),
            SeriesSection::Errors => plots::errors_ui(ui, state, &mut memory.drawn, asked),
            SeriesSection::Sums => plots::sums_ui(ui, state, memory, asked),
        }
    });
}

/// The folders, how far reading has come, and what was found.
fn folders(ui: &mut Ui, state: &State, series: &SeriesState, asked: &mut Asked) {
    ui.horizontal_wrapped(|ui| {
        for ask in [SeriesCommand::AddFolder, SeriesCommand::ReadAgain, SeriesCommand::StartOver] {
            command_button(ui, state, on(ask), asked);
        }
        if let Some((done, of)) = series.reading {
            let words = if of == 0 {
                "Looking for case files…".to_owned()
            } else {
                format!("Reading file {} of {of}…", (done + 1).min(of))
            };
            ui.label(RichText::new(words).small().weak());
            command_button(ui, state, on(SeriesCommand::StopReading), asked);
        } else if let Some(found) = &series.found {
            let words = format!(
                "{}, {}",
                format::count(found.files.len(), "case file", "case files"),
                format::count(found.bodies.len(), "body treated", "bodies treated")
            );
            ui.label(words);
            if !found.skipped.is_empty() {
                let words = format!("Skipped: {}", found.skipped.len());
                let chosen = ui.add(egui::Button::new(words).selected(series.skipped));
                if chosen.on_hover_text("List the skipped files and why.").clicked() {
                    asked.push(on(SeriesCommand::ShowSkipped));
                }
            }
        }
        let names: Vec<String> = series.folders.iter().map(|folder| folder.display().to_string()).collect();
        ui.add(egui::Label::new(RichText::new(names.join(", ")).small().weak()).truncate());
    });
}

/// Puts what is on its way to the clipboard there.
pub(super) fn copy_ui(ui: &Ui, state: &State, asked: &mut Asked) {
    match &state.pages.series.copying {
        None => return,
        Some(SeriesClip::Image(drawn)) => ui.ctx().copy_image(image(drawn)),
        Some(SeriesClip::Text(text)) => ui.ctx().copy_text(text.clone()),
    }
    asked.push(on(SeriesCommand::Copied));
}

/// The files that were passed over, a sentence each.
fn passed_over(ui: &mut Ui, series: &SeriesState) {
    let Some(found) = &series.found else { return };
    let line = ui.text_style_height(&egui::TextStyle::Small) + 4.0;
    ScrollArea::vertical().max_height(6.0 * line).auto_shrink([false, true]).show_rows(
        ui,
        line,
        found.skipped.len(),
        |ui, rows| {
            for sentence in found.skipped[rows].iter().map(|one| one.sentence()) {
                let words = RichText::new(&sentence).small();
                ui.add(egui::Label::new(words).truncate()).on_hover_text(sentence);
            }
        },
    );
}

fn tabs(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let series = &state.pages.series;
    for part in SeriesSection::ALL {
        let command = on(SeriesCommand::Show(part));
        let Some(entry) = command.entry() else { continue };
        let theme = Theme::of(state.display.mode);
        let shown = tab(ui, series.part == part, entry.label, &theme);
        if shown.on_hover_text(entry.tip).clicked() {
            asked.push(command);
        }
    }
    let words = if series.filter.is_open() {
        format::count(series.listed.len(), "body", "bodies")
    } else {
        format!("{} of {}", series.listed.len(), format::count(series.bodies().len(), "body", "bodies"))
    };
    ui.label(RichText::new(words).small().weak());
    ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
        command_button(ui, state, on(SeriesCommand::SavePaper), asked);
        command_button(ui, state, on(SeriesCommand::SaveData(AuditTable::Bodies)), asked);
        if series.part.data().is_empty() {
            command_button(ui, state, on(SeriesCommand::CopyData(AuditTable::Bodies)), asked);
        }
        command_button(ui, state, on(SeriesCommand::CopyPlot), asked);
        command_button(ui, state, on(SeriesCommand::SavePlot), asked);
    });
}
