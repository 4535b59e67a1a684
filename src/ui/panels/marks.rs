//! The marks of the shot: what is placed, what is missing, and what more can be marked.

use std::collections::BTreeSet;

use egui::accesskit::Role as Part;
use egui::{Align, Layout, RichText, Sense, Ui, WidgetInfo, vec2};

use crate::app::command::Command;
use crate::app::command::key::as_here;
use crate::app::command::marks::MarksCommand;
use crate::app::marking::copied_marks::sources_of;
use crate::app::marking::guide::{self, Need, Step, StepPart as Slot, capital};
use crate::app::session::document::Document;
use crate::app::session::mode::Hand;
use crate::app::session::state::State;
use crate::case::document::Shot;
use crate::case::document::proposed::Origin;
use crate::measure::mark::{MarkKind, MarkRef, Marks};
use crate::scene::drawing::shape::{Glyph, Role, TextSize};
use crate::scene::drawing::theme::Theme;
use crate::scene::format;
use crate::ui::look::{colour, font};
use crate::ui::paint;
use crate::ui::widgets::{Asked, command_button, heading};

/// Height of one row in points.
const ROW: f32 = 21.0;

/// How many signs of a shot's name stand in the menu of shots to carry marks from.
const SOURCE_NAME: usize = 36;

/// Shows the list of marks; gives the placed mark that the pointer is over.
pub fn marks_ui(ui: &mut Ui, state: &State, asked: &mut Asked) -> Option<MarkRef> {
    let document = state.editor.document.as_ref()?;
    let shot = document.shot()?;
    let theme = Theme::of(state.display.mode);
    let mut pointed = None;
    ui.spacing_mut().item_spacing.y = 0.0;
    if !shot.view_set {
        ui.label(RichText::new("The marks are listed once the view is set.").weak());
        return None;
    }
    for (number, step) in guide::numbered(shot.view) {
        pointed = row(ui, document, shot, step, number, &theme, asked).or(pointed);
    }
    let extras = guide::extras(shot.view);
    if !extras.is_empty() {
        let further = egui::CollapsingHeader::new("More marks").id_salt("further");
        further.show(ui, |ui| {
            let mut named = false;
            for step in extras {
                if step.second_words().is_some() && !named {
                    named = true;
                    heading(ui, "Second contours, where a border shows twice");
                }
                pointed = row(ui, document, shot, *step, None, &theme, asked).or(pointed);
            }
        });
    }
    ui.add_space(4.0);
    ui.horizontal_wrapped(|ui| {
        carry_menu(ui, document, asked);
        borders_menu(ui, shot, asked);
        command_button(ui, state, Command::Marks(MarksCommand::Remove), asked);
        command_button(ui, state, Command::Marks(MarksCommand::ClearMarks), asked);
    });
    pointed
}

fn row(
    ui: &mut Ui,
    document: &Document,
    shot: &Shot,
    step: Step,
    number: Option<u8>,
    theme: &Theme,
    asked: &mut Asked,
) -> Option<MarkRef> {
    let placed = step.placed(document.seen_marks().unwrap_or(&shot.marks));
    let in_hand = match document.hand() {
        Hand::Next(next) => next == step,
        Hand::Again(at) | Hand::Mark(at) => Step::of(&shot.marks, at) == step,
        Hand::Adding(kind) => step.kind == kind && step.part == Slot::Between,
        Hand::Nothing | Hand::Landmark { .. } | Hand::Wall { .. } | Hand::Border(_) => false,
    };
    let more = extra_points(document.seen_marks().unwrap_or(&shot.marks), step);
    let state_words = match (placed, step.need(shot.view)) {
        (Some(at), _) => {
            let words = if more > 1 { format!("{more} points") } else { "placed".to_owned() };
            origin(document, shot, at).map_or(words.clone(), |origin| format!("{words}, {origin}"))
        }
        (None, Need::Required) => "missing".to_owned(),
        (None, Need::Skippable | Need::Extra) => "optional".to_owned(),
    };
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::click());
    let title = step.listed(shot.view);
    let label = format!("{title}, {state_words}");
    response.widget_info(|| WidgetInfo::selected(Part::ListBoxOption, true, in_hand, label.clone()));
    if response.clicked() {
        asked.push(Command::Marks(MarksCommand::Take(step)));
    }
    let painter = ui.painter_at(rect);
    if in_hand {
        painter.rect_filled(rect, 4.0, colour(theme.selection));
    } else if response.hovered() {
        painter.rect_filled(rect, 4.0, colour(theme.hovered));
    }
    if response.has_focus() {
        paint::frame(&painter, rect, theme.accent);
    }
    let y = rect.center().y;
    if let Some(number) = number {
        let digit = if number == 10 { "0".to_owned() } else { number.to_string() };
        let at = egui::pos2(rect.left() + 12.0, y);
        let size = font(TextSize::Small);
        painter.text(at, egui::Align2::CENTER_CENTER, digit, size, colour(theme.weak_text));
    }
    let (glyph, role) = match (placed, step.need(shot.view)) {
        (Some(at), _) if origin(document, shot, at) == format::origin(Origin::Proposed) => {
            (Glyph::Target, Role::Accent)
        }
        (Some(_), _) => (Glyph::Disc, Role::Accent),
        (None, Need::Required) => (Glyph::Ring, Role::Text),
        (None, Need::Skippable | Need::Extra) => (Glyph::Ring, Role::Nothing),
    };
    let at = crate::geom::point::Point::new(f64::from(rect.left() + 32.0), f64::from(y));
    paint::primitives(&painter, &crate::scene::drawing::primitive::Primitive::sign(at, glyph, role, theme));
    let ink = if placed.is_some() || in_hand { theme.text } else { theme.weak_text };
    let mut job = egui::text::LayoutJob::single_section(
        step.second_words().map_or(title, str::to_owned),
        egui::TextFormat::simple(font(TextSize::Body), colour(ink)),
    );
    let room = rect.right() - rect.left() - 48.0;
    job.wrap = egui::text::TextWrapping::truncate_at_width(room);
    let galley = painter.layout_job(job);
    // The name is never cut for the number of points, which becomes shorter first.
    let left = room - galley.size().x - 14.0;
    let counted =
        |words: String| painter.layout_no_wrap(words, font(TextSize::Small), colour(theme.weak_text));
    let counts = [format!("{more} points"), format!("×{more}")].into_iter().filter(|_| more > 1);
    let count = counts.map(counted).find(|count| count.size().x <= left);
    painter.galley(egui::pos2(rect.left() + 46.0, y - galley.size().y * 0.5), galley, colour(ink));
    if let Some(count) = count {
        let at = egui::pos2(rect.right() - 6.0 - count.size().x, y - count.size().y * 0.5);
        painter.galley(at, count, colour(theme.weak_text));
    }
    placed.filter(|_| response.hovered() || response.has_focus())
}

/// Where a mark comes from, in a word; nothing is said of what a person placed.
fn origin(document: &Document, shot: &Shot, at: MarkRef) -> Option<&'static str> {
    let offered = document.proposals.offered(shot).map(|offer| &offer.proposed);
    format::origin(offered.unwrap_or(&shot.proposed).origin(at))
}

/// How many interior points a border's row stands for.
fn extra_points(marks: &Marks, step: Step) -> usize {
    if step.part != Slot::Between {
        return 1;
    }
    let (from, to) = guide::interior(step.kind, marks.slots(step.kind).len());
    to - from
}

/// The shots whose marks can be carried here.
fn carry_menu(ui: &mut Ui, document: &Document, asked: &mut Asked) {
    let sources = sources_of(document);
    if sources.is_empty() {
        return;
    }
    let tip = "Two clicks copy the bone marks of another shot of this level and view as a draft for you to confirm.\nKey for the nearest shot: K";
    let menu = ui.menu_button("Copy marks from", |ui| {
        ui.set_min_width(240.0);
        for source in sources {
            let stage = source.stage.map(|stage| format!(", {}", format::stage(stage))).unwrap_or_default();
            let words = format!("{}{stage}", format::shortened(&source.id, SOURCE_NAME));
            if ui.button(words).clicked() {
                asked.push(Command::Marks(MarksCommand::CopyMarksFrom(source.id.clone())));
                ui.close();
            }
        }
    });
    menu.response.on_hover_text(tip);
}

fn borders_menu(ui: &mut Ui, shot: &Shot, asked: &mut Asked) {
    let steps = guide::steps(shot.view).iter().chain(guide::extras(shot.view));
    let open_ended = |step: &Step| step.kind.count().1 == usize::MAX && step.kind != MarkKind::Cannula;
    let kinds: BTreeSet<MarkKind> = steps.copied().filter(open_ended).map(|step| step.kind).collect();
    if kinds.is_empty() {
        return;
    }
    ui.menu_button("Add points to", |ui| {
        ui.set_min_width(240.0);
        for kind in kinds {
            if ui.button(capital(format::mark(kind))).clicked() {
                asked.push(Command::Marks(MarksCommand::AddPointsTo(kind)));
                ui.close();
            }
        }
        ui.with_layout(Layout::top_down(Align::Min), |ui| {
            ui.label(RichText::new(as_here("Ctrl click on a border does the same.")).small().weak());
        });
    });
}
