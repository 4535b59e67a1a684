//! How an AP shot lies: which border is which, and which side of the picture is the patient's right.

use crate::geom::segment::cross;
use crate::measure::body::BodyMap;
use crate::measure::issue::{Issue, IssueCode};
use crate::measure::mark::{MarkKind, Marks, PatientRight, Side};
use crate::measure::marked::{BorderMarks, MarkedBody, missing};
use crate::measure::placement::Placing;

/// What is known of the sides.
pub(super) type KnownSides = Result<PatientRight, Issue>;

/// The body from the entry side, or from left to right in the picture where the sides are not known.
pub(super) fn orient(
    marks: &Marks,
    side: Option<Side>,
    patient_right: Option<PatientRight>,
    mm_per_px: Option<f64>,
    placing: Placing<'_>,
) -> Result<(MarkedBody, KnownSides), Issue> {
    if let Some(issue) = missing(marks, &[MarkKind::SuperiorEndPlate, MarkKind::InferiorEndPlate]) {
        return Err(issue);
    }
    let mut plan = BorderPlan::left_to_right(marks);
    let body = plan.body(mm_per_px, placing)?;
    let sides = sides(marks, &body.map, patient_right).and_then(|right| match side {
        Some(side) => Ok((right, side)),
        None => Err(Issue::new(
            IssueCode::SideUnknown,
            "The entry side is not set, so only the height is read; set whether the left or the right pedicle was entered.",
        )),
    });
    let (right, side) = match sides {
        Ok(known) => known,
        Err(issue) => return Ok((body, Err(issue))),
    };
    let entry_on_left = (right == PatientRight::ImageLeft) == (side == Side::Right);
    if entry_on_left {
        return Ok((body, Ok(right)));
    }
    plan.turn_round();
    Ok((plan.body(mm_per_px, placing)?, Ok(right)))
}

/// The four borders and their second contours.
struct BorderPlan {
    first: [BorderMarks; 4],
    second: [BorderMarks; 4],
}

impl BorderPlan {
    /// The end plates from smaller to larger x, the walls by the half they lie in.
    fn left_to_right(marks: &Marks) -> Self {
        let contour = |kind| BorderMarks::of(marks, kind);
        let mut superior = contour(MarkKind::SuperiorEndPlate);
        let mut inferior = contour(MarkKind::InferiorEndPlate);
        let ends = |c: &BorderMarks| (c.points()[0], c.points()[c.points().len() - 1]);
        if ends(&superior).0.x > ends(&superior).1.x {
            superior.turn();
        }
        let ((s0, s1), (i0, i1)) = (ends(&superior), ends(&inferior));
        if cross([s0, i0], [s1, i1]) {
            inferior.turn();
        }
        let half = |c: &BorderMarks| -> Option<f64> {
            let axis = s1 - s0;
            let n = c.points().len();
            #[expect(clippy::cast_precision_loss, reason = "a handful of points")]
            let mean = c.points().iter().map(|&p| (p - s0).dot(axis)).sum::<f64>() / n as f64;
            (n > 0).then(|| mean / axis.dot(axis))
        };
        let walls = |right: BorderMarks, left: BorderMarks| -> [BorderMarks; 2] {
            // The side of a wall follows from where it was marked; the other wall then takes what is left.
            let right_first = match (half(&right), half(&left)) {
                (Some(r), Some(l)) => r < l,
                (Some(r), None) => r < 0.5,
                (None, Some(l)) => l >= 0.5,
                (None, None) => true,
            };
            if right_first { [right, left] } else { [left, right] }
        };
        let [start, end] = walls(contour(MarkKind::RightWall), contour(MarkKind::LeftWall));
        let [start2, end2] = walls(contour(MarkKind::RightWallSecond), contour(MarkKind::LeftWallSecond));
        let superior2 = contour(MarkKind::SuperiorEndPlateSecond);
        let inferior2 = contour(MarkKind::InferiorEndPlateSecond);
        Self { first: [superior, inferior, start, end], second: [superior2, inferior2, start2, end2] }
    }

    /// The same body from the other side.
    fn turn_round(&mut self) {
        for contours in [&mut self.first, &mut self.second] {
            contours[0].turn();
            contours[1].turn();
            contours.swap(2, 3);
        }
    }

    fn body(&self, mm_per_px: Option<f64>, placing: Placing<'_>) -> Result<MarkedBody, Issue> {
        MarkedBody::new(self.first.clone(), self.second.clone(), mm_per_px, placing)
    }
}

/// Which side of the picture is the patient's right: by the half of the body a marked pedicle lies in, else
/// as set. `map` runs from left to right in the picture.
fn sides(marks: &Marks, map: &BodyMap, set: Option<PatientRight>) -> KnownSides {
    let tells = |kind| {
        let borders = marks.complete(kind)?;
        let on_left = map.to_body(borders[0].midpoint(borders[1]))?.along < 0.5;
        let right_on_left = on_left == (kind == MarkKind::RightPedicle);
        Some(if right_on_left { PatientRight::ImageLeft } else { PatientRight::ImageRight })
    };
    let told: Vec<PatientRight> =
        [MarkKind::RightPedicle, MarkKind::LeftPedicle].into_iter().filter_map(tells).collect();
    match told.as_slice() {
        [a, b] if a != b => Err(Issue::new(
            IssueCode::SideContradicts,
            "Both pedicles are marked in the same half of the body, so only the height is read; check which is right and which is left.",
        )),
        [first, ..] if set.is_some_and(|set| set != *first) => Err(Issue::new(
            IssueCode::SideContradicts,
            "The marked pedicle contradicts the setting for the patient's right, so only the height is read; correct one of them.",
        )),
        [first, ..] => Ok(*first),
        [] => set.ok_or_else(|| {
            Issue::new(
                IssueCode::SideUnknown,
                "The patient's right is not known in this image, so only the height is read; mark a pedicle, or set the patient's right for the case.",
            )
        }),
    }
}
