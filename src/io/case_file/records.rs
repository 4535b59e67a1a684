//! What the user wrote down of treated bodies: the list `bodies` of the case file.

use crate::case::document::record::{BodyRecord, lesion_fault};
use crate::io::case_file::fields::{Fault, JsonField, Members};
use crate::measure::mark::{Level, Side};

/// Takes the list out of the file.
pub(super) fn bodies(file: &mut Members<'_>) -> Result<Vec<BodyRecord>, Fault> {
    let mut records: Vec<BodyRecord> = Vec::new();
    for field in file.take("bodies").map(|f| f.elements("bodies")).transpose()?.unwrap_or_default() {
        let record = record(&field)?;
        if records.iter().any(|one| (one.level, one.side) == (record.level, record.side)) {
            let (level, side) = (record.level.name(), record.side.key());
            return Err(field.fault(format!("{level}, {side}, is listed twice; keep one entry")));
        }
        records.push(record);
    }
    Ok(records)
}

fn record(field: &JsonField<'_>) -> Result<BodyRecord, Fault> {
    let mut members = field.members()?;
    let level = level(&members.need("level", "set the level of the body")?)?;
    let side = members.need("side", "write left or right")?.one_of(Side::ALL, Side::key)?;
    let mut record = BodyRecord::new(level, side);
    if let Some(time) = members.take("lesion_s") {
        let seconds = time.number()?;
        if let Some(why) = lesion_fault(seconds) {
            return Err(time.fault(why));
        }
        record.lesion_s = Some(seconds);
    }
    record.remarks = members.take_text("remarks")?;
    record.extra = members.into_extra();
    Ok(record)
}

/// A vertebra by its name.
pub(super) fn level(field: &JsonField<'_>) -> Result<Level, Fault> {
    let name = field.text()?;
    let unknown = || field.fault(format!("“{name}” is not a level; use T1 to T12, L1 to L5 or S1"));
    Level::from_name(&name).ok_or_else(unknown)
}
