//! The strip above the picture while covers or the scale are worked on, or where words may be readable.

use egui::{Button, RichText, TextEdit, Ui};

use crate::app::annotation::redaction::proposed;
use crate::app::annotation::scale::offer;
use crate::app::command::Command;
use crate::app::command::annotations::AnnotationsCommand;
use crate::app::command::case::CaseCommand;
use crate::app::command::marks::MarksCommand;
use crate::app::session::mode::Tool;
use crate::app::session::state::State;
use crate::case::document::Shot;
use crate::case::document::edit::{Description, Edit};
use crate::case::image::offered_scale::Offer;
use crate::geom::point::Point;
use crate::measure::calibration::Calibration;
use crate::scene::format;
use crate::ui::panels::annotations::{LabelFields, labels_ui};
use crate::ui::widgets::{Asked, command_button, labelled_button, weak};

/// What is being typed into the strip.
#[derive(Debug, Default)]
pub struct AsideFields {
    length: String,
    length_sd: String,
    scale: String,
    scale_sd: String,
    magnification: String,
    magnification_sd: String,
    labels: LabelFields,
}

/// Whether there is anything to show.
#[must_use]
pub fn is_shown(state: &State) -> bool {
    let Some(document) = &state.document else { return false };
    document.tool() != Tool::Marks || !proposed(state).is_empty() || only_said(state)
}

/// Whether the file says that words are burned in, and nothing is covered yet.
fn only_said(state: &State) -> bool {
    let Some(document) = &state.document else { return false };
    let Some(shot) = document.shot() else { return false };
    let known = state.key_of(shot).and_then(|key| state.known.get(&key));
    known.is_some_and(|known| known.burned_in)
        && shot.covers.is_empty()
        && !document.refused.contains(&shot.id)
}

/// Shows the strip.
pub fn aside_ui(ui: &mut Ui, state: &State, fields: &mut AsideFields, asked: &mut Asked) {
    let Some(document) = &state.document else { return };
    let Some(shot) = document.shot() else { return };
    match document.tool() {
        Tool::Scale { ends } => scale_ui(ui, state, shot, ends, fields, asked),
        Tool::Redaction { .. } => covers_ui(ui, state, shot, true, asked),
        Tool::Annotations => labels_ui(ui, state, document, shot, &mut fields.labels, asked),
        Tool::Marks => covers_ui(ui, state, shot, false, asked),
    }
}

fn covers_ui(ui: &mut Ui, state: &State, shot: &Shot, drawing: bool, asked: &mut Asked) {
    let places = proposed(state).len();
    ui.horizontal_wrapped(|ui| {
        if places > 0 {
            let words =
                if places == 1 { "place outside the field looks" } else { "places outside the field look" };
            ui.label(format!("{places} {words} like words that were burned in."));
            command_button(ui, state, Command::Annotations(AnnotationsCommand::RedactSuggested), asked);
            command_button(ui, state, Command::Annotations(AnnotationsCommand::RefuseSuggested), asked);
        } else if only_said(state) {
            ui.label("The file says that words are burned into this picture. Look at it and cover them.");
        }
        if drawing {
            ui.label("Draw a box over words; drag a box to move it.");
            let count = format::count(shot.covers.len(), "cover", "covers");
            ui.label(RichText::new(count).weak());
            labelled_button(ui, state, Command::Marks(MarksCommand::Remove), "Remove cover", asked);
            labelled_button(ui, state, Command::Marks(MarksCommand::PutDown), "Done", asked);
        } else {
            command_button(ui, state, Command::Annotations(AnnotationsCommand::Redact), asked);
        }
    });
}

fn scale_ui(
    ui: &mut Ui,
    state: &State,
    shot: &Shot,
    ends: Option<[Point; 2]>,
    fields: &mut AsideFields,
    asked: &mut Asked,
) {
    ui.horizontal_wrapped(|ui| {
        match shot.mm_per_px {
            Some(scale) => {
                let words = format::scale_of(scale, shot.mm_per_px_sd, shot.scale_from);
                ui.label(format!("Now {words}."));
                if ui.button("No scale").on_hover_text("Read fractions only.").clicked() {
                    asked.push(describe(shot, None));
                }
            }
            None => {
                ui.label("No scale yet: fractions only.");
            }
        }
        labelled_button(ui, state, Command::Marks(MarksCommand::PutDown), "Done", asked);
    });
    known_ui(ui, ends, fields, asked);
    ui.horizontal_wrapped(|ui| {
        number(ui, "Scale in mm per px", &mut fields.scale, 64.0);
        number(ui, "Scale ± (one sd)", &mut fields.scale_sd, 56.0);
        let typed = parsed(&fields.scale);
        let sd = parsed(&fields.scale_sd);
        let ready = typed.is_some() && (sd.is_some() || fields.scale_sd.trim().is_empty());
        if ui.add_enabled(ready, Button::new("Take what is typed")).clicked()
            && let Some(scale) = typed
        {
            asked.push(describe(shot, Some(Calibration::typed(scale, sd))));
        }
    });
    file_ui(ui, state, fields, asked);
}

fn known_ui(ui: &mut Ui, ends: Option<[Point; 2]>, fields: &mut AsideFields, asked: &mut Asked) {
    ui.horizontal_wrapped(|ui| {
        let Some([a, b]) = ends else {
            ui.label("Draw a line across something whose width is known, such as the cannula.");
            return;
        };
        ui.label(format!("The line is {} long and stands for", format::px(a.distance(b))));
        number(ui, "Known length in mm", &mut fields.length, 56.0);
        number(ui, "Known length ± (one sd)", &mut fields.length_sd, 56.0);
        let mm = parsed(&fields.length);
        let sd = if fields.length_sd.trim().is_empty() { Some(0.0) } else { parsed(&fields.length_sd) };
        let ready = mm.is_some() && sd.is_some();
        if ui.add_enabled(ready, Button::new("Take the line")).clicked()
            && let (Some(mm), Some(sd_mm)) = (mm, sd)
        {
            asked.push(Command::Annotations(AnnotationsCommand::SetLength { mm, sd_mm }));
        }
    });
}

fn file_ui(ui: &mut Ui, state: &State, fields: &mut AsideFields, asked: &mut Asked) {
    let offer = offer(state);
    if offer == Offer::Nothing {
        return;
    }
    weak(ui, format::offered_scale(&offer));
    ui.horizontal_wrapped(|ui| {
        if offer.scale().is_some() {
            command_button(ui, state, Command::Annotations(AnnotationsCommand::UseFileScale), asked);
        }
        if matches!(offer, Offer::Detector { .. } | Offer::Magnified { .. }) {
            number(ui, "Magnification", &mut fields.magnification, 56.0);
            number(ui, "Magnification ± (one sd)", &mut fields.magnification_sd, 56.0);
            let magnification = parsed(&fields.magnification);
            let empty = fields.magnification_sd.trim().is_empty();
            let sd = if empty { Some(0.0) } else { parsed(&fields.magnification_sd) };
            let ready = magnification.is_some() && sd.is_some();
            if ui.add_enabled(ready, Button::new("Take this magnification")).clicked()
                && let (Some(magnification), Some(sd)) = (magnification, sd)
            {
                asked.push(Command::Annotations(AnnotationsCommand::UseDetectorScale { magnification, sd }));
            }
        }
    });
}

fn describe(shot: &Shot, scale: Option<Calibration>) -> Command {
    Command::Case(CaseCommand::Edit(Edit::Describe {
        shot: shot.id.clone(),
        what: Description::Scale(scale),
    }))
}

fn number(ui: &mut Ui, name: &str, text: &mut String, width: f32) {
    let label = ui.label(RichText::new(name).small().weak());
    ui.add(TextEdit::singleline(text).desired_width(width)).labelled_by(label.id);
}

/// A positive number as people type it, or zero.
fn parsed(text: &str) -> Option<f64> {
    text.trim().replace(',', ".").parse::<f64>().ok().filter(|n| n.is_finite() && *n >= 0.0)
}
