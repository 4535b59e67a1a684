//! How proposed marks of the shown shot are drawn: while they are offered, and as a draft of the case.

use crate::app::session::document::Document;
use crate::case::document::Shot;
use crate::measure::body::BodyMap;
use crate::measure::border_line::scale_of;
use crate::measure::mark::MarkKind;
use crate::scene::drawing::shape::Scene;
use crate::scene::overlay::proposed::ProposedBorders;
use crate::scene::overlay::{Layer, LayerSet};

/// What is drawn while proposed marks are checked: the borders and nothing that a target or a number would draw the eye to.
#[must_use]
pub fn layers(document: &Document, shot: &Shot, shown: LayerSet) -> LayerSet {
    let proposed = document.proposals.offered(shot).is_some() || (shot.draft && !shot.proposed.is_empty());
    if !proposed {
        return shown;
    }
    [
        Layer::DepthBand,
        Layer::HeightBand,
        Layer::MidlineBand,
        Layer::Midlines,
        Layer::Thirds,
        Layer::Ruler,
        Layer::Labels,
    ]
    .into_iter()
    .fold(shown, LayerSet::without)
}

/// The scene with proposed borders in their own style; unchanged where nothing waits to be confirmed.
#[must_use]
pub fn over(scene: Scene, document: &Document, shot: &Shot, map: Option<&BodyMap>) -> Scene {
    let offered = document.proposals.offered(shot);
    let (Some(map), true) = (map, offered.is_some() || shot.draft) else { return scene };
    let (marks, proposed) =
        offered.map_or((&shot.marks, &shot.proposed), |offer| (&offer.marks, &offer.proposed));
    let Some(mm_per_px) = scale_of(shot.view, marks, shot.mm_per_px) else { return scene };
    let faint: Vec<MarkKind> =
        document.proposals.present(shot).map(|offer| offer.faint()).unwrap_or_default();
    ProposedBorders { view: shot.view, map, proposed, faint: &faint, mm_per_px }.over(scene)
}
