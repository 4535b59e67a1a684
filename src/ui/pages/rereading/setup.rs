//! What is to be read again, by whom, in which order; and the rounds that there are.

use std::collections::BTreeSet;

use egui::{RichText, TextEdit, Ui};

use crate::app::command::Command;
use crate::app::pages;
use crate::app::pages::rereading::RereadingCommand;
use crate::app::session::state::State;
use crate::case::document::rereading::Which;
use crate::measure::mark::Level;
use crate::scene::format;
use crate::ui::widgets::{Asked, Typed, command_button, heading, labelled_button, rule, weak};

/// Shows the column.
pub(super) fn setup_ui(
    ui: &mut Ui,
    state: &State,
    operator: &mut Typed,
    seed: &mut Typed,
    asked: &mut Asked,
) {
    let Some(document) = &state.editor.document else { return };
    let page = &state.pages.rereading;
    let case = document.case();
    let ask = |ask| Command::Page(pages::PageCommand::Rereading(ask));
    weak(
        ui,
        "Mark shots again without seeing the first marks. The differences show how repeatable the readings are. The first marks are not changed.",
    );
    rule(ui);
    let named = page.operator(state);
    field(ui, "Reader code", "R1", &named, operator, |text| {
        asked.push(ask(RereadingCommand::SetOperator(text)))
    });
    field(ui, "Seed for the order", "automatic", &page.seed, seed, |text| {
        asked.push(ask(RereadingCommand::SetSeed(text)))
    });
    heading(ui, "Which shots");
    let mut choices = vec![
        (Which::Finals, "All of the final stage".to_owned()),
        (Which::All, "All lateral and AP shots".to_owned()),
    ];
    let levels: BTreeSet<Level> = case.shots.iter().filter_map(|shot| shot.level).collect();
    choices.extend(levels.into_iter().map(|level| (Which::Level(level), format!("All of {}", level.name()))));
    let chosen: Vec<String> = document.chosen().iter().map(|shot| shot.id.clone()).collect();
    if chosen.len() > 1 {
        let words = format!("The selected {}", format::count(chosen.len(), "shot", "shots"));
        choices.push((Which::Chosen(chosen), words));
    }
    for (which, words) in choices {
        let count = which.shots(case).len();
        if ui.radio(page.which == which, format!("{words} ({count})")).clicked() {
            asked.push(ask(RereadingCommand::SetWhich(which)));
        }
    }
    ui.add_space(8.0);
    let round = case.next_round(&named);
    let shots = page.shots(state).len();
    if named.trim().is_empty() {
        weak(ui, "Enter a reader code to start.");
    } else {
        let who = format::shortened(named.trim(), 24);
        weak(ui, format!("Session {round} of {who}, {}.", format::count(shots, "shot", "shots")));
    }
    command_button(ui, state, ask(RereadingCommand::Begin), asked);
    rule(ui);
    rounds_ui(ui, state, asked);
}

fn field(ui: &mut Ui, name: &str, hint: &str, now: &str, typed: &mut Typed, mut changed: impl FnMut(String)) {
    ui.label(RichText::new(name).small().weak());
    let text = typed.following(now);
    let response =
        ui.add(TextEdit::singleline(text).desired_width(160.0).hint_text(hint)).accessible_name(name);
    if response.changed() {
        changed(typed.text().to_owned());
    }
}

/// The rounds of the case, each with how far it has come.
fn rounds_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let Some(document) = &state.editor.document else { return };
    heading(ui, "Sessions in this case");
    if document.case().rereadings.is_empty() {
        weak(ui, "None yet.");
    }
    for one in &document.case().rereadings {
        let who = format::shortened(&one.operator, 24);
        let (done, open) = (one.done(), one.open());
        let skipped = one.readings.len() - done - open;
        let mut words = format!("{who}, session {}: {done} of {} read", one.round, one.readings.len());
        if skipped > 0 {
            words = format!("{words}, {skipped} skipped");
        }
        ui.label(words);
        ui.horizontal(|ui| {
            let command = |ask| Command::Page(pages::PageCommand::Rereading(ask));
            if open > 0 {
                let resume = command(RereadingCommand::Resume(one.operator.clone(), one.round));
                labelled_button(ui, state, resume, &format!("Resume session {} of {who}", one.round), asked);
            }
            let forget = command(RereadingCommand::Forget(one.operator.clone(), one.round));
            labelled_button(ui, state, forget, &format!("Remove session {} of {who}", one.round), asked);
        });
    }
}
