//! Keypoints out of cases: every mark that counts, with the standard deviation that the reading gives it.

use std::path::{Path, PathBuf};

use crate::case::document::{Case, Shot};
use crate::case::readings::{Picture, ShotReading};
use crate::io::keypoints::point::{Keypoint, KeypointShot};
use crate::io::store::pictures::read_with_pictures;

/// The marks of these cases, in the order of cases and shots. Drafts and shots without a view have none that count.
#[must_use]
pub fn of_cases(cases: &[(PathBuf, &Case)]) -> Vec<KeypointShot> {
    cases.iter().flat_map(|(path, case)| of_case(path, case)).collect()
}

fn of_case(path: &Path, case: &Case) -> Vec<KeypointShot> {
    let (readings, found) = read_with_pictures(path, case, None);
    let all = case.shots.iter().zip(&readings.shots).zip(&found);
    all.filter(|((shot, _), _)| shot.marks_count() && !shot.marks.is_empty())
        .map(|((shot, reading), found)| KeypointShot {
            case: path.to_string_lossy().into_owned(),
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
