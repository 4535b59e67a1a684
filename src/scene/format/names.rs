//! What views, stages, sides, shots and marks are called.

use crate::case::document::proposed::Origin;
use crate::measure::mark::{Level, MarkKind, MarkRef, PatientRight, Side, Stage, View};

/// A view's name.
#[must_use]
pub const fn view(view: View) -> &'static str {
    match view {
        View::Lateral => "lateral",
        View::Ap => "AP",
        View::Pedicle => "en face pedicle",
    }
}

/// Where a mark comes from; `None` where nothing need be said: a person placed it.
#[must_use]
pub const fn origin(origin: Origin) -> Option<&'static str> {
    match origin {
        Origin::ByHand => None,
        Origin::Proposed => Some("proposed"),
        Origin::Moved => Some("proposed, moved"),
    }
}

/// A stage's name.
#[must_use]
pub const fn stage(stage: Stage) -> &'static str {
    match stage {
        Stage::Docking => "docking",
        Stage::Pedicle => "transpedicular",
        Stage::PosteriorWall => "at the posterior wall",
        Stage::Stylet => "stylet",
        Stage::Final => "final",
    }
}

/// A side's name.
#[must_use]
pub const fn side(side: Side) -> &'static str {
    match side {
        Side::Left => "left",
        Side::Right => "right",
    }
}

/// Which side of the picture is the patient's right, in words.
#[must_use]
pub const fn patient_right(right: PatientRight) -> &'static str {
    match right {
        PatientRight::ImageLeft => "patient's right is on image left",
        PatientRight::ImageRight => "patient's right is on image right",
    }
}

/// A body entered from a side: `L4, patient's right`.
#[must_use]
pub fn body(level: Level, from: Side) -> String {
    format!("{}, patient's {}", level.name(), side(from))
}

/// What is said in place of a view that nobody has set.
pub const VIEW_NOT_SET: &str = "view not set";

/// What a shot shows: `L4 right, lateral, final`; what is not known is left out, but for the view, of which it is said.
#[must_use]
pub fn shot(level: Option<Level>, from: Option<Side>, seen: Option<View>, at: Option<Stage>) -> String {
    let body = match (level, from) {
        (Some(level), Some(from)) => Some(format!("{} {}", level.name(), side(from))),
        (Some(level), None) => Some(level.name()),
        (None, Some(from)) => Some(side(from).to_owned()),
        (None, None) => None,
    };
    let parts = [body, Some(seen.map_or(VIEW_NOT_SET, view).to_owned()), at.map(|s| stage(s).to_owned())];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// What a matched pair shows: `L4 right, final: lateral and AP together`.
#[must_use]
pub fn pair(level: Option<Level>, from: Option<Side>, at: Option<Stage>) -> String {
    let body = [level.map(Level::name), from.map(|s| side(s).to_owned())];
    let body = body.into_iter().flatten().collect::<Vec<_>>().join(" ");
    let parts = [Some(body).filter(|b| !b.is_empty()), at.map(|s| stage(s).to_owned())];
    let what = parts.into_iter().flatten().collect::<Vec<_>>().join(", ");
    if what.is_empty() {
        "Lateral and AP combined".to_owned()
    } else {
        format!("{what}: lateral and AP combined")
    }
}

/// A mark's name: `superior end plate`.
#[must_use]
pub const fn mark(kind: MarkKind) -> &'static str {
    match kind {
        MarkKind::SuperiorEndPlate => "superior endplate",
        MarkKind::InferiorEndPlate => "inferior endplate",
        MarkKind::PosteriorWall => "posterior wall",
        MarkKind::AnteriorWall => "anterior wall",
        MarkKind::RightWall => "right wall",
        MarkKind::LeftWall => "left wall",
        MarkKind::SuperiorEndPlateSecond => "second contour of the superior endplate",
        MarkKind::InferiorEndPlateSecond => "second contour of the inferior endplate",
        MarkKind::PosteriorWallSecond => "second contour of the posterior wall",
        MarkKind::AnteriorWallSecond => "second contour of the anterior wall",
        MarkKind::RightWallSecond => "second contour of the right wall",
        MarkKind::LeftWallSecond => "second contour of the left wall",
        MarkKind::RightPedicle => "right pedicle",
        MarkKind::LeftPedicle => "left pedicle",
        MarkKind::SpinousProcess => "spinous process",
        MarkKind::Pedicle => "pedicle",
        MarkKind::Tip => "tip",
        MarkKind::Cannula => "cannula",
        MarkKind::Electrodes => "electrodes",
    }
}

/// One point of a mark by name: `posterior-superior corner`. `slots` is how many points the mark has or is to
/// have, so that the last of an end plate is known from one in between.
#[must_use]
pub fn mark_point(at: MarkRef, seen: View, slots: usize) -> String {
    let last = at.index + 1 >= slots.max(at.kind.count().0);
    let name = mark(at.kind);
    match at.kind {
        MarkKind::SuperiorEndPlate | MarkKind::InferiorEndPlate => {
            let upper = matches!(at.kind, MarkKind::SuperiorEndPlate);
            let which = if upper { "superior" } else { "inferior" };
            match (at.index, last, seen) {
                (0, _, View::Lateral) => format!("posterior-{which} corner"),
                (_, true, View::Lateral) => format!("anterior-{which} corner"),
                (0, _, _) => format!("{name}, first end"),
                (_, true, _) => format!("{name}, other end"),
                _ => format!("{name}, point {} between the ends", at.index),
            }
        }
        MarkKind::PosteriorWall | MarkKind::AnteriorWall | MarkKind::RightWall | MarkKind::LeftWall => {
            format!("{name}, point {}", at.index + 1)
        }
        MarkKind::RightPedicle | MarkKind::LeftPedicle => {
            format!("{name}, {} border", if at.index == 0 { "lateral" } else { "medial" })
        }
        MarkKind::SpinousProcess => format!("{name}, {} border", if at.index == 0 { "one" } else { "other" }),
        MarkKind::Pedicle => {
            let which =
                ["superior", "inferior", "medial", "lateral"].get(at.index).copied().unwrap_or("further");
            format!("pedicle, {which} border")
        }
        MarkKind::Tip => match seen {
            View::Pedicle => "docking point".to_owned(),
            View::Lateral | View::Ap => "tip".to_owned(),
        },
        MarkKind::Cannula => {
            if last {
                "cannula tip (distal opening)".to_owned()
            } else if at.index == 0 {
                "proximal cannula shaft".to_owned()
            } else {
                format!("cannula, point {} between the ends", at.index)
            }
        }
        MarkKind::Electrodes => {
            if at.index == 0 {
                "proximal electrode".to_owned()
            } else {
                "distal electrode".to_owned()
            }
        }
        _ => format!("{name}, point {}", at.index + 1),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn corners_have_names() {
        let at = |kind, index| MarkRef { kind, index };
        let name = |kind, index, slots| mark_point(at(kind, index), View::Lateral, slots);
        assert_eq!(name(MarkKind::SuperiorEndPlate, 0, 3), "posterior-superior corner");
        assert_eq!(name(MarkKind::SuperiorEndPlate, 1, 3), "superior endplate, point 1 between the ends");
        assert_eq!(name(MarkKind::SuperiorEndPlate, 2, 3), "anterior-superior corner");
        assert_eq!(name(MarkKind::InferiorEndPlate, 1, 0), "anterior-inferior corner");
        assert_eq!(name(MarkKind::Cannula, 1, 2), "cannula tip (distal opening)");
        assert_eq!(
            mark_point(at(MarkKind::SuperiorEndPlate, 1), View::Ap, 2),
            "superior endplate, other end"
        );
        assert_eq!(mark_point(at(MarkKind::Tip, 0), View::Pedicle, 1), "docking point");
    }

    #[test]
    fn shots_are_named_by_what_is_known() {
        assert_eq!(
            shot(Some(Level::L4), Some(Side::Right), Some(View::Lateral), Some(Stage::Final)),
            "L4 right, lateral, final"
        );
        assert_eq!(shot(None, None, Some(View::Ap), None), "AP");
        assert_eq!(shot(Some(Level::L4), None, None, Some(Stage::Final)), "L4, view not set, final");
        assert_eq!(
            pair(Some(Level::L4), Some(Side::Left), Some(Stage::Final)),
            "L4 left, final: lateral and AP combined"
        );
        assert_eq!(pair(None, None, None), "Lateral and AP combined");
    }
}
