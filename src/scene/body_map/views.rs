//! The drawings of a body in its three directions. They stand apart from what they show, so that each direction needs
//! only that.

use crate::measure::body::BodyMap;
use crate::scene::body_map::{BodyDrawing, Described, above, front, side, tip_path};

impl BodyDrawing<'_> {
    /// The body from the side: depth and height.
    #[must_use]
    pub fn side(&self, size: (f64, f64)) -> Described {
        self.described(side::drawing(self, size).0, tip_path::SIDE)
    }

    /// The body from the front, or from behind where the picture shows it so: across and height.
    #[must_use]
    pub fn front(&self, size: (f64, f64)) -> Described {
        self.described(front::drawing(self, size).0, tip_path::FRONT)
    }

    /// The body from above: across and depth.
    #[must_use]
    pub fn above(&self, size: (f64, f64)) -> Described {
        self.described(above::drawing(self, size).0, tip_path::ABOVE)
    }

    /// The three drawings from the side, from the front and from above, each with the map into it where it has one: for
    /// whoever has more to draw upon them.
    pub(crate) fn boards(&self, size: (f64, f64)) -> [(Described, Option<BodyMap>); 3] {
        [side::drawing(self, size), front::drawing(self, size), above::drawing(self, size)]
    }

    /// A drawing whose sentence also tells the way.
    fn described(&self, drawing: Described, pick: tip_path::PlaceAxes) -> Described {
        Described { words: drawing.words + &tip_path::words(&self.way, pick), ..drawing }
    }
}
