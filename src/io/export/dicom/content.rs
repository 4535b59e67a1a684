//! The kinds of content items that a structured report is built from (PS3.3, C.17.3).

use dicom_core::VR;
use dicom_dictionary_std::tags;

use crate::io::dicom_codes::ConceptCode;
use crate::io::export::dicom::element::{Elements, code, decimal, double, items, places, text};
use crate::io::export::dicom::identity::Image;

/// How an item stands to the one that holds it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Relation {
    /// The root has none.
    Root,
    /// CONTAINS.
    Contains,
    /// HAS CONCEPT MOD.
    Modifier,
    /// HAS OBS CONTEXT.
    Context,
    /// HAS ACQ CONTEXT.
    Acquisition,
    /// HAS PROPERTIES.
    Property,
    /// INFERRED FROM.
    InferredFrom,
    /// SELECTED FROM.
    SelectedFrom,
}

impl Relation {
    const fn words(self) -> Option<&'static str> {
        match self {
            Self::Root => None,
            Self::Contains => Some("CONTAINS"),
            Self::Modifier => Some("HAS CONCEPT MOD"),
            Self::Context => Some("HAS OBS CONTEXT"),
            Self::Acquisition => Some("HAS ACQ CONTEXT"),
            Self::Property => Some("HAS PROPERTIES"),
            Self::InferredFrom => Some("INFERRED FROM"),
            Self::SelectedFrom => Some("SELECTED FROM"),
        }
    }
}

fn item(relation: Relation, value_type: &str, name: Option<ConceptCode<'_>>) -> Elements {
    let mut elements = Elements::new_empty();
    if let Some(words) = relation.words() {
        text(&mut elements, tags::RELATIONSHIP_TYPE, VR::CS, words);
    }
    text(&mut elements, tags::VALUE_TYPE, VR::CS, value_type);
    if let Some(name) = name {
        items(&mut elements, tags::CONCEPT_NAME_CODE_SEQUENCE, vec![code(name)]);
    }
    elements
}

/// The item with these below it.
pub(super) fn with(mut elements: Elements, children: Vec<Elements>) -> Elements {
    if !children.is_empty() {
        items(&mut elements, tags::CONTENT_SEQUENCE, children);
    }
    elements
}

/// A heading with what stands below it, by a template of the standard's where it follows one.
pub(super) fn container(
    relation: Relation,
    name: ConceptCode<'_>,
    template: Option<&str>,
    children: Vec<Elements>,
) -> Elements {
    let mut elements = item(relation, "CONTAINER", Some(name));
    text(&mut elements, tags::CONTINUITY_OF_CONTENT, VR::CS, "SEPARATE");
    if let Some(template) = template {
        let mut of = Elements::new_empty();
        text(&mut of, tags::MAPPING_RESOURCE, VR::CS, "DCMR");
        text(&mut of, tags::TEMPLATE_IDENTIFIER, VR::CS, template);
        items(&mut elements, tags::CONTENT_TEMPLATE_SEQUENCE, vec![of]);
    }
    with(elements, children)
}

/// A coded value.
pub(super) fn coded(relation: Relation, name: ConceptCode<'_>, value: ConceptCode<'_>) -> Elements {
    let mut elements = item(relation, "CODE", Some(name));
    items(&mut elements, tags::CONCEPT_CODE_SEQUENCE, vec![code(value)]);
    elements
}

/// Words.
pub(super) fn words(relation: Relation, name: ConceptCode<'_>, value: &str) -> Elements {
    let mut elements = item(relation, "TEXT", Some(name));
    text(&mut elements, tags::TEXT_VALUE, VR::UT, value);
    elements
}

/// An identifier.
pub(super) fn identifier(relation: Relation, name: ConceptCode<'_>, value: &str) -> Elements {
    let mut elements = item(relation, "UIDREF", Some(name));
    text(&mut elements, tags::UID, VR::UI, value);
    elements
}

/// A number with its unit: as text of at most 16 characters, and as the double beside it, so that nothing is rounded away.
pub(super) fn number(
    relation: Relation,
    name: ConceptCode<'_>,
    value: f64,
    unit: ConceptCode<'_>,
    children: Vec<Elements>,
) -> Elements {
    let mut elements = item(relation, "NUM", Some(name));
    let mut measured = Elements::new_empty();
    text(&mut measured, tags::NUMERIC_VALUE, VR::DS, &decimal(value));
    double(&mut measured, tags::FLOATING_POINT_VALUE, value);
    items(&mut measured, tags::MEASUREMENT_UNITS_CODE_SEQUENCE, vec![code(unit)]);
    items(&mut elements, tags::MEASURED_VALUE_SEQUENCE, vec![measured]);
    with(elements, children)
}

/// An image.
pub(super) fn image(relation: Relation, image: &Image, children: Vec<Elements>) -> Elements {
    let mut elements = item(relation, "IMAGE", None);
    items(&mut elements, tags::REFERENCED_SOP_SEQUENCE, vec![image.reference()]);
    with(elements, children)
}

/// Places on an image: a point, or a line through them. Coordinates are as everywhere here, from the corner of the image
/// (PS3.3, C.18.6.1.1).
pub(super) fn coordinates(
    relation: Relation,
    name: ConceptCode<'_>,
    points: &[(f64, f64)],
    on: &Image,
) -> Elements {
    let mut elements = item(relation, "SCOORD", Some(name));
    text(&mut elements, tags::GRAPHIC_TYPE, VR::CS, if points.len() == 1 { "POINT" } else { "POLYLINE" });
    places(&mut elements, tags::GRAPHIC_DATA, points);
    with(elements, vec![image(Relation::SelectedFrom, on, Vec::new())])
}
