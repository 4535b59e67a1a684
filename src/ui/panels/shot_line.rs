//! What the shown shot is: level, side, view, stage, scale and name, to be set above the picture.

use std::collections::BTreeMap;

use egui::accesskit::Role as Part;
use egui::{ComboBox, RichText, Ui, WidgetInfo};

use crate::app::command::Command;
use crate::app::command::annotations::AnnotationsCommand;
use crate::app::command::case::CaseCommand;
use crate::app::session::state::State;
use crate::app::session::typed_fields::TypedField;
use crate::case::document::edit::{Description, Edit};
use crate::case::document::{Case, Shot};
use crate::measure::mark::{Level, PatientRight, Side, Stage, View};
use crate::scene::format;
use crate::ui::widgets::{Asked, Checked, command_button, said_below};

/// What is being typed into the fields of the shot.
///
/// Each shot has fields of its own, so that what could not be meant still stands there when one comes back to it.
#[derive(Debug, Default)]
pub struct Fields(BTreeMap<(String, TypedField), Checked>);

/// What the choice of the patient's right is called.
const PATIENT_RIGHT: &str = "Patient's right";

/// Shows level, side, view and stage of the shown shot, and in an AP where the patient's right is.
pub fn shot_line_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let Some(document) = &state.editor.document else { return };
    let Some(shot) = document.shot() else { return };
    level(ui, shot, asked);
    choice(ui, "Side", shot.side, &Side::ALL, format::side, "Side…", asked, |side| {
        (shot, Description::Side(side))
    });
    view(ui, shot, asked);
    choice(ui, "Stage", shot.stage, &Stage::ALL, format::stage, "Stage…", asked, |stage| {
        (shot, Description::Stage(stage))
    });
    if shot.shows(View::Ap) {
        choice(
            ui,
            PATIENT_RIGHT,
            shot.patient_right,
            &PatientRight::ALL,
            side_of_picture,
            "Patient’s right…",
            asked,
            |right| (shot, Description::PatientRight(right)),
        );
    }
}

/// Shows the shot's name and scale, to be typed.
pub fn shot_fields_ui(ui: &mut Ui, state: &State, fields: &mut Fields, asked: &mut Asked) {
    let Some(document) = &state.editor.document else { return };
    let (case, Some(shot)) = (document.case(), document.shot()) else { return };
    ui.horizontal(|ui| {
        let room = ui.available_width() - 60.0;
        typed(ui, case, shot, TypedField::ShotName, ("", room), fields, asked);
    });
    ui.horizontal(|ui| {
        typed(ui, case, shot, TypedField::ShotScale, ("typical", 72.0), fields, asked);
        if let Some(scale) = shot.mm_per_px {
            let interval = format::scale_interval(scale, shot.mm_per_px_sd);
            ui.label(RichText::new(interval.trim()).small());
        }
        command_button(ui, state, Command::Annotations(AnnotationsCommand::Scale), asked);
    });
}

const fn side_of_picture(right: PatientRight) -> &'static str {
    match right {
        PatientRight::ImageLeft => "right is on image left",
        PatientRight::ImageRight => "right is on image right",
    }
}

fn describe(shot: &Shot, what: Description, asked: &mut Asked) {
    asked.push(Command::Case(CaseCommand::Edit(Edit::Describe { shot: shot.id.clone(), what })));
}

fn level(ui: &mut Ui, shot: &Shot, asked: &mut Asked) {
    let levels = [Level::L1, Level::L2, Level::L3, Level::L4, Level::L5, Level::S1];
    let other = (1..=12).rev().filter_map(|n| Level::from_name(&format!("T{n}")));
    let shown = shot.level.map_or_else(|| "Level…".to_owned(), Level::name);
    let response =
        ComboBox::from_id_salt("level").selected_text(shown).width(56.0).height(420.0).show_ui(ui, |ui| {
            for level in levels.into_iter().chain(other) {
                if ui.selectable_label(shot.level == Some(level), level.name()).clicked() {
                    describe(shot, Description::Level(Some(level)), asked);
                }
            }
            if ui.selectable_label(shot.level.is_none(), "not set").clicked() {
                describe(shot, Description::Level(None), asked);
            }
        });
    named(&response.response, "Level", &shot.level.map(Level::name).unwrap_or_default());
}

fn named(response: &egui::Response, name: &str, value: &str) {
    let label = if value.is_empty() { format!("{name}: not set") } else { format!("{name}: {value}") };
    response.widget_info(|| WidgetInfo::labeled(Part::ComboBox, true, label.clone()));
}

#[expect(clippy::too_many_arguments, reason = "one line of a form, and each is a thing of its own")]
fn choice<'a, T: Copy + PartialEq>(
    ui: &mut Ui,
    name: &str,
    now: Option<T>,
    all: &[T],
    words: impl Fn(T) -> &'static str,
    unset: &'static str,
    asked: &mut Asked,
    edit: impl Fn(Option<T>) -> (&'a Shot, Description),
) {
    let shown = now.map_or(unset, &words);
    // Where the patient's right is takes a few words, which must not be cut.
    let width = if name == PATIENT_RIGHT { 168.0 } else { 64.0 };
    let combo = ComboBox::from_id_salt(name).selected_text(shown).width(width);
    let response = combo.show_ui(ui, |ui| {
        for one in all {
            if ui.selectable_label(now == Some(*one), words(*one)).clicked() {
                let (shot, what) = edit(Some(*one));
                describe(shot, what, asked);
            }
        }
        if ui.selectable_label(now.is_none(), "not set").clicked() {
            let (shot, what) = edit(None);
            describe(shot, what, asked);
        }
    });
    named(&response.response, name, now.map_or("", &words));
}

/// The view. It cannot be taken back: once somebody has said what is seen, marks follow.
fn view(ui: &mut Ui, shot: &Shot, asked: &mut Asked) {
    let shown = shot.known_view().map_or("View…", format::view);
    let response = ComboBox::from_id_salt("view").selected_text(shown).width(72.0).show_ui(ui, |ui| {
        for view in View::ALL {
            if ui.selectable_label(shot.shows(view), format::view(view)).clicked() {
                describe(shot, Description::View(view), asked);
            }
        }
    });
    named(&response.response, "View", shot.known_view().map_or("", format::view));
}

fn typed(
    ui: &mut Ui,
    case: &Case,
    shot: &Shot,
    field: TypedField,
    (hint, width): (&str, f32),
    fields: &mut Fields,
    asked: &mut Asked,
) {
    let checked = fields.0.entry((shot.id.clone(), field)).or_default();
    let name = field.label();
    ui.label(RichText::new(&name).small().weak());
    let now = field.shown(case, Some(shot));
    let (response, edit) =
        checked.field(ui, (&name, hint), &now, width, |text| field.change(case, Some(shot), text));
    asked.extend(edit.map(|edit| Command::Case(CaseCommand::Edit(edit))));
    if let Some(fault) = checked.fault() {
        said_below(ui, &response, fault);
    }
    response.on_hover_text(field.tip());
}
