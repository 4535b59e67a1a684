//! What the user writes down for the report: a reference, and of each body the lesion time and remarks.

use std::collections::{BTreeMap, BTreeSet};

use egui::Ui;

use crate::app::pages::figure::{FigureCommand, Noted};
use crate::app::session::state::State;
use crate::case::document::Case;
use crate::measure::mark::{Level, Side};
use crate::scene::format;
use crate::scene::page::paper::PaperSize;
use crate::ui::pages::figure::choices::line;
use crate::ui::pages::figure::on;
use crate::ui::widgets::{Asked, Typed, command_button, heading, weak};

/// Text being typed.
#[derive(Debug, Default)]
pub(super) struct FigureNotesMemory {
    reference: Typed,
    bodies: BTreeMap<(Level, &'static str), (Typed, Typed)>,
}

/// Shows the fields.
pub(super) fn notes_ui(ui: &mut Ui, state: &State, memory: &mut FigureNotesMemory, asked: &mut Asked) {
    let Some(document) = &state.editor.document else { return };
    let case = document.case();
    heading(ui, "Report");
    ui.horizontal_wrapped(|ui| {
        for paper in PaperSize::ALL {
            let now = state.display.paper == paper;
            if ui.add(egui::Button::new(paper.name()).selected(now)).clicked() && !now {
                asked.push(on(FigureCommand::Paper(paper)));
            }
        }
    });
    if state.pages.figure.in_report.is_empty() {
        weak(ui, "Comparisons and tip paths are added to the report on their own pages.");
    }
    for part in &state.pages.figure.in_report {
        ui.horizontal(|ui| {
            ui.label(part.words());
            command_button(ui, state, on(FigureCommand::LeaveOut(part.clone())), asked);
        });
    }
    heading(ui, "Report notes");
    let now = case.reference.clone().unwrap_or_default();
    if let Some(text) = line(ui, &mut memory.reference, "Your reference", &now, false) {
        asked.push(on(FigureCommand::Note(Noted::Reference(text))));
    }
    for (level, side) in bodies(case) {
        let name = format::body(level, side);
        let record = case.record(level, side);
        let (lesion, remarks) = memory.bodies.entry((level, side.key())).or_default();
        let now = record.and_then(|record| record.lesion_s).map(format::as_typed).unwrap_or_default();
        if let Some(text) = line(ui, lesion, &format!("{name}: lesion time, s"), &now, false) {
            asked.push(on(FigureCommand::Note(Noted::Lesion(level, side, text))));
        }
        let now = record.and_then(|record| record.remarks.clone()).unwrap_or_default();
        if let Some(text) = line(ui, remarks, &format!("{name}: remarks"), &now, true) {
            asked.push(on(FigureCommand::Note(Noted::Remarks(level, side, text))));
        }
    }
    weak(
        ui,
        "Nothing here is taken from an image, and no value is suggested. Do not enter patient identifiers.",
    );
}

/// The bodies and sides that there are shots of or something is written down of, down the spine.
fn bodies(case: &Case) -> Vec<(Level, Side)> {
    let shots = case.shots.iter().filter_map(|shot| Some((shot.level?, shot.side?)));
    let written = case.bodies.iter().map(|record| (record.level, record.side));
    let mut known = BTreeSet::new();
    let mut all: Vec<_> =
        shots.chain(written).filter(|(level, side)| known.insert((*level, side.key()))).collect();
    all.sort_by_key(|(level, side)| (*level, side.key()));
    all
}
