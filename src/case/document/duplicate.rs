//! Shots made from shots: once more with all marks, or for the probe on the other side in the same picture.

use crate::case::document::edit::Edit;
use crate::case::document::{Case, Shot};
use crate::measure::mark::{MarkKind, Material, View};

/// The edit that puts a copy of a shot, marks included, behind it; `None` if there is no such shot. A pairing by
/// hand stays with the first.
#[must_use]
pub fn duplicate(case: &Case, id: &str) -> Option<Edit> {
    let (at, shot) = found(case, id)?;
    let copy = Shot { id: case.free_id(&numbered_from(id)), pair_with: None, ..shot.clone() };
    Some(Edit::AddShot { at: at + 1, shot: Box::new(copy) })
}

/// The edit that puts a shot of the same picture behind one, for the probe that came from the other side: the bone
/// is the same and keeps its marks, the instruments are to be marked. `None` where side or view is not said, and in the
/// view down the pedicle, which shows one side only.
#[must_use]
pub fn for_other_side(case: &Case, id: &str) -> Option<Edit> {
    let (at, shot) = found(case, id)?;
    let side = shot.side?;
    if !shot.view_set || shot.view == View::Pedicle {
        return None;
    }
    let other = side.other();
    let name = if id.contains(side.key()) {
        id.replace(side.key(), other.key())
    } else {
        format!("{id}-{}", other.key())
    };
    let mut copy = Shot { id: case.free_id(&name), side: Some(other), pair_with: None, ..shot.clone() };
    for kind in MarkKind::ALL.into_iter().filter(|kind| kind.material() == Material::Metal) {
        copy.marks.set(kind, Vec::new());
    }
    Some(Edit::AddShot { at: at + 1, shot: Box::new(copy) })
}

/// The other shots of the same picture, level and view that belong to the other side: a frame with both probes.
#[must_use]
pub fn siblings<'a>(case: &'a Case, shot: &Shot) -> Vec<&'a Shot> {
    let same = |other: &&Shot| {
        other.id != shot.id
            && (&other.image, other.frame, other.level, other.known_view())
                == (&shot.image, shot.frame, shot.level, shot.known_view())
            && other.side.is_some()
            && shot.side.is_some()
            && other.side != shot.side
    };
    case.shots.iter().filter(same).collect()
}

fn found<'a>(case: &'a Case, id: &str) -> Option<(usize, &'a Shot)> {
    case.shots.iter().enumerate().find(|(_, shot)| shot.id == id)
}

/// The name that copies are counted from: `a-2` is itself a copy of `a`. Names that end in a number of their own
/// keep it.
fn numbered_from(id: &str) -> String {
    match id.strip_suffix("-copy").or_else(|| id.rsplit_once("-copy-").map(|(base, _)| base)) {
        Some(base) => format!("{base}-copy"),
        None => format!("{id}-copy"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::{Level, Marks, Side};

    fn case() -> Case {
        let mut shot = Shot::new("l4-right-lateral-3", "a.png", View::Lateral);
        (shot.level, shot.side) = (Some(Level::L4), Some(Side::Right));
        shot.pair_with = Some("b".to_owned());
        shot.marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (9.0, 0.0)])
            .with(MarkKind::Tip, &[(4.0, 4.0)])
            .with(MarkKind::Cannula, &[(0.0, 4.0), (3.0, 4.0)]);
        Case { shots: vec![shot, Shot::new("b", "b.png", View::Ap)].into(), ..Case::default() }
    }

    #[test]
    fn a_copy_stands_behind_its_shot_with_all_marks() {
        let mut case = case();
        for name in ["l4-right-lateral-3-copy", "l4-right-lateral-3-copy-2"] {
            case.apply(&duplicate(&case, "l4-right-lateral-3").unwrap()).unwrap();
            assert_eq!(case.shots[1].id, name);
            assert_eq!(case.shots[1].marks, case.shots[0].marks);
            assert_eq!(case.shots[1].pair_with, None);
        }
        let of_copy = duplicate(&case, "l4-right-lateral-3-copy-2").unwrap();
        case.apply(&of_copy).unwrap();
        assert!(case.shot("l4-right-lateral-3-copy-3").is_some());
        assert_eq!(duplicate(&case, "nobody"), None);
    }

    #[test]
    fn the_other_side_keeps_the_bone_and_is_a_sibling() {
        let mut case = case();
        case.apply(&for_other_side(&case, "l4-right-lateral-3").unwrap()).unwrap();
        let other = &case.shots[1];
        assert_eq!((other.id.as_str(), other.side), ("l4-left-lateral-3", Some(Side::Left)));
        assert!(other.marks.complete(MarkKind::SuperiorEndPlate).is_some());
        assert!(other.marks.kinds().all(|kind| kind.material() == Material::Bone));
        assert_eq!(siblings(&case, &case.shots[0]), [other]);
        assert_eq!(siblings(&case, other), [&case.shots[0]]);
        assert!(siblings(&case, &case.shots[2]).is_empty());
        assert_eq!(for_other_side(&case, "b"), None, "its side is not said");
    }
}
