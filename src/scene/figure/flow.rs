//! Figures that grow downward: for a screen, a journal's column, a poster.

use crate::case::document::figure_spec::FigureKind;
use crate::case::document::{Case, Shot};
use crate::measure::issue::Issue;
use crate::scene::drawing::shape::{Role, TextSize};
use crate::scene::drawing::theme::space;
use crate::scene::drawing::type_metrics::wrap;
use crate::scene::figure::asked::{FigureOptions, FigurePair, FigureShot};
use crate::scene::figure::change::change_between;
use crate::scene::figure::furniture::{Furniture, ScaleBar, letter};
use crate::scene::figure::legend::legend;
use crate::scene::figure::pictured::{bars, framed, with_room};
use crate::scene::figure::region::bounds_of;
use crate::scene::figure::style::{Geometry, geometry};
use crate::scene::figure::together::{alone, together};
use crate::scene::format;
use crate::scene::page::Page;
use crate::scene::page::sheet::Sheet;
use crate::scene::words::caution;
use crate::scene::words::reading;

/// Columns narrower than this, in points, have small headings.
const NARROW: f64 = 220.0;

/// Lays out a figure that grows downward.
pub(super) fn page(
    case: &Case,
    shots: &[FigureShot<'_>],
    pairs: &[FigurePair<'_>],
    options: &FigureOptions,
) -> Page {
    let geometry = geometry(&options.style, shots.len());
    let shown = shots.iter().map(|shot| (shot.shot, bounds_of(shot, options.extent)));
    let bars = bars(shown, options);
    FlowingFigure { case, shots, pairs, options, geometry, bars }.laid_out()
}

/// What a figure is made of.
struct FlowingFigure<'a> {
    case: &'a Case,
    shots: &'a [FigureShot<'a>],
    pairs: &'a [FigurePair<'a>],
    options: &'a FigureOptions,
    geometry: Geometry,
    bars: Vec<Option<ScaleBar>>,
}

impl FlowingFigure<'_> {
    fn laid_out(&self) -> Page {
        let Self { case, shots, pairs, options, geometry, .. } = self;
        let margin = geometry.margin;
        let mut page = Sheet::new(margin, margin, geometry.inner(), self.raster());
        if let Some(title) = options.title.as_deref().filter(|t| !t.trim().is_empty()) {
            page.paragraph(title, Role::Text, geometry.title);
            page.y += space::S2;
        }
        for (number, row) in shots.chunks(geometry.columns).enumerate() {
            self.row(&mut page, number, row);
        }
        if let Some(layers) = options.layers {
            self.below(&mut page);
            if options.style.legend {
                let stages: Vec<_> = shots.iter().map(|shot| shot.shot.stage).collect();
                page.legend(&legend(&page.parts, &case.settings, &stages));
            }
            let with_drawings = matches!(options.style.kind, None | Some(FigureKind::Pair));
            for pair in pairs.iter().filter(|_| with_drawings) {
                together(&mut page, case, shots, pair, (layers, geometry));
            }
            if let (true, [], [only]) = (geometry.screen, *pairs, *shots) {
                alone(&mut page, only.reading);
            }
        }
        if let Some(caption) = options.style.caption.as_deref().filter(|c| !c.trim().is_empty()) {
            page.paragraph(caption, Role::Text, TextSize::Small);
            page.y += space::S2;
        }
        page.y += space::S1;
        page.rule();
        page.paragraph(caution::SHORT, Role::WeakText, TextSize::Small);
        let size = (geometry.inner() + 2.0 * margin, page.y + margin - space::S1);
        page.finish(size, geometry.scale)
    }

    /// Shots beside each other. Pictures begin at one height, however many lines their headings have.
    fn row(&self, page: &mut Sheet, number: usize, row: &[FigureShot<'_>]) {
        let geometry = &self.geometry;
        let headings = row.iter().map(|shot| wrap(&heading(shot.shot), self.heading_size(), geometry.column));
        let most = headings.map(|lines| lines.len()).max().unwrap_or(1);
        let top = page.y;
        let mut bottom = top;
        for (i, shot) in row.iter().enumerate() {
            page.y = top;
            self.column_of(page, (i, number * geometry.columns + i, most), shot);
            bottom = f64::max(bottom, page.y);
        }
        page.y = bottom + space::S4;
    }

    fn heading_size(&self) -> TextSize {
        if self.geometry.column < NARROW { TextSize::Small } else { TextSize::Body }
    }

    /// Pixels to a point with which the first picture's pixels become whole squares.
    fn raster(&self) -> f64 {
        let least = self.geometry.least_raster;
        let with_frame = self.shots.iter().find(|shot| shot.frame.is_some());
        let Some(shot) = with_frame else { return least };
        whole_squares(least, self.geometry.column / bounds_of(shot, self.options.extent).width().max(1.0))
    }

    /// A shot with its words.
    fn column_of(
        &self,
        page: &mut Sheet,
        (column, index, lines): (usize, usize, usize),
        figure_shot: &FigureShot<'_>,
    ) {
        let Self { case, options, geometry, .. } = self;
        let FigureShot { shot, reading, .. } = *figure_shot;
        let (x, width) = (geometry.column_at(column), geometry.column);
        let size = self.heading_size();
        let own = wrap(&heading(shot), size, width);
        (own.len()..lines).for_each(|_| page.y += Sheet::line_height(size));
        page.lines(x, width, &heading(shot), Role::Text, size);
        page.y += space::S1;
        let layers = options.layers.map(|layers| with_room(layers, width));
        let how = FigureOptions { layers, ..(*options).clone() };
        let bounds = bounds_of(figure_shot, options.extent);
        let heading = options.style.letters.then(|| letter(index)).flatten().map(String::from);
        let furniture = Furniture {
            heading: heading.into_iter().collect(),
            large: true,
            bar: self.bars.get(index).copied().flatten(),
            ..Furniture::default()
        };
        framed(page, (x, width), case, figure_shot, (&how, bounds, &furniture));
        page.y += space::S3;
        if options.layers.is_none() {
            return;
        }
        let lines = reading::lines(reading);
        if lines.is_empty() {
            page.lines(x, width, "No reading.", Role::Text, size);
        }
        if geometry.short {
            // What a pair tells stands below its drawings.
            let told_below = options.style.kind == Some(FigureKind::Pair) && !self.pairs.is_empty();
            for line in reading::chief(&lines).filter(|_| !told_below) {
                page.short_wrapped(x, width, line);
            }
        } else {
            lines.iter().for_each(|line| page.reading_line(x, width, line));
            page.issues(x, width, reading.issues());
        }
    }

    /// What stands below all pictures: what changed, and what short readings leave out.
    fn below(&self, page: &mut Sheet) {
        let before = page.y;
        if self.options.style.kind == Some(FigureKind::BeforeAfter)
            && let [before, after] = self.shots
        {
            for sentence in change_between(self.case, before, after) {
                page.paragraph(&sentence, Role::Text, TextSize::Small);
            }
        }
        if self.geometry.short {
            // A letter names an image only where the images bear letters, and is needed only among several.
            let lettered = self.options.style.letters && self.shots.len() > 1;
            for (i, shot) in self.shots.iter().enumerate() {
                let name = letter(i).filter(|_| lettered).map(|letter| format!("{letter}: "));
                let name =
                    name.or_else(|| (self.shots.len() > 1).then(|| format!("{}: ", heading(shot.shot))));
                for issue in shot.reading.issues() {
                    let text = format!("{}{}", name.as_deref().unwrap_or_default(), issue.text);
                    page.issues(page.left, page.inner, &[Issue { text, ..issue.clone() }]);
                }
            }
            let verdicts = self.shots.iter().flat_map(|shot| shot.reading.verdicts());
            page.states(verdicts.map(|verdict| verdict.state));
        }
        if page.y > before {
            page.y += space::S2;
        }
    }
}

/// At least so many pixels to a point that a stored pixel, `to_points` points wide, becomes a whole square of pixels.
pub(super) fn whole_squares(least: f64, to_points: f64) -> f64 {
    (least * to_points).ceil().max(1.0) / to_points
}

/// What stands over a shot.
fn heading(shot: &Shot) -> String {
    format::shot(shot.level, shot.side, shot.known_view(), shot.stage)
}
