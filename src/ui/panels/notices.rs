//! Sentences that stay until they are dismissed, and what is under way: they float over the image.

use egui::{Align2, Area, Context, Frame, Label, Margin, Rect, RichText, ScrollArea, Ui, vec2};

use crate::app::command::Command;
use crate::app::command::file::FileCommand;
use crate::app::command::window::WindowCommand;
use crate::app::pages::Page;
use crate::app::session::notice::{Notice, Weight};
use crate::app::session::state::State;
use crate::app::work::under_way::Activity;
use crate::scene::drawing::shape::{Glyph, Role};
use crate::scene::drawing::theme::Theme;
use crate::ui::look::colour;
use crate::ui::widgets::{Asked, command_button, sign};

/// How far above the window's lower edge a hint stands, in points.
const HINT_ABOVE: f32 = 220.0;
/// How wide it may be.
const HINT_WIDTH: f32 = 460.0;
/// Up to so many notices stand below each other; more are scrolled.
const FEW: usize = 6;
/// Widest that the notices get, in points.
const WIDEST: f32 = 460.0;

/// Shows what there is to be read and what is under way: floating at the foot of the column beside the image, where it
/// covers nothing that is marked, else over the top of `over`. Nothing beneath moves.
pub fn notices_ui(
    ctx: &Context,
    over: Rect,
    beside: Option<Rect>,
    state: &State,
    asked: &mut Asked,
) -> Option<Rect> {
    if state.notices.is_empty() && state.under_way.line().is_none() && !state.choosing {
        return None;
    }
    let theme = Theme::of(state.display.mode);
    let room = beside.map_or(over.width() - 24.0, |column| column.width() - 20.0);
    let width = WIDEST.min(room).max(120.0);
    // A page has its buttons at the top, which a notice must not cover.
    let (pivot, corner) = if let Some(column) = beside {
        (Align2::RIGHT_BOTTOM, column.right_bottom())
    } else if state.pages.shown == Page::Picture {
        (Align2::RIGHT_TOP, over.right_top() + vec2(-10.0, 10.0))
    } else {
        (Align2::RIGHT_BOTTOM, over.right_bottom() + vec2(-10.0, -40.0))
    };
    let area = Area::new(egui::Id::unique("notices"))
        .order(egui::Order::Middle)
        .pivot(pivot)
        .fixed_pos(corner)
        .constrain(false);
    let shown = area.show(ctx, |ui| {
        let edge = egui::Stroke::new(1.0, colour(theme.edge));
        let frame = Frame::new().fill(colour(theme.panel)).stroke(edge).inner_margin(Margin::same(8));
        frame.corner_radius(6).show(ui, |ui| {
            ui.set_max_width(width);
            under_way(ui, state, asked);
            let all = |ui: &mut Ui| state.notices.iter().for_each(|notice| notice_ui(ui, &theme, notice));
            if state.notices.len() > FEW {
                // Many files that could not be opened must not push the button out of the window.
                ScrollArea::vertical().max_height(over.height() / 2.0).show(ui, all);
            } else {
                all(ui);
            }
            if !state.notices.is_empty() && ui.button("Dismiss").on_hover_text("Key: Esc").clicked() {
                asked.push(Command::Window(WindowCommand::Dismiss));
            }
        });
    });
    Some(shown.response.rect)
}

fn notice_ui(ui: &mut Ui, theme: &Theme, notice: &Notice) {
    ui.horizontal_top(|ui| {
        let (role, glyph) = match notice.weight {
            Weight::Note => (Role::Text, Glyph::Disc),
            Weight::Trouble => (Role::Undecided, Glyph::Triangle),
        };
        sign(ui, theme, role, glyph);
        ui.add(Label::new(RichText::new(&notice.text)).wrap());
    });
}

/// What takes a while just now.
fn under_way(ui: &mut Ui, state: &State, asked: &mut Asked) {
    if state.under_way.line().is_none() && !state.choosing {
        return;
    }
    ui.horizontal(|ui| {
        if let Some(line) = state.under_way.line() {
            ui.label(line);
            if state.under_way.can_stop(Activity::Opening) {
                command_button(ui, state, Command::File(FileCommand::StopReading), asked);
            }
            if state.under_way.can_stop(Activity::Exporting) {
                command_button(ui, state, Command::File(FileCommand::StopExporting), asked);
            }
        } else if state.choosing {
            ui.label("A file dialog is open");
        }
    });
}

/// Says why the last command did nothing, over whatever is there: nothing moves for it, and it goes with the next
/// command.
pub fn hint_ui(ctx: &Context, state: &State) {
    let Some(sentence) = &state.refused else { return };
    let area = Area::new(egui::Id::unique("hint"))
        .order(egui::Order::Foreground)
        .anchor(Align2::CENTER_BOTTOM, vec2(0.0, -HINT_ABOVE))
        .interactable(false);
    area.show(ctx, |ui| {
        Frame::popup(ui.style()).show(ui, |ui| {
            ui.set_max_width(HINT_WIDTH);
            ui.add(Label::new(sentence).wrap());
        });
    });
}
