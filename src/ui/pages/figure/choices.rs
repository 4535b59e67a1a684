//! How the figure is made: kind, shots, width, ground, what stands in it, templates.

use egui::{Button, TextEdit, Ui};

use crate::app::pages::figure::{FigureChoice, FigureCommand, Switch};
use crate::app::session::state::State;
use crate::case::document::figure_spec::{FigureGround, FigureKind, FigureWidth};
use crate::case::document::{Case, Shot};
use crate::scene::figure::style::{ground_name, kind_name, width_name};
use crate::scene::format;
use crate::ui::pages::figure::on;
use crate::ui::widgets::{Asked, Typed, command_button, heading};

/// Text being typed.
#[derive(Debug, Default)]
pub(super) struct FigureChoicesMemory {
    title: Typed,
    caption: Typed,
    name: String,
}

/// Shows the choices.
pub(super) fn choices_ui(ui: &mut Ui, state: &State, memory: &mut FigureChoicesMemory, asked: &mut Asked) {
    let Some(document) = &state.editor.document else { return };
    let case = document.case();
    let spec = &state.pages.figure.spec;
    heading(ui, "Figure type");
    one_of(ui, FigureKind::ALL, spec.kind, kind_name, |kind| {
        asked.push(on(FigureCommand::Choose(FigureChoice::Kind(kind))))
    });
    heading(ui, "Shots");
    shots(ui, state, case, asked);
    heading(ui, "Width");
    one_of(ui, FigureWidth::ALL, spec.width, width_name, |w| {
        asked.push(on(FigureCommand::Choose(FigureChoice::Width(w))))
    });
    heading(ui, "Background");
    one_of(ui, FigureGround::ALL, spec.ground, ground_name, |g| {
        asked.push(on(FigureCommand::Choose(FigureChoice::Ground(g))));
    });
    heading(ui, "Show");
    for switch in Switch::ALL {
        let mut is_on = switch.is_on(spec);
        if ui.checkbox(&mut is_on, switch.label()).on_hover_text(switch.tip()).clicked() {
            asked.push(on(FigureCommand::Choose(FigureChoice::Switch(switch))));
        }
    }
    let title = spec.title.clone().or_else(|| case.title.clone()).unwrap_or_default();
    if let Some(text) = line(ui, &mut memory.title, "Title of the figure", &title, false) {
        asked.push(on(FigureCommand::Choose(FigureChoice::Title(text))));
    }
    let caption = spec.caption.clone().unwrap_or_default();
    if let Some(text) = line(ui, &mut memory.caption, "Caption", &caption, true) {
        asked.push(on(FigureCommand::Choose(FigureChoice::Caption(text))));
    }
    templates(ui, state, case, memory, asked);
}

/// One of several, as words beside each other.
fn one_of<T: Copy + PartialEq, const N: usize>(
    ui: &mut Ui,
    all: [T; N],
    now: T,
    name: impl Fn(T) -> &'static str,
    mut chosen: impl FnMut(T),
) {
    ui.horizontal_wrapped(|ui| {
        for one in all {
            if ui.add(Button::new(name(one)).selected(one == now)).clicked() && one != now {
                chosen(one);
            }
        }
    });
}

fn shots(ui: &mut Ui, state: &State, case: &Case, asked: &mut Asked) {
    let figure = &state.pages.figure;
    egui::ScrollArea::vertical().id_salt("figure shots").max_height(150.0).show(ui, |ui| {
        ui.set_width(ui.available_width());
        for shot in &case.shots {
            let mut is_in = figure.shots.contains(&shot.id);
            let words = shot_words(case, shot);
            let response = ui.checkbox(&mut is_in, words);
            if response.on_hover_text(&shot.id).clicked() {
                asked.push(on(FigureCommand::Choose(FigureChoice::Shot(shot.id.clone()))));
            }
        }
    });
}

/// What a shot shows, with its name where that does not tell it from the others.
fn shot_words(case: &Case, shot: &Shot) -> String {
    let words = |shot: &Shot| format::shot(shot.level, shot.side, shot.known_view(), shot.stage);
    let own = words(shot);
    let alone = case.shots.iter().all(|other| other.id == shot.id || words(other) != own);
    if alone { own } else { format!("{own} ({})", format::shortened(&shot.id, 24)) }
}

/// A named field; gives its text once it is left with something new in it.
pub(super) fn line(ui: &mut Ui, typed: &mut Typed, name: &str, now: &str, rows: bool) -> Option<String> {
    let label = ui.label(name);
    let width = ui.available_width() - 8.0;
    let text = typed.following(now);
    let field = if rows { TextEdit::multiline(text).desired_rows(2) } else { TextEdit::singleline(text) };
    let response = ui.add(field.desired_width(width)).labelled_by(label.id);
    (response.lost_focus() && typed.text() != now).then(|| typed.text().to_owned())
}

fn templates(ui: &mut Ui, state: &State, case: &Case, memory: &mut FigureChoicesMemory, asked: &mut Asked) {
    heading(ui, "Templates in this case");
    for template in &case.figures {
        ui.horizontal(|ui| {
            let words = format::shortened(&template.name, 28);
            let response = ui.selectable_label(state.pages.figure.spec.name == template.name, words);
            if response.on_hover_text("Make the figure with this template.").clicked() {
                asked.push(on(FigureCommand::Choose(FigureChoice::Template(template.name.clone()))));
            }
            command_button(ui, state, on(FigureCommand::Forget(template.name.clone())), asked);
        });
    }
    ui.horizontal(|ui| {
        let label = ui.label("Name");
        ui.add(TextEdit::singleline(&mut memory.name).desired_width(150.0)).labelled_by(label.id);
        let keep = on(FigureCommand::Keep(memory.name.clone()));
        if command_button(ui, state, keep, asked).clicked() {
            memory.name.clear();
        }
    });
}
