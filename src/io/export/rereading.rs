//! What blind readings say, as JSON, as a table of the readings, and on paper.

use std::collections::BTreeMap;

use serde_json::{Map, Value, json};

use crate::io::export::json::headed;
use crate::io::export::{ExportError, pdf, reliability};
use crate::measure::settings::Settings;
use crate::scene::drawing::theme::Theme;
use crate::scene::repeatability::rereading::{Results, pages, place};
use crate::study::mark_spread::{MarkSpread, Scatter, SpreadEstimate};
use crate::study::places::PlaceKey;
use crate::study::rereading::{Measured, Study};

/// Everything, ending in a line break: `quantities` by name, each as `repeat` prints a table; `marks` by place; the
/// measured placement errors.
#[must_use]
pub fn json_text(study: &Study<'_>, settings: &Settings) -> String {
    let quantities: Map<String, Value> = study
        .reports
        .iter()
        .map(|(what, report)| (what.key().to_owned(), Value::Object(reliability::members(report))))
        .collect();
    let marks: Vec<Value> = study
        .marks
        .places
        .iter()
        .map(|(key, found)| json!({ "mark": key.kind.key(), "place": place(*key), "spread": scatter(found) }))
        .collect();
    let unread: Vec<Value> = study
        .unread
        .iter()
        .map(|(subject, rater, round)| json!({ "subject": subject, "rater": rater, "round": round }))
        .collect();
    let adopted = study.adopted(settings);
    let placement = adopted.map(|s| json!({ "bone": s.bone_sd_mm, "metal": s.metal_sd_mm }));
    let all = json!({
        "readings": study.reads.len(),
        "unread": unread,
        "assumed_scale": study.assumed_scale,
        "quantities": quantities,
        "marks": marks,
        "bone": scatter(&study.marks.bone),
        "metal": scatter(&study.marks.metal),
        "placement_sd_mm": placement,
    });
    format!("{:#}\n", headed("rereadings", all))
}

fn scatter(found: &Scatter) -> Value {
    let spread = |found: Option<SpreadEstimate>| {
        found.map(|s| json!({ "sd": s.sd, "low": s.low, "high": s.high, "degrees_of_freedom": s.df }))
    };
    json!({
        "all_mm": spread(found.all_mm),
        "all_px": spread(found.all_px),
        "own_mm": spread(found.own_mm),
        "own_px": spread(found.own_px),
        "largest_px": found.largest_px,
    })
}

/// The readings, one line each, with a heading: values not rounded, an empty cell where nothing was read. The last columns
/// tell how far each mark of the shot scatters over its readings, as standard deviations in millimetres.
#[must_use]
pub fn csv_text(study: &Study<'_>) -> String {
    let mut table = csv::Writer::from_writer(Vec::new());
    let places: Vec<PlaceKey> = study.marks.places.iter().map(|(key, _)| *key).collect();
    let heads = ["subject", "rater", "round", "blind", "view", "depth", "height", "across"];
    let sds = places.iter().map(|key| format!("sd_mm_{}", key.key()));
    // Writing to memory does not fail, and every line has the same columns.
    let _ = table.write_record(heads.into_iter().map(str::to_owned).chain(sds));
    let mut of_shot: BTreeMap<&str, MarkSpread> = BTreeMap::new();
    for read in &study.reads {
        of_shot.entry(&read.subject).or_insert_with(|| study.spread_of(&read.subject));
    }
    for read in &study.reads {
        let mut line = vec![
            read.subject.clone(),
            read.rater.clone(),
            read.round.to_string(),
            if read.first { "no" } else { "yes" }.to_owned(),
            read.shot.view.key().to_owned(),
        ];
        line.extend(Measured::ALL.map(|what| read.value(what).map_or_else(String::new, |x| x.to_string())));
        let own = of_shot.get(read.subject.as_str());
        line.extend(places.iter().map(|key| {
            let found = own.and_then(|spread| spread.places.iter().find(|(place, _)| place == key));
            let sd = found.and_then(|(_, scatter)| study.placement(scatter));
            sd.map_or_else(String::new, |spread| spread.sd.to_string())
        }));
        let _ = table.write_record(&line);
    }
    String::from_utf8(table.into_inner().unwrap_or_default()).unwrap_or_default()
}

/// The results as a PDF.
///
/// # Errors
/// A page that cannot be drawn.
pub fn pdf_bytes(results: &Results) -> Result<Vec<u8>, ExportError> {
    pdf::document(&pages(results), &Theme::light())
}
