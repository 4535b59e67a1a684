//! Slides: a page of fixed size on which images take most of the room and type can be read from the back row.
//!
//! From top to bottom: one message, the images in a grid, what was read of each, what changed or what a pair tells, what
//! the lines mean, and the caution in small. What words need is worked out first; images get all the rest. A single image
//! has its words beside it.

use crate::case::document::Case;
use crate::case::document::figure_spec::{FigureKind, FigureWidth};
use crate::scene::drawing::shape::{Rect, Role, TextSize};
use crate::scene::drawing::theme::space;
use crate::scene::drawing::type_metrics::{width as width_of, wrap};
use crate::scene::figure::asked::{FigureOptions, FigurePair, FigureShot};
use crate::scene::figure::change::change_in_brief;
use crate::scene::figure::flow::whole_squares;
use crate::scene::figure::furniture::{Furniture, ScaleBar, letter};
use crate::scene::figure::legend::legend;
use crate::scene::figure::pictured::{bars, in_room, with_room};
use crate::scene::figure::region::bounds_within;
use crate::scene::figure::style::{SLIDE_MARGIN as MARGIN, SLIDE_PIXELS as PIXELS, slide_size, titled};
use crate::scene::format;
use crate::scene::overlay::{Layer, LayerSet};
use crate::scene::page::Page;
use crate::scene::page::sheet::{CLOSE_AFTER_SIGN, Entries, Sheet};
use crate::scene::words::caution;
use crate::scene::words::reading::{self, ReadingLine};

const GAP: f64 = 5.0;
/// Share of the slide that a single image takes.
const ALONE: f64 = 0.57;
/// What stands behind the heading of an image about which there is a caution.
const CAUTION: char = '▲';
/// The least height of an image, however much is said.
const LEAST: f64 = 40.0;

/// Lays out a slide of this width; none for widths that are no slide.
pub(super) fn page(
    case: &Case,
    shots: &[FigureShot<'_>],
    pairs: &[FigurePair<'_>],
    options: &FigureOptions,
    width: FigureWidth,
) -> Option<Page> {
    let (size, scale) = slide_size(width)?;
    let options = FigureOptions { layers: options.layers.map(sparse), ..options.clone() };
    let slide = Slide { case, shots, pairs, options: &options, size, scale };
    Some(slide.laid_out())
}

/// The layers that can be told apart from the back row: everything that was chosen apart from the usual ones stays.
fn sparse(layers: LayerSet) -> LayerSet {
    if layers != LayerSet::default() {
        return layers.without(Layer::Ruler);
    }
    let left_out = [
        Layer::Ruler,
        Layer::Contours,
        Layer::Electrodes,
        Layer::Cannula,
        Layer::Thirds,
        Layer::SpinousProcess,
        Layer::Pedicles,
        Layer::Midlines,
    ];
    left_out.into_iter().fold(layers, LayerSet::without)
}

struct Slide<'a> {
    case: &'a Case,
    shots: &'a [FigureShot<'a>],
    pairs: &'a [FigurePair<'a>],
    options: &'a FigureOptions,
    size: (f64, f64),
    scale: f64,
}

impl Slide<'_> {
    /// The page. Which lines the legend has to name is known once the images are drawn, and how large they can be drawn
    /// hangs on the height of the legend, so that it is laid out again until the two agree.
    fn laid_out(&self) -> Page {
        const TIMES: usize = 4;
        let mut entries = Entries::new();
        for _ in 1..TIMES {
            let (page, drawn) = self.with(&entries);
            if drawn == entries {
                return page;
            }
            entries = drawn;
        }
        self.with(&entries).0
    }

    /// The page with this legend, and the legend that its images ask for.
    fn with(&self, entries: &Entries) -> (Page, Entries) {
        let inner = self.size.0 - 2.0 * MARGIN;
        let mut page = Sheet::new(MARGIN, MARGIN, inner, PIXELS / self.size.0);
        if let Some((message, size)) = self.message(inner) {
            page.paragraph(&message, Role::Text, size);
            page.y += space::S1;
        }
        let caution = self.caution();
        let bottom = self.size.1 - MARGIN - Self::height_of(&caution, inner, TextSize::Fine);
        let alone = self.shots.len() == 1 && (self.options.layers.is_some() || self.options.style.asks);
        if alone {
            self.beside(&mut page, entries, bottom)
        } else {
            self.grid(&mut page, entries, bottom)
        }
        let mut drawn = Entries::new();
        if self.options.layers.is_some() && self.options.style.legend {
            let stages: Vec<_> = self.shots.iter().map(|shot| shot.shot.stage).collect();
            drawn = brief(legend(&page.parts, &self.case.settings, &stages));
        }
        page.y = bottom;
        page.paragraph(&caution, Role::WeakText, TextSize::Fine);
        (page.finish(self.size, self.scale), drawn)
    }

    /// The title and what all images show in common, as large as fits on one line.
    fn message(&self, inner: f64) -> Option<(String, TextSize)> {
        let title = self.options.title.as_deref().map(str::trim).filter(|title| !title.is_empty());
        let whole = match (title, self.common()) {
            (Some(title), Some(body)) => titled(title, &body),
            (Some(title), None) => title.to_owned(),
            (None, body) => body?,
        };
        let short = title.map_or_else(|| whole.clone(), str::to_owned);
        let ways = [(&whole, TextSize::Body), (&whole, TextSize::Small), (&short, TextSize::Body)];
        let fits = ways.into_iter().find(|(words, size)| width_of(words, *size) <= inner);
        Some(fits.map_or((short.clone(), TextSize::Small), |(words, size)| (words.clone(), size)))
    }

    /// Level and side of all images, where they have one.
    fn common(&self) -> Option<String> {
        let first = self.shots.first()?.shot;
        let body = (first.level?, first.side?);
        let same =
            self.shots.iter().all(|shot| (shot.shot.level, shot.shot.side) == (Some(body.0), Some(body.1)));
        same.then(|| format::body(body.0, body.1))
    }

    /// Whether there is a caution about one of several images: its sentence has no room here.
    fn is_cautioned(&self, index: usize) -> bool {
        let shot = self.shots.get(index).filter(|_| self.options.layers.is_some() && self.shots.len() > 1);
        shot.is_some_and(|shot| !shot.reading.issues().is_empty())
    }

    /// The caution, and before it what the sign behind a heading says where there is one.
    fn caution(&self) -> String {
        let signed = (0..self.shots.len()).any(|index| self.is_cautioned(index));
        let sign = if signed { caution::SIGN_ON_SLIDE } else { "" };
        format!("{sign} {}", caution::SHORT).trim().to_owned()
    }

    fn heading(&self, index: usize) -> String {
        let Some(shot) = self.shots.get(index).map(|shot| shot.shot) else { return String::new() };
        let (level, side) = if self.common().is_some() { (None, None) } else { (shot.level, shot.side) };
        let words = format::shot(level, side, shot.known_view(), shot.stage);
        let said = if self.is_cautioned(index) { format!(" {CAUTION}") } else { String::new() };
        match letter(index).filter(|_| self.options.style.letters) {
            Some(letter) => format!("{letter}  {words}{said}"),
            None => format!("{words}{said}"),
        }
    }

    fn height_of(words: &str, width: f64, size: TextSize) -> f64 {
        wrap(words, size, width).iter().map(|_| Sheet::line_height(size)).sum()
    }

    /// One image with its words beside it.
    fn beside(&self, page: &mut Sheet, entries: &Entries, bottom: f64) {
        let Some(shot) = self.shots.first() else { return };
        let below = self.caption_height(page);
        let high = (bottom - GAP - below - page.y).max(LEAST);
        let wide = (ALONE * self.size.0 * self.size.1 / high).min(page.inner);
        let top = page.snapped(page.y);
        let bar = self.bars(|_| wide / high).first().copied().flatten();
        self.image(page, 0, Rect::new(MARGIN, top, MARGIN + wide, top + high), bar);
        let (x, width) = (MARGIN + wide + GAP + space::S1, page.inner - wide - GAP - space::S1);
        page.y = top;
        let unanswered = self.options.layers.is_none();
        let lines = if unanswered { Vec::new() } else { reading::lines(shot.reading) };
        if lines.is_empty() && !unanswered {
            page.lines(x, width, "No reading.", Role::Text, TextSize::Small);
        }
        reading::chief(&lines).for_each(|line| page.short_wrapped(x, width, line));
        let cautions = shot.reading.issues().len();
        if cautions > 0 && !unanswered {
            page.caution_count(x, width, cautions);
        }
        page.y += space::S2;
        page.legend_down(x, width, entries);
        page.y = top + high + GAP;
        self.caption(page);
    }

    /// Several images in rows, each with its reading below. The images of a row fill the width.
    fn grid(&self, page: &mut Sheet, entries: &Entries, bottom: f64) {
        let told = self.told_of_all();
        let rows = self.rows();
        let inner = page.inner;
        let width = |row: &[usize]| (inner + GAP) / per(row.len().max(1)) - GAP;
        let words =
            |row: &[usize]| row.iter().map(|&i| self.height_of_words(i, width(row))).fold(0.0, f64::max);
        let said: f64 = told.iter().map(|words| Self::height_of(words, page.inner, TextSize::Small)).sum();
        let of_rows: f64 = rows.iter().map(|row| words(row) + GAP).sum();
        let below = said + Sheet::height_of_legend(page.inner, entries) + self.caption_height(page);
        let high = ((bottom - space::S1 - below - page.y - of_rows) / per(rows.len().max(1))).max(LEAST);
        let shape = |index: usize| {
            let row = rows.iter().find(|row| row.contains(&index));
            row.map_or(1.0, |row| width(row) / high)
        };
        let bars = self.bars(shape);
        let mut top = page.snapped(page.y);
        for row in &rows {
            let (wide, words) = (width(row), words(row));
            for (column, &index) in row.iter().enumerate() {
                let x = page.snapped(MARGIN + per(column) * (wide + GAP));
                let bar = bars.get(index).copied().flatten();
                self.image(page, index, Rect::new(x, top, x + wide, top + high), bar);
                page.y = top + high + space::S1;
                self.words_of(page, index, (x, wide));
            }
            top = page.snapped(top + high + words + GAP);
        }
        page.y = top - space::S1;
        for words in &told {
            page.paragraph(words, Role::Text, TextSize::Small);
        }
        page.legend_close(entries);
        self.caption(page);
    }

    /// The scale bars of all images, each of this width to height.
    fn bars(&self, shape: impl Fn(usize) -> f64) -> Vec<Option<ScaleBar>> {
        let shots = self.shots.iter().enumerate();
        bars(
            shots.map(|(i, shot)| (shot.shot, bounds_within(shot, self.options.extent, shape(i)))),
            self.options,
        )
    }

    /// Which images stand beside each other.
    fn rows(&self) -> Vec<Vec<usize>> {
        let count = self.shots.len();
        let first = match count {
            0..=3 => count,
            _ => count.div_ceil(2).max(2),
        };
        // What is refused stands in rows of as many.
        let across = first.clamp(1, 4);
        (0..count).collect::<Vec<_>>().chunks(across).map(<[usize]>::to_vec).collect()
    }

    fn image(&self, page: &mut Sheet, index: usize, room: Rect, bar: Option<ScaleBar>) {
        let Some(shot) = self.shots.get(index) else { return };
        let bounds = bounds_within(shot, self.options.extent, room.width() / room.height());
        if index == 0 {
            page.raster = whole_squares(page.raster, room.width() / bounds.width().max(1.0));
        }
        // The frame may not reach as far as the room does.
        let scale = (room.width() / bounds.width()).min(room.height() / bounds.height());
        let (wide, high) = (bounds.width() * scale, bounds.height() * scale);
        let (x, y) = (page.snapped(room.centre().x - 0.5 * wide), page.snapped(room.min.y));
        let room = Rect::new(x, y, x + wide, y + high);
        let layers = self.options.layers.map(|layers| with_room(layers, wide));
        let how = FigureOptions { layers, ..self.options.clone() };
        let heading = wrap(&self.heading(index), TextSize::Small, (wide - 2.0 * space::S3).max(20.0));
        let furniture = Furniture { heading, large: false, bar, plain: true };
        // What numbers on the image stand for has no room here; the words of the labels stand on it.
        in_room(page, room, self.case, shot, (&how, bounds, &furniture));
    }

    /// What a pair tells of its images, or what changed from the first to the second.
    fn told_of_all(&self) -> Vec<String> {
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
    fn combined(&self) -> Option<&FigurePair<'_>> {
        self.pairs.first().filter(|_| self.options.style.kind == Some(FigureKind::Pair))
    }

    /// What is said of an image: of an AP only how far from the midline, since a lateral tells the height better.
    fn lines_of(&self, index: usize) -> Vec<ReadingLine> {
        let Some(shot) = self.shots.get(index).filter(|_| self.options.layers.is_some()) else {
            return Vec::new();
        };
        let lines = reading::lines(shot.reading);
        let across = lines.iter().any(|line| line.name == "midline");
        reading::chief(&lines).filter(|line| !across || line.name != "height").cloned().collect()
    }

    /// The lines of a reading as they flow into a width: how many, and which stand on each.
    fn flowed(lines: &[ReadingLine], width: f64) -> Vec<Vec<&ReadingLine>> {
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

    fn width_of_line(line: &ReadingLine) -> f64 {
        CLOSE_AFTER_SIGN + width_of(&line.phrase(), TextSize::Small)
    }

    fn height_of_words(&self, index: usize, width: f64) -> f64 {
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

    fn wrapped(line: &ReadingLine, width: f64) -> Vec<String> {
        wrap(&line.phrase(), TextSize::Small, width - CLOSE_AFTER_SIGN)
    }

    fn words_of(&self, page: &mut Sheet, index: usize, (x, width): (f64, f64)) {
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

    fn caption_words(&self) -> Option<&str> {
        self.options.style.caption.as_deref().map(str::trim).filter(|caption| !caption.is_empty())
    }

    fn caption_height(&self, page: &Sheet) -> f64 {
        self.caption_words()
            .map_or(0.0, |words| Self::height_of(words, page.inner, TextSize::Small) + space::S1)
    }

    fn caption(&self, page: &mut Sheet) {
        if let Some(words) = self.caption_words() {
            page.y += space::S1;
            page.paragraph(words, Role::Text, TextSize::Small);
        }
    }
}

#[expect(clippy::cast_precision_loss, reason = "a few")]
const fn per(count: usize) -> f64 {
    count as f64
}

/// A legend in few words, for a page on which each costs height.
fn brief(entries: Entries) -> Entries {
    let short = |words: String| match words.split_once(", at the plane") {
        Some((before, _)) => before.to_owned(),
        None => words.replace("tip with its 95 % region", "tip, 95 % region"),
    };
    entries.into_iter().map(|(role, words)| (role, short(words))).collect()
}
