//! Shows the page with the run of one body's shots.
//!
//! Reading order: this file (the way), [`curve`].

use egui::accesskit::Role as Part;
use egui::{ComboBox, Frame, Margin, Panel, ScrollArea, Sense, Ui, WidgetInfo, vec2};

use crate::app::command::Command;
use crate::app::pages::Page;
use crate::app::pages::PageCommand as Pages;
use crate::app::pages::tip_path::{Tab, TipPathCommand};
use crate::app::session::state::State;
use crate::geom::point::Vec2;
use crate::measure::mark::{Level, Side};
use crate::scene::body_map::Described;
use crate::scene::drawing::emblem::{Emblem, emblem};
use crate::scene::drawing::theme::{Ground, Theme, space};
use crate::scene::format;
use crate::scene::tip_path::chart::chart;
use crate::scene::tip_path::page::drawing;
use crate::scene::tip_path::{TipRun, bodies};
use crate::scene::words::tip_path;
use crate::ui::look::{colour, pt};
use crate::ui::paint;
use crate::ui::panels::drawings::show;
use crate::ui::textures::{Sight, Textures};
use crate::ui::widgets::{Asked, command_button, empty_page_ui, heading, tab, weak};

mod curve;

/// Height of a drawing of the body, and of the lines over the shots, in points.
const DRAWING: f32 = 190.0;
const CHART: f32 = 190.0;

/// What the page keeps between frames: text being typed, what is dragged.
#[derive(Debug, Default)]
pub struct TipPathMemory {
    sight: Sight,
    pressed: Option<egui::Pos2>,
}

/// A command of this page.
const fn on(ask: TipPathCommand) -> Command {
    Command::Page(Pages::TipPath(ask))
}

/// Shows the page in all the room there is.
pub fn page_ui(
    ui: &mut Ui,
    state: &State,
    memory: &mut TipPathMemory,
    _textures: &mut Textures,
    asked: &mut Asked,
) {
    let theme = Theme::of(state.display.mode);
    let panel = Frame::new().fill(colour(theme.panel));
    Panel::top("run of").frame(panel.inner_margin(Margin::symmetric(8, 6))).show(ui, |ui| {
        head_ui(ui, state, asked);
    });
    if state.pages.tip_path.tab == Tab::Curve {
        curve::curve_ui(ui, state, memory, &theme, asked);
        return;
    }
    let frame = Frame::new().inner_margin(Margin::same(12));
    frame.show(ui, |ui| {
        ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            ui.set_width(ui.available_width() - 4.0);
            match (&state.pages.tip_path.way, &state.editor.document) {
                (Some(way), Some(document)) => way_ui(ui, document.case(), way, &theme),
                _ => empty_page_ui(
                    ui,
                    state,
                    &emblem(Emblem::TipPath),
                    (
                        "Follow the tip of one probe from shot to shot: along the pedicle, through the posterior wall, to its final position.",
                        "Example: posterior wall 2 %, stylet 21 %, final 38 % of the depth. It needs a lateral or AP shot with a level and a side.",
                    ),
                    (Command::Page(Pages::Go(Page::Picture)), "Label the shots"),
                    asked,
                ),
            }
        });
    });
}

fn words((level, side): (Level, Side)) -> String {
    format!("{} {}", level.name(), format::side(side))
}

fn head_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let Some(document) = &state.editor.document else { return };
    ui.horizontal_wrapped(|ui| {
        let now = state.pages.tip_path.body;
        let shown = now.map_or_else(|| "select a body".to_owned(), words);
        let response =
            ComboBox::from_id_salt("body").selected_text(shown.clone()).width(110.0).show_ui(ui, |ui| {
                for body in bodies(document.case()) {
                    if ui.selectable_label(now == Some(body), words(body)).clicked() {
                        asked.push(on(TipPathCommand::Body(body.0, body.1)));
                    }
                }
            });
        response.response.widget_info(|| {
            let mut info = WidgetInfo::labeled(Part::ComboBox, true, "Body and entry side");
            info.current_text_value = Some(shown.clone());
            info
        });
        ui.separator();
        for (i, part) in [Tab::Way, Tab::Curve].into_iter().enumerate() {
            let command = on(TipPathCommand::Tab(part));
            let (label, tip) = command.entry().map_or(("", ""), |entry| (entry.label, entry.tip));
            let response = tab(ui, state.pages.tip_path.tab == part, label, &Theme::of(state.display.mode));
            if response.on_hover_text(format!("{tip}\nKey: {}", i + 1)).clicked() {
                asked.push(command);
            }
        }
        for ask in [TipPathCommand::Save, TipPathCommand::Copy, TipPathCommand::IntoReport] {
            command_button(ui, state, on(ask), asked);
        }
        weak(ui, format!("{}.", crate::app::marking::guide::capital(tip_path::HEADING)));
    });
}

fn way_ui(ui: &mut Ui, case: &crate::case::document::Case, way: &TipRun, theme: &Theme) {
    let drawing = drawing(case, way);
    let gap = ui.spacing().item_spacing.x;
    let width = ((ui.available_width() - 2.0 * gap) / 3.0).max(120.0);
    ui.horizontal(|ui| {
        let size = vec2(width, DRAWING);
        show(ui, size, theme, |size| drawing.side(size));
        show(ui, size, theme, |size| drawing.front(size));
        show(ui, size, theme, |size| drawing.above(size));
    });
    ui.add_space(pt(space::S3));
    let size = vec2(ui.available_width(), CHART);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    let (scene, words) = chart(way, &case.settings, (f64::from(size.x), f64::from(size.y)));
    let drawn = Described { scene, words };
    response.widget_info(|| WidgetInfo::labeled(Part::Image, true, drawn.words.clone()));
    let origin = Vec2::new(f64::from(rect.left()), f64::from(rect.top()));
    paint::scene(&ui.painter_at(rect), &drawn.scene, theme, Ground::Panel, |p| p + origin);
    response.on_hover_text(drawn.words);
    heading(ui, "Tip positions");
    for line in way.moment_lines(case) {
        ui.add(egui::Label::new(line).wrap());
    }
    let steps = way.step_lines();
    if !steps.is_empty() {
        heading(ui, "Step by step");
    }
    for line in steps.iter().chain(&way.line_ahead()) {
        ui.add(egui::Label::new(line).wrap());
    }
    if let Some(why) = way.without_steps() {
        weak(ui, why);
    }
    weak(ui, "Dots: tip with 95 % interval. Shaded: target of the final position.");
}
