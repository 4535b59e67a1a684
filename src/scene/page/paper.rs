//! A document on A4 or US Letter: pages filled from top to bottom, with headings, paragraphs, tables and drawings, a number on
//! each page and the caution at its foot.

use crate::geom::point::Point;
use crate::scene::drawing::shape::{AlignX, AlignY, Rect, Role, Scene, Space, Text, TextSize};
use crate::scene::drawing::theme::{Ground, space};
use crate::scene::drawing::type_metrics::wrap;
use crate::scene::page::sheet::Sheet;
pub use crate::scene::page::table::Column;
use crate::scene::page::table::LaidTable;
use crate::scene::page::{Page, PagePart};
use crate::scene::words::caution;

/// Points of paper to a point of the layout: small type is then 9 points high.
pub const SCALE: f64 = 0.75;
/// The papers a document can be made for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum PaperSize {
    /// 210 × 297 mm (ISO 216).
    #[default]
    A4,
    /// 8.5 × 11 inches.
    Letter,
}

impl PaperSize {
    /// Both papers.
    pub const ALL: [Self; 2] = [Self::A4, Self::Letter];

    /// The key on the command line.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::A4 => "a4",
            Self::Letter => "letter",
        }
    }

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::Letter => "US Letter",
        }
    }

    /// Width and height in points of the layout, 72 points of paper to an inch of 25.4 mm.
    #[must_use]
    pub const fn size(self) -> (f64, f64) {
        match self {
            Self::A4 => (210.0 / 25.4 * 72.0 / SCALE, 297.0 / 25.4 * 72.0 / SCALE),
            Self::Letter => (8.5 * 72.0 / SCALE, 11.0 * 72.0 / SCALE),
        }
    }

    /// Width of what is written, in points of the layout.
    #[must_use]
    pub const fn inner(self) -> f64 {
        self.size().0 - 2.0 * MARGIN
    }
}

/// Room at the sides and at the top.
const MARGIN: f64 = 60.0;
/// Room at the foot, caution and page number included.
const FOOT: f64 = 96.0;
/// Pixels to a point of the layout where a page becomes pixels: some 200 to an inch.
const RASTER: f64 = 2.0;

/// A document under way.
#[derive(Clone, Debug)]
pub struct Paper {
    /// The page being filled; what is put on it directly has to be given room with [`Self::need`] first.
    pub sheet: Sheet,
    /// What it is made for.
    size: PaperSize,
    /// What stands at the foot of every page beside its number.
    name: String,
    done: Vec<Sheet>,
}

fn fresh(size: PaperSize) -> Sheet {
    Sheet::new(MARGIN, MARGIN, size.inner(), RASTER)
}

impl Paper {
    /// An empty document on A4; `name` stands at the foot of every page.
    #[must_use]
    pub fn new(name: &str) -> Self {
        Self::on(PaperSize::A4, name)
    }

    /// The same on a paper of this size.
    #[must_use]
    pub fn on(size: PaperSize, name: &str) -> Self {
        Self { sheet: fresh(size), size, name: name.to_owned(), done: Vec::new() }
    }

    /// Width of what is written.
    #[must_use]
    pub const fn inner(&self) -> f64 {
        self.size.inner()
    }

    /// Height of a page.
    #[must_use]
    pub const fn height(&self) -> f64 {
        self.size.size().1
    }

    /// Height that is left on this page.
    #[must_use]
    pub fn room(&self) -> f64 {
        self.height() - FOOT - self.sheet.y
    }

    /// How many pages there are, the one being filled included.
    #[must_use]
    pub const fn pages(&self) -> usize {
        self.done.len() + 1
    }

    /// Begins a new page, unless this one is empty.
    pub fn new_page(&mut self) {
        if !self.sheet.is_empty() {
            self.done.push(std::mem::replace(&mut self.sheet, fresh(self.size)));
        }
    }

    /// Begins a new page where there is less than this height left.
    pub fn need(&mut self, height: f64) {
        if self.room() < height {
            self.new_page();
        }
    }

    /// Leaves some room, but none at the top of a page.
    pub fn gap(&mut self, height: f64) {
        if !self.sheet.is_empty() {
            self.sheet.y += height;
        }
    }

    /// The title of a document or of one of its parts.
    pub fn title(&mut self, words: &str) {
        self.need(120.0);
        self.sheet.paragraph(words, Role::Text, TextSize::Large);
        self.sheet.y += space::S2;
    }

    /// A heading, with room above it and never alone at the foot of a page.
    pub fn heading(&mut self, words: &str) {
        self.gap(space::S3);
        self.need(80.0);
        self.sheet.paragraph(words, Role::Text, TextSize::Body);
        self.sheet.y += space::S1;
    }

    /// Words over the whole width, going on on the next page where they must.
    pub fn paragraph(&mut self, words: &str) {
        self.line(words);
        self.sheet.y += space::S2;
    }

    /// The same without room below it, for lines that belong together.
    pub fn line(&mut self, words: &str) {
        self.written(words, Role::Text);
    }

    /// The same in words of less weight.
    pub fn note(&mut self, words: &str) {
        self.weak_line(words);
        self.sheet.y += space::S2;
    }

    /// The same without room below it.
    pub fn weak_line(&mut self, words: &str) {
        self.written(words, Role::WeakText);
    }

    fn written(&mut self, words: &str, role: Role) {
        for line in wrap(words, TextSize::Small, self.inner()) {
            self.need(Sheet::line_height(TextSize::Small));
            self.sheet.paragraph(&line, role, TextSize::Small);
        }
    }

    /// A drawing in points at the left edge, with what it shows above and below it kept apart.
    pub fn drawing(&mut self, scene: Scene) {
        let height = scene.bounds.height();
        self.need(height);
        self.sheet.drawing(MARGIN, scene);
        self.sheet.y += height + space::S3;
    }

    /// A table: headings, a thin line, and the rows, each kept whole; the headings come again on every further page.
    /// Cells of a row without a column are left out.
    pub fn table(&mut self, columns: &[Column], rows: &[Vec<String>]) {
        let table = LaidTable::of((MARGIN, self.inner()), columns, rows);
        self.need(table.head_height() + 2.0 * Sheet::line_height(TextSize::Small));
        table.head(&mut self.sheet);
        for row in 0..rows.len() {
            if self.room() < table.height(row) {
                self.new_page();
                table.head(&mut self.sheet);
            }
            table.row(&mut self.sheet, row);
        }
        self.sheet.y += space::S2;
    }

    /// The pages, each with its number, the document's name and the caution at its foot.
    #[must_use]
    pub fn finish(mut self) -> Vec<Page> {
        self.new_page();
        if self.done.is_empty() {
            self.done.push(self.sheet);
        }
        let count = self.done.len();
        let page = |(index, sheet): (usize, Sheet)| {
            let mut page = sheet.finish(self.size.size(), SCALE);
            page.parts.push(foot(self.size, &self.name, index + 1, count));
            page
        };
        self.done.into_iter().enumerate().map(page).collect()
    }
}

fn foot(paper: PaperSize, name: &str, number: usize, of: usize) -> PagePart {
    let (size, inner) = (paper.size(), paper.inner());
    let room = Rect::new(0.0, 0.0, size.0, size.1);
    let mut scene = Scene::new(Space::Points, room);
    let mut y = size.1 - FOOT + space::S4;
    scene.line(vec![Point::new(MARGIN, y), Point::new(MARGIN + inner, y)], Role::Frame);
    y += space::S2;
    let mut put = |x: f64, y: f64, align, words: &str| {
        scene.text(Text::new(Point::new(x, y), words, Role::WeakText).aligned(align, AlignY::Top));
    };
    let number = format!("page {number} of {of}");
    put(MARGIN + inner, y, AlignX::Right, &number);
    for line in wrap(name, TextSize::Small, inner - 96.0).into_iter().take(1) {
        put(MARGIN, y, AlignX::Left, &line);
    }
    for line in wrap(caution::SHORT, TextSize::Small, inner) {
        y += Sheet::line_height(TextSize::Small);
        put(MARGIN, y, AlignX::Left, &line);
    }
    PagePart { room, scene, ground: Ground::Panel }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::drawing::shape::Shape;

    fn placed(page: &Page) -> Vec<(f64, String)> {
        let shapes = page.parts.iter().flat_map(|part| &part.scene.shapes);
        let text = |shape: &Shape| match shape {
            Shape::Text(text) => Some((text.at.y, text.words.clone())),
            _ => None,
        };
        shapes.filter_map(text).collect()
    }

    #[test]
    fn a_long_document_runs_over_pages_and_loses_nothing() {
        let mut paper = Paper::new("Document");
        paper.title("Title");
        let rows: Vec<Vec<String>> = (0..200).map(|i| vec![format!("row-{i}"), "7".to_owned()]).collect();
        paper.table(&[Column::words("name", 2.0), Column::numbers("n", 1.0)], &rows);
        for i in 0..40 {
            paper.paragraph(&format!("paragraph-{i} {}", "word ".repeat(60)));
        }
        let pages = paper.finish();
        assert!(pages.len() > 3);
        let all: Vec<_> = pages.iter().flat_map(Page::words).collect();
        for i in 0..200 {
            assert_eq!(all.iter().filter(|words| **words == format!("row-{i}").as_str()).count(), 1);
        }
        for i in 0..40 {
            assert!(all.iter().any(|words| words.starts_with(&format!("paragraph-{i} "))));
        }
        for (i, page) in pages.iter().enumerate() {
            let number = format!("page {} of {}", i + 1, pages.len());
            let words = placed(page);
            assert!(words.iter().any(|(_, words)| *words == number));
            assert!(words.iter().any(|(_, words)| words.contains("Not a medical device")));
            // Nothing runs into the foot or off the page.
            let body = words.iter().take_while(|(_, words)| words != "Document" && *words != number);
            for (y, words) in body {
                assert!((MARGIN..PaperSize::A4.size().1 - FOOT).contains(y), "{y} {words}");
            }
        }
        let heads = all.iter().filter(|words| **words == "name").count();
        assert!(heads >= 4, "{heads}");
    }

    #[test]
    fn an_empty_document_has_one_page() {
        assert_eq!(Paper::new("x").finish().len(), 1);
    }

    #[test]
    fn small_type_is_nine_points_on_paper() {
        let page = &Paper::new("x").finish()[0];
        assert!(
            (crate::scene::drawing::theme::Theme::points(TextSize::Small) * page.scale - 9.0).abs() < 1e-9
        );
        assert!((page.size.0 * page.scale / 72.0 * 25.4 - 210.0).abs() < 1e-9);
        let letter = &Paper::on(PaperSize::Letter, "x").finish()[0];
        assert!((letter.size.0 * letter.scale / 72.0 - 8.5).abs() < 1e-9);
        assert!((letter.size.1 * letter.scale / 72.0 - 11.0).abs() < 1e-9);
    }
}
