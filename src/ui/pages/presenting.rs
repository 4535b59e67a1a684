//! Shows slides to a room: the slide as large as fits on dark ground, a pointer that can be seen from afar, and a narrow
//! line of controls below.

use std::sync::Arc;

use egui::accesskit::Role as Part;
use egui::{
    Color32, CursorIcon, Frame, Margin, Panel, Pos2, Rect, RichText, Sense, TextureHandle, TextureOptions,
    Ui, WidgetInfo, pos2,
};

use crate::app::command::Command;
use crate::app::pages::PageCommand;
use crate::app::pages::figure::DrawnFigure;
use crate::app::pages::presenting::{PresentCommand, Presenting};
use crate::app::session::route::refusal;
use crate::app::session::state::State;
use crate::geom::point::Point;
use crate::scene::drawing::pointer::pointer;
use crate::scene::drawing::shape::TextSize;
use crate::scene::drawing::theme::Theme;
use crate::ui::look::{self, colour};
use crate::ui::pages::figure::image;
use crate::ui::paint;
use crate::ui::widgets::{Asked, command_button};

/// Height of the line of controls, in points.
const BAR: f32 = 40.0;

/// What presenting keeps between frames.
#[derive(Default)]
pub struct PresentingMemory {
    /// The slide on the graphics card, and what it was made of.
    slide: Option<(Arc<DrawnFigure>, TextureHandle)>,
}

impl std::fmt::Debug for PresentingMemory {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("PresentingMemory").finish_non_exhaustive()
    }
}

/// A command of this page.
const fn on(ask: PresentCommand) -> Command {
    Command::Page(PageCommand::Present(ask))
}

/// Shows the slide in all the room there is, dark in either mode of the window.
pub fn page_ui(ui: &mut Ui, state: &State, memory: &mut PresentingMemory, asked: &mut Asked) {
    let theme = Theme::dark();
    *ui.visuals_mut() = look::visuals(&theme);
    let presenting = &state.pages.presenting;
    let bar = Frame::new().fill(colour(theme.ground)).inner_margin(Margin::symmetric(12, 5));
    Panel::bottom("presenting").exact_size(BAR).show_separator_line(false).frame(bar).show(ui, |ui| {
        bar_ui(ui, state, presenting, asked);
    });
    let (rect, response) = ui.allocate_exact_size(ui.available_size(), Sense::click());
    ui.painter().rect_filled(rect, 0.0, colour(theme.ground));
    asked.extend(
        room(ui, rect)
            .filter(|room| presenting.room != Some(*room))
            .map(|(w, h)| on(PresentCommand::Room(w, h))),
    );
    let words = match presenting.slide() {
        Some(Ok(drawn)) => {
            slide_ui(ui, rect, drawn, memory);
            format!("The slide: {}", drawn.words)
        }
        Some(Err(sentences)) => {
            let text = sentences.join("\n");
            words_ui(ui, rect, &text, TextSize::Large);
            text
        }
        None => {
            words_ui(ui, rect, "Drawing…", TextSize::Body);
            "The slide is being drawn.".to_owned()
        }
    };
    response.widget_info(|| WidgetInfo::labeled(Part::Image, true, words.clone()));
    if response.clicked() && presenting_goes_on(state) {
        asked.push(on(PresentCommand::Next));
    }
    if let Some(at) = response.hover_pos() {
        ui.ctx().set_cursor_icon(CursorIcon::None);
        pointer_ui(ui, rect, at);
    }
}

/// Words in the middle of the room.
fn words_ui(ui: &Ui, rect: Rect, words: &str, size: TextSize) {
    let text = colour(Theme::dark().text);
    let galley = ui.painter().layout(words.to_owned(), look::font(size), text, 0.8 * rect.width());
    let at = Rect::from_center_size(rect.center(), galley.size()).min;
    ui.painter().galley(at, galley, text);
}

/// Whether a click leads on; at the last slide it does nothing, and no hint comes up before the audience.
fn presenting_goes_on(state: &State) -> bool {
    refusal(state, &on(PresentCommand::Next)).is_none()
}

/// The room for a slide in pixels, no more than the graphics card takes.
fn room(ui: &Ui, rect: Rect) -> Option<(u32, u32)> {
    let most = ui.ctx().input(|input| input.max_texture_side);
    let scale = ui.ctx().pixels_per_point();
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "pixels of a screen, from nothing upward"
    )]
    let side =
        |points: f32| ((points * scale).round().max(0.0) as u32).min(u32::try_from(most).unwrap_or(u32::MAX));
    let room = (side(rect.width()), side(rect.height()));
    (room.0 > 0 && room.1 > 0).then_some(room)
}

fn slide_ui(ui: &Ui, rect: Rect, drawn: &Arc<DrawnFigure>, memory: &mut PresentingMemory) {
    if memory.slide.as_ref().is_none_or(|(of, _)| !Arc::ptr_eq(of, drawn)) {
        let texture = ui.ctx().load_texture("slide", image(drawn), TextureOptions::LINEAR);
        memory.slide = Some((Arc::clone(drawn), texture));
    }
    let Some((_, texture)) = &memory.slide else { return };
    let size = texture.size_vec2();
    let fit = (rect.width() / size.x).min(rect.height() / size.y);
    let place = Rect::from_center_size(rect.center(), size * fit);
    let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
    ui.painter().image(texture.id(), place, whole, Color32::WHITE);
}

/// A ring about the place that is pointed at: as large as a fortieth of the room, open in its middle, so that what is
/// pointed at stays seen.
fn pointer_ui(ui: &Ui, rect: Rect, at: Pos2) {
    let at = Point::new(f64::from(at.x), f64::from(at.y));
    paint::primitives(&ui.painter_at(rect), &pointer(at, f64::from(rect.height()) / 40.0));
}

fn bar_ui(ui: &mut Ui, state: &State, presenting: &Presenting, asked: &mut Asked) {
    ui.horizontal(|ui| {
        command_button(ui, state, on(PresentCommand::Back), asked);
        ui.label(RichText::new(format!("{} of {}", presenting.at + 1, presenting.slides.len())).weak());
        command_button(ui, state, on(PresentCommand::Next), asked);
        if presenting.asks() {
            command_button(ui, state, on(PresentCommand::Reveal), asked);
        }
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            command_button(ui, state, on(PresentCommand::End), asked);
        });
    });
}
