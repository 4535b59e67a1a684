//! The plots of the listed bodies: all tips in a typical body, errors over time, cumulative sums.

use egui::{RichText, ScrollArea, TextEdit, Ui, vec2};

use crate::app::command::key::as_here;
use crate::app::pages::series::SeriesCommand;
use crate::app::session::state::State;
use crate::scene::body_map::Described;
use crate::scene::drawing::theme::{Theme, space};
use crate::scene::format;
use crate::scene::plot::{Chart, tips};
use crate::scene::words::audit::{THREE_WAYS, error_cells};
use crate::ui::chart::chart_ui;
use crate::ui::look::pt;
use crate::ui::pages::series::data::data_ui;
use crate::ui::pages::series::{SeriesMemory, on, shares};
use crate::ui::widgets::{Asked, drawing, heading, tab, weak};

/// Height of a chart in points.
const CHART: f32 = 250.0;
/// Least and greatest width of one of the three drawings of a body, in points.
const BODY: (f32, f32) = (260.0, 640.0);

/// Height of such a drawing to its width.
const SHAPE: f32 = 0.82;
/// Room for the words below a large drawing, in points.
const BELOW: f32 = 76.0;

/// What was worked out for the plots, until the listed bodies change.
#[derive(Debug, Default)]
pub(super) struct Drawn {
    charts: Option<(u64, Vec<Chart>, Vec<Chart>)>,
    tips: Option<(u64, u32, [Described; 3])>,
    large: Option<usize>,
}

impl Drawn {
    fn charts(&mut self, state: &State) -> (&[Chart], &[Chart]) {
        let series = &state.pages.series;
        let fresh = self.charts.as_ref().is_some_and(|(version, ..)| *version == series.version);
        if !fresh {
            let (errors, sums) = series.charts();
            self.charts = Some((series.version, errors, sums));
        }
        self.charts.as_ref().map_or((&[], &[]), |(_, errors, sums)| (errors, sums))
    }
}

/// What is seen of the three drawings: all of them, or one as large as the room allows.
const SEEN: [(Option<usize>, &str); 4] =
    [(None, "All three"), (Some(0), "Lateral, large"), (Some(1), "AP, large"), (Some(2), "Axial, large")];

/// All tips in a typical body.
pub(super) fn tips_ui(ui: &mut Ui, state: &State, drawn: &mut Drawn, asked: &mut Asked) {
    let series = &state.pages.series;
    let theme = Theme::of(state.display.mode);
    let Some(audit) = &series.audit else { return };
    ui.horizontal_wrapped(|ui| {
        for (seen, words) in SEEN {
            if tab(ui, drawn.large == seen, words, &theme).clicked() {
                drawn.large = seen;
            }
        }
    });
    let room = ui.available_size() - vec2(12.0, 0.0);
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        let gap = ui.spacing().item_spacing.x;
        // All three beside each other where there is room, else one below the other.
        let third = (room.x - 2.0 * gap) / 3.0;
        let width = match drawn.large {
            Some(_) => room.x.min((room.y - BELOW) / SHAPE),
            None if third >= BODY.0 => third.min(BODY.1),
            None => room.x.min(BODY.1),
        };
        let width = width.max(BODY.0);
        let key = (series.version, width.to_bits());
        if drawn.tips.as_ref().is_none_or(|(version, bits, _)| (*version, *bits) != key) {
            let size = (f64::from(width), f64::from(SHAPE * width));
            drawn.tips = Some((key.0, key.1, tips::drawn(&series.taken(), audit, size)));
        }
        let Some((.., three)) = &drawn.tips else { return };
        let seen: Vec<&Described> = match drawn.large.and_then(|one| three.get(one)) {
            Some(one) => vec![one],
            None => three.iter().collect(),
        };
        ui.horizontal_wrapped(|ui| {
            for one in &seen {
                drawing(ui, one, &theme);
            }
        });
        for one in &seen {
            weak(ui, &one.words);
        }
        ui.add_space(pt(space::S1));
        weak(ui, tips::KEY);
        data_ui(ui, state, asked);
    });
}

/// How far tips lay from the middle of the band, over time.
pub(super) fn errors_ui(ui: &mut Ui, state: &State, drawn: &mut Drawn, asked: &mut Asked) {
    let theme = Theme::of(state.display.mode);
    let (charts, _) = drawn.charts(state);
    let Some(audit) = &state.pages.series.audit else { return };
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        if charts.is_empty() {
            weak(ui, "None of these bodies has both a date and a final reading with a target.");
        } else {
            zoom_words(ui);
        }
        for chart in charts {
            chart_ui(ui, chart, &theme, CHART);
            ui.add_space(pt(space::S2));
        }
        if !audit.errors.is_empty() {
            heading(ui, "Distance of the tip from the center of the target range");
            let names = ["", "Coordinate", "Bodies", "Mean, 95 % interval", "", "SD"];
            shares::grid(ui, "errors", &names, |ui| {
                for one in &audit.errors {
                    for words in error_cells(one) {
                        ui.label(words);
                    }
                    ui.end_row();
                }
            });
            data_ui(ui, state, asked);
        }
    });
}

/// Cumulative sums with their limits, and what those mean.
pub(super) fn sums_ui(ui: &mut Ui, state: &State, memory: &mut SeriesMemory, asked: &mut Asked) {
    let theme = Theme::of(state.display.mode);
    let series = &state.pages.series;
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.horizontal_wrapped(|ui| {
            let now = [series.rates.0, series.rates.1].map(format::percent_as_typed);
            let names = ["Acceptable miss rate, %", "Unacceptable miss rate, %"];
            let mut left = false;
            for ((typed, now), name) in memory.rates.iter_mut().zip(&now).zip(names) {
                let label = ui.label(RichText::new(name).small().weak());
                let field = TextEdit::singleline(typed.following(now)).desired_width(56.0);
                left |= ui.add(field).labelled_by(label.id).lost_focus();
            }
            let [acceptable, unacceptable] = [0, 1].map(|i| memory.rates[i].text().to_owned());
            if left && [acceptable.as_str(), unacceptable.as_str()] != [now[0].as_str(), now[1].as_str()] {
                asked.push(on(SeriesCommand::Rates(acceptable, unacceptable)));
            }
        });
        weak(
            ui,
            "A miss is a tip outside the target. The default rates have no source for this procedure; set your own before looking at the chart.",
        );
        let (_, charts) = memory.drawn.charts(state);
        if charts.is_empty() {
            weak(ui, "None of these bodies has an outcome.");
            return;
        }
        zoom_words(ui);
        for (i, chart) in charts.iter().enumerate() {
            chart_ui(ui, chart, &theme, CHART);
            // The decision limits belong to the first, the likelihood ratio's to the other two.
            if let Some(words) = series.limits.get(i.min(1)).filter(|_| i < 2) {
                weak(ui, words);
            }
            ui.add_space(pt(space::S2));
        }
        weak(ui, THREE_WAYS);
        data_ui(ui, state, asked);
    });
}

fn zoom_words(ui: &mut Ui) {
    let words = "Drag to pan, Ctrl and wheel to zoom, right-drag a box to zoom to it, double-click to fit.";
    weak(ui, as_here(words));
}
