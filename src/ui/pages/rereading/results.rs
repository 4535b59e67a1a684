//! What the blind readings of the case say, and the action that adopts it.

use egui::accesskit::Role as Part;
use egui::{RichText, Sense, Ui, WidgetInfo, vec2};

use crate::app::command::Command;
use crate::app::pages;
use crate::app::pages::rereading::RereadingCommand;
use crate::app::session::state::State;
use crate::geom::point::Vec2;
use crate::scene::drawing::emblem::{Emblem, emblem};
use crate::scene::drawing::shape::Scene;
use crate::scene::drawing::theme::{Ground, Theme};
use crate::ui::look::{colour, pt};
use crate::ui::paint;
use crate::ui::widgets::{Asked, command_button, empty_page_ui, table_ui, weak};

/// Shows the results.
pub(super) fn results_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let Some(results) = state.pages.rereading.results() else {
        empty_page_ui(
            ui,
            state,
            &emblem(Emblem::Rereading),
            (
                "Mark shots again without seeing the first marks, to measure how repeatable the readings are.",
                "Example: of twelve shots read twice, the depth differs by less than 5 % in 95 of 100. Who reads, and which shots, is set on the left; once a shot has been re-read, the results appear here.",
            ),
            (
                Command::Page(pages::PageCommand::Rereading(RereadingCommand::Begin)),
                "Start the first session",
            ),
            asked,
        );
        return;
    };
    let ask = |ask| Command::Page(pages::PageCommand::Rereading(ask));
    let mut blind = !state.pages.rereading.with_first;
    if ui.checkbox(&mut blind, "Blinded readings only, without the first marks").changed() {
        asked.push(ask(RereadingCommand::BlindOnly(blind)));
    }
    ui.add_space(8.0);
    for section in &results.sections {
        ui.label(RichText::new(&section.title).heading());
        for line in &section.lines {
            if line.is_empty() {
                ui.add_space(6.0);
            } else {
                ui.add(egui::Label::new(line).wrap());
            }
        }
        for (i, table) in section.tables.iter().enumerate() {
            ui.add_space(6.0);
            table_ui(ui, &format!("{} {i}", section.title), table);
        }
        if section.title == "Marks" {
            adopt_ui(ui, state, asked);
        }
        for plot in &section.plots {
            ui.add_space(8.0);
            plot_ui(ui, state, plot, &section.title);
        }
        if !section.notes.is_empty() {
            ui.add_space(6.0);
            let name = format!("Notes: {}", section.title);
            ui.collapsing(name, |ui| {
                for line in &section.notes {
                    weak(ui, line);
                }
            });
        }
        ui.add_space(16.0);
    }
    for line in crate::scene::repeatability::reliability::source_lines() {
        weak(ui, line);
    }
}

fn adopt_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let adopting = state.pages.rereading.results().and_then(|results| results.offer());
    ui.add_space(6.0);
    command_button(ui, state, Command::Page(pages::PageCommand::Rereading(RereadingCommand::Adopt)), asked);
    match adopting {
        Some(adopting) => weak(ui, &adopting.words),
        None => {
            weak(ui, "The case already uses the measured values, or nothing was measured in millimeters.")
        }
    };
}

/// A drawing in points.
pub(super) fn plot_ui(ui: &mut Ui, state: &State, plot: &Scene, name: &str) {
    let theme = Theme::of(state.display.mode);
    let size = vec2(pt(plot.bounds.width()), pt(plot.bounds.height()));
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    let label = format!("{name}: differences against means");
    response.widget_info(|| WidgetInfo::labeled(Part::Image, true, label.clone()));
    let painter = ui.painter_at(rect);
    painter.rect_filled(rect, 4.0, colour(theme.panel));
    let origin = Vec2::new(f64::from(rect.left()), f64::from(rect.top()));
    paint::scene(&painter, plot, &theme, Ground::Panel, |p| p + origin);
}
