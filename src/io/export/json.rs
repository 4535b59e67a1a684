//! Readings as JSON, in the shape that others rely on: one object for each case, in a list. Values are not
//! rounded; a value that could not be read is `null`.

use serde::ser::{Serialize, SerializeMap as _, Serializer};
use serde_json::{Map, Value, json};

use crate::case::document::record::BodyRecord;
use crate::case::document::{Case, Shot};
use crate::case::plan::plan;
use crate::case::plan::runs::runs;
use crate::case::readings::{ReadPairOf, ShotReading};
use crate::io::export::change;
use crate::io::export::plan::plan as export_plan;
use crate::io::export::result::CaseResult;
use crate::io::export::true_view;
use crate::measure::calibration::ScaleFrom;
use crate::measure::issue::{Blocks, Issue};
use crate::measure::length::{BodyLengths, Length};
use crate::measure::mark::{Level, PatientRight, Side, Stage};
use crate::measure::quantity::{Budget, Quantity, Simulated};
use crate::measure::reading::{
    ApReading, BodySizes, Electrodes, LateralReading, MidlineBy, MidlineOffsets, PedicleReading, Place,
    Quadrant,
};
use crate::measure::verdict::Verdict;

/// The name of the coordinate that runs along the body in a view.
#[derive(Clone, Copy)]
enum AlongName {
    Depth,
    Across,
}

/// The readings of these cases, ending in a line break. Shot by shot, so that a case of very many takes little more memory than
/// the text itself.
#[must_use]
pub fn readings_text(cases: &[CaseResult<'_>]) -> String {
    let list: Vec<CaseMembers<'_>> = cases.iter().map(CaseMembers).collect();
    // Writing to memory does not fail.
    serde_json::to_string_pretty(&list).unwrap_or_default() + "\n"
}

/// The same members behind what they are, and in which version; `docs/schemas` describes each.
pub(crate) fn headed(what: &str, value: Value) -> Value {
    let mut members = object(json!({ "format": format!("stillmark {what}"), "version": 1 }));
    members.extend(object(value));
    Value::Object(members)
}

/// A case as it is written.
struct CaseMembers<'a>(&'a CaseResult<'a>);

impl Serialize for CaseMembers<'_> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let result = self.0;
        let (case, read) = (result.case, result.readings);
        let shots = || {
            let shots = case.shots.iter().zip(&read.shots).enumerate();
            shots.map(|(i, (of, reading))| shot(of, reading, result.said.get(i).map_or(&[], Vec::as_slice)))
        };
        let mut members = to.serialize_map(None)?;
        for (key, value) in object(headed("readings", json!({}))) {
            members.serialize_entry(&key, &value)?;
        }
        members.serialize_entry("case", &case.title)?;
        members.serialize_entry("reference", &case.reference)?;
        members.serialize_entry("file", result.file)?;
        members.serialize_entry("readings", &Each(shots))?;
        members.serialize_entry("pairs", &Each(|| read.pairs.iter().map(|one| pair(case, one))))?;
        members.serialize_entry("bodies", &Each(|| case.bodies.iter().map(record)))?;
        members.serialize_entry("plan", &export_plan(case, &plan(case, read)))?;
        members.serialize_entry("runs", &change::runs(case, &runs(case, read)))?;
        members.end()
    }
}

/// Values that are made one after the other while they are written.
struct Each<F>(F);

impl<I: Iterator<Item = Value>, F: Fn() -> I> Serialize for Each<F> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_seq((self.0)())
    }
}

fn record(record: &BodyRecord) -> Value {
    json!({
        "level": record.level.name(),
        "side": record.side.key(),
        "lesion_s": record.lesion_s,
        "remarks": record.remarks,
    })
}

fn shot(shot: &Shot, reading: &ShotReading, said: &[String]) -> Value {
    let mut members = object(json!({
        "shot": shot.id,
        "view": shot.view.key(),
        "level": shot.level.map(Level::name),
        "side": shot.side.map(Side::key),
        "stage": shot.stage.map(Stage::key),
        "mm_per_px_sd": shot.mm_per_px_sd,
        "scale_from": shot.scale_from.map(ScaleFrom::key),
    }));
    if !shot.view_set {
        members.insert("view_set".to_owned(), json!(false));
    }
    members.extend(object(match reading {
        ShotReading::Lateral(reading) => lateral(reading),
        ShotReading::Ap(reading) => ap(reading),
        ShotReading::Pedicle(reading) => pedicle(reading),
    }));
    members.insert("verdicts".to_owned(), reading.verdicts().iter().map(verdict).collect());
    members.insert("issues".to_owned(), reading.issues().iter().map(issue).collect());
    members.insert("picture".to_owned(), json!(said));
    Value::Object(members)
}

fn lateral(reading: &LateralReading) -> Value {
    let tip = reading.tip.as_ref();
    json!({
        "depth": maybe(tip.map(|tip| &tip.along)),
        "height": maybe(tip.map(|tip| &tip.height)),
        "body": reading.body.as_ref().map(|sizes| body(sizes, reading.lengths.as_ref(), AlongName::Depth)),
        "electrode_centre": reading.electrodes.as_ref().map(|e| place(&e.centre, AlongName::Depth)),
        "electrodes": reading.electrodes.as_ref().map(|e| electrodes(e, AlongName::Depth)),
        "cannula_mouth": reading.cannula_mouth.as_ref().map(|mouth| place(mouth, AlongName::Depth)),
        "travel": reading.travel.map(|(depth, height)| json!({ "depth": depth, "height": height })),
        "true_view": reading.true_view.as_ref().map(true_view::lateral),
    })
}

fn ap(reading: &ApReading) -> Value {
    let by = &reading.midline_by;
    let over = reading.over_spinous_process.map(
        |over| json!({ "nominal": over.nominal.key(), "state": over.state.key(), "p_inside": over.p_inside }),
    );
    json!({
        "across": maybe(reading.tip.as_ref().map(|tip| &tip.along)),
        "height": maybe(reading.height.as_ref()),
        "midline": by.best().map(|(by, offset)| midline(by, offset)),
        "midline_by": midline_by(by),
        "over_spinous_process": over,
        "medial_border": maybe(reading.medial_border.as_ref()),
        "across_pedicle": maybe(reading.across_pedicle.as_ref()),
        "patient_right": reading.patient_right.map(PatientRight::key),
        "body": reading.body.as_ref().map(|sizes| body(sizes, reading.lengths.as_ref(), AlongName::Across)),
        "electrode_centre": reading.electrodes.as_ref().map(|e| place(&e.centre, AlongName::Across)),
        "electrodes": reading.electrodes.as_ref().map(|e| electrodes(e, AlongName::Across)),
        "cannula_mouth": reading.cannula_mouth.as_ref().map(|mouth| place(mouth, AlongName::Across)),
        "true_view": reading.true_view.as_ref().map(true_view::ap),
    })
}

fn pedicle(reading: &PedicleReading) -> Value {
    json!({
        "lateral_offset": maybe(reading.lateral_offset.as_ref()),
        "superior_offset": maybe(reading.superior_offset.as_ref()),
        "radius": maybe(reading.radius.as_ref()),
        "clock_hour": reading.clock_hour,
        "quadrant": reading.quadrant.map(Quadrant::key),
        "mm_per_px": reading.scale.map(|(mm_per_px, _)| mm_per_px),
        "scale_assumed": reading.scale.map(|(_, assumed)| assumed),
    })
}

fn pair(case: &Case, read: &ReadPairOf) -> Value {
    let id = |index: usize| case.shots.get(index).map(|shot| shot.id.as_str());
    let pair = &read.reading;
    json!({
        "lateral": id(read.lateral),
        "ap": id(read.ap),
        "depth": maybe(pair.depth.as_ref()),
        "across": maybe(pair.across.as_ref()),
        "height": maybe(pair.height.as_ref()),
        "midline": pair.midline.as_ref().map(|(by, offset)| midline(*by, offset)),
        "true_view": true_view::pair(&pair.true_view),
        "verdicts": pair.verdicts.iter().map(verdict).collect::<Vec<_>>(),
        "issues": pair.issues.iter().map(issue).collect::<Vec<_>>(),
    })
}

/// The offset from each midline.
pub(crate) fn midline_by(by: &MidlineOffsets) -> Value {
    json!({
        "pedicles": maybe(by.pedicles.as_ref()),
        "spinous_process": maybe(by.spinous_process.as_ref()),
        "body": maybe(by.body.as_ref()),
    })
}

/// A quantity, or `null`.
pub(crate) fn maybe(value: Option<&Quantity>) -> Value {
    value.map_or(Value::Null, quantity)
}

/// A quantity with its interval and budget.
pub(crate) fn quantity(quantity: &Quantity) -> Value {
    let Budget { bone, metal, view, model, softness, proposal } = quantity.budget;
    let mut value = json!({
        "value": quantity.value,
        "sd": quantity.budget.stated(),
        "low": quantity.low(),
        "high": quantity.high(),
        "budget": { "bone": bone, "metal": metal, "view": view },
    });
    // What the interval has beyond the standard uncertainty, and parts of the bone part, named where there are any.
    for (key, part) in [("model", model), ("softness", softness), ("proposal", proposal)] {
        if part > 0.0 {
            value["budget"][key] = part.into();
        }
    }
    if let Some(Simulated { mean, sd, low, high }) = quantity.monte_carlo {
        value["monte_carlo"] = json!({ "mean": mean, "sd": sd, "low": low, "high": high });
    }
    value
}

fn maybe_length(value: Option<&Length>) -> Value {
    value.map_or(Value::Null, length)
}

/// A length in millimetres: its interval includes the scale's part, a simulation does not.
pub(crate) fn length(length: &Length) -> Value {
    let mut value = quantity(&length.quantity);
    value["sd"] = length.sd().into();
    value["low"] = length.low().into();
    value["high"] = length.high().into();
    value["budget"]["scale"] = length.scale.into();
    value
}

fn midline(by: MidlineBy, offset: &Quantity) -> Value {
    let mut members = object(json!({ "by": by.key() }));
    members.extend(object(quantity(offset)));
    Value::Object(members)
}

fn place(place: &Place, along: AlongName) -> Value {
    json!({ along.key(): quantity(&place.along), "height": quantity(&place.height) })
}

fn electrodes(electrodes: &Electrodes, along: AlongName) -> Value {
    let mut proximal = place(&electrodes.proximal, along);
    if matches!(along, AlongName::Depth) {
        proximal["to_posterior_wall"] = maybe(electrodes.to_posterior_wall.as_ref());
        proximal["to_posterior_wall_mm"] = maybe_length(electrodes.to_posterior_wall_mm.as_ref());
    }
    json!([proximal, place(&electrodes.distal, along)])
}

/// In AP the body's extent along is its width, and its heights are those of the entry side and the far side.
fn body(body: &BodySizes, lengths: Option<&BodyLengths>, along: AlongName) -> Value {
    let [extent, start, end] = match along {
        AlongName::Depth => ["depth", "posterior_height", "anterior_height"],
        AlongName::Across => ["width", "entry_side_height", "far_side_height"],
    };
    let px = |name: &str| format!("{name}_px");
    let mm = lengths.map(|lengths| {
        json!({
            extent: length(&lengths.depth),
            start: length(&lengths.posterior_height),
            "middle_height": length(&lengths.middle_height),
            end: length(&lengths.anterior_height),
        })
    });
    json!({
        px(extent): body.depth_px,
        px(start): body.posterior_height_px,
        "middle_height_px": body.middle_height_px,
        px(end): body.anterior_height_px,
        "mm": mm,
        "end_plate_angle_deg": body.end_plate_angle_deg,
        "mm_per_px": body.mm_per_px,
        "scale_assumed": body.scale_assumed,
    })
}

fn verdict(verdict: &Verdict) -> Value {
    let mut value = object(json!({ "rule": verdict.rule.key() }));
    if let Some(band) = verdict.band {
        value.insert("low".to_owned(), band.low.into());
        value.insert("high".to_owned(), band.high.into());
    }
    value.insert("nominal".to_owned(), verdict.nominal.key().into());
    value.insert("state".to_owned(), verdict.state.key().into());
    value.insert("p_inside".to_owned(), verdict.p_inside.into());
    value.insert("basis".to_owned(), verdict.basis.key().into());
    if let Some(q) = verdict.q {
        value.insert("q".to_owned(), q.into());
    }
    Value::Object(value)
}

/// An issue with its code.
pub(crate) fn issue(issue: &Issue) -> Value {
    json!({ "code": issue.code.key(), "blocks": issue.blocks != Blocks::Nothing, "text": issue.text })
}

/// The members of a value that is an object.
pub(crate) fn object(value: Value) -> Map<String, Value> {
    match value {
        Value::Object(members) => members,
        _ => Map::new(),
    }
}

impl AlongName {
    const fn key(self) -> &'static str {
        match self {
            Self::Depth => "depth",
            Self::Across => "across",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quantity_has_the_keys_of_the_contract_and_no_rounding() {
        let budget = Budget { bone: 0.015_3, metal: 0.007_1, view: 0.008_1, ..Budget::default() };
        let mut q = Quantity { value: 1.0 / 3.0, budget, influences: Vec::new(), monte_carlo: None };
        let value = quantity(&q);
        assert_eq!(value["value"].as_f64(), Some(1.0 / 3.0));
        assert_eq!(value["budget"], json!({ "bone": 0.0153, "metal": 0.0071, "view": 0.0081 }));
        assert!(value.get("monte_carlo").is_none());
        q.budget.softness = 0.004;
        assert_eq!(
            quantity(&q)["budget"],
            json!({ "bone": 0.0153, "metal": 0.0071, "view": 0.0081, "softness": 0.004 })
        );
        q.monte_carlo = Some(Simulated { mean: 0.3, sd: 0.02, low: 0.26, high: 0.34 });
        assert_eq!(quantity(&q)["monte_carlo"]["sd"], 0.02);
    }

    #[test]
    fn what_is_not_a_number_becomes_null() {
        let q = Quantity {
            value: f64::NAN,
            budget: Budget::default(),
            influences: Vec::new(),
            monte_carlo: None,
        };
        assert!(quantity(&q)["value"].is_null());
    }
}
