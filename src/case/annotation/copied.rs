//! Labels on their way to another shot: by the body map, so that "posterior third" lands on the posterior third there.

use crate::case::annotation::{Label, LabelKind, LabelShape, MAX_LABELS};
use crate::case::document::{Case, Shot};
use crate::case::readings::body_map::body_map;
use crate::geom::point::Point;
use crate::measure::body::BodyMap;

/// Labels as they stand on another shot.
#[derive(Clone, Debug, PartialEq)]
pub struct Carried {
    /// The other shot's labels with the carried ones behind them.
    pub labels: Vec<Label>,
    /// How many were carried.
    pub count: usize,
    /// What the user should know of it: one sentence each.
    pub notes: Vec<String>,
}

/// The labels at these places of one shot, put on another behind its own. Every point goes to the place of the body
/// there that it shows here. Where a shot has no body map, labels keep their places in the picture, and a note says
/// so; a label of which a point lies too far from the body is left behind.
///
/// # Errors
/// A sentence that says why nothing can be carried.
pub fn carried(case: &Case, from: &Shot, chosen: &[usize], to: &Shot) -> Result<Carried, String> {
    if from.id == to.id {
        return Err("The annotations are already on this shot.".to_owned());
    }
    if let Some(open) = [from, to].into_iter().find(|shot| !shot.view_set) {
        return Err(format!("The view of “{}” is not set; set it before annotations are copied.", open.id));
    }
    if from.view != to.view {
        return Err(format!(
            "“{}” and “{}” are different views, so annotations cannot be copied between them; select a shot of the same view.",
            to.id, from.id
        ));
    }
    let maps = (body_map(case, from), body_map(case, to));
    let mut labels = to.labels.clone();
    let mut notes = Vec::new();
    let mut left_behind = Vec::new();
    let chosen: Vec<&Label> = chosen.iter().filter_map(|&i| from.labels.get(i)).collect();
    for &label in &chosen {
        let moved = match &maps {
            (Some(here), Some(there)) => through(label, here, there),
            _ => Some(label.clone()),
        };
        match moved.filter(|moved| moved.fault().is_none()) {
            Some(moved) => labels.push(moved),
            None => left_behind.push(named(label)),
        }
    }
    let without = match &maps {
        (None, _) => Some(&from.id),
        (_, None) => Some(&to.id),
        _ => None,
    };
    if let Some(id) = without {
        notes.push(format!(
            "No body is marked on “{id}”, so the annotations keep their positions in the image; check and move them."
        ));
    }
    if !left_behind.is_empty() {
        notes.push(format!("Too far from the body to be copied: {}.", left_behind.join(", ")));
    }
    let count = labels.len() - to.labels.len();
    if labels.len() > MAX_LABELS {
        return Err(format!("“{}” would have more than {MAX_LABELS} annotations; remove some first.", to.id));
    }
    if count == 0 {
        return Err(notes.pop().unwrap_or_else(|| "There is no annotation to copy.".to_owned()));
    }
    Ok(Carried { labels, count, notes })
}

fn named(label: &Label) -> String {
    let words = label.words();
    if words.is_empty() {
        label.kind().map_or("label", LabelKind::name).to_lowercase()
    } else {
        format!("“{words}”")
    }
}

/// A label with every point where the other body has the same place; words that have no place there find one.
fn through(label: &Label, here: &BodyMap, there: &BodyMap) -> Option<Label> {
    let carry = |p: Point| here.to_body(p).map(|at| there.to_image(at)).filter(|p| p.is_finite());
    let mut moved = label.clone();
    let LabelShape::Known { points, .. } = &mut moved.drawn else { return None };
    for point in points.iter_mut() {
        *point = carry(*point)?;
    }
    moved.text_at = label.text_at.and_then(carry);
    Some(moved)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::{MarkKind, Marks, View};

    /// A body of this size with its posterior superior corner here, posterior wall on the left or the right.
    fn shot(id: &str, x: f64, wide: f64, high: f64) -> Shot {
        let mut shot = Shot::new(id, "x.png", View::Lateral);
        shot.marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(x, 10.0), (x + wide, 10.0)])
            .with(MarkKind::InferiorEndPlate, &[(x, 10.0 + high), (x + wide, 10.0 + high)]);
        shot
    }

    #[test]
    fn a_place_of_the_body_stays_that_place_on_a_mirrored_and_larger_one() {
        let mut from = shot("a", 0.0, 90.0, 60.0);
        // A third of the depth and half of the height.
        from.labels =
            vec![Label::new(LabelKind::Text, vec![Point::new(30.0, 40.0)]).saying("posterior third")];
        let to = shot("b", 400.0, -180.0, 120.0);
        let case = Case { shots: vec![from.clone(), to.clone()].into(), ..Case::default() };
        let carried = carried(&case, &from, &[0], &to).unwrap();
        assert!(carried.labels[0].points()[0].distance(Point::new(340.0, 70.0)) < 1e-8);
        assert!(carried.notes.is_empty());
    }

    #[test]
    fn without_a_body_labels_keep_their_places_and_a_sentence_says_so() {
        let mut from = shot("a", 0.0, 90.0, 60.0);
        from.labels = vec![Label::new(LabelKind::Text, vec![Point::new(30.0, 40.0)]).saying("tip")];
        let bare = Shot::new("b", "x.png", View::Lateral);
        let case = Case { shots: vec![from.clone(), bare.clone()].into(), ..Case::default() };
        let carried_there = carried(&case, &from, &[0], &bare).unwrap();
        assert_eq!(carried_there.labels, from.labels);
        assert!(carried_there.notes[0].contains("No body is marked on “b”"), "{:?}", carried_there.notes);
        let front = Shot::new("c", "x.png", View::Ap);
        assert!(carried(&case, &from, &[0], &front).unwrap_err().contains("different views"));
    }

    #[test]
    fn what_lies_too_far_from_the_body_is_left_behind_by_name() {
        let mut from = shot("a", 0.0, 90.0, 60.0);
        from.labels = vec![
            Label::new(LabelKind::Text, vec![Point::new(900.0, 40.0)]).saying("skin"),
            Label::new(LabelKind::Number, vec![Point::new(45.0, 40.0)]).saying("middle"),
        ];
        let to = shot("b", 400.0, 180.0, 120.0);
        let case = Case { shots: vec![from.clone(), to.clone()].into(), ..Case::default() };
        let found = carried(&case, &from, &[0, 1], &to).unwrap();
        assert_eq!((found.count, found.notes.len()), (1, 1));
        assert!(found.notes[0].contains("“skin”"));
        assert!(carried(&case, &from, &[0], &to).is_err());
    }
}
