//! Reading a lateral shot (method, sections 3 to 6).

use std::sync::Arc;

use crate::measure::body::{BodyMap, Border};
use crate::measure::body_response::BodyResponse;
use crate::measure::gradient::Gradient;
use crate::measure::instruments;
use crate::measure::issue::{Issue, IssueCode};
use crate::measure::judging::judged;
use crate::measure::length::Length;
use crate::measure::mark::{MarkKind, Marks};
use crate::measure::marked::{BorderMarks, Detail, Located, MarkedBody, missing};
use crate::measure::placement::Placing;
use crate::measure::quantity::Quantity;
use crate::measure::reading::{BodySizes, LateralReading, Place, ShotInput};
use crate::measure::settings::{Rule, Settings};
use crate::measure::simulate;
use crate::measure::true_view::of_pair::lateral_alone;
use crate::measure::true_view::view::LateralTrueView;
use crate::measure::unknown_view::{
    LaidView, REST_OF_DEPTH, REST_OF_LATERAL_HEIGHT, UnknownView, unknown_rho,
};
use crate::measure::view_part::{
    LATERAL_DEPTH, LATERAL_HEIGHT, Separations, between_borders, laid, rho, typical_off_middle,
};

/// Smallest and largest depth over mean height of a lumbar body.
const SHAPE: std::ops::RangeInclusive<f64> = 0.9..=2.0;
/// A ratio of heights from which a body counts as deformed: a loss of 20 % (Genant 1993).
const HEIGHT_LOSS: f64 = 0.8;
/// The turn from which a double contour is worth a word, in degrees.
const WORTH_A_WORD_DEG: f64 = 3.0;

/// Reads a lateral shot: depth and height of the tip, electrodes and cannula, with their uncertainty.
///
/// Never panics on any marks; what stands in the way is among the issues.
#[must_use]
pub fn read_lateral(input: &ShotInput<'_>) -> LateralReading {
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

/// The values of a lateral shot, without uncertainties, verdicts and most issues.
pub(super) fn values(input: &ShotInput<'_>) -> LateralReading {
    read(input, input.marks, Detail::ValuesOnly)
}

/// The body map of a lateral shot's marks, for drawing; it needs no tip.
///
/// # Errors
/// The issue that stands in the way.
pub fn lateral_body_map(marks: &Marks) -> Result<BodyMap, Issue> {
    let settings = Settings::default();
    let placing = Placing { settings: &settings, errors: None, marks };
    marked_body(marks, None, placing).map(|body| body.map)
}

fn marked_body(marks: &Marks, mm_per_px: Option<f64>, placing: Placing<'_>) -> Result<MarkedBody, Issue> {
    if let Some(issue) = missing(marks, &[MarkKind::SuperiorEndPlate, MarkKind::InferiorEndPlate]) {
        return Err(issue);
    }
    let contour = |kind| BorderMarks::of(marks, kind);
    let first = [
        contour(MarkKind::SuperiorEndPlate),
        contour(MarkKind::InferiorEndPlate),
        contour(MarkKind::PosteriorWall),
        contour(MarkKind::AnteriorWall),
    ];
    let second = [
        contour(MarkKind::SuperiorEndPlateSecond),
        contour(MarkKind::InferiorEndPlateSecond),
        contour(MarkKind::PosteriorWallSecond),
        contour(MarkKind::AnteriorWallSecond),
    ];
    MarkedBody::new(first, second, mm_per_px, placing)
}

fn read(input: &ShotInput<'_>, marks: &Marks, detail: Detail) -> LateralReading {
    let mut reading = LateralReading::default();
    let needed = [MarkKind::SuperiorEndPlate, MarkKind::InferiorEndPlate, MarkKind::Tip];
    reading.issues.extend(missing(marks, &needed));
    let body = match marked_body(marks, input.mm_per_px, input.placing()) {
        Ok(body) => body,
        Err(issue) => {
            if issue.code != IssueCode::MissingMarks {
                reading.issues.push(issue);
            }
            return reading;
        }
    };
    let sizes = body.sizes();
    let eye = Eye::new(&body, &sizes, input);
    let response = body.response(detail);
    let found = instruments::find(&body, marks, response.as_ref(), |located| eye.place(&body, located));
    reading.tip = found.tip;
    if reading.tip.is_none() && marks.complete(MarkKind::Tip).is_some() {
        reading.issues.push(instruments::unreadable());
    }
    reading.electrodes = found.electrodes.zip(found.proximal).map(|(mut electrodes, proximal)| {
        let to_wall = electrodes.proximal.along.clone();
        if !sizes.scale_assumed {
            let quantity = to_wall_mm(&body, response.as_ref(), &eye, &proximal, &to_wall);
            let scale = quantity.value.abs() * body.relative(input.mm_per_px_sd);
            electrodes.to_posterior_wall_mm = Some(Length { quantity, scale });
        }
        electrodes.to_posterior_wall = Some(to_wall);
        electrodes
    });
    reading.cannula_mouth = found.mouth;
    reading.travel = found.travel;
    reading.body = Some(sizes);
    reading.said = input.known.cannot_tell.is_some();
    reading.apart_mm = Border::ALL.map(|border| body.map.separation(border).map(|px| px * body.mm_per_px));
    reading.lengths = body.lengths(input.mm_per_px_sd, response.as_ref());
    if detail == Detail::ValuesOnly {
        return reading;
    }
    reading.unknown_view = reading.tip.as_ref().map(|tip| eye.unknown(tip)).unwrap_or_default();
    judge(input, &mut reading, lateral_alone);
    let issues = speaking_issues(input, &body, &reading, &eye);
    reading.issues.extend(issues);
    drop(response);
    reading.map = Some(Arc::new(body.map));
    reading
}

/// Distance from the posterior wall in millimetres: the fraction times the body's depth at mid height. Both
/// follow from the same marks, so that their errors belong together: what moves the anterior wall changes the
/// fraction and the depth, and hardly the distance.
fn to_wall_mm(
    body: &MarkedBody,
    response: Option<&BodyResponse<'_>>,
    eye: &Eye,
    at: &Located,
    fraction: &Quantity,
) -> Quantity {
    let value = at.at.along * eye.depth_mm;
    let gradient = response.map_or_else(Gradient::default, |response| {
        at.along.scaled(eye.depth_mm).plus(at.at.along * body.mm_per_px, &body.depth_gradient(response))
    });
    body.quantity(&gradient, value, (fraction.budget.view * eye.depth_mm).powi(2))
}

/// How the view bears on depth and height.
#[derive(Clone, Copy)]
struct Eye {
    depth_mm: f64,
    height_mm: f64,
    off_middle_mm: f64,
    depth: Separations,
    height: Separations,
    /// Standard deviation of the sine of the ray's turn and tilt where one contour is marked.
    turn: f64,
    tilt: f64,
}

impl Eye {
    fn new(body: &MarkedBody, sizes: &BodySizes, input: &ShotInput<'_>) -> Self {
        let mm = |border| body.map.separation(border).map(|px| px * sizes.mm_per_px);
        let (known, rho) = (input.known, rho(input.settings.view_half_width_deg));
        Self {
            depth_mm: sizes.depth_px * sizes.mm_per_px,
            height_mm: body.map.mean_height_px() * sizes.mm_per_px,
            off_middle_mm: input.lent.off_middle_mm.unwrap_or_else(|| typical_off_middle(input.stage)),
            depth: Separations { at_zero: mm(Border::Start), at_one: mm(Border::End) },
            height: Separations { at_zero: mm(Border::Superior), at_one: mm(Border::Inferior) },
            turn: if known.depth_untold() { unknown_rho() } else { rho },
            tilt: if known.height_untold() { unknown_rho() } else { rho },
        }
    }

    fn depth_variance(&self, u: f64) -> f64 {
        between_borders(u, self.depth_mm, self.off_middle_mm, LATERAL_DEPTH, self.depth, self.turn)
    }

    fn height_variance(&self, v: f64) -> f64 {
        between_borders(v, self.height_mm, self.off_middle_mm, LATERAL_HEIGHT, self.height, self.tilt)
    }

    /// The view's parts if nothing were known of its turn and tilt, where no second contour tells.
    fn unknown(&self, tip: &Place) -> UnknownView {
        let off = Self { turn: unknown_rho(), tilt: unknown_rho(), ..*self };
        let one_contour = |told: Option<f64>, variance: f64| told.is_none().then(|| variance.sqrt());
        let rest = |each: f64, told: Option<f64>| each * told.unwrap_or(0.0);
        let laid = |f, length, lever, separations| {
            let (tip, borders) = laid(f, length, self.off_middle_mm, lever, separations, unknown_rho());
            LaidView { tip: tip.sqrt(), borders: borders.sqrt() }
        };
        UnknownView {
            along_laid: laid(tip.along.value, self.depth_mm, LATERAL_DEPTH, self.depth),
            height_laid: laid(tip.height.value, self.height_mm, LATERAL_HEIGHT, self.height),
            along_rest: rest(REST_OF_DEPTH, self.depth.sine(LATERAL_DEPTH)),
            height_rest: rest(REST_OF_LATERAL_HEIGHT, self.height.sine(LATERAL_HEIGHT)),
            along: one_contour(self.depth.sine(LATERAL_DEPTH), off.depth_variance(tip.along.value)),
            midline: None,
            height: one_contour(self.height.sine(LATERAL_HEIGHT), off.height_variance(tip.height.value)),
        }
    }

    fn place(&self, body: &MarkedBody, located: &Located) -> Place {
        let at = located.at;
        body.place(located, self.depth_variance(at.along), self.height_variance(at.height))
    }
}

/// Sets a lateral beside what a true view would show, and gives the verdicts.
pub(crate) fn judge(
    input: &ShotInput<'_>,
    reading: &mut LateralReading,
    view: impl Fn(&LateralReading, &ShotInput<'_>) -> Option<LateralTrueView>,
) {
    reading.true_view = view(reading, input);
    let Some(tip) = &reading.tip else { return };
    let (depth, height) = reading.true_view.as_ref().map(|v| (&v.depth, &v.height)).unzip();
    let fractions = [(Rule::Depth, &tip.along, depth), (Rule::Height, &tip.height, height)];
    reading.verdicts = judged(input, fractions, &mut reading.issues);
}

fn speaking_issues(
    input: &ShotInput<'_>,
    body: &MarkedBody,
    reading: &LateralReading,
    eye: &Eye,
) -> Vec<Issue> {
    let mut issues = Vec::new();
    let mut say = |code, text: &str| issues.push(Issue::new(code, text));
    if reading.travel.is_some_and(|(du, _)| du < 0.0) {
        say(
            IssueCode::WallsSwapped,
            "The cannula enters from the side marked as anterior; check whether the anterior and posterior corners are swapped.",
        );
    }
    issues.extend(input.frame.and_then(|frame| body.cut_off(frame)));
    let mut say = |code, text: &str| issues.push(Issue::new(code, text));
    let sizes = body.sizes();
    if !SHAPE.contains(&(eye.depth_mm / eye.height_mm)) {
        say(
            IssueCode::ImplausibleShape,
            "The marked body is unusually deep or shallow for its height; check that all four corners belong to the same vertebral body.",
        );
    }
    let (hp, hm, ha) = (sizes.posterior_height_px, sizes.middle_height_px, sizes.anterior_height_px);
    if [ha / hp, hm / hp, hp / ha].into_iter().any(|ratio| ratio <= HEIGHT_LOSS) {
        say(
            IssueCode::DeformedBody,
            "The marked heights suggest a height loss of 20 % or more. The fractions assume an undeformed body; check the corners and interpret with care.",
        );
    }
    if let Some(tip) = &reading.tip {
        let sides = [
            (tip.along.value < 0.0, "posterior to the posterior wall"),
            (tip.along.value > 1.0, "anterior to the body"),
            (tip.height.value < 0.0, "superior to the superior endplate"),
            (tip.height.value > 1.0, "inferior to the inferior endplate"),
        ];
        let outside: Vec<&str> = sides.iter().filter(|(is, _)| *is).map(|&(_, side)| side).collect();
        if !outside.is_empty() {
            let caution = if tip.along.value > 1.0 {
                " Check the other view and review the case carefully."
            } else {
                " If the image does not show it there, check the tip and the borders."
            };
            let sentence = format!("The tip projects {}.{caution}", outside.join(" and "));
            issues.push(Issue::new(IssueCode::OutsideBody, sentence));
        }
    }
    issues.extend(turn_issue(eye.depth.sine(LATERAL_DEPTH), "rotated axially"));
    issues.extend(turn_issue(eye.height.sine(LATERAL_HEIGHT), "angled to the side"));
    if input.known.depth_untold() && eye.depth.sine(LATERAL_DEPTH).is_none() {
        issues.push(untold_issue("walls", "depth"));
    }
    if input.known.height_untold() && eye.height.sine(LATERAL_HEIGHT).is_none() {
        issues.push(untold_issue("endplates", "height"));
    }
    issues
}

/// The issue of a double contour that says a noticeable turn.
pub(crate) fn turn_issue(sine: Option<f64>, how: &str) -> Option<Issue> {
    (sine?.asin().to_degrees() > WORTH_A_WORD_DEG).then(|| {
        Issue::new(
            IssueCode::DoubleContour,
            format!(
                "The double contour indicates that the body is {how} by more than 3° in this view; a truer view would reduce the uncertainty."
            ),
        )
    })
}

/// The issue of a direction in which the reader cannot tell whether a border shows twice.
pub(crate) fn untold_issue(borders: &str, quantity: &str) -> Issue {
    Issue::new(
        IssueCode::CannotTell,
        format!(
            "Whether the {borders} show twice cannot be told, so a rotation or tilt of up to 8° is allowed for and the {quantity} is less certain; mark the second line, or use a truer view, to reduce the uncertainty."
        ),
    )
}

impl simulate::Quantities for LateralReading {
    fn quantities(&mut self) -> Vec<&mut Quantity> {
        let mut list = Vec::new();
        if let Some(tip) = &mut self.tip {
            list.extend(tip.quantities());
        }
        if let Some(lengths) = &mut self.lengths {
            list.extend(lengths.quantities());
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
    use crate::measure::reading::{Field, FrameExtent, Lent, MonteCarlo};
    use crate::measure::true_view::known::Known;
    use crate::measure::verdict::{Nominal, State};

    fn input<'a>(marks: &'a Marks, settings: &'a Settings) -> ShotInput<'a> {
        ShotInput {
            view: View::Lateral,
            marks,
            side: None,
            stage: Some(Stage::Final),
            patient_right: None,
            mm_per_px: None,
            mm_per_px_sd: None,
            frame: None,
            settings,
            known: Known::default(),
            mark_errors: None,
            lent: Lent::default(),
            monte_carlo: None,
        }
    }

    /// Quad B of tests/reference, `q4_and_transfinite.json` (recomputed with scikit-fem), the tip at (0.3, 0.5).
    fn quad_b() -> Marks {
        Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(412.0, 305.0), (268.0, 318.0)])
            .with(MarkKind::InferiorEndPlate, &[(405.0, 398.0), (262.0, 421.0)])
            .with(MarkKind::Tip, &[(365.45, 356.90)])
    }

    fn rectangle() -> Marks {
        Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (35.0, 0.0)])
            .with(MarkKind::InferiorEndPlate, &[(0.0, 27.0), (35.0, 27.0)])
            .with(MarkKind::Tip, &[(17.5, 13.5)])
    }

    fn codes(reading: &LateralReading) -> Vec<IssueCode> {
        reading.issues.iter().map(|issue| issue.code).collect()
    }

    #[test]
    fn depth_and_height_of_the_reference_quad() {
        let (marks, settings) = (quad_b(), Settings::default());
        let reading = read_lateral(&input(&marks, &settings));
        let tip = reading.tip.unwrap();
        assert!((tip.along.value - 0.3).abs() < 1e-9 && (tip.height.value - 0.5).abs() < 1e-9);
        assert!(reading.issues.is_empty(), "{:?}", reading.issues);
        assert_eq!(reading.verdicts[0].state, State::Undecided);
        assert_eq!(reading.verdicts[1].nominal, Nominal::Inside);
        assert!(reading.body.unwrap().scale_assumed);
    }

    /// By the shape functions of the four corners (see tests/it/uncertainty.rs): 0.5 mm on tip and corners of a 35 × 27 mm rectangle.
    #[test]
    fn a_rectangle_of_35_by_27_mm() {
        let settings = Settings { metal_sd_mm: 0.5, ..Settings::default() };
        for (x, y, depth, height) in [
            (17.5, 13.5, 0.015_972, 0.020_704),
            (10.5, 13.5, 0.016_225, 0.021_033),
            (8.75, 10.8, 0.016_444, 0.021_316),
        ] {
            let marks = rectangle().with(MarkKind::Tip, &[(x, y)]);
            let shot = ShotInput { mm_per_px: Some(1.0), ..input(&marks, &settings) };
            let tip = read_lateral(&shot).tip.unwrap();
            let marked = |q: &Quantity| q.budget.bone.hypot(q.budget.metal);
            assert!((marked(&tip.along) - depth).abs() < 1e-6);
            assert!((marked(&tip.height) - height).abs() < 1e-6);
        }
    }

    #[test]
    fn simulation_agrees_where_the_map_is_close_to_linear() {
        let (marks, settings) = (quad_b(), Settings::default());
        let run = Some(MonteCarlo { draws: 20_000, seed: 7 });
        let reading = read_lateral(&ShotInput { monte_carlo: run, ..input(&marks, &settings) });
        let tip = reading.tip.unwrap();
        for q in [&tip.along, &tip.height] {
            let simulated = q.monte_carlo.unwrap();
            assert!((simulated.sd / q.sd() - 1.0).abs() < 0.03, "{simulated:?} {}", q.sd());
            assert!((simulated.mean - q.value).abs() < 0.002);
        }
    }

    #[test]
    fn missing_marks_are_named_and_block() {
        let settings = Settings::default();
        let marks = Marks::new().with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (35.0, 0.0)]);
        let reading = read_lateral(&input(&marks, &settings));
        assert_eq!(codes(&reading), [IssueCode::MissingMarks]);
        assert_eq!(reading.issues[0].text, "Still to be marked: the inferior endplate and the tip.");
        assert_eq!(reading.tip, None);
    }

    #[test]
    fn a_body_without_a_tip_still_has_sizes() {
        let settings = Settings::default();
        let mut marks = quad_b();
        marks.set(MarkKind::Tip, Vec::new());
        let reading = read_lateral(&input(&marks, &settings));
        assert_eq!(codes(&reading), [IssueCode::MissingMarks]);
        assert!(reading.body.is_some());
    }

    #[test]
    fn a_cannula_from_the_front_says_walls_swapped() {
        let settings = Settings::default();
        let marks = quad_b().with(MarkKind::Cannula, &[(150.0, 350.0), (300.0, 360.0)]);
        assert!(codes(&read_lateral(&input(&marks, &settings))).contains(&IssueCode::WallsSwapped));
        let marks = quad_b().with(MarkKind::Cannula, &[(500.0, 340.0), (400.0, 350.0)]);
        let reading = read_lateral(&input(&marks, &settings));
        assert!(reading.travel.unwrap().0 > 0.9 && reading.issues.is_empty());
    }

    #[test]
    fn a_corner_at_the_edge_is_cut_off() {
        let (marks, settings) = (quad_b(), Settings::default());
        let frame = |width, field| Some(FrameExtent { width, height: 600, field });
        let at = |frame| codes(&read_lateral(&ShotInput { frame, ..input(&marks, &settings) }));
        assert!(at(frame(800, Field::Whole)).is_empty());
        assert_eq!(at(frame(415, Field::Whole)), [IssueCode::BodyCutOff]);
        let round = Field::Round { centre: crate::geom::point::Point::new(300.0, 360.0), radius: 126.0 };
        assert_eq!(at(frame(800, round)), [IssueCode::BodyCutOff]);
    }

    #[test]
    fn a_tip_in_front_of_the_body_is_outside() {
        let settings = Settings::default();
        let marks = quad_b().with(MarkKind::Tip, &[(230.0, 370.0)]);
        let reading = read_lateral(&input(&marks, &settings));
        assert_eq!(codes(&reading), [IssueCode::OutsideBody]);
        assert!(reading.issues[0].text.contains("anterior to the body"));
        let marks = quad_b().with(MarkKind::Tip, &[(9999.0, 370.0)]);
        assert_eq!(codes(&read_lateral(&input(&marks, &settings))), [IssueCode::Unreadable]);
    }

    #[test]
    fn shape_and_deformity_speak() {
        let settings = Settings::default();
        let long = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (80.0, 0.0)])
            .with(MarkKind::InferiorEndPlate, &[(0.0, 27.0), (80.0, 20.0)])
            .with(MarkKind::Tip, &[(30.0, 12.0)]);
        let found = codes(&read_lateral(&input(&long, &settings)));
        assert!(found.contains(&IssueCode::ImplausibleShape) && found.contains(&IssueCode::DeformedBody));
    }

    #[test]
    fn a_wide_second_contour_speaks() {
        let settings = Settings::default();
        let marks = rectangle().with(MarkKind::PosteriorWallSecond, &[(3.0, 0.0), (3.0, 27.0)]);
        let shot = ShotInput { mm_per_px: Some(1.0), ..input(&marks, &settings) };
        assert!(codes(&read_lateral(&shot)).contains(&IssueCode::DoubleContour));
    }

    #[test]
    fn electrodes_are_read_with_their_middle() {
        let settings = Settings::default();
        let marks = rectangle().with(MarkKind::Electrodes, &[(7.0, 13.5), (14.0, 13.5)]);
        let shot = ShotInput { mm_per_px: Some(1.0), ..input(&marks, &settings) };
        let electrodes = read_lateral(&shot).electrodes.unwrap();
        assert!((electrodes.centre.along.value - 0.3).abs() < 1e-9);
        assert!((electrodes.to_posterior_wall_mm.unwrap().mm() - 7.0).abs() < 1e-9);
        assert!(electrodes.centre.along.budget.metal < electrodes.proximal.along.budget.metal);
    }
}
