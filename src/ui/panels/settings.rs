//! The settings of the case: who and when, the patient's right, and the values that readings are judged with.

use std::collections::BTreeMap;

use egui::{Button, Context, Grid, RichText, ScrollArea, Ui, vec2};

use crate::app::command::Command;
use crate::app::command::case::CaseCommand;
use crate::app::command::window::WindowCommand;
use crate::app::session::state::State;
use crate::app::session::typed_fields::{TypedField, defaults};
use crate::case::document::Case;
use crate::case::document::edit::Edit;
use crate::measure::mark::{PatientRight, Side, Stage};
use crate::measure::settings::{Rule, Settings};
use crate::measure::true_view::known::{ApTube, Tube};
use crate::scene::drawing::theme::{Theme, space};
use crate::scene::format;
use crate::scene::words::caution;
use crate::ui::look::pt;
use crate::ui::widgets::{Asked, Checked, heading, sheet, weak};

/// Width of the panel in points.
const WIDTH: f32 = 560.0;

/// What is being typed into the fields.
#[derive(Debug, Default)]
pub struct SettingsFields(BTreeMap<TypedField, Checked>);

/// Shows the settings of the case while they are wanted.
pub fn settings_ui(ctx: &Context, state: &State, fields: &mut SettingsFields, asked: &mut Asked) {
    let Some(document) = state.editor.document.as_ref().filter(|_| state.display.settings) else { return };
    let theme = Theme::of(state.display.mode);
    let case = document.case();
    let room = ctx.content_rect().size();
    let close = Command::Window(WindowCommand::CaseSettings);
    let size = vec2(WIDTH, room.y - 60.0);
    sheet(ctx, &theme, ("settings", "Case settings"), size, close, asked, |ui, asked| {
        ui.set_width(WIDTH.min(room.x - 64.0));
        ScrollArea::vertical().max_height(room.y - 180.0).show(ui, |ui| {
            this_case(ui, case, fields, asked);
            patients_right(ui, case, asked);
            tube_side(ui, case, asked);
            reference_values(ui, case, fields, asked);
            targets(ui, case, fields, asked);
        });
        ui.separator();
        ui.horizontal(|ui| {
            let changed = case.settings != Settings::default();
            let reset = ui.add_enabled(changed, Button::new("Reset to defaults")).on_hover_text(
                "Reset values and targets to the defaults of the method; Undo restores yours.",
            );
            if reset.clicked() {
                asked.push(Command::Case(CaseCommand::Edit(defaults())));
            }
            weak(ui, caution::SHORT);
        });
    });
}

fn row(
    ui: &mut Ui,
    field: TypedField,
    width: f32,
    case: &Case,
    fields: &mut SettingsFields,
    asked: &mut Asked,
) {
    let label = field.label();
    ui.label(&label);
    ui.vertical(|ui| value(ui, field, &label, width, case, fields, asked));
    ui.end_row();
}

/// The field by itself, with its sentence below where what stands in it cannot be meant.
fn value(
    ui: &mut Ui,
    field: TypedField,
    label: &str,
    width: f32,
    case: &Case,
    fields: &mut SettingsFields,
    asked: &mut Asked,
) {
    let checked = fields.0.entry(field).or_default();
    let now = field.shown(case, None);
    let (response, edit) = checked.field(ui, (label, ""), &now, width, |text| field.change(case, None, text));
    response.on_hover_text(field.tip());
    asked.extend(edit.map(|edit| Command::Case(CaseCommand::Edit(edit))));
    if let Some(fault) = checked.fault() {
        ui.set_max_width(width.max(300.0));
        weak(ui, fault);
    }
}

fn grid(name: &str) -> Grid {
    Grid::new(name).num_columns(2).min_col_width(200.0).spacing([12.0, 6.0])
}

fn this_case(ui: &mut Ui, case: &Case, fields: &mut SettingsFields, asked: &mut Asked) {
    grid("this case").show(ui, |ui| {
        for (field, width) in
            [(TypedField::Title, 320.0), (TypedField::Operator, 120.0), (TypedField::Date, 120.0)]
        {
            row(ui, field, width, case, fields, asked);
        }
    });
}

fn patients_right(ui: &mut Ui, case: &Case, asked: &mut Asked) {
    heading(ui, "Patient’s right in the AP images, when no pedicle is marked");
    ui.horizontal(|ui| {
        let choices = [
            (None, "not set"),
            (Some(PatientRight::ImageLeft), "on image left"),
            (Some(PatientRight::ImageRight), "on image right"),
        ];
        for (right, words) in choices {
            if ui.radio(case.patient_right == right, words).clicked() && case.patient_right != right {
                asked.push(Command::Case(CaseCommand::Edit(Edit::SetPatientRight(right))));
            }
        }
    });
}

fn tube_side(ui: &mut Ui, case: &Case, asked: &mut Asked) {
    heading(ui, "The X-ray tube: what is nearer to it appears larger");
    let tube = case.tube;
    let mut set = |new: Tube| asked.push(Command::Case(CaseCommand::Edit(Edit::SetTube(new))));
    ui.horizontal(|ui| {
        ui.label("Lateral images:");
        let choices = [
            (None, "not known"),
            (Some(Side::Left), "patient’s left"),
            (Some(Side::Right), "patient’s right"),
        ];
        for (lateral, words) in choices {
            if ui.radio(tube.lateral == lateral, words).clicked() && tube.lateral != lateral {
                set(Tube { lateral, ..tube });
            }
        }
    });
    ui.horizontal(|ui| {
        ui.label("AP images:");
        let choices =
            [(None, "not known"), (Some(ApTube::Front), "anterior"), (Some(ApTube::Behind), "posterior")];
        for (ap, words) in choices {
            if ui.radio(tube.ap == ap, words).clicked() && tube.ap != ap {
                set(Tube { ap, ..tube });
            }
        }
    });
}

fn reference_values(ui: &mut Ui, case: &Case, fields: &mut SettingsFields, asked: &mut Asked) {
    heading(ui, "Marking error (1 SD) and undetected rotation");
    grid("reference values").show(ui, |ui| {
        for field in [
            TypedField::BoneSd,
            TypedField::MetalSd,
            TypedField::ViewHalfWidth,
            TypedField::ChangeThatMatters,
        ] {
            row(ui, field, 80.0, case, fields, asked);
        }
    });
}

fn targets(ui: &mut Ui, case: &Case, fields: &mut SettingsFields, asked: &mut Asked) {
    heading(ui, "Targets in percent, such as 30–50; leave empty for no target");
    Grid::new("targets").num_columns(4).min_col_width(112.0).spacing([12.0, 6.0]).show(ui, |ui| {
        ui.label("");
        for words in ["Depth", "Height", "Offset from the midline"] {
            ui.label(RichText::new(words).small().weak());
        }
        ui.end_row();
        for stage in Stage::ALL {
            ui.label(crate::app::marking::guide::capital(format::stage(stage)));
            for rule in Rule::ALL {
                let field = TypedField::Band(stage, rule);
                ui.vertical(|ui| value(ui, field, &field.label(), 96.0, case, fields, asked));
            }
            ui.end_row();
        }
    });
    ui.add_space(pt(space::S1));
    weak(
        ui,
        "Docking is judged in the en face pedicle view: the superolateral quadrant, on or inside the outline.",
    );
}
