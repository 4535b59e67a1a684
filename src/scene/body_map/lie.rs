//! How the stills of a body lie: on which side of them the posterior wall and the patient's right are, so that a drawing of
//! the body lies as its stills do.

use crate::case::document::Shot;
use crate::measure::mark::{MarkKind, PatientRight, View};
use crate::scene::body_map::Posterior;

/// How most of some stills lie, and whether others lie the other way round.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Lie {
    /// Where the posterior wall is, as far as a lateral tells.
    pub posterior: Option<Posterior>,
    /// Where the patient's right is, as far as an AP tells.
    pub patient_right: Option<PatientRight>,
    /// Whether laterals differ among themselves, and APs.
    pub differ: [bool; 2],
}

impl Lie {
    /// How these stills lie; `right` is where the case says the patient's right is.
    #[must_use]
    pub fn of<'a>(shots: impl IntoIterator<Item = &'a Shot>, right: Option<PatientRight>) -> Self {
        let (mut walls, mut rights) = (Vec::new(), Vec::new());
        for shot in shots {
            match shot.view {
                View::Lateral => walls.extend(posterior(shot)),
                View::Ap => rights.extend(shot.patient_right.or_else(|| by_pedicles(shot)).or(right)),
                View::Pedicle => {}
            }
        }
        Self {
            posterior: most(&walls),
            patient_right: most(&rights).or(right),
            differ: [differ(&walls), differ(&rights)],
        }
    }

    /// What is to be said of drawings that lie as most of the stills do, where not all do.
    #[must_use]
    pub fn sentences(&self) -> Vec<String> {
        let mut said = Vec::new();
        if let (true, Some(wall)) = (self.differ[0], self.posterior) {
            let side = if wall == Posterior::Left { "left" } else { "right" };
            said.push(format!(
                "The lateral stills lie both ways round; the drawings have posterior on the {side}."
            ));
        }
        if let (true, Some(right)) = (self.differ[1], self.patient_right) {
            let side = if right == PatientRight::ImageLeft { "left" } else { "right" };
            said.push(format!(
                "The AP stills lie both ways round; the drawings have the patient's right on the {side}."
            ));
        }
        said
    }
}

/// Where the posterior wall of a marked lateral is: endplates are marked from posterior to anterior.
fn posterior(shot: &Shot) -> Option<Posterior> {
    [MarkKind::SuperiorEndPlate, MarkKind::InferiorEndPlate].into_iter().find_map(|kind| {
        let points = shot.marks.complete(kind)?;
        let (first, last) = (points.first()?, points.last()?);
        Some(if first.x <= last.x { Posterior::Left } else { Posterior::Right })
    })
}

fn by_pedicles(shot: &Shot) -> Option<PatientRight> {
    let middle = |kind| {
        let points = shot.marks.complete(kind)?;
        Some(points.iter().map(|p| p.x).sum::<f64>())
    };
    let (right, left) = (middle(MarkKind::RightPedicle)?, middle(MarkKind::LeftPedicle)?);
    Some(if right <= left { PatientRight::ImageLeft } else { PatientRight::ImageRight })
}

/// The one that is there most often, the first of them where two are there as often.
fn most<T: Copy + PartialEq>(all: &[T]) -> Option<T> {
    let count = |one: &T| all.iter().filter(|other| *other == one).count();
    all.iter().copied().rev().max_by_key(count)
}

fn differ<T: PartialEq>(all: &[T]) -> bool {
    all.windows(2).any(|two| matches!(two, [a, b] if a != b))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lateral(id: &str, from: f64, to: f64) -> Shot {
        let mut shot = Shot::new(id, "a.png", View::Lateral);
        shot.marks = shot.marks.with(MarkKind::SuperiorEndPlate, &[(from, 10.0), (to, 11.0)]);
        shot
    }

    #[test]
    fn drawings_lie_as_most_stills_do_and_say_where_others_differ() {
        let (left, right) = (lateral("a", 10.0, 90.0), lateral("b", 90.0, 10.0));
        let same = Lie::of([&right, &right], None);
        assert_eq!((same.posterior, same.sentences()), (Some(Posterior::Right), Vec::new()));
        let mixed = Lie::of([&left, &right, &right], None);
        assert_eq!(mixed.posterior, Some(Posterior::Right));
        assert!(mixed.sentences()[0].contains("posterior on the right"));
        assert_eq!(Lie::of([&left, &right], None).posterior, Some(Posterior::Left), "the first");
        assert_eq!(Lie::of([], Some(PatientRight::ImageRight)).patient_right, Some(PatientRight::ImageRight));
    }

    #[test]
    fn pedicles_tell_where_the_right_is() {
        let mut ap = Shot::new("a", "a.png", View::Ap);
        ap.marks = ap
            .marks
            .with(MarkKind::RightPedicle, &[(80.0, 5.0), (70.0, 5.0)])
            .with(MarkKind::LeftPedicle, &[(20.0, 5.0), (30.0, 5.0)]);
        assert_eq!(Lie::of([&ap], None).patient_right, Some(PatientRight::ImageRight));
        ap.patient_right = Some(PatientRight::ImageLeft);
        assert_eq!(Lie::of([&ap], None).patient_right, Some(PatientRight::ImageLeft));
    }
}
