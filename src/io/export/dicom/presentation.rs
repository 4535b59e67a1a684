//! The overlay as a Grayscale Softcopy Presentation State (PS3.3, A.33.1): lines and words over an image that stays as it
//! is.

use dicom_core::VR;
use dicom_dictionary_std::{tags, uids};

use crate::io::export::ExportError;
use crate::io::export::dicom::element::{
    Elements, ascii, empty, file_bytes, items, longs, places, shorts, text,
};
use crate::io::export::dicom::identity::{Context, Image, ObjectKind};
use crate::scene::drawing::shape::{Role, Scene, Shape};

const OVERLAY: ObjectKind = ObjectKind {
    class: uids::GRAYSCALE_SOFTCOPY_PRESENTATION_STATE_STORAGE,
    modality: "PR",
    series: 9002,
    description: "Marks and target over the image",
};

/// The half length of the cross that a tip or another sign is drawn as, in pixels.
const SIGN_PX: f64 = 6.0;
/// The room of a character and of a line of words, in pixels.
const CHARACTER_PX: f64 = 8.0;
const LINE_PX: f64 = 18.0;

/// The layers, from below upward, with their colors as CIELab of 16 bits (PS3.3, C.10.7.1.1).
const LAYERS: [(&str, [u16; 3]); 3] =
    [("TARGET", [52000, 24000, 40000]), ("BORDERS", [45000, 30000, 20000]), ("TIP", [60948, 27242, 57061])];

/// A line through places, and words beside one.
#[derive(Clone, Debug, Default)]
struct DrawnLine {
    lines: Vec<Vec<(f64, f64)>>,
    words: Vec<((f64, f64), String)>,
}

/// The overlay as a file over an image.
///
/// # Errors
/// An image whose grays go through a table, which a presentation state would have to repeat.
pub(super) fn overlay(
    context: &Context,
    on: &Image,
    scene: &Scene,
    number: usize,
) -> Result<Vec<u8>, ExportError> {
    if on.source.as_ref().is_some_and(|source| source.has_modality_table) {
        let why = "the grays of its source go through a Modality LUT, which an overlay of this kind would have to repeat; export without --beside-source";
        return Err(ExportError::Drawing(why.to_owned()));
    }
    let drawn = layered(scene);
    let mut elements = Elements::new_empty();
    context.patient_and_study(&mut elements);
    context.object(
        &mut elements,
        OVERLAY,
        &[on.placed.instance.as_bytes(), &number.to_le_bytes(), format!("{drawn:?}").as_bytes()],
    );
    let (date, time) = &context.now;
    text(&mut elements, tags::INSTANCE_NUMBER, VR::IS, &number.to_string());
    text(&mut elements, tags::PRESENTATION_CREATION_DATE, VR::DA, date);
    text(&mut elements, tags::PRESENTATION_CREATION_TIME, VR::TM, time);
    text(&mut elements, tags::CONTENT_LABEL, VR::CS, "STILLMARK");
    text(&mut elements, tags::CONTENT_DESCRIPTION, VR::LO, "Borders, target and tip");
    empty(&mut elements, tags::CONTENT_CREATOR_NAME, VR::PN);
    let mut series = Elements::new_empty();
    text(&mut series, tags::SERIES_INSTANCE_UID, VR::UI, &on.placed.series);
    items(&mut series, tags::REFERENCED_IMAGE_SEQUENCE, vec![on.reference()]);
    items(&mut elements, tags::REFERENCED_SERIES_SEQUENCE, vec![series]);
    let mut area = Elements::new_empty();
    longs(&mut area, tags::DISPLAYED_AREA_TOP_LEFT_HAND_CORNER, &[1, 1]);
    longs(
        &mut area,
        tags::DISPLAYED_AREA_BOTTOM_RIGHT_HAND_CORNER,
        &[i32::from(on.columns), i32::from(on.rows)],
    );
    text(&mut area, tags::PRESENTATION_SIZE_MODE, VR::CS, "SCALE TO FIT");
    text(&mut area, tags::PRESENTATION_PIXEL_ASPECT_RATIO, VR::IS, "1\\1");
    items(&mut elements, tags::DISPLAYED_AREA_SELECTION_SEQUENCE, vec![area]);
    graphics(&mut elements, on, &drawn);
    grays(&mut elements, on);
    file_bytes(elements, context.copied())
}

/// Graphic annotation and layers (PS3.3, C.10.5 and C.10.7).
fn graphics(elements: &mut Elements, on: &Image, drawn: &[DrawnLine; LAYERS.len()]) {
    let used =
        LAYERS.iter().zip(drawn).filter(|(_, drawn)| !drawn.lines.is_empty() || !drawn.words.is_empty());
    let mut annotations = Vec::new();
    let mut layers = Vec::new();
    for (order, ((name, color), drawn)) in used.enumerate() {
        let mut one = Elements::new_empty();
        items(&mut one, tags::REFERENCED_IMAGE_SEQUENCE, vec![on.reference()]);
        text(&mut one, tags::GRAPHIC_LAYER, VR::CS, name);
        if !drawn.words.is_empty() {
            let words = drawn.words.iter().map(|(at, words)| word_item(*at, words, on)).collect();
            items(&mut one, tags::TEXT_OBJECT_SEQUENCE, words);
        }
        if !drawn.lines.is_empty() {
            items(
                &mut one,
                tags::GRAPHIC_OBJECT_SEQUENCE,
                drawn.lines.iter().map(|line| line_item(line)).collect(),
            );
        }
        annotations.push(one);
        let mut layer = Elements::new_empty();
        text(&mut layer, tags::GRAPHIC_LAYER, VR::CS, name);
        text(&mut layer, tags::GRAPHIC_LAYER_ORDER, VR::IS, &(order + 1).to_string());
        shorts(&mut layer, tags::GRAPHIC_LAYER_RECOMMENDED_DISPLAY_GRAYSCALE_VALUE, &[0xffff]);
        shorts(&mut layer, tags::GRAPHIC_LAYER_RECOMMENDED_DISPLAY_CIE_LAB_VALUE, color);
        layers.push(layer);
    }
    if !annotations.is_empty() {
        items(elements, tags::GRAPHIC_ANNOTATION_SEQUENCE, annotations);
        items(elements, tags::GRAPHIC_LAYER_SEQUENCE, layers);
    }
}

fn line_item(line: &[(f64, f64)]) -> Elements {
    let mut item = Elements::new_empty();
    text(&mut item, tags::GRAPHIC_ANNOTATION_UNITS, VR::CS, "PIXEL");
    shorts(&mut item, tags::GRAPHIC_DIMENSIONS, &[2]);
    shorts(&mut item, tags::NUMBER_OF_GRAPHIC_POINTS, &[u16::try_from(line.len()).unwrap_or(u16::MAX)]);
    places(&mut item, tags::GRAPHIC_DATA, line);
    text(&mut item, tags::GRAPHIC_TYPE, VR::CS, "POLYLINE");
    text(&mut item, tags::GRAPHIC_FILLED, VR::CS, "N");
    item
}

fn word_item((x, y): (f64, f64), words: &str, on: &Image) -> Elements {
    let words = ascii(words);
    let mut item = Elements::new_empty();
    text(&mut item, tags::ANCHOR_POINT_ANNOTATION_UNITS, VR::CS, "PIXEL");
    text(&mut item, tags::UNFORMATTED_TEXT_VALUE, VR::ST, &words);
    places(&mut item, tags::ANCHOR_POINT, &[(x, y)]);
    text(&mut item, tags::ANCHOR_POINT_VISIBILITY, VR::CS, "N");
    #[expect(clippy::cast_precision_loss, reason = "a few words")]
    let width = CHARACTER_PX * words.len() as f64;
    // Inside the image, however near its edge the place lies.
    let left = x.clamp(1.0, (f64::from(on.columns) - width).max(1.0));
    let top = (y - LINE_PX / 2.0).clamp(1.0, (f64::from(on.rows) - LINE_PX).max(1.0));
    text(&mut item, tags::BOUNDING_BOX_ANNOTATION_UNITS, VR::CS, "PIXEL");
    places(&mut item, tags::BOUNDING_BOX_TOP_LEFT_HAND_CORNER, &[(left, top)]);
    let right = (left + width).min(f64::from(on.columns));
    let bottom = (top + LINE_PX).min(f64::from(on.rows));
    places(&mut item, tags::BOUNDING_BOX_BOTTOM_RIGHT_HAND_CORNER, &[(right, bottom)]);
    text(&mut item, tags::BOUNDING_BOX_TEXT_HORIZONTAL_JUSTIFICATION, VR::CS, "LEFT");
    item
}

/// What the image's grays go through, repeated (PS3.3, C.11.1, C.11.6 and C.11.8).
fn grays(elements: &mut Elements, on: &Image) {
    let inverted = on.source.as_ref().is_some_and(|source| source.inverted);
    text(elements, tags::PRESENTATION_LUT_SHAPE, VR::CS, if inverted { "INVERSE" } else { "IDENTITY" });
    let Some(source) = &on.source else { return };
    if let Some((intercept, slope, kind)) = &source.rescale {
        text(elements, tags::RESCALE_INTERCEPT, VR::DS, intercept);
        text(elements, tags::RESCALE_SLOPE, VR::DS, slope);
        text(elements, tags::RESCALE_TYPE, VR::LO, kind);
    }
    if let Some((center, width)) = &source.window {
        let mut window = Elements::new_empty();
        text(&mut window, tags::WINDOW_CENTER, VR::DS, center);
        text(&mut window, tags::WINDOW_WIDTH, VR::DS, width);
        items(elements, tags::SOFTCOPY_VOILUT_SEQUENCE, vec![window]);
    }
}

/// The shapes of an overlay by layer: areas by their edges, signs as crosses.
fn layered(scene: &Scene) -> [DrawnLine; LAYERS.len()] {
    let mut drawn: [DrawnLine; LAYERS.len()] = Default::default();
    for shape in &scene.shapes {
        match shape {
            Shape::Line { points, closed, role } => {
                let mut line: Vec<(f64, f64)> = points.iter().map(|p| (p.x, p.y)).collect();
                if *closed && let Some(first) = line.first().copied() {
                    line.push(first);
                }
                if line.len() >= 2 {
                    drawn[layer_of(*role)].lines.push(line);
                }
            }
            Shape::Marker { at, role, .. } => {
                let signs = [(SIGN_PX, 0.0), (0.0, SIGN_PX)];
                let cross = signs.map(|(dx, dy)| vec![(at.x - dx, at.y - dy), (at.x + dx, at.y + dy)]);
                drawn[layer_of(*role)].lines.extend(cross);
            }
            Shape::Text(words) => {
                let at = (words.at.x + words.offset.0, words.at.y + words.offset.1);
                drawn[layer_of(words.role)].words.push((at, words.words.clone()));
            }
            // The edges of areas are drawn as lines beside them; the picture is the image itself.
            Shape::Strip { .. } | Shape::Shade { .. } | Shape::Picture { .. } => {}
        }
    }
    drawn
}

/// The layer of a role, as a place in [`LAYERS`].
const fn layer_of(role: Role) -> usize {
    match role {
        Role::Tip | Role::TipRegion | Role::Electrode | Role::Cannula => 2,
        Role::Border | Role::SecondContour | Role::MeanBorder | Role::Pedicle | Role::SpinousProcess => 1,
        _ => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::point::Point;
    use crate::scene::drawing::shape::{Glyph, Rect, Space};

    #[test]
    fn lines_keep_their_places_and_the_tip_is_a_cross_over_its_place() {
        let mut scene = Scene::new(Space::Image, Rect::new(0.0, 0.0, 100.0, 100.0));
        scene.line(vec![Point::new(1.25, 2.5), Point::new(3.0, 4.0)], Role::Border);
        scene.marker(Point::new(40.0, 50.0), Glyph::Disc, Role::Tip);
        let drawn = layered(&scene);
        assert_eq!(drawn[1].lines, [vec![(1.25, 2.5), (3.0, 4.0)]]);
        let cross = &drawn[2].lines;
        let middle = |line: &[(f64, f64)]| ((line[0].0 + line[1].0) / 2.0, (line[0].1 + line[1].1) / 2.0);
        assert_eq!((cross.len(), middle(&cross[0]), middle(&cross[1])), (2, (40.0, 50.0), (40.0, 50.0)));
    }
}
