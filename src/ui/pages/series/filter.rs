//! The filters above the table: a choice each, and words to be found.

use egui::accesskit::Role;
use egui::{ComboBox, TextEdit, Ui, WidgetInfo};

use crate::app::pages::series::SeriesCommand;
use crate::app::session::state::State;
use crate::measure::mark::{Level, Side};
use crate::scene::format;
use crate::scene::words::series_table::{NOT_SAID, standing};
use crate::study::selection::BodyStanding;
use crate::ui::pages::series::on;
use crate::ui::widgets::{Asked, Typed, command_button};

/// Shows the filters.
pub(super) fn filter_ui(ui: &mut Ui, state: &State, find: &mut Typed, asked: &mut Asked) {
    let series = &state.pages.series;
    let now = &series.filter;
    let mut wanted = now.clone();
    ui.horizontal_wrapped(|ui| {
        let said = |text: &String| if text.is_empty() { NOT_SAID.to_owned() } else { text.clone() };
        let choices = &series.choices;
        choice(ui, "Level", &mut wanted.level, &choices.levels, |level: &Level| level.name());
        choice(ui, "Side", &mut wanted.side, &[Side::Right, Side::Left], |s| format::side(*s).to_owned());
        choice(ui, "Operator", &mut wanted.operator, &choices.operators, said);
        choice(ui, "Half-year", &mut wanted.half_year, &choices.half_years, said);
        choice(ui, "Target", &mut wanted.standing, &BodyStanding::ALL, |s| standing(*s).to_owned());
        let text = find.following(&now.text);
        let field = TextEdit::singleline(text).desired_width(150.0).hint_text("Find");
        if ui.add(field).accessible_name("Find in the table").changed() {
            text.clone_into(&mut wanted.text);
        }
        command_button(ui, state, on(SeriesCommand::ShowAll), asked);
    });
    if wanted != *now {
        asked.push(on(SeriesCommand::Filter(wanted)));
    }
}

/// One of what there is, or all.
fn choice<T: Clone + PartialEq>(
    ui: &mut Ui,
    name: &str,
    now: &mut Option<T>,
    all: &[T],
    words: impl Fn(&T) -> String,
) {
    let shown = now.as_ref().map_or_else(|| "all".to_owned(), &words);
    let label = format!("{name}: {shown}");
    let combo = ComboBox::from_id_salt(name).selected_text(&label).width(90.0).height(420.0);
    let response = combo.show_ui(ui, |ui| {
        if ui.selectable_label(now.is_none(), "all").clicked() {
            *now = None;
        }
        for one in all {
            if ui.selectable_label(now.as_ref() == Some(one), words(one)).clicked() {
                *now = Some(one.clone());
            }
        }
    });
    response.response.widget_info(|| WidgetInfo::labeled(Role::ComboBox, true, label.clone()));
}
