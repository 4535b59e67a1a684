//! The sort line: everything that one key can say of the chosen shots, as buttons with their keys.

use egui::accesskit::Role as Part;
use egui::{Button, RichText, Ui, WidgetInfo};

use crate::app::annotation::last_scale;
use crate::app::command::Command;
use crate::app::command::annotations::AnnotationsCommand;
use crate::app::command::shots::ShotsCommand;
use crate::app::marking::guide;
use crate::app::marking::proposal::change::can_click_walls;
use crate::app::marking::proposal::words;
use crate::app::session::document::Document;
use crate::app::session::state::State;
use crate::app::shots::label_shots::{LabelKey, VIEW_GROUP, sayings};
use crate::case::document::Shot;
use crate::case::document::edit::Description;
use crate::measure::mark::{Stage, View};
use crate::scene::drawing::theme::Theme;
use crate::scene::format;
use crate::ui::look::colour;
use crate::ui::widgets::{Asked, keyed_button};

/// Room that the hint and the buttons behind it need, in points.
const HINT: f32 = 470.0;

/// Less room than this, in points, is a column.
const NARROW: f32 = 400.0;

/// Height of the line in points.
pub const HEIGHT: f32 = 122.0;

/// Shows the sort line.
pub fn sort_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let Some(document) = &state.editor.document else { return };
    let chosen = document.chosen();
    let room = ui.max_rect();
    let mut ui = ui.new_child(egui::UiBuilder::new().max_rect(room));
    ui.set_clip_rect(room.intersect(ui.clip_rect()));
    egui::ScrollArea::vertical().auto_shrink(false).show(&mut ui, |ui| {
        ui.spacing_mut().item_spacing.y = 2.0;
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().interact_size.y = 24.0;
            let of = match chosen.as_slice() {
                [shot] => format!("Label “{}”", shot.id),
                many => {
                    format!("Label {}", format::count(many.len(), "selected shot", "selected shots"))
                }
            };
            ui.label(RichText::new(of).strong());
            if ui.available_width() > HINT {
                ui.label(RichText::new(hint(document)).small().weak());
            }
            keyed_button(ui, state, Command::Shots(ShotsCommand::SelectAll), asked);
            if last_scale::offered(&state.editor).is_some() {
                keyed_button(ui, state, Command::Annotations(AnnotationsCommand::UseLastScale), asked);
            }
            done(ui, state, asked);
        });
        groups_ui(ui, state, asked);
    });
}

/// Everything that one key can say of the selected shots: the view first and large.
pub fn groups_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let Some(document) = &state.editor.document else { return };
    let theme = Theme::of(state.display.mode);
    let chosen = document.chosen();
    let said = |shot: &Shot, what: &ShotsCommand| match what {
        ShotsCommand::Final(view) => shot.shows(*view) && shot.stage == Some(Stage::Final),
        ShotsCommand::Describe(what) => is_said(shot, what),
        _ => false,
    };
    let mut group_ui = |ui: &mut Ui, group: &str, all: Vec<LabelKey>| {
        for saying in all {
            let on = chosen.iter().all(|shot| said(shot, &saying.what));
            button(ui, group, saying, on, &theme, asked);
        }
    };
    let (first, rest): (Vec<_>, Vec<_>) = sayings().into_iter().partition(|(group, _)| *group == VIEW_GROUP);
    // Which marks are asked for hangs on the view, so it is asked first, and large. It stays there once it is set: nothing
    // moves under the pointer.
    for (group, all) in first {
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().button_padding = egui::vec2(14.0, 5.0);
            ui.label(RichText::new("Which view is this?").strong());
            group_ui(ui, group, all);
        });
    }
    ui.spacing_mut().item_spacing = egui::vec2(3.0, 3.0);
    ui.spacing_mut().interact_size.y = 22.0;
    ui.spacing_mut().button_padding = egui::vec2(6.0, 2.0);
    // In a narrow column each group has lines of its own.
    if ui.available_width() < NARROW {
        for (group, all) in rest {
            ui.label(RichText::new(group).small().weak());
            ui.horizontal_wrapped(|ui| group_ui(ui, group, all));
        }
        return;
    }
    ui.horizontal_wrapped(|ui| {
        for (group, all) in rest {
            ui.label(RichText::new(group).small().weak());
            group_ui(ui, group, all);
            ui.add_space(8.0);
        }
    });
}

/// What a click on the image does, once it is known which marks it has.
fn hint(document: &Document) -> String {
    let first = document.shot().filter(|shot| shot.marks.is_empty() && !document.asks_for_view());
    match first {
        Some(shot) if can_click_walls(document) && shot.view == View::Lateral => {
            format!("To mark it, click {}.", words::wall(false))
        }
        Some(shot) => format!("To mark it, click {}.", guide::steps(shot.view)[0].named(shot.view)),
        None => "Arrow keys: next shot; with Shift, extend the selection.".to_owned(),
    }
}

fn done(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let key = RichText::new("Esc").small().color(colour(Theme::of(state.display.mode).weak_text));
    let response = ui.add(Button::new("Done").left_text(key));
    response.widget_info(|| WidgetInfo::labeled(Part::Button, true, "Done"));
    if response.on_hover_text("Finish labeling and return to the marks.").clicked() {
        asked.push(Command::Shots(ShotsCommand::Label));
    }
}

fn button(ui: &mut Ui, group: &str, saying: LabelKey, said: bool, theme: &Theme, asked: &mut Asked) {
    let key = RichText::new(saying.key.to_string()).small().color(colour(theme.weak_text));
    let response = ui.add(Button::new(&saying.word).left_text(key).selected(said));
    let label = format!("{group} {}", saying.word);
    response.widget_info(|| WidgetInfo::selected(Part::RadioButton, true, said, label.clone()));
    let response = match means(&saying.what) {
        Some(words) => response.on_hover_text(words),
        None => response,
    };
    if response.clicked() {
        asked.push(Command::Shots(saying.what));
    }
}

/// What a stage means, for those who have not met its word.
const fn means(what: &ShotsCommand) -> Option<&'static str> {
    match what {
        ShotsCommand::Final(_) => Some(
            "View and stage with one key: the last shot of this view with the probe in place, after the stylet is out.",
        ),
        ShotsCommand::Describe(Description::Stage(Some(stage))) => Some(match stage {
            Stage::Docking => "The needle is on bone at the pedicle entry.",
            Stage::Pedicle => "The tip is inside the pedicle.",
            Stage::PosteriorWall => "The tip is at the posterior wall of the body.",
            Stage::Stylet => "The curved stylet is in the body; the probe is not in yet.",
            Stage::Final => {
                "The last shot of the view with the probe in place: no stylet, no needle being moved."
            }
        }),
        _ => None,
    }
}

/// Whether a shot is already said to be this.
fn is_said(shot: &Shot, what: &Description) -> bool {
    match what {
        Description::Level(level) => shot.level == *level,
        Description::Side(side) => shot.side == *side,
        Description::View(view) => shot.shows(*view),
        Description::Stage(stage) => shot.stage == *stage,
        _ => false,
    }
}
