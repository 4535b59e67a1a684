//! Two pictures beside each other, each as it was saved: zoom and place go together, and the pointer over one shows the
//! same place of the body in the other.

use egui::accesskit::Role as Part;
use egui::{Event, MouseWheelUnit, PointerButton, Pos2, Rect, Response, Sense, Ui, WidgetInfo, pos2, vec2};

use crate::app::display::viewport::{Canvas, Transform};
use crate::app::pages::compare::CompareCommand;
use crate::app::pages::compare::viewport::{Half, earlier, later};
use crate::app::session::state::State;
use crate::app::work::picture_store::Loading;
use crate::geom::point::{Point, Vec2};
use crate::measure::body::BodyPoint;
use crate::measure::reading::Field;
use crate::scene::comparison::arrow_and_marks;
use crate::scene::drawing::shape::{Rect as SceneRect, Scene, Space};
use crate::scene::drawing::theme::{Ground, Theme};
use crate::ui::look::colour;
use crate::ui::pages::compare::CompareMemory;
use crate::ui::pages::compare::head::on;
use crate::ui::paint;
use crate::ui::redaction;
use crate::ui::textures::{Sight, Wanted};
use crate::ui::widgets::Asked;

/// Room between the two, in points.
const GAP: f32 = 6.0;
/// Zoom by one line of the wheel.
const WHEEL_STEP: f64 = 1.15;

/// Shows both pictures in all the room there is.
pub(super) fn sides_ui(
    ui: &mut Ui,
    state: &State,
    memory: &mut CompareMemory,
    theme: &Theme,
    asked: &mut Asked,
) {
    let whole = ui.available_rect_before_wrap();
    let wide = whole.width() >= whole.height();
    let rooms = halves(whole, wide);
    tell_room(state, ui, rooms[0], asked);
    let transforms = [earlier(state), later(state)];
    let responses = [0, 1].map(|side| {
        let response = ui.allocate_rect(rooms[side], Sense::click_and_drag());
        let name = Half::of(state, side).map_or_else(String::new, |half| half.shot.id.clone());
        let label = format!("{} image: shot {name}", if side == 0 { "Earlier" } else { "Later" });
        response.widget_info(|| WidgetInfo::labeled(Part::Canvas, true, label.clone()));
        pointer(ui, &response, asked);
        response
    });
    let pointed = (0..2).find_map(|side| {
        let p = responses[side].hover_pos()?;
        let map = state.pages.compare.registered.as_ref()?.as_ref().ok()?;
        let map = if side == 0 { map.from() } else { map.to() };
        map.to_body(transforms[side]?.to_image(local(rooms[side], p)))
    });
    for side in 0..2 {
        let (Some(half), Some(transform)) = (Half::of(state, side), transforms[side]) else { continue };
        let sight = &mut memory.sights[side];
        picture(ui, state, rooms[side], &half, transform, sight, theme);
        overlay(ui, state, rooms[side], side, &half, transform, pointed, theme);
    }
}

/// Two rooms of one size.
fn halves(whole: Rect, wide: bool) -> [Rect; 2] {
    if wide {
        let width = (0.5 * (whole.width() - GAP)).max(1.0);
        let left = Rect::from_min_size(whole.min, vec2(width, whole.height()));
        [left, Rect::from_min_size(pos2(whole.max.x - width, whole.min.y), left.size())]
    } else {
        let height = (0.5 * (whole.height() - GAP)).max(1.0);
        let upper = Rect::from_min_size(whole.min, vec2(whole.width(), height));
        [upper, Rect::from_min_size(pos2(whole.min.x, whole.max.y - height), upper.size())]
    }
}

/// Tells the page the room of one picture where it is another than before.
pub(super) fn tell_room(state: &State, ui: &Ui, room: Rect, asked: &mut Asked) {
    let canvas = canvas_of(ui, room);
    if state.pages.compare.canvas != canvas {
        asked.push(on(CompareCommand::Room(canvas)));
    }
}

/// A room as the canvas it is.
pub(in crate::ui::pages) fn canvas_of(ui: &Ui, room: Rect) -> Canvas {
    Canvas {
        width: f64::from(room.width().max(1.0)),
        height: f64::from(room.height().max(1.0)),
        pixels_per_point: f64::from(ui.ctx().pixels_per_point()),
    }
}

/// A place of the screen, from a room's corner.
pub(in crate::ui::pages) fn local(room: Rect, p: Pos2) -> Point {
    Point::new(f64::from(p.x - room.left()), f64::from(p.y - room.top()))
}

pub(in crate::ui::pages) fn origin(room: Rect) -> Vec2 {
    Vec2::new(f64::from(room.left()), f64::from(room.top()))
}

/// What the pointer asks of a picture.
pub(in crate::ui::pages) enum PaneHand {
    /// To be moved by this, in points.
    Pan(Vec2),
    /// To be zoomed about a point of its room.
    Zoom(Point, f64),
}

/// Dragging moves the pictures, the wheel zooms them about the pointer.
pub(super) fn pointer(ui: &Ui, response: &Response, asked: &mut Asked) {
    asked.extend(hands(ui, response, WheelUse::Zooms).into_iter().map(|hand| match hand {
        PaneHand::Pan(by) => on(CompareCommand::Pan(by)),
        PaneHand::Zoom(at, factor) => on(CompareCommand::Zoom { at, factor }),
    }));
}

/// What the wheel does over a picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::ui::pages) enum WheelUse {
    /// It zooms about the pointer; two fingers move the picture.
    Zooms,
    /// It scrolls what the picture stands in. With Ctrl it zooms.
    Scrolls,
}

/// What dragging, wheel and pinch ask for.
pub(in crate::ui::pages) fn hands(ui: &Ui, response: &Response, wheel: WheelUse) -> Vec<PaneHand> {
    let room = response.rect;
    let mut asked = Vec::new();
    if response.dragged_by(PointerButton::Primary) || response.dragged_by(PointerButton::Middle) {
        let by = response.drag_delta();
        if by != vec2(0.0, 0.0) {
            asked.push(PaneHand::Pan(Vec2::new(f64::from(by.x), f64::from(by.y))));
        }
    }
    let Some(at) = response.hover_pos().map(|p| local(room, p)) else { return asked };
    let events = if wheel == WheelUse::Zooms { ui.input(|input| input.events.clone()) } else { Vec::new() };
    for event in events {
        match event {
            Event::MouseWheel { unit: MouseWheelUnit::Point, delta, modifiers, .. } if !modifiers.command => {
                asked.push(PaneHand::Pan(Vec2::new(f64::from(delta.x), f64::from(delta.y))));
            }
            Event::MouseWheel { delta, modifiers, .. } if !modifiers.command => {
                asked.push(PaneHand::Zoom(at, WHEEL_STEP.powf(f64::from(delta.y))));
            }
            _ => {}
        }
    }
    let pinch = f64::from(ui.input(egui::InputState::zoom_delta));
    if (pinch - 1.0).abs() > 1e-6 {
        asked.push(PaneHand::Zoom(at, pinch));
    }
    asked
}

/// One picture with its covers, or what stands in its place.
pub(in crate::ui::pages) fn picture(
    ui: &Ui,
    state: &State,
    room: Rect,
    half: &Half<'_>,
    transform: Transform,
    sight: &mut Sight,
    theme: &Theme,
) {
    let painter = ui.painter_at(room);
    painter.rect_filled(room, 0.0, colour(theme.ground));
    let wanted = half.picture(state).zip(half.key.clone()).map(|(picture, key)| Wanted {
        field: state.editor.pictures.known.get(&key).map_or(Field::Whole, |known| known.extent.field),
        key,
        picture,
        look: half.aspect.look,
        canvas: canvas_of(ui, room),
        transform,
    });
    sight.prepare(ui.ctx(), wanted.as_ref());
    sight.paint(&painter, transform, origin(room));
    let screen = |p: Point| transform.to_canvas(p) + origin(room);
    redaction::opaque(&painter, &half.shot.covers, theme, screen);
    if wanted.is_none() {
        standing_in(&painter, state, room, half, theme);
    }
}

/// What stands in a picture's place.
pub(super) fn standing_in(
    painter: &egui::Painter,
    state: &State,
    room: Rect,
    half: &Half<'_>,
    theme: &Theme,
) {
    let words = match half.loading(state) {
        Some(Loading::Failed(sentence)) => format!("The image cannot be shown. {sentence}"),
        _ if half.key.is_none() => {
            "The image cannot be shown: its path leads out of the case folder.".to_owned()
        }
        _ => "Opening the image…".to_owned(),
    };
    let font = crate::ui::look::font(crate::scene::drawing::shape::TextSize::Body);
    let galley = painter.layout(words, font, colour(theme.text), (room.width() - 24.0).max(40.0));
    let at = egui::Align2::CENTER_CENTER.anchor_size(room.center(), galley.size());
    painter.galley(at.min, galley, colour(theme.text));
}

/// Marks, the way of the tip, the shared pointer and the picture's name.
#[expect(clippy::too_many_arguments, reason = "one call, and each is a thing of its own")]
fn overlay(
    ui: &Ui,
    state: &State,
    room: Rect,
    side: usize,
    half: &Half<'_>,
    transform: Transform,
    pointed: Option<BodyPoint>,
    theme: &Theme,
) {
    let Some(document) = &state.editor.document else { return };
    let page = &state.pages.compare;
    let painter = ui.painter_at(room);
    let screen = |p: Point| transform.to_canvas(p) + origin(room);
    let bounds = SceneRect::new(0.0, 0.0, half.size.0, half.size.1);
    let registered = page.registered.as_ref().and_then(|found| found.as_ref().ok());
    if !state.display.drawing_hidden {
        if page.whose.has(side)
            && let Some(looked) = document.looked(&half.shot.id)
        {
            let of = arrow_and_marks::ComparisonMarks {
                shot: half.shot,
                map: looked.map.as_deref(),
                reading: &looked.reading,
            };
            let scene =
                arrow_and_marks::marks(document.case(), of, state.display.layers, transform.zoom, bounds);
            paint::scene(&painter, &scene, theme, Ground::Picture, screen);
        }
        if side == 1
            && let Some(Ok(found)) = &page.found
            && let Some(ends) = found.arrow
        {
            let mut scene = Scene::new(Space::Image, bounds);
            arrow_and_marks::arrow(&mut scene, ends, transform.zoom);
            paint::scene(&painter, &scene, theme, Ground::Picture, screen);
        }
        if let (Some(at), Some(registered)) = (pointed, registered) {
            let map = if side == 0 { registered.from() } else { registered.to() };
            let scene = arrow_and_marks::pointed(half.shot.view, map.to_image(at), at, bounds);
            paint::scene(&painter, &scene, theme, Ground::Picture, screen);
        }
    }
    let words = format!("{}: {}", if side == 0 { "earlier" } else { "later" }, half.shot.id);
    let corner = SceneRect::new(0.0, 0.0, f64::from(room.width()), f64::from(room.height()));
    let mut scene = Scene::new(Space::Points, corner);
    arrow_and_marks::name(&mut scene, &words);
    paint::scene(&painter, &scene, theme, Ground::Picture, |p| p + origin(room));
}
