//! What changed between the two shots: numbers, words, and the way of the tip in the body.

use egui::accesskit::Role as Part;
use egui::{RichText, Ui, WidgetInfo};

use crate::app::pages::compare::CompareCommand;
use crate::app::session::document::Document;
use crate::app::session::state::State;
use crate::measure::compare::Position;
use crate::measure::mark::View;
use crate::scene::body_map::{self, Stop};
use crate::scene::comparison::refined::ACCEPTED;
use crate::scene::comparison::{Comparison, words};
use crate::scene::drawing::theme::{Theme, space};
use crate::scene::words::reading::ReadingLine;
use crate::ui::look::{colour, pt};
use crate::ui::pages::compare::head::{on, shot_words};
use crate::ui::panels::drawings::{drawing, show};
use crate::ui::widgets::{Asked, command_button, heading, rule, sign, weak};

/// Shows what changed, or says why nothing can be said.
pub(super) fn change_ui(ui: &mut Ui, state: &State, theme: &Theme, asked: &mut Asked) {
    let page = &state.pages.compare;
    let Some(document) = &state.editor.document else { return };
    ui.label(RichText::new("Change").strong());
    let Some(places) = page.places(document) else {
        ui.add(egui::Label::new(nothing(state)).wrap());
        return;
    };
    for (name, at) in [("From", places[0]), ("To", places[1])] {
        if let Some(shot) = document.case().shots.get(at) {
            weak(ui, format!("{name} {}", shot_words(shot)));
        }
    }
    match &page.found {
        Some(Ok(found)) => {
            drawings(ui, document, places, theme);
            found_ui(ui, document.case(), found, theme);
        }
        Some(Err(why)) => {
            ui.add(egui::Label::new(format!("These two cannot be compared: {why}.")).wrap());
        }
        None => {}
    }
    if let (Some(Ok(_)), Some(Err(why))) = (&page.found, &page.registered) {
        weak(ui, format!("The images cannot be registered. {why}"));
    }
    rule(ui);
    let mut shared = page.position == Position::Shared;
    let tip = "The view error is then the same in both shots and cancels out of the change. Set this only if the C-arm was not moved in between.";
    if ui.checkbox(&mut shared, "Same C-arm position").on_hover_text(tip).changed() {
        let position = if shared { Position::Shared } else { Position::Own };
        asked.push(on(CompareCommand::Position(position)));
    }
    if matches!(page.found, Some(Ok(_))) {
        refinement_ui(ui, state, theme, asked);
    }
}

/// What the pictures themselves say of how they lie on each other, once they were asked.
fn refinement_ui(ui: &mut Ui, state: &State, theme: &Theme, asked: &mut Asked) {
    heading(ui, "From the images");
    let Some(refining) = &state.pages.compare.refining else {
        command_button(ui, state, on(CompareCommand::Refine), asked);
        return;
    };
    match &refining.found {
        None => {
            ui.label("Comparing the images…");
        }
        Some(Err(why)) => {
            ui.add(egui::Label::new(why.as_str()).wrap());
        }
        Some(Ok(refined)) => {
            for sentence in refined.sentences() {
                weak(ui, capital(&sentence));
            }
            if refining.taken {
                weak(ui, format!("{}.", capital(ACCEPTED)));
                command_button(ui, state, on(CompareCommand::TakeRefinement(false)), asked);
            } else if refining.trusted().is_some() {
                for line in refined.lines() {
                    line_ui(ui, &line, theme);
                }
                command_button(ui, state, on(CompareCommand::TakeRefinement(true)), asked);
            }
        }
    }
}

/// Why there is nothing to compare.
fn nothing(state: &State) -> String {
    let shown = state.editor.document.as_ref().and_then(|document| document.shot());
    match shown {
        Some(shot) if shot.view == View::Pedicle => {
            "An en face pedicle view shows where the needle docks, not how far it advanced. Select two lateral or two AP shots above.".to_owned()
        }
        Some(shot) => format!(
            "There is no other shot with the level, view and side of “{}”. Select two shots above; shots whose view is not set are not listed.",
            shot.id
        ),
        None => "Select two shots above.".to_owned(),
    }
}

/// The body with both places of the tip and the way between them: the shots' own view, and the other two where the
/// matched pairs tell three coordinates.
fn drawings(ui: &mut Ui, document: &Document, places: [usize; 2], theme: &Theme) {
    let stops = [0, 1].map(|i| {
        let (reading, pair) = document.read(places[i])?;
        Stop::of(i + 1, reading, pair.map(|pair| &pair.reading))
    });
    let Some(shot) = document.case().shots.get(places[1]) else { return };
    let Some(looked) = document.looked(&shot.id) else { return };
    let stops: Vec<Stop> = stops.into_iter().flatten().collect();
    if stops.is_empty() {
        return;
    }
    let paired = stops.iter().all(|stop| stop.position.depth.is_some() && stop.position.across.is_some());
    let mut drawing = drawing(document, shot, Some(looked));
    drawing.position = body_map::Position::default();
    drawing.way = stops;
    let ap = shot.view == View::Ap;
    let width = ui.available_width();
    show(
        ui,
        egui::vec2(width, 150.0),
        theme,
        |size| if ap { drawing.front(size) } else { drawing.side(size) },
    );
    if paired {
        ui.horizontal(|ui| {
            let half = egui::vec2((width - ui.spacing().item_spacing.x) * 0.5, 116.0);
            show(ui, half, theme, |size| if ap { drawing.side(size) } else { drawing.front(size) });
            show(ui, half, theme, |size| drawing.above(size));
        });
    }
}

fn found_ui(ui: &mut Ui, case: &crate::case::document::Case, found: &Comparison, theme: &Theme) {
    let lines = found.lines(case);
    if lines.is_empty() {
        ui.add_space(pt(space::S2));
        ui.add(egui::Label::new("No change can be measured: one shot has no reading.").wrap());
    }
    for line in &lines {
        line_ui(ui, line, theme);
    }
    if !lines.is_empty() {
        weak(ui, "±: 95 % interval, in percentage points");
    }
    if let Some(sentence) = found.millimetres(case) {
        weak(ui, capital(&sentence));
    }
    let pairs = found.pair_lines();
    if !pairs.is_empty() {
        heading(ui, &capital(words::PAIRS));
        for line in &pairs {
            line_ui(ui, line, theme);
        }
    }
    for remark in found.remarks(case) {
        weak(ui, capital(&remark));
    }
}

fn capital(words: &str) -> String {
    crate::app::marking::guide::capital(words)
}

/// One change: sign, name, number; the words below.
pub(in crate::ui::pages) fn line_ui(ui: &mut Ui, line: &ReadingLine, theme: &Theme) {
    ui.add_space(pt(space::S1));
    let inner = ui.vertical(|ui| {
        ui.spacing_mut().item_spacing.y = 0.0;
        ui.horizontal(|ui| {
            if let Some((role, glyph)) = line.sign {
                sign(ui, theme, role, glyph);
            }
            ui.label(RichText::new(capital(&line.name)).color(colour(theme.weak_text)));
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                ui.label(RichText::new(&line.number).strong());
            });
        });
        if !line.words.is_empty() {
            weak(ui, capital(&line.words));
        }
    });
    let spoken = format!("{}, {}", line.phrase(), line.words);
    inner.response.widget_info(|| WidgetInfo::labeled(Part::Label, true, spoken.clone()));
}
