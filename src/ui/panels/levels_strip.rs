//! The levels as a narrow strip beside the image: one small body for each level of the case, its two halves with
//! their final verdicts. It answers the same clicks as the levels themselves.

use egui::accesskit::Role as Part;
use egui::{Align2, Rect, ScrollArea, Sense, Ui, WidgetInfo, pos2, vec2};

use crate::app::command::Command;
use crate::app::command::case::CaseCommand;
use crate::app::command::shots::ShotsCommand;
use crate::app::command::window::WindowCommand;
use crate::app::display::preferences::SidePanel;
use crate::app::session::document::Document;
use crate::app::session::state::State;
use crate::app::shots::selection::Scope;
use crate::case::plan::SidePlan;
use crate::geom::point::Point;
use crate::measure::mark::{Level, Side};
use crate::scene::drawing::primitive::Primitive;
use crate::scene::drawing::shape::{Glyph, Role, TextSize};
use crate::scene::drawing::theme::{Theme, state_sign};
use crate::scene::words::plan as plan_words;
use crate::ui::look::{colour, font};
use crate::ui::paint;
use crate::ui::panels::levels::{disc_label, disc_tip, half_tip, levels};
use crate::ui::widgets::Asked;

/// Width of the strip in points, its margins included.
pub const WIDTH: f32 = 64.0;
/// Height of a level in points: its name above, its halves below.
const LEVEL: f32 = 46.0;
/// Height of a disc in points.
const DISC: f32 = 13.0;

/// Shows the strip.
pub fn levels_strip_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let Some(document) = &state.editor.document else { return };
    let theme = Theme::of(state.display.mode);
    unfold(ui, asked);
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 2.0;
        let levels = levels(document);
        for (i, &level) in levels.iter().enumerate() {
            body(ui, document, level, &theme, asked);
            if let Some(below) = levels.get(i + 1) {
                disc(ui, document, (level, *below), &theme, asked);
            }
        }
    });
}

/// Brings the levels back in full.
fn unfold(ui: &mut Ui, asked: &mut Asked) {
    ui.spacing_mut().button_padding.x = 2.0;
    let button = egui::Button::new(egui::RichText::new("Levels").small());
    let button = button.min_size(vec2(ui.available_width(), 26.0));
    let response = ui.add(button).on_hover_text("Show the levels in full.\nKey: F2");
    response.widget_info(|| WidgetInfo::labeled(Part::Button, true, "Show the levels"));
    if response.clicked() {
        asked.push(Command::Window(WindowCommand::Fold(SidePanel::Ladder)));
    }
}

fn body(ui: &mut Ui, document: &Document, level: Level, theme: &Theme, asked: &mut Asked) {
    let plan = document.plan().body(level);
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), LEVEL), Sense::hover());
    let stroke = if plan.is_some_and(|plan| plan.wanted) { theme.text } else { theme.edge };
    let ink = if plan.is_some() { theme.text } else { theme.weak_text };
    let painter = ui.painter_at(rect);
    painter.rect_filled(rect.shrink(1.0), 4.0, colour(theme.raised));
    let line = egui::Stroke::new(1.0, colour(stroke));
    painter.rect_stroke(rect.shrink(1.0), 4.0, line, egui::StrokeKind::Inside);
    let at = pos2(rect.center().x, rect.top() + 11.0);
    painter.text(at, Align2::CENTER_CENTER, level.name(), font(TextSize::Small), colour(ink));
    for side in [Side::Right, Side::Left] {
        let middle = rect.center().x;
        let (left, right) = if side == Side::Right { (rect.left(), middle) } else { (middle, rect.right()) };
        let area = Rect::from_min_max(pos2(left, rect.top() + 20.0), pos2(right, rect.bottom())).shrink(3.0);
        half(ui, document, (level, side), plan.and_then(|body| body.side(side)), area, theme, asked);
    }
}

fn half(
    ui: &Ui,
    document: &Document,
    (level, side): (Level, Side),
    plan: Option<&SidePlan>,
    area: Rect,
    theme: &Theme,
    asked: &mut Asked,
) {
    let scope = Scope::Body(level, side);
    let chosen = document.scope() == scope;
    let response = ui.interact(area, ui.scope_id().with(("strip", level.name(), side.key())), Sense::click());
    let name = plan_words::side(level, side, plan);
    response.widget_info(|| WidgetInfo::selected(Part::ListBoxOption, true, chosen, name.clone()));
    if response.clicked() {
        asked.push(Command::Shots(ShotsCommand::List(scope)));
    }
    let painter = ui.painter_at(area);
    if chosen {
        painter.rect_filled(area, 3.0, colour(theme.selection));
    } else if response.hovered() {
        painter.rect_filled(area, 3.0, colour(theme.hovered));
    }
    if response.has_focus() {
        paint::frame(&painter, area, theme.accent);
    }
    if let Some(plan) = plan {
        let (role, glyph) = plan.verdict.map_or((Role::Nothing, Glyph::Ring), state_sign);
        let at = Point::new(f64::from(area.center().x), f64::from(area.center().y));
        paint::primitives(&painter, &Primitive::sign(at, glyph, role, theme));
    }
    response.on_hover_text(half_tip(level, side, plan));
}

/// The disc between two levels: a click says that its endplates are affected, or clears that.
fn disc(ui: &mut Ui, document: &Document, (above, below): (Level, Level), theme: &Theme, asked: &mut Asked) {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), DISC), Sense::click());
    let said = document.plan().discs.contains(&(above, below));
    let label = disc_label(above, below, said);
    response.widget_info(|| WidgetInfo::selected(Part::CheckBox, true, said, label.clone()));
    if response.clicked() {
        asked.push(Command::Case(CaseCommand::SwitchDisc(above)));
    }
    let fill = match (said, response.hovered()) {
        (true, _) => theme.accent,
        (false, true) => theme.edge,
        (false, false) => theme.raised,
    };
    ui.painter().rect_filled(rect.shrink2(vec2(10.0, 3.5)), 2.0, colour(fill));
    if response.has_focus() {
        paint::frame(ui.painter(), rect, theme.accent);
    }
    response.on_hover_text(disc_tip(above, below, said));
}
