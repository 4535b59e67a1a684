//! The typeface: widths of words, and which glyph stands where, so that a layout is the same in every format.
//!
//! Words and numbers are in one light typeface whose figures all have the same width, so numbers stand in
//! columns. The few signs it lacks are taken from a second one. Letters are not kerned, as in the window.

use std::sync::OnceLock;

use epaint_default_fonts::{HACK_REGULAR, UBUNTU_LIGHT};
use ttf_parser::{Face, GlyphId, OutlineBuilder};

use crate::scene::drawing::shape::TextSize;
use crate::scene::drawing::theme::Theme;

/// Share of the type size by which a character without a glyph is counted.
const UNKNOWN: f64 = 0.6;

/// Height of a capital as a share of the type size: what looks like the height of a line of numbers.
pub const CAP_HEIGHT: f64 = 0.693;

/// One glyph of a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlacedGlyph {
    /// The character it stands for.
    pub character: char,
    /// How far from the line's left end it begins, as a share of the type size.
    pub x: f64,
}

/// The typefaces in the order in which a character is looked for, read once.
fn faces() -> &'static [Face<'static>] {
    static FACES: OnceLock<Vec<Face<'static>>> = OnceLock::new();
    FACES.get_or_init(|| typefaces().into_iter().filter_map(|data| Face::parse(data, 0).ok()).collect())
}

fn glyph(c: char) -> Option<(&'static Face<'static>, GlyphId)> {
    faces().iter().find_map(|face| Some((face, face.glyph_index(c)?)))
}

/// The typefaces' files in the order in which a character is looked for, for formats that embed them.
#[must_use]
pub const fn typefaces() -> [&'static [u8]; 2] {
    [UBUNTU_LIGHT, HACK_REGULAR]
}

/// Which of the typefaces has the character.
#[must_use]
pub fn typeface_of(c: char) -> Option<usize> {
    faces().iter().position(|face| face.glyph_index(c).is_some())
}

/// The number of a character's glyph in one of the typefaces, given by its place among them.
#[must_use]
pub fn glyph_number(c: char, face: usize) -> Option<u16> {
    Some(faces().get(face)?.glyph_index(c)?.0)
}

/// Whether one of the typefaces has the character.
#[must_use]
pub fn has_glyph(c: char) -> bool {
    glyph(c).is_some()
}

/// Width of a line of text in points.
#[must_use]
pub fn width(words: &str, size: TextSize) -> f64 {
    width_at(words, Theme::points(size))
}

/// The same at a type size in points.
#[must_use]
pub fn width_at(words: &str, points: f64) -> f64 {
    words.chars().map(advance).sum::<f64>() * points
}

/// The glyphs of a line from left to right.
#[must_use]
pub fn placed(words: &str) -> Vec<PlacedGlyph> {
    let mut x = 0.0;
    words
        .chars()
        .map(|character| {
            let glyph = PlacedGlyph { character, x };
            x += advance(character);
            glyph
        })
        .collect()
}

/// Draws a character's outline into `builder`, in units of the type size with y upward, or nothing where it has
/// none.
pub fn outline(c: char, builder: &mut dyn OutlineBuilder) {
    let Some((face, id)) = glyph(c) else { return };
    let unit = 1.0 / f32::from(face.units_per_em());
    face.outline_glyph(id, &mut Scaled { unit, to: builder });
}

/// Breaks words into lines no wider than `room` points, in a time that grows with their length alone. A word that is
/// wider than that is broken.
#[must_use]
pub fn wrap(words: &str, size: TextSize, room: f64) -> Vec<String> {
    let space = width(" ", size);
    let mut lines: Vec<String> = Vec::new();
    let mut used = f64::INFINITY;
    let mut words = words.split_whitespace().peekable();
    while let Some(word) = words.next() {
        let word = with_unit(word, &mut words);
        let wide = width(&word, size);
        if let Some(line) = lines.last_mut().filter(|_| used + space + wide <= room) {
            line.push(' ');
            line.push_str(&word);
            used += space + wide;
        } else {
            used = push_broken(&mut lines, &word, size, room);
        }
    }
    lines
}

/// Width of the widest word that [`wrap`] does not break in a room as wide as that.
#[must_use]
pub fn widest_word(words: &str, size: TextSize) -> f64 {
    let mut widest = 0.0_f64;
    let mut words = words.split_whitespace().peekable();
    while let Some(word) = words.next() {
        widest = widest.max(width(&with_unit(word, &mut words), size));
    }
    widest
}

/// A number with what must not stand on the next line: its unit, and its uncertainty with that one's number.
fn with_unit<'a>(word: &str, rest: &mut std::iter::Peekable<impl Iterator<Item = &'a str>>) -> String {
    let mut whole = word.to_owned();
    if !word.ends_with(|c: char| c.is_ascii_digit()) {
        return whole;
    }
    while let Some(next) = rest.next_if(|next| next.starts_with('%') || *next == "mm" || *next == "±") {
        whole = format!("{whole} {next}");
        if next == "±"
            && let Some(number) = rest.next()
        {
            whole = format!("{whole} {number}");
        }
    }
    whole
}

/// Adds a word on lines of its own, as many as it needs; gives the width of the last.
fn push_broken(lines: &mut Vec<String>, word: &str, size: TextSize, room: f64) -> f64 {
    let points = Theme::points(size);
    let (mut piece, mut used) = (String::new(), 0.0);
    for c in word.chars() {
        let wide = advance(c) * points;
        if used + wide > room && !piece.is_empty() {
            lines.push(std::mem::take(&mut piece));
            used = 0.0;
        }
        piece.push(c);
        used += wide;
    }
    lines.push(piece);
    used
}

fn advance(c: char) -> f64 {
    let known = glyph(c).and_then(|(face, id)| {
        let advance = face.glyph_hor_advance(id)?;
        Some(f64::from(advance) / f64::from(face.units_per_em()))
    });
    known.unwrap_or(UNKNOWN)
}

/// Carries an outline from a typeface's own units to the type size.
struct Scaled<'a> {
    unit: f32,
    to: &'a mut dyn OutlineBuilder,
}

impl OutlineBuilder for Scaled<'_> {
    fn move_to(&mut self, x: f32, y: f32) {
        self.to.move_to(x * self.unit, y * self.unit);
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.to.line_to(x * self.unit, y * self.unit);
    }
    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let u = self.unit;
        self.to.quad_to(x1 * u, y1 * u, x * u, y * u);
    }
    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let u = self.unit;
        self.to.curve_to(x1 * u, y1 * u, x2 * u, y2 * u, x * u, y * u);
    }
    fn close(&mut self) {
        self.to.close();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stand_in_columns() {
        let widths = ["0000", "1111", "−38±"].map(|w| width(w, TextSize::Body));
        assert!((widths[0] - widths[1]).abs() < 1e-9 && (widths[0] - widths[2]).abs() < 1e-9);
        assert!(width("mm", TextSize::Body) > width("ii", TextSize::Body));
    }

    #[test]
    fn wrapping_keeps_every_word_and_the_room() {
        let text = "The anterior wall reaches the edge of the frame: the depth may be read too large.";
        let lines = wrap(text, TextSize::Body, 160.0);
        assert!(lines.len() > 2);
        assert!(lines.iter().all(|line| width(line, TextSize::Body) <= 160.0));
        assert_eq!(lines.join(" "), text);
        let units = wrap("inside with 95 % confidence, 12 mm", TextSize::Body, 96.0);
        assert!(units.iter().all(|line| !line.starts_with('%') && !line.starts_with("mm")), "{units:?}");
        let spread = wrap("depth 42 % ± 3", TextSize::Body, 70.0);
        assert_eq!(spread, ["depth", "42 % ± 3"]);
    }

    /// Once every letter was measured again for each word of the line, and a word wider than the room ran out of it.
    #[test]
    fn long_words_are_broken_and_long_texts_end() {
        let title = "x".repeat(100_000);
        let lines = wrap(&title, TextSize::Body, 300.0);
        assert!(lines.len() > 1000 && lines.iter().all(|line| width(line, TextSize::Body) <= 300.0 + 1e-6));
        assert_eq!(lines.concat(), title);
        assert_eq!(wrap("abc", TextSize::Body, 0.0), ["a", "b", "c"]);
        assert!(wrap(&"caption ".repeat(10_000), TextSize::Small, 300.0).len() > 1000);
    }

    #[test]
    fn the_signs_the_texts_use_have_glyphs() {
        for c in "●×?–−°±·…“”’½²→".chars() {
            assert!(has_glyph(c), "no glyph for {c}");
        }
        for text in crate::scene::words::caution::FULL {
            assert!(text.chars().all(has_glyph));
        }
    }
}
