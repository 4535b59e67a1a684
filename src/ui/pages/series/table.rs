//! The table of bodies treated: a heading for each column that sorts by it, a row for each body that opens its case.

use egui::accesskit::Role as Part;
use egui::{
    Button, CursorIcon, Rect, RichText, ScrollArea, Sense, TextStyle, TextWrapMode, Ui, WidgetInfo,
    WidgetText, pos2, vec2,
};

use crate::app::pages::series::{SeriesCommand, SeriesState};
use crate::app::session::state::State;
use crate::geom::point::Point;
use crate::measure::verdict::State as Verdict;
use crate::scene::drawing::primitive::Primitive;
use crate::scene::drawing::shape::{Glyph, Role};
use crate::scene::drawing::theme::{Theme, state_sign};
use crate::scene::words::series_table::{cell, explanation, heading, row_words, standing_sign, state_of};
use crate::study::selection::{BodyStanding, SeriesColumn};
use crate::study::series::Treated;
use crate::ui::look::colour;
use crate::ui::pages::series::on;
use crate::ui::paint;
use crate::ui::widgets::{Asked, weak};

/// Height of a row in points.
const ROW: f32 = 26.0;
/// Height of the headings.
const HEAD: f32 = 28.0;
/// Room for a sign before the words of a cell.
const SIGN: f32 = 18.0;
/// Between columns.
const GAP: f32 = 8.0;

/// Least width of a column in points.
const fn width(column: SeriesColumn) -> f32 {
    match column {
        SeriesColumn::Level | SeriesColumn::Side | SeriesColumn::Shots | SeriesColumn::Proposed => 50.0,
        SeriesColumn::Date => 80.0,
        SeriesColumn::Operator => 72.0,
        SeriesColumn::Outcome => 122.0,
        SeriesColumn::Depth | SeriesColumn::Height => 120.0,
        SeriesColumn::Midline => 124.0,
        SeriesColumn::Lesion => 56.0,
        SeriesColumn::Issues => 96.0,
        SeriesColumn::File | SeriesColumn::Case => 88.0,
    }
}

/// Shows the table.
pub(super) fn table_ui(ui: &mut Ui, state: &State, asked: &mut Asked) {
    let series = &state.pages.series;
    let least: f32 = SeriesColumn::ALL.iter().map(|column| width(*column) + GAP).sum();
    let room = (ui.available_width() - 8.0).max(least);
    // What is left over goes to the columns with words of any length.
    let spare = (room - least) / 3.0;
    let wide = |column: SeriesColumn| {
        let more = matches!(column, SeriesColumn::Issues | SeriesColumn::Case | SeriesColumn::File);
        width(column) + if more { spare } else { 0.0 }
    };
    ScrollArea::horizontal().auto_shrink(false).show(ui, |ui| {
        ui.set_width(room);
        headings(ui, series, &wide, asked);
        if series.listed.is_empty() {
            weak(
                ui,
                if series.filter.is_open() {
                    "No case below these folders has a shot with a level and a side yet."
                } else {
                    "No body matches; change the filters or show all."
                },
            );
            return;
        }
        ui.spacing_mut().item_spacing.y = 0.0;
        let theme = Theme::of(state.display.mode);
        ScrollArea::vertical().auto_shrink(false).show_rows(ui, ROW, series.listed.len(), |ui, rows| {
            for &place in &series.listed[rows] {
                if let Some(body) = series.bodies().get(place)
                    && row(ui, &theme, body, &wide)
                {
                    asked.push(on(SeriesCommand::Open(place)));
                }
            }
        });
    });
}

fn headings(ui: &mut Ui, series: &SeriesState, wide: &impl Fn(SeriesColumn) -> f32, asked: &mut Asked) {
    let (area, _) = ui.allocate_exact_size(vec2(ui.available_width(), HEAD), Sense::hover());
    let mut x = area.min.x;
    for column in SeriesColumn::ALL {
        let name = heading(column);
        let by = series.sorting.by == column;
        let label = match (by, series.sorting.falling) {
            (true, false) => format!("{name} ↑"),
            (true, true) => format!("{name} ↓"),
            (false, _) => name.to_owned(),
        };
        let rect = Rect::from_min_size(pos2(x, area.min.y), vec2(wide(column), HEAD));
        let mut child = ui.new_child(egui::UiBuilder::new().max_rect(rect));
        let words = RichText::new(label).small().strong();
        let response = child.add(Button::new(words).frame_when_inactive(by));
        response.widget_info(|| {
            let turned = if by && series.sorting.falling { ", descending" } else { "" };
            let sorted = if by { format!(": sorted{turned}") } else { String::new() };
            WidgetInfo::labeled(Part::Button, true, format!("Sort by {}{sorted}", name.to_lowercase()))
        });
        if response.on_hover_text(format!("{} Click to sort by it.", explanation(column))).clicked() {
            asked.push(on(SeriesCommand::SortBy(column)));
        }
        x += wide(column) + GAP;
    }
}

/// One row; `true` once it is clicked.
fn row(ui: &mut Ui, theme: &Theme, body: &Treated, wide: &impl Fn(SeriesColumn) -> f32) -> bool {
    let (area, response) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Part::Button, true, format!("Open {}", row_words(body))));
    if !ui.is_rect_visible(area) {
        return response.clicked();
    }
    if response.hovered() || response.has_focus() {
        ui.painter().rect_filled(area, 3.0, colour(theme.raised));
    }
    let line = egui::Stroke::new(1.0, colour(theme.separator));
    ui.painter().hline(area.x_range(), area.max.y, line);
    let mut x = area.min.x + 4.0;
    for column in SeriesColumn::ALL {
        let mut at = x;
        if let Some((role, glyph)) = sign_of(body, column) {
            let middle = Point::new(f64::from(at) + 6.0, f64::from(area.center().y));
            paint::primitives(ui.painter(), &Primitive::sign(middle, glyph, role, theme));
            at += SIGN;
        }
        let room = wide(column) - (at - x);
        let words = WidgetText::from(cell(body, column));
        let galley = words.into_galley(ui, Some(TextWrapMode::Truncate), room, TextStyle::Small);
        let place = pos2(at, area.center().y - 0.5 * galley.size().y);
        ui.painter().galley(place, galley, colour(theme.text));
        x += wide(column) + GAP;
    }
    let response = response.on_hover_cursor(CursorIcon::PointingHand);
    let clicked = response.clicked();
    response.on_hover_ui_at_pointer(|ui| {
        ui.label(format!("{}: {}", body.file, row_words(body)));
        if !body.issues.is_empty() {
            ui.label(cell(body, SeriesColumn::Issues));
        }
        weak(ui, "Click to open this case.");
    });
    clicked
}

/// The sign of a verdict before a cell's words.
fn sign_of(body: &Treated, column: SeriesColumn) -> Option<(Role, Glyph)> {
    if column == SeriesColumn::Outcome {
        return Some(standing_sign(BodyStanding::of(body)));
    }
    let rule = column.rule()?;
    body.value(rule)?;
    Some(state_sign(state_of(body, rule).unwrap_or(Verdict::NotShown)))
}
