//! The first view: open, drop, recent, demonstration, unsaved work, and the caution.

use egui::accesskit::Role as Part;
use egui::{Button, Frame, Margin, RichText, ScrollArea, Ui, WidgetInfo, vec2};

use crate::app::command::Command;
use crate::app::command::file::FileCommand;
use crate::app::command::key::as_here;
use crate::app::command::window::WindowCommand;
use crate::app::files::leaving::leftover_name;
use crate::app::pages::Page;
use crate::app::pages::PageCommand;
use crate::app::session::state::State;
use crate::app::work::under_way::Activity;
use crate::scene::drawing::theme::{Theme, space};
use crate::scene::format;
use crate::scene::words::caution;
use crate::ui::look::{colour, pt};
use crate::ui::widgets::{Asked, command_button, face, labelled_button, weak};

/// Width of the column of words in points.
const COLUMN: f32 = 600.0;
/// How many recent cases are listed.
const RECENT: usize = 6;
/// How many signs of a file's name are shown.
const NAME: usize = 48;

/// Shows the first view.
pub fn start_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        let width = ui.available_width().min(COLUMN);
        let side = (ui.available_width() - width) * 0.5;
        ui.horizontal_top(|ui| {
            ui.add_space(side);
            ui.vertical(|ui| {
                ui.set_width(width);
                column(ui, state, asked);
            });
        });
    });
}

fn column(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let theme = Theme::of(state.display.mode);
    ui.add_space((ui.ctx().content_rect().height() * 0.08).clamp(16.0, 96.0));
    ui.heading("Stillmark");
    ui.label("Measures where a probe tip lies inside a lumbar vertebral body on saved fluoroscopy stills.");
    ui.add_space(pt(space::S6));
    ui.horizontal_wrapped(|ui| {
        let open = Command::File(FileCommand::Open);
        let button = Button::new(RichText::new("Open case or images").color(colour(theme.on_accent)))
            .fill(colour(theme.accent))
            .min_size(vec2(0.0, 36.0));
        if ui.add(button).on_hover_text(as_here("Key: Ctrl O")).clicked() {
            asked.push(open);
        }
        for command in [Command::File(FileCommand::OpenFolder), Command::File(FileCommand::OpenDemonstration)]
        {
            let label = command.entry().map_or("", |entry| entry.label);
            let response = ui.add(face(&command, label).min_size(vec2(0.0, 36.0)));
            response.widget_info(|| WidgetInfo::labeled(Part::Button, true, label));
            if response.clicked() {
                asked.push(command);
            }
        }
    });
    ui.add_space(pt(space::S1));
    ui.horizontal_wrapped(|ui| {
        for page in [Page::Series, Page::Practice] {
            command_button(ui, state, Command::Page(PageCommand::Go(page)), asked);
        }
        command_button(ui, state, Command::Window(WindowCommand::About), asked);
    });
    ui.add_space(pt(space::S1));
    weak(ui, "Or drop a case file, images or a folder of images on this window.");
    if let Some(line) = state.under_way.line() {
        ui.add_space(pt(space::S2));
        ui.label(line);
        if state.under_way.can_stop(Activity::Opening) {
            command_button(ui, state, Command::File(FileCommand::StopReading), asked);
        }
    }
    leftovers(ui, state, &theme, asked);
    recent(ui, state, asked);
    ui.add_space(pt(space::S6));
    ui.separator();
    ui.add_space(pt(space::S2));
    for sentence in caution::FULL {
        ui.add(egui::Label::new(RichText::new(sentence).color(colour(theme.weak_text))).wrap());
    }
    ui.add_space(pt(space::S6));
}

fn leftovers(ui: &mut Ui, state: &State, theme: &Theme, asked: &mut Asked) {
    if state.leftovers.is_empty() {
        return;
    }
    ui.add_space(pt(space::S6));
    let frame = Frame::new().fill(colour(theme.panel)).inner_margin(Margin::same(12)).corner_radius(4);
    frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.label(RichText::new("Unsaved changes were found").strong());
        for (index, leftover) in state.leftovers.iter().enumerate() {
            ui.horizontal(|ui| {
                ui.label(leftover_name(leftover, state.found));
                ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                    labelled_button(
                        ui,
                        state,
                        Command::File(FileCommand::DiscardRecovery(index)),
                        "Discard",
                        asked,
                    );
                    labelled_button(ui, state, Command::File(FileCommand::Recover(index)), "Restore", asked);
                });
            });
        }
    });
}

fn recent(ui: &mut Ui, state: &State, asked: &mut Asked) {
    if state.recent.is_empty() {
        return;
    }
    ui.add_space(pt(space::S6));
    ui.label(RichText::new("Recent cases").strong());
    ui.add_space(pt(space::S1));
    for file in state.recent.iter().take(RECENT) {
        let name = file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let folder = file.parent().map(|folder| folder.display().to_string()).unwrap_or_default();
        ui.horizontal(|ui| {
            let response = ui.add(Button::new(format::shortened(&name, NAME)));
            response.widget_info(|| WidgetInfo::labeled(Part::Button, true, format!("Open {name}")));
            if response.clicked() {
                asked.push(Command::File(FileCommand::OpenPaths(vec![file.clone()])));
            }
            ui.add(egui::Label::new(RichText::new(folder).small().weak()).truncate());
        });
    }
}
