//! Version 1 of the case file to a case. Frozen once released: a change of meaning is a new version.
//!
//! Beyond the contract's keys, a shot may have `partial`: marks of which some points are still to be placed, as
//! lists with `null` for each empty place; and `draft`, true while its marks are carried over from another shot
//! and wait to be confirmed; `view_set`, false while nobody has set its `view`, which then means nothing; `mm_per_px_sd`, `scale_from` and `known_length`, which say
//! how sure its scale is and where it comes from; `covers`, boxes over words burned into the picture; `labels`, of
//! which [`super::labels`] tells. `proposed` and `mark_sd_mm` tell the
//! origin of marks that the program proposed. A case may have `rereadings`, rounds of blind readings. In a target, `null` says that a band or a stage is left out, where a
//! missing key takes the method's default.

use std::collections::BTreeSet;

use crate::case::document::extra::{Extra, SettingsExtra};
use crate::case::document::redaction::Cover;
use crate::case::document::{Case, Shot};
use crate::geom::point::Point;
use crate::io::case_file::fields::{Fault, JsonField, Members};
use crate::io::case_file::figures;
use crate::io::case_file::labels;
use crate::io::case_file::marks::marks_of;
use crate::io::case_file::proposed;
use crate::io::case_file::records::{self, level};
use crate::io::case_file::rereadings;
use crate::measure::calibration::{KnownLength, ScaleFrom};
use crate::measure::mark::{PatientRight, Side, Stage, View};
use crate::measure::settings::{Band, Rule, Settings, Targets, scale_fault};
use crate::measure::true_view::known::{ApTube, CannotTell, Tube};

/// The case of a file whose `format` and `version` have been taken.
pub(super) fn case(mut file: Members<'_>) -> Result<Case, Fault> {
    let mut case = Case {
        title: file.take_text("title")?,
        operator: file.take_text("operator")?,
        date: file.take_text("date")?,
        reference: file.take_text("reference")?,
        ..Case::default()
    };
    if let Some(discs) = file.take("discs") {
        case.discs = discs.elements("texts")?.iter().map(JsonField::text).collect::<Result<_, _>>()?;
    }
    case.patient_right = patient_right(&mut file)?;
    if let Some(field) = file.take("tube") {
        (case.tube, case.tube_extra) = tube(&field)?;
    }
    if let Some(field) = file.take("settings") {
        (case.settings, case.settings_extra) = settings(&field)?;
    }
    case.bodies = records::bodies(&mut file)?;
    case.figures = figures::figures(&mut file)?;
    let mut ids = BTreeSet::new();
    for field in file.take("shots").map(|f| f.elements("shots")).transpose()?.unwrap_or_default() {
        let shot = shot(&field)?;
        if !ids.insert(shot.id.clone()) {
            let text = format!("the shot “{}” is listed twice; give one of them another id", shot.id);
            return Err(field.fault(text));
        }
        case.shots.push(shot);
    }
    if let Some(field) = file.take("rereadings") {
        case.rereadings = rereadings::rounds(&field)?;
    }
    case.extra = file.into_extra();
    Ok(case)
}

fn shot(field: &JsonField<'_>) -> Result<Shot, Fault> {
    let mut members = field.members()?;
    let id = members.need("id", "give the shot an id of its own")?.text()?;
    let image = members.need("image", "give the image file, relative to the case file")?.text()?;
    let view = members.need("view", "write lateral, ap or pedicle")?.one_of(View::ALL, View::key)?;
    let mut shot = Shot::new(id, image, view);
    if let Some(frame) = members.take("frame") {
        let too_large = || frame.fault("is too large for a frame number");
        shot.frame = u32::try_from(frame.whole_number()?).ok().ok_or_else(too_large)?;
    }
    shot.digest = members.take_text("digest")?;
    shot.level = members.take("level").map(|f| level(&f)).transpose()?;
    shot.side = members.take("side").map(|f| f.one_of(Side::ALL, Side::key)).transpose()?;
    shot.stage = members.take("stage").map(|f| f.one_of(Stage::ALL, Stage::key)).transpose()?;
    shot.taken = members.take_text("taken")?;
    if let Some(scale) = members.take("mm_per_px") {
        let number = scale.number()?;
        if let Some(why) = scale_fault(number) {
            return Err(scale.fault(why));
        }
        shot.mm_per_px = Some(number);
    }
    calibration(&mut members, &mut shot)?;
    if let Some(covers) = members.take("covers") {
        shot.covers = covers.elements("covers")?.iter().map(cover).collect::<Result<_, _>>()?;
    }
    if let Some(field) = members.take("labels") {
        shot.labels = labels::read(&field)?;
    }
    shot.patient_right = patient_right(&mut members)?;
    shot.cannot_tell = members.take("cannot_tell").map(|field| cannot_tell(&field)).transpose()?;
    shot.pair_with = members.take_text("pair_with")?;
    if let Some(set) = members.take("view_set") {
        shot.view_set = set.truth()?;
    }
    if let Some(draft) = members.take("draft") {
        shot.draft = draft.truth()?;
    }
    shot.proposed = proposed::take(&mut members)?;
    (shot.marks, shot.marks_extra, shot.extra) = marks_of(members)?;
    Ok(shot)
}

/// What is known of the scale beside its value.
fn calibration(members: &mut Members<'_>, shot: &mut Shot) -> Result<(), Fault> {
    if let Some(field) = members.take("mm_per_px_sd") {
        let sd = field.number()?;
        if sd < 0.0 {
            return Err(field.fault("must not be negative"));
        }
        shot.mm_per_px_sd = Some(sd);
    }
    shot.scale_from =
        members.take("scale_from").map(|f| f.one_of(ScaleFrom::ALL, ScaleFrom::key)).transpose()?;
    if let Some(field) = members.take("known_length") {
        let mut known = field.members()?;
        let ends = known.need("ends", "write the two ends of the length")?;
        let mm = known.need("mm", "write its length in millimeters")?.number()?;
        let sd_mm = known.take("sd_mm").map(|sd| sd.number()).transpose()?.unwrap_or(0.0);
        let [a, b] = two_points(&ends)?;
        let length = KnownLength { ends: [a, b], mm, sd_mm };
        if let Some(why) = length.fault() {
            return Err(field.fault(why));
        }
        shot.known_length = Some(length);
    }
    Ok(())
}

/// A cover: two opposite corners.
fn cover(field: &JsonField<'_>) -> Result<Cover, Fault> {
    let [a, b] = two_points(field)?;
    Cover::between(a, b).ok_or_else(|| field.fault("the box has no area; remove it or enlarge it"))
}

fn two_points(field: &JsonField<'_>) -> Result<[Point; 2], Fault> {
    let two = || field.wrong_type("a list of two points");
    let points: Vec<Point> =
        field.elements("two points")?.iter().map(JsonField::point).collect::<Result<_, _>>()?;
    <[Point; 2]>::try_from(points).ok().ok_or_else(two)
}

/// Where the tube stood in lateral and in AP shots; either may be missing.
fn tube(field: &JsonField<'_>) -> Result<(Tube, Extra), Fault> {
    let mut members = field.members()?;
    let tube = Tube {
        lateral: members.take("lateral").map(|f| f.one_of(Side::ALL, Side::key)).transpose()?,
        ap: members.take("ap").map(|f| f.one_of(ApTube::ALL, ApTube::key)).transpose()?,
    };
    Ok((tube, members.into_extra()))
}

/// The directions in which it cannot be told whether a border shows twice; an empty list says that it can.
fn cannot_tell(field: &JsonField<'_>) -> Result<CannotTell, Fault> {
    let mut untold = CannotTell::default();
    for one in field.elements("depth and height")? {
        match one.text()?.as_str() {
            "depth" => untold.depth = true,
            "height" => untold.height = true,
            _ => return Err(one.fault("is not a direction; write depth or height")),
        }
    }
    Ok(untold)
}

fn patient_right(members: &mut Members<'_>) -> Result<Option<PatientRight>, Fault> {
    members.take("patient_right").map(|f| f.one_of(PatientRight::ALL, PatientRight::key)).transpose()
}

fn settings(field: &JsonField<'_>) -> Result<(Settings, SettingsExtra), Fault> {
    let mut settings = Settings::default();
    let mut extra = SettingsExtra::default();
    let mut members = field.members()?;
    if let Some(sds) = members.take("placement_sd_mm") {
        let mut sds = sds.members()?;
        take_number(&mut sds, "bone", &mut settings.bone_sd_mm)?;
        take_number(&mut sds, "metal", &mut settings.metal_sd_mm)?;
        extra.placement_sd_mm = sds.into_extra();
    }
    take_number(&mut members, "view_half_width_deg", &mut settings.view_half_width_deg)?;
    take_number(&mut members, "change_that_matters", &mut settings.change_that_matters)?;
    if let Some(targets) = members.take("targets") {
        read_targets(&targets, &mut settings.targets, &mut extra)?;
    }
    extra.settings = members.into_extra();
    settings.fault().map_or(Ok(()), |why| Err(field.fault(why)))?;
    Ok((settings, extra))
}

fn take_number(members: &mut Members<'_>, key: &str, into: &mut f64) -> Result<(), Fault> {
    if let Some(field) = members.take(key) {
        *into = field.number()?;
        if *into < 0.0 {
            return Err(field.fault("must not be negative"));
        }
    }
    Ok(())
}

fn read_targets(
    field: &JsonField<'_>,
    targets: &mut Targets,
    extra: &mut SettingsExtra,
) -> Result<(), Fault> {
    let mut members = field.members()?;
    for stage in Stage::ALL {
        let Some(bands) = members.take_even_null(stage.key()) else { continue };
        if bands.is_null() {
            targets.stages.remove(&stage);
            continue;
        }
        let mut bands = bands.members()?;
        let of_stage = targets.stages.entry(stage).or_default();
        for rule in Rule::ALL {
            let Some(band) = bands.take_even_null(rule.key()) else { continue };
            if band.is_null() {
                of_stage.remove(&rule);
            } else {
                of_stage.insert(rule, read_band(&band)?);
            }
        }
        let unknown = bands.into_extra();
        if !unknown.0.is_empty() {
            extra.stages.insert(stage.key().to_owned(), unknown);
        }
    }
    extra.targets = members.into_extra();
    Ok(())
}

fn read_band(field: &JsonField<'_>) -> Result<Band, Fault> {
    let pair = || field.wrong_type("a band [low, high] of two numbers");
    if !field.raw().starts_with('[') {
        return Err(pair());
    }
    let [low, high] = <[JsonField<'_>; 2]>::try_from(field.elements("two numbers")?).ok().ok_or_else(pair)?;
    let band = Band::new(low.number()?, high.number()?);
    if band.low > band.high {
        return Err(field.fault("the low end is above the high end; swap them"));
    }
    Ok(band)
}
