//! The body from the side, from the front and from above: where the tip is, how sure that is, and where it should be.

use egui::{Ui, vec2};

use crate::app::session::document::Document;
use crate::app::shots::shot_summary::ShotSummary;
use crate::case::document::Shot;
use crate::case::readings::ShotReading;
use crate::measure::mark::View;
use crate::scene::body_map::{BodyDrawing, Described, Posterior, Sides};
use crate::scene::drawing::theme::Theme;
use crate::ui::widgets::drawing as drawing_ui;

/// Height of the drawing that the shot's own view gives, in points.
const OWN: f32 = 120.0;
/// Height of the two others.
const OTHER: f32 = 124.0;

/// Shows the drawing of the shown shot's own view; none for an en face pedicle view, which sees no body.
pub fn own_drawing_ui(
    ui: &mut Ui,
    document: &Document,
    shot: &Shot,
    looked: Option<&ShotSummary>,
    theme: &Theme,
) {
    if shot.view == View::Pedicle {
        return;
    }
    let drawing = drawing(document, shot, looked);
    let ap = shot.view == View::Ap;
    ui.add_space(4.0);
    let size = vec2(ui.available_width(), OWN);
    show(ui, size, theme, |size| if ap { drawing.front(size) } else { drawing.side(size) });
}

/// Shows the drawings of the other two views.
pub fn other_drawings_ui(
    ui: &mut Ui,
    document: &Document,
    shot: &Shot,
    looked: Option<&ShotSummary>,
    theme: &Theme,
) {
    if shot.view == View::Pedicle {
        return;
    }
    let drawing = drawing(document, shot, looked);
    let ap = shot.view == View::Ap;
    let width = ui.available_width();
    ui.horizontal(|ui| {
        let half = vec2((width - ui.spacing().item_spacing.x) * 0.5, OTHER);
        show(ui, half, theme, |size| if ap { drawing.side(size) } else { drawing.front(size) });
        show(ui, half, theme, |size| drawing.above(size));
    });
}

/// What is known of the body: from the shot, from its partner, and from both together.
pub(in crate::ui) fn drawing<'a>(
    document: &'a Document,
    shot: &'a Shot,
    looked: Option<&'a ShotSummary>,
) -> BodyDrawing<'a> {
    let case = document.case();
    let mut drawing = BodyDrawing::new(&case.settings, shot.stage);
    drawing.posterior = match document.posterior_is_left() {
        Some(false) => Posterior::Right,
        Some(true) | None => Posterior::Left,
    };
    drawing.sides = Sides { patient_right: shot.patient_right.or(case.patient_right), entry: shot.side };
    let pair = document.pair();
    let both = match pair {
        Some(pair) => vec![&case.shots[pair.lateral], &case.shots[pair.ap]],
        None => vec![shot],
    };
    for one in both {
        let own = if one.id == shot.id { looked } else { document.looked(&one.id) };
        let Some(looked) = own else { continue };
        let map = looked.map.as_deref().filter(|_| !one.draft);
        match &looked.reading {
            ShotReading::Lateral(reading) => {
                drawing.lateral = map;
                drawing = drawing.with_lateral(reading, map);
            }
            ShotReading::Ap(reading) => {
                let body = map.map(|map| (map, &one.marks));
                drawing.ap = body;
                drawing = drawing.with_ap(reading, body);
            }
            ShotReading::Pedicle(_) => {}
        }
    }
    match pair {
        Some(pair) => drawing.with_pair(&pair.reading),
        None => drawing,
    }
}

/// Shows a drawing of this size, with its sentence for those who cannot see it.
pub(in crate::ui) fn show(
    ui: &mut Ui,
    size: egui::Vec2,
    theme: &Theme,
    draw: impl FnOnce((f64, f64)) -> Described,
) {
    let drawn = draw((f64::from(size.x), f64::from(size.y)));
    drawing_ui(ui, &drawn, theme).on_hover_text(drawn.words);
}
