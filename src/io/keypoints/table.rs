//! Keypoints as a table: one line for each point.

use std::collections::BTreeMap;

use crate::case::document::proposed::Origin;
use crate::geom::point::Point;
use crate::io::keypoints::columns::COLUMNS;
use crate::io::keypoints::mapping::{LabelWords, Mapping};
use crate::io::keypoints::point::{Keypoint, KeypointShot, point_name};
use crate::io::separated;
use crate::measure::mark::{Level, MarkRef, PatientRight, Side, Stage, View};

/// The table, ending in a line break.
#[must_use]
pub fn text(shots: &[KeypointShot]) -> String {
    let mut table = csv::Writer::from_writer(Vec::new());
    // Every line has the same columns, and writing to memory does not fail.
    let _ = table.write_record(COLUMNS.map(|column| column.name));
    let number = |n: Option<f64>| n.map(|n| n.to_string()).unwrap_or_default();
    let words = |word: Option<&str>| word.unwrap_or_default().to_owned();
    for shot in shots {
        for point in &shot.points {
            let size = |side: fn((u32, u32)) -> u32| shot.size.map(side).map(|n| n.to_string());
            let line: [String; COLUMNS.len()] = [
                shot.case.clone(),
                shot.image.clone(),
                shot.frame.to_string(),
                size(|(columns, _)| columns).unwrap_or_default(),
                size(|(_, rows)| rows).unwrap_or_default(),
                shot.shot.clone(),
                shot.level.map(Level::name).unwrap_or_default(),
                words(shot.side.map(Side::key)),
                words(shot.view.map(View::key)),
                words(shot.stage.map(Stage::key)),
                words(shot.patient_right.map(PatientRight::key)),
                number(shot.mm_per_px),
                number(shot.mm_per_px_sd),
                point_name(point.at),
                point.to.x.to_string(),
                point.to.y.to_string(),
                number(point.sd_mm),
                point.origin.key().to_owned(),
            ];
            let _ = table.write_record(line);
        }
    }
    String::from_utf8(table.into_inner().unwrap_or_default()).unwrap_or_default()
}

/// Shots under way by what tells them apart: case, image, frame, shot, level and side.
type ShotsByKey = BTreeMap<(String, String, u32, String, String, String), KeypointShot>;

/// The shots of a table. Commas, semicolons or tabs between cells, as the heading has them; with semicolons a decimal
/// comma is understood.
pub(super) fn parse(text: &str, mapping: &Mapping) -> Result<Vec<KeypointShot>, String> {
    let (mut reader, decimal_comma) = separated::reader(text);
    let broken = |e: csv::Error| {
        let line = e.position().map_or(0, csv::Position::line);
        format!("line {line}: the table cannot be understood here; save it as CSV in UTF-8")
    };
    let headers = reader.headers().map_err(broken)?.clone();
    let layout = TableLayout::of(&headers, mapping)?;
    let mut order = Vec::new();
    let mut shots = ShotsByKey::new();
    for record in reader.records() {
        let record = record.map_err(broken)?;
        if record.iter().all(str::is_empty) {
            continue;
        }
        let line = record.position().map_or(0, csv::Position::line);
        let at = |text: String| format!("line {line}, {text}");
        let cells = TableCells { record: &record, layout: &layout, decimal_comma };
        let shot = cells.shot(mapping).map_err(at)?;
        let key = (
            shot.case.clone(),
            shot.image.clone(),
            shot.frame,
            shot.shot.clone(),
            shot.level.map(Level::name).unwrap_or_default(),
            shot.side.map(Side::key).unwrap_or_default().to_owned(),
        );
        let points = cells.points(mapping).map_err(at)?;
        let shot = shots.entry(key.clone()).or_insert_with(|| {
            order.push(key);
            shot
        });
        for point in points {
            if shot.points.iter().any(|other| other.at == point.at) {
                return Err(at(format!(
                    "point: “{}” of “{}” is there twice; remove one",
                    point_name(point.at),
                    shot.image
                )));
            }
            shot.points.push(point);
        }
    }
    Ok(order.iter().filter_map(|key| shots.remove(key)).collect())
}

/// Where the columns are.
struct TableLayout {
    by_name: BTreeMap<&'static str, usize>,
    /// One point in each line by these columns, or all of a line by pairs of columns.
    wide: Vec<(MarkRef, usize, usize)>,
}

impl TableLayout {
    fn of(headers: &csv::StringRecord, mapping: &Mapping) -> Result<Self, String> {
        let place = |name: &str| headers.iter().position(|header| header.eq_ignore_ascii_case(name));
        let mut by_name = BTreeMap::new();
        for column in COLUMNS {
            let theirs = mapping.column(column.name);
            match place(theirs.unwrap_or(column.name)) {
                Some(at) => {
                    by_name.insert(column.name, at);
                }
                None if theirs.is_some() => {
                    return Err(format!(
                        "line 1: there is no column “{}”, which the mapping names for “{}”",
                        theirs.unwrap_or_default(),
                        column.name
                    ));
                }
                None => {}
            }
        }
        let need = |name: &str| {
            format!("line 1: there is no column “{name}”; add it, or name the column in a mapping file")
        };
        let mut wide = Vec::new();
        for (point, [x, y]) in mapping.pairs() {
            let at = |name: &str| place(name).ok_or_else(|| need(name));
            wide.push((point, at(x)?, at(y)?));
        }
        let needed: &[&str] = if wide.is_empty() { &["image", "point", "x", "y"] } else { &["image"] };
        match needed.iter().find(|name| !by_name.contains_key(*name)) {
            Some(name) => Err(need(name)),
            None => Ok(Self { by_name, wide }),
        }
    }
}

struct TableCells<'a> {
    record: &'a csv::StringRecord,
    layout: &'a TableLayout,
    decimal_comma: bool,
}

impl TableCells<'_> {
    fn cell(&self, name: &str) -> Option<&str> {
        let at = *self.layout.by_name.get(name)?;
        self.record.get(at).filter(|cell| !cell.is_empty())
    }

    fn number_at(&self, at: usize, name: &str) -> Result<Option<f64>, String> {
        let Some(cell) = self.record.get(at).filter(|cell| !cell.is_empty()) else { return Ok(None) };
        let text = if self.decimal_comma { cell.replace(',', ".") } else { cell.to_owned() };
        match text.parse::<f64>() {
            Ok(number) if number.is_finite() => Ok(Some(number)),
            _ => Err(format!("{name}: “{cell}” is not a number; enter a number or leave the cell empty")),
        }
    }

    fn number(&self, name: &str) -> Result<Option<f64>, String> {
        self.layout.by_name.get(name).map_or(Ok(None), |at| self.number_at(*at, name))
    }

    fn shot(&self, mapping: &Mapping) -> Result<KeypointShot, String> {
        let image = self.cell("image").ok_or("image: the cell is empty; enter the image file")?;
        let frame = match self.number("frame")? {
            None => 0,
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "within the limits")]
            Some(n) if (0.0..=65_535.0).contains(&n) && n.fract().abs() < f64::EPSILON => n as u32,
            Some(n) => return Err(format!("frame: {n} is not a frame number; count frames from 0")),
        };
        let named = LabelWords {
            level: self.cell("level"),
            side: self.cell("side"),
            view: self.cell("view"),
            stage: self.cell("stage"),
            patient_right: self.cell("patient_right"),
        };
        let mut shot = KeypointShot {
            case: self.cell("case").unwrap_or_default().to_owned(),
            image: image.to_owned(),
            frame,
            shot: self.cell("shot").unwrap_or_default().to_owned(),
            mm_per_px: self.number("mm_per_px")?,
            mm_per_px_sd: self.number("mm_per_px_sd")?,
            ..KeypointShot::default()
        };
        mapping.name(&named, &mut shot)?;
        Ok(shot)
    }

    fn points(&self, mapping: &Mapping) -> Result<Vec<Keypoint>, String> {
        let plain = |at, to| Keypoint { at, to, sd_mm: None, sd_px: None, origin: Origin::ByHand };
        if !self.layout.wide.is_empty() {
            let mut points = Vec::new();
            for &(at, x, y) in &self.layout.wide {
                let name = point_name(at);
                // A landmark that was not seen has no numbers.
                if let (Some(x), Some(y)) = (self.number_at(x, &name)?, self.number_at(y, &name)?) {
                    points.push(plain(at, mapping.place(Point::new(x, y))));
                }
            }
            return Ok(points);
        }
        let name = self.cell("point").ok_or("point: the cell is empty; enter the point's name")?;
        let Some(at) = mapping.point(name)? else { return Ok(Vec::new()) };
        let (x, y) = (self.number("x")?, self.number("y")?);
        let (Some(x), Some(y)) = (x, y) else { return Ok(Vec::new()) };
        let sd_mm = self.number("sd_mm")?.filter(|sd| *sd >= 0.0);
        let origin = match self.cell("origin") {
            None => Origin::ByHand,
            Some(key) => Origin::ALL.into_iter().find(|origin| origin.key() == key).unwrap_or(Origin::ByHand),
        };
        Ok(vec![Keypoint { sd_mm, origin, ..plain(at, mapping.place(Point::new(x, y))) }])
    }
}
