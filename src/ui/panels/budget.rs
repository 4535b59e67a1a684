//! What the certainty of each number is made of, and which marks cost the most of it.

use egui::{Button, RichText, Ui, vec2};

use crate::app::command::Command;
use crate::app::command::marks::MarksCommand;
use crate::app::command::window::WindowCommand;
use crate::app::session::state::State;
use crate::app::shots::shot_summary::{ShotSummary, share};
use crate::case::document::Shot;
use crate::measure::quantity::Quantity;
use crate::scene::drawing::theme::{Theme, space};
use crate::scene::format;
use crate::scene::words::proposed;
use crate::ui::look::{colour, pt};
use crate::ui::widgets::{Asked, rule, weak};

/// How many marks are named.
const NAMED: usize = 2;

/// Shows the parts of every number's certainty.
pub fn budget_ui(ui: &mut Ui, state: &State, shot: &Shot, looked: &ShotSummary, asked: &mut Asked) {
    rule(ui);
    for number in looked.numbers() {
        let (named, quantity) = (number.named, number.used());
        ui.label(RichText::new(format!("Uncertainty of the {}", named.phrase())).strong());
        ui.scope(|ui| parts(ui, state, quantity));
        if let Some(share) = proposed::share_of(quantity) {
            weak(ui, share);
        }
        for influence in quantity.influences.iter().take(NAMED) {
            let name =
                format::mark_point(influence.mark, shot.view, shot.marks.slots(influence.mark.kind).len());
            let words = format!(
                "Re-mark the {name}: {} of the uncertainty comes from it",
                format::percent(share(quantity, influence))
            );
            let button = Button::new(RichText::new(words).small()).wrap();
            if ui.add(button).on_hover_text("Select this mark to place it again.").clicked() {
                let step = crate::app::marking::guide::Step::of(&shot.marks, influence.mark);
                asked.push(Command::Marks(MarksCommand::Take(step)));
            }
        }
        ui.add_space(pt(space::S2));
    }
    weak(
        ui,
        "Bone: marking error of the borders. Metal: marking error of the tip. View: undetected rotation. SD in percentage points; the squares of the three add up.",
    );
    if ui.add(Button::new(RichText::new("Hide").small())).clicked() {
        asked.push(Command::Window(WindowCommand::ShowBudget));
    }
}

fn parts(ui: &mut Ui, state: &State, quantity: &Quantity) {
    ui.spacing_mut().interact_size.y = 18.0;
    let theme = Theme::of(state.display.mode);
    let budget = quantity.budget;
    let variance = (quantity.sd() * quantity.sd()).max(f64::MIN_POSITIVE);
    for (name, sd) in [("Bone", budget.bone), ("Metal", budget.metal), ("View", budget.of_view())] {
        ui.horizontal(|ui| {
            let (_, rect) = ui.allocate_space(vec2(48.0, 18.0));
            let painter = ui.painter();
            let small = crate::ui::look::font(crate::scene::drawing::shape::TextSize::Small);
            painter.text(
                rect.left_center(),
                egui::Align2::LEFT_CENTER,
                name,
                small.clone(),
                colour(theme.text),
            );
            let (_, bar) = ui.allocate_space(vec2(ui.available_width() - 112.0, 18.0));
            let bar = bar.shrink2(vec2(0.0, 5.0));
            ui.painter().rect_filled(bar, 2.0, colour(theme.ground));
            let mut filled = bar;
            filled.set_width(bar.width() * pt((sd * sd / variance).clamp(0.0, 1.0)));
            ui.painter().rect_filled(filled, 2.0, colour(theme.edge));
            ui.add(egui::Label::new(
                RichText::new(format!("SD {} points", format::budget_part(sd)))
                    .small()
                    .color(colour(theme.text)),
            ));
        });
    }
}
