//! A case to the text of version 1: the contract's order of keys, one value a line, points on one line, so that
//! two versions of a file compare well.

use crate::case::document::extra::{Extra, SettingsExtra};
use crate::case::document::figure_spec::FigureSpec;
use crate::case::document::record::BodyRecord;
use crate::case::document::redaction::Cover;
use crate::case::document::{Case, Shot};
use crate::io::case_file::marks::put_marks;
use crate::io::case_file::text::{Object, WIDTH, list, number, points, quoted};
use crate::io::case_file::{FORMAT, VERSION, labels, proposed, rereadings};
use crate::measure::calibration::ScaleFrom;
use crate::measure::mark::{Level, PatientRight, Side, Stage};
use crate::measure::settings::{Band, Rule, Settings, Targets};
use crate::measure::true_view::known::ApTube;

/// The whole file.
pub(super) fn case_text(case: &Case) -> String {
    let mut file = Object::at(0);
    file.put("format", quoted(FORMAT));
    file.put("version", VERSION.to_string());
    file.put_text("title", case.title.as_deref());
    file.put_text("operator", case.operator.as_deref());
    file.put_text("date", case.date.as_deref());
    file.put_text("reference", case.reference.as_deref());
    if !case.discs.is_empty() {
        let discs: Vec<_> = case.discs.iter().map(|disc| quoted(disc)).collect();
        file.put("discs", format!("[{}]", discs.join(", ")));
    }
    file.put_text("patient_right", case.patient_right.map(PatientRight::key));
    let tube = tube(case);
    if !tube.is_empty() {
        file.put("tube", tube.end());
    }
    file.put("settings", settings(&case.settings, &case.settings_extra));
    if !case.bodies.is_empty() {
        file.put("bodies", list(1, case.bodies.iter().map(record).collect()));
    }
    if !case.figures.is_empty() {
        file.put("figures", list(1, case.figures.iter().map(figure).collect()));
    }
    file.put("shots", list(1, case.shots.iter().map(shot).collect()));
    if !case.rereadings.is_empty() {
        file.put("rereadings", list(1, case.rereadings.iter().map(rereadings::text).collect()));
    }
    file.put_extra(&case.extra);
    file.end() + "\n"
}

/// Every choice is written, so that a template stays what it is when a default changes.
fn figure(figure: &FigureSpec) -> String {
    let mut members = Object::at(2);
    members.put_text("name", Some(&figure.name));
    members.put_text("kind", Some(figure.kind.key()));
    members.put_text("width", Some(figure.width.key()));
    members.put_text("ground", Some(figure.ground.key()));
    members.put_text("title", figure.title.as_deref());
    members.put_text("caption", figure.caption.as_deref());
    let switches = [
        ("marked", figure.marked),
        ("whole", figure.whole),
        ("letters", figure.letters),
        ("scale_bar", figure.scale_bar),
        ("legend", figure.legend),
    ];
    for (key, switch) in switches {
        members.put(key, switch.to_string());
    }
    members.put_extra(&figure.extra);
    members.end()
}

fn tube(case: &Case) -> Object {
    let mut members = Object::at(1);
    members.put_text("lateral", case.tube.lateral.map(Side::key));
    members.put_text("ap", case.tube.ap.map(ApTube::key));
    members.put_extra(&case.tube_extra);
    members
}

fn record(record: &BodyRecord) -> String {
    let mut members = Object::at(2);
    members.put_text("level", Some(&record.level.name()));
    members.put_text("side", Some(record.side.key()));
    if let Some(seconds) = record.lesion_s {
        members.put("lesion_s", number(seconds));
    }
    members.put_text("remarks", record.remarks.as_deref());
    members.put_extra(&record.extra);
    members.end()
}

fn shot(shot: &Shot) -> String {
    let mut members = Object::at(2);
    members.put("id", quoted(&shot.id));
    members.put("image", quoted(&shot.image));
    members.put("frame", shot.frame.to_string());
    members.put_text("digest", shot.digest.as_deref());
    members.put_text("level", shot.level.map(Level::name).as_deref());
    members.put_text("side", shot.side.map(Side::key));
    members.put_text("view", Some(shot.view.key()));
    if !shot.view_set {
        members.put("view_set", "false".to_owned());
    }
    members.put_text("stage", shot.stage.map(Stage::key));
    members.put_text("taken", shot.taken.as_deref());
    if let Some(scale) = shot.mm_per_px {
        members.put("mm_per_px", number(scale));
    }
    if let Some(sd) = shot.mm_per_px_sd {
        members.put("mm_per_px_sd", number(sd));
    }
    members.put_text("scale_from", shot.scale_from.map(ScaleFrom::key));
    if let Some(known) = &shot.known_length {
        let mut length = Object::at(3);
        length.put("ends", points(&known.ends.map(Some)));
        length.put("mm", number(known.mm));
        if known.sd_mm > 0.0 {
            length.put("sd_mm", number(known.sd_mm));
        }
        members.put("known_length", length.end());
    }
    if !shot.covers.is_empty() {
        let corners = |cover: &Cover| points(&[Some(cover.min), Some(cover.max)]);
        members.put("covers", list(3, shot.covers.iter().map(corners).collect()));
    }
    members.put_text("patient_right", shot.patient_right.map(PatientRight::key));
    if let Some(untold) = shot.cannot_tell {
        let said = untold.parts().into_iter().filter(|(_, said)| *said).map(|(key, _)| quoted(key));
        members.put("cannot_tell", format!("[{}]", said.collect::<Vec<_>>().join(", ")));
    }
    members.put_text("pair_with", shot.pair_with.as_deref());

    if shot.draft {
        members.put("draft", "true".to_owned());
    }

    let extra = put_marks(&mut members, 3, &shot.marks, &shot.marks_extra, &shot.extra);
    proposed::put(&mut members, 3, &shot.proposed);
    if !shot.labels.is_empty() {
        let texts: Vec<_> = shot.labels.iter().map(labels::text).collect();
        let line = format!("[{}]", texts.join(", "));
        members.put("labels", if line.len() <= WIDTH { line } else { list(3, texts) });
    }
    members.put_extra(&extra);
    members.end()
}

fn settings(settings: &Settings, extra: &SettingsExtra) -> String {
    let mut members = Object::at(1);
    let mut sds = Object::at(2);
    sds.put("bone", number(settings.bone_sd_mm));
    sds.put("metal", number(settings.metal_sd_mm));
    sds.put_extra(&extra.placement_sd_mm);
    members.put("placement_sd_mm", sds.end());
    members.put("view_half_width_deg", number(settings.view_half_width_deg));
    members.put("change_that_matters", number(settings.change_that_matters));
    members.put("targets", targets(&settings.targets, extra));
    members.put_extra(&extra.settings);
    members.end()
}

/// A band or stage that the method has by default and the case does not is written as `null`, so that it does
/// not come back.
fn targets(targets: &Targets, extra: &SettingsExtra) -> String {
    let defaults = Targets::default();
    let mut members = Object::at(2);
    for stage in Stage::ALL {
        let (bands, default) = (targets.stages.get(&stage), defaults.stages.get(&stage));
        let unknown = extra.stages.get(stage.key());
        if bands.is_none() && unknown.is_none() {
            if default.is_some() {
                members.put(stage.key(), "null".to_owned());
            }
            continue;
        }
        let mut of_stage = Object::at(3);
        for rule in Rule::ALL {
            match bands.and_then(|bands| bands.get(&rule)) {
                Some(&Band { low, high }) => {
                    of_stage.put(rule.key(), format!("[{}, {}]", number(low), number(high)));
                }
                None if default.is_some_and(|bands| bands.contains_key(&rule)) => {
                    of_stage.put(rule.key(), "null".to_owned());
                }
                None => {}
            }
        }
        of_stage.put_extra(unknown.unwrap_or(&Extra::default()));
        members.put(stage.key(), of_stage.end());
    }
    members.put_extra(&extra.targets);
    members.end()
}
