//! The strip above the picture while labels are worked on: kinds, what the next click does, the list, the chosen one.

use egui::accesskit::Role as Part;
use egui::{Button, ComboBox, RichText, ScrollArea, TextEdit, Ui, WidgetInfo};

use crate::app::annotation::label::{LabelCommand, entry};
use crate::app::command::Command;
use crate::app::command::annotations::AnnotationsCommand;
use crate::app::command::marks::MarksCommand;
use crate::app::session::document::Document;
use crate::app::session::state::State;
use crate::case::annotation::list::PointedLine;
use crate::case::annotation::{Corner, LabelKind, LabelShape as What, MAX_TEXT};
use crate::case::document::Shot;
use crate::ui::widgets::{Asked, command_button, labelled_button, weak};

/// How many times larger an inset can be made, as offered.
const TIMES: [(f64, &str); 5] =
    [(1.5, "1.5 times"), (2.0, "2 times"), (2.5, "2.5 times"), (4.0, "4 times"), (8.0, "8 times")];

/// Height of the list with its bar.
const LIST_HEIGHT: f32 = 34.0;
/// Width of the field of words.
const FIELD: f32 = 160.0;

/// What is being typed into the strip.
#[derive(Debug, Default)]
pub(super) struct LabelFields {
    /// The shot and the label whose words are typed, and the words.
    words: Option<(String, usize, String)>,
    /// How many labels had been made when the field was last looked at.
    made: u32,
    /// The label that the list was brought to last.
    shown: Option<usize>,
}

/// Shows the strip.
pub(super) fn labels_ui(
    ui: &mut Ui,
    state: &State,
    document: &Document,
    shot: &Shot,
    fields: &mut LabelFields,
    asked: &mut Asked,
) {
    let labelling = &document.labelling;
    ui.horizontal_wrapped(|ui| {
        for (kind, n) in LabelKind::ALL.into_iter().zip([1, 2, 3, 4, 5, 6, 7, 8, 9, 0]) {
            let chosen = labelling.kind == kind;
            let button = Button::new(kind.name()).selected(chosen);
            if ui.add(button).on_hover_text(format!("Key: {n}")).clicked() {
                asked.push(Command::Annotations(AnnotationsCommand::Label(LabelCommand::Kind(kind))));
            }
        }
        if labelling.kind.can_be_round() {
            let mut round = labelling.round;
            if ui.checkbox(&mut round, "Round").changed() {
                asked.push(Command::Annotations(AnnotationsCommand::Label(LabelCommand::Round)));
            }
        }
    });
    ui.horizontal_wrapped(|ui| {
        ui.label(entry::sentence(document));
        if !labelling.placed.is_empty() {
            command_button(
                ui,
                state,
                Command::Annotations(AnnotationsCommand::Label(LabelCommand::Finish)),
                asked,
            );
            labelled_button(ui, state, Command::Marks(MarksCommand::Back), "Undo point", asked);
        }
        labelled_button(ui, state, Command::Marks(MarksCommand::PutDown), "Done", asked);
    });
    // The strip stays as high as it is when a label is made or chosen, so that the picture does not move.
    ui.scope(|ui| {
        ui.set_min_height(LIST_HEIGHT);
        if shot.labels.is_empty() {
            weak(ui, "No annotations on this shot yet. Annotation text is left out of a shared copy.");
        } else {
            list_ui(ui, document, shot, fields, asked);
        }
    });
    let index = labelling.primary();
    ui.horizontal_wrapped(|ui| {
        words_ui(ui, document, shot, index, fields, asked);
        for ask in [
            LabelCommand::NextGrip,
            LabelCommand::FreeWords,
            LabelCommand::Earlier,
            LabelCommand::Later,
            LabelCommand::Remove,
        ] {
            command_button(ui, state, Command::Annotations(AnnotationsCommand::Label(ask)), asked);
        }
        carry_ui(ui, document, shot, asked);
        if let Some(index) = index {
            inset_ui(ui, shot, index, asked);
        }
    });
    if labelling.chosen.len() > 1 {
        ui.horizontal_wrapped(|ui| {
            ui.label("Align:");
            for edge in PointedLine::ALL {
                command_button(
                    ui,
                    state,
                    Command::Annotations(AnnotationsCommand::Label(LabelCommand::Align(edge))),
                    asked,
                );
            }
        });
    }
}

/// The labels in their order; with Ctrl one more is chosen.
fn list_ui(ui: &mut Ui, document: &Document, shot: &Shot, fields: &mut LabelFields, asked: &mut Asked) {
    let primary = document.labelling.primary();
    ScrollArea::horizontal().id_salt("labels").show(ui, |ui| {
        ui.horizontal(|ui| {
            for index in 0..shot.labels.len() {
                let chosen = document.labelling.chosen.contains(&index);
                let response = ui.add(Button::new(entry::name(shot, index)).selected(chosen));
                if primary == Some(index) && fields.shown != primary {
                    response.scroll_to_me(None);
                }
                if response.clicked() {
                    let more = ui.input(|input| input.modifiers.command || input.modifiers.ctrl);
                    let ask =
                        if more { LabelCommand::ChooseToo(index) } else { LabelCommand::Choose(Some(index)) };
                    asked.push(Command::Annotations(AnnotationsCommand::Label(ask)));
                }
            }
        });
    });
    fields.shown = primary;
}

/// The words of the label that is worked on, one step back for all that is typed in a row. A label just made has the
/// keys in this field, so that its words can be typed at once.
fn words_ui(
    ui: &mut Ui,
    document: &Document,
    shot: &Shot,
    index: Option<usize>,
    fields: &mut LabelFields,
    asked: &mut Asked,
) {
    let known = |index: &usize| shot.labels.get(*index).filter(|label| label.kind().is_some());
    let Some((index, label)) = index.and_then(|index| Some((index, known(&index)?))) else {
        let mut nothing = String::new();
        let field = TextEdit::singleline(&mut nothing).desired_width(FIELD).hint_text("Annotation text");
        ui.add_enabled(false, field).accessible_name("Annotation text");
        return;
    };
    let field = ui.make_persistent_id("label words");
    let typing = ui.memory(|memory| memory.has_focus(field));
    let same = matches!(&fields.words, Some((id, of, _)) if *id == shot.id && *of == index);
    if !same || !typing {
        fields.words = Some((shot.id.clone(), index, label.text.clone()));
    }
    let Some((_, _, text)) = &mut fields.words else { return };
    let name = entry::field_name(label);
    let edit = TextEdit::singleline(text).id(field).desired_width(FIELD).char_limit(MAX_TEXT).hint_text(name);
    let response = ui.add(edit).accessible_name(name);
    if response.changed() {
        asked.push(Command::Annotations(AnnotationsCommand::Label(LabelCommand::Say(index, text.clone()))));
    }
    if response.lost_focus() && document.is_changing_label() {
        asked.push(Command::Annotations(AnnotationsCommand::Label(LabelCommand::Done)));
    }
    if fields.made != document.labelling.made {
        fields.made = document.labelling.made;
        if document.labelling.made > 0 {
            response.request_focus();
        }
    }
}

/// Corner and size of an inset.
fn inset_ui(ui: &mut Ui, shot: &Shot, index: usize, asked: &mut Asked) {
    let Some(What::Known { kind: LabelKind::Inset, corner, times, .. }) =
        shot.labels.get(index).map(|label| &label.drawn)
    else {
        return;
    };
    let shown = ComboBox::from_id_salt("inset corner").selected_text(corner.name());
    let response = shown.show_ui(ui, |ui| {
        for other in Corner::ALL {
            if ui.selectable_label(*corner == other, other.name()).clicked() {
                asked.push(Command::Annotations(AnnotationsCommand::Label(LabelCommand::Corner(other))));
            }
        }
    });
    named(&response.response, "Corner of the inset", corner.name());
    let now = TIMES.iter().find(|(t, _)| (t - times).abs() < 1e-9).map_or("other", |(_, name)| name);
    let response = ComboBox::from_id_salt("inset times").selected_text(now).show_ui(ui, |ui| {
        for (other, name) in TIMES {
            if ui.selectable_label((other - times).abs() < 1e-9, name).clicked() {
                asked.push(Command::Annotations(AnnotationsCommand::Label(LabelCommand::Times(other))));
            }
        }
    });
    named(&response.response, "Magnification of the inset", now);
}

fn named(response: &egui::Response, name: &str, now: &str) {
    response.widget_info(|| WidgetInfo::labeled(Part::ComboBox, true, format!("{name}: {now}")));
}

/// The other shots of this view, to put the chosen labels on.
fn carry_ui(ui: &mut Ui, document: &Document, shot: &Shot, asked: &mut Asked) {
    let others = document.case().shots.iter().filter(|other| other.id != shot.id && other.view == shot.view);
    let ids: Vec<&str> = others.map(|other| other.id.as_str()).collect();
    let chosen = document.labelling.primary().is_some();
    ui.add_enabled_ui(chosen && !ids.is_empty(), |ui| carry_menu(ui, &ids, asked));
}

fn carry_menu(ui: &mut Ui, ids: &[&str], asked: &mut Asked) {
    ui.menu_button("To another shot", |ui| {
        ui.label(RichText::new("At the same position in the body").weak());
        ScrollArea::vertical().max_height(320.0).show(ui, |ui| {
            for id in ids {
                if ui.button(*id).clicked() {
                    asked.push(Command::Annotations(AnnotationsCommand::Label(LabelCommand::CarryTo(
                        (*id).to_owned(),
                    ))));
                    ui.close();
                }
            }
        });
    });
}
