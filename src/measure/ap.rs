//! Reading an AP shot (method, sections 2 to 6).

use std::sync::Arc;

use crate::measure::body::{BodyMap, Border};
use crate::measure::body_response::BodyResponse;
use crate::measure::instruments;
use crate::measure::issue::{Issue, IssueCode};
use crate::measure::judging::judged;
use crate::measure::lateral::{turn_issue, untold_issue};
use crate::measure::mark::{MarkKind, MarkRef, Marks, PatientRight, Side};
use crate::measure::marked::{Detail, Located, MarkedBody, Sighting, missing};
use crate::measure::orientation::orient;
use crate::measure::placement::Placing;
use crate::measure::quantity::Quantity;
use crate::measure::reading::{
    ApReading, BodySizes, MidlineBy, MidlineOffsets, OverSpinousProcess, Place, ShotInput,
};
use crate::measure::settings::{Band, Rule, Settings};
use crate::measure::simulate;
use crate::measure::true_view::of_pair::ap_alone;
use crate::measure::true_view::view::ApTrueView;
use crate::measure::unknown_view::{REST_OF_AP_HEIGHT, UnknownView, unknown_rho};
use crate::measure::verdict::{Nominal, nominal, state};
use crate::measure::view_part::{
    AP_HEIGHT, BODY_MIDDLE, PEDICLES, SPINOUS_PROCESS, Separations, Structure, against, ap_off_middle,
    between_borders, medial_border, rho, typical_depth,
};

/// Reads an AP shot: across and height of the tip, its offset from the midline three ways, its way across the
/// pedicle, with their uncertainty.
///
/// Never panics on any marks; what stands in the way is among the issues.
#[must_use]
pub fn read_ap(input: &ShotInput<'_>) -> ApReading {
    let mut reading = read(input, input.marks, Detail::Full);
    reading.mark_sds = input.placing().each();
    if let Some(run) = input.monte_carlo
        && let Some(body) = &reading.body
    {
        let placement = input.placing().at(body.mm_per_px);
        simulate::run(run, input.marks, &placement, &mut reading, |marks| {
            read(input, marks, Detail::ValuesOnly)
        });
    }
    reading
}

/// The values of an AP shot, without uncertainties, verdicts and most issues.
pub(super) fn values(input: &ShotInput<'_>) -> ApReading {
    read(input, input.marks, Detail::ValuesOnly)
}

/// The body map of an AP shot's marks for drawing, from the entry side where that is known, else from left to
/// right in the picture; it needs no tip.
///
/// # Errors
/// The issue that stands in the way.
pub fn ap_body_map(
    marks: &Marks,
    side: Option<Side>,
    patient_right: Option<PatientRight>,
) -> Result<BodyMap, Issue> {
    let settings = Settings::default();
    let placing = Placing { settings: &settings, errors: None, marks };
    orient(marks, side, patient_right, None, placing).map(|(body, _)| body.map)
}

/// Where the midline lies across a body, three ways, in the direction of its map.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Midlines {
    /// Midpoint of the pedicles' medial borders, where both are marked.
    pub pedicles: Option<f64>,
    /// Middle of the spinous process, where it is marked.
    pub spinous_process: Option<f64>,
    /// Middle of the body, ½.
    pub body: f64,
}

impl Midlines {
    /// The one that a verdict uses.
    #[must_use]
    pub fn used(self) -> (MidlineBy, f64) {
        match (self.pedicles, self.spinous_process) {
            (Some(across), _) => (MidlineBy::Pedicles, across),
            (None, Some(across)) => (MidlineBy::SpinousProcess, across),
            (None, None) => (MidlineBy::Body, self.body),
        }
    }
}

/// Where the midline lies on a body map, for drawing; the marks need no tip.
#[must_use]
pub fn midlines(map: &BodyMap, marks: &Marks) -> Midlines {
    let across = |kind, index| Some(map.to_body(*marks.complete(kind)?.get(index)?)?.along);
    let middle = |a: Option<f64>, b: Option<f64>| Some(0.5 * (a? + b?));
    Midlines {
        pedicles: middle(across(MarkKind::RightPedicle, 1), across(MarkKind::LeftPedicle, 1)),
        spinous_process: middle(across(MarkKind::SpinousProcess, 0), across(MarkKind::SpinousProcess, 1)),
        body: 0.5,
    }
}

fn read(input: &ShotInput<'_>, marks: &Marks, detail: Detail) -> ApReading {
    let mut reading = ApReading::default();
    let needed = [MarkKind::SuperiorEndPlate, MarkKind::InferiorEndPlate, MarkKind::Tip];
    reading.issues.extend(missing(marks, &needed));
    let oriented = orient(marks, input.side, input.patient_right, input.mm_per_px, input.placing());
    let (body, sides) = match oriented {
        Ok(oriented) => oriented,
        Err(issue) => {
            if issue.code != IssueCode::MissingMarks {
                reading.issues.push(issue);
            }
            return reading;
        }
    };
    let sizes = body.sizes();
    let eye = ApEye::new(&body, &sizes, input);
    reading.body = Some(sizes);
    reading.said = input.known.cannot_tell.is_some();
    reading.apart_mm = Border::ALL.map(|border| body.map.separation(border).map(|px| px * body.mm_per_px));
    let response = body.response(detail);
    reading.lengths = body.lengths(input.mm_per_px_sd, response.as_ref());
    let landmarks = Landmarks::find(&body, marks, response.as_ref());
    let sides = sides.and_then(|right| landmarks.borders_in_order().map(|()| right));
    let found = instruments::find(&body, marks, response.as_ref(), |located| eye.place(&body, located));
    if found.tip.is_none() && marks.complete(MarkKind::Tip).is_some() {
        reading.issues.push(instruments::unreadable());
    }
    reading.height = found.tip.as_ref().map(|tip| tip.height.clone());
    match sides {
        Err(issue) => reading.issues.push(issue),
        Ok(right) => {
            reading.patient_right = Some(right);
            if let Some(tip) = landmarks.tip.as_ref() {
                compare(&mut reading, &body, &eye, &landmarks, tip, input.side);
            }
            reading.tip = found.tip;
            reading.electrodes = found.electrodes;
            reading.cannula_mouth = found.mouth;
        }
    }
    if detail == Detail::Full {
        reading.unknown_view = eye.unknown(&reading);
        judge(input, &mut reading, ap_alone);
        let issues = speaking_issues(input, &body, &reading, &eye);
        reading.issues.extend(issues);
        drop(response);
        reading.map = Some(Arc::new(body.map));
    }
    reading
}

/// How the view bears on across and height.
#[derive(Clone, Copy)]
struct ApEye {
    width_mm: f64,
    height_mm: f64,
    depth: f64,
    height: Separations,
    rho: f64,
    /// Standard deviation of the sine of the ray's tilt where one contour is marked.
    tilt: f64,
}

impl ApEye {
    fn new(body: &MarkedBody, sizes: &BodySizes, input: &ShotInput<'_>) -> Self {
        let mm = |border| body.map.separation(border).map(|px| px * sizes.mm_per_px);
        let rho = rho(input.settings.view_half_width_deg);
        Self {
            width_mm: sizes.depth_px * sizes.mm_per_px,
            height_mm: body.map.mean_height_px() * sizes.mm_per_px,
            depth: input.lent.depth.unwrap_or_else(|| typical_depth(input.stage)),
            height: Separations { at_zero: mm(Border::Superior), at_one: mm(Border::Inferior) },
            rho,
            tilt: if input.known.height_untold() { unknown_rho() } else { rho },
        }
    }

    fn against(&self, structure: Structure, across: f64) -> f64 {
        against(structure, self.depth, across, self.width_mm, self.rho)
    }

    fn height_variance(&self, v: f64) -> f64 {
        between_borders(v, self.height_mm, ap_off_middle(self.depth), AP_HEIGHT, self.height, self.tilt)
    }

    /// The view's parts if nothing were known of its turn and tilt. No second contour tells of a turn in this view.
    fn unknown(&self, reading: &ApReading) -> UnknownView {
        let off = Self { rho: unknown_rho(), tilt: unknown_rho(), ..*self };
        let across = reading.tip.as_ref().map(|tip| tip.along.value);
        let turned = |structure| across.map(|across| off.against(structure, across).sqrt());
        let midline = reading.midline_by.best().map(|(by, _)| match by {
            MidlineBy::Pedicles => PEDICLES,
            MidlineBy::SpinousProcess => SPINOUS_PROCESS,
            MidlineBy::Body => BODY_MIDDLE,
        });
        let height = reading.height.as_ref().filter(|_| self.height.sine(AP_HEIGHT).is_none());
        UnknownView {
            along: turned(BODY_MIDDLE),
            midline: midline.and_then(turned),
            height: height.map(|height| off.height_variance(height.value).sqrt()),
            along_rest: 0.0,
            // The rims of an AP lie farther from where they are taken; with one contour, too.
            height_rest: REST_OF_AP_HEIGHT * self.height.sine(AP_HEIGHT).unwrap_or_else(unknown_rho),
            ..UnknownView::default()
        }
    }

    fn place(&self, body: &MarkedBody, located: &Located) -> Place {
        let across = self.against(BODY_MIDDLE, located.at.along);
        body.place(located, across, self.height_variance(located.at.height))
    }
}

/// Landmarks in body coordinates.
struct Landmarks {
    tip: Option<Located>,
    right_pedicle: Option<[Located; 2]>,
    left_pedicle: Option<[Located; 2]>,
    spinous_process: Option<[Located; 2]>,
}

impl Landmarks {
    fn find(body: &MarkedBody, marks: &Marks, response: Option<&BodyResponse<'_>>) -> Self {
        let locate = |kind: MarkKind| {
            let points = marks.complete(kind)?;
            let sightings: Vec<Sighting> = points
                .iter()
                .enumerate()
                .map(|(index, &p)| Sighting::mark(MarkRef { kind, index }, p))
                .collect();
            body.locate(&sightings, response).into_iter().collect::<Option<Vec<Located>>>()
        };
        let two = |kind| locate(kind).and_then(|list| list.try_into().ok());
        Self {
            tip: locate(MarkKind::Tip).and_then(|mut list| list.pop()),
            right_pedicle: two(MarkKind::RightPedicle),
            left_pedicle: two(MarkKind::LeftPedicle),
            spinous_process: two(MarkKind::SpinousProcess),
        }
    }

    fn pedicle(&self, side: Side) -> Option<&[Located; 2]> {
        match side {
            Side::Right => self.right_pedicle.as_ref(),
            Side::Left => self.left_pedicle.as_ref(),
        }
    }

    /// Each medial border must lie nearer the middle of the body than its lateral border.
    fn borders_in_order(&self) -> Result<(), Issue> {
        for (side, name) in [(Side::Right, "right"), (Side::Left, "left")] {
            if let Some([lateral, medial]) = self.pedicle(side)
                && (medial.at.along - 0.5).abs() >= (lateral.at.along - 0.5).abs()
            {
                return Err(Issue::new(
                    IssueCode::PedicleBordersSwapped,
                    format!(
                        "The medial border of the {name} pedicle is not medial to its lateral border, so only the height is read; swap the two borders or move one."
                    ),
                ));
            }
        }
        Ok(())
    }
}

/// Everything that compares the tip with a landmark.
fn compare(
    reading: &mut ApReading,
    body: &MarkedBody,
    eye: &ApEye,
    landmarks: &Landmarks,
    tip: &Located,
    side: Option<Side>,
) {
    let across = tip.at.along;
    let from = |structure: Structure, marks: [&Located; 2]| -> Quantity {
        let [a, b] = marks;
        let gradient = tip.along.plus(-0.5, &a.along).plus(-0.5, &b.along);
        let middle = 0.5 * (a.at.along + b.at.along);
        body.quantity(&gradient, across - middle, eye.against(structure, across))
    };
    let both = landmarks.right_pedicle.as_ref().zip(landmarks.left_pedicle.as_ref());
    reading.midline_by = MidlineOffsets {
        pedicles: both.map(|(right, left)| from(PEDICLES, [&right[1], &left[1]])),
        spinous_process: landmarks.spinous_process.as_ref().map(|[a, b]| from(SPINOUS_PROCESS, [a, b])),
        body: Some(body.quantity(&tip.along, across - 0.5, eye.against(BODY_MIDDLE, across))),
    };
    if let (Some([a, b]), Some(offset)) = (&landmarks.spinous_process, &reading.midline_by.spinous_process) {
        let half = 0.5 * (a.at.along - b.at.along).abs();
        let band = Band::new(-half, half);
        let (state, p_inside) = state(band, offset.value, offset.sd());
        let nominal = nominal(band, offset.value, Nominal::Short, Nominal::Past);
        reading.over_spinous_process = Some(OverSpinousProcess { nominal, state, p_inside });
    }
    if let Some([lateral, medial]) = side.and_then(|side| landmarks.pedicle(side)) {
        let view = eye.against(medial_border(medial.at.along), across);
        let to_go = medial.along.plus(-1.0, &tip.along);
        reading.medial_border = Some(body.quantity(&to_go, medial.at.along - across, view));
        let width = medial.at.along - lateral.at.along;
        let f = (across - lateral.at.along) / width;
        let gradient = tip.along.plus(f - 1.0, &lateral.along).plus(-f, &medial.along).scaled(1.0 / width);
        reading.across_pedicle = Some(body.quantity(&gradient, f, view / (width * width)));
    }
}

/// Sets an AP beside what a true view would show, and gives the verdicts.
pub(crate) fn judge(
    input: &ShotInput<'_>,
    reading: &mut ApReading,
    view: impl Fn(&ApReading, &ShotInput<'_>) -> Option<ApTrueView>,
) {
    reading.true_view = view(reading, input);
    reading.issues.retain(|issue| issue.code != IssueCode::ArchDiffers);
    if reading.true_view.as_ref().is_some_and(|view| view.arch_differs) {
        reading.issues.push(Issue::new(
            IssueCode::ArchDiffers,
            "The pedicles and the spinous process indicate different rotations of this view, as with an asymmetric arch or a deviating spinous process; check their marks, and rely on the offset from the middle of the body.",
        ));
    }
    let height = reading.true_view.as_ref().and_then(|view| view.height.as_ref());
    let midline = reading.midline_by.best();
    let corrected = midline.and_then(|(by, _)| reading.true_view.as_ref()?.midline_by.by(by));
    let fractions = [
        (Rule::Height, reading.height.as_ref(), height),
        (Rule::Midline, midline.map(|(_, offset)| offset), corrected),
    ]
    .into_iter()
    .filter_map(|(rule, direct, corrected)| Some((rule, direct?, corrected)));
    reading.verdicts = judged(input, fractions, &mut reading.issues);
}

fn speaking_issues(input: &ShotInput<'_>, body: &MarkedBody, reading: &ApReading, eye: &ApEye) -> Vec<Issue> {
    let mut issues = Vec::new();
    issues.extend(input.frame.and_then(|frame| body.cut_off(frame)));
    let across = reading.tip.as_ref().map(|tip| tip.along.value);
    let height = reading.height.as_ref().map(|q| q.value);
    let sides = [
        (across.is_some_and(|w| w < 0.0), "lateral to the body on the entry side"),
        (across.is_some_and(|w| w > 1.0), "lateral to the body on the far side"),
        (height.is_some_and(|v| v < 0.0), "superior to the superior endplate"),
        (height.is_some_and(|v| v > 1.0), "inferior to the inferior endplate"),
    ];
    let outside: Vec<&str> = sides.iter().filter(|(is, _)| *is).map(|&(_, side)| side).collect();
    if !outside.is_empty() {
        issues.push(Issue::new(
            IssueCode::OutsideBody,
            format!(
                "The tip projects {}. If the image does not show it there, check the tip and the borders.",
                outside.join(" and ")
            ),
        ));
    }
    if let (Some(_), Some(side)) = (reading.patient_right, input.side) {
        issues.extend(wall_sides(body, input.marks, side));
    }
    issues.extend(turn_issue(eye.height.sine(AP_HEIGHT), "angled cranio-caudally"));
    if input.known.height_untold() && eye.height.sine(AP_HEIGHT).is_none() {
        issues.push(untold_issue("endplates", "height"));
    }
    issues
}

/// A wall is read where it lies; one that is named after the other side is told, for the names may be right and
/// the sides wrong. `body` runs from the entry side.
fn wall_sides(body: &MarkedBody, marks: &Marks, entry: Side) -> Option<Issue> {
    let misplaced = |kind: MarkKind, named: Side| {
        let points = marks.slots(kind).iter().copied().flatten();
        let near = points.filter_map(|p| body.map.to_body(p)).map(|at| at.along < 0.5);
        let (on_entry, all) = near.fold((0, 0), |(n, all), is| (n + usize::from(is), all + 1));
        all > 0 && (2 * on_entry > all) != (named == entry)
    };
    let walls = [
        (MarkKind::RightWall, Side::Right),
        (MarkKind::LeftWall, Side::Left),
        (MarkKind::RightWallSecond, Side::Right),
        (MarkKind::LeftWallSecond, Side::Left),
    ];
    let (_, named) = walls.into_iter().find(|&(kind, named)| misplaced(kind, named))?;
    let (named, lies) = if named == Side::Right { ("right", "left") } else { ("left", "right") };
    Some(Issue::new(
        IssueCode::WallSidesSwapped,
        format!(
            "The wall marked as the patient's {named} wall is on the patient's {lies} and is read as that wall; check the sides, or swap the wall marks."
        ),
    ))
}

impl simulate::Quantities for ApReading {
    fn quantities(&mut self) -> Vec<&mut Quantity> {
        let mut list = Vec::new();
        list.extend(self.height.as_mut());
        if let Some(tip) = &mut self.tip {
            list.extend(tip.quantities());
        }
        let by = &mut self.midline_by;
        for q in [
            &mut by.pedicles,
            &mut by.spinous_process,
            &mut by.body,
            &mut self.medial_border,
            &mut self.across_pedicle,
        ] {
            list.extend(q.as_mut());
        }
        if let Some(electrodes) = &mut self.electrodes {
            list.extend(electrodes.quantities());
        }
        if let Some(mouth) = &mut self.cannula_mouth {
            list.extend(mouth.quantities());
        }
        list
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::{Stage, View};
    use crate::measure::reading::Lent;
    use crate::measure::true_view::known::Known;
    use crate::measure::verdict::State;

    /// A body 50 px wide and 30 px high at 1 mm to a pixel, its left edge at x = 100. The patient's right is on
    /// the left of the picture: right pedicle from 106 to 114, left from 144 to 136, spinous process 121 to 129.
    fn body() -> Marks {
        Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(100.0, 100.0), (150.0, 100.0)])
            .with(MarkKind::InferiorEndPlate, &[(100.0, 130.0), (150.0, 130.0)])
            .with(MarkKind::RightPedicle, &[(106.0, 108.0), (114.0, 108.0)])
            .with(MarkKind::LeftPedicle, &[(144.0, 108.0), (136.0, 108.0)])
            .with(MarkKind::SpinousProcess, &[(121.0, 120.0), (129.0, 120.0)])
            .with(MarkKind::Tip, &[(122.5, 115.0)])
    }

    fn read_with(marks: &Marks, change: impl Fn(&mut ShotInput<'_>)) -> ApReading {
        let settings = Settings::default();
        let mut input = ShotInput {
            view: View::Ap,
            marks,
            side: Some(Side::Right),
            stage: Some(Stage::Final),
            patient_right: None,
            mm_per_px: Some(1.0),
            mm_per_px_sd: None,
            frame: None,
            settings: &settings,
            known: Known::default(),
            mark_errors: None,
            lent: Lent::default(),
            monte_carlo: None,
        };
        change(&mut input);
        read_ap(&input)
    }

    fn codes(reading: &ApReading) -> Vec<IssueCode> {
        reading.issues.iter().map(|issue| issue.code).collect()
    }

    fn value(q: &Option<Quantity>) -> f64 {
        q.as_ref().map_or(f64::NAN, |q| q.value)
    }

    /// By hand, entry from the right (picture left): w = 22.5/50 = 0.45, v = 15/30 = 0.5; medial borders at
    /// 14/50 = 0.28 and 36/50 = 0.72, midline 0.5, offset −0.05; spinous process 0.42–0.58, offset −0.05
    /// within ±0.08; to go to the medial border 0.28 − 0.45 = −0.17; lateral border 0.12, so across the
    /// pedicle (0.45 − 0.12)/0.16 = 2.0625.
    #[test]
    fn across_and_offsets_by_hand() {
        let reading = read_with(&body(), |_| ());
        assert!(reading.issues.is_empty(), "{:?}", reading.issues);
        assert_eq!(reading.patient_right, Some(PatientRight::ImageLeft));
        let tip = reading.tip.as_ref().unwrap();
        assert!((tip.along.value - 0.45).abs() < 1e-9 && (tip.height.value - 0.5).abs() < 1e-9);
        assert!((value(&reading.midline_by.pedicles) + 0.05).abs() < 1e-9);
        assert!((value(&reading.midline_by.spinous_process) + 0.05).abs() < 1e-9);
        assert!((value(&reading.midline_by.body) + 0.05).abs() < 1e-9);
        assert_eq!(reading.midline_by.best().unwrap().0, MidlineBy::Pedicles);
        assert!((value(&reading.medial_border) + 0.17).abs() < 1e-9);
        assert!((value(&reading.across_pedicle) - 2.0625).abs() < 1e-9);
        assert_eq!(reading.over_spinous_process.unwrap().nominal, Nominal::Inside);
        assert_eq!(reading.verdicts.len(), 2);
    }

    /// By hand: the metal part of across is 0.25 mm / 50 mm = 0.005; the view part at u = 0.40 is
    /// 35·0.1·0.0141059/50 = 0.00098741, and the cone adds 35/700·(−0.05)·(−0.1) = 0.00025.
    #[test]
    fn the_parts_of_across_by_hand() {
        let reading = read_with(&body(), |_| ());
        let budget = reading.tip.unwrap().along.budget;
        assert!((budget.metal - 0.005).abs() < 1e-9);
        assert!((budget.view - 0.000_987_41_f64.hypot(0.000_25)).abs() < 1e-7, "{}", budget.view);
    }

    /// What is drawn and what is read are one thing: the tip's across less its offset is the drawn midline.
    #[test]
    fn drawn_midlines_are_the_ones_that_are_read() {
        let marks = body().with(MarkKind::LeftPedicle, &[(144.0, 108.0), (134.0, 108.0)]);
        let reading = read_with(&marks, |_| ());
        let map = ap_body_map(&marks, Some(Side::Right), None).unwrap();
        let drawn = midlines(&map, &marks);
        let across = reading.tip.as_ref().unwrap().along.value;
        assert!((across - value(&reading.midline_by.pedicles) - drawn.pedicles.unwrap()).abs() < 1e-12);
        let spinous = across - value(&reading.midline_by.spinous_process);
        assert!((spinous - drawn.spinous_process.unwrap()).abs() < 1e-12);
        assert_eq!(drawn.used().0, reading.midline_by.best().unwrap().0);
    }

    #[test]
    fn from_the_other_side_the_fractions_turn_round() {
        let reading = read_with(&body(), |input| input.side = Some(Side::Left));
        assert!((reading.tip.as_ref().unwrap().along.value - 0.55).abs() < 1e-9);
        assert!((value(&reading.midline_by.pedicles) - 0.05).abs() < 1e-9);
    }

    #[test]
    fn end_plates_may_be_clicked_either_way_round() {
        let marks = body().with(MarkKind::InferiorEndPlate, &[(150.0, 130.0), (100.0, 130.0)]);
        let (a, b) = (read_with(&body(), |_| ()), read_with(&marks, |_| ()));
        assert!((a.tip.unwrap().along.value - b.tip.unwrap().along.value).abs() < 1e-12);
    }

    #[test]
    fn one_pedicle_is_enough_and_none_needs_a_setting() {
        let mut marks = body();
        marks.set(MarkKind::LeftPedicle, Vec::new());
        let reading = read_with(&marks, |_| ());
        assert_eq!(reading.midline_by.best().unwrap().0, MidlineBy::SpinousProcess);
        marks.set(MarkKind::RightPedicle, Vec::new());
        let reading = read_with(&marks, |_| ());
        assert_eq!(codes(&reading), [IssueCode::SideUnknown]);
        assert!(reading.height.is_some() && reading.tip.is_none());
        let reading = read_with(&marks, |input| input.patient_right = Some(PatientRight::ImageLeft));
        assert!((reading.tip.unwrap().along.value - 0.45).abs() < 1e-9);
    }

    #[test]
    fn contradictions_leave_the_height_only() {
        let reading = read_with(&body(), |input| input.patient_right = Some(PatientRight::ImageRight));
        assert_eq!(codes(&reading), [IssueCode::SideContradicts]);
        let same_half = body().with(MarkKind::LeftPedicle, &[(106.0, 108.0), (114.0, 108.0)]);
        assert_eq!(codes(&read_with(&same_half, |_| ())), [IssueCode::SideContradicts]);
        let swapped = body().with(MarkKind::RightPedicle, &[(114.0, 108.0), (106.0, 108.0)]);
        let reading = read_with(&swapped, |_| ());
        assert_eq!(codes(&reading), [IssueCode::PedicleBordersSwapped]);
        assert!(reading.height.is_some() && reading.medial_border.is_none());
    }

    #[test]
    fn without_an_entry_side_only_the_height_is_read() {
        let reading = read_with(&body(), |input| input.side = None);
        assert_eq!(codes(&reading), [IssueCode::SideUnknown]);
    }

    #[test]
    fn a_tip_past_the_spinous_process_is_past() {
        let marks = body().with(MarkKind::Tip, &[(140.0, 115.0)]);
        let over = read_with(&marks, |_| ()).over_spinous_process.unwrap();
        assert_eq!((over.nominal, over.state), (Nominal::Past, State::Outside));
    }
}
