//! Which part of two compared pictures is seen, and how they hang together: the earlier picture is turned, mirrored
//! and zoomed so that its body lies where the later one's does.

use crate::align::registration::{Registration, body_grid};
use crate::app::display::appearance::Appearance;
use crate::app::display::viewport::{Showing, ShownFrame, Transform, Turn};
use crate::app::session::document::Document;
use crate::app::session::state::State;
use crate::app::work::picture_store::{DecodedPicture, Loading, PictureKey};
use crate::case::document::Shot;
use crate::geom::point::{Point, Vec2};
use crate::measure::body::{BodyMap, BodyPoint};
use crate::measure::link::Link;

/// Places a side of the grid over the body that the link is fitted to.
const GRID: u32 = 9;

/// One of the two shots with what is known of it.
#[derive(Clone, Debug)]
pub struct Half<'a> {
    /// The shot.
    pub shot: &'a Shot,
    /// Its picture's key, if it can be followed.
    pub key: Option<PictureKey>,
    /// How its picture is shown.
    pub aspect: Appearance,
    /// Columns and rows of its picture.
    pub size: (f64, f64),
}

impl<'a> Half<'a> {
    /// The earlier (0) or the later shot (1).
    #[must_use]
    pub fn of(state: &'a State, side: usize) -> Option<Self> {
        let document = state.editor.document.as_ref()?;
        let id = state.pages.compare.shots.as_ref()?.get(side)?;
        Self::on(state, document.case().shot(id)?)
    }

    /// Any shot.
    #[must_use]
    pub fn on(state: &'a State, shot: &'a Shot) -> Option<Self> {
        let document = state.editor.document.as_ref()?;
        let key = state.editor.key_of(shot);
        let extent =
            key.as_ref().and_then(|key| state.editor.pictures.known.get(key)).map(|known| known.extent);
        let size = extent.map_or((512.0, 512.0), |e| (f64::from(e.width), f64::from(e.height)));
        Some(Self { shot, key, aspect: document.aspects.get(&shot.id).copied().unwrap_or_default(), size })
    }

    /// How far its picture has come.
    #[must_use]
    pub fn loading(&self, state: &'a State) -> Option<&'a Loading> {
        state.editor.pictures.loading.get(self.key.as_ref()?)
    }

    /// Its picture, if it is there.
    #[must_use]
    pub fn picture(&self, state: &'a State) -> Option<&'a DecodedPicture> {
        match self.loading(state)? {
            Loading::Ready(picture) => Some(picture),
            Loading::Busy | Loading::Aside | Loading::Failed(_) => None,
        }
    }
}

/// The map from the later picture to its room.
#[must_use]
pub fn later(state: &State) -> Option<Transform> {
    let half = Half::of(state, 1)?;
    let sheet = ShownFrame { size: half.size, turn: half.aspect.turn };
    Some(showing(state, &half).transform(state.pages.compare.canvas, sheet))
}

/// The map from the earlier picture to its room, so that its body lies where the later one's does; side by side without
/// a registration both are fitted alike.
#[must_use]
pub fn earlier(state: &State) -> Option<Transform> {
    let (half, other) = (Half::of(state, 0)?, Half::of(state, 1)?);
    let later = later(state)?;
    let link = match &state.pages.compare.registered {
        Some(Ok(laid)) => link(laid),
        _ => None,
    };
    // Without one both are fitted alike.
    let link = link.unwrap_or(Link {
        from: Point::new(0.5 * half.size.0, 0.5 * half.size.1),
        to: Point::new(0.5 * other.size.0, 0.5 * other.size.1),
        scale: (other.size.0 / half.size.0).min(other.size.1 / half.size.1),
        turn_rad: 0.0,
        mirrored: false,
    });
    Some(linked(later, &link))
}

/// What comes nearest to registering the earlier body to the later one without bending the picture.
fn link(laid: &Registration) -> Option<Link> {
    let pairs: Vec<_> =
        body_grid(GRID).map(|at| laid.from().to_image(at)).map(|p| (p, laid.there(p))).collect();
    Link::nearest(&pairs, laid.from().orientation() * laid.to().orientation() < 0.0)
}

/// A transform with a link before it.
fn linked(later: Transform, link: &Link) -> Transform {
    let degrees = link.turn_rad.to_degrees();
    // A mirror after a turn is the opposite turn after the mirror.
    let degrees =
        if later.turn.mirrored { later.turn.degrees - degrees } else { later.turn.degrees + degrees };
    let turn = Turn { degrees: degrees.rem_euclid(360.0), mirrored: later.turn.mirrored != link.mirrored };
    let at = later.to_canvas(link.to).to_vec();
    Transform::about(link.from, at, later.zoom * link.scale, turn)
}

fn showing(state: &State, half: &Half<'_>) -> Showing {
    let page = &state.pages.compare;
    page.showing.unwrap_or_else(|| {
        let map = state.editor.document.as_ref().and_then(|document| map(document, &half.shot.id));
        let corners = [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)];
        let about = map.and_then(|map| {
            let corners = corners.map(|(u, v)| map.to_image(BodyPoint::new(u, v)));
            Showing::around(page.canvas, half.aspect.turn, corners)
        });
        about.unwrap_or(Showing::Whole)
    })
}

fn map<'a>(document: &'a Document, id: &str) -> Option<&'a BodyMap> {
    document.looked(id)?.map.as_deref()
}

pub(super) fn zoom(state: &mut State, at: Point, factor: f64) {
    change(state, |showing, sheet, canvas| {
        let place = showing.transform(canvas, sheet).to_image(at);
        showing.zoomed(canvas, sheet, place, factor)
    });
}

pub(super) fn pan(state: &mut State, by: Vec2) {
    change(state, |showing, sheet, canvas| showing.panned(canvas, sheet, by));
}

fn change(
    state: &mut State,
    f: impl FnOnce(Showing, ShownFrame, crate::app::display::viewport::Canvas) -> Showing,
) {
    let Some(half) = Half::of(state, 1) else { return };
    let sheet = ShownFrame { size: half.size, turn: half.aspect.turn };
    let now = showing(state, &half);
    state.pages.compare.showing = Some(f(now, sheet, state.pages.compare.canvas));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn linked_places_fall_on_each_other_however_turned() {
        for (degrees, mirrored) in [(0.0, false), (90.0, false), (37.0, true), (270.0, true)] {
            for (turn_rad, flipped) in [(0.0, false), (0.4, true), (-1.0, false), (2.0, true)] {
                let turn = Turn { degrees, mirrored };
                let later = Transform { zoom: 1.3, origin: Vec2::new(40.0, -20.0), turn };
                let link = Link {
                    from: Point::new(300.0, 200.0),
                    to: Point::new(120.0, 410.0),
                    scale: 0.7,
                    turn_rad,
                    mirrored: flipped,
                };
                let earlier = linked(later, &link);
                for p in [Point::new(0.0, 0.0), Point::new(350.0, 120.0)] {
                    let direct = earlier.to_canvas(p);
                    let through = later.to_canvas(link.apply(p));
                    assert!(direct.distance(through) < 1e-9, "{turn:?} {link:?}");
                }
            }
        }
    }
}
