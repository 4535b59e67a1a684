//! Instruments in the body: tip, electrodes, cannula; the same in both views.

use crate::geom::point::{Point, Vec2};
use crate::measure::body::BodyMap;
use crate::measure::body_response::BodyResponse;
use crate::measure::issue::{Issue, IssueCode};
use crate::measure::mark::{MarkKind, MarkRef, Marks};
use crate::measure::marked::{Located, MarkedBody, Sighting};
use crate::measure::quantity::Quantity;
use crate::measure::reading::{Electrodes, Place};

/// What was found of the instruments.
#[derive(Debug, Default)]
pub(crate) struct FoundInstruments {
    pub(crate) tip: Option<Place>,
    pub(crate) electrodes: Option<Electrodes>,
    /// The proximal electrode's place with its gradients.
    pub(crate) proximal: Option<Located>,
    pub(crate) mouth: Option<Place>,
    pub(crate) travel: Option<(f64, f64)>,
}

/// Reads every marked instrument; `place` adds the view's part. Without a response only values are found.
pub(crate) fn find(
    body: &MarkedBody,
    marks: &Marks,
    response: Option<&BodyResponse<'_>>,
    place: impl Fn(&Located) -> Place,
) -> FoundInstruments {
    let mut list: Vec<Sighting> = Vec::new();
    let mut add = |sighting: Sighting| {
        list.push(sighting);
        list.len() - 1
    };
    let mark = |kind, index| {
        let at = MarkRef { kind, index };
        marks.point(at).map(|p| (at, p))
    };
    let tip = mark(MarkKind::Tip, 0).map(|(at, p)| add(Sighting::mark(at, p)));
    let pair = mark(MarkKind::Electrodes, 0).zip(mark(MarkKind::Electrodes, 1)).map(|(a, b)| {
        [add(Sighting::mark(a.0, a.1)), add(Sighting::mark(b.0, b.1)), add(Sighting::middle(a, b))]
    });
    let cannula = marks.complete(MarkKind::Cannula).filter(|cannula| cannula.len() >= 2);
    let mouth = cannula.as_ref().map(|cannula| {
        let index = cannula.len() - 1;
        add(Sighting::mark(MarkRef { kind: MarkKind::Cannula, index }, cannula[index]))
    });
    let located = body.locate(&list, response);
    let at = |index: usize| located[index].as_ref();
    FoundInstruments {
        tip: tip.and_then(at).map(&place),
        electrodes: pair.and_then(|[a, b, middle]| {
            Some(Electrodes {
                proximal: place(at(a)?),
                distal: place(at(b)?),
                centre: place(at(middle)?),
                to_posterior_wall: None,
                to_posterior_wall_mm: None,
            })
        }),
        proximal: pair.and_then(|[a, ..]| at(a).cloned()),
        mouth: mouth.and_then(at).map(&place),
        travel: mouth.and_then(at).zip(cannula).and_then(|(m, cannula)| travel(&body.map, &cannula, m)),
    }
}

/// Direction of the cannula's last stretch in body coordinates, length one.
fn travel(map: &BodyMap, cannula: &[Point], mouth: &Located) -> Option<(f64, f64)> {
    let n = cannula.len();
    let axis = cannula[n - 1] - cannula[n - 2];
    let (_, du, dv) = map.to_image_with_derivatives(mouth.at);
    let det = du.cross(dv);
    let direction = Vec2::new(axis.cross(dv) / det, du.cross(axis) / det).normalized()?;
    Some((direction.x, direction.y))
}

/// The issue of a tip that the map cannot read.
pub(crate) fn unreadable() -> Issue {
    Issue::new(
        IssueCode::Unreadable,
        "The tip is too far from the body to be located in it; check the tip and the corners.",
    )
}

impl Place {
    /// Both quantities, for a simulation to fill in.
    pub(crate) fn quantities(&mut self) -> [&mut Quantity; 2] {
        [&mut self.along, &mut self.height]
    }
}

impl Electrodes {
    /// All quantities, for a simulation to fill in.
    pub(crate) fn quantities(&mut self) -> Vec<&mut Quantity> {
        let mut list = Vec::new();
        for place in [&mut self.proximal, &mut self.distal, &mut self.centre] {
            list.extend(place.quantities());
        }
        list.extend(self.to_posterior_wall.as_mut());
        list.extend(self.to_posterior_wall_mm.as_mut().map(|length| &mut length.quantity));
        list
    }
}
