//! Pages as PDF: the same vectors as the SVG, words as letters of embedded typefaces so that they can be searched and
//! copied, pictures without loss at their own resolution.
//!
//! Nothing is said about the document beyond its page: no title, no author, no program, no time.

use std::sync::Arc;

use krilla::geom::Size;
use krilla::page::PageSettings;
use krilla::{Document, SerializeSettings};
use krilla_svg::{SurfaceExt, SvgSettings};
use resvg::usvg::fontdb::{Database, Source};
use resvg::usvg::{Options, Tree};

use crate::io::export::ExportError;
use crate::io::export::svg::{DPI, Lettering, lettered};
use crate::scene::drawing::theme::Theme;
use crate::scene::drawing::type_metrics::typefaces;
use crate::scene::page::Page;

/// The pages as a PDF document, in order.
///
/// # Errors
/// A page without area, or one that cannot be drawn; no page at all.
pub fn document(pages: &[Page], theme: &Theme) -> Result<Vec<u8>, ExportError> {
    if pages.is_empty() {
        return Err(ExportError::Drawing("there is no page".to_owned()));
    }
    let (fonts, faces) = fonts();
    let options = Options { fontdb: Arc::new(fonts), dpi: DPI, ..Options::default() };
    let mut document =
        Document::new_with(SerializeSettings { xmp_metadata: false, ..SerializeSettings::default() });
    for page in pages {
        let text = lettered(page, theme, Lettering::Letters(&faces))?;
        let tree = Tree::from_str(&text, &options).map_err(|e| ExportError::Drawing(e.to_string()))?;
        let (width, height) = (tree.size().width(), tree.size().height());
        let no_room = || ExportError::Drawing("the page has no area".to_owned());
        let size = Size::from_wh(width, height).ok_or_else(no_room)?;
        let settings = PageSettings::from_wh(width, height).ok_or_else(no_room)?;
        let mut sheet = document.start_page_with(settings);
        let mut surface = sheet.surface();
        let drawn = surface.draw_svg(&tree, size, SvgSettings::default());
        surface.finish();
        sheet.finish();
        drawn.ok_or_else(no_room)?;
    }
    document.finish().map_err(|e| ExportError::Drawing(format!("{e:?}")))
}

/// The typefaces, and by which name and weight a document asks for each.
fn fonts() -> (Database, Vec<(String, u16)>) {
    let mut fonts = Database::new();
    let mut faces = Vec::new();
    for data in typefaces() {
        let loaded = fonts.load_font_source(Source::Binary(Arc::new(data)));
        let face = loaded.first().and_then(|id| fonts.face(*id));
        let name = face.and_then(|face| Some((face.families.first()?.0.clone(), face.weight.0)));
        faces.push(name.unwrap_or_default());
    }
    (fonts, faces)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::point::Point;
    use crate::scene::drawing::shape::{Rect, Role, Scene, Space, Text};

    fn page(words: &str) -> Page {
        let mut scene = Scene::new(Space::Points, Rect::new(0.0, 0.0, 200.0, 60.0));
        scene.text(Text::new(Point::new(10.0, 30.0), words, Role::Text));
        Page::of_drawing(scene)
    }

    #[test]
    fn both_typefaces_are_known_by_name() {
        let (_, faces) = fonts();
        assert_eq!(faces.len(), 2);
        assert!(
            faces.iter().all(|(name, weight)| !name.is_empty() && (100..=900).contains(weight)),
            "{faces:?}"
        );
        assert_ne!(faces[0].0, faces[1].0);
    }

    #[test]
    fn the_same_page_gives_the_same_bytes() {
        let write = || document(&[page("38 % ± 3 ● <&>")], &Theme::light()).unwrap();
        let bytes = write();
        assert_eq!(&bytes[..5], b"%PDF-");
        assert!(bytes == write());
    }

    /// ISO 32000-1, 14.3: an information dictionary would have these keys, a metadata stream this type.
    #[test]
    fn nothing_is_said_about_the_document() {
        let bytes = document(&[page("words")], &Theme::dark()).unwrap();
        for told in ["/Info", "/Producer", "/Creator", "/CreationDate", "/ModDate", "/Author", "/Metadata"] {
            assert!(!bytes.windows(told.len()).any(|part| part == told.as_bytes()), "{told}");
        }
    }
}
