//! Labels to and from the case file: one object each, its kind first, on a line of its own.
//!
//! A label of a kind that is not known here, or that does not say its kind, is kept word for word.

use crate::case::annotation::{Corner, Label, LabelKind, LabelShape, MAX_LABELS, USUAL_TIMES};
use crate::io::case_file::fields::{Fault, JsonField};
use crate::io::case_file::text::{number, points, quoted};

/// The labels of a shot.
pub(super) fn read(field: &JsonField<'_>) -> Result<Vec<Label>, Fault> {
    let all = field.elements("labels")?;
    if all.len() > MAX_LABELS {
        let found = all.len();
        return Err(field.fault(format!(
            "has {found} annotations; a shot can have at most {MAX_LABELS}, so remove the others"
        )));
    }
    all.iter().map(label).collect()
}

fn label(field: &JsonField<'_>) -> Result<Label, Fault> {
    let mut members = field.members()?;
    let word = members.take("kind").map(|kind| kind.text()).transpose()?;
    let Some(kind) = LabelKind::ALL.into_iter().find(|kind| word.as_deref() == Some(kind.key())) else {
        return Ok(Label::unknown(field.raw()));
    };
    let list = members.need("points", "write the annotation points")?;
    let places = list.elements("points")?.iter().map(JsonField::point).collect::<Result<Vec<_>, _>>()?;
    let mut label = Label::new(kind, places);
    if let LabelShape::Known { round, corner, times, .. } = &mut label.drawn {
        if let Some(field) = members.take("round") {
            *round = field.truth()?;
        }
        if let Some(field) = members.take("corner") {
            *corner = field.one_of(Corner::ALL, Corner::key)?;
        }
        if let Some(field) = members.take("times") {
            *times = field.number()?;
        }
    }
    label.text = members.take_text("text")?.unwrap_or_default();
    label.text_at = members.take("text_at").map(|at| at.point()).transpose()?;
    label.extra = members.into_extra();
    label.fault().map_or(Ok(label), |why| Err(field.fault(why)))
}

/// A label as an object on one line.
pub(super) fn text(label: &Label) -> String {
    let (kind, places, round, corner, times) = match &label.drawn {
        LabelShape::Unknown(raw) => return raw.clone(),
        LabelShape::Known { kind, points, round, corner, times } => (kind, points, round, corner, times),
    };
    let slots: Vec<_> = places.iter().copied().map(Some).collect();
    let mut members = vec![("kind", quoted(kind.key())), ("points", points(&slots))];
    if *round {
        members.push(("round", "true".to_owned()));
    }
    if *kind == LabelKind::Inset {
        members.push(("corner", quoted(corner.key())));
        if *times != USUAL_TIMES {
            members.push(("times", number(*times)));
        }
    }
    if !label.text.is_empty() {
        members.push(("text", quoted(&label.text)));
    }
    if let Some(at) = label.text_at {
        members.push(("text_at", format!("[{}, {}]", number(at.x), number(at.y))));
    }
    let known: Vec<_> = members.iter().map(|(key, _)| *key).collect();
    let extra = label.extra.0.iter().filter(|(key, _)| !known.contains(&key.as_str()));
    let all = members.iter().map(|(key, text)| (*key, text.as_str()));
    let lines: Vec<_> = all
        .chain(extra.map(|(key, text)| (key.as_str(), text.as_str())))
        .map(|(key, text)| format!("{}: {text}", quoted(key)))
        .collect();
    format!("{{ {} }}", lines.join(", "))
}
