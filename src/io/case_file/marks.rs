//! The marks of a shot or of a blind reading, both ways: whole ones under `marks`, begun ones under `partial`.

use std::collections::BTreeMap;

use serde_json::value::RawValue;

use crate::case::document::extra::Extra;
use crate::geom::point::Point;
use crate::io::case_file::fields::{Fault, JsonField, Members};
use crate::io::case_file::text::{Object, points, quoted};
use crate::measure::mark::{MarkKind, Marks};

/// Takes the marks out of an object, whole ones and others; returns them with what is unknown among and beside them.
pub(super) fn marks_of(mut members: Members<'_>) -> Result<(Marks, Extra, Extra), Fault> {
    let mut marks = Marks::new();
    let field = members.need("marks", "write {} where nothing is marked yet")?;
    let marks_extra = read_marks(&field, &mut marks)?;
    let unknown = match members.take("partial") {
        Some(partial) => read_partial(&partial, &mut marks)?,
        None => None,
    };
    let mut extra = members.into_extra();
    if let Some(text) = unknown {
        extra.0.insert("partial".to_owned(), text);
    }
    Ok((marks, marks_extra, extra))
}

/// Reads the object `marks` and returns what is unknown in it.
fn read_marks(field: &JsonField<'_>, marks: &mut Marks) -> Result<Extra, Fault> {
    let mut members = field.members()?;
    for kind in MarkKind::ALL {
        let Some(list) = members.take(kind.key()) else { continue };
        let points: Vec<Option<Point>> =
            list.elements("points")?.iter().map(|p| p.point().map(Some)).collect::<Result<_, _>>()?;
        check_count(&list, kind, points.len())?;
        marks.set(kind, points);
    }
    Ok(members.into_extra())
}

/// Reads the object `partial`; what is unknown in it is returned as the text of an object.
fn read_partial(field: &JsonField<'_>, marks: &mut Marks) -> Result<Option<String>, Fault> {
    let mut members = field.members()?;
    for kind in MarkKind::ALL {
        let Some(list) = members.take(kind.key()) else { continue };
        if !marks.slots(kind).is_empty() {
            return Err(list.fault("the mark is also listed in “marks”; keep one of them"));
        }
        let slot = |p: &JsonField<'_>| if p.is_null() { Ok(None) } else { p.point().map(Some) };
        let slots: Vec<Option<Point>> =
            list.elements("points or null")?.iter().map(slot).collect::<Result<_, _>>()?;
        check_count(&list, kind, slots.len())?;
        marks.set(kind, slots);
    }
    let unknown = members.into_extra();
    let text = || {
        let pair = |(key, raw): (&String, &String)| format!("{}: {raw}", quoted(key));
        format!("{{{}}}", unknown.0.iter().map(pair).collect::<Vec<_>>().join(", "))
    };
    Ok((!unknown.0.is_empty()).then(text))
}

fn check_count(list: &JsonField<'_>, kind: MarkKind, found: usize) -> Result<(), Fault> {
    let most = kind.count().1;
    if found <= most {
        return Ok(());
    }
    let points = if most == 1 { "1 point".to_owned() } else { format!("{most} points") };
    Err(list.fault(format!("has {found} points; the mark has {points}, so remove the others")))
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
