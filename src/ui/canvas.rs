//! The picture and what is drawn over it.

use egui::accesskit::Role as Part;
use egui::{Align2, Pos2, Rect, Response, RichText, Sense, Ui, WidgetInfo, vec2};

use crate::app::annotation::being_drawn::{BeingDrawn, Held};
use crate::app::command::Command;
use crate::app::command::file::FileCommand;
use crate::app::display::drawn_over;
use crate::app::display::first_numbers::spoken;
use crate::app::display::looked_at::{LookedAt, NudgeMemory};
use crate::app::display::opening;
use crate::app::display::viewport::{Canvas, Transform};
use crate::app::marking::prompt::prompt;
use crate::app::pages::{active, active_mut};
use crate::app::session::document::Document;
use crate::app::session::state::State;
use crate::app::work::picture_store::Loading;
use crate::case::document::Shot;
use crate::geom::point::{Point, Vec2};
use crate::measure::mark::MarkRef;
use crate::scene::drawing::theme::{Ground, Theme};
use crate::scene::format;
use crate::ui::annotations::LaidOut;
use crate::ui::canvas_floats::image_share;
use crate::ui::look::{colour, pt};
use crate::ui::pointer::{self, Press};
use crate::ui::redaction;
use crate::ui::textures::Textures;
use crate::ui::widgets::{Asked, command_button};
use crate::ui::{annotations, closeups, directions, magnifier, paint, straighten};

/// A canvas at least this wide, in points, has room for what the pointer does beside the buttons of the zoom.
const ROOM_FOR_POINTER: f32 = 820.0;

/// What the canvas remembers from one pass to the next.
#[derive(Debug, Default)]
pub struct CanvasMemory {
    pub(super) press: Option<Press>,
    pub(super) last: Pos2,
    /// The image place under the pointer while something is drawn.
    pub(super) at: Point,
    pub(super) traced: String,
    /// Where the canvas stands in the window.
    pub(super) rect: Option<Rect>,
    /// What it said of the layout in this pass.
    pub(super) line: String,
    /// Share of the window in which the image is seen.
    pub(super) share: f64,
    /// The labels as they are laid out.
    pub(super) labels: LaidOut,
    /// The mark that is moved by keys, and where the pointer was when that began.
    pub(super) nudging: NudgeMemory,
}

impl CanvasMemory {
    /// Where the canvas stands in the window.
    #[must_use]
    pub fn rect(&self) -> Rect {
        self.rect.unwrap_or(Rect::NOTHING)
    }

    /// Share of the window's area in which the image is seen.
    #[must_use]
    pub const fn image_share(&self) -> f64 {
        self.share
    }

    /// Notes what floats over the canvas, and traces the layout.
    pub fn covered_by(&mut self, floats: Vec<Rect>, state: &State, window: Rect) {
        let canvas = self.rect();
        let seen = image_rect(canvas, state);
        self.share = seen.map_or(0.0, |image| image_share(canvas, image, &floats, window));
        if !self.line.is_empty() {
            let line = format!("{} share={:.4}", self.line, self.share);
            trace(line, &mut self.traced);
        }
    }
}

/// The box that the shown image fills in the window.
fn image_rect(canvas: Rect, state: &State) -> Option<Rect> {
    active(state).shown_frame()?;
    let (width, height) = active(state).frame_size();
    let transform = active(state).transform();
    let corners = [(0.0, 0.0), (width, 0.0), (0.0, height), (width, height)]
        .map(|(x, y)| transform.to_canvas(Point::new(x, y)));
    let mut rect = Rect::NOTHING;
    for corner in corners {
        rect.extend_with(canvas.min + vec2(pt(corner.x), pt(corner.y)));
    }
    Some(rect)
}

/// What the canvas needs beside the state.
pub struct Tools<'a> {
    /// The picture on the card.
    pub textures: &'a mut Textures,
    /// The mark that a list points at.
    pub pointed: Option<MarkRef>,
    /// Whether the layout is written to standard error whenever it changes.
    pub trace: bool,
}

/// Shows the picture and what is drawn over it in all the room there is.
pub fn canvas_ui(
    ui: &mut Ui,
    state: &mut State,
    memory: &mut CanvasMemory,
    tools: &mut Tools<'_>,
    asked: &mut Asked,
) -> Response {
    let response = ui.allocate_response(ui.available_size(), Sense::click_and_drag());
    let rect = response.rect;
    let canvas = Canvas {
        width: f64::from(rect.width().max(1.0)),
        height: f64::from(rect.height().max(1.0)),
        pixels_per_point: f64::from(ui.ctx().pixels_per_point()),
    };
    let local_contrast = state.display.local_contrast;
    opening::enter(active_mut(state), canvas, local_contrast);
    memory.rect = Some(rect);
    let transform = active(state).transform();
    tools.textures.prepare(ui.ctx(), active(state));
    name(&response, state);
    let state = &*state;
    pointer::input(ui, state, &response, transform, memory, asked);
    let theme = Theme::of(state.display.mode);
    let painter = ui.painter_at(rect);
    painter.rect_filled(rect, 0.0, colour(theme.ground));
    let origin = origin_of(rect);
    tools.textures.paint(&painter, transform, origin);
    if let Some(document) = &active(state).document
        && let Some(shot) = document.shot()
    {
        let pointer = hovering(ui, &response).map(|p| transform.to_image(local(rect, p)));
        draw(&painter, rect, state, document, shot, pointer, tools, memory, &theme);
        if !state.display.drawing_hidden {
            directions::paint(&painter, rect, document, &theme);
        }
    }
    corner_words(&painter, rect, state, &response, transform, &theme);
    standing_in(ui, rect, state, asked);
    memory.line = if tools.trace { layout_line(rect, state, transform) } else { String::new() };
    response
}

fn origin_of(rect: Rect) -> Vec2 {
    Vec2::new(f64::from(rect.left()), f64::from(rect.top()))
}

/// A place of the screen, from the canvas's corner.
pub(super) fn local(rect: Rect, p: Pos2) -> Point {
    Point::new(f64::from(p.x - rect.left()), f64::from(p.y - rect.top()))
}

/// Where the pointer is, if it is over the canvas or was pressed there.
pub(super) fn hovering(ui: &Ui, response: &Response) -> Option<Pos2> {
    let over = response.contains_pointer() || response.is_pointer_button_down_on();
    if over { ui.ctx().pointer_latest_pos() } else { None }
}

fn name(response: &Response, state: &State) {
    let shot = active(state).document.as_ref().and_then(Document::shot);
    let label = match (&active(state).document, shot) {
        (Some(document), Some(shot)) => {
            let sentence = prompt(document).sentence;
            format!("Image of shot {}. {}{sentence}", shot.id, spoken(document, shot))
        }
        _ => "Image".to_owned(),
    };
    response.widget_info(|| WidgetInfo::labeled(Part::Canvas, true, label.clone()));
}

#[expect(clippy::too_many_arguments, reason = "one call, and each is a thing of its own")]
fn draw(
    painter: &egui::Painter,
    rect: Rect,
    state: &State,
    document: &Document,
    shot: &Shot,
    pointer: Option<Point>,
    tools: &Tools<'_>,
    memory: &mut CanvasMemory,
    theme: &Theme,
) {
    let transform = active(state).transform();
    let origin = origin_of(rect);
    let screen = |p: Point| transform.to_canvas(p) + origin;
    let looked = LookedAt::of(document, pointer, is_busy(memory.press), &mut memory.nudging);
    let drawing = BeingDrawn::of(document.tool(), held(memory.press), memory.at);
    redaction::paint(painter, state, document, shot, &drawing, theme, screen);
    straighten::paint(painter, document, theme, screen);
    let layers = active(state).drawn(&state.display);
    let Some(scene) = drawn_over::overlay(active(state), layers, looked.aimed) else { return };
    paint::scene(painter, &scene, theme, Ground::Picture, screen);
    annotations::paint(painter, (rect, theme), state, (document, shot), tools.textures, &mut memory.labels);
    if !state.display.drawing_hidden {
        let handles = drawn_over::handles(document, shot, pointer, tools.pointed, transform.zoom);
        paint::scene(painter, &handles, theme, Ground::Picture, screen);
        if let Some(at) = document.crosshair {
            let cross = drawn_over::crosshair(active(state).canvas, transform, at);
            paint::scene(painter, &cross, theme, Ground::Picture, |p| p + origin);
        }
    }
    closeups::paint(painter, rect, (active(state), document), tools.textures, &scene, theme);
    if let Some(at) = looked.closely {
        magnifier::paint(painter, rect, at, active(state), tools.textures, &scene, theme);
    }
}

/// What the pointer holds on to, where it draws or moves something.
const fn held(press: Option<Press>) -> Option<Held> {
    match press {
        Some(Press::Draw { from }) => Some(Held::From(from)),
        Some(Press::Cover { index, from, cover }) => Some(Held::Cover(index, cover, from)),
        _ => None,
    }
}

/// Whether the pointer does something else than placing a mark.
const fn is_busy(press: Option<Press>) -> bool {
    matches!(press, Some(Press::Pan { .. } | Press::Grey | Press::Mark { .. } | Press::Draw { .. }))
}

/// Zoom, place and stored grey, small in the corner.
fn corner_words(
    painter: &egui::Painter,
    rect: Rect,
    state: &State,
    response: &Response,
    transform: Transform,
    theme: &Theme,
) {
    let Some(picture) = active(state).shown_frame() else { return };
    let mut words = format::zoom(transform.zoom * active(state).canvas.pixels_per_point);
    let crosshair = active(state).document.as_ref().and_then(|document| document.crosshair);
    let pointer = response.hover_pos().map(|p| transform.to_image(local(rect, p)));
    if let Some(at) = crosshair.or(pointer) {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "negative places are left out"
        )]
        let value =
            (at.x >= 0.0 && at.y >= 0.0).then(|| picture.frame.value(at.x as u32, at.y as u32)).flatten();
        if let Some(value) = value {
            words = format!("{words}   at {}   gray {value}", format::place(at.x, at.y));
        }
    }
    if crosshair.is_none() && pointer.is_none() && rect.width() > ROOM_FOR_POINTER {
        words = format!("{words}   {}", directions::POINTER);
    }
    let at = rect.left_bottom() + vec2(8.0, -6.0);
    directions::plate(painter, at, Align2::LEFT_BOTTOM, words, theme);
}

/// What stands where the picture should be.
fn standing_in(ui: &mut Ui, rect: Rect, state: &State, asked: &mut Asked) {
    let Some(document) = &active(state).document else { return };
    let Some(shot) = document.shot() else {
        centred(ui, rect, |ui| {
            ui.label("This case has no shots yet.");
            command_button(ui, state, Command::File(FileCommand::AddImages), asked);
        });
        return;
    };
    let unnamed = document.image_path(shot).err();
    let failed = match active(state).shown_loading() {
        Some(Loading::Failed(sentence)) => Some(sentence.clone()),
        Some(Loading::Ready(_)) => None,
        Some(Loading::Busy | Loading::Aside) | None => unnamed.clone(),
    };
    match failed {
        Some(sentence) => centred(ui, rect, |ui| {
            ui.label(RichText::new("The image cannot be shown").strong());
            ui.label(sentence);
            ui.label("Its marks are still read.");
            command_button(ui, state, Command::File(FileCommand::Relink), asked);
        }),
        None if active(state).shown_frame().is_none() => centred(ui, rect, |ui| {
            ui.label("Opening the image…");
        }),
        None => {}
    }
}

fn centred(ui: &mut Ui, rect: Rect, contents: impl FnOnce(&mut Ui)) {
    let width = rect.width().min(420.0);
    let area = Rect::from_center_size(rect.center(), vec2(width, 140.0)).intersect(rect);
    let builder = egui::UiBuilder::new().max_rect(area).layout(egui::Layout::top_down(egui::Align::Center));
    ui.scope_builder(builder, contents);
}

/// The canvas and its map in a line, in physical pixels of the window: for scripts that click at places of the image.
fn layout_line(rect: Rect, state: &State, transform: Transform) -> String {
    let scale = active(state).canvas.pixels_per_point;
    let shot =
        active(state).document.as_ref().and_then(|document| document.shown.clone()).unwrap_or_default();
    let ready = active(state).shown_frame().is_some();
    format!(
        "canvas left={} top={} width={} height={} zoom={} x0={} y0={} ready={ready} shot={shot}",
        f64::from(rect.left()) * scale,
        f64::from(rect.top()) * scale,
        f64::from(rect.width()) * scale,
        f64::from(rect.height()) * scale,
        transform.zoom * scale,
        (f64::from(rect.left()) + transform.origin.x) * scale,
        (f64::from(rect.top()) + transform.origin.y) * scale,
    )
}

/// Says a line on standard error, unless it was the last one.
#[expect(clippy::print_stderr, reason = "asked for by an environment variable")]
fn trace(line: String, before: &mut String) {
    if line != *before {
        eprintln!("{line}");
        *before = line;
    }
}
