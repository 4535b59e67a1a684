//! Which shots are compared, how they are shown, and whose marks are drawn.

use egui::accesskit::Role as Part;
use egui::{ComboBox, RichText, Ui, WidgetInfo};

use crate::app::command::Command;
use crate::app::pages::PageCommand as Pages;
use crate::app::pages::compare::{CompareCommand, CompareMode, Whose};
use crate::app::session::document::Document;
use crate::app::session::state::State;
use crate::case::document::Shot;
use crate::measure::mark::View;
use crate::scene::comparison::others;
use crate::scene::drawing::theme::Theme;
use crate::scene::format;
use crate::ui::widgets::{Asked, PICKER, command_button, tab, with_progress};

/// How many signs of a shot's name are shown.
const NAME: usize = 26;

/// A command of this page.
pub(super) const fn on(ask: CompareCommand) -> Command {
    Command::Page(Pages::Compare(ask))
}

/// Shows two lines: the shots, and how they are shown.
pub(super) fn head_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let Some(document) = &state.editor.document else { return };
    ui.horizontal_wrapped(|ui| {
        shots_ui(ui, document, state, asked);
        command_button(ui, state, on(CompareCommand::Swap), asked);
        ui.separator();
        whose_ui(ui, state, asked);
        for ask in [
            CompareCommand::Whole,
            CompareCommand::Body,
            CompareCommand::Save,
            CompareCommand::Copy,
            CompareCommand::IntoReport,
        ] {
            command_button(ui, state, on(ask), asked);
        }
    });
    ui.horizontal_wrapped(|ui| {
        for (i, mode) in CompareMode::ALL.into_iter().enumerate() {
            let command = on(CompareCommand::As(mode));
            let tip = command.entry().map_or("", |entry| entry.tip);
            let chosen = state.pages.compare.mode == mode;
            let response = tab(ui, chosen, mode.label(), &Theme::of(state.display.mode));
            if response.on_hover_text(format!("{tip}\nKey: {}", i + 1)).clicked() {
                asked.push(command);
            }
        }
    });
}

fn shots_ui(ui: &mut Ui, document: &Document, state: &State, asked: &mut Asked) {
    let case = document.case();
    let places = state.pages.compare.places(document);
    let seen = |shot: &Shot| shot.view_set && shot.view != View::Pedicle;
    let all: Vec<usize> = (0..case.shots.len()).filter(|&i| seen(&case.shots[i])).collect();
    let like = places.map_or_else(Vec::new, |[from, to]| {
        let others = others(case, to);
        // One that cannot be compared stays in the list, so that it can be seen what is chosen.
        if others.contains(&from) { others } else { all.clone() }
    });
    for (side, name, list) in
        [(0, "Earlier", if places.is_some() { like } else { all.clone() }), (1, "Later", all)]
    {
        let chosen = places.map(|pair| pair[side]);
        let words = |at: usize| case.shots.get(at).map(shot_words).unwrap_or_default();
        let shown = chosen
            .and_then(|at| case.shots.get(at))
            .map_or_else(|| "select a shot".to_owned(), |shot| format::shortened(&shot.id, NAME));
        ui.label(RichText::new(name).small().weak());
        let combo = ComboBox::from_id_salt(name).selected_text(shown.clone()).width(170.0).height(PICKER);
        let response = combo.show_ui(ui, |ui| {
            for at in list {
                let line = case.shots.get(at).map(|shot| with_progress(shot, words(at))).unwrap_or_default();
                if ui.selectable_label(chosen == Some(at), line).clicked() {
                    let id = case.shots[at].id.clone();
                    asked.push(on(if side == 0 { CompareCommand::From(id) } else { CompareCommand::To(id) }));
                }
            }
        });
        label_combo(&response.response, format!("{name} shot"), shown);
        if let Some(at) = chosen {
            response.response.on_hover_text(words(at));
        }
    }
}

fn label_combo(response: &egui::Response, label: String, shown: String) {
    response.widget_info(|| {
        let mut info = WidgetInfo::labeled(Part::ComboBox, true, label.clone());
        info.current_text_value = Some(shown.clone());
        info
    });
}

/// A shot with its name and what it shows.
pub(super) fn shot_words(shot: &Shot) -> String {
    let name = format::shortened(&shot.id, NAME);
    format!("{name} ({})", format::shot(shot.level, shot.side, shot.known_view(), shot.stage))
}

fn whose_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let now = state.pages.compare.whose;
    let response =
        ComboBox::from_id_salt("whose").selected_text(now.label()).width(150.0).show_ui(ui, |ui| {
            for whose in Whose::ALL {
                if ui.selectable_label(whose == now, whose.label()).clicked() {
                    asked.push(on(CompareCommand::Marks(whose)));
                }
            }
        });
    label_combo(&response.response, "Show overlays".to_owned(), now.label().to_owned());
}
