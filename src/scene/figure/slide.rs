//! Slides: a page of fixed size on which images take most of the room and type can be read from the back row.
//!
//! From top to bottom: one message, the images in a grid, what was read of each, what changed or what a pair tells, what
//! the lines mean, and the caution in small. What words need is worked out first; images get all the rest. A single image
//! has its words beside it.

use crate::case::document::Case;
use crate::case::document::figure_spec::FigureWidth;
use crate::measure::mark::View;
use crate::scene::annotation::WithoutRoom;
use crate::scene::drawing::shape::{Rect, Role, TextSize};
use crate::scene::drawing::theme::space;
use crate::scene::drawing::type_metrics::{width as width_of, wrap};
use crate::scene::figure::asked::{FigureOptions, FigurePair, FigureShot};
use crate::scene::figure::flow::whole_squares;
use crate::scene::figure::furniture::{Furniture, ScaleBar, letter};
use crate::scene::figure::legend::legend;
use crate::scene::figure::pictured::{Numbered, bars, in_room, with_room};
use crate::scene::figure::region::{bounds_below, bounds_within};
use crate::scene::figure::style::{SLIDE_MARGIN as MARGIN, SLIDE_PIXELS as PIXELS, slide_size, titled};
use crate::scene::format;
use crate::scene::overlay::{Layer, LayerSet};
use crate::scene::page::Page;
use crate::scene::page::sheet::{Entries, Sheet};
use crate::scene::words::caution;
use crate::scene::words::reading;

const GAP: f64 = 5.0;
/// Share of the slide that a single image takes.
const ALONE: f64 = 0.57;
/// What stands behind the heading of an image about which there is a caution.
const CAUTION: char = '▲';
/// The shares of a slide that images have at least: of up to so many shots, and of more.
const FEW: usize = 3;
const SHARE: f64 = 0.552;
const SHARE_OF_MANY: f64 = 0.452;
/// Room above a body for the numbers of its target.
const NUMBERS: f64 = 20.0;
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

/// What is said on a slide beside its images, and what becomes of labels that have no room on them.
#[derive(Clone, Debug, Default, PartialEq)]
struct SaidOnSlide {
    entries: Entries,
    key: String,
    labels: WithoutRoom,
    /// Whether it is said what numbers on the images stand for.
    keyed: bool,
}

/// A slide, what its images ask to be said, and whether there is room for what is said on it.
struct LaidSlide {
    page: Page,
    asked: SaidOnSlide,
    fits: bool,
}

pub(super) struct Slide<'a> {
    pub(super) case: &'a Case,
    pub(super) shots: &'a [FigureShot<'a>],
    pub(super) pairs: &'a [FigurePair<'a>],
    pub(super) options: &'a FigureOptions,
    pub(super) size: (f64, f64),
    pub(super) scale: f64,
}

impl Slide<'_> {
    /// The page, with as much on its images as it has room to explain.
    fn laid_out(&self) -> Page {
        let ways =
            [(WithoutRoom::Numbered, true), (WithoutRoom::LeftOut, true), (WithoutRoom::LeftOut, false)];
        let mut laid = self.settled(ways[0]);
        for way in ways.into_iter().skip(1) {
            if laid.fits {
                break;
            }
            laid = self.settled(way);
        }
        laid.page
    }

    /// The page with labels as said, and with or without what their numbers stand for. What the legend has to name is known
    /// once the images are drawn, and how large they can be drawn hangs on the height of the legend, so that it is laid out
    /// again until the two agree.
    fn settled(&self, (labels, keyed): (WithoutRoom, bool)) -> LaidSlide {
        const TIMES: usize = 4;
        let mut said = SaidOnSlide { labels, keyed, ..SaidOnSlide::default() };
        let mut laid = self.with(&said);
        for _ in 1..TIMES {
            if laid.asked == said {
                return laid;
            }
            said = laid.asked;
            laid = self.with(&said);
        }
        // Whose numbers are not those that are explained has to do with less.
        laid.fits &= laid.asked == said || !keyed;
        laid
    }

    /// The page on which this is said, and what its images ask for.
    fn with(&self, said: &SaidOnSlide) -> LaidSlide {
        let inner = self.size.0 - 2.0 * MARGIN;
        let mut page = Sheet::new(MARGIN, MARGIN, inner, PIXELS / self.size.0);
        if let Some((message, size)) = self.message(inner) {
            page.paragraph(&message, Role::Text, size);
            page.y += space::S1;
        }
        let caution = self.caution();
        let bottom = self.size.1 - MARGIN - Self::height_of(&caution, inner, TextSize::Fine);
        let alone = self.shots.len() == 1 && (self.options.layers.is_some() || self.options.style.asks);
        let (key, fits) = if alone {
            (String::new(), self.beside(&mut page, said, bottom))
        } else {
            self.grid(&mut page, said, bottom)
        };
        let mut entries = Entries::new();
        if self.options.layers.is_some() && self.options.style.legend {
            let stages: Vec<_> = self.shots.iter().map(|shot| shot.shot.stage).collect();
            entries = brief(legend(&page.parts, &self.case.settings, &stages));
        }
        page.y = bottom;
        page.paragraph(&caution, Role::WeakText, TextSize::Fine);
        let key = if said.keyed { key } else { String::new() };
        let asked = SaidOnSlide { entries, key, ..*said };
        LaidSlide { page: page.finish(self.size, self.scale), asked, fits }
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

    pub(super) fn heading(&self, index: usize) -> String {
        self.heading_of(index, true)
    }

    /// What stands over an image; that it is a lateral, as most are, can be left out where the stage is said.
    fn heading_of(&self, index: usize, with_view: bool) -> String {
        let Some(shot) = self.shots.get(index).map(|shot| shot.shot) else { return String::new() };
        let (level, side) = if self.common().is_some() { (None, None) } else { (shot.level, shot.side) };
        let mut words = format::shot(level, side, shot.known_view(), shot.stage);
        if !with_view && shot.view == View::Lateral {
            words = words.replacen(&format!("{}, ", format::view(View::Lateral)), "", 1);
        }
        let said = if self.is_cautioned(index) { format!(" {CAUTION}") } else { String::new() };
        match letter(index).filter(|_| self.options.style.letters) {
            Some(letter) => format!("{letter}  {words}{said}"),
            None => format!("{words}{said}"),
        }
    }

    pub(super) fn height_of(words: &str, width: f64, size: TextSize) -> f64 {
        wrap(words, size, width).iter().map(|_| Sheet::line_height(size)).sum()
    }

    /// One image with its words beside it; whether all of them have room.
    fn beside(&self, page: &mut Sheet, said: &SaidOnSlide, bottom: f64) -> bool {
        let Some(shot) = self.shots.first() else { return true };
        let below = self.caption_height(page);
        let high = (bottom - GAP - below - page.y).max(LEAST);
        let wide = (ALONE * self.size.0 * self.size.1 / high).min(page.inner);
        let top = page.snapped(page.y);
        let bar = self.bars(|_| (wide, high)).first().copied().flatten();
        let room = Rect::new(MARGIN, top, MARGIN + wide, top + high);
        let (numbered, _) = self.image(page, 0, (room, said.labels), bar);
        self.tell_left_out(page, 0, &numbered, said.keyed);
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
        page.legend_down(x, width, &said.entries);
        let fits = !said.keyed || Self::key_down(page, (x, width, top + high), &numbered);
        page.y = top + high + GAP;
        self.caption(page);
        fits
    }

    /// Several images in rows, each with its reading below. The images of a row fill the width. What the numbers on the images
    /// stand for, and whether there is room for what is said.
    fn grid(&self, page: &mut Sheet, on_page: &SaidOnSlide, bottom: f64) -> (String, bool) {
        let told = self.told_of_all();
        let rows = self.rows();
        let inner = page.inner;
        let width = |row: &[usize]| (inner + GAP) / per(row.len().max(1)) - GAP;
        let words =
            |row: &[usize]| row.iter().map(|&i| self.height_of_words(i, width(row))).fold(0.0, f64::max);
        let below_images = || told.iter().chain(std::iter::once(&on_page.key).filter(|key| !key.is_empty()));
        let said: f64 = below_images().map(|words| Self::height_of(words, inner, TextSize::Small)).sum();
        let of_rows: f64 = rows.iter().map(|row| words(row) + GAP).sum();
        let below = said + Sheet::height_of_legend(page.inner, &on_page.entries) + self.caption_height(page);
        let high = ((bottom - space::S1 - below - page.y - of_rows) / per(rows.len().max(1))).max(LEAST);
        let size = |index: usize| {
            let row = rows.iter().find(|row| row.contains(&index));
            row.map_or((high, high), |row| (width(row), high))
        };
        let bars = self.bars(size);
        let mut numbered = vec![Numbered::new(); self.shots.len()];
        let mut images = 0.0;
        let mut top = page.snapped(page.y);
        for row in &rows {
            let (wide, words) = (width(row), words(row));
            for (column, &index) in row.iter().enumerate() {
                let x = page.snapped(MARGIN + per(column) * (wide + GAP));
                let bar = bars.get(index).copied().flatten();
                let room = Rect::new(x, top, x + wide, top + high);
                let (of_image, area) = self.image(page, index, (room, on_page.labels), bar);
                numbered[index] = of_image;
                images += area;
                self.tell_left_out(page, index, &numbered[index], on_page.keyed);
                page.y = top + high + space::S1;
                self.words_of(page, index, (x, wide));
            }
            top = page.snapped(top + high + words + GAP);
        }
        page.y = top - space::S1;
        for words in below_images() {
            page.paragraph(words, Role::Text, TextSize::Small);
        }
        page.legend_close(&on_page.entries);
        self.caption(page);
        let least = if self.shots.len() > FEW { SHARE_OF_MANY } else { SHARE };
        let enough = images >= least * self.size.0 * self.size.1;
        (self.key(&numbered), on_page.key.is_empty() || enough)
    }

    /// The scale bars of all images, each of this width and height.
    fn bars(&self, size: impl Fn(usize) -> (f64, f64)) -> Vec<Option<ScaleBar>> {
        let shots =
            (0..self.shots.len()).filter_map(|i| Some((self.shots.get(i)?.shot, self.bounds(i, size(i))?)));
        bars(shots, self.options)
    }

    /// The part of an image's frame that is shown: of several images such that the heading and the numbers of the target stand
    /// above the body.
    fn bounds(&self, index: usize, size: (f64, f64)) -> Option<Rect> {
        let shot = self.shots.get(index)?;
        if self.shots.len() == 1 {
            return Some(bounds_within(shot, self.options.extent, size.0 / size.1));
        }
        let heading = Furniture { heading: self.heading_within(index, size.0), ..Furniture::default() };
        let numbered = self.options.layers.is_some_and(|layers| with_room(layers, size.0).has(Layer::Labels));
        let above = space::S1 + heading.height() + if numbered { NUMBERS } else { 0.0 };
        Some(bounds_below(shot, self.options.extent, size, above))
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

    /// The heading of an image this wide, as few lines as can be.
    fn heading_within(&self, index: usize, wide: f64) -> Vec<String> {
        let room = (wide - 2.0 * space::S3).max(20.0);
        let whole = wrap(&self.heading_of(index, true), TextSize::Small, room);
        let short = wrap(&self.heading_of(index, false), TextSize::Small, room);
        if short.len() < whole.len() { short } else { whole }
    }

    /// Draws an image and gives what the numbers on it stand for, and its area.
    fn image(
        &self,
        page: &mut Sheet,
        index: usize,
        (room, labels): (Rect, WithoutRoom),
        bar: Option<ScaleBar>,
    ) -> (Numbered, f64) {
        let size = (room.width(), room.height());
        let (Some(shot), Some(bounds)) = (self.shots.get(index), self.bounds(index, size)) else {
            return (Numbered::new(), 0.0);
        };
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
        let heading = self.heading_within(index, wide);
        let furniture = Furniture { heading, large: false, bar, plain: true, labels };
        (in_room(page, room, self.case, shot, (&how, bounds, &furniture)), wide * high)
    }
}

#[expect(clippy::cast_precision_loss, reason = "a few")]
pub(super) const fn per(count: usize) -> f64 {
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
