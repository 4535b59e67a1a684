//! How the C-arm stood in a lateral and an AP, drawn small beside each other below what a figure or a report shows.

use crate::measure::reading::{ApReading, LateralReading};
use crate::scene::drawing::shape::{AlignX, Role, TextSize};
use crate::scene::drawing::theme::space;
use crate::scene::page::sheet::Sheet;
use crate::scene::view_sketch;

/// Height of a drawing in points.
pub(crate) const SKETCH: f64 = 44.0;
/// How many stand beside each other: two of each view; on a narrow page only those of one view.
const BESIDE: f64 = 4.0;
const NARROW: f64 = 520.0;

/// Draws the C-arm of each view from above and from the side; nothing where nothing is known of it.
pub(crate) fn c_arms(page: &mut Sheet, lateral: Option<&LateralReading>, ap: Option<&ApReading>) {
    let narrow = page.inner < NARROW;
    let beside = if narrow { 0.5 * BESIDE } else { BESIDE };
    let size = ((page.inner - (beside - 1.0) * space::S3) / beside, SKETCH);
    let views = [
        ("C-arm, lateral", lateral.map(|reading| view_sketch::of_lateral(reading, size)).unwrap_or_default()),
        ("C-arm, AP", ap.map(|reading| view_sketch::of_ap(reading, size)).unwrap_or_default()),
    ];
    if views.iter().all(|(_, drawn)| drawn.is_empty()) {
        return;
    }
    let (mut top, below) = (page.y + space::S1, Sheet::line_height(TextSize::Small));
    let mut x = page.left;
    for (name, drawn) in views.into_iter().filter(|(_, drawn)| !drawn.is_empty()) {
        page.y = top;
        page.word((x, AlignX::Left), name, Role::WeakText, TextSize::Small);
        page.y += below;
        for one in drawn {
            page.drawing(x, one.scene);
            x += size.0 + space::S3;
        }
        page.y += size.1 + space::S2;
        if narrow {
            (top, x) = (page.y, page.left);
        }
    }
}
