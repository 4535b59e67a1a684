//! A case as a folder that can be given away: pictures under neutral names with covers in their pixels, and of the
//! case only what a reading needs.
//!
//! What a shot or a case holds is named here one by one, so that something new is left out until somebody decides
//! otherwise.

use std::io::Cursor;
use std::path::{Path, PathBuf};

use image::{DynamicImage, ImageBuffer, ImageFormat};

use crate::case::annotation::Label;
use crate::case::document::extra::{Extra, SettingsExtra};
use crate::case::document::record::BodyRecord;
use crate::case::document::redaction::covered;
use crate::case::document::rereading::{Reread, Rereading};
use crate::case::document::shot_list::ShotList;
use crate::case::document::{Case, Shot};
use crate::case::image::burned_in::{proposed_covers, uncovered};
use crate::case::image::field::field_of;
use crate::case::image::frame::{Frame, Samples};
use crate::io::case_file;
use crate::io::error::{Error, ErrorKind};
use crate::io::files;
use crate::io::store::pictures::open_picture;
use crate::measure::mark::Level;

/// The case file in the folder.
pub const CASE_NAME: &str = "exported.case.json";
/// The folder of the pictures beside it.
const PICTURES: &str = "images";

/// What is kept of the user's own words.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Keep {
    words: [bool; Words::ALL.len()],
}

/// Words of a case that are left out unless they are asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Words {
    /// The case's title.
    Title,
    /// The operator's code.
    Operator,
    /// The date.
    Date,
    /// The times of the shots.
    Taken,
    /// The shots' own names, instead of neutral ones.
    Names,
    /// The labels, words and drawing.
    Labels,
}

impl Words {
    /// All of them.
    pub const ALL: [Self; 6] =
        [Self::Title, Self::Operator, Self::Date, Self::Taken, Self::Names, Self::Labels];

    /// The name they are asked for by.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Title => "title",
            Self::Operator => "operator",
            Self::Date => "date",
            Self::Taken => "taken",
            Self::Names => "names",
            Self::Labels => "labels",
        }
    }
}

impl Keep {
    /// Keeps what a list with commas names.
    ///
    /// # Errors
    /// The first name that is not known.
    pub fn from_keys(keys: &str) -> Result<Self, String> {
        let mut keep = Self::default();
        for key in keys.split(',').map(str::trim).filter(|key| !key.is_empty()) {
            let at = Words::ALL.iter().position(|words| words.key() == key).ok_or_else(|| key.to_owned())?;
            keep.words[at] = true;
        }
        Ok(keep)
    }

    /// Whether these words are kept.
    #[must_use]
    pub fn has(self, words: Words) -> bool {
        Words::ALL.iter().zip(self.words).any(|(one, kept)| kept && *one == words)
    }
}

/// Why nothing was exported.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotExported {
    /// It cannot be done: one sentence for each reason.
    Impossible(Vec<String>),
    /// Words may still be readable in pictures: one sentence for each shot. Exporting as it is needs the user's word.
    InDoubt(Vec<String>),
    /// The user stopped it.
    Stopped,
}

/// Exports a case whose pictures are named from `case_file` into `folder`, which must not exist yet or be empty.
/// The folder appears whole or not at all. With `as_is`, words that may be readable in pictures are no hindrance.
///
/// # Errors
/// What stands in the way; nothing is left behind.
pub fn export_case(
    case_file: &Path,
    case: &Case,
    folder: &Path,
    keep: Keep,
    as_is: bool,
) -> Result<(), NotExported> {
    let impossible = |error: Error| NotExported::Impossible(vec![error.to_string()]);
    let parent = free_parent(folder).map_err(impossible)?;
    let writing = |e: &std::io::Error| impossible(Error::writing(folder, e));
    let under_way =
        tempfile::Builder::new().prefix(".export-").tempdir_in(&parent).map_err(|e| writing(&e))?;
    let pictures = under_way.path().join(PICTURES);
    std::fs::create_dir(&pictures).map_err(|e| writing(&e))?;
    let mut exported = bare(case, keep);
    let mut trouble = Vec::new();
    let mut doubts = Vec::new();
    for (i, shot) in case.shots.iter().enumerate() {
        let frame = match open_picture(case_file, shot) {
            Ok(frame) => frame,
            Err(sentence) => {
                let id = &shot.id;
                trouble.push(format!(
                    "{}: {id}: {sentence} Locate the image again or remove the shot before exporting.",
                    case_file.display()
                ));
                continue;
            }
        };
        doubts.extend(doubt(shot, &frame));
        let Some(bytes) = picture_bytes(&covered(&frame, &shot.covers)) else {
            trouble.push(format!(
                "{}: {}: its image cannot be written as PNG.",
                case_file.display(),
                shot.id
            ));
            continue;
        };
        let name = format!("{}.png", neutral(i));
        std::fs::write(pictures.join(&name), &bytes).map_err(|e| writing(&e))?;
        exported.shots.push(bare_shot(case, i, &format!("{PICTURES}/{name}"), files::digest(&bytes), keep));
    }
    if !trouble.is_empty() {
        return Err(NotExported::Impossible(trouble));
    }
    if !doubts.is_empty() && !as_is {
        return Err(NotExported::InDoubt(doubts));
    }
    let name = under_way.path().join(CASE_NAME);
    let text = case_file::to_text(&name, &exported).map_err(impossible)?;
    std::fs::write(&name, text).map_err(|e| writing(&e))?;
    // An empty folder of that name gives way; one that has been filled meanwhile does not.
    let _ = std::fs::remove_dir(folder);
    std::fs::rename(under_way.path(), folder).map_err(|e| writing(&e))?;
    Ok(())
}

/// The folder that `folder` is to lie in, if there is room for it there.
pub(in crate::io) fn free_parent(folder: &Path) -> Result<PathBuf, Error> {
    let refuse = |text: &str| Err(Error::new(ErrorKind::Conflict, folder, text));
    match std::fs::read_dir(folder) {
        Ok(mut entries) => {
            if entries.next().is_some() {
                return refuse("not exported, because the folder is not empty; enter a new folder");
            }
        }
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => {}
        Err(_) if folder.exists() => {
            return refuse("not exported, because there is a file with that name; enter a new folder");
        }
        Err(e) => return Err(Error::reading(folder, &e)),
    }
    let absolute = std::path::absolute(folder).map_err(|e| Error::reading(folder, &e))?;
    match absolute.parent() {
        Some(parent) if parent.is_dir() => Ok(parent.to_path_buf()),
        _ => refuse("not exported, because the parent folder does not exist; create it first"),
    }
}

/// A sentence, if words may be readable in a shot's picture.
#[must_use]
pub fn doubt(shot: &Shot, frame: &Frame) -> Option<String> {
    let left = uncovered(&proposed_covers(frame, field_of(frame)), &shot.covers).len();
    if left > 0 {
        let places = if left == 1 { "1 region".to_owned() } else { format!("{left} regions") };
        return Some(format!(
            "{}: {places} outside the circular field may contain text that is not redacted; check the image and redact the text.",
            shot.id
        ));
    }
    (frame.facts.burned_in == Some(true) && shot.covers.is_empty()).then(|| {
        format!(
            "{}: the file states that the image contains burned-in text, and nothing is redacted; check the image and redact the text.",
            shot.id
        )
    })
}

/// The name of the shot at this place that says nothing of it.
pub(super) fn neutral(index: usize) -> String {
    format!("shot-{}", index + 1)
}

/// The case without shots, and without what could tell of a person.
pub(super) fn bare(case: &Case, keep: Keep) -> Case {
    let Case {
        title,
        operator,
        date,
        reference: _,
        discs,
        patient_right,
        tube,
        tube_extra: _,
        settings,
        bodies,
        // Titles and captions are words, and a template without them is soon made again.
        figures: _,
        shots: _,
        rereadings: _,
        extra: _,
        settings_extra: _,
    } = case;
    let timed = |record: &BodyRecord| BodyRecord {
        lesion_s: record.lesion_s,
        ..BodyRecord::new(record.level, record.side)
    };
    let kept = |words: Words, text: &Option<String>| text.clone().filter(|_| keep.has(words));
    Case {
        title: kept(Words::Title, title),
        operator: kept(Words::Operator, operator),
        date: kept(Words::Date, date),
        // Whatever else may be written there is free text.
        discs: discs.iter().filter(|disc| names_two_levels(disc)).cloned().collect(),
        patient_right: *patient_right,
        tube: *tube,
        tube_extra: Extra::default(),
        settings: settings.clone(),
        reference: None,
        figures: Vec::new(),
        bodies: bodies.iter().map(timed).filter(|record| !record.is_empty()).collect(),
        shots: ShotList::default(),
        rereadings: bare_rereadings(case, keep),
        extra: Extra::default(),
        settings_extra: SettingsExtra::default(),
    }
}

/// The rounds of blind readings: whose marks belong together is kept, who they were is not.
fn bare_rereadings(case: &Case, keep: Keep) -> Vec<Rereading> {
    let mut operators: Vec<&str> = Vec::new();
    for one in &case.rereadings {
        if !operators.contains(&one.operator.as_str()) {
            operators.push(&one.operator);
        }
    }
    let named = |operator: &str| {
        let at = operators.iter().position(|one| *one == operator).unwrap_or(operators.len());
        if keep.has(Words::Operator) { operator.to_owned() } else { format!("reader-{}", at + 1) }
    };
    let reading = |reading: &Reread| {
        let Reread { shot, progress, marks, extra: _, marks_extra: _ } = reading;
        let at = case.shots.iter().position(|one| one.id == *shot)?;
        let shot = if keep.has(Words::Names) { shot.clone() } else { neutral(at) };
        Some(Reread { shot, progress: *progress, marks: marks.clone(), ..Reread::default() })
    };
    let round = |one: &Rereading| {
        let Rereading { operator, round, seed, readings, extra: _ } = one;
        let readings = readings.iter().filter_map(reading).collect();
        Rereading { operator: named(operator), round: *round, seed: *seed, readings, extra: Extra::default() }
    };
    case.rereadings.iter().map(round).collect()
}

fn names_two_levels(disc: &str) -> bool {
    disc.split_once('-')
        .is_some_and(|(above, below)| Level::from_name(above).is_some() && Level::from_name(below).is_some())
}

pub(super) fn bare_shot(case: &Case, index: usize, image: &str, digest: String, keep: Keep) -> Shot {
    let Shot {
        id,
        image: _,
        frame: _,
        digest: _,
        level,
        side,
        view,
        view_set,
        stage,
        taken,
        mm_per_px,
        mm_per_px_sd,
        scale_from,
        known_length,
        covers,
        labels,
        patient_right,
        cannot_tell,
        pair_with,
        marks,
        draft,
        proposed,
        extra: _,
        marks_extra: _,
    } = &case.shots[index];
    let named = |index: usize, id: &str| if keep.has(Words::Names) { id.to_owned() } else { neutral(index) };
    let partner = pair_with.as_deref().and_then(|partner| {
        let at = case.shots.iter().position(|shot| shot.id == partner)?;
        Some(named(at, partner))
    });
    Shot {
        id: named(index, id),
        image: image.to_owned(),
        frame: 0,
        digest: Some(digest),
        level: *level,
        side: *side,
        view: *view,
        view_set: *view_set,
        stage: *stage,
        taken: taken.clone().filter(|_| keep.has(Words::Taken)),
        mm_per_px: *mm_per_px,
        mm_per_px_sd: *mm_per_px_sd,
        scale_from: *scale_from,
        known_length: *known_length,
        covers: covers.clone(),
        labels: if keep.has(Words::Labels) { known(labels) } else { Vec::new() },
        patient_right: *patient_right,
        cannot_tell: *cannot_tell,
        pair_with: partner,
        marks: marks.clone(),
        draft: *draft,
        proposed: proposed.clone(),
        extra: Extra::default(),
        marks_extra: Extra::default(),
    }
}

/// The labels that are known here, without what else the file says of them.
fn known(labels: &[Label]) -> Vec<Label> {
    let known = labels.iter().filter(|label| label.kind().is_some());
    known.map(|label| Label { extra: Extra::default(), ..label.clone() }).collect()
}

/// A frame's samples as a PNG and nothing else. Where the lowest value is meant to be white, the values are turned
/// round, since a PNG cannot say so.
fn picture_bytes(frame: &Frame) -> Option<Vec<u8>> {
    let inverted = frame.facts.inverted;
    let picture = match &frame.samples {
        Samples::Gray8(s) => {
            let turned = s.iter().map(|&v| if inverted { u8::MAX - v } else { v }).collect();
            DynamicImage::ImageLuma8(ImageBuffer::from_raw(frame.width, frame.height, turned)?)
        }
        Samples::Gray16(s) => {
            let most = if inverted { s.iter().copied().max().unwrap_or(u16::MAX) } else { 0 };
            let turned = s.iter().map(|&v| if inverted { most - v } else { v }).collect();
            DynamicImage::ImageLuma16(ImageBuffer::from_raw(frame.width, frame.height, turned)?)
        }
    };
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, ImageFormat::Png).ok()?;
    Some(bytes.into_inner())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_kept_is_asked_for_by_name() {
        let keep = Keep::from_keys("title, names").unwrap();
        assert!(keep.has(Words::Title) && keep.has(Words::Names) && !keep.has(Words::Operator));
        assert_eq!(Keep::from_keys("title,patient"), Err("patient".to_owned()));
        assert_eq!(Keep::from_keys(""), Ok(Keep::default()));
    }

    #[test]
    fn free_text_among_the_discs_is_left_out() {
        let case = Case {
            title: Some("A".to_owned()),
            discs: vec!["L4-L5".to_owned(), "as told by Mr X".to_owned(), "L5-S1".to_owned()],
            ..Case::default()
        };
        let bare = bare(&case, Keep::default());
        assert_eq!((bare.title, bare.discs.len()), (None, 2));
    }
}
