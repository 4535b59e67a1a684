//! The matched pair of the shown shot: which shot it is paired with, and what both tell together.

use egui::{ComboBox, RichText, Ui};

use crate::app::command::Command;
use crate::app::command::shots::ShotsCommand;
use crate::app::display::first_numbers::height_from;
use crate::app::display::reading_details::{MEDIAL_BREACH, of_pair};
use crate::app::session::document::Document;
use crate::app::shots::pairing::{Paired, candidates, partner};
use crate::case::document::Shot;
use crate::measure::mark::View;
use crate::scene::drawing::shape::{Glyph, Role};
use crate::scene::drawing::theme::{Theme, space};
use crate::scene::format;
use crate::ui::look::pt;
use crate::ui::panels::detail::{detail_ui, said};
use crate::ui::widgets::{Asked, PICKER, weak, with_progress};

/// How many signs of a shot's name are shown.
const NAME: usize = 30;

/// Shows which shot the shown one is matched with, and what puts the pair in doubt; nothing for an en face pedicle
/// view, and nothing where there is no shot of the other view.
pub fn pair_ui(ui: &mut Ui, document: &Document, shot: &Shot, theme: &Theme, asked: &mut Asked) {
    let others = candidates(document);
    if others.is_empty() {
        return;
    }
    ui.add_space(pt(space::S1));
    let found = partner(document);
    choice(ui, shot, found, &others, asked);
    match (found, document.pair()) {
        (Some(_), Some(pair)) => {
            for line in of_pair(&pair.reading, height_from(document, pair)) {
                let in_doubt = |(role, _)| matches!(role, Role::Outside | Role::Undecided);
                if line.name == MEDIAL_BREACH && line.sign.is_some_and(in_doubt) {
                    detail_ui(ui, &line, theme);
                }
            }
            for issue in &pair.reading.issues {
                said(ui, theme, (Role::Undecided, Glyph::Triangle), &issue.text);
            }
        }
        _ => {
            weak(ui, no_partner(shot));
        }
    }
}

/// What both shots of the pair tell together, each number once.
pub fn pair_details_ui(ui: &mut Ui, document: &Document, theme: &Theme) {
    let Some(pair) = document.pair() else { return };
    ui.add_space(pt(space::S2));
    ui.label(RichText::new("Matched pair").strong());
    let lines = of_pair(&pair.reading, height_from(document, pair));
    if lines.is_empty() {
        weak(ui, "Neither shot is read yet.");
    }
    for line in lines {
        detail_ui(ui, &line, theme);
    }
}

fn no_partner(shot: &Shot) -> &'static str {
    if !shot.view_set {
        return "Set the view above: a lateral is matched with an AP.";
    }
    match (shot.level.is_some() && shot.side.is_some(), shot.view) {
        (false, _) => {
            "Without a level and a side, a shot is matched only manually: select its partner, or set both above."
        }
        (true, View::Ap) => "There is no unmatched lateral of this level, side and stage.",
        (true, _) => "There is no unmatched AP of this level, side and stage.",
    }
}

fn words(shot: &Shot) -> String {
    let name = format::shortened(&shot.id, NAME);
    format!("{name} ({})", format::shot(shot.level, shot.side, shot.known_view(), shot.stage))
}

fn choice(
    ui: &mut Ui,
    shot: &Shot,
    found: Option<(&Shot, Paired)>,
    others: &[(&Shot, bool)],
    asked: &mut Asked,
) {
    let how = match found {
        Some((_, Paired::ByHand)) => "Matched manually with",
        Some((_, Paired::ByOrder)) => "Matched automatically with",
        None => "Not matched",
    };
    ui.label(RichText::new(how).small().weak());
    let shown =
        found.map_or_else(|| "select a shot".to_owned(), |(other, _)| format::shortened(&other.id, NAME));
    let combo = ComboBox::from_id_salt("partner")
        .selected_text(shown.clone())
        .width(ui.available_width() - 8.0)
        .height(PICKER);
    let response = combo.show_ui(ui, |ui| {
        if ui.selectable_label(matches!(found, Some((_, Paired::ByOrder))), "Automatic").clicked() {
            asked.push(Command::Shots(ShotsCommand::PairWith(None)));
        }
        for (other, fits) in others {
            let chosen = found.is_some_and(|(now, _)| now.id == other.id);
            let mut text = RichText::new(with_progress(other, words(other)));
            if !fits {
                text = text.weak();
            }
            if ui.selectable_label(chosen, text).clicked() {
                asked.push(Command::Shots(ShotsCommand::PairWith(Some(other.id.clone()))));
            }
        }
    });
    let label = format!("Partner of {}", shot.id);
    response.response.widget_info(|| {
        let mut info = egui::WidgetInfo::labeled(egui::accesskit::Role::ComboBox, true, label.clone());
        info.current_text_value = Some(shown.clone());
        info
    });
    response.response.on_hover_text("The shot of the other view taken at the same moment.");
}
