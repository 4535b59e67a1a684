//! The line of commands at the top.

use egui::{Align, AtomExt as _, Layout, RichText, Ui, vec2};

use crate::app::annotation::label;
use crate::app::annotation::straighten::StraightenCommand;
use crate::app::command::Command;
use crate::app::command::annotations::AnnotationsCommand;
use crate::app::command::case::CaseCommand;
use crate::app::command::file::FileCommand;
use crate::app::command::view::ViewCommand;
use crate::app::command::window::WindowCommand;
use crate::app::display::preferences::SidePanel;
use crate::app::pages::Page;
use crate::app::pages::PageCommand;
use crate::app::session::route::refusal;
use crate::app::session::state::State;
use crate::scene::format;
use crate::scene::overlay::Layer;
use crate::scene::window_level::look::Base;
use crate::ui::canvas_floats::zoom_ui;
use crate::ui::icons::icon;
use crate::ui::panels::shot_line::shot_line_ui;
use crate::ui::widgets::{Asked, command_button, heading, sign_button, weak};

/// Width of a menu in points.
const MENU: f32 = 248.0;

/// Windows at least this wide, in points, have commands and the shot's properties in one line.
const ONE_LINE: f64 = 1200.0;
/// Height of a line in points.
const LINE: f32 = 40.0;

/// Height of the commands above the image in points; it depends on the window's width only.
#[must_use]
pub fn height(width: f64) -> f32 {
    if is_one_line(width) { LINE } else { 2.0 * LINE - 4.0 }
}

/// Whether a window of this width in points has commands and the shot's properties in one line.
#[must_use]
pub fn is_one_line(width: f64) -> bool {
    width >= ONE_LINE
}

/// Shows the line of commands, with what the shown shot is.
pub fn toolbar_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let one_line = is_one_line(state.display.width);
    ui.horizontal(|ui| {
        case_menu(ui, state, asked);
        command_button(ui, state, Command::File(FileCommand::Save), asked);
        sign_button(ui, state, Command::Case(CaseCommand::Undo), "↶", asked);
        sign_button(ui, state, Command::Case(CaseCommand::Redo), "↷", asked);
        ui.separator();
        if one_line {
            shot_line_ui(ui, state, asked);
        }
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            sign_button(ui, state, Command::Window(WindowCommand::Help), "?", asked);
            window_menu(ui, state, asked);
            pages_menu(ui, state, asked);
            drawn_menu(ui, state, asked);
            picture_menu(ui, state, asked);
            if ui.available_width() > 60.0
                && let Some(saved) = saved(state)
            {
                ui.add(egui::Label::new(RichText::new(saved).small().weak()).truncate());
            }
        });
    });
    if !one_line {
        ui.horizontal(|ui| {
            shot_line_ui(ui, state, asked);
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| zoom_ui(ui, state, asked));
        });
    }
}

/// Shows the line of commands while a page is shown in place of the picture.
pub fn page_bar_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    ui.horizontal(|ui| {
        command_button(ui, state, Command::Page(PageCommand::Go(Page::Picture)), asked);
        ui.separator();
        if let Some(entry) = Command::Page(PageCommand::Go(state.pages.shown)).entry() {
            ui.label(RichText::new(entry.label).strong());
        }
        ui.separator();
        for command in [Command::Case(CaseCommand::Undo), Command::Case(CaseCommand::Redo)] {
            command_button(ui, state, command, asked);
        }
        pages_menu(ui, state, asked);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            sign_button(ui, state, Command::Window(WindowCommand::Help), "?", asked);
            window_menu(ui, state, asked);
            if let Some(line) = state.under_way.line() {
                ui.label(RichText::new(line).small().weak());
            }
        });
    });
}

/// The pages beside the picture.
fn pages_menu(ui: &mut Ui, state: &State, asked: &mut Asked) {
    ui.menu_button("Pages", |ui| {
        ui.set_width(MENU);
        for page in Page::OTHERS {
            item(ui, state, Command::Page(PageCommand::Go(page)), asked);
        }
    });
}

/// Where and when the case was saved, as long as nothing is changed.
fn saved(state: &State) -> Option<&str> {
    let unsaved = state.editor.document.as_ref().is_none_or(|document| document.unsaved());
    state.saved.as_deref().filter(|_| !unsaved)
}

/// A command's line in a menu.
pub(crate) fn item(ui: &mut Ui, state: &State, command: Command, asked: &mut Asked) {
    let Some(entry) = command.entry() else { return };
    let key = command.key_text().unwrap_or_default();
    let sign = RichText::new(icon(&command).unwrap_or_default()).size(12.0).atom_size(vec2(16.0, 14.0));
    let button = egui::Button::new((sign, entry.label)).shortcut_text(RichText::new(key).small().weak());
    let available = refusal(state, &command).is_none();
    let response = ui.add_enabled(available, button).on_hover_text(entry.tip);
    response.widget_info(|| egui::WidgetInfo::labeled(egui::accesskit::Role::Button, available, entry.label));
    if response.clicked() {
        asked.push(command);
        ui.close();
    }
}

/// A line of a menu that is on or off, with its key.
fn switch(ui: &mut Ui, command: Command, mut on: bool, asked: &mut Asked) {
    let Some(entry) = command.entry() else { return };
    ui.horizontal(|ui| {
        let changed = ui.checkbox(&mut on, entry.label).on_hover_text(entry.tip).changed();
        if let Some(key) = command.key_text() {
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                ui.label(RichText::new(key).small().weak());
            });
        }
        if changed {
            asked.push(command);
        }
    });
}

fn case_menu(ui: &mut Ui, state: &State, asked: &mut Asked) {
    ui.menu_button("Case", |ui| {
        ui.set_width(MENU);
        for command in [
            Command::File(FileCommand::Open),
            Command::File(FileCommand::OpenFolder),
            Command::File(FileCommand::OpenDemonstration),
        ] {
            item(ui, state, command, asked);
        }
        ui.separator();
        for command in [
            Command::File(FileCommand::AddImages),
            Command::File(FileCommand::Save),
            Command::File(FileCommand::SaveAs),
        ] {
            item(ui, state, command, asked);
        }
        ui.separator();
        item(ui, state, Command::File(FileCommand::Export), asked);
        item(ui, state, Command::File(FileCommand::SaveAsDicom), asked);
        item(ui, state, Command::File(FileCommand::ExportKeypoints), asked);
        item(ui, state, Command::File(FileCommand::ImportKeypoints), asked);
        ui.separator();
        for command in [
            Command::Window(WindowCommand::CaseSettings),
            Command::File(FileCommand::Close),
            Command::File(FileCommand::Quit),
        ] {
            item(ui, state, command, asked);
        }
    });
}

/// The part of the image's menu that is about window and level.
fn greys_part(ui: &mut Ui, state: &State, asked: &mut Asked) {
    heading(ui, "Window/level");
    item(ui, state, Command::View(ViewCommand::AutomaticWindow), asked);
    presets(ui, state);
    for command in [
        Command::View(ViewCommand::NextPreset),
        Command::View(ViewCommand::Invert),
        Command::View(ViewCommand::LocalContrast),
    ] {
        item(ui, state, command, asked);
    }
    let command = Command::Window(WindowCommand::LocalContrastByDefault);
    switch(ui, command, state.display.local_contrast, asked);
    weak(ui, "Drag with the right button: up and down changes the level, left and right the width.");
}

/// Which display the file's own are, and which is shown.
fn presets(ui: &mut Ui, state: &State) {
    let (Some(document), Some(picture)) = (&state.editor.document, state.editor.shown_frame()) else {
        return;
    };
    let shown = match document.aspect().look.base {
        Base::Preset(index) => Some(index),
        Base::Automatic | Base::Window(_) => None,
    };
    let presets = &picture.frame.facts.presets;
    let now = shown.and_then(|index| presets.get(index)).map_or("automatic or manual", |p| p.name.as_str());
    if !presets.is_empty() {
        let words =
            format!("The file has {}; shown: {now}", format::count(presets.len(), "preset", "presets"));
        ui.label(RichText::new(words).small().weak());
    }
}

fn picture_menu(ui: &mut Ui, state: &State, asked: &mut Asked) {
    ui.menu_button("Image", |ui| {
        ui.set_width(MENU);
        greys_part(ui, state, asked);
        ui.separator();
        for command in [
            Command::View(ViewCommand::Fit),
            Command::View(ViewCommand::ZoomToBody),
            Command::View(ViewCommand::OneToOne),
        ] {
            item(ui, state, command, asked);
        }
        ui.separator();
        for command in [
            Command::View(ViewCommand::RotateRight),
            Command::View(ViewCommand::RotateLeft),
            Command::View(ViewCommand::RotateRightFine),
            Command::View(ViewCommand::RotateLeftFine),
            Command::View(ViewCommand::Flip),
            Command::View(ViewCommand::ResetOrientation),
        ] {
            item(ui, state, command, asked);
        }
        ui.separator();
        for command in [
            Command::Annotations(AnnotationsCommand::Redact),
            Command::Annotations(AnnotationsCommand::RedactSuggested),
            Command::Annotations(AnnotationsCommand::RefuseSuggested),
        ] {
            item(ui, state, command, asked);
        }
        ui.separator();
        item(
            ui,
            state,
            Command::Annotations(AnnotationsCommand::Straighten(StraightenCommand::Begin)),
            asked,
        );
        ui.separator();
        item(ui, state, Command::Annotations(AnnotationsCommand::Label(label::LabelCommand::Begin)), asked);
        ui.separator();
        for command in [
            Command::Annotations(AnnotationsCommand::Scale),
            Command::Annotations(AnnotationsCommand::UseFileScale),
        ] {
            item(ui, state, command, asked);
        }
        let on = state.editor.document.as_ref().is_some_and(|document| document.mm);
        switch(ui, Command::Annotations(AnnotationsCommand::Millimeters), on, asked);
    });
}

fn drawn_menu(ui: &mut Ui, state: &State, asked: &mut Asked) {
    ui.menu_button("Overlays", |ui| {
        ui.set_width(MENU);
        // Only what the shown view can have; all of them where nothing is shown.
        let view = state.editor.document.as_ref().and_then(|document| document.shot()).map(|shot| shot.view);
        for layer in Layer::ALL.into_iter().filter(|layer| view.is_none_or(|view| layer.belongs_to(view))) {
            let command = Command::Window(WindowCommand::Toggle(layer));
            switch(ui, command, state.display.layers.has(layer), asked);
        }
        ui.separator();
        ui.label(RichText::new("Hold Space to hide all overlays.").small().weak());
    });
}

fn window_menu(ui: &mut Ui, state: &State, asked: &mut Asked) {
    ui.menu_button("Appearance", |ui| {
        ui.set_width(MENU);
        for column in [SidePanel::Ladder, SidePanel::Reading, SidePanel::Rows] {
            let command = Command::Window(WindowCommand::Fold(column));
            let Some(entry) = command.entry() else { continue };
            let mut there = state.display.has(column);
            let label = format!("Show the {}", entry.label.to_lowercase());
            if ui.checkbox(&mut there, label).on_hover_text(entry.tip).changed() {
                asked.push(command);
            }
        }
        ui.separator();
        for command in [
            Command::Window(WindowCommand::SwitchMode),
            Command::Window(WindowCommand::LargerText),
            Command::Window(WindowCommand::SmallerText),
            Command::Window(WindowCommand::NormalText),
            Command::Window(WindowCommand::ShowBudget),
        ] {
            item(ui, state, command, asked);
        }
        ui.separator();
        switch(ui, Command::Window(WindowCommand::ProposeMarks), state.display.proposes, asked);
        ui.separator();
        item(ui, state, Command::Window(WindowCommand::MoreMemory), asked);
        let words = format!("Current: {} MiB", state.display.memory_mib);
        ui.label(RichText::new(words).small().weak());
    });
}
