//! Keypoints into a case: into a new one, or into the shots of an open one whose images they are about.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use crate::case::document::edit::{Description, Edit};
use crate::case::document::proposed::{Origin, ProposedMarks};
use crate::case::document::{Case, Shot};
use crate::geom::point::Point;
use crate::io::error::{Error, ErrorKind};
use crate::io::keypoints::point::{Keypoint, KeypointShot};
use crate::io::keypoints::read::read;
use crate::measure::calibration::ScaleFrom;
use crate::measure::mark::{MarkKind, Marks, View};
use crate::measure::settings::scale_fault;

/// Farther from the corner of an image no mark is taken, in pixels.
const FARTHEST_PX: f64 = 1e6;

/// Marks for the shots of a case.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FoundMarks {
    /// What is to be changed, as one step.
    pub edits: Vec<Edit>,
    /// How many shots get marks.
    pub shots: usize,
    /// How many points they get.
    pub points: usize,
    /// How many shots have these marks already.
    pub same: usize,
    /// Images of the table that no shot of the case shows.
    pub without_shot: Vec<String>,
}

/// The marks of a shot.
fn marks(shot: &KeypointShot) -> Marks {
    let mut slots: BTreeMap<MarkKind, Vec<Option<Point>>> = BTreeMap::new();
    for point in &shot.points {
        let of = slots.entry(point.at.kind).or_default();
        while of.len() <= point.at.index {
            of.push(None);
        }
        of[point.at.index] = Some(point.to);
    }
    let mut marks = Marks::new();
    for (kind, slots) in slots {
        marks.set(kind, slots);
    }
    marks
}

/// Which points were proposed.
fn proposed(shot: &KeypointShot) -> ProposedMarks {
    let mut flags: BTreeMap<MarkKind, Vec<bool>> = BTreeMap::new();
    for point in shot.points.iter().filter(|point| point.origin != Origin::ByHand) {
        let of = flags.entry(point.at.kind).or_default();
        of.resize(of.len().max(point.at.index + 1), false);
        of[point.at.index] = point.origin == Origin::Proposed;
    }
    ProposedMarks::from_parts(flags, BTreeMap::new())
}

/// Why the points of a shot cannot be meant, if so.
fn fault(shot: &KeypointShot) -> Option<String> {
    let near = |point: &Keypoint| point.to.x.hypot(point.to.y) <= FARTHEST_PX;
    if !shot.points.iter().all(near) {
        return Some(format!("“{}”: a point lies outside any image; check the coordinates", shot.image));
    }
    let view = shot.view.unwrap_or(View::Lateral);
    let foreign = shot.points.iter().find(|point| !point.at.kind.belongs_to(view));
    if let Some(point) = foreign {
        return Some(format!(
            "“{}”: the {} is not a mark of the view “{}”; check the view",
            shot.image,
            point.at.kind.name(),
            view.key()
        ));
    }
    if shot.mm_per_px_sd.is_some_and(|sd| sd < 0.0) {
        return Some(format!("“{}”: mm_per_px_sd: it must not be negative", shot.image));
    }
    shot.mm_per_px.and_then(scale_fault).map(|why| format!("“{}”: mm_per_px: {why}", shot.image))
}

fn checked(table: &Path, mapping: Option<&Path>) -> Result<Vec<KeypointShot>, Error> {
    let shots = read(table, mapping)?;
    match shots.iter().find_map(fault) {
        Some(text) => Err(Error::new(ErrorKind::Damaged, table, text)),
        None => Ok(shots),
    }
}

/// A new case of the shots of a table, of the case named `only` where the table holds several.
///
/// # Errors
/// One sentence that names the table, the place in it and what to do.
pub fn case_of(table: &Path, mapping: Option<&Path>, only: Option<&str>) -> Result<Case, Error> {
    let mut shots = checked(table, mapping)?;
    let wrong = |text: String| Error::new(ErrorKind::Damaged, table, text);
    if let Some(only) = only {
        shots.retain(|shot| shot.case == only);
        if shots.is_empty() {
            return Err(wrong(format!("it holds no case “{only}”; check the name")));
        }
    }
    let mut names: Vec<&str> = shots.iter().map(|shot| shot.case.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    if names.len() > 1 {
        let list = names.iter().take(5).copied().collect::<Vec<_>>().join(", ");
        return Err(wrong(format!("it holds {} cases ({list}); select one with --case", names.len())));
    }
    let mut case = Case::default();
    for one in &shots {
        let base = if one.shot.is_empty() { stem(&one.image) } else { one.shot.clone() };
        let mut shot = Shot::new(case.free_id(&base), one.image.clone(), one.view.unwrap_or(View::Lateral));
        (shot.frame, shot.level, shot.side, shot.stage) = (one.frame, one.level, one.side, one.stage);
        shot.patient_right = one.patient_right;
        shot.mm_per_px = one.mm_per_px;
        shot.mm_per_px_sd = one.mm_per_px.and(one.mm_per_px_sd);
        shot.scale_from = one.mm_per_px.map(|_| ScaleFrom::Typed);
        shot.marks = marks(one);
        shot.proposed = proposed(one);
        case.shots.push(shot);
    }
    Ok(case)
}

/// Marks of a table for the shots of a case.
///
/// # Errors
/// As [`case_of`].
pub fn found_for(table: &Path, mapping: Option<&Path>, case: &Case) -> Result<FoundMarks, Error> {
    let shots = checked(table, mapping)?;
    let mut found = FoundMarks::default();
    let mut given = BTreeSet::new();
    for one in &shots {
        let Some(shot) = shot_for(one, case) else {
            found.without_shot.push(one.image.clone());
            continue;
        };
        if !given.insert(shot.id.as_str()) {
            let text = format!(
                "it has marks for the shot “{}” more than once; leave the shots of one case in it",
                shot.id
            );
            return Err(Error::new(ErrorKind::Damaged, table, text));
        }
        let marks = marks(one);
        if shot.known_view() == one.view && close(&shot.marks, &marks) {
            found.same += 1;
            continue;
        }
        if let Some(view) = one.view.filter(|view| shot.known_view() != Some(*view)) {
            found.edits.push(Edit::Describe { shot: shot.id.clone(), what: Description::View(view) });
        }
        found.shots += 1;
        found.points += one.points.len();
        found.edits.push(Edit::SetMarks { shot: shot.id.clone(), marks });
    }
    found.without_shot.dedup();
    if found.shots + found.same == 0 {
        let text = "it is about none of the images of this case; check the names of the images";
        return Err(Error::new(ErrorKind::Unsupported, table, text));
    }
    Ok(found)
}

/// The shot of a case that shows an image: by its id and image, by the image as it is named, or by the file's name where
/// only one has it.
fn shot_for<'a>(one: &KeypointShot, case: &'a Case) -> Option<&'a Shot> {
    let same_file = |shot: &&Shot| file_name(&shot.image) == file_name(&one.image) && shot.frame == one.frame;
    let by_id = case.shots.iter().filter(same_file).find(|shot| shot.id == one.shot);
    let only = |shots: Vec<&'a Shot>| if let [shot] = shots[..] { Some(shot) } else { None };
    let exact = || {
        let all = case.shots.iter().filter(|shot| shot.image == one.image && shot.frame == one.frame);
        only(all.collect())
    };
    by_id.or_else(exact).or_else(|| only(case.shots.iter().filter(same_file).collect()))
}

/// Whether these are the same marks to a millionth of a pixel.
fn close(a: &Marks, b: &Marks) -> bool {
    let (a, b): (Vec<_>, Vec<_>) = (a.placed().collect(), b.placed().collect());
    a.len() == b.len() && a.iter().zip(&b).all(|((p, at), (q, to))| p == q && at.distance(*to) < 1e-6)
}

fn file_name(image: &str) -> &str {
    image.rsplit(['/', '\\']).next().unwrap_or(image)
}

fn stem(image: &str) -> String {
    let name = file_name(image);
    let stem = name.rsplit_once('.').map_or(name, |(stem, _)| stem);
    if stem.is_empty() { "shot".to_owned() } else { stem.to_owned() }
}
