//! That the numbers are those of a true view, the direct readings beside them, how the C-arm stood, and what was said of
//! the borders.

use egui::{RichText, Ui, vec2};

use crate::app::command::Command;
use crate::app::command::case::CaseCommand;
use crate::app::display::reading_details::{of_direct, true_view_said};
use crate::app::marking::view_questions::{contours, contours_open};
use crate::case::document::Shot;
use crate::case::readings::ShotReading;
use crate::scene::drawing::shape::{Glyph, Role};
use crate::scene::drawing::theme::{Theme, space};
use crate::scene::view_sketch;
use crate::scene::words::true_view::{HEADING, direct};
use crate::ui::look::pt;
use crate::ui::panels::detail::{detail_ui, said};
use crate::ui::widgets::{Asked, drawing as drawing_ui, weak};

/// What stands below numbers while it is open whether a border shows twice.
const ASSUMED: &str = "The ± assumes that every border shows once; nobody has confirmed that.";
/// Height of the drawings of the C-arm, in points.
const SKETCH: f32 = 96.0;

/// What the numbers above are, where they are those of a true view, and what they assume while nobody has said it.
pub(super) fn true_view_line(ui: &mut Ui, shot: &Shot, reading: &ShotReading, theme: &Theme) {
    if direct(reading).is_empty() {
        return;
    }
    if contours_open(shot, reading) {
        said(ui, theme, (Role::Undecided, Glyph::Triangle), ASSUMED);
    } else {
        weak(ui, format!("{HEADING}."));
    }
}

/// What was said of the view, and what the guide does not ask. It stands below the marks, so that all marks stay in sight.
pub(super) fn questions_ui(ui: &mut Ui, shot: &Shot, reading: &ShotReading, asked: &mut Asked) {
    let Some((words, answers)) = contours(shot, reading).filter(|_| !direct(reading).is_empty()) else {
        return;
    };
    ui.add_space(pt(space::S2));
    weak(ui, words);
    ui.horizontal_wrapped(|ui| {
        for answer in answers {
            if ui.small_button(answer.words).on_hover_text(answer.advice).clicked() {
                asked.push(Command::Case(CaseCommand::Edit(answer.edit)));
            }
        }
    });
}

/// The values with the drawings of the C-arm from above and from the side, and the sentences.
pub(super) fn true_view_ui(ui: &mut Ui, reading: &ShotReading, theme: &Theme) {
    let (rows, sentences) = (of_direct(reading), true_view_said(reading));
    if rows.is_empty() && sentences.is_empty() {
        return;
    }
    ui.add_space(pt(space::S2));
    ui.label(RichText::new("Direct readings and C-arm").strong());
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
    for sentence in sentences {
        weak(ui, sentence);
    }
}
