//! What a slide says of its images: readings, changes, what the numbers on them stand for, a caption.

use crate::case::document::figure_spec::FigureKind;
use crate::scene::annotation::NO_ROOM;
use crate::scene::drawing::shape::{AlignX, Role, TextSize};
use crate::scene::drawing::theme::space;
use crate::scene::drawing::type_metrics::{width as width_of, wrap};
use crate::scene::figure::asked::FigurePair;
use crate::scene::figure::change::change_in_brief;
use crate::scene::figure::furniture::letter;
use crate::scene::figure::pictured::{Numbered, name};
use crate::scene::figure::slide::{Slide, per};
use crate::scene::page::sheet::{CLOSE_AFTER_SIGN, Sheet};
use crate::scene::words::reading::{self, ReadingLine};

/// Room for a number before what it stands for.
const AFTER_NUMBER: f64 = space::S4 + space::S2;

impl Slide<'_> {
    /// What a pair tells of its images, or what changed from the first to the second.
    pub(super) fn told_of_all(&self) -> Vec<String> {
        if self.options.layers.is_none() {
            return Vec::new();
        }
        match (self.combined(), self.options.style.kind, self.shots) {
            (Some(pair), ..) => {
                let lines = reading::pair(pair.reading);
                let said: Vec<String> = lines.iter().map(ReadingLine::phrase).collect();
                vec![format!("Combined: {}", said.join(" · "))]
            }
            (None, Some(FigureKind::BeforeAfter), [before, after]) => {
                change_in_brief(self.case, before, after).into_iter().collect()
            }
            _ => Vec::new(),
        }
    }

    /// The pair that a figure of a pair tells of: its readings stand in the place of those of the two images.
    pub(super) fn combined(&self) -> Option<&FigurePair<'_>> {
        self.pairs.first().filter(|_| self.options.style.kind == Some(FigureKind::Pair))
    }

    /// What is said of an image: of an AP only how far from the midline, since a lateral tells the height better.
    pub(super) fn lines_of(&self, index: usize) -> Vec<ReadingLine> {
        let Some(shot) = self.shots.get(index).filter(|_| self.options.layers.is_some()) else {
            return Vec::new();
        };
        let lines = reading::lines(shot.reading);
        let across = lines.iter().any(|line| line.name == "midline");
        reading::chief(&lines).filter(|line| !across || line.name != "height").cloned().collect()
    }

    /// The lines of a reading as they flow into a width: how many, and which stand on each.
    pub(super) fn flowed(lines: &[ReadingLine], width: f64) -> Vec<Vec<&ReadingLine>> {
        let mut rows: Vec<(f64, Vec<&ReadingLine>)> = Vec::new();
        for line in lines {
            let need = Self::width_of_line(line);
            match rows.last_mut() {
                Some((used, row)) if *used + space::S2 + need <= width => {
                    *used += space::S2 + need;
                    row.push(line);
                }
                _ => rows.push((need, vec![line])),
            }
        }
        rows.into_iter().map(|(_, row)| row).collect()
    }

    pub(super) fn width_of_line(line: &ReadingLine) -> f64 {
        CLOSE_AFTER_SIGN + width_of(&line.phrase(), TextSize::Small)
    }

    pub(super) fn height_of_words(&self, index: usize, width: f64) -> f64 {
        if self.options.layers.is_none() || self.combined().is_some() {
            return 0.0;
        }
        let lines = self.lines_of(index);
        let rows = Self::flowed(&lines, width);
        // A line that is wider than its place is broken.
        let lines = rows.iter().map(|row| match row.as_slice() {
            [only] => Self::wrapped(only, width).len(),
            _ => 1,
        });
        space::S1 + per(lines.sum::<usize>().max(1)) * Sheet::line_height(TextSize::Small)
    }

    pub(super) fn wrapped(line: &ReadingLine, width: f64) -> Vec<String> {
        wrap(&line.phrase(), TextSize::Small, width - CLOSE_AFTER_SIGN)
    }

    pub(super) fn words_of(&self, page: &mut Sheet, index: usize, (x, width): (f64, f64)) {
        if self.options.layers.is_none() || self.combined().is_some() {
            return;
        }
        let lines = self.lines_of(index);
        if lines.is_empty() {
            page.lines(x, width, "No reading.", Role::Text, TextSize::Small);
        }
        for row in Self::flowed(&lines, width) {
            let (y, mut at, mut bottom) = (page.y, x, page.y);
            for line in row {
                page.y = y;
                page.short_close(at, width, line);
                bottom = bottom.max(page.y);
                at += Self::width_of_line(line) + space::S2;
            }
            page.y = bottom;
        }
    }

    pub(super) fn caption_words(&self) -> Option<&str> {
        self.options.style.caption.as_deref().map(str::trim).filter(|caption| !caption.is_empty())
    }

    pub(super) fn caption_height(&self, page: &Sheet) -> f64 {
        self.caption_words()
            .map_or(0.0, |words| Self::height_of(words, page.inner, TextSize::Small) + space::S1)
    }

    pub(super) fn caption(&self, page: &mut Sheet) {
        if let Some(words) = self.caption_words() {
            page.y += space::S1;
            page.paragraph(words, Role::Text, TextSize::Small);
        }
    }

    /// What the numbers on the images stand for, in one paragraph: `a1, b1 posterior corner · b2 tip`; nothing without numbers.
    pub(super) fn key(&self, numbered: &[Numbered]) -> String {
        let among =
            self.shots.len() > 1 && numbered.iter().filter(|of| named(of).next().is_some()).count() > 1;
        let mut said: Vec<(&str, Vec<String>)> = Vec::new();
        for (index, of_image) in numbered.iter().enumerate() {
            let letter = letter(index).filter(|_| self.options.style.letters && self.shots.len() > 1);
            let image = letter.map(String::from);
            let image = image
                .unwrap_or_else(|| if among { format!("{}: ", self.heading(index)) } else { String::new() });
            for (number, words) in named(of_image) {
                let tag = format!("{image}{number}");
                match said.iter_mut().find(|(of, _)| *of == words) {
                    Some((_, tags)) => tags.push(tag),
                    None => said.push((words, vec![tag])),
                }
            }
        }
        let said: Vec<String> =
            said.iter().map(|(words, tags)| format!("{} {words}", tags.join(", "))).collect();
        said.join(" · ")
    }

    /// Says what has no room on an image, or beside it.
    pub(super) fn tell_left_out(&self, page: &mut Sheet, index: usize, numbered: &Numbered, keyed: bool) {
        let Some(shot) = self.shots.get(index).map(|shot| shot.shot) else { return };
        let without = numbered.iter().filter(|(number, _)| !is_number(number));
        let out = without.map(|(_, words)| {
            let words = words.trim_end_matches(NO_ROOM);
            format!("“{words}” is left out on {}: outside the part shown, or no room.", name(shot))
        });
        page.left_out.extend(out);
        if !keyed && named(numbered).next().is_some() {
            page.left_out
                .push(format!("There is no room to say what the numbers on {} stand for.", name(shot)));
        }
    }

    /// The same below each other in a column that ends at `bottom`; whether there was room for it.
    pub(super) fn key_down(
        page: &mut Sheet,
        (x, width, bottom): (f64, f64, f64),
        numbered: &Numbered,
    ) -> bool {
        let room = width - AFTER_NUMBER;
        let height: f64 =
            named(numbered).map(|(_, words)| Self::height_of(words, room, TextSize::Small)).sum();
        let fits = page.y + space::S2 + height <= bottom;
        if fits && height > 0.0 {
            page.y += space::S2;
            for (number, words) in named(numbered) {
                page.word((x, AlignX::Left), number, Role::Text, TextSize::Small);
                page.lines(x + AFTER_NUMBER, room, words, Role::Text, TextSize::Small);
            }
        }
        fits || height <= 0.0
    }
}

/// Numbers with their words; words that found no room have no number.
fn named(numbered: &Numbered) -> impl Iterator<Item = (&str, &str)> {
    let pairs = numbered.iter().map(|(number, words)| (number.as_str(), words.as_str()));
    pairs.filter(|(number, _)| is_number(number))
}

fn is_number(number: &str) -> bool {
    number.chars().all(|sign| sign.is_ascii_digit())
}
