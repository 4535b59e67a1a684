//! The curve ahead: the picture with the drawn course, and the shape's settings beside it.

use egui::accesskit::Role as Part;
use egui::{ComboBox, Frame, Margin, Panel, Pos2, ScrollArea, Sense, Slider, Ui, WidgetInfo};

use crate::app::marking::guide::capital;
use crate::app::pages::compare::viewport::Half;
use crate::app::pages::tip_path::TipPathCommand;
use crate::app::pages::tip_path::curve::{StyletShape, candidates, shot, transform};
use crate::app::session::state::State;
use crate::case::document::Case;
use crate::scene::comparison::arrow_and_marks::{self, ComparisonMarks};
use crate::scene::drawing::shape::Rect as SceneRect;
use crate::scene::drawing::theme::{Ground, Theme};
use crate::scene::format;
use crate::scene::tip_path::curve;
use crate::ui::look::colour;
use crate::ui::pages::compare::sides::{PaneHand, WheelUse, canvas_of, hands, local, origin, picture};
use crate::ui::pages::tip_path::{TipPathMemory, on};
use crate::ui::paint;
use crate::ui::widgets::{Asked, command_button, heading, weak};

/// Width of the column with the settings, in points.
const SETTINGS: f32 = 320.0;
/// A press that has moved less is a click, in points.
const STILL: f32 = 4.0;

/// Shows picture and settings in all the room there is.
pub(super) fn curve_ui(
    ui: &mut Ui,
    state: &State,
    memory: &mut TipPathMemory,
    theme: &Theme,
    asked: &mut Asked,
) {
    let panel = Frame::new().fill(colour(theme.panel)).inner_margin(Margin::same(12));
    Panel::right("curve").resizable(false).exact_size(SETTINGS).frame(panel).show(ui, |ui| {
        ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            ui.set_width(ui.available_width() - 4.0);
            settings_ui(ui, state, asked);
        });
    });
    let room = ui.available_rect_before_wrap();
    let canvas = canvas_of(ui, room);
    if state.pages.tip_path.curve.canvas != canvas {
        asked.push(on(TipPathCommand::Room(canvas)));
    }
    let response = ui.allocate_rect(room, Sense::click_and_drag());
    let id = shot(state).map_or("", |shot| shot.id.as_str());
    let label =
        format!("Projected stylet path on shot {id}. Click along a visible curve to measure its radius.");
    response.widget_info(|| WidgetInfo::labeled(Part::Canvas, true, label.clone()));
    asked.extend(hands(ui, &response, WheelUse::Zooms).into_iter().map(|hand| match hand {
        PaneHand::Pan(by) => on(TipPathCommand::Pan(by)),
        PaneHand::Zoom(at, factor) => on(TipPathCommand::Zoom { at, factor }),
    }));
    let (Some(document), Some(shot), Some((transform, size))) =
        (&state.editor.document, shot(state), transform(state))
    else {
        return;
    };
    if let Some(p) = clicked(ui, &response, memory) {
        asked.push(on(TipPathCommand::Click(transform.to_image(local(room, p)))));
    }
    let Some(half) = Half::on(state, shot) else { return };
    picture(ui, state, room, &half, transform, &mut memory.sight, theme);
    if state.display.drawing_hidden {
        return;
    }
    let bounds = SceneRect::new(0.0, 0.0, size.0, size.1);
    let painter = ui.painter_at(room);
    let screen = |p| transform.to_canvas(p) + origin(room);
    if let Some(looked) = document.looked(&shot.id) {
        let of = ComparisonMarks { shot, map: looked.map.as_deref(), reading: &looked.reading };
        let scene = arrow_and_marks::marks(document.case(), of, state.display.layers, transform.zoom, bounds);
        paint::scene(&painter, &scene, theme, Ground::Picture, screen);
    }
    let page = &state.pages.tip_path.curve;
    let course = page.course.as_ref().and_then(|course| course.as_ref().ok());
    let clicked = (page.clicks.as_slice(), page.circle.map(|(circle, _)| circle));
    let scene = curve::scene(course, clicked, page.next.and_then(|(_, tip)| tip), bounds);
    paint::scene(&painter, &scene, theme, Ground::Picture, screen);
}

/// Where the button was let go, if it was pressed there too, however slowly.
fn clicked(ui: &Ui, response: &egui::Response, memory: &mut TipPathMemory) -> Option<Pos2> {
    let (pressed, released, at) = ui.input(|input| {
        let pointer = &input.pointer;
        (pointer.primary_pressed(), pointer.primary_released(), pointer.latest_pos())
    });
    if pressed {
        memory.pressed = at.filter(|_| response.contains_pointer());
    }
    if !released {
        return None;
    }
    memory.pressed.take().zip(at).filter(|(from, to)| from.distance(*to) < STILL).map(|(_, to)| to)
}

fn settings_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let page = &state.pages.tip_path.curve;
    let others = candidates(state);
    if others.is_empty() {
        ui.add(egui::Label::new("This body has no lateral shot to draw the path on.").wrap());
        return;
    }
    let shown = page.shot.clone().unwrap_or_default();
    let response = ComboBox::from_id_salt("drawn on")
        .selected_text(format::shortened(&shown, 30))
        .width(220.0)
        .show_ui(ui, |ui| {
            for other in others {
                if ui.selectable_label(other.id == shown, &other.id).clicked() {
                    asked.push(on(TipPathCommand::Shot(other.id.clone())));
                }
            }
        });
    response.response.widget_info(|| {
        let mut info = WidgetInfo::labeled(Part::ComboBox, true, "Shot to draw on");
        info.current_text_value = Some(shown.clone());
        info
    });
    command_button(ui, state, on(TipPathCommand::About), asked);
    heading(ui, "Shape of the stylet");
    shape_ui(ui, page.shape, asked);
    heading(ui, "Radius of a visible curve");
    let words = match (page.clicks.len(), page.circle) {
        (_, Some((_, radius))) => {
            let n = format::count(page.clicks.len(), "place", "places");
            format!("{n}: a radius of {}", format::mm(radius))
        }
        (0..=2, None) => format!("Click three or more points along it; {} so far.", page.clicks.len()),
        (_, None) => "These points lie on a straight line, so they have no radius.".to_owned(),
    };
    ui.add(egui::Label::new(words).wrap());
    ui.horizontal(|ui| {
        command_button(ui, state, on(TipPathCommand::TakeRadius), asked);
        command_button(ui, state, on(TipPathCommand::Forget), asked);
    });
    heading(ui, "Where it ends");
    match (&page.course, &state.editor.document) {
        (Some(Ok(course)), Some(document)) => {
            for line in curve::lines(course, next(state, document.case())) {
                ui.add(egui::Label::new(capital(&line)).wrap());
            }
        }
        (Some(Err(why)), _) => {
            ui.add(egui::Label::new(why).wrap());
        }
        _ => {}
    }
}

fn next<'a>(state: &'a State, case: &'a Case) -> Option<(&'a str, &'a crate::case::readings::ShotReading)> {
    let (index, _) = state.pages.tip_path.curve.next?;
    let shot = case.shots.get(index)?;
    let looked = state.editor.document.as_ref()?.looked(&shot.id)?;
    Some((&shot.id, &looked.reading))
}

fn shape_ui(ui: &mut Ui, now: StyletShape, asked: &mut Asked) {
    let mut shape = now;
    let mut changed = false;
    for (name, value, range, suffix) in [
        ("Radius", &mut shape.radius_mm, 5.0..=200.0, " mm"),
        ("Bend", &mut shape.bend_deg, 0.0..=180.0, "°"),
        ("Rotation about the cannula", &mut shape.turn_deg, -180.0..=180.0, "°"),
        ("Angle out of the image plane", &mut shape.lean_deg, -60.0..=60.0, "°"),
    ] {
        weak(ui, name);
        let slider = Slider::new(value, range).suffix(suffix).max_decimals(1).logarithmic(name == "Radius");
        changed |= ui.add(slider).accessible_name(name).changed();
    }
    weak(ui, "Rotation: 0° bends toward the inferior endplate, 180° toward the superior endplate.");
    // A slider rounds what it shows; only what the hand changed counts.
    if changed {
        asked.push(on(TipPathCommand::Shape(shape)));
    }
}
