//! The next line: what the next click does and the keys that lead elsewhere; and the diagram of where it belongs.

use egui::accesskit::Role as Part;
use egui::{Align, Color32, Layout, RichText, Sense, Ui, WidgetInfo, vec2};

use crate::app::annotation::last_scale;
use crate::app::command::Command;
use crate::app::command::annotations::AnnotationsCommand;
use crate::app::command::marks::MarksCommand;
use crate::app::display::preferences::SidePanel;
use crate::app::marking::prompt::{progress_words, prompt};
use crate::app::pages::active;
use crate::app::session::state::State;
use crate::scene::body_map::click::{Facing, where_to_click};
use crate::scene::body_map::{Posterior, Sides};
use crate::scene::drawing::shape::TextSize;
use crate::scene::drawing::theme::{Ground, Theme};
use crate::scene::words::caution;
use crate::ui::look::{colour, font, pt};
use crate::ui::paint;
use crate::ui::widgets::{Asked, keyed_width, next_button, weak};

/// A sentence that is wider in points than this may take two rows.
const TWO_ROWS: f32 = 420.0;
/// Room in points that half a sentence needs beyond its own width, since it breaks between words.
const BESIDE: f32 = 40.0;
/// Height of the diagram in points.
const DIAGRAM: f32 = 112.0;
/// Height of the line in points, and of the caution below it where no column with the reading shows it.
const LINE: f32 = 40.0;
const CAUTION: f32 = 34.0;

/// Height of the line in points; the same whatever it says, so that the image above never moves.
#[must_use]
pub fn height(state: &State) -> f32 {
    if state.display.has(SidePanel::Reading) { LINE } else { LINE + CAUTION }
}

/// Shows the next line.
pub fn next_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let Some(document) = &active(state).document else { return };
    let prompt = prompt(document);
    // The line is as high whatever it says, for the image must not move: a long sentence takes two rows of small type.
    let room = ui.max_rect();
    let mut ui = ui.new_child(egui::UiBuilder::new().max_rect(room));
    ui.set_clip_rect(room.intersect(ui.clip_rect()));
    ui.horizontal(|ui| {
        ui.set_height(LINE - 10.0);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            let width = |ui: &Ui, words: &str, size| {
                ui.painter().layout_no_wrap(words.to_owned(), font(size), Color32::WHITE).size().x
            };
            let sentence = width(ui, &prompt.sentence, TextSize::Body);
            let keys = keys(state, prompt.keys);
            // The sentence is read first: where it would not fit in two rows, the keys stand in the tooltips.
            let rows = 0.5 * width(ui, &prompt.sentence, TextSize::Small) + BESIDE;
            let buttons: f32 = keys.iter().map(|command| keyed_width(ui, state, command)).sum();
            let keyed = buttons + rows <= room.width();
            for command in keys.into_iter().rev() {
                next_button(ui, state, command, keyed, asked);
            }
            let marked = document.shot().filter(|shot| shot.view_set);
            if let (Some(shot), Some(marks)) = (marked, document.seen_marks()) {
                let count = progress_words(marks, shot.view);
                // How far the marks have come stands in their list, too.
                if ui.available_width() > sentence.min(TWO_ROWS) + width(ui, &count, TextSize::Small) + 24.0 {
                    ui.label(RichText::new(count).small().weak());
                }
            }
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                let words = RichText::new(&prompt.sentence).strong();
                if sentence <= ui.available_width() {
                    ui.label(words);
                } else {
                    ui.spacing_mut().item_spacing.y = 0.0;
                    ui.add(egui::Label::new(words.small()).wrap());
                }
            });
        });
    });
    // Where a number is shown, the caution is shown.
    if !state.display.has(SidePanel::Reading) {
        weak(&mut ui, caution::SHORT);
    }
}

/// The buttons of the line: those of the prompt, and the scale that was entered last where it is offered.
fn keys(state: &State, mut keys: Vec<Command>) -> Vec<Command> {
    let Some(document) = &active(state).document else { return keys };
    if document.hand().places() && last_scale::offered(active(state)).is_some() {
        keys.push(Command::Annotations(AnnotationsCommand::UseLastScale));
    }
    keys
}

/// Height of the line with its diagram in points, where no column stands beside the image.
pub const WITH_DIAGRAM: f32 = 126.0;
/// Width of the diagram in that line.
const DIAGRAM_WIDTH: f32 = 168.0;

/// Shows the next line with its diagram and where exactly the mark belongs.
pub fn next_with_diagram_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let Some(document) = &active(state).document else { return };
    let theme = Theme::of(state.display.mode);
    let room = ui.max_rect();
    let mut ui = ui.new_child(egui::UiBuilder::new().max_rect(room));
    ui.set_clip_rect(room.intersect(ui.clip_rect()));
    ui.horizontal_top(|ui| {
        ui.vertical(|ui| {
            ui.set_width(DIAGRAM_WIDTH);
            diagram_ui(ui, state, &theme, asked);
        });
        ui.vertical(|ui| {
            let line = egui::Rect::from_min_size(ui.cursor().min, vec2(ui.available_width(), LINE));
            ui.scope_builder(egui::UiBuilder::new().max_rect(line), |ui| next_ui(ui, state, asked));
            ui.add_space(LINE);
            let advice = prompt(document).advice;
            if !advice.is_empty() {
                weak(ui, advice);
            }
        });
    });
}

/// The diagram of the view with the mark that is asked for.
pub fn diagram_ui(ui: &mut Ui, state: &State, theme: &Theme, asked: &mut Asked) {
    let Some(document) = &active(state).document else { return };
    let Some((at, slots)) = prompt(document).diagram else { return };
    let Some(shot) = document.shot() else { return };
    let known = document.posterior_is_left();
    let left = known.unwrap_or(true);
    let posterior = if left { Posterior::Left } else { Posterior::Right };
    let width = ui.available_width();
    let size = (f64::from(width), f64::from(DIAGRAM));
    let patient_right = shot.patient_right.or(document.case().patient_right);
    let sides = Sides { patient_right, entry: shot.side };
    let Some(scene) = where_to_click(at, shot.view, slots, Facing { posterior, sides }, size) else { return };
    let (rect, response) = ui.allocate_exact_size(vec2(width, DIAGRAM), Sense::click());
    let side = if left { "left" } else { "right" };
    let label = format!("Diagram of the view, posterior on the {side}; click to flip it");
    response.widget_info(|| WidgetInfo::labeled(Part::Button, true, label.clone()));
    let tip = match known {
        Some(_) => format!("Posterior is on the {side} of this image. If not, click here or press M."),
        None => {
            "The posterior side is not known yet. Click here, or press M, to flip the diagram.".to_owned()
        }
    };
    if response.clicked() {
        asked.push(Command::Marks(MarksCommand::MirrorDiagram));
    }
    let painter = ui.painter_at(rect);
    painter.rect_filled(rect, pt(crate::scene::drawing::theme::CORNER_RADIUS), colour(theme.ground));
    if response.has_focus() {
        paint::frame(&painter, rect, theme.accent);
    }
    let origin = crate::geom::point::Vec2::new(f64::from(rect.left()), f64::from(rect.top()));
    paint::scene(&painter, &scene, theme, Ground::Panel, |p| p + origin);
    response.on_hover_text(tip);
}
