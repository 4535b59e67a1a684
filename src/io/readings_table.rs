//! A table of repeated readings: CSV with the columns `subject`, `rater`, `round` (optional) and `value`.
//!
//! Commas, semicolons or tabs between cells, as the heading has them; with semicolons a decimal comma is understood. An
//! empty cell, `NA` or `-` in `value` is a missing reading.

use std::collections::BTreeMap;
use std::path::Path;

use crate::io::error::{Error, ErrorKind};
use crate::io::files;
use crate::io::separated;
use crate::study::repeatability::Reading;

/// The largest table that is opened, in bytes.
const MAX_BYTES: u64 = 64_000_000;

/// Opens such a table.
///
/// # Errors
/// One sentence that names the file, the line and the column.
pub fn open_readings(path: &Path) -> Result<Vec<Reading>, Error> {
    readings_of(path, &files::read(path, MAX_BYTES)?)
}

/// The same for bytes that are already in memory; `path` is for sentences only.
///
/// # Errors
/// As [`open_readings`].
pub fn readings_of(path: &Path, bytes: &[u8]) -> Result<Vec<Reading>, Error> {
    parse(bytes).map_err(|text| Error::new(ErrorKind::Damaged, path, text))
}

/// Places of the columns.
struct ColumnPlaces {
    subject: usize,
    rater: usize,
    round: Option<usize>,
    value: usize,
}

fn parse(bytes: &[u8]) -> Result<Vec<Reading>, String> {
    let text = std::str::from_utf8(bytes)
        .map_err(|_not_text| "it is not text in UTF-8; save the table as CSV in UTF-8".to_owned())?;
    let text = text.trim_start_matches('\u{feff}');
    let (mut reader, decimal_comma) = separated::reader(text);
    let headers = reader.headers().map_err(|e| said(&e))?.clone();
    let columns = columns(&headers)?;
    let mut readings = Vec::new();
    let mut counted: BTreeMap<(String, String), usize> = BTreeMap::new();
    let mut seen: BTreeMap<(String, String, String), u64> = BTreeMap::new();
    for record in reader.records() {
        let record = record.map_err(|e| said(&e))?;
        let line = record.position().map_or(0, csv::Position::line);
        let cell = |at: usize| record.get(at).unwrap_or_default();
        if record.iter().all(str::is_empty) {
            continue;
        }
        let name = |at: usize, column: &str| {
            let found = cell(at);
            if found.is_empty() {
                Err(format!("line {line}, {column}: the cell is empty; enter the {column}"))
            } else {
                Ok(found.to_owned())
            }
        };
        let (subject, rater) = (name(columns.subject, "subject")?, name(columns.rater, "rater")?);
        let round = match columns.round {
            Some(at) => name(at, "round")?,
            // Without the column, repeated lines of one subject and rater are rounds in their order.
            None => {
                let n = counted.entry((subject.clone(), rater.clone())).or_default();
                *n += 1;
                n.to_string()
            }
        };
        let key = (subject.clone(), rater.clone(), round.clone());
        if let Some(first) = seen.insert(key, line) {
            return Err(format!(
                "line {line}: subject “{subject}”, rater “{rater}”, round “{round}” is already in line {first}; remove one or give it another round"
            ));
        }
        let value = number(cell(columns.value), decimal_comma).map_err(|found| {
            format!("line {line}, value: “{found}” is not a number; enter a number, or leave the cell empty if there is none")
        })?;
        readings.push(Reading { subject, rater, round, value });
    }
    if readings.is_empty() {
        return Err("there are no readings below the heading; add a line for each reading".to_owned());
    }
    Ok(readings)
}

fn columns(headers: &csv::StringRecord) -> Result<ColumnPlaces, String> {
    let at = |name: &str| headers.iter().position(|header| header.eq_ignore_ascii_case(name));
    let need = |name: &str| {
        at(name).ok_or_else(|| {
            format!("line 1: there is no column “{name}”; the heading must be subject,rater,round,value (round may be omitted)")
        })
    };
    Ok(ColumnPlaces {
        subject: need("subject")?,
        rater: need("rater")?,
        round: at("round"),
        value: need("value")?,
    })
}

fn number(cell: &str, decimal_comma: bool) -> Result<Option<f64>, String> {
    if cell.is_empty() || cell == "-" || cell.eq_ignore_ascii_case("na") {
        return Ok(None);
    }
    let plain = if decimal_comma { cell.replace(',', ".") } else { cell.to_owned() };
    match plain.replace('−', "-").parse::<f64>() {
        // Squares of larger numbers would not be finite.
        Ok(value) if value.abs() <= 1e100 => Ok(Some(value)),
        _ => Err(cell.chars().take(40).collect()),
    }
}

fn said(error: &csv::Error) -> String {
    let line = error.position().map_or(String::new(), |at| format!("line {}: ", at.line()));
    format!("{line}the table cannot be read; save it as CSV in UTF-8")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn commas_semicolons_and_missing_cells() {
        let table = parse(b"\xef\xbb\xbfSubject;Rater;Value\na;x;1,5\na;x;2,5\nb;x;NA\n").unwrap();
        assert_eq!(table.len(), 3);
        assert_eq!((table[0].value, table[1].round.as_str(), table[2].value), (Some(1.5), "2", None));
        let table = parse(b"subject,rater,round,value\na,x,2,-1e-3\n\nb,x,2,\n").unwrap();
        assert_eq!((table[0].value, table[1].value), (Some(-1e-3), None));
    }

    #[test]
    fn what_is_wrong_is_named_with_its_line() {
        let fault = |text: &str| parse(text.as_bytes()).unwrap_err();
        assert!(fault("subject,value\na,1\n").contains("no column “rater”"));
        assert!(fault("subject,rater,value\na,x,high\n").starts_with("line 2, value: “high”"));
        assert!(fault("subject,rater,value\na,x,inf\n").contains("not a number"));
        assert!(fault("subject,rater,value\n,x,1\n").starts_with("line 2, subject"));
        assert!(fault("subject,rater,round,value\na,x,1,1\na,x,1,2\n").starts_with("line 3"));
        assert!(fault("subject,rater,value\n").contains("no readings"));
        assert!(parse(&[0xff, 0xfe, 0]).unwrap_err().contains("UTF-8"));
    }
}
