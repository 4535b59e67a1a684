//! A sheet being filled from top to bottom: lines of words, readings, issues, a legend, a rule.
//!
//! Figures and the pages of documents are filled the same way, so they look the same.

use crate::geom::point::Point;
use crate::measure::issue::Issue;
use crate::measure::verdict::State;
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Rect, Role, Scene, Space, Text, TextSize};
use crate::scene::drawing::theme::{Ground, Theme, space, state_sign};
use crate::scene::drawing::type_metrics::{width as width_of, wrap};
use crate::scene::format;
use crate::scene::page::{Page, PagePart};
use crate::scene::words::reading::ReadingLine;

/// Where a verdict's sign or an issue's stands before the words that belong to it, and where those begin.
const SIGN: f64 = 6.0;
const AFTER_SIGN: f64 = space::S4 + space::S1;
/// The same where readings stand close to each other.
pub(crate) const CLOSE_AFTER_SIGN: f64 = 14.0;
/// Lines and signs that are on images, each with what it means.
pub(crate) type Entries = Vec<(Role, String)>;
/// Length of a sample of a line, and where it stands close to others.
const SAMPLE: f64 = 34.0;
const CLOSE_SAMPLE: f64 = 22.0;
/// Room for the name of a reading before its number.
const NAME: f64 = 64.0;

/// A page under way. Lengths are in points of the layout; [`Page::scale`] makes them points of paper.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// Left edge of what is written.
    pub left: f64,
    /// Width of what is written.
    pub inner: f64,
    /// Pixels to a point when the page becomes pixels.
    pub raster: f64,
    /// Where the next thing goes, from the top.
    pub y: f64,
    /// The parts so far; words and samples of lines come on top of them.
    pub parts: Vec<PagePart>,
    words: Scene,
    samples: Scene,
    /// What has no room on it, a sentence each.
    pub left_out: Vec<String>,
}

impl Sheet {
    /// An empty sheet, written on from `left` and from `top`, `inner` wide.
    #[must_use]
    pub fn new(left: f64, top: f64, inner: f64, raster: f64) -> Self {
        let empty = Scene::new(Space::Points, Rect::new(0.0, 0.0, 0.0, 0.0));
        Self {
            left,
            inner,
            raster,
            y: top,
            parts: Vec::new(),
            words: empty.clone(),
            samples: empty,
            left_out: Vec::new(),
        }
    }

    /// Height of a line of words.
    #[must_use]
    pub fn line_height(size: TextSize) -> f64 {
        (Theme::points(size) * 1.35).round()
    }

    /// The nearest place that is a whole number of pixels.
    #[must_use]
    pub fn snapped(&self, at: f64) -> f64 {
        (at * self.raster).round() / self.raster
    }

    /// Whether nothing is on it yet.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.parts.is_empty() && self.words.shapes.is_empty() && self.samples.shapes.is_empty()
    }

    /// Words from `x` on, broken into lines no wider than `width`.
    pub fn lines(&mut self, x: f64, width: f64, words: &str, role: Role, size: TextSize) {
        for line in wrap(words, size, width) {
            self.word((x, AlignX::Left), &line, role, size);
            self.y += Self::line_height(size);
        }
    }

    /// One line of words that stands at `x`; the sheet goes no further down.
    pub fn word(&mut self, (x, align): (f64, AlignX), words: &str, role: Role, size: TextSize) {
        let at = Point::new(x, self.y);
        self.words.text(Text::new(at, words, role).sized(size).aligned(align, AlignY::Top));
    }

    /// Height of words over the whole width.
    #[must_use]
    pub fn height_of(&self, words: &str, size: TextSize) -> f64 {
        wrap(words, size, self.inner).iter().map(|_| Self::line_height(size)).sum()
    }

    /// Words over the whole width.
    pub fn paragraph(&mut self, words: &str, role: Role, size: TextSize) {
        self.lines(self.left, self.inner, words, role, size);
    }

    /// A thin line over the whole width.
    pub fn rule(&mut self) {
        let ends = [self.left, self.left + self.inner].map(|x| Point::new(x, self.y));
        self.words.line(ends.to_vec(), Role::Frame);
        self.y += space::S3;
    }

    /// A sign in the middle of the line that comes next.
    pub fn sign(&mut self, x: f64, (role, glyph): (Role, Glyph), size: TextSize) {
        self.words.marker(Point::new(x, self.y + 0.5 * Self::line_height(size)), glyph, role);
    }

    /// A drawing in points, its top-left corner at `x` and here; the sheet goes no further down.
    pub fn drawing(&mut self, x: f64, scene: Scene) {
        let size = (scene.bounds.width(), scene.bounds.height());
        let room = Rect::new(x, self.y, x + size.0, self.y + size.1);
        self.parts.push(PagePart { room, scene, ground: Ground::Panel });
    }

    /// One line of a reading: sign, name and number; the words below them.
    pub fn reading_line(&mut self, x: f64, width: f64, line: &ReadingLine) {
        let text_x = x + AFTER_SIGN;
        let height = Self::line_height(TextSize::Body);
        let middle = self.y + 0.5 * height;
        if let Some(sign) = line.sign {
            self.sign(x + SIGN, sign, TextSize::Body);
        }
        let room = width - AFTER_SIGN - NAME;
        // A number with words behind it may be wider than a narrow column.
        let broken = width_of(&line.number, TextSize::Body) > room;
        let mut beside = vec![(text_x, line.name.as_str())];
        beside.extend((!broken).then_some((text_x + NAME, line.number.as_str())));
        for (x, words) in beside {
            let text = Text::new(Point::new(x, middle), words, Role::Text).sized(TextSize::Body);
            self.words.text(text.aligned(AlignX::Left, AlignY::Middle));
        }
        if broken {
            self.lines(text_x + NAME, room, &line.number, Role::Text, TextSize::Body);
        } else {
            self.y += height;
        }
        self.lines(text_x, width - AFTER_SIGN, &line.words, Role::WeakText, TextSize::Small);
        self.y += space::S2;
    }

    /// A reading in short: sign, name and number on one line of small type.
    pub fn short_line(&mut self, x: f64, line: &ReadingLine) {
        if let Some(sign) = line.sign {
            self.sign(x + SIGN, sign, TextSize::Small);
        }
        let words = line.phrase();
        self.word((x + AFTER_SIGN, AlignX::Left), &words, Role::Text, TextSize::Small);
        self.y += Self::line_height(TextSize::Small);
    }

    /// Readings in short beside each other, as many as fit.
    pub fn short_lines(&mut self, lines: &[ReadingLine]) {
        let (top, mut x) = (self.y, self.left);
        let mut y = top;
        for line in lines {
            let words = line.phrase();
            let width = AFTER_SIGN + width_of(&words, TextSize::Small) + space::S6;
            if x > self.left && x + width > self.left + self.inner {
                x = self.left;
                y += Self::line_height(TextSize::Small);
            }
            self.y = y;
            self.short_line(x, line);
            x += width;
        }
        if !lines.is_empty() {
            self.y = y + Self::line_height(TextSize::Small) + space::S2;
        }
    }

    /// What the signs of verdicts mean, those that are among these.
    pub fn states(&mut self, states: impl Iterator<Item = State>) {
        let mut shown: Vec<State> = Vec::new();
        for state in states {
            if !shown.contains(&state) {
                shown.push(state);
            }
        }
        let mut x = self.left;
        for state in &shown {
            let words = format::state(*state);
            let width = AFTER_SIGN + width_of(words, TextSize::Small) + space::S4;
            if x > self.left && x + width > self.left + self.inner {
                x = self.left;
                self.y += Self::line_height(TextSize::Small);
            }
            self.sign(x + SIGN, state_sign(*state), TextSize::Small);
            self.word((x + AFTER_SIGN, AlignX::Left), words, Role::WeakText, TextSize::Small);
            x += width;
        }
        if !shown.is_empty() {
            self.y += Self::line_height(TextSize::Small);
        }
    }

    /// What was found with a shot, a sentence each.
    pub fn issues(&mut self, x: f64, width: f64, issues: &[Issue]) {
        for issue in issues {
            self.sign(x + SIGN, (Role::Undecided, Glyph::Triangle), TextSize::Small);
            self.lines(x + AFTER_SIGN, width - AFTER_SIGN, &issue.text, Role::Text, TextSize::Small);
            self.y += space::S1;
        }
    }

    /// A reading in short, broken where it does not fit.
    pub(crate) fn short_wrapped(&mut self, x: f64, width: f64, line: &ReadingLine) {
        if let Some(sign) = line.sign {
            self.sign(x + SIGN, sign, TextSize::Small);
        }
        let words = line.phrase();
        self.lines(x + AFTER_SIGN, width - AFTER_SIGN, &words, Role::Text, TextSize::Small);
    }

    /// The same with the sign close to the words, and without one where there is no verdict.
    pub(crate) fn short_close(&mut self, x: f64, width: f64, line: &ReadingLine) {
        if let Some(sign) = line.sign {
            self.sign(x + SIGN, sign, TextSize::Small);
        }
        self.lines(
            x + CLOSE_AFTER_SIGN,
            width - CLOSE_AFTER_SIGN,
            &line.phrase(),
            Role::Text,
            TextSize::Small,
        );
    }

    /// How many cautions there are where their sentences have no room; one line.
    pub(crate) fn caution_count(&mut self, x: f64, width: f64, count: usize) {
        self.sign(x + SIGN, (Role::Undecided, Glyph::Triangle), TextSize::Small);
        let short = format::count(count, "caution", "cautions");
        let long = format!("{short}: see the report");
        let fits = width_of(&long, TextSize::Small) <= width - AFTER_SIGN;
        let words = if fits { long } else { short };
        self.word((x + AFTER_SIGN, AlignX::Left), &words, Role::Text, TextSize::Small);
        self.y += Self::line_height(TextSize::Small);
    }

    /// Samples of lines as they are on the pictures, each with its words, as many beside each other as fit.
    pub fn legend(&mut self, entries: &[(Role, String)]) {
        let height = Self::line_height(TextSize::Small) + space::S1;
        self.legend_rows(entries, (SAMPLE, space::S6), height);
        if !entries.is_empty() {
            self.y += space::S3;
        }
    }

    /// The same close to each other, for pages whose height is short.
    pub(crate) fn legend_close(&mut self, entries: &[(Role, String)]) {
        self.legend_rows(entries, (CLOSE_SAMPLE, space::S4), Self::line_height(TextSize::Small));
    }

    /// The height of that on a page this wide.
    pub(crate) fn height_of_legend(inner: f64, entries: &[(Role, String)]) -> f64 {
        let rows = rows(entries, inner, (CLOSE_SAMPLE, space::S4)).len();
        #[expect(clippy::cast_precision_loss, reason = "a few")]
        let rows = rows as f64;
        rows * Self::line_height(TextSize::Small)
    }

    /// The same below each other in a column, words broken where they do not fit.
    pub(crate) fn legend_down(&mut self, x: f64, width: f64, entries: &[(Role, String)]) {
        let before = CLOSE_SAMPLE + space::S2;
        for (role, words) in entries {
            self.sample(*role, x, self.y + 0.5 * Self::line_height(TextSize::Small), CLOSE_SAMPLE);
            self.lines(x + before, width - before, words, Role::WeakText, TextSize::Small);
        }
    }

    fn legend_rows(&mut self, entries: &[(Role, String)], (sample, gap): (f64, f64), height: f64) {
        for row in rows(entries, self.inner, (sample, gap)) {
            let (mut x, y) = (self.left, self.y + 0.5 * height);
            for (role, words) in row {
                self.sample(*role, x, y, sample);
                self.words.text(Text::new(Point::new(x + sample + space::S2, y), words, Role::WeakText));
                x += entry_width(words, sample) + gap;
            }
            self.y += height;
        }
    }

    /// A line or sign as it is on an image: what has a shape of its own is drawn in that shape.
    fn sample(&mut self, role: Role, x: f64, y: f64, length: f64) {
        let line = |x0: f64, y0: f64, x1: f64, y1: f64| vec![Point::new(x0, y0), Point::new(x1, y1)];
        let end = x + length;
        let (around, half) = (2.0, 0.5 * Theme::points(TextSize::Small));
        let edge = |dy: f64| line(x - around, y + dy, end + around, y + dy);
        self.samples.strip(edge(-half), edge(half), Role::LegendPlate);
        match role {
            Role::Pedicle => {
                for (middle, way) in [(x + 0.3 * length, -1.0), (x + 0.7 * length, 1.0)] {
                    let arc = (-4..=4).map(|i| {
                        let (sin, cos) = (0.28 * f64::from(i)).sin_cos();
                        Point::new(middle + way * 6.0 * (cos - 0.7), y + 6.0 * sin)
                    });
                    self.samples.line(arc.collect(), role);
                }
                return;
            }
            Role::Frame => {
                for at in [x, end] {
                    self.samples.line(line(at, y - 3.0, at, y + 3.0), role);
                }
            }
            Role::Ruler => {
                for i in 0..=4 {
                    let at = x + f64::from(i) * length / 4.0;
                    self.samples.line(line(at, y, at, y - 4.0), role);
                }
            }
            _ => {}
        }
        self.samples.line(line(x, y, end, y), role);
        let middle = Point::new(x + 0.5 * length, y);
        match role {
            Role::TipRegion => self.samples.marker(middle, Glyph::Disc, Role::Tip),
            Role::Electrode => self.samples.marker(middle, Glyph::Square, role),
            _ => {}
        }
    }

    /// The page of this size and scale.
    #[must_use]
    pub fn finish(mut self, size: (f64, f64), scale: f64) -> Page {
        let room = Rect::new(0.0, 0.0, size.0, size.1);
        for (mut scene, ground) in [(self.words, Ground::Panel), (self.samples, Ground::Picture)] {
            scene.bounds = room;
            self.parts.push(PagePart { room, scene, ground });
        }
        Page { size, parts: self.parts, raster: self.raster, scale, left_out: self.left_out }
    }
}

/// Width of an entry of a legend.
fn entry_width(words: &str, sample: f64) -> f64 {
    sample + space::S2 + width_of(words, TextSize::Small)
}

/// The entries that stand beside each other on a page this wide.
fn rows(entries: &[(Role, String)], inner: f64, (sample, gap): (f64, f64)) -> Vec<Vec<&(Role, String)>> {
    let mut rows: Vec<Vec<&(Role, String)>> = Vec::new();
    let mut used = f64::INFINITY;
    for entry in entries {
        let need = entry_width(&entry.1, sample);
        match rows.last_mut().filter(|_| used + gap + need <= inner) {
            Some(row) => {
                row.push(entry);
                used += gap + need;
            }
            None => {
                rows.push(vec![entry]);
                used = need;
            }
        }
    }
    rows
}
