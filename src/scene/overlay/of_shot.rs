//! What is drawn over a shot's picture as it stands in its case: the one place where it is put together, for the window, for
//! figures and for compared shots.

use crate::case::document::{Case, Shot};
use crate::case::readings::ShotReading;
use crate::case::readings::body_map::body_map_of;
use crate::measure::body::BodyMap;
use crate::measure::mark::Marks;
use crate::scene::drawing::shape::{Rect, Scene};
use crate::scene::overlay::{LayerSet, Overlay, both_sides, preview, proposed};

/// A shot with what is known of it.
#[derive(Clone, Copy, Debug)]
pub struct ShotOverlay<'a> {
    /// Its case.
    pub case: &'a Case,
    /// The shot.
    pub shot: &'a Shot,
    /// The marks that are drawn: its own, or others on its picture.
    pub marks: &'a Marks,
    /// The body map of these marks, if they have one.
    pub map: Option<&'a BodyMap>,
    /// Their reading, once there is one.
    pub reading: Option<&'a ShotReading>,
    /// What to show.
    pub layers: LayerSet,
    /// Points of the screen to a pixel of the picture.
    pub zoom: f64,
}

impl ShotOverlay<'_> {
    /// The shapes over a picture that fills `bounds`; a draft is drawn as one.
    #[must_use]
    pub fn scene(&self, bounds: Rect) -> Scene {
        let scene = self.drawn(bounds, self.marks, self.map, self.reading);
        self.with_both_sides(proposed::of_draft(scene, self.shot, self.map))
    }

    /// The same while marks are made, but for what [`Self::with_both_sides`] adds: what the next mark would add is drawn as
    /// a preview, and what is not confirmed yet as a draft. `next` are the marks with the next one placed.
    #[must_use]
    pub fn while_marking(&self, bounds: Rect, next: Option<&Marks>, unconfirmed: bool) -> Scene {
        let now = self.drawn(bounds, self.marks, self.map, self.reading);
        let scene = match next {
            // With the point in hand placed, the reading would be that of another body.
            Some(marks) => {
                let map = body_map_of(self.case, self.shot, marks);
                preview::of_next(&now, self.drawn(bounds, marks, map.as_ref(), None))
            }
            None => now,
        };
        if unconfirmed { preview::of_draft(scene) } else { scene }
    }

    /// The scene with the tips of a picture that belongs to both sides.
    #[must_use]
    pub fn with_both_sides(&self, mut scene: Scene) -> Scene {
        both_sides::tips(&mut scene, self.case, self.shot, self.layers);
        scene
    }

    fn drawn(
        &self,
        bounds: Rect,
        marks: &Marks,
        map: Option<&BodyMap>,
        reading: Option<&ShotReading>,
    ) -> Scene {
        let Self { case, shot, layers, zoom, .. } = *self;
        let overlay = Overlay {
            view: shot.view,
            marks,
            map,
            reading,
            stage: shot.stage,
            settings: &case.settings,
            layers,
            zoom,
        };
        overlay.scene(bounds)
    }
}
