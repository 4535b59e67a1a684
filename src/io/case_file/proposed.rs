//! Which points were proposed by the program, and how sure it was, both ways: `proposed` and `mark_sd_mm` of a shot.

use std::collections::BTreeMap;

use crate::case::document::proposed::{MarkSd, ProposedMarks};
use crate::io::case_file::fields::{Fault, JsonField, Members};
use crate::io::case_file::text::{Object, number};
use crate::measure::mark::MarkKind;

/// Takes both keys out of a shot.
pub(super) fn take(members: &mut Members<'_>) -> Result<ProposedMarks, Fault> {
    let mut flags = BTreeMap::new();
    if let Some(field) = members.take("proposed") {
        for_each_mark(&field, |kind, list| {
            let truths: Vec<bool> =
                list.elements("true or false")?.iter().map(JsonField::truth).collect::<Result<_, _>>()?;
            flags.insert(kind, truths);
            Ok(())
        })?;
    }
    let mut sds = BTreeMap::new();
    if let Some(field) = members.take("mark_sd_mm") {
        for_each_mark(&field, |kind, sd| {
            sds.insert(kind, mark_sd(sd)?);
            Ok(())
        })?;
    }
    Ok(ProposedMarks::from_parts(flags, sds))
}

fn for_each_mark(
    field: &JsonField<'_>,
    mut each: impl FnMut(MarkKind, &JsonField<'_>) -> Result<(), Fault>,
) -> Result<(), Fault> {
    let mut members = field.members()?;
    for kind in MarkKind::ALL {
        if let Some(value) = members.take(kind.key()) {
            each(kind, &value)?;
        }
    }
    Ok(())
}

fn mark_sd(field: &JsonField<'_>) -> Result<MarkSd, Fault> {
    let mut members = field.members()?;
    let across =
        members.need("across", "write the standard deviation across the border in millimeters")?.number()?;
    let common = members.take("common").map(|f| f.number()).transpose()?.unwrap_or(0.0);
    let along = members.take("along").map(|f| f.number()).transpose()?;
    let sd = MarkSd { across, common, along };
    sd.fault().map_or(Ok(sd), |why| Err(field.fault(why)))
}

/// Puts both keys into a shot whose members stand at `level`.
pub(super) fn put(members: &mut Object, level: usize, proposed: &ProposedMarks) {
    if proposed.is_empty() {
        return;
    }
    let (mut flags, mut sds) = (Object::at(level), Object::at(level));
    for (kind, points) in proposed.flags() {
        let texts: Vec<&str> = points.iter().map(|&p| if p { "true" } else { "false" }).collect();
        flags.put(kind.key(), format!("[{}]", texts.join(", ")));
        if let Some(sd) = proposed.sd(kind) {
            let along = sd.along.map_or(String::new(), |along| format!(", \"along\": {}", number(along)));
            sds.put(
                kind.key(),
                format!("{{ \"across\": {}, \"common\": {}{along} }}", number(sd.across), number(sd.common)),
            );
        }
    }
    members.put("proposed", flags.end());
    if !sds.is_empty() {
        members.put("mark_sd_mm", sds.end());
    }
}
