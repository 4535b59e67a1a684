//! Keypoints out of cases: every mark that counts, with the standard deviation that the reading gives it.

use std::path::Path;

use crate::case::document::{Case, Shot};
use crate::case::readings::{Picture, ShotReading};
use crate::io::keypoints::point::{Keypoint, KeypointShot};
use crate::io::store::pictures::read_with_pictures;

/// A case whose marks are written.
#[derive(Clone, Debug)]
pub struct NamedCase<'a> {
    /// What the table calls it.
    pub name: String,
    /// Its file, beside which its images lie.
    pub path: &'a Path,
    /// The case.
    pub case: &'a Case,
}

/// What a table calls the cases of these files: by their own names, since folders may be named after a person. Where several
/// have the same, their number in this order stands behind it.
#[must_use]
pub fn own_names(paths: &[&Path]) -> Vec<String> {
    let names = paths.iter().map(|path| path.file_name().unwrap_or_default().to_string_lossy().into_owned());
    let names: Vec<String> = names.collect();
    let told = |(i, name): (usize, &String)| {
        let alone = names.iter().filter(|other| *other == name).count() == 1;
        if alone { name.clone() } else { format!("{name} ({})", i + 1) }
    };
    names.iter().enumerate().map(told).collect()
}

/// The marks of these cases, in the order of cases and shots. Drafts and shots without a view have none that count.
#[must_use]
pub fn of_cases(cases: &[NamedCase<'_>]) -> Vec<KeypointShot> {
    cases.iter().flat_map(of_case).collect()
}

fn of_case(NamedCase { name, path, case }: &NamedCase<'_>) -> Vec<KeypointShot> {
    let (readings, found) = read_with_pictures(path, case, None);
    let all = case.shots.iter().zip(&readings.shots).zip(&found);
    all.filter(|((shot, _), _)| shot.marks_count() && !shot.marks.is_empty())
        .map(|((shot, reading), found)| KeypointShot {
            case: name.clone(),
            image: shot.image.clone(),
            frame: shot.frame,
            size: match &found.picture {
                Picture::Present { extent, .. } => Some((extent.width, extent.height)),
                Picture::NotLookedAt | Picture::Missing => None,
            },
            shot: shot.id.clone(),
            level: shot.level,
            side: shot.side,
            view: shot.known_view(),
            stage: shot.stage,
            patient_right: shot.patient_right.or(case.patient_right),
            mm_per_px: shot.mm_per_px,
            mm_per_px_sd: shot.mm_per_px_sd,
            points: points(shot, reading),
        })
        .collect()
}

fn points(shot: &Shot, reading: &ShotReading) -> Vec<Keypoint> {
    let scale = match reading {
        ShotReading::Lateral(reading) => reading.body.map(|body| body.mm_per_px),
        ShotReading::Ap(reading) => reading.body.map(|body| body.mm_per_px),
        ShotReading::Pedicle(reading) => reading.scale.map(|(scale, _)| scale),
    };
    let of = |at| reading.mark_sds().iter().find(|(other, _)| *other == at).map(|(_, sd)| *sd);
    let keypoint = |(at, to)| {
        let sd_mm = of(at);
        let sd_px = sd_mm.zip(scale).map(|(sd, scale)| sd / scale);
        Keypoint { at, to, sd_mm, sd_px, origin: shot.proposed.origin(at) }
    };
    shot.marks.placed().map(keypoint).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cases_are_named_without_folders_and_stay_apart() {
        let paths = ["somebody/a.case.json", "b.case.json", "else/a.case.json"].map(Path::new);
        assert_eq!(own_names(&paths), ["a.case.json (1)", "b.case.json", "a.case.json (3)"]);
        assert_eq!(own_names(&paths[..2]), ["a.case.json", "b.case.json"]);
        assert_eq!(own_names(&[]), [""; 0]);
    }
}
