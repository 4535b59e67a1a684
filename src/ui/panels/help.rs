//! What the numbers mean, and the list of keys, made from the table of commands.

use egui::{Context, Id, Modal, RichText, ScrollArea, Ui, vec2};

use crate::app::command::Command;
use crate::app::command::entry::Group;
use crate::app::command::key::as_here;
use crate::app::command::window::WindowCommand;
use crate::app::session::state::State;
use crate::app::shots::shot_summary::ShortName;
use crate::scene::drawing::theme::{Theme, space};
use crate::scene::words::caution;
use crate::ui::look::{colour, pt};
use crate::ui::widgets::{Asked, command_button, dialog_frame, weak};

/// Width of one column of the list in points.
const COLUMN: f32 = 340.0;

/// Shows the list of keys.
pub fn help_ui(ctx: &Context, state: &State, asked: &mut Asked) {
    if !state.display.help {
        return;
    }
    let theme = Theme::of(state.display.mode);
    let room = ctx.content_rect().size() - vec2(96.0, 140.0);
    let columns = if room.x >= 3.0 * COLUMN {
        3
    } else if room.x >= 2.0 * COLUMN {
        2
    } else {
        1
    };
    let mut width = COLUMN;
    for _ in 1..columns {
        width += COLUMN;
    }
    let area = Modal::default_area(Id::unique("keys")).default_size(vec2(width, room.y));
    let modal =
        Modal::new(Id::unique("keys")).area(area).frame(dialog_frame(ctx)).backdrop_color(colour(theme.veil));
    let shown = modal.show(ctx, |ui| {
        ui.horizontal(|ui| {
            ui.label(RichText::new("Keyboard shortcuts").strong());
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                if ui.button("Close").clicked() {
                    asked.push(Command::Window(WindowCommand::Help));
                }
                command_button(ui, state, Command::Window(WindowCommand::About), asked);
            });
        });
        ui.separator();
        ScrollArea::vertical().max_height(room.y).show(ui, |ui| {
            numbers_ui(ui);
            let groups = split(columns);
            ui.horizontal_top(|ui| {
                for column in groups {
                    ui.vertical(|ui| {
                        ui.set_width(COLUMN - 16.0);
                        for group in column {
                            group_ui(ui, group, &theme);
                        }
                    });
                }
            });
            ui.separator();
            weak(ui, caution::SHORT);
        });
    });
    if shown.should_close() {
        asked.push(Command::Window(WindowCommand::Help));
    }
}

/// What the numbers of a reading mean, before the keys.
fn numbers_ui(ui: &mut Ui) {
    ui.label(RichText::new("What the numbers mean").strong());
    let said = [
        format!("Depth: {}.", ShortName::Depth.scale()),
        format!("Height: {}.", ShortName::Height.scale()),
        format!("Short of or past the midline: how far the tip lies from it in an AP, {}; short of it is on the entry side.", ShortName::Midline.scale()),
        "±: the 95 % interval, in percentage points.".to_owned(),
        "Target range: set for each stage in Case settings. A tip is called inside or outside where that is at least 95 % probable; otherwise it is too close to call.".to_owned(),
    ];
    for sentence in said {
        ui.add(egui::Label::new(RichText::new(sentence).small()).wrap());
    }
    ui.add_space(pt(space::S2));
}

/// The groups in columns of about the same length.
fn split(columns: usize) -> Vec<Vec<Group>> {
    match columns {
        3 => vec![
            vec![Group::File, Group::Shots, Group::Window],
            vec![Group::Marks, Group::Pages],
            vec![Group::Picture],
        ],
        2 => vec![
            vec![Group::File, Group::Shots, Group::Window],
            vec![Group::Marks, Group::Picture, Group::Pages],
        ],
        _ => vec![Group::ALL.to_vec()],
    }
}

fn group_ui(ui: &mut Ui, group: Group, theme: &Theme) {
    ui.label(RichText::new(group.title()).strong());
    let mut lines: Vec<(String, String)> = Vec::new();
    for command in Command::listed() {
        let Some(entry) = command.entry().filter(|entry| entry.group == group) else { continue };
        let keys: Vec<String> = entry.keys.iter().map(ToString::to_string).collect();
        lines.push((keys.join(", "), entry.label.to_owned()));
    }
    lines
        .extend(group.gestures().iter().map(|(keys, what)| (as_here(keys).into_owned(), (*what).to_owned())));
    for (keys, what) in lines {
        ui.horizontal_top(|ui| {
            ui.spacing_mut().item_spacing.x = pt(space::S3);
            ui.allocate_ui(vec2(116.0, 18.0), |ui| {
                ui.set_width(116.0);
                ui.add(egui::Label::new(RichText::new(keys).small().color(colour(theme.accent))).wrap());
            });
            ui.add(egui::Label::new(RichText::new(what).small()).wrap());
        });
    }
    ui.add_space(pt(space::S2));
}
