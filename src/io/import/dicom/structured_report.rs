//! A structured report of our own, read back: the case from the item that holds it, its marks as they stand on the images,
//! and the values that stand in the report, to be compared.

use std::path::Path;

use dicom_core::Tag as DicomTag;
use dicom_dictionary_std::tags;
use dicom_object::InMemDicomObject;
use dicom_object::mem::InMemElement;

use crate::case::document::proposed::ProposedMarks;
use crate::case::document::{Case, Shot};
use crate::geom::point::Point;
use crate::io::case_file;
use crate::io::dicom_codes::{CASE_TEXT, OWN, TRACKING, mark_of};
use crate::io::error::{Error, ErrorKind};
use crate::io::files;
use crate::io::import::dicom::element::Tag;
use crate::io::import::dicom::walk::{is_dicom, walk_for};
use crate::io::import::dicom::{damaged, data_set, explain, source_object};
use crate::io::import::size::MAX_FILE_BYTES;
use crate::measure::mark::Marks;

/// How deep items are followed; a report of ours has five levels.
const MAX_LEVELS: usize = 16;

/// Places that lie closer than this are the same, in pixels: what single precision leaves.
const SAME_PX: f64 = 1e-3;

/// A value that stands in a report.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct ReportedValue {
    /// The shot's or pair's name in the report.
    pub(crate) group: String,
    /// Code of what was measured, such as `DEPTH`.
    pub(crate) name: String,
    /// Code of the method: direct, or as a true view would show it.
    pub(crate) method: String,
    /// The value in its unit: percent for fractions.
    pub(crate) value: f64,
    /// Its standard uncertainty, where it is said.
    pub(crate) sd: Option<f64>,
}

/// What a report says.
#[derive(Clone, Debug)]
pub(crate) struct ReadBack {
    /// The case. Its images are the files beside the report that it refers to, as far as they were found.
    pub(crate) case: Case,
    /// The values.
    pub(crate) values: Vec<ReportedValue>,
    /// The shots whose image was not found beside the report.
    pub(crate) without_image: Vec<String>,
}

/// Reads a report of ours.
///
/// # Errors
/// One sentence that names the file: it cannot be read, is damaged, or is no report of this program.
pub(crate) fn read(path: &Path) -> Result<ReadBack, Error> {
    let foreign = || {
        let text = "it is not a report of this program, so no case can be made of it; select a report that was exported here";
        Error::new(ErrorKind::Unsupported, path, text)
    };
    let bytes = files::read(path, MAX_FILE_BYTES)?;
    if !is_dicom(&bytes) {
        return Err(foreign());
    }
    let wanted = |tag: Tag| matches!(tag, (0x0008, 0x0005) | (0x0040, 0xa730));
    let walked = walk_for(&bytes, wanted).map_err(|fault| explain(path, fault))?;
    let object =
        data_set::parse_kept(&walked.wanted, &walked.kept, walked.syntax).ok_or_else(|| damaged(path))?;
    let top = children(&object);
    let text = top.iter().find(|item| name_of(item) == (OWN.to_owned(), CASE_TEXT.to_owned()));
    let text = text.and_then(|item| text_of(item, tags::TEXT_VALUE)).ok_or_else(foreign)?;
    let mut case = case_file::from_bytes(path, text.as_bytes())?;
    let mut values = Vec::new();
    let mut images = Vec::new();
    for group in top.iter().flat_map(|item| children(item)) {
        let items = children(group);
        let tracking = items.iter().find(|item| name_of(item).1 == TRACKING);
        let Some(name) = tracking.and_then(|item| text_of(item, tags::TEXT_VALUE)) else { continue };
        values.extend(items.iter().filter_map(|item| value_of(item, &name)));
        if let Some(shot) = case.shots.iter_mut().find(|shot| shot.id == name) {
            take_marks(shot, marks_of(&items));
            images.push((name, items.iter().find_map(|item| referenced(item, 0))));
        }
    }
    let without_image = find_images(path, &mut case, &images);
    Ok(ReadBack { case, values, without_image })
}

/// The places on the image stand in single precision: where they are those that the case has, the case's are kept, and
/// else they are taken as they are, by nobody's proposal.
fn take_marks(shot: &mut Shot, placed: Marks) {
    let same = placed.kinds().all(|kind| {
        let (one, other) = (placed.slots(kind), shot.marks.slots(kind));
        let near = |(a, b): (&Option<Point>, &Option<Point>)| {
            a.zip(*b).is_some_and(|(a, b)| (a.x - b.x).hypot(a.y - b.y) <= SAME_PX)
        };
        one.len() == other.len() && one.iter().zip(other).all(near)
    });
    if !same {
        shot.marks = placed;
        shot.proposed = ProposedMarks::default();
    }
}

/// Names the files beside the report that hold the images it refers to.
fn find_images(report: &Path, case: &mut Case, images: &[(String, Option<(String, u32)>)]) -> Vec<String> {
    let folder = report.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        let is_named = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("dcm"));
        if is_named
            && let Ok(Some(source)) = source_object::read(&path)
            && let Some(name) = path.file_name().and_then(|name| name.to_str())
        {
            found.push((source.instance, name.to_owned()));
        }
    }
    let mut missing = Vec::new();
    for (shot, image) in images {
        let Some(of) = case.shots.iter_mut().find(|one| one.id == *shot) else { continue };
        let here = image.as_ref().and_then(|(instance, frame)| {
            found.iter().find(|(known, _)| known == instance).map(|(_, name)| (name.clone(), *frame))
        });
        match here {
            Some((name, frame)) => (of.image, of.frame) = (name, frame),
            None => missing.push(shot.clone()),
        }
    }
    missing
}

fn children(item: &InMemDicomObject) -> Vec<&InMemDicomObject> {
    sequence(item, tags::CONTENT_SEQUENCE)
}

fn sequence(item: &InMemDicomObject, tag: DicomTag) -> Vec<&InMemDicomObject> {
    item.get(tag).and_then(InMemElement::items).map(|items| items.iter().collect()).unwrap_or_default()
}

fn text_of(item: &InMemDicomObject, tag: DicomTag) -> Option<String> {
    item.get(tag)?.to_str().ok().map(|text| text.trim_end_matches(['\0', ' ']).to_owned())
}

/// Scheme and value of the code in a sequence.
fn code_in(item: &InMemDicomObject, tag: DicomTag) -> (String, String) {
    let code = sequence(item, tag);
    let part = |tag| code.first().and_then(|code| text_of(code, tag)).unwrap_or_default();
    (part(tags::CODING_SCHEME_DESIGNATOR), part(tags::CODE_VALUE))
}

fn name_of(item: &InMemDicomObject) -> (String, String) {
    code_in(item, tags::CONCEPT_NAME_CODE_SEQUENCE)
}

fn number_of(item: &InMemDicomObject) -> Option<f64> {
    let measured = sequence(item, tags::MEASURED_VALUE_SEQUENCE);
    let value = measured.first()?.get(tags::FLOATING_POINT_VALUE)?.to_float64().ok()?;
    value.is_finite().then_some(value)
}

fn value_of(item: &InMemDicomObject, group: &str) -> Option<ReportedValue> {
    let (scheme, name) = name_of(item);
    if scheme != OWN {
        return None;
    }
    let value = number_of(item)?;
    let below = children(item);
    let method = below.iter().find(|item| name_of(item).1 == "370129005");
    let method = method.map(|item| code_in(item, tags::CONCEPT_CODE_SEQUENCE).1).unwrap_or_default();
    let sd = below.iter().find(|item| name_of(item).1 == "STANDARD_UNC").and_then(|item| number_of(item));
    Some(ReportedValue { group: group.to_owned(), name, method, value, sd })
}

/// The marks of a group: places on an image under a name of ours.
fn marks_of(items: &[&InMemDicomObject]) -> Marks {
    let mut marks = Marks::new();
    for item in items {
        let (scheme, name) = name_of(item);
        let Some(kind) = mark_of(&name).filter(|_| scheme == OWN) else { continue };
        let data = item.get(tags::GRAPHIC_DATA).and_then(|data| data.to_multi_float64().ok());
        let points = data.unwrap_or_default();
        let slots = points.chunks_exact(2).map(|p| Some(Point::new(p[0], p[1]))).collect();
        marks.set(kind, slots);
    }
    marks
}

/// The image that an item or one below it refers to, with its frame from 0.
fn referenced(item: &InMemDicomObject, level: usize) -> Option<(String, u32)> {
    if level > MAX_LEVELS {
        return None;
    }
    if let Some(reference) = sequence(item, tags::REFERENCED_SOP_SEQUENCE).first() {
        let instance = text_of(reference, tags::REFERENCED_SOP_INSTANCE_UID)?;
        let frame =
            text_of(reference, tags::REFERENCED_FRAME_NUMBER).and_then(|text| text.parse::<u32>().ok());
        return Some((instance, frame.map_or(0, |frame| frame.saturating_sub(1))));
    }
    children(item).into_iter().find_map(|below| referenced(below, level + 1))
}
