//! The matched pair of the shown shot: which shot it is paired with, and what both tell together.

use egui::{ComboBox, Frame, Margin, RichText, Ui};

use crate::app::command::Command;
use crate::app::command::shots::ShotsCommand;
use crate::app::display::reading_details::{HeightFrom, of_pair};
use crate::app::session::document::Document;
use crate::app::shots::pairing::{Paired, candidates, partner};
use crate::case::document::Shot;
use crate::case::readings::ReadPairOf;
use crate::measure::mark::View;
use crate::scene::drawing::shape::{Glyph, Role};
use crate::scene::drawing::theme::{Theme, space};
use crate::scene::format;
use crate::ui::look::{colour, pt};
use crate::ui::panels::detail::{detail_ui, said};
use crate::ui::widgets::{Asked, weak};

/// How many signs of a shot's name are shown.
const NAME: usize = 30;

/// Shows the pair; nothing for a view down the pedicle, and nothing where there is no shot of the other view.
pub fn pair_ui(ui: &mut Ui, document: &Document, shot: &Shot, theme: &Theme, asked: &mut Asked) {
    let others = candidates(document);
    if others.is_empty() {
        return;
    }
    ui.add_space(pt(space::S2));
    let frame = Frame::new().fill(colour(theme.raised)).inner_margin(Margin::same(8)).corner_radius(4);
    frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        let found = partner(document);
        choice(ui, shot, found, &others, asked);
        match (found, document.pair()) {
            (Some(_), Some(pair)) => {
                let lines = of_pair(&pair.reading, height_from(document, pair));
                if lines.is_empty() {
                    weak(ui, "Neither of the two is read yet.");
                }
                for line in lines {
                    detail_ui(ui, &line, theme);
                }
                for issue in &pair.reading.issues {
                    said(ui, theme, (Role::Undecided, Glyph::Triangle), &issue.text);
                }
            }
            _ => {
                weak(ui, no_partner(shot));
            }
        }
    });
}

fn height_from(document: &Document, pair: &ReadPairOf) -> HeightFrom {
    let gives = |index: usize| {
        let looked = document.looked(&document.case().shots[index].id);
        looked.is_some_and(|looked| looked.reading.is_read() || looked.reading.is_height_only())
    };
    HeightFrom::of(gives(pair.lateral), gives(pair.ap))
}

fn no_partner(shot: &Shot) -> &'static str {
    match (shot.level.is_some() && shot.side.is_some(), shot.view) {
        (false, _) => {
            "Without level and side a shot is paired only by hand: choose its partner, or set both above."
        }
        (true, View::Ap) => "There is no lateral of this level, side and stage left to pair it with.",
        (true, _) => "There is no AP of this level, side and stage left to pair it with.",
    }
}

fn words(shot: &Shot) -> String {
    let name = format::shortened(&shot.id, NAME);
    format!("{name} ({})", format::shot(shot.level, shot.side, shot.view, shot.stage))
}

fn choice(
    ui: &mut Ui,
    shot: &Shot,
    found: Option<(&Shot, Paired)>,
    others: &[(&Shot, bool)],
    asked: &mut Asked,
) {
    let how = match found {
        Some((_, Paired::ByHand)) => "Paired by hand with",
        Some((_, Paired::ByOrder)) => "Paired by order with",
        None => "Not paired",
    };
    ui.label(RichText::new(how).strong());
    let shown =
        found.map_or_else(|| "choose a partner".to_owned(), |(other, _)| format::shortened(&other.id, NAME));
    let combo =
        ComboBox::from_id_salt("partner").selected_text(shown.clone()).width(ui.available_width() - 8.0);
    let response = combo.show_ui(ui, |ui| {
        if ui.selectable_label(matches!(found, Some((_, Paired::ByOrder))), "By order").clicked() {
            asked.push(Command::Shots(ShotsCommand::PairWith(None)));
        }
        for (other, fits) in others {
            let chosen = found.is_some_and(|(now, _)| now.id == other.id);
            let mut text = RichText::new(words(other));
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
    response.response.on_hover_text("The shot of the other view that shows the same moment.");
}
