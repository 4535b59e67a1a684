//! The earlier shot on the later one: blended, alternating, on either side of a line, or their difference.

use egui::accesskit::Role as Part;
use egui::{Align2, CursorIcon, Frame, Margin, Panel, Rect, Sense, Slider, Ui, WidgetInfo};

use crate::app::display::viewport::Transform;
use crate::app::pages::compare::viewport::{Half, later};
use crate::app::pages::compare::{CompareCommand, CompareMode, Laid, RATES_HZ, Whose};
use crate::app::session::state::State;
use crate::geom::point::{Point, Vec2};
use crate::scene::comparison::arrow_and_marks;
use crate::scene::comparison::layers::Blend;
use crate::scene::comparison::words;
use crate::scene::drawing::shape::{Rect as SceneRect, Role, Scene, Space, TextSize};
use crate::scene::drawing::theme::{Ground, Theme};
use crate::ui::look::{colour, font, pt};
use crate::ui::pages::compare::CompareMemory;
use crate::ui::pages::compare::head::on;
use crate::ui::pages::compare::sides::{local, origin, pointer, standing_in, tell_room};
use crate::ui::paint;
use crate::ui::widgets::{Asked, command_button, weak};

/// How near the line a press must be to move it, in points.
const GRASP: f32 = 10.0;

/// Shows both shots in one place, with what sets how, in all the room there is.
pub(super) fn layered_ui(
    ui: &mut Ui,
    state: &State,
    memory: &mut CompareMemory,
    theme: &Theme,
    asked: &mut Asked,
) {
    let frame = Frame::new().fill(colour(theme.panel)).inner_margin(Margin::symmetric(12, 6));
    Panel::bottom("how").frame(frame).show(ui, |ui| how_ui(ui, state, asked));
    alternate(ui, state, memory, asked);
    let room = ui.available_rect_before_wrap();
    tell_room(state, ui, room, asked);
    let response = ui.allocate_rect(room, Sense::click_and_drag());
    let names =
        state.pages.compare.shots.as_ref().map_or_else(String::new, |[from, to]| format!("{from} on {to}"));
    let label = format!("{}: {names}", state.pages.compare.mode.label());
    response.widget_info(|| WidgetInfo::labeled(Part::Canvas, true, label.clone()));
    let on_line = line(state, &response, memory, asked);
    if !on_line {
        pointer(ui, &response, asked);
    }
    let painter = ui.painter_at(room);
    painter.rect_filled(room, 0.0, colour(theme.ground));
    let Some(transform) = later(state) else { return };
    if picture(ui, &painter, state, room, transform, memory, theme) {
        let pointed = response.hover_pos().map(|p| transform.to_image(local(room, p)));
        overlay(&painter, state, room, transform, pointed, theme);
    }
}

/// The setting that the mode has, and what is to be known of the picture.
fn how_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let page = &state.pages.compare;
    ui.horizontal_wrapped(|ui| match page.mode {
        CompareMode::SideBySide => {}
        CompareMode::Blend => {
            let mut share = 100.0 * page.share;
            ui.label("earlier");
            let slider = Slider::new(&mut share, 0.0..=100.0).show_value(false);
            if ui.add(slider).accessible_name("Blend: later shot").changed() {
                asked.push(on(CompareCommand::Share(share / 100.0)));
            }
            ui.label("later");
            weak(ui, "Keys: ← →");
        }
        CompareMode::Alternate => {
            command_button(ui, state, on(CompareCommand::Alternate(!page.alternating)), asked);
            command_button(ui, state, on(CompareCommand::Change), asked);
            let mut rate = page.rate_hz;
            let slider = Slider::new(&mut rate, RATES_HZ).step_by(0.25).suffix(" switches per second");
            if ui.add(slider).accessible_name("Switches per second").changed() {
                asked.push(on(CompareCommand::Rate(rate)));
            }
            ui.label(if page.later_shown { "shown: the later" } else { "shown: the earlier" });
            weak(ui, "Key: →");
        }
        CompareMode::Divider => {
            let mut line = 100.0 * page.line;
            ui.label("left: earlier");
            let slider = Slider::new(&mut line, 0.0..=100.0).show_value(false);
            if ui.add(slider).accessible_name("Position of the split").changed() {
                asked.push(on(CompareCommand::Line(line / 100.0)));
            }
            ui.label("right: later");
            weak(ui, "Drag the line, or keys: ← →");
        }
        CompareMode::Difference => {
            ui.label(words::DIFFERENCE);
        }
    });
    let inverted = page.laid.layers().is_some_and(|layers| layers.inverted());
    let turned = if inverted {
        " Bone is dark in one and bright in the other, so the earlier image is inverted."
    } else {
        ""
    };
    weak(ui, format!("{}{turned}", words::MATCHED));
}

/// Changes from one picture to the other when its time has come.
fn alternate(ui: &Ui, state: &State, memory: &mut CompareMemory, asked: &mut Asked) {
    let page = &state.pages.compare;
    let now = ui.input(|input| input.time);
    if page.mode != CompareMode::Alternate || !page.alternating {
        memory.ticked = now;
        return;
    }
    let pace = 1.0 / page.rate_hz;
    let left = memory.ticked + pace - now;
    if left <= 0.0 {
        memory.ticked = now;
        asked.push(on(CompareCommand::Change));
    }
    let wait = if left <= 0.0 { pace } else { left };
    ui.ctx().request_repaint_after(std::time::Duration::from_secs_f64(wait));
}

/// Moves the dividing line; tells whether the pointer has to do with it.
fn line(state: &State, response: &egui::Response, memory: &mut CompareMemory, asked: &mut Asked) -> bool {
    if state.pages.compare.mode != CompareMode::Divider {
        memory.dragging_line = false;
        return false;
    }
    let room = response.rect;
    let x = room.left() + room.width() * pt(state.pages.compare.line);
    // By the time a drag is one, the pointer has left the place of the press.
    let pressed = response.ctx.input(|input| input.pointer.press_origin());
    let near = pressed.or(response.hover_pos()).is_some_and(|p| (p.x - x).abs() <= GRASP);
    if response.drag_started() {
        memory.dragging_line = near;
    }
    if near || memory.dragging_line {
        response.ctx.set_cursor_icon(CursorIcon::ResizeHorizontal);
    }
    if memory.dragging_line
        && response.dragged()
        && let Some(p) = response.interact_pointer_pos()
    {
        let share = f64::from((p.x - room.left()) / room.width().max(1.0)).clamp(0.0, 1.0);
        // A line that is held still asks for nothing, so that nothing is painted again.
        if (share - state.pages.compare.line).abs() > 1e-6 {
            asked.push(on(CompareCommand::Line(share)));
        }
    }
    if !response.dragged() {
        memory.dragging_line = false;
    }
    memory.dragging_line
}

/// The two as one picture; tells whether there is one.
fn picture(
    ui: &Ui,
    painter: &egui::Painter,
    state: &State,
    room: Rect,
    transform: Transform,
    memory: &mut CompareMemory,
    theme: &Theme,
) -> bool {
    let page = &state.pages.compare;
    let say = |words: &str| {
        let galley =
            painter.layout(words.to_owned(), font(TextSize::Body), colour(theme.text), room.width() - 48.0);
        let at = Align2::CENTER_CENTER.anchor_size(room.center(), galley.size());
        painter.galley(at.min, galley, colour(theme.text));
    };
    if let Some(Err(why)) = &page.registered {
        say(why);
        return false;
    }
    let halves = [Half::of(state, 0), Half::of(state, 1)];
    if let Some(missing) = halves.iter().flatten().find(|half| half.picture(state).is_none()) {
        standing_in(painter, state, room, missing, theme);
        return false;
    }
    match &page.laid {
        Laid::Ready(_, layers) => {
            let Some(half) = &halves[1] else { return false };
            let Some(shown) = half.picture(state) else { return false };
            let table = half.aspect.look.table(layers.later(), shown.greys);
            let sight = &mut memory.layered;
            sight.prepare(ui.ctx(), layers, (page.canvas, transform), blend(state, transform), &table);
            sight.paint(painter, transform, origin(room));
            true
        }
        Laid::Failed(_, why) => {
            say(why);
            false
        }
        Laid::Busy(_) | Laid::Nothing => {
            say("Registering the images…");
            false
        }
    }
}

fn blend(state: &State, transform: Transform) -> Blend {
    let page = &state.pages.compare;
    match page.mode {
        CompareMode::SideBySide | CompareMode::Blend => Blend::Share(page.share),
        CompareMode::Alternate => Blend::Share(if page.later_shown { 1.0 } else { 0.0 }),
        CompareMode::Divider => Blend::Divided {
            at: transform.to_image(Point::new(page.line * page.canvas.width, 0.0)),
            toward: transform.turn.unseen(Vec2::new(1.0, 0.0)),
        },
        CompareMode::Difference => Blend::Difference,
    }
}

/// Marks, the way of the tip, the line, and the place under the pointer.
fn overlay(
    painter: &egui::Painter,
    state: &State,
    room: Rect,
    transform: Transform,
    pointed: Option<Point>,
    theme: &Theme,
) {
    let page = &state.pages.compare;
    let (Some(document), Some(to)) = (&state.editor.document, Half::of(state, 1)) else { return };
    let Some(Ok(laid)) = &page.registered else { return };
    let screen = |p: Point| transform.to_canvas(p) + origin(room);
    let bounds = SceneRect::new(0.0, 0.0, to.size.0, to.size.1);
    let draw = |scene: &Scene| paint::scene(painter, scene, theme, Ground::Picture, screen);
    if page.mode == CompareMode::Divider {
        let mut scene = Scene::new(
            Space::Points,
            SceneRect::new(0.0, 0.0, f64::from(room.width()), f64::from(room.height())),
        );
        let x = page.line * f64::from(room.width());
        scene.line(vec![Point::new(x, 0.0), Point::new(x, f64::from(room.height()))], Role::Accent);
        paint::scene(painter, &scene, theme, Ground::Picture, |p| p + origin(room));
    }
    if state.display.drawing_hidden {
        return;
    }
    let half = |side: usize| {
        let half = Half::of(state, side)?;
        let looked = document.looked(&half.shot.id)?;
        Some(arrow_and_marks::ComparisonMarks {
            shot: half.shot,
            map: looked.map.as_deref(),
            reading: &looked.reading,
        })
    };
    let whose = match (page.mode, page.later_shown) {
        (CompareMode::Alternate, later) if page.whose.has(usize::from(later)) => {
            if later {
                Whose::Later
            } else {
                Whose::Earlier
            }
        }
        (CompareMode::Alternate, _) => Whose::Neither,
        _ => page.whose,
    };
    let way = page.found.as_ref().and_then(|found| found.as_ref().ok()).and_then(|found| found.arrow);
    let style = arrow_and_marks::Style { whose, layers: state.display.layers, zoom: transform.zoom, bounds };
    if let (Some(from), Some(to)) = (half(0), half(1)) {
        for scene in arrow_and_marks::laid(document.case(), [from, to], laid, way, &style) {
            draw(&scene);
        }
    }
    if let Some((at, body)) = pointed.and_then(|p| Some((p, laid.to().to_body(p)?))) {
        draw(&arrow_and_marks::pointed(to.shot.view, at, body, bounds));
    }
}
