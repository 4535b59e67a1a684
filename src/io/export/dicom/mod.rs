//! A case as DICOM objects for an archive: figures and stills as Secondary Captures, the readings as a structured report,
//! the overlays as presentation states.
//!
//! By default nothing says whose they are: a new study, the user's code in the place of a name, and references only to
//! stills that are written beside them with their redactions in the pixels. *Beside the source* files them with the
//! patient and study of the DICOM images that were marked: those elements are copied byte by byte and never parsed.
//!
//! Reading order: this file (what is written), [`identity`] (whose it is), [`element`], [`capture`],
//! [`content`], [`report`], [`presentation`].

mod capture;
mod content;
mod element;
mod identity;
mod presentation;
mod report;

use std::collections::BTreeMap;
use std::path::Path;

use crate::align::softness::soft_marks;
use crate::case::document::redaction::covered;
use crate::case::document::{Case, Shot};
use crate::case::image::frame::Frame;
use crate::case::readings::body_map::body_map;
use crate::case::readings::{CaseReadings, Picture, read_case};
use crate::io::case_file;
use crate::io::clock;
use crate::io::export::case_folder::{Keep, NotExported, bare, bare_shot, doubt, free_parent, neutral};
use crate::io::export::dicom::capture::Said;
use crate::io::export::dicom::identity::{Context, Identity, Image};
use crate::io::export::figure::Chosen;
use crate::io::export::new_folder::write_folder;
use crate::io::export::raster::Pixels;
use crate::io::export::{ExportError, png};
use crate::io::files::digest;
use crate::io::import::source_object::{self, SourceObject};
use crate::io::store::pictures::{open_picture, picture_path};
use crate::scene::drawing::shape::{Rect, Scene};
use crate::scene::drawing::theme::Theme;
use crate::scene::figure::asked::FigureStyle;
use crate::scene::figure::{Extent, FigureOptions};
use crate::scene::overlay::of_shot::ShotOverlay;
use crate::scene::overlay::{Layer, LayerSet};

/// The longest side of a figure, in pixels.
const LONGEST_PX: f64 = 3000.0;

/// What to write, by the places of the shots in the case.
#[derive(Clone, Debug, Default)]
pub struct WantedObjects {
    /// A figure of each of these.
    pub figures: Vec<usize>,
    /// The readings of the case.
    pub report: bool,
    /// An overlay over each of these.
    pub overlays: Vec<usize>,
    /// With the patient and study of the source images instead of nobody's.
    pub beside_source: bool,
    /// What stands in the place of name and identifier where nobody's is said.
    pub code: String,
    /// Whether words that may be readable in images are no hindrance.
    pub as_is: bool,
}

impl WantedObjects {
    /// All objects of every shot that has marks.
    #[must_use]
    pub fn of_marked(case: &Case) -> Self {
        let marked = case.shots.iter().enumerate().filter(|(_, shot)| is_reported(shot));
        let marked: Vec<usize> = marked.map(|(place, _)| place).collect();
        Self { figures: marked.clone(), report: true, overlays: marked, ..Self::default() }
    }
}

/// Why a code cannot stand in the place of a name and identifier, if it cannot: at most 64 letters, digits, spaces and
/// simple signs (PS3.5, 6.2: LO and PN).
#[must_use]
pub fn code_fault(code: &str) -> Option<&'static str> {
    let good = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.' | ' ');
    let fits = !code.trim().is_empty() && code.len() <= 64 && code.chars().all(good);
    (!fits).then_some("the code must have 1 to 64 letters, digits, spaces, hyphens, dots or underscores")
}

/// A shot that is written, with all that is needed of it.
struct TakenShot<'a> {
    place: usize,
    name: String,
    shot: &'a Shot,
    frame: Frame,
    source: Option<SourceObject>,
}

impl TakenShot<'_> {
    /// Whether the image went through lossy compression: by what its file says, or as a JPEG by its name.
    fn is_lossy(&self) -> bool {
        self.source.as_ref().map_or_else(|| is_jpeg(&self.shot.image), |source| source.lossy)
    }
}

/// Writes the objects into `folder`, which must not exist yet or be empty and appears whole or not at all. Returns the
/// names of the files. `watch` hears how many of how many steps are done, images opened and objects made of them, and says
/// whether to go on.
///
/// # Errors
/// What stands in the way; nothing is left behind.
pub fn export_dicom(
    case_file: &Path,
    case: &Case,
    folder: &Path,
    wanted: &WantedObjects,
    watch: &mut dyn FnMut(usize, usize) -> bool,
) -> Result<Vec<String>, NotExported> {
    let impossible = |text: String| NotExported::Impossible(vec![text]);
    if !wanted.beside_source
        && let Some(fault) = code_fault(&wanted.code)
    {
        return Err(impossible(format!("{}: {fault}", case_file.display())));
    }
    // Said before images are opened for nothing.
    free_parent(folder).map_err(|e| impossible(e.to_string()))?;
    // Each image is opened and made into a still, and again an overlay or a figure.
    let of = 2 * case.shots.len() + wanted.overlays.len() + wanted.figures.len();
    let mut done = 0;
    let mut step = || {
        let goes_on = watch(done, of);
        done += 1;
        if goes_on { Ok(()) } else { Err(NotExported::Stopped) }
    };
    let taken = take(case_file, case, wanted, &mut step)?;
    let context = context(case_file, &taken, wanted)?;
    let files = objects(case_file, case, wanted, &context, &taken, &mut step)?;
    write_folder(folder, &files)?;
    Ok(files.into_iter().map(|(name, _bytes)| name).collect())
}

/// Whether a shot stands in the report: it has marks, and they count.
#[must_use]
pub fn is_reported(shot: &Shot) -> bool {
    shot.marks_count() && shot.marks.kinds().next().is_some()
}

/// Opens the images of every shot that is written: those asked for and, for the report, those with marks.
fn take<'a>(
    case_file: &Path,
    case: &'a Case,
    wanted: &WantedObjects,
    step: &mut dyn FnMut() -> Result<(), NotExported>,
) -> Result<Vec<TakenShot<'a>>, NotExported> {
    let mut taken = Vec::new();
    let mut trouble = Vec::new();
    let mut doubts = Vec::new();
    for (place, shot) in case.shots.iter().enumerate() {
        step()?;
        let asked = wanted.figures.contains(&place) || wanted.overlays.contains(&place);
        let reported = wanted.report && is_reported(shot);
        if !asked && !reported {
            continue;
        }
        let frame = match open_picture(case_file, shot) {
            Ok(frame) => frame,
            Err(sentence) => {
                trouble.push(format!("{}: {}: {sentence}", case_file.display(), shot.id));
                continue;
            }
        };
        if !wanted.beside_source {
            doubts.extend(doubt(shot, &frame));
        }
        let source = match picture_path(case_file, &shot.image).map(|path| source_object::read(&path)) {
            Ok(Ok(source)) => source,
            Ok(Err(error)) => {
                trouble.push(error.to_string());
                continue;
            }
            Err(sentence) => {
                trouble.push(format!("{}: {}: {sentence}", case_file.display(), shot.id));
                continue;
            }
        };
        taken.push(TakenShot { place, name: neutral(place), shot, frame, source });
    }
    if taken.is_empty() && trouble.is_empty() {
        trouble.push(format!(
            "{}: no shot has marks, so there is nothing to write; mark a shot first",
            case_file.display()
        ));
    }
    if !trouble.is_empty() {
        return Err(NotExported::Impossible(trouble));
    }
    if !doubts.is_empty() && !wanted.as_is {
        return Err(NotExported::InDoubt(doubts));
    }
    Ok(taken)
}

/// Whose the objects are.
fn context(
    case_file: &Path,
    taken: &[TakenShot<'_>],
    wanted: &WantedObjects,
) -> Result<Context, NotExported> {
    let now = clock::dicom_date_and_time();
    if !wanted.beside_source {
        let (date, time) = &now;
        let content: Vec<&str> = taken.iter().map(|one| one.frame.digest.as_str()).collect();
        // Not from the source's identifiers: nothing of them is to be guessed from this one.
        let study = element::uid(&[
            b"study",
            wanted.code.as_bytes(),
            date.as_bytes(),
            time.as_bytes(),
            content.join(" ").as_bytes(),
        ]);
        return Ok(Context { identity: Identity::None { code: wanted.code.clone(), study }, now });
    }
    let file = case_file.display();
    let mut trouble: Vec<String> = Vec::new();
    let mut first: Option<&SourceObject> = None;
    for one in taken {
        match (&one.source, first) {
            (None, _) => trouble.push(format!(
                "{file}: {}: its image is not a DICOM file, so nothing can be filed beside it; leave the shot out, or export without --beside-source",
                one.shot.id
            )),
            (Some(source), None) => first = Some(source),
            (Some(source), Some(other)) if source.identity != other.identity => trouble.push(format!(
                "{file}: {}: its image is of another patient or study than the first shot’s; export each study by itself",
                one.shot.id
            )),
            (Some(_), Some(_)) => {}
        }
    }
    match first {
        Some(source) if trouble.is_empty() => {
            Ok(Context { identity: Identity::BesideSource { copied: source.identity.clone() }, now })
        }
        _ => Err(NotExported::Impossible(trouble)),
    }
}

/// The files, by name.
fn objects(
    case_file: &Path,
    case: &Case,
    wanted: &WantedObjects,
    context: &Context,
    taken: &[TakenShot<'_>],
    step: &mut dyn FnMut() -> Result<(), NotExported>,
) -> Result<Vec<(String, Vec<u8>)>, NotExported> {
    let failed = |name: &str, e: &ExportError| {
        NotExported::Impossible(vec![format!("{}: {name}: {e}", case_file.display())])
    };
    let mut files = Vec::new();
    let mut images: BTreeMap<usize, Image> = BTreeMap::new();
    let mut digests: BTreeMap<usize, String> = BTreeMap::new();
    for one in taken {
        step()?;
        let image = match &one.source {
            Some(source) if wanted.beside_source => {
                digests.insert(one.place, one.frame.digest.to_string());
                Image::of_source(source.clone(), one.shot.frame)
            }
            _ => {
                let frame = covered(&one.frame, &one.shot.covers);
                let lossy = one.is_lossy();
                let words = doubt(one.shot, &one.frame).is_some();
                let said = Said { words, lossy, number: one.place + 1 };
                let (image, bytes) =
                    capture::still(context, &frame, said).map_err(|e| failed(&one.shot.id, &e))?;
                digests.insert(one.place, digest(&bytes));
                files.push((format!("{}-still.dcm", one.name), bytes));
                image
            }
        };
        images.insert(one.place, image);
    }
    let readings = readings(case, taken);
    for one in taken.iter().filter(|one| wanted.overlays.contains(&one.place)) {
        step()?;
        let Some(on) = images.get(&one.place) else { continue };
        let scene = overlay_scene(case, &readings, one);
        let bytes = presentation::overlay(context, on, &scene, one.place + 1)
            .map_err(|e| failed(&one.shot.id, &e))?;
        files.push((format!("{}-overlay.dcm", one.name), bytes));
    }
    for one in taken.iter().filter(|one| wanted.figures.contains(&one.place)) {
        step()?;
        let drawn = figure_pixels(case_file, case, one, &readings)?;
        let shown: Vec<&Image> = images.get(&one.place).into_iter().collect();
        let said = Said { words: true, lossy: one.is_lossy(), number: one.place + 1 };
        let bytes = capture::figure(context, &drawn, &shown, said).map_err(|e| failed(&one.shot.id, &e))?;
        files.push((format!("{}-figure.dcm", one.name), bytes));
    }
    if wanted.report {
        let reported: Vec<&TakenShot<'_>> = taken.iter().filter(|one| is_reported(one.shot)).collect();
        let bare = bare_text(case_file, case, &reported, &digests)?;
        let shots: Vec<(usize, String, Image)> = reported
            .iter()
            .filter_map(|one| Some((one.place, one.name.clone(), images.get(&one.place)?.clone())))
            .collect();
        let reported = report::Reported { case, readings: &readings, shots: &shots, bare: &bare };
        let bytes = report::report(context, &reported).map_err(|e| failed("report", &e))?;
        files.push(("report.dcm".to_owned(), bytes));
    }
    Ok(files)
}

/// The readings of the case, with the images that were opened.
fn readings(case: &Case, taken: &[TakenShot<'_>]) -> CaseReadings {
    let picture = |shot: &Shot| {
        let one = taken.iter().find(|one| one.shot.id == shot.id);
        one.map_or(Picture::NotLookedAt, |one| Picture::of(&one.frame, soft_marks(&one.frame, shot)))
    };
    read_case(case, picture, None)
}

/// The overlay as figures draw it, without labels that the user wrote.
fn overlay_scene(case: &Case, readings: &CaseReadings, one: &TakenShot<'_>) -> Scene {
    let map = body_map(case, one.shot);
    ShotOverlay {
        case,
        shot: one.shot,
        marks: &one.shot.marks,
        map: map.as_ref(),
        reading: readings.shots.get(one.place),
        layers: LayerSet::default().without(Layer::Teaching),
        zoom: 1.0,
    }
    .scene(Rect::new(0.0, 0.0, f64::from(one.frame.width), f64::from(one.frame.height)))
}

/// A figure of one shot, without a title and without labels that the user wrote: both are free text.
fn figure_pixels(
    case_file: &Path,
    case: &Case,
    one: &TakenShot<'_>,
    readings: &CaseReadings,
) -> Result<Pixels, NotExported> {
    let chosen = Chosen::of_opened(one.place, one.frame.clone(), readings.clone());
    let options = FigureOptions {
        title: None,
        layers: Some(LayerSet::default().without(Layer::Teaching)),
        window: None,
        extent: Extent::AroundBody,
        style: FigureStyle::default(),
    };
    let page = chosen.page(case, &options);
    png::colours(&page, &Theme::dark(), LONGEST_PX)
        .map_err(|e| NotExported::Impossible(vec![format!("{}: {e}", case_file.display())]))
}

/// The case with its settings and the written shots, without words and names; `digests` are those of their images.
fn bare_text(
    case_file: &Path,
    case: &Case,
    taken: &[&TakenShot<'_>],
    digests: &BTreeMap<usize, String>,
) -> Result<String, NotExported> {
    let mut bare = bare(case, Keep::default());
    bare.rereadings = Vec::new();
    for one in taken {
        let image = format!("{}-still.dcm", one.name);
        let digest = digests.get(&one.place).cloned().unwrap_or_default();
        let mut shot = bare_shot(case, one.place, &image, digest, Keep::default());
        shot.frame = 0;
        let is_written = |name: &String| taken.iter().any(|other| other.name == *name);
        shot.pair_with = shot.pair_with.filter(is_written);
        bare.shots.push(shot);
    }
    let text = case_file::to_text(Path::new("case"), &bare);
    text.map_err(|e| NotExported::Impossible(vec![format!("{}: {}", case_file.display(), e.text)]))
}

/// Whether an image is a JPEG by its name.
fn is_jpeg(image: &str) -> bool {
    let name = image.to_ascii_lowercase();
    [".jpg", ".jpeg"].iter().any(|ending| name.ends_with(ending))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_short_and_plain() {
        assert_eq!(code_fault("TEACHING-1"), None);
        for bad in ["", "  ", "a\\b", "a^b", "é", &"x".repeat(65)] {
            assert!(code_fault(bad).is_some(), "{bad}");
        }
    }

    #[test]
    fn a_case_without_marks_has_nothing_to_write() {
        let folder = tempfile::tempdir().unwrap();
        let wanted = WantedObjects { report: true, code: "X".to_owned(), ..WantedObjects::default() };
        let refused = export_dicom(
            Path::new("a.case.json"),
            &Case::default(),
            &folder.path().join("new"),
            &wanted,
            &mut |_, _| true,
        );
        assert!(matches!(refused, Err(NotExported::Impossible(_))), "{refused:?}");
        assert!(!folder.path().join("new").exists());
    }
}
