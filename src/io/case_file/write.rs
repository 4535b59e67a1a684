//! A case to the text of version 1: the contract's order of keys, one value a line, points on one line, so that
//! two versions of a file compare well.

use std::collections::BTreeMap;

use serde_json::value::RawValue;

use crate::case::cover::Cover;
use crate::case::document::{Case, Extra, SettingsExtra, Shot};
use crate::case::figure_spec::FigureSpec;
use crate::case::record::BodyRecord;
use crate::geom::point::Point;
use crate::io::case_file::{FORMAT, VERSION, labels, rereadings};
use crate::measure::calibration::ScaleFrom;
use crate::measure::mark::{Level, MarkKind, Marks, PatientRight, Side, Stage};
use crate::measure::settings::{Band, Rule, Settings, Targets};

/// The longest line of points.
const WIDTH: usize = 110;

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
    members.put_text("pair_with", shot.pair_with.as_deref());

    if shot.draft {
        members.put("draft", "true".to_owned());
    }

    let extra = put_marks(&mut members, 3, &shot.marks, &shot.marks_extra, &shot.extra);
    if !shot.labels.is_empty() {
        let texts: Vec<_> = shot.labels.iter().map(labels::text).collect();
        let line = format!("[{}]", texts.join(", "));
        members.put("labels", if line.len() <= WIDTH { line } else { list(3, texts) });
    }
    members.put_extra(&extra);
    members.end()
}

/// Puts the marks into an object whose own members stand at `level`: those that are whole, and those that are not.
/// Returns what is unknown beside them.
pub(super) fn put_marks(
    members: &mut Object,
    level: usize,
    marks: &Marks,
    marks_extra: &Extra,
    extra: &Extra,
) -> Extra {
    let (mut whole, mut partial) = (Object::at(level), Object::at(level));
    for kind in MarkKind::ALL {
        let slots = marks.slots(kind);
        if slots.is_empty() {
            continue;
        }
        let into = if is_whole(marks, kind) { &mut whole } else { &mut partial };
        into.put(kind.key(), points(slots));
    }
    whole.put_extra(marks_extra);
    members.put("marks", whole.end());
    let mut extra = extra.clone();
    if let Some(unknown) = extra.0.remove("partial") {
        // What an earlier reading did not know inside `partial`.
        let unknown: BTreeMap<String, Box<RawValue>> = serde_json::from_str(&unknown).unwrap_or_default();
        partial.put_extra(&Extra(unknown.into_iter().map(|(k, v)| (k, v.get().to_owned())).collect()));
    }
    if !partial.is_empty() {
        members.put("partial", partial.end());
    }
    extra
}

fn is_whole(marks: &Marks, kind: MarkKind) -> bool {
    marks.complete(kind).is_some()
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

/// A mark's points on one line, or one a line where there are many.
pub(super) fn points(slots: &[Option<Point>]) -> String {
    let point = |slot: &Option<Point>| {
        slot.map_or_else(|| "null".to_owned(), |p| format!("[{}, {}]", number(p.x), number(p.y)))
    };
    let texts: Vec<_> = slots.iter().map(point).collect();
    let line = format!("[{}]", texts.join(", "));
    if line.len() <= WIDTH { line } else { list(4, texts) }
}

/// The shortest text that is read back as the same number; whole numbers without a decimal point.
pub(super) fn number(value: f64) -> String {
    if value.fract() == 0.0 && value.abs() < 1e15 { format!("{value}") } else { format!("{value:?}") }
}

/// A text in quotation marks, with what JSON needs escaped.
pub(super) fn quoted(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

/// A list with one element a line.
pub(super) fn list(level: usize, elements: Vec<String>) -> String {
    if elements.is_empty() {
        return "[]".to_owned();
    }
    let (inner, outer) = (indent(level + 1), indent(level));
    let lines: Vec<_> = elements.into_iter().map(|e| format!("{inner}{e}")).collect();
    format!("[\n{}\n{outer}]", lines.join(",\n"))
}

fn indent(level: usize) -> String {
    "  ".repeat(level)
}

/// An object under way: its members with their texts.
pub(super) struct Object {
    level: usize,
    members: Vec<(String, String)>,
}

impl Object {
    pub(super) const fn at(level: usize) -> Self {
        Self { level, members: Vec::new() }
    }

    pub(super) fn put(&mut self, key: &str, text: String) {
        self.members.push((key.to_owned(), text));
    }

    pub(super) fn put_text(&mut self, key: &str, text: Option<&str>) {
        if let Some(text) = text {
            self.put(key, quoted(text));
        }
    }

    /// What was not known on reading, word for word; a key that is known by now stands before it.
    pub(super) fn put_extra(&mut self, extra: &Extra) {
        for (key, text) in &extra.0 {
            if !self.members.iter().any(|(known, _)| known == key) {
                self.put(key, text.clone());
            }
        }
    }

    const fn is_empty(&self) -> bool {
        self.members.is_empty()
    }

    pub(super) fn end(self) -> String {
        if self.members.is_empty() {
            return "{}".to_owned();
        }
        let (inner, outer) = (indent(self.level + 1), indent(self.level));
        let line = |(key, text): &(String, String)| format!("{inner}{}: {text}", quoted(key));
        let lines: Vec<_> = self.members.iter().map(line).collect();
        format!("{{\n{}\n{outer}}}", lines.join(",\n"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_exact() {
        for (value, text) in
            [(412.0, "412"), (365.4, "365.4"), (-0.1, "-0.1"), (1e300, "1e300"), (-0.0, "-0"), (1e-7, "1e-7")]
        {
            assert_eq!(number(value), text);
            assert_eq!(text.parse::<f64>().unwrap().to_bits(), value.to_bits());
        }
    }

    #[test]
    fn points_stand_on_one_line() {
        let slots = [Some(Point::new(1.0, 2.5)), None];
        assert_eq!(points(&slots), "[[1, 2.5], null]");
    }
}
