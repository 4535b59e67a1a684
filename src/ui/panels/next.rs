//! The next line: what the next click does, where it belongs, and the keys that lead elsewhere.

use egui::accesskit::Role as Part;
use egui::{RichText, Sense, Ui, WidgetInfo, vec2};

use crate::app::command::Command;
use crate::app::command::marks::MarksCommand;
use crate::app::marking::prompt::{progress, prompt};
use crate::app::session::state::{Column, State};
use crate::scene::words::caution;

use crate::scene::body_map::click::{Facing, where_to_click};
use crate::scene::body_map::{Posterior, Sides};
use crate::scene::drawing::theme::{Ground, Theme, space};
use crate::ui::look::{colour, pt};
use crate::ui::paint;
use crate::ui::widgets::{Asked, keyed_button, weak};

/// Height of the diagram in points.
const DIAGRAM: f32 = 96.0;
/// Its width where there is room, and where there is not.
const DIAGRAM_WIDTHS: (f32, f32) = (168.0, 128.0);
/// With less room than this, in points, sentences take more lines.
const NARROW: f32 = 620.0;

/// Height of the line in points, for this width; the same whatever it says, so that the picture above never moves.
#[must_use]
pub const fn height(width: f32) -> f32 {
    if width < NARROW { 140.0 } else { 108.0 }
}

/// Shows the next line.
pub fn next_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let Some(document) = &state.document else { return };
    let prompt = prompt(document);
    let theme = Theme::of(state.display.mode);
    // A sentence that is too long is cut rather than making the line higher, which would move the picture.
    let room = ui.max_rect();
    let mut ui = ui.new_child(egui::UiBuilder::new().max_rect(room));
    ui.set_clip_rect(room.intersect(ui.clip_rect()));
    ui.horizontal_top(|ui| {
        diagram(ui, state, &theme, asked);
        ui.vertical(|ui| {
            ui.add_space(pt(space::S1));
            ui.add(egui::Label::new(RichText::new(&prompt.sentence).strong()).wrap());
            if !prompt.advice.is_empty() {
                ui.add(egui::Label::new(RichText::new(&prompt.advice).small().weak()).wrap());
            }
            ui.horizontal_wrapped(|ui| {
                for command in prompt.keys {
                    keyed_button(ui, state, command, asked);
                }
                if let Some(shot) = document.shot() {
                    let (placed, all) = progress(&shot.marks, shot.view);
                    ui.label(RichText::new(format!("{placed} of {all} marks")).small().weak());
                }
            });
            // Where a number is shown, the caution is shown.
            if !state.display.has(Column::Reading) {
                weak(ui, caution::SHORT);
            }
        });
    });
}

fn diagram(ui: &mut Ui, state: &State, theme: &Theme, asked: &mut Asked) {
    let Some(document) = &state.document else { return };
    let Some((at, slots)) = prompt(document).diagram else { return };
    let Some(shot) = document.shot() else { return };
    let known = document.posterior_is_left();
    let left = known.unwrap_or(true);
    let posterior = if left { Posterior::Left } else { Posterior::Right };
    let width = if ui.available_width() < NARROW { DIAGRAM_WIDTHS.1 } else { DIAGRAM_WIDTHS.0 };
    let size = (f64::from(width), f64::from(DIAGRAM));
    let patient_right = shot.patient_right.or(document.case().patient_right);
    let sides = Sides { patient_right, entry: shot.side };
    let Some(scene) = where_to_click(at, shot.view, slots, Facing { posterior, sides }, size) else { return };
    let (rect, response) = ui.allocate_exact_size(vec2(width, DIAGRAM), Sense::click());
    let side = if left { "left" } else { "right" };
    let label = format!("Diagram of the view, back of the spine on the {side}; click to mirror it");
    response.widget_info(|| WidgetInfo::labeled(Part::Button, true, label.clone()));
    let tip = match known {
        Some(_) => format!(
            "The back of the spine is on the {side} of this picture. Click here, or press M, if it is not."
        ),
        None => "Which side is posterior is not known yet. Click here, or press M, to mirror the diagram."
            .to_owned(),
    };
    if response.clicked() {
        asked.push(Command::Marks(MarksCommand::MirrorDiagram));
    }
    let painter = ui.painter_at(rect);
    painter.rect_filled(rect, 4.0, colour(theme.ground));
    if response.has_focus() {
        paint::frame(&painter, rect, theme.accent);
    }
    let origin = crate::geom::point::Vec2::new(f64::from(rect.left()), f64::from(rect.top()));
    paint::scene(&painter, &scene, theme, Ground::Panel, |p| p + origin);
    response.on_hover_text(tip);
}
