//! What a true view would show, beside the direct readings, how the C-arm stood, and what is asked for it: whether borders
//! show twice, once a shot, and where the tube stood, once a case.

use egui::{RichText, Ui, vec2};

use crate::app::command::Command;
use crate::app::command::case::CaseCommand;
use crate::app::display::reading_details::{of_true_view, true_view_said};
use crate::app::marking::view_questions::{Answer, contours, tube};
use crate::app::session::document::Document;
use crate::case::document::Shot;
use crate::case::readings::ShotReading;
use crate::scene::drawing::theme::{Theme, space};
use crate::scene::view_sketch;
use crate::scene::words::true_view::{HEADING, of_shot};
use crate::ui::look::pt;
use crate::ui::panels::detail::detail_ui;
use crate::ui::widgets::{Asked, drawing as drawing_ui, weak};

/// Height of the drawings of the C-arm, in points.
const SKETCH: f32 = 96.0;

/// The values in one line.
pub(super) fn true_view_line(ui: &mut Ui, reading: &ShotReading) {
    let rows = of_shot(reading);
    if rows.is_empty() {
        return;
    }
    let values: Vec<String> = rows.iter().map(|row| format!("{} {}", row.name, row.number)).collect();
    weak(ui, format!("{HEADING}: {}", values.join(", ")));
}

/// The questions about the view that are open. They stand below the marks, so that all marks stay in sight.
pub(super) fn questions_ui(
    ui: &mut Ui,
    document: &Document,
    shot: &Shot,
    reading: &ShotReading,
    asked: &mut Asked,
) {
    if of_shot(reading).is_empty() {
        return;
    }
    question(ui, "Does any border show twice?", contours(shot, reading), asked);
    question(ui, "Where was the X-ray tube? (asked once a case)", tube(document.case(), shot), asked);
}

/// The values with the drawings of the C-arm from above and from the side, and the sentences.
pub(super) fn true_view_ui(ui: &mut Ui, reading: &ShotReading, theme: &Theme) {
    let (rows, said) = (of_true_view(reading), true_view_said(reading));
    if rows.is_empty() && said.is_empty() {
        return;
    }
    ui.add_space(pt(space::S2));
    ui.label(RichText::new(HEADING).strong());
    for row in &rows {
        detail_ui(ui, row, theme);
    }
    let half = vec2((ui.available_width() - ui.spacing().item_spacing.x) * 0.5, SKETCH);
    let sketches = view_sketch::of_shot(reading, (f64::from(half.x), f64::from(half.y)));
    ui.horizontal(|ui| {
        for drawn in sketches {
            drawing_ui(ui, &drawn, theme).on_hover_text(drawn.words);
        }
    });
    for sentence in said {
        weak(ui, sentence);
    }
}

/// A question with its answers; nothing where it is not open.
fn question(ui: &mut Ui, words: &str, answers: Vec<Answer>, asked: &mut Asked) {
    if answers.is_empty() {
        return;
    }
    ui.add_space(pt(space::S2));
    ui.label(RichText::new(words).strong());
    ui.horizontal_wrapped(|ui| {
        for answer in answers {
            if ui.button(answer.words).on_hover_text(answer.advice).clicked() {
                asked.push(Command::Case(CaseCommand::Edit(answer.edit)));
            }
        }
    });
}
