//! What the lines of a figure mean.

use crate::measure::mark::Stage;
use crate::measure::settings::{Rule, Settings};
use crate::scene::drawing::shape::{Role, Shape, Space};
use crate::scene::drawing::theme::Ground;
use crate::scene::format;
use crate::scene::overlay::shown_band;
use crate::scene::page::PagePart;
use crate::scene::page::sheet::Entries;

/// The lines that are drawn on the pictures among these parts, each with what it means.
pub(crate) fn legend(parts: &[PagePart], settings: &Settings, stages: &[Option<Stage>]) -> Entries {
    let on_pictures = || parts.iter().filter(|part| part.ground == Ground::Picture);
    let has = |shape: &Shape, role: Role| match shape {
        Shape::Line { role: r, .. } | Shape::Marker { role: r, .. } => *r == role,
        Shape::Strip { .. } | Shape::Shade { .. } | Shape::Text(_) | Shape::Picture { .. } => false,
    };
    // The frame of a picture that cannot be opened is no scale bar.
    let drawn = |role: Role| {
        let bar = role == Role::Frame;
        let meant = on_pictures().filter(|part| !bar || part.scene.space == Space::Points);
        meant.flat_map(|part| &part.scene.shapes).any(|shape| has(shape, role))
    };
    let band = |name: &str, rule| {
        let mut bands = stages.iter().filter_map(|stage| shown_band(settings, *stage, rule));
        let words = if rule == Rule::Midline { format::offset_band } else { format::band };
        match bands.next() {
            Some(first) if bands.all(|band| band == first) => format!("{name}, {}", words(first)),
            _ => format!("{name}, by stage"),
        }
    };
    let entries = [
        (Role::Border, "body border".to_owned()),
        (Role::Draft, "border of a draft, not confirmed".to_owned()),
        (Role::Proposed, "proposed border with its 95 % band, not confirmed".to_owned()),
        (Role::Pedicle, "pedicle border".to_owned()),
        (Role::MeanBorder, "border used (mean of two contours)".to_owned()),
        (Role::SecondContour, "contour as marked".to_owned()),
        (Role::DepthBand, band("depth target", Rule::Depth)),
        (Role::HeightBand, band("height target", Rule::Height)),
        (Role::MidHeight, "mid-height".to_owned()),
        (Role::MidlineBand, band("midline target", Rule::Midline)),
        (Role::Midline, "reference midline".to_owned()),
        (Role::OtherMidline, "midline by other landmarks".to_owned()),
        (Role::SpinousProcess, "spinous process".to_owned()),
        (Role::DockingTarget, "docking target".to_owned()),
        (Role::Quadrants, "pedicle quadrants".to_owned()),
        (Role::Clock, "clock position as displayed".to_owned()),
        (Role::Thirds, "depth thirds".to_owned()),
        (Role::TipRegion, "tip with its 95 % region".to_owned()),
        (Role::Electrode, "electrodes".to_owned()),
        (Role::Cannula, "cannula".to_owned()),
        (Role::Ruler, "ruler, 10 % steps".to_owned()),
        (Role::Frame, "scale bar, at the plane of the body".to_owned()),
    ];
    entries.into_iter().filter(|(role, _)| drawn(*role)).collect()
}
