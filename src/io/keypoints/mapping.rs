//! How others name columns, points, views and levels: a mapping file, `NAME.mapping.json`.

use std::collections::BTreeMap;
use std::path::Path;

use serde::Deserialize;

use crate::geom::point::Point;
use crate::io::error::{Error, ErrorKind};
use crate::io::files;
use crate::io::keypoints::columns::COLUMNS;
use crate::io::keypoints::point::{KeypointShot, point_of_name};
use crate::measure::mark::{Level, MarkRef, PatientRight, Side, Stage, View};

/// What the key `format` says in a mapping file.
const FORMAT: &str = "stillmark keypoint mapping";
/// The largest mapping file that is opened, in bytes.
const MAX_BYTES: u64 = 1_000_000;

/// How others name things. Without a mapping everything has our names.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct Mapping {
    format: String,
    version: u64,
    /// Our name of a column → theirs.
    columns: BTreeMap<String, String>,
    /// Our name of a column → what holds for every line.
    constants: BTreeMap<String, String>,
    /// Their name of a point → ours, or nothing to leave it out.
    points: BTreeMap<String, Option<String>>,
    /// Our name of a point → their columns of x and y, in tables with one line for each image.
    pairs: BTreeMap<String, [String; 2]>,
    /// Their words → ours, for views, levels, sides, stages and where the patient's right is.
    words: BTreeMap<String, String>,
    /// Whether points that are not named are left out instead of refused.
    leave_out_unknown: bool,
    /// Added to x and y after `scale`: 0.5 where the center of the first pixel counts as 0.
    offset_px: f64,
    /// What x and y are multiplied by; 1 where nothing is said.
    scale: Option<f64>,
}

/// The words of a line, as they are written.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct LabelWords<'a> {
    pub(super) level: Option<&'a str>,
    pub(super) side: Option<&'a str>,
    pub(super) view: Option<&'a str>,
    pub(super) stage: Option<&'a str>,
    pub(super) patient_right: Option<&'a str>,
}

impl Mapping {
    /// Opens a mapping file.
    ///
    /// # Errors
    /// One sentence that names the file, the place and what to do.
    pub(super) fn open(path: &Path) -> Result<Self, Error> {
        let bytes = files::read(path, MAX_BYTES)?;
        let damaged = |text: String| Error::new(ErrorKind::Damaged, path, text);
        let mapping: Self = serde_json::from_slice(&bytes).map_err(|e| {
            let why = e.to_string();
            let why = why.split(" at line").next().unwrap_or_default();
            damaged(format!("line {}: {why}; docs/data.md lists what a mapping file holds", e.line()))
        })?;
        mapping.fault().map_or(Ok(mapping), |why| Err(damaged(why)))
    }

    fn fault(&self) -> Option<String> {
        if self.format != FORMAT {
            return Some(format!("format: it is not a mapping file; its format must be “{FORMAT}”"));
        }
        if self.version != 1 {
            return Some(format!("version: {} is not known; use version 1", self.version));
        }
        let known = |name: &String| COLUMNS.iter().any(|column| column.name == *name);
        if let Some(name) = self.columns.keys().chain(self.constants.keys()).find(|name| !known(name)) {
            return Some(format!("columns: “{name}” is not a column of a table of keypoints"));
        }
        if let Err(why) = self.fill(&mut KeypointShot::default()) {
            return Some(format!("constants: {why}"));
        }
        let ours = self.points.values().flatten().chain(self.pairs.keys());
        if let Some(name) = ours.into_iter().find(|name| point_of_name(name).is_none()) {
            return Some(format!(
                "points: “{name}” is not a point; write a mark and a number, such as superior_end_plate.1"
            ));
        }
        let scale = self.scale.unwrap_or(1.0);
        if !(1e-6..=1e6).contains(&scale) || !(-1e6..=1e6).contains(&self.offset_px) {
            return Some("scale, offset_px: these numbers cannot be meant".to_owned());
        }
        None
    }

    /// Their name of a column of ours, if it is another.
    pub(super) fn column(&self, ours: &str) -> Option<&str> {
        self.columns.get(ours).map(String::as_str)
    }

    /// The points of a line in tables with one line for each image.
    pub(super) fn pairs(&self) -> impl Iterator<Item = (MarkRef, [&str; 2])> {
        self.pairs.iter().filter_map(|(name, [x, y])| Some((point_of_name(name)?, [x.as_str(), y.as_str()])))
    }

    /// The point that they call so; nothing where it is left out.
    pub(super) fn point(&self, theirs: &str) -> Result<Option<MarkRef>, String> {
        match self.points.get(theirs) {
            Some(None) => return Ok(None),
            Some(Some(ours)) => return Ok(point_of_name(ours)),
            None => {}
        }
        match point_of_name(theirs) {
            Some(at) => Ok(Some(at)),
            None if self.leave_out_unknown => Ok(None),
            None => Err(format!(
                "point: “{theirs}” is not a point known here; name it in a mapping file, or leave unknown points out there"
            )),
        }
    }

    /// Their place as ours.
    pub(super) fn place(&self, theirs: Point) -> Point {
        let scale = self.scale.unwrap_or(1.0);
        Point::new(scale * theirs.x + self.offset_px, scale * theirs.y + self.offset_px)
    }

    /// Takes over the words of a line.
    pub(super) fn name(&self, named: &LabelWords<'_>, shot: &mut KeypointShot) -> Result<(), String> {
        let unknown = |column: &str, word: &str, known: &str| {
            format!("{column}: “{word}” is not known; it must be {known}, or be translated in a mapping file")
        };
        let ours = |word: &str| self.words.get(word).cloned().unwrap_or_else(|| word.to_owned());
        if let Some(word) = named.level {
            let level = Level::from_name(&ours(word).to_ascii_uppercase());
            shot.level = Some(level.ok_or_else(|| unknown("level", word, "T1 to T12, L1 to L5 or S1"))?);
        }
        if let Some(word) = named.side {
            let side = Side::ALL.into_iter().find(|side| side.key() == ours(word));
            shot.side = Some(side.ok_or_else(|| unknown("side", word, "left or right"))?);
        }
        if let Some(word) = named.view {
            let view = View::ALL.into_iter().find(|view| view.key() == ours(word));
            shot.view = Some(view.ok_or_else(|| unknown("view", word, "lateral, ap or pedicle"))?);
        }
        if let Some(word) = named.stage {
            let stage = Stage::ALL.into_iter().find(|stage| stage.key() == ours(word));
            let known = "docking, pedicle, posterior_wall, stylet or final";
            shot.stage = Some(stage.ok_or_else(|| unknown("stage", word, known))?);
        }
        if let Some(word) = named.patient_right {
            let right = PatientRight::ALL.into_iter().find(|right| right.key() == ours(word));
            let right = right.ok_or_else(|| unknown("patient_right", word, "image_left or image_right"))?;
            shot.patient_right = Some(right);
        }
        Ok(())
    }

    /// What holds for every line, where the line itself says nothing. A mapping that was opened never fails here.
    pub(super) fn fill(&self, shot: &mut KeypointShot) -> Result<(), String> {
        let of = |name: &str| self.constants.get(name).map(String::as_str);
        let named = LabelWords {
            level: of("level").filter(|_| shot.level.is_none()),
            side: of("side").filter(|_| shot.side.is_none()),
            view: of("view").filter(|_| shot.view.is_none()),
            stage: of("stage").filter(|_| shot.stage.is_none()),
            patient_right: of("patient_right").filter(|_| shot.patient_right.is_none()),
        };
        self.name(&named, shot)?;
        let number = |name: &str| {
            let Some(text) = of(name) else { return Ok(None) };
            let number = text.parse::<f64>().ok().filter(|n| n.is_finite());
            number.map(Some).ok_or_else(|| format!("{name}: “{text}” is not a number"))
        };
        let (scale, sd) = (number("mm_per_px")?, number("mm_per_px_sd")?);
        shot.mm_per_px = shot.mm_per_px.or(scale);
        shot.mm_per_px_sd = shot.mm_per_px_sd.or(sd);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::MarkKind;

    fn of(text: &str) -> Result<Mapping, String> {
        let mapping: Mapping = serde_json::from_str(text).map_err(|e| e.to_string())?;
        mapping.fault().map_or(Ok(mapping), Err)
    }

    #[test]
    fn what_cannot_be_meant_is_told() {
        let head = r#""format": "stillmark keypoint mapping", "version": 1"#;
        assert!(of(&format!("{{{head}}}")).is_ok());
        for bad in [
            "{}".to_owned(),
            r#"{"format": "stillmark keypoint mapping"}"#.to_owned(),
            format!(r#"{{{head}, "columns": {{"nose": "x"}}}}"#),
            format!(r#"{{{head}, "points": {{"A": "nose.1"}}}}"#),
            format!(r#"{{{head}, "pairs": {{"tip.2": ["x", "y"]}}}}"#),
            format!(r#"{{{head}, "scale": 0}}"#),
            format!(r#"{{{head}, "colums": {{}}}}"#),
            format!(r#"{{{head}, "constants": {{"level": "L9"}}}}"#),
            format!(r#"{{{head}, "constants": {{"mm_per_px": "wide"}}}}"#),
        ] {
            assert!(of(&bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn points_are_translated_left_out_or_refused() {
        let mapping = of(
            r#"{"format": "stillmark keypoint mapping", "version": 1, "points": {"A": "tip.1", "B": null}, "offset_px": 0.5, "scale": 2}"#,
        )
        .unwrap();
        assert_eq!(mapping.point("A"), Ok(Some(MarkRef { kind: MarkKind::Tip, index: 0 })));
        assert_eq!(mapping.point("B"), Ok(None));
        assert!(mapping.point("C").unwrap_err().contains("“C”"));
        assert_eq!(mapping.place(Point::new(1.0, 2.0)), Point::new(2.5, 4.5));
    }
}
