//! The strip over the image while redaction, scale or annotations are worked on, or where text may be readable.

use egui::{Align2, Area, Button, Context, Frame, Margin, Rect, Response, RichText, TextEdit, Ui, vec2};

use crate::app::annotation::last_scale;
use crate::app::annotation::redaction::{everywhere, proposed};
use crate::app::annotation::scale::offer;
use crate::app::command::Command;
use crate::app::command::annotations::AnnotationsCommand;
use crate::app::command::case::CaseCommand;
use crate::app::command::marks::MarksCommand;
use crate::app::display::preferences::SidePanel;
use crate::app::marking::next_mark::required_done;
use crate::app::session::document::Document;
use crate::app::session::mode::Tool;
use crate::app::session::state::State;
use crate::case::document::Shot;
use crate::case::document::edit::{Description, Edit};
use crate::case::image::offered_scale::ScaleOffer;
use crate::geom::point::Point;
use crate::measure::calibration::Calibration;
use crate::scene::drawing::theme::Theme;
use crate::scene::format;
use crate::ui::look::colour;
use crate::ui::panels::annotations::{LabelFields, labels_ui};
use crate::ui::panels::straighten::straighten_ui;
use crate::ui::widgets::{Asked, command_button, keyed_button, labelled_button, rule, weak};

/// What is being typed into the strip.
#[derive(Debug, Default)]
pub struct AsideFields {
    length: String,
    length_sd: String,
    scale: String,
    scale_sd: String,
    magnification: String,
    magnification_sd: String,
    aspect: String,
    labels: LabelFields,
    /// For what the keyboard was given to a field of the scale last.
    led: Option<Led>,
}

/// What a field of the scale is typed for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Led {
    /// A scale as such.
    Scale,
    /// The length of the line that was drawn.
    Length,
}

/// Whether the file says that words are burned in, and nothing is covered yet.
fn only_said(state: &State) -> bool {
    let Some(document) = &state.editor.document else { return false };
    let Some(shot) = document.shot() else { return false };
    let known = state.editor.key_of(shot).and_then(|key| state.editor.pictures.known.get(&key));
    known.is_some_and(|known| known.burned_in)
        && shot.covers.is_empty()
        && !document.refused.contains(&shot.id)
}

/// Shows what redaction, scale or annotations need, at the top of the column beside the image, while one of them is
/// worked on.
pub fn tools_ui(ui: &mut Ui, state: &State, fields: &mut AsideFields, asked: &mut Asked) {
    let Some(document) = &state.editor.document else { return };
    let Some(shot) = document.shot().filter(|_| document.tool() != Tool::Marks) else { return };
    work_ui(ui, state, document, shot, fields, asked);
    rule(ui);
}

/// Shows the same over the top of `over` where no column stands beside the image. What looks like text is asked about at
/// the foot of that column, `column`, where it covers nothing of the image. It floats, and nothing beneath moves.
pub fn aside_ui(
    ctx: &Context,
    (over, column): (Rect, Option<Rect>),
    state: &State,
    fields: &mut AsideFields,
    asked: &mut Asked,
) -> Option<Rect> {
    let document = state.editor.document.as_ref()?;
    let shot = document.shot()?;
    let working = document.tool() != Tool::Marks;
    let beside = working && state.display.has(SidePanel::Reading);
    let silent = document.redact_later
        || document.is_labeling()
        || marking_is_under_way(document, shot)
        || (proposed(&state.editor).is_empty() && !only_said(state));
    if beside || (!working && silent) {
        return None;
    }
    let theme = Theme::of(state.display.mode);
    // The strip must not lie over the text that it asks about.
    let foot = column.filter(|_| !working);
    let (pivot, corner) = if let Some(column) = foot {
        (Align2::RIGHT_BOTTOM, column.right_bottom())
    } else if !working && text_is_at_the_top(state, over) {
        (Align2::LEFT_BOTTOM, over.left_bottom() + vec2(8.0, -56.0))
    } else {
        (Align2::LEFT_TOP, over.left_top() + vec2(8.0, 8.0))
    };
    let area = Area::new(egui::Id::unique("strip over the image"))
        .order(egui::Order::Middle)
        .pivot(pivot)
        .fixed_pos(corner)
        .constrain(false);
    let shown = area.show(ctx, |ui| {
        let edge = egui::Stroke::new(1.0, colour(theme.edge));
        let frame = Frame::new().fill(colour(theme.panel)).stroke(edge).inner_margin(Margin::same(8));
        frame.corner_radius(6).show(ui, |ui| {
            let room = foot.map_or(over.width() - 34.0, |column| column.width() - 20.0);
            ui.set_max_width(room.clamp(120.0, 900.0));
            // In a low window the strip scrolls rather than hiding the image.
            let most = (0.4 * over.height()).max(96.0);
            egui::ScrollArea::vertical().max_height(most).show(ui, |ui| {
                work_ui(ui, state, document, shot, fields, asked);
            });
        });
    });
    Some(shown.response.rect)
}

/// Whether marks are being placed: the strip would then lie over the bone that they are about. It comes back after the last.
fn marking_is_under_way(document: &Document, shot: &Shot) -> bool {
    let clicked = document.pointing().is_some_and(|walls| walls.first.is_some());
    let begun = !shot.marks.is_empty() && !required_done(shot);
    clicked || begun || document.is_unconfirmed()
}

/// Whether more of what looks like text is seen in the upper half of the canvas than in the lower one.
fn text_is_at_the_top(state: &State, over: Rect) -> bool {
    let transform = state.editor.transform();
    let middle = 0.5 * f64::from(over.height());
    let regions = proposed(&state.editor);
    let high = regions.iter().filter(|region| {
        let centre = region.min + (region.max - region.min) * 0.5;
        transform.to_canvas(centre).y < middle
    });
    2 * high.count() > regions.len()
}

fn work_ui(
    ui: &mut Ui,
    state: &State,
    document: &Document,
    shot: &Shot,
    fields: &mut AsideFields,
    asked: &mut Asked,
) {
    if !matches!(document.tool(), Tool::Scale { .. }) {
        fields.led = None;
    }
    match document.tool() {
        Tool::Scale { ends } => scale_ui(ui, state, shot, ends, fields, asked),
        Tool::Redaction { .. } => covers_ui(ui, state, shot, true, asked),
        Tool::Annotations => labels_ui(ui, state, document, shot, &mut fields.labels, asked),
        Tool::Straighten => straighten_ui(ui, state, document, &mut fields.aspect, asked),
        Tool::Marks => covers_ui(ui, state, shot, false, asked),
    }
}

fn covers_ui(ui: &mut Ui, state: &State, shot: &Shot, drawing: bool, asked: &mut Asked) {
    let places = proposed(&state.editor).len();
    ui.horizontal_wrapped(|ui| {
        if places > 0 {
            let words =
                if places == 1 { "region outside the field looks" } else { "regions outside the field look" };
            let shots = everywhere(&state.editor).len();
            let also = match shots.saturating_sub(1) {
                0 => String::new(),
                more => format!(" So do regions in {}.", format::count(more, "other shot", "other shots")),
            };
            ui.label(format!("{places} {words} like burned-in text.{also}"));
            command_button(ui, state, Command::Annotations(AnnotationsCommand::RedactSuggested), asked);
            if shots > 1 {
                command_button(ui, state, Command::Annotations(AnnotationsCommand::RedactEverywhere), asked);
            }
            command_button(ui, state, Command::Annotations(AnnotationsCommand::RefuseSuggested), asked);
            command_button(ui, state, Command::Annotations(AnnotationsCommand::RedactLater), asked);
        } else if only_said(state) {
            ui.label(
                "The file states that this image contains burned-in text. Check it and redact the text.",
            );
        }
        if drawing {
            ui.label("Draw a box over text; drag a box to move it.");
            let count = format::count(shot.covers.len(), "cover", "covers");
            ui.label(RichText::new(count).weak());
            labelled_button(ui, state, Command::Marks(MarksCommand::Remove), "Delete box", asked);
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
                ui.label(format!("Current: {words}."));
                if ui
                    .button("Clear scale")
                    .on_hover_text("Remove the scale; only fractions are read.")
                    .clicked()
                {
                    asked.push(describe(shot, None));
                }
            }
            None => {
                ui.label("Not calibrated: fractions only.");
            }
        }
        if last_scale::offered(&state.editor).is_some() {
            keyed_button(ui, state, Command::Annotations(AnnotationsCommand::UseLastScale), asked);
        }
        command_button(ui, state, Command::Annotations(AnnotationsCommand::ScaleForAlike), asked);
        labelled_button(ui, state, Command::Marks(MarksCommand::PutDown), "Done", asked);
    });
    known_ui(ui, ends, fields, asked);
    ui.horizontal_wrapped(|ui| {
        let field = number(ui, "Scale, mm/pixel", &mut fields.scale, 64.0);
        let sd_field = number(ui, "Scale ± (1 SD)", &mut fields.scale_sd, 56.0);
        let entered = entered(ui, &field) || entered(ui, &sd_field);
        if ends.is_none() && fields.led != Some(Led::Scale) {
            field.request_focus();
            fields.led = Some(Led::Scale);
        }
        let typed = parsed(&fields.scale);
        let sd = parsed(&fields.scale_sd);
        let ready = typed.is_some() && (sd.is_some() || fields.scale_sd.trim().is_empty());
        if (ui.add_enabled(ready, Button::new("Apply")).clicked() || (entered && ready))
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
            ui.label("Draw a line across an object of known width, such as the cannula.");
            return;
        };
        ui.label(format!("The line is {} long and represents", format::px(a.distance(b))));
        let field = number(ui, "Known length in mm", &mut fields.length, 56.0);
        let sd_field = number(ui, "Known length ± (1 SD)", &mut fields.length_sd, 56.0);
        let entered = entered(ui, &field) || entered(ui, &sd_field);
        if fields.led != Some(Led::Length) {
            field.request_focus();
            fields.led = Some(Led::Length);
        }
        let mm = parsed(&fields.length);
        let sd = if fields.length_sd.trim().is_empty() { Some(0.0) } else { parsed(&fields.length_sd) };
        let ready = mm.is_some() && sd.is_some();
        if (ui.add_enabled(ready, Button::new("Use this line")).clicked() || (entered && ready))
            && let (Some(mm), Some(sd_mm)) = (mm, sd)
        {
            asked.push(Command::Annotations(AnnotationsCommand::SetLength { mm, sd_mm }));
        }
    });
}

fn file_ui(ui: &mut Ui, state: &State, fields: &mut AsideFields, asked: &mut Asked) {
    let offer = offer(&state.editor);
    if offer == ScaleOffer::Nothing {
        return;
    }
    weak(ui, format::offered_scale(&offer));
    ui.horizontal_wrapped(|ui| {
        if offer.scale().is_some() {
            command_button(ui, state, Command::Annotations(AnnotationsCommand::UseFileScale), asked);
        }
        if matches!(offer, ScaleOffer::Detector { .. } | ScaleOffer::Magnified { .. }) {
            let field = number(ui, "Magnification", &mut fields.magnification, 56.0);
            let sd_field = number(ui, "Magnification ± (1 SD)", &mut fields.magnification_sd, 56.0);
            let entered = entered(ui, &field) || entered(ui, &sd_field);
            let magnification = parsed(&fields.magnification);
            let empty = fields.magnification_sd.trim().is_empty();
            let sd = if empty { Some(0.0) } else { parsed(&fields.magnification_sd) };
            let ready = magnification.is_some() && sd.is_some();
            if (ui.add_enabled(ready, Button::new("Use this magnification")).clicked() || (entered && ready))
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

pub(super) fn number(ui: &mut Ui, name: &str, text: &mut String, width: f32) -> Response {
    let label = ui.label(RichText::new(name).small().weak());
    ui.add(TextEdit::singleline(text).desired_width(width)).labelled_by(label.id)
}

/// Whether a field was left with Enter.
fn entered(ui: &Ui, field: &Response) -> bool {
    field.lost_focus() && ui.input(|input| input.key_pressed(egui::Key::Enter))
}

/// A positive number as people type it, or zero.
pub(super) fn parsed(text: &str) -> Option<f64> {
    text.trim().replace(',', ".").parse::<f64>().ok().filter(|n| n.is_finite() && *n >= 0.0)
}
