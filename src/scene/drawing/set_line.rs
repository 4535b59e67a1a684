//! A line of words set in type: where its left end, its baseline and its plate come to lie, the same for every format.

use crate::geom::point::Point;
use crate::scene::drawing::shape::{AlignX, AlignY, Rect};
use crate::scene::drawing::theme::space;
use crate::scene::drawing::type_metrics::{CAP_HEIGHT, PlacedGlyph, placed, typeface_of, width_at};

/// Where a line of words stands, in points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SetLine {
    /// Left end of the first letter.
    pub left: f64,
    /// The line on which the letters stand.
    pub baseline: f64,
    /// Width of all letters.
    pub width: f64,
    /// Type size.
    pub size: f64,
}

impl SetLine {
    /// The line of these words of this type size at a place.
    #[must_use]
    pub fn of(words: &str, size: f64, at: Point, align: (AlignX, AlignY)) -> Self {
        let width = width_at(words, size);
        let left = match align.0 {
            AlignX::Left => at.x,
            AlignX::Middle => at.x - 0.5 * width,
            AlignX::Right => at.x - width,
        };
        let cap = CAP_HEIGHT * size;
        let baseline = match align.1 {
            // A line of text is 1.2 of its size high; its capitals stand in the middle of that.
            AlignY::Top => at.y + 0.6 * size + 0.5 * cap,
            AlignY::Middle => at.y + 0.5 * cap,
            AlignY::Bottom => at.y - 0.6 * size + 0.5 * cap,
        };
        Self { left, baseline, width, size }
    }

    /// From the top of the capitals to the baseline: what looks like the place of the words.
    #[must_use]
    pub fn ink(&self) -> Rect {
        Rect::new(self.left, self.baseline - CAP_HEIGHT * self.size, self.left + self.width, self.baseline)
    }

    /// The plate behind the words.
    #[must_use]
    pub fn plate(&self) -> Rect {
        self.ink().grown(space::S1)
    }
}

/// The glyphs of a line as runs of one typeface each, in order, with the number of the typeface. A space belongs to the
/// run before it, so that words are not torn apart where they are searched; a character that no typeface has is left
/// out.
#[must_use]
pub fn runs(words: &str) -> Vec<(usize, Vec<PlacedGlyph>)> {
    let mut runs: Vec<(usize, Vec<PlacedGlyph>)> = Vec::new();
    for glyph in placed(words) {
        let Some(face) = typeface_of(glyph.character) else { continue };
        match runs.last_mut() {
            Some((of, run)) if *of == face || glyph.character == ' ' => run.push(glyph),
            _ => runs.push((face, vec![glyph])),
        }
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Words behind a sign were once written in the sign's typeface, at places meant for another.
    #[test]
    fn each_letter_is_in_the_typeface_it_was_measured_in() {
        let runs = runs("● inside ○");
        let said: Vec<_> = runs
            .iter()
            .map(|(face, run)| (*face, run.iter().map(|g| g.character).collect::<String>()))
            .collect();
        assert_eq!(said, [(1, "● ".to_owned()), (0, "inside ".to_owned()), (1, "○".to_owned())]);
        for (face, run) in &runs {
            assert!(run.iter().all(|g| g.character == ' ' || typeface_of(g.character) == Some(*face)));
        }
    }

    /// A line of 10 points aligned to its middle has its capitals' middle there: 6.93 / 2 above and below.
    #[test]
    fn words_stand_about_their_place() {
        let at = Point::new(50.0, 20.0);
        let line = SetLine::of("38 %", 10.0, at, (AlignX::Middle, AlignY::Middle));
        assert!((line.baseline - 23.465).abs() < 1e-9);
        assert!(line.ink().centre().distance(at) < 1e-9);
        let right = SetLine::of("38 %", 10.0, at, (AlignX::Right, AlignY::Top));
        assert!((right.left + right.width - 50.0).abs() < 1e-9 && right.baseline > 20.0);
    }
}
