//! Shares in the target by group, and their differences, for the bodies that are listed.

use egui::{Grid, RichText, ScrollArea, Ui};

use crate::app::session::state::State;
use crate::scene::drawing::theme::Theme;
use crate::scene::format;
use crate::scene::plot::shares as plot;
use crate::scene::words::audit::{NOT_INDEPENDENT, THREE_WAYS, difference_cells, group, share};
use crate::study::selection::Filter;
use crate::ui::pages::series::data::data_ui;
use crate::ui::widgets::{Asked, drawing, heading, weak};

/// Shows them.
pub(super) fn shares_ui(ui: &mut Ui, state: &State, theme: &Theme, asked: &mut Asked) {
    let series = &state.pages.series;
    let Some(audit) = &series.audit else { return };
    ScrollArea::both().auto_shrink(false).show(ui, |ui| {
        if audit.shares.is_empty() {
            weak(ui, "None of these bodies has a final reading in both views, so there are no proportions.");
        } else {
            let of = listed_words(&series.filter);
            weak(ui, format!("Of {of}:"));
            let wide = f64::from((ui.available_width() - 12.0).clamp(420.0, 1100.0));
            let drawn = plot::drawn(audit, wide);
            drawing(ui, &drawn, theme);
            weak(ui, THREE_WAYS);
        }
        if !audit.differences.is_empty() {
            heading(ui, "Differences between proportions, undecided by probability");
            grid(ui, "differences", &["", "Difference, 95 % interval"], |ui| {
                for one in &audit.differences {
                    for words in difference_cells(one) {
                        ui.label(words);
                    }
                    ui.end_row();
                }
            });
            weak(ui, NOT_INDEPENDENT);
        }
        heading(ui, "Proportions in numbers");
        grid(
            ui,
            "shares",
            &["", "Bodies", "In", "Out", "?", "Undecided as hits", "As misses", "By probability"],
            |ui| {
                for one in &audit.shares {
                    ui.label(group(one.by, &one.group));
                    for n in [one.n, one.inside, one.outside, one.undecided] {
                        ui.label(n.to_string());
                    }
                    for estimate in &one.share {
                        ui.label(share(estimate));
                    }
                    ui.end_row();
                }
            },
        );
        data_ui(ui, state, asked);
        let without = series.taken().iter().filter(|body| body.outcome.is_err()).count();
        if without > 0 {
            let words = format::count(without, "body has", "bodies have");
            weak(
                ui,
                format!("{words} no outcome, because a final reading in both views or a target is missing."),
            );
        }
    });
}

pub(super) fn grid(ui: &mut Ui, name: &str, headings: &[&str], rows: impl FnOnce(&mut Ui)) {
    Grid::new(name).striped(true).spacing([20.0, 4.0]).show(ui, |ui| {
        for words in headings {
            ui.label(RichText::new(*words).small().strong());
        }
        ui.end_row();
        rows(ui);
    });
}

/// What is listed, for lines that say so.
fn listed_words(filter: &Filter) -> &'static str {
    if filter.is_open() { "all bodies" } else { "the listed bodies" }
}
