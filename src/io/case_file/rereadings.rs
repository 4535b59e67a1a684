//! Rounds of blind readings in a case file of version 1, read and written.

use crate::case::document::rereading::{Progress, Reread, Rereading};
use crate::io::case_file::fields::{Fault, JsonField};
use crate::io::case_file::marks::{marks_of, put_marks};
use crate::io::case_file::text::{Object, list, quoted};

/// The list `rereadings`. No operator has the same round twice, and no round the same shot twice.
pub(super) fn rounds(field: &JsonField<'_>) -> Result<Vec<Rereading>, Fault> {
    let mut rounds: Vec<Rereading> = Vec::new();
    for element in field.elements("rounds")? {
        let one = round(&element)?;
        if rounds.iter().any(|other| other.operator == one.operator && other.round == one.round) {
            let text = format!(
                "session {} of “{}” is listed twice; give one of them another number",
                one.round, one.operator
            );
            return Err(element.fault(text));
        }
        rounds.push(one);
    }
    Ok(rounds)
}

fn round(field: &JsonField<'_>) -> Result<Rereading, Fault> {
    let mut members = field.members()?;
    let operator = members.need("operator", "give a short code for the reader")?.text()?;
    let round = members.need("round", "write the session number of this reader, from 1")?;
    let too_large = || round.fault("is too large for a session number");
    let number = u32::try_from(round.whole_number()?).ok().ok_or_else(too_large)?;
    let seed = members.take("seed").map(|seed| seed.whole_number()).transpose()?.unwrap_or(0);
    let mut readings: Vec<Reread> = Vec::new();
    for element in members.need("readings", "write a list of readings")?.elements("readings")? {
        let one = reading(&element)?;
        if readings.iter().any(|other| other.shot == one.shot) {
            return Err(element.fault(format!("the shot “{}” is listed twice; keep one entry", one.shot)));
        }
        readings.push(one);
    }
    let one = Rereading { operator, round: number, seed, readings, extra: members.into_extra() };
    one.fault().map_or(Ok(()), |why| Err(field.fault(why)))?;
    Ok(one)
}

fn reading(field: &JsonField<'_>) -> Result<Reread, Fault> {
    let mut members = field.members()?;
    let shot = members.need("shot", "give the id of the shot")?.text()?;
    let progress = members.take("state").map(|f| f.one_of(Progress::ALL, Progress::key)).transpose()?;
    let (marks, marks_extra, extra) = marks_of(members)?;
    Ok(Reread { shot, progress: progress.unwrap_or_default(), marks, extra, marks_extra })
}

/// One round as text.
pub(super) fn text(round: &Rereading) -> String {
    let mut members = Object::at(2);
    members.put("operator", quoted(&round.operator));
    members.put("round", round.round.to_string());
    members.put("seed", round.seed.to_string());
    members.put("readings", list(3, round.readings.iter().map(reading_text).collect()));
    members.put_extra(&round.extra);
    members.end()
}

fn reading_text(reading: &Reread) -> String {
    let mut members = Object::at(4);
    members.put("shot", quoted(&reading.shot));
    members.put("state", quoted(reading.progress.key()));
    let extra = put_marks(&mut members, 5, &reading.marks, &reading.marks_extra, &reading.extra);
    members.put_extra(&extra);
    members.end()
}
