//! A pointer that is seen from afar on any image.

use crate::geom::point::Point;
use crate::scene::drawing::primitive::Primitive;
use crate::scene::drawing::theme::{BLACK, POINTING};

/// Widths of the dark and of the light line, as shares of the radius.
const EDGE: f64 = 0.42;
const LINE: f64 = 0.22;

/// A ring about a place, `radius` from its middle to the middle of its line, in points: light with dark edges, so that it
/// is seen on every gray; open in its middle, so that what is pointed at stays seen.
#[must_use]
pub fn pointer(at: Point, radius: f64) -> Vec<Primitive> {
    let ring = |share: f64, colour| Primitive::Ring { centre: at, radius, width: share * radius, colour };
    vec![ring(EDGE, BLACK), ring(LINE, POINTING)]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// WCAG 2.2, 1.4.11: 3 : 1 for what is needed to understand; one of the two tones has it on each of the 256 grays.
    #[test]
    fn it_is_seen_on_every_gray_and_hides_nothing_in_its_middle() {
        let rings = pointer(Point::new(100.0, 50.0), 20.0);
        let mut colours = Vec::new();
        for ring in &rings {
            let Primitive::Ring { radius, width, colour, .. } = ring else { panic!("no ring") };
            assert!(radius - 0.5 * width > 0.7 * radius, "the middle is open");
            colours.push(*colour);
        }
        for gray in 0..=255 {
            let ground = crate::scene::drawing::theme::Colour::opaque(gray, gray, gray);
            assert!(colours.iter().any(|c| c.contrast(ground) >= 3.0), "gray {gray}");
        }
    }

    /// It once had the tip's yellow, and was taken for one.
    #[test]
    fn it_has_a_colour_that_nothing_else_on_a_slide_has() {
        use crate::scene::drawing::theme::{OKABE_ITO, Theme};
        assert!(OKABE_ITO.iter().all(|(name, hue)| *name == "black" || *hue != POINTING));
        for theme in [Theme::light(), Theme::dark()] {
            let own = [theme.text, theme.weak_text, theme.accent, theme.edge, theme.panel, theme.raised];
            assert!(!own.contains(&POINTING));
        }
    }
}
