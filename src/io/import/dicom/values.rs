//! What a file says of its values and their display: modality transform and presets (PS3.3 C.11.1 and C.11.2), of
//! the whole file, of all frames (shared functional groups), or of one (per-frame functional groups).

use dicom_core::Tag;
use dicom_dictionary_std::tags;

use crate::case::image::facts::{GrayCurve, Modality, Preset, WindowFunction};
use crate::io::import::dicom::data_set::{DataSet, LookupTable};

/// The most presets that are taken over.
const MAX_PRESETS: usize = 32;

/// The item that holds an attribute for a frame: of the frame's own group, of the shared group, or the data set.
pub(super) fn holder(set: DataSet<'_>, frame: u32, group: Tag, attribute: Tag) -> DataSet<'_> {
    let own = set.items(tags::PER_FRAME_FUNCTIONAL_GROUPS_SEQUENCE).nth(frame as usize);
    let shared = set.items(tags::SHARED_FUNCTIONAL_GROUPS_SEQUENCE).next();
    [own, shared]
        .into_iter()
        .flatten()
        .filter_map(|groups| groups.items(group).next())
        .find(|item| !item.texts(attribute).is_empty())
        .unwrap_or(set)
}

/// From stored values to values; a sentence where what the file says cannot be meant.
pub(super) fn modality(set: DataSet<'_>, frame: u32, signed: bool, warnings: &mut Vec<String>) -> Modality {
    if let Some(item) = set.items(tags::MODALITY_LUT_SEQUENCE).next() {
        if let Some(table) = item.table(tags::LUT_DESCRIPTOR, tags::LUT_DATA) {
            return Modality::Table { first: first_of(&table, signed), values: table.entries };
        }
        warnings.push("The file's Modality LUT is damaged; stored values are shown as they are.".to_owned());
        return Modality::PLAIN;
    }
    let item = holder(set, frame, tags::PIXEL_VALUE_TRANSFORMATION_SEQUENCE, tags::RESCALE_SLOPE);
    if item.texts(tags::RESCALE_SLOPE).is_empty() && item.texts(tags::RESCALE_INTERCEPT).is_empty() {
        return Modality::PLAIN;
    }
    let slope = item.decimal(tags::RESCALE_SLOPE);
    let intercept = item.decimal(tags::RESCALE_INTERCEPT);
    match (slope, intercept) {
        (Some(slope), Some(intercept)) if slope.abs() >= f64::MIN_POSITIVE => {
            Modality::Rescale { slope, intercept }
        }
        _ => {
            warnings.push(
                "The file's Rescale Slope and Intercept are not usable; stored values are shown as they are."
                    .to_owned(),
            );
            Modality::PLAIN
        }
    }
}

/// The displays that the file carries: windows first, then tables.
pub(super) fn presets(set: DataSet<'_>, frame: u32, signed: bool) -> Vec<Preset> {
    let mut found = windows(holder(set, frame, tags::FRAME_VOILUT_SEQUENCE, tags::WINDOW_CENTER));
    for item in set.items(tags::VOILUT_SEQUENCE) {
        if let Some(table) = item.table(tags::LUT_DESCRIPTOR, tags::LUT_DATA) {
            let white = u16::try_from((1_u32 << table.bits) - 1).unwrap_or(u16::MAX);
            let first = first_of(&table, signed);
            found.push((
                item.text(tags::LUT_EXPLANATION),
                GrayCurve::Table { first, greys: table.entries, white },
            ));
        }
    }
    let named = found.into_iter().take(MAX_PRESETS).enumerate();
    named
        .map(|(i, (name, curve))| Preset { name: name.unwrap_or_else(|| format!("Preset {}", i + 1)), curve })
        .collect()
}

fn windows(item: DataSet<'_>) -> Vec<(Option<String>, GrayCurve)> {
    let function = match item.text(tags::VOILUT_FUNCTION).as_deref() {
        Some("SIGMOID") => WindowFunction::Sigmoid,
        Some("LINEAR_EXACT") => WindowFunction::LinearExact,
        _ => WindowFunction::Linear,
    };
    let smallest = if function == WindowFunction::Linear { 1.0 } else { f64::MIN_POSITIVE };
    let names = item.texts(tags::WINDOW_CENTER_WIDTH_EXPLANATION);
    let pairs = item.decimals(tags::WINDOW_CENTER).into_iter().zip(item.decimals(tags::WINDOW_WIDTH));
    pairs
        .enumerate()
        .filter_map(|(i, (centre, width))| {
            let (centre, width) = (centre?, width.filter(|width| *width >= smallest)?);
            let name = names.get(i).filter(|name| !name.is_empty()).cloned();
            Some((name, GrayCurve::Window { centre, width, function }))
        })
        .collect()
}

/// The value of a table's first entry, which is signed where the values are.
fn first_of(table: &LookupTable, signed: bool) -> i32 {
    if signed { i32::from(table.first.cast_signed()) } else { i32::from(table.first) }
}

#[cfg(test)]
mod tests {
    use dicom_core::value::DataSetSequence;
    use dicom_core::{DataElement, PrimitiveValue, VR};
    use dicom_object::InMemDicomObject;

    use super::*;
    use crate::io::import::dicom::syntax::EXPLICIT;

    fn put(object: &mut InMemDicomObject, tag: Tag, vr: VR, value: impl Into<PrimitiveValue>) {
        object.put(DataElement::new(tag, vr, value.into()));
    }

    fn lut(first: u16, bits: u16, entries: &[u16]) -> InMemDicomObject {
        let mut item = InMemDicomObject::new_empty();
        let count = u16::try_from(entries.len()).unwrap();
        put(
            &mut item,
            tags::LUT_DESCRIPTOR,
            VR::US,
            PrimitiveValue::U16([count, first, bits].into_iter().collect()),
        );
        put(&mut item, tags::LUT_DATA, VR::US, PrimitiveValue::U16(entries.iter().copied().collect()));
        item
    }

    fn put_items(object: &mut InMemDicomObject, tag: Tag, items: Vec<InMemDicomObject>) {
        object.put(DataElement::new(tag, VR::SQ, DataSetSequence::from(items)));
    }

    #[test]
    fn a_modality_table_stands_before_a_rescale() {
        let mut object = InMemDicomObject::new_empty();
        put(&mut object, tags::RESCALE_SLOPE, VR::DS, "2");
        put(&mut object, tags::RESCALE_INTERCEPT, VR::DS, "-5.5");
        let mut warnings = Vec::new();
        let rescale = modality(DataSet::new(&object, EXPLICIT), 0, false, &mut warnings);
        assert_eq!(rescale, Modality::Rescale { slope: 2.0, intercept: -5.5 });
        put_items(&mut object, tags::MODALITY_LUT_SEQUENCE, vec![lut(0xffff, 16, &[7, 8, 9])]);
        let set = DataSet::new(&object, EXPLICIT);
        let table = Modality::Table { first: -1, values: vec![7, 8, 9] };
        assert_eq!(modality(set, 0, true, &mut warnings), table);
        assert!(warnings.is_empty());
    }

    #[test]
    fn a_rescale_that_cannot_be_meant_is_told_and_left_out() {
        for slope in ["0", "nan", "", "1e999"] {
            let mut object = InMemDicomObject::new_empty();
            put(&mut object, tags::RESCALE_SLOPE, VR::DS, slope);
            put(&mut object, tags::RESCALE_INTERCEPT, VR::DS, "1");
            let mut warnings = Vec::new();
            let found = modality(DataSet::new(&object, EXPLICIT), 0, false, &mut warnings);
            assert_eq!((found, warnings.len()), (Modality::PLAIN, 1), "{slope}");
        }
    }

    #[test]
    fn windows_and_tables_become_presets() {
        let mut object = InMemDicomObject::new_empty();
        put(&mut object, tags::WINDOW_CENTER, VR::DS, "40\\300\\x\\7");
        put(&mut object, tags::WINDOW_WIDTH, VR::DS, "80\\1500\\10\\0.5");
        put(&mut object, tags::WINDOW_CENTER_WIDTH_EXPLANATION, VR::LO, "SOFT\\BONE");
        put_items(&mut object, tags::VOILUT_SEQUENCE, vec![lut(10, 12, &[0, 4095])]);
        let found = presets(DataSet::new(&object, EXPLICIT), 0, false);
        let window = |centre, width| GrayCurve::Window { centre, width, function: WindowFunction::Linear };
        let preset = |name: &str, curve| Preset { name: name.to_owned(), curve };
        let table = GrayCurve::Table { first: 10, greys: vec![0, 4095], white: 4095 };
        let want = [
            preset("SOFT", window(40.0, 80.0)),
            preset("BONE", window(300.0, 1500.0)),
            preset("Preset 3", table),
        ];
        assert_eq!(found, want);
    }

    #[test]
    fn a_frames_own_group_stands_before_the_shared_one() {
        let rescale = |slope: &str| {
            let mut item = InMemDicomObject::new_empty();
            put(&mut item, tags::RESCALE_SLOPE, VR::DS, slope);
            put(&mut item, tags::RESCALE_INTERCEPT, VR::DS, "0");
            let mut group = InMemDicomObject::new_empty();
            put_items(&mut group, tags::PIXEL_VALUE_TRANSFORMATION_SEQUENCE, vec![item]);
            group
        };
        let mut object = InMemDicomObject::new_empty();
        put_items(&mut object, tags::SHARED_FUNCTIONAL_GROUPS_SEQUENCE, vec![rescale("3")]);
        put_items(&mut object, tags::PER_FRAME_FUNCTIONAL_GROUPS_SEQUENCE, vec![rescale("5")]);
        let set = DataSet::new(&object, EXPLICIT);
        let slope = |frame| match modality(set, frame, false, &mut Vec::new()) {
            Modality::Rescale { slope, .. } => slope.to_string(),
            Modality::Table { .. } => String::new(),
        };
        assert_eq!([slope(0), slope(1)], ["5", "3"]);
    }
}
