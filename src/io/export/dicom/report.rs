//! The readings of a case as a Measurement Report (PS3.16, TID 1500) in an Enhanced SR document: a measurement group
//! (TID 1501) for each shot and each matched pair, with uncertainty, interval, verdicts, method and the marks' places.

use dicom_core::VR;
use dicom_dictionary_std::{tags, uids};

use crate::case::document::{Case, Shot};
use crate::case::readings::{CaseReadings, ReadPairOf, ShotReading};
use crate::io::dicom_codes::{
    self, CASE_TEXT, ConceptCode, DEGREE, DIRECT, METHOD, MM, MM_A_PIXEL, NO_UNITS, OUTLINE, OWN, PERCENT,
    PIXELS, RATIO, TRACKING, TRUE_VIEW,
};
use crate::io::export::ExportError;
use crate::io::export::dicom::content::{
    Relation, coded, container, coordinates, identifier, image, number, with, words,
};
use crate::io::export::dicom::element::{Elements, file_bytes, items, text, uid};
use crate::io::export::dicom::identity::{Context, Image, ObjectKind};
use crate::measure::length::BodyLengths;
use crate::measure::mark::{MarkKind, MarkRef};
use crate::measure::quantity::Quantity;
use crate::measure::reading::{ApReading, LateralReading, MidlineBy, MidlineOffsets, PedicleReading};
use crate::measure::true_view::view::Angle;
use crate::measure::verdict::Verdict;
use crate::scene::words::caution;

const REPORT: ObjectKind = ObjectKind {
    class: uids::ENHANCED_SR_STORAGE,
    modality: "SR",
    series: 9003,
    description: "Measurements",
};

/// What is reported.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reported<'a> {
    /// The case, of which only what stands in the report is used.
    pub(super) case: &'a Case,
    /// Its readings.
    pub(super) readings: &'a CaseReadings,
    /// The shots that are reported, with their neutral names and images, by their places in the case.
    pub(super) shots: &'a [(usize, String, Image)],
    /// The case as its file has it, without words and names.
    pub(super) bare: &'a str,
}

/// The report as a file.
///
/// # Errors
/// A value that cannot be written.
pub(super) fn report(context: &Context, reported: &Reported<'_>) -> Result<Vec<u8>, ExportError> {
    let groups = reported.shots.iter().filter_map(|(place, name, image)| {
        let (shot, reading) = (reported.case.shots.get(*place)?, reported.readings.shots.get(*place)?);
        Some(shot_group(shot, reading, name, image))
    });
    let named =
        |place: usize| reported.shots.iter().find(|(at, ..)| *at == place).map(|(_, name, _)| name.as_str());
    let pairs = reported.readings.pairs.iter().filter_map(|pair| {
        let shot = reported.case.shots.get(pair.lateral)?;
        Some(pair_group(shot, pair, named(pair.lateral)?, named(pair.ap)?))
    });
    let measured = groups.chain(pairs).collect();
    let library = reported
        .shots
        .iter()
        .filter_map(|(place, _, on)| reported.case.shots.get(*place).map(|shot| library_entry(shot, on)));
    let library = container(
        Relation::Contains,
        ConceptCode("126200", "DCM", "Image Library Group"),
        None,
        library.collect(),
    );
    let root = vec![
        coded(
            Relation::Modifier,
            ConceptCode("121049", "DCM", "Language of Content Item and Descendants"),
            ConceptCode("en", "RFC5646", "English"),
        ),
        coded(
            Relation::Context,
            ConceptCode("121005", "DCM", "Observer Type"),
            ConceptCode("121007", "DCM", "Device"),
        ),
        identifier(
            Relation::Context,
            ConceptCode("121012", "DCM", "Device Observer UID"),
            &uid(&[b"stillmark", env!("CARGO_PKG_VERSION").as_bytes()]),
        ),
        words(Relation::Context, ConceptCode("121013", "DCM", "Device Observer Name"), "Stillmark"),
        words(
            Relation::Context,
            ConceptCode("121015", "DCM", "Device Observer Model Name"),
            env!("CARGO_PKG_VERSION"),
        ),
        coded(
            Relation::Modifier,
            ConceptCode("121058", "DCM", "Procedure reported"),
            ConceptCode("44491008", "SCT", "Fluoroscopy"),
        ),
        container(Relation::Contains, ConceptCode("111028", "DCM", "Image Library"), None, vec![library]),
        container(Relation::Contains, ConceptCode("126010", "DCM", "Imaging Measurements"), None, measured),
        words(
            Relation::Contains,
            ConceptCode(CASE_TEXT, OWN, "Settings and shots as in the case file"),
            reported.bare,
        ),
    ];
    let mut elements = container(
        Relation::Root,
        ConceptCode("126000", "DCM", "Imaging Measurement Report"),
        Some("1500"),
        root,
    );
    context.patient_and_study(&mut elements);
    context.object(&mut elements, REPORT, &[reported.bare.as_bytes()]);
    general(context, &mut elements);
    evidence(context, &mut elements, reported.shots);
    file_bytes(elements, context.copied())
}

/// SR Document General (PS3.3, C.17.2) and the coding scheme of our own (C.12.1.1.4.1).
fn general(context: &Context, elements: &mut Elements) {
    let (date, time) = &context.now;
    items(elements, tags::REFERENCED_PERFORMED_PROCEDURE_STEP_SEQUENCE, Vec::new());
    items(elements, tags::PERFORMED_PROCEDURE_CODE_SEQUENCE, Vec::new());
    text(elements, tags::INSTANCE_NUMBER, VR::IS, "1");
    text(elements, tags::CONTENT_DATE, VR::DA, date);
    text(elements, tags::CONTENT_TIME, VR::TM, time);
    text(elements, tags::COMPLETION_FLAG, VR::CS, "PARTIAL");
    text(elements, tags::VERIFICATION_FLAG, VR::CS, "UNVERIFIED");
    let mut scheme = Elements::new_empty();
    text(&mut scheme, tags::CODING_SCHEME_DESIGNATOR, VR::SH, OWN);
    text(&mut scheme, tags::CODING_SCHEME_NAME, VR::ST, "Concepts of Stillmark without a standard code");
    text(&mut scheme, tags::CODING_SCHEME_VERSION, VR::SH, "1");
    text(&mut scheme, tags::CODING_SCHEME_RESPONSIBLE_ORGANIZATION, VR::ST, "The Stillmark project");
    items(elements, tags::CODING_SCHEME_IDENTIFICATION_SEQUENCE, vec![scheme]);
}

/// Every image that the report refers to, by study and series (PS3.3, C.17.2.1), each once.
fn evidence(context: &Context, elements: &mut Elements, shots: &[(usize, String, Image)]) {
    let mut seen: Vec<&Image> = Vec::new();
    for (_, _, image) in shots {
        if !seen.iter().any(|one| one.placed.instance == image.placed.instance) {
            seen.push(image);
        }
    }
    let mut series: Vec<&str> = Vec::new();
    for image in &seen {
        if !series.contains(&image.placed.series.as_str()) {
            series.push(&image.placed.series);
        }
    }
    let of_series = series.iter().map(|series| {
        let images = seen.iter().filter(|image| image.placed.series == *series).map(|image| {
            let mut one = Elements::new_empty();
            text(&mut one, tags::REFERENCED_SOP_CLASS_UID, VR::UI, &image.placed.class);
            text(&mut one, tags::REFERENCED_SOP_INSTANCE_UID, VR::UI, &image.placed.instance);
            one
        });
        let mut one = Elements::new_empty();
        text(&mut one, tags::SERIES_INSTANCE_UID, VR::UI, series);
        items(&mut one, tags::REFERENCED_SOP_SEQUENCE, images.collect());
        one
    });
    let of_series: Vec<Elements> = of_series.collect();
    if of_series.is_empty() {
        return;
    }
    let mut one = Elements::new_empty();
    text(&mut one, tags::STUDY_INSTANCE_UID, VR::UI, &context.study());
    items(&mut one, tags::REFERENCED_SERIES_SEQUENCE, of_series);
    // In either mode the images are of the report's own study.
    items(elements, tags::CURRENT_REQUESTED_PROCEDURE_EVIDENCE_SEQUENCE, vec![one]);
}

/// An image of the library with what is known of it (PS3.16, TID 1601 and 1602).
fn library_entry(shot: &Shot, on: &Image) -> Elements {
    let acquisition = Relation::Acquisition;
    let mut known = vec![
        coded(
            acquisition,
            ConceptCode("121139", "DCM", "Modality"),
            ConceptCode("RF", "DCM", "Radiofluoroscopy"),
        ),
        coded(
            acquisition,
            ConceptCode("123014", "DCM", "Target Region"),
            ConceptCode("122496007", "SCT", "Lumbar spine"),
        ),
        coded(acquisition, ConceptCode("111031", "DCM", "Image View"), dicom_codes::view(shot.view)),
        number(
            acquisition,
            ConceptCode("110910", "DCM", "Pixel Data Rows"),
            on.rows.into(),
            PIXELS,
            Vec::new(),
        ),
        number(
            acquisition,
            ConceptCode("110911", "DCM", "Pixel Data Columns"),
            on.columns.into(),
            PIXELS,
            Vec::new(),
        ),
    ];
    if let Some(scale) = shot.mm_per_px {
        // At the plane of the body, not the detector's spacing.
        let name = ConceptCode("MM_PER_PX", OWN, "Scale at the plane of the vertebral body");
        known.push(number(acquisition, name, scale, MM_A_PIXEL, Vec::new()));
    }
    image(Relation::Contains, on, known)
}

/// What all groups begin with.
fn group(name: &str, shot: &Shot) -> Vec<Elements> {
    let (value, scheme, meaning) = dicom_codes::level(shot.level);
    let mut below = vec![
        words(Relation::Context, ConceptCode(TRACKING, "DCM", "Tracking Identifier"), name),
        identifier(
            Relation::Context,
            ConceptCode("112040", "DCM", "Tracking Unique Identifier"),
            &uid(&[b"tracking", name.as_bytes(), meaning.as_bytes()]),
        ),
        coded(
            Relation::Contains,
            ConceptCode("121071", "DCM", "Finding"),
            ConceptCode("TIP_IN_BODY", OWN, "Position of the probe tip in the vertebral body"),
        ),
        coded(
            Relation::Modifier,
            ConceptCode("363698007", "SCT", "Finding Site"),
            ConceptCode(&value, scheme, &meaning),
        ),
    ];
    // A vertebra has no side: it is the entry's and not the site's.
    if let Some(side) = shot.side {
        below.push(coded(
            Relation::Modifier,
            ConceptCode("ENTRY_SIDE", OWN, "Side of entry"),
            dicom_codes::side(side),
        ));
    }
    if let Some(stage) = shot.stage {
        below.push(coded(
            Relation::Modifier,
            ConceptCode("STAGE", OWN, "Stage of the procedure"),
            dicom_codes::stage(stage),
        ));
    }
    below
}

fn shot_group(shot: &Shot, reading: &ShotReading, name: &str, on: &Image) -> Elements {
    let mut below = group(name, shot);
    let marks = marks(shot, on);
    match reading {
        ShotReading::Lateral(reading) => lateral(&mut below, reading, &sources(shot, on)),
        ShotReading::Ap(reading) => ap(&mut below, reading, &sources(shot, on)),
        ShotReading::Pedicle(reading) => pedicle(&mut below, reading, &sources(shot, on)),
    }
    below.extend(reading.verdicts().iter().map(verdict));
    below.extend(marks);
    below.extend(reading.issues().iter().map(|issue| comment(&issue.text)));
    below.push(comment(caution::SHORT));
    container(Relation::Contains, ConceptCode("125007", "DCM", "Measurement Group"), Some("1501"), below)
}

fn pair_group(lateral: &Shot, read: &ReadPairOf, first: &str, second: &str) -> Elements {
    let mut below = group(&format!("{first} with {second}"), lateral);
    let (pair, none) = (&read.reading, &[][..]);
    let direct = [(DEPTH, &pair.depth), (ACROSS, &pair.across), (HEIGHT, &pair.height)];
    put_all(&mut below, &direct, DIRECT, none);
    if let Some((by, offset)) = &pair.midline {
        below.push(fraction(midline_name(*by), offset, DIRECT, none));
    }
    let corrected = &pair.true_view;
    let of_true_view = [
        (DEPTH, &corrected.depth),
        (ACROSS, &corrected.across),
        (HEIGHT, &corrected.height),
        (MEDIAL_BORDER, &corrected.medial_border),
    ];
    put_all(&mut below, &of_true_view, TRUE_VIEW, none);
    offsets(&mut below, &corrected.midline_by, TRUE_VIEW, none);
    below.extend(pair.verdicts.iter().map(verdict));
    below.extend(pair.issues.iter().map(|issue| comment(&issue.text)));
    below.push(comment(caution::SHORT));
    container(Relation::Contains, ConceptCode("125007", "DCM", "Measurement Group"), Some("1501"), below)
}

const DEPTH: ConceptCode<'static> =
    ConceptCode("DEPTH", OWN, "Depth from the posterior wall as a fraction of body depth");
const HEIGHT: ConceptCode<'static> =
    ConceptCode("HEIGHT", OWN, "Height from superior to inferior endplate as a fraction");
const ACROSS: ConceptCode<'static> =
    ConceptCode("ACROSS", OWN, "Place across the body from the entry side as a fraction");
const MEDIAL_BORDER: ConceptCode<'static> =
    ConceptCode("MEDIAL_BORDER", OWN, "Distance still to the medial border as a fraction");

const fn midline_name(by: MidlineBy) -> ConceptCode<'static> {
    match by {
        MidlineBy::Pedicles => {
            ConceptCode("MIDLINE_PEDICLES", OWN, "Offset from the midline by the pedicles")
        }
        MidlineBy::SpinousProcess => {
            ConceptCode("MIDLINE_SPINOUS", OWN, "Offset from the middle of the spinous process")
        }
        MidlineBy::Body => ConceptCode("MIDLINE_BODY", OWN, "Offset from the middle of the body"),
    }
}

fn lateral(below: &mut Vec<Elements>, reading: &LateralReading, sources: &[Elements]) {
    if let Some(tip) = &reading.tip {
        below.push(fraction(DEPTH, &tip.along, DIRECT, sources));
        below.push(fraction(HEIGHT, &tip.height, DIRECT, sources));
    }
    if let Some(view) = &reading.true_view {
        below.push(fraction(DEPTH, &view.depth, TRUE_VIEW, sources));
        below.push(fraction(HEIGHT, &view.height, TRUE_VIEW, sources));
        below.push(angle(
            ConceptCode("VIEW_TURN_ABS", OWN, "Rotation of the view, without its direction"),
            view.turn_abs,
        ));
        below.push(angle(
            ConceptCode("VIEW_TILT", OWN, "Tilt of the view against the mean endplate"),
            view.tilt,
        ));
    }
    lengths(below, reading.lengths.as_ref());
}

fn ap(below: &mut Vec<Elements>, reading: &ApReading, sources: &[Elements]) {
    if let Some(tip) = &reading.tip {
        below.push(fraction(ACROSS, &tip.along, DIRECT, sources));
    }
    put_all(below, &[(HEIGHT, &reading.height), (MEDIAL_BORDER, &reading.medial_border)], DIRECT, sources);
    offsets(below, &reading.midline_by, DIRECT, sources);
    if let Some(view) = &reading.true_view {
        let corrected =
            [(ACROSS, &view.across), (HEIGHT, &view.height), (MEDIAL_BORDER, &view.medial_border)];
        put_all(below, &corrected, TRUE_VIEW, sources);
        offsets(below, &view.midline_by, TRUE_VIEW, sources);
        let angles = [
            (ConceptCode("VIEW_TURN", OWN, "Rotation of the view about the long axis"), view.turn),
            (ConceptCode("VIEW_TILT", OWN, "Tilt of the view against the mean endplate"), view.tilt),
        ];
        below.extend(angles.into_iter().filter_map(|(name, of)| Some(angle(name, of?))));
    }
    lengths(below, reading.lengths.as_ref());
}

fn pedicle(below: &mut Vec<Elements>, reading: &PedicleReading, sources: &[Elements]) {
    let offsets = [
        (
            ConceptCode("LATERAL_OFFSET", OWN, "Offset toward the lateral border, 1 on it"),
            &reading.lateral_offset,
        ),
        (
            ConceptCode("SUPERIOR_OFFSET", OWN, "Offset toward the superior border, 1 on it"),
            &reading.superior_offset,
        ),
        (ConceptCode("RADIUS", OWN, "Distance from the center, 1 on the outline"), &reading.radius),
    ];
    for (name, of) in offsets {
        if let Some(of) = of {
            below.push(quantity(name, of, (1.0, NO_UNITS), OUTLINE, sources));
        }
    }
}

fn put_all(
    below: &mut Vec<Elements>,
    named: &[(ConceptCode<'static>, &Option<Quantity>)],
    method: ConceptCode<'static>,
    sources: &[Elements],
) {
    let given = named.iter().filter_map(|(name, of)| Some(fraction(*name, of.as_ref()?, method, sources)));
    below.extend(given);
}

fn offsets(
    below: &mut Vec<Elements>,
    of: &MidlineOffsets,
    method: ConceptCode<'static>,
    sources: &[Elements],
) {
    for by in [MidlineBy::Pedicles, MidlineBy::SpinousProcess, MidlineBy::Body] {
        if let Some(offset) = of.by(by) {
            below.push(fraction(midline_name(by), offset, method, sources));
        }
    }
}

/// The body's depth (width in AP) in millimeters, where the shot is calibrated.
fn lengths(below: &mut Vec<Elements>, lengths: Option<&BodyLengths>) {
    if let Some(lengths) = lengths {
        let name = ConceptCode("BODY_EXTENT", OWN, "Depth (lateral) or width (AP) of the body");
        let sd = number(Relation::Property, STANDARD, lengths.depth.sd(), MM, Vec::new());
        below.push(number(Relation::Contains, name, lengths.depth.quantity.value, MM, vec![sd]));
    }
}

const STANDARD: ConceptCode<'static> = ConceptCode("STANDARD_UNC", OWN, "Standard uncertainty");

/// A fraction in percent.
fn fraction(
    name: ConceptCode<'static>,
    of: &Quantity,
    method: ConceptCode<'static>,
    sources: &[Elements],
) -> Elements {
    quantity(name, of, (100.0, PERCENT), method, sources)
}

/// A quantity with its 95 % interval, its standard uncertainty by part, its method and what it follows from.
fn quantity(
    name: ConceptCode<'static>,
    of: &Quantity,
    (k, unit): (f64, ConceptCode<'static>),
    method: ConceptCode<'static>,
    sources: &[Elements],
) -> Elements {
    let lower = ConceptCode("371885007", "SCT", "-, range of lower measurement uncertainty");
    let upper = ConceptCode("371886008", "SCT", "+, range of upper measurement uncertainty");
    let part = |name, value: f64| number(Relation::Property, name, k * value, unit, Vec::new());
    let mut below = vec![
        coded(Relation::Modifier, METHOD, method),
        part(lower, of.value - of.low()),
        part(upper, of.high() - of.value),
        part(STANDARD, of.budget.stated()),
        part(ConceptCode("UNC_BONE", OWN, "Standard uncertainty from bone marks"), of.budget.bone),
        part(
            ConceptCode("UNC_METAL", OWN, "Standard uncertainty from marks on instruments"),
            of.budget.metal,
        ),
        part(ConceptCode("UNC_VIEW", OWN, "Standard uncertainty from the view"), of.budget.view),
        number(
            Relation::Property,
            ConceptCode("COVERAGE", OWN, "Coverage of the stated range"),
            95.0,
            PERCENT,
            Vec::new(),
        ),
    ];
    if of.budget.model > 0.0 {
        let name =
            ConceptCode("UNC_MODEL", OWN, "What the interval has beyond it for a turned or tilted view");
        below.push(part(name, of.budget.model));
    }
    if of.budget.proposal > 0.0 {
        let name = ConceptCode("UNC_PROPOSED", OWN, "Part of bone marks that the program proposed");
        below.push(part(name, of.budget.proposal));
    }
    below.extend(sources.iter().cloned());
    number(Relation::Contains, name, k * of.value, unit, below)
}

fn angle(name: ConceptCode<'static>, of: Angle) -> Elements {
    let sd = number(Relation::Property, STANDARD, of.sd_deg, DEGREE, Vec::new());
    number(Relation::Contains, name, of.deg, DEGREE, vec![sd])
}

/// A verdict in words of the target, with its probability and what it goes by.
fn verdict(of: &Verdict) -> Elements {
    let basis = match of.basis.key() {
        "true_view" => TRUE_VIEW,
        _ => DIRECT,
    };
    let name = ConceptCode("P_INSIDE", OWN, "Probability of lying inside the target");
    let below = vec![
        coded(Relation::Modifier, METHOD, basis),
        number(Relation::Property, name, of.p_inside, RATIO, Vec::new()),
    ];
    let item = coded(Relation::Contains, dicom_codes::verdict_on(of.rule), dicom_codes::state(of.state));
    with(item, below)
}

fn comment(text: &str) -> Elements {
    words(Relation::Contains, ConceptCode("121106", "DCM", "Comment"), text)
}

/// The marks, and what made them: a person, or the program's proposal as it was accepted. An item of places can hold no
/// remark of its own (PS3.3, A.35.2.3.1.2), so the origins stand beside them.
fn marks(shot: &Shot, on: &Image) -> Vec<Elements> {
    let mut items = Vec::new();
    let mut by_origin: Vec<(ConceptCode<'static>, Vec<&'static str>)> = Vec::new();
    for kind in shot.marks.kinds() {
        let Some(points) = places(shot, kind) else { continue };
        items.push(coordinates(Relation::Contains, dicom_codes::mark(kind), &points, on));
        let origin = origin(shot, kind);
        match by_origin.iter_mut().find(|(known, _)| *known == origin) {
            Some((_, names)) => names.push(kind.name()),
            None => by_origin.push((origin, vec![kind.name()])),
        }
    }
    items.extend(by_origin.into_iter().map(|(origin, names)| {
        let of =
            words(Relation::Property, ConceptCode("MARKS", OWN, "Marks of this origin"), &names.join(", "));
        with(coded(Relation::Contains, ConceptCode("MARK_ORIGIN", OWN, "Origin of marks"), origin), vec![of])
    }));
    items
}

fn origin(shot: &Shot, kind: MarkKind) -> ConceptCode<'static> {
    let count = shot.marks.slots(kind).len();
    let proposed = (0..count).filter(|&index| shot.proposed.holds(MarkRef { kind, index })).count();
    match proposed {
        0 => ConceptCode("BY_HAND", OWN, "Marked by a person"),
        n if n == count => ConceptCode("PROPOSED", OWN, "Proposed by the program, accepted as it was"),
        _ => ConceptCode("PROPOSED_PART", OWN, "Proposed by the program, some points moved by a person"),
    }
}

/// The marks that a reading follows from.
fn sources(shot: &Shot, on: &Image) -> Vec<Elements> {
    let kinds = shot.marks.kinds().filter(|kind| !matches!(kind, MarkKind::Cannula | MarkKind::Electrodes));
    let name = ConceptCode("121112", "DCM", "Source of Measurement");
    kinds
        .filter_map(|kind| Some(coordinates(Relation::InferredFrom, name, &places(shot, kind)?, on)))
        .collect()
}

/// The points of a mark whose every slot is filled.
fn places(shot: &Shot, kind: MarkKind) -> Option<Vec<(f64, f64)>> {
    let points = shot.marks.complete(kind)?;
    (!points.is_empty()).then(|| points.iter().map(|p| (p.x, p.y)).collect())
}
