//! Shows the page for practising on simulated shots with known truth.

use egui::{CentralPanel, Frame, Margin, Panel, RichText, ScrollArea, TextEdit, Ui};

use crate::app::command::Command;
use crate::app::pages;
use crate::app::pages::practice::{DIFFICULTIES, Phase, PracticeCommand};
use crate::app::session::state::State;
use crate::measure::mark::View;
use crate::scene::drawing::emblem::{Emblem, emblem};
use crate::scene::drawing::theme::Theme;
use crate::scene::format;
use crate::scene::repeatability::practice::{
    beside_proposal_table, habits_table, marks_table, places_table, readings_table,
};
use crate::study::practice::{ENOUGH, Score};
use crate::ui::look::colour;
use crate::ui::pages::editor::{EditorMemory, editor_ui};
use crate::ui::textures::Textures;
use crate::ui::widgets::{Asked, Typed, command_button, empty_page_ui, heading, rule, table_ui, weak};

/// Width of the column with the choices, in points.
const SETUP: f32 = 340.0;
/// Width of the column with the error.
const ERROR: f32 = 420.0;

/// What the page keeps between frames: text being typed, the editor.
#[derive(Debug, Default)]
pub struct PracticeMemory {
    seed: Typed,
    guess: String,
    /// The editor in which shots are marked.
    pub editor: EditorMemory,
}

/// Shows the page in all the room there is.
pub fn page_ui(
    ui: &mut Ui,
    state: &mut State,
    memory: &mut PracticeMemory,
    _textures: &mut Textures,
    asked: &mut Asked,
) {
    if state.pages.practice.exercise.is_some() {
        exercise_ui(ui, state, memory, asked);
        return;
    }
    memory.editor.canvas_id = None;
    memory.guess.clear();
    let theme = Theme::of(state.display.mode);
    let frame = Frame::new().fill(colour(theme.panel)).inner_margin(Margin::same(12));
    Panel::left("practice setup").resizable(false).exact_size(SETUP).frame(frame).show(ui, |ui| {
        ScrollArea::vertical().auto_shrink(false).show(ui, |ui| setup_ui(ui, state, memory, asked));
    });
    CentralPanel::default().frame(Frame::new().inner_margin(Margin::same(16))).show(ui, |ui| {
        ScrollArea::both().auto_shrink(false).show(ui, |ui| habits_ui(ui, state, asked));
    });
}

const fn command(ask: PracticeCommand) -> Command {
    Command::Page(pages::PageCommand::Practice(ask))
}

fn setup_ui(ui: &mut Ui, state: &State, memory: &mut PracticeMemory, asked: &mut Asked) {
    let page = &state.pages.practice;
    weak(
        ui,
        "Mark simulated shots as you would your own, then see how far each mark and reading is from the ground truth, which comes from the simulated body, not from the image.",
    );
    rule(ui);
    heading(ui, "View");
    for (view, words) in [(View::Lateral, "Lateral"), (View::Ap, "AP")] {
        if ui.radio(page.view == view, words).clicked() {
            asked.push(command(PracticeCommand::SetView(view)));
        }
    }
    heading(ui, "Difficulty");
    for (difficulty, words) in DIFFICULTIES {
        if ui.radio(page.difficulty == difficulty, words).clicked() {
            asked.push(command(PracticeCommand::SetDifficulty(difficulty)));
        }
    }
    ui.add_space(8.0);
    let mut first = page.guess_first;
    let words = match Score::guessed(page.view) {
        crate::study::rereading::Measured::Across => "Guess the mediolateral position before marking",
        _ => "Guess the depth before marking",
    };
    if ui.checkbox(&mut first, words).changed() {
        asked.push(command(PracticeCommand::GuessFirst(first)));
    }
    ui.add_space(4.0);
    let name = "Shot number";
    ui.label(RichText::new(name).small().weak());
    let text = memory.seed.following(&page.seed);
    let response = ui
        .add(TextEdit::singleline(text).desired_width(120.0).hint_text("the next one"))
        .accessible_name(name);
    if response.changed() {
        asked.push(command(PracticeCommand::SetSeed(memory.seed.text().to_owned())));
    }
    ui.add_space(8.0);
    command_button(ui, state, command(PracticeCommand::Begin), asked);
    if page.waiting.is_some() {
        weak(ui, "The shot is being simulated…");
    }
}

fn habits_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let page = &state.pages.practice;
    let kept = page.scores.as_ref().map_or(0, Vec::len);
    if kept == 0 {
        empty_page_ui(
            ui,
            state,
            &emblem(Emblem::Practice),
            (
                "Mark a simulated shot and see how far your marks and your reading are from the ground truth.",
                "Example: after ten lateral shots, the depth is read 2 % too deep on average with a spread of 3 %. View and difficulty are set on the left. After a few exercises, the bias and spread of your marks appear here.",
            ),
            (command(PracticeCommand::Begin), "Show the first shot"),
            asked,
        );
        return;
    }
    ui.label(RichText::new(format!("Your {}", format::count(kept, "exercise", "exercises"))).heading());
    weak(
        ui,
        "Bias is the mean error, with its t interval; spread is the standard deviation, with its chi-squared interval. \
         Both need at least two exercises of a view.",
    );
    ui.add_space(8.0);
    table_ui(ui, "habits of readings", &habits_table(&page.habits));
    ui.add_space(12.0);
    table_ui(ui, "habits of marks", &marks_table(&page.habits));
    ui.add_space(12.0);
    offer_ui(ui, state, kept, asked);
    if page.clearing {
        ui.horizontal(|ui| {
            let all = format::count(kept, "exercise", "exercises");
            ui.label(format!("Delete {all} permanently? This cannot be undone."));
            command_button(ui, state, command(PracticeCommand::ReallyClear), asked);
            command_button(ui, state, command(PracticeCommand::KeepThem), asked);
        });
    } else {
        command_button(ui, state, command(PracticeCommand::Clear), asked);
    }
}

/// Plainly, once there are exercises enough: one's own marking error instead of the settings'.
fn offer_ui(ui: &mut Ui, state: &State, kept: usize, asked: &mut Asked) {
    let page = &state.pages.practice;
    let words = match (&page.offer, kept >= ENOUGH, state.editor.document.is_some()) {
        (Some(offer), ..) => offer.words.clone(),
        (None, false, _) => format!(
            "After {ENOUGH} exercises, your own marking error can be used for the uncertainty of a case."
        ),
        (None, true, false) => "Open a case to use your own marking error for its uncertainty.".to_owned(),
        (None, true, true) => "The open case already uses your marking error.".to_owned(),
    };
    ui.label(RichText::new("Your marking error").strong());
    ui.add(egui::Label::new(words).wrap());
    if page.offer.is_some() {
        command_button(ui, state, command(PracticeCommand::Adopt), asked);
    }
    ui.add_space(12.0);
}

fn exercise_ui(ui: &mut Ui, state: &mut State, memory: &mut PracticeMemory, asked: &mut Asked) {
    let theme = Theme::of(state.display.mode);
    let frame = Frame::new().fill(colour(theme.panel)).inner_margin(Margin::symmetric(8, 6));
    Panel::top("practice exercise").exact_size(40.0).frame(frame).show(ui, |ui| {
        ui.horizontal(|ui| steps_ui(ui, state, &mut memory.guess, asked));
    });
    let seen = state.pages.practice.exercise.as_ref().and_then(|exercise| match &exercise.phase {
        Phase::Seen { score, truth } => Some((score.clone(), truth.clone(), exercise.proposed.clone())),
        Phase::Guess | Phase::Mark => None,
    });
    if let Some((score, _, proposed)) = &seen {
        let frame = Frame::new().fill(colour(theme.panel)).inner_margin(Margin::same(12));
        Panel::right("practice error").resizable(false).exact_size(ERROR).frame(frame).show(ui, |ui| {
            ScrollArea::both().auto_shrink(false).show(ui, |ui| error_ui(ui, score, proposed.as_ref()));
        });
    }
    editor_ui(ui, state, &mut memory.editor, seen.as_ref().map(|(_, truth, _)| truth), asked);
}

/// What the shot is and what comes next.
fn steps_ui(ui: &mut Ui, state: &State, guess: &mut String, asked: &mut Asked) {
    let Some(exercise) = &state.pages.practice.exercise else { return };
    let shows =
        exercise.editor.shot().map(|shot| format::shot(shot.level, shot.side, shot.known_view(), None));
    let title = format!("Shot {}: {}", exercise.seed, shows.unwrap_or_default());
    ui.label(RichText::new(title).strong());
    ui.separator();
    match &exercise.phase {
        Phase::Guess => {
            let (what, name) = match exercise.editor.shot().map(|shot| shot.view) {
                Some(View::Ap) => (
                    "What is the mediolateral position of the tip, from the entry-side wall?",
                    "Guess, % of the width",
                ),
                _ => ("How deep is the tip, from the posterior wall?", "Guess, % of the depth"),
            };
            ui.label(what);
            let response =
                ui.add(TextEdit::singleline(guess).desired_width(72.0).hint_text("%")).accessible_name(name);
            let entered = response.lost_focus() && ui.input(|input| input.key_pressed(egui::Key::Enter));
            let take = command(PracticeCommand::Guess(guess.clone()));
            if ui.button("Submit guess").clicked() || entered {
                asked.push(take);
            }
        }
        Phase::Mark => {
            command_button(ui, state, command(PracticeCommand::See), asked);
        }
        Phase::Seen { .. } => {
            let next = command(PracticeCommand::Begin);
            if ui.add_enabled(next.available(state), egui::Button::new("Next shot")).clicked() {
                asked.push(next);
            }
        }
    }
    if exercise.guess.is_none() || matches!(exercise.phase, Phase::Seen { .. }) {
        // A guess of the shot before is no guess of the next.
        if !matches!(exercise.phase, Phase::Guess) {
            guess.clear();
        }
    }
    command_button(ui, state, command(PracticeCommand::Leave), asked);
}

fn error_ui(ui: &mut Ui, score: &Score, proposed: Option<&Result<Box<Score>, String>>) {
    ui.label(RichText::new("Error").heading());
    table_ui(ui, "error of readings", &readings_table(score));
    ui.add_space(12.0);
    table_ui(ui, "error of marks", &places_table(score));
    match proposed {
        Some(Ok(proposed)) => {
            ui.add_space(12.0);
            ui.label(RichText::new("Beside the proposal").strong());
            table_ui(ui, "beside the proposal", &beside_proposal_table(score, proposed));
        }
        Some(Err(why)) => {
            ui.add_space(12.0);
            weak(ui, format!("Nothing would have been proposed here. {why}"));
        }
        None => {}
    }
    ui.add_space(8.0);
    weak(
        ui,
        "Distances are in millimeters at the plane of the body. Blue dashed lines and crosses on the image are the ground truth; yellow lines connect your marks to it. Borders are compared at their midpoint, perpendicular to the border. A reading can be off even if every mark is right, because the image is not a perfectly true view.",
    );
}

/// The canvas of the page, if it shows one.
#[must_use]
pub const fn canvas(memory: &PracticeMemory) -> Option<egui::Id> {
    memory.editor.canvas_id
}
