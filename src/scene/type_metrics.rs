//! Widths of words in the two typefaces, so that a layout is the same in every format.

use std::sync::OnceLock;

use epaint_default_fonts::{HACK_REGULAR, UBUNTU_LIGHT};
use ttf_parser::Face as FontFace;

use crate::scene::shape::{Face, TextSize};
use crate::scene::theme::Theme;

/// The two typefaces, read once.
struct Faces {
    words: Option<FontFace<'static>>,
    numbers: Option<FontFace<'static>>,
}

fn faces() -> &'static Faces {
    static FACES: OnceLock<Faces> = OnceLock::new();
    FACES.get_or_init(|| Faces {
        words: FontFace::parse(UBUNTU_LIGHT, 0).ok(),
        numbers: FontFace::parse(HACK_REGULAR, 0).ok(),
    })
}

/// Share of the type size by which a character without a glyph is counted.
const UNKNOWN: f64 = 0.6;

/// Width of a line of text in points. Characters that the typeface for words lacks are taken from the other.
#[must_use]
pub fn width(words: &str, face: Face, size: TextSize) -> f64 {
    width_at(words, face, Theme::points(size))
}

/// The same at a type size in points.
#[must_use]
pub fn width_at(words: &str, face: Face, points: f64) -> f64 {
    words.chars().map(|c| advance(c, face)).sum::<f64>() * points
}

/// Height of a capital as a share of the type size: what looks like the height of a line of numbers.
pub const CAP_HEIGHT: f64 = 0.693;

/// Whether one of the typefaces has the character.
#[must_use]
pub fn has_glyph(c: char) -> bool {
    let Faces { words, numbers } = faces();
    [words, numbers].into_iter().flatten().any(|f| f.glyph_index(c).is_some())
}

/// Breaks words into lines no wider than `room` points; a single word wider than that has a line of its own.
#[must_use]
pub fn wrap(words: &str, face: Face, size: TextSize, room: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        if let Some(line) = lines.last_mut() {
            let longer = format!("{line} {word}");
            if width(&longer, face, size) <= room {
                *line = longer;
                continue;
            }
        }
        lines.push(word.to_owned());
    }
    lines
}

fn advance(c: char, face: Face) -> f64 {
    let Faces { words, numbers } = faces();
    let order = match face {
        Face::Words => [words, numbers],
        Face::Numbers => [numbers, words],
    };
    order
        .into_iter()
        .flatten()
        .find_map(|f| {
            let advance = f.glyph_hor_advance(f.glyph_index(c)?)?;
            Some(f64::from(advance) / f64::from(f.units_per_em()))
        })
        .unwrap_or(UNKNOWN)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stand_in_columns() {
        let widths = ["0000", "1111", "38.5"].map(|w| width(w, Face::Numbers, TextSize::Body));
        assert!((widths[0] - widths[1]).abs() < 1e-9 && (widths[0] - widths[2]).abs() < 1e-9);
        assert!(width("mm", Face::Words, TextSize::Body) > width("ii", Face::Words, TextSize::Body));
    }

    #[test]
    fn wrapping_keeps_every_word_and_the_room() {
        let text = "The anterior wall reaches the edge of the frame: the depth may be read too large.";
        let lines = wrap(text, Face::Words, TextSize::Body, 160.0);
        assert!(lines.len() > 2);
        assert!(lines.iter().all(|line| width(line, Face::Words, TextSize::Body) <= 160.0));
        assert_eq!(lines.join(" "), text);
    }

    #[test]
    fn the_signs_the_texts_use_have_glyphs() {
        for c in "●×?–−°±·…“”½²→".chars() {
            assert!(has_glyph(c), "no glyph for {c}");
        }
        for text in crate::scene::caution::FULL {
            assert!(text.chars().all(has_glyph));
        }
    }
}
