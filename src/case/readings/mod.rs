//! From a case to its readings: the one way for the window, the command line and every figure.

pub mod body_map;
pub mod due;
pub mod following;
mod missing_scale;
mod scale_contradicts;

use std::collections::BTreeSet;
use std::sync::Arc;

use crate::case::document::{Case, Shot};
use crate::case::image::frame::Frame;
use crate::case::image::scale_fault::ScaleFault;
use crate::case::plan::pairing::{pairs, refusals};
pub use crate::case::readings::scale_contradicts::says_already;
use crate::case::readings::scale_contradicts::scale_contradicts;
use crate::measure::ap::read_ap;
use crate::measure::body::BodyMap;
use crate::measure::issue::{Issue, IssueCode};
use crate::measure::lateral::read_lateral;
use crate::measure::mark::{MarkKind, MarkRef, Marks, Material, View};
use crate::measure::mark_error::{MarkErrors, Proposed, Softness};
use crate::measure::pair::read_pair;
use crate::measure::pedicle::read_pedicle;
use crate::measure::reading::{
    ApReading, FrameExtent, LateralReading, Lent, MonteCarlo, PairReading, PedicleReading, ShotInput,
};
use crate::measure::true_view::known::Known;
use crate::measure::verdict::Verdict;

/// What is known of a shot's picture.
#[derive(Clone, Debug, PartialEq)]
pub enum Picture {
    /// Nobody has looked yet.
    NotLookedAt,
    /// It cannot be found or read.
    Missing,
    /// It is there.
    Present {
        /// Its size and field.
        extent: FrameExtent,
        /// Digest of the file's bytes as it is now.
        digest: Option<String>,
        /// How soft it is at the shot's bone marks, as far as that was measured.
        softness: SoftMarks,
        /// Where what its file says of the scale contradicts itself.
        scale_faults: Vec<ScaleFault>,
    },
}

impl Picture {
    /// What is known of a picture that has been decoded.
    #[must_use]
    pub fn of(frame: &Frame, softness: SoftMarks) -> Self {
        Self::Present {
            extent: frame.extent(),
            digest: Some(frame.digest.to_string()),
            softness,
            scale_faults: frame.facts.spacing.faults.clone(),
        }
    }
}

/// How soft a picture is at marks; those that are not named are as sharp as the settings say, or nobody has looked.
pub type SoftMarks = Arc<Vec<(MarkRef, Softness)>>;

/// The reading of one shot, by its view. One whose view nobody has set has a blank one, with an issue that says so.
#[derive(Clone, Debug, PartialEq)]
pub enum ShotReading {
    /// From the side.
    Lateral(Box<LateralReading>),
    /// From front or back.
    Ap(Box<ApReading>),
    /// Down the pedicle.
    Pedicle(Box<PedicleReading>),
}

/// The reading of a matched pair, with the places of its shots in the case.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadPairOf {
    /// The lateral shot.
    pub lateral: usize,
    /// The AP shot.
    pub ap: usize,
    /// The reading.
    pub reading: PairReading,
}

/// Every reading of a case.
#[derive(Clone, Debug, PartialEq)]
pub struct CaseReadings {
    /// One for each shot, in the case's order.
    pub shots: Vec<ShotReading>,
    /// One for each matched pair, in the order of the lateral shots.
    pub pairs: Vec<ReadPairOf>,
}

impl ShotReading {
    /// What was found.
    #[must_use]
    pub fn issues(&self) -> &[Issue] {
        match self {
            Self::Lateral(reading) => &reading.issues,
            Self::Ap(reading) => &reading.issues,
            Self::Pedicle(reading) => &reading.issues,
        }
    }

    /// Against the target.
    #[must_use]
    pub fn verdicts(&self) -> &[Verdict] {
        match self {
            Self::Lateral(reading) => &reading.verdicts,
            Self::Ap(reading) => &reading.verdicts,
            Self::Pedicle(reading) => &reading.verdicts,
        }
    }

    /// Standard deviation of each placed mark in millimetres, across its border.
    #[must_use]
    pub fn mark_sds(&self) -> &[(MarkRef, f64)] {
        match self {
            Self::Lateral(reading) => &reading.mark_sds,
            Self::Ap(reading) => &reading.mark_sds,
            Self::Pedicle(reading) => &reading.mark_sds,
        }
    }

    /// Whether there is a reading: a tip that was read, in every coordinate the view gives.
    #[must_use]
    pub fn is_read(&self) -> bool {
        match self {
            Self::Lateral(reading) => reading.tip.is_some(),
            Self::Ap(reading) => reading.tip.is_some(),
            Self::Pedicle(reading) => reading.lateral_offset.is_some(),
        }
    }

    /// Whether there is a height and nothing else, as in an AP whose sides are not known.
    #[must_use]
    pub fn is_height_only(&self) -> bool {
        matches!(self, Self::Ap(reading) if reading.tip.is_none() && reading.height.is_some())
    }

    /// The body map that was read in, for whoever draws; `None` where there is none, and for a draft.
    #[must_use]
    pub fn map(&self) -> Option<&Arc<BodyMap>> {
        match self {
            Self::Lateral(reading) => reading.map.as_ref(),
            Self::Ap(reading) => reading.map.as_ref(),
            Self::Pedicle(_) => None,
        }
    }

    pub(super) fn issues_mut(&mut self) -> &mut Vec<Issue> {
        match self {
            Self::Lateral(reading) => &mut reading.issues,
            Self::Ap(reading) => &mut reading.issues,
            Self::Pedicle(reading) => &mut reading.issues,
        }
    }
}

/// A draft, and a shot without a view, is read as if nothing were marked.
static NO_MARKS: Marks = Marks::new();

/// Reads every shot and every matched pair. `picture` tells what is known of a shot's picture.
#[must_use]
pub fn read_case(
    case: &Case,
    picture: impl Fn(&Shot) -> Picture,
    monte_carlo: Option<MonteCarlo>,
) -> CaseReadings {
    let pictures: Vec<Picture> = case.shots.iter().map(picture).collect();
    let mut shots: Vec<Option<ShotReading>> = vec![None; case.shots.len()];
    let mut read_pairs = Vec::new();
    let refused = refusals(case);
    let errors: Vec<MarkErrors> =
        case.shots.iter().zip(&pictures).map(|(shot, picture)| mark_errors(shot, picture)).collect();
    for (lateral, ap) in pairs(case) {
        let input = |i: usize| input(case, &case.shots[i], &pictures[i], &errors[i], monte_carlo);
        let read = read_pair(&input(lateral), &input(ap));
        shots[lateral] = Some(ShotReading::Lateral(Box::new(read.lateral)));
        shots[ap] = Some(ShotReading::Ap(Box::new(read.ap)));
        read_pairs.push(ReadPairOf { lateral, ap, reading: read.pair });
    }
    let shots = shots
        .into_iter()
        .enumerate()
        .map(|(i, paired)| {
            let input = input(case, &case.shots[i], &pictures[i], &errors[i], monte_carlo);
            let mut reading = paired.unwrap_or_else(|| read_alone(&input));
            add_issues(&mut reading, &case.shots[i], &pictures[i]);
            add_refusals(&mut reading, &refused_of(&refused, i));
            reading
        })
        .collect();
    CaseReadings { shots, pairs: read_pairs }
}

/// Reads one shot, with what its partner lends it, without reading the rest of the case.
#[must_use]
pub fn read_shot(case: &Case, index: usize, picture: impl Fn(&Shot) -> Picture) -> ShotReading {
    read_with_partner(case, index, picture).0
}

/// Reads one shot and the matched pair it belongs to, if it does, without reading the rest of the case.
#[must_use]
pub fn read_with_partner(
    case: &Case,
    index: usize,
    picture: impl Fn(&Shot) -> Picture,
) -> (ShotReading, Option<ReadPairOf>) {
    if let Some(pair) = pairs(case).into_iter().find(|&(lateral, ap)| lateral == index || ap == index) {
        let (lateral, ap, read) = read_matched(case, pair, picture);
        return (if index == read.lateral { lateral } else { ap }, Some(read));
    }
    let refused = refused_of(&refusals(case), index);
    (read_apart(case, index, &picture(&case.shots[index]), &refused), None)
}

/// Reads one shot that belongs to no matched pair, given what is known of its picture and why pairings that were asked
/// for by hand cannot be.
pub(crate) fn read_apart(case: &Case, index: usize, picture: &Picture, refused: &[String]) -> ShotReading {
    let shot = &case.shots[index];
    let mut reading = read_alone(&input(case, shot, picture, &mark_errors(shot, picture), None));
    add_issues(&mut reading, shot, picture);
    add_refusals(&mut reading, refused);
    reading
}

/// Reads the two shots of a matched pair, given by their places, and what they say together.
#[must_use]
pub fn read_matched(
    case: &Case,
    (lateral, ap): (usize, usize),
    picture: impl Fn(&Shot) -> Picture,
) -> (ShotReading, ShotReading, ReadPairOf) {
    let [of_lateral, of_ap] = [lateral, ap].map(|index| picture(&case.shots[index]));
    let refused = refusals(case);
    let [why_lateral, why_ap] = [lateral, ap].map(|index| refused_of(&refused, index));
    read_matched_with(case, (lateral, ap), (&of_lateral, &why_lateral), (&of_ap, &why_ap))
}

/// The same, given of each shot what is known of its picture and why pairings by hand cannot be.
pub(crate) fn read_matched_with(
    case: &Case,
    (lateral, ap): (usize, usize),
    of_lateral: (&Picture, &[String]),
    of_ap: (&Picture, &[String]),
) -> (ShotReading, ShotReading, ReadPairOf) {
    let shots = [&case.shots[lateral], &case.shots[ap]];
    let errors = [mark_errors(shots[0], of_lateral.0), mark_errors(shots[1], of_ap.0)];
    let read = read_pair(
        &input(case, shots[0], of_lateral.0, &errors[0], None),
        &input(case, shots[1], of_ap.0, &errors[1], None),
    );
    let mut readings = [ShotReading::Lateral(Box::new(read.lateral)), ShotReading::Ap(Box::new(read.ap))];
    for (reading, (shot, (picture, refused))) in
        readings.iter_mut().zip(shots.into_iter().zip([of_lateral, of_ap]))
    {
        add_issues(reading, shot, picture);
        add_refusals(reading, refused);
    }
    let [of_lateral, of_ap] = readings;
    (of_lateral, of_ap, ReadPairOf { lateral, ap, reading: read.pair })
}

/// Says of every shot without a scale that it has no millimetres; for whoever asks for them.
pub fn ask_for_mm(case: &Case, readings: &mut CaseReadings) {
    for (shot, reading) in case.shots.iter().zip(&mut readings.shots) {
        reading.ask_for_mm(shot);
    }
}

fn read_alone(input: &ShotInput<'_>) -> ShotReading {
    match input.view {
        View::Lateral => ShotReading::Lateral(Box::new(read_lateral(input))),
        View::Ap => ShotReading::Ap(Box::new(read_ap(input))),
        View::Pedicle => ShotReading::Pedicle(Box::new(read_pedicle(input))),
    }
}

fn input<'a>(
    case: &'a Case,
    shot: &'a Shot,
    picture: &Picture,
    errors: &'a MarkErrors,
    monte_carlo: Option<MonteCarlo>,
) -> ShotInput<'a> {
    let frame = match picture {
        Picture::Present { extent, .. } => Some(*extent),
        Picture::NotLookedAt | Picture::Missing => None,
    };
    ShotInput {
        view: shot.view,
        marks: if shot.marks_count() { &shot.marks } else { &NO_MARKS },
        side: shot.side,
        stage: shot.stage,
        patient_right: shot.patient_right.or(case.patient_right),
        mm_per_px: shot.mm_per_px,
        mm_per_px_sd: shot.mm_per_px_sd,
        frame,
        settings: &case.settings,
        known: Known { level: shot.level, tube: case.tube, cannot_tell: shot.cannot_tell },
        mark_errors: Some(errors),
        lent: Lent::default(),
        monte_carlo,
    }
}

/// Along a border, in millimetres, where a proposal does not say how sure it is.
const PROPOSED_ALONG_MM: f64 = 1.5;

/// The placement errors of single marks that a picture tells of, and of points that are as the program proposed them.
fn mark_errors(shot: &Shot, picture: &Picture) -> MarkErrors {
    let mut errors = MarkErrors::new();
    for (at, _) in shot.marks.placed().filter(|(at, _)| shot.proposed.holds(*at)) {
        let Some(sd) = shot.proposed.sd(at.kind) else { continue };
        let own = (sd.across * sd.across - sd.common * sd.common).max(0.0).sqrt();
        let along_mm = sd.along.unwrap_or(PROPOSED_ALONG_MM);
        let metal = at.kind.material() == Material::Metal;
        let axis = shot.marks.complete(MarkKind::Cannula).and_then(|cannula| {
            let (outer, mouth) = (cannula.first()?, cannula.last()?);
            Some(*mouth - *outer)
        });
        let proposed = match axis.filter(|_| metal) {
            Some(along) => Proposed { across_mm: sd.across, along_mm, along: Some(along) },
            // Without a shaft nothing says which way an instrument lies.
            None if metal => Proposed {
                across_mm: sd.across.max(along_mm),
                along_mm: sd.across.max(along_mm),
                along: None,
            },
            None => Proposed { across_mm: own, along_mm, along: None },
        };
        errors.propose(at, proposed);
        if !metal {
            errors.share(at.kind, sd.common);
        }
    }
    if let Picture::Present { softness, .. } = picture {
        for &(at, softness) in softness.iter().filter(|(_, softness)| *softness != Softness::Sharp) {
            errors.soften(at, softness);
        }
    }
    errors
}

/// A sentence that names the marks whose border has no edge in the picture.
fn no_edge(shot: &Shot, picture: &Picture) -> Option<Issue> {
    let Picture::Present { softness, .. } = picture else { return None };
    let kinds: BTreeSet<MarkKind> = softness
        .iter()
        .filter(|(at, softness)| *softness == Softness::NoEdge && shot.marks.point(*at).is_some())
        .map(|(at, _)| at.kind)
        .collect();
    let names: Vec<&str> = kinds.into_iter().map(MarkKind::name).collect();
    let (last, others) = names.split_last()?;
    let list = if others.is_empty() {
        format!("the {last}")
    } else {
        format!("the {} and the {last}", others.join(", the "))
    };
    Some(Issue::new(
        IssueCode::NoEdge,
        format!(
            "The image shows no edge at marks of {list}, so a marking error of 1.5 mm is assumed there; check them, or mark a sharper image of the same moment."
        ),
    ))
}

/// What is said of a shot whose view nobody has set.
const VIEW_NOT_SET: &str =
    "The view of this shot is not set, so nothing is read from it; set it to lateral, AP or en face pedicle.";

/// What the shot itself and its picture have to say.
fn add_issues(reading: &mut ShotReading, shot: &Shot, picture: &Picture) {
    if !shot.view_set {
        // Which marks are missing hangs on the view.
        *reading.issues_mut() = vec![Issue::new(IssueCode::ViewNotSet, VIEW_NOT_SET)];
    } else if shot.draft {
        for issue in reading.issues_mut().iter_mut().filter(|issue| issue.code == IssueCode::MissingMarks) {
            "These marks were copied from another shot and are still a draft; check each mark, move it where needed, and confirm."
                .clone_into(&mut issue.text);
        }
    }
    if shot.marks_count() {
        reading.issues_mut().extend(half_marked(shot));
        reading.issues_mut().extend(no_edge(shot, picture));
    }
    reading.issues_mut().extend(picture_issue(shot, picture));
    reading.issues_mut().extend(scale_contradicts(shot, picture));
}

fn add_refusals(reading: &mut ShotReading, refused: &[String]) {
    let issues = refused.iter().map(|sentence| Issue::new(IssueCode::PairRefused, sentence.clone()));
    reading.issues_mut().extend(issues);
}

/// The sentences about one shot, of all that are refused.
fn refused_of(refused: &[(usize, String)], index: usize) -> Vec<String> {
    refused.iter().filter(|(of, _)| *of == index).map(|(_, sentence)| sentence.clone()).collect()
}

/// Marks that need not be made, but of which only some points are placed.
fn half_marked(shot: &Shot) -> impl Iterator<Item = Issue> {
    let needed = [MarkKind::SuperiorEndPlate, MarkKind::InferiorEndPlate, MarkKind::Pedicle, MarkKind::Tip];
    let half = move |kind: &MarkKind| {
        kind.belongs_to(shot.view)
            && !needed.contains(kind)
            && kind.count().0 > 1
            && shot.marks.slots(*kind).iter().any(Option::is_some)
            && shot.marks.complete(*kind).is_none()
    };
    MarkKind::ALL.into_iter().filter(half).map(|kind| {
        let text = format!(
            "The {} is only partly marked, so it is not used; complete it or delete it.",
            kind.name()
        );
        Issue::new(IssueCode::HalfMarked, text)
    })
}

fn picture_issue(shot: &Shot, picture: &Picture) -> Option<Issue> {
    match picture {
        Picture::NotLookedAt => None,
        Picture::Missing => Some(Issue::new(
            IssueCode::ImageMissing,
            format!(
                "The image “{}” cannot be opened; the marks are still read. Restore the file or locate it again.",
                shot.image
            ),
        )),
        Picture::Present { digest, .. } => {
            let (marked, now) = (shot.digest.as_ref()?, digest.as_ref()?);
            (marked != now).then(|| {
                Issue::new(
                    IssueCode::FrameChanged,
                    "The image file has changed since it was marked; check that the marks still fit.",
                )
            })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::{Level, MarkKind, Side, Stage};
    use crate::measure::reading::Field;

    fn case() -> Case {
        let mut case = Case::default();
        let mut shot = Shot::new("a", "a.png", View::Lateral);
        shot.stage = Some(Stage::Final);
        shot.level = Some(Level::L4);
        shot.side = Some(Side::Right);
        shot.digest = Some("sha256:1".to_owned());
        shot.marks = shot
            .marks
            .with(MarkKind::SuperiorEndPlate, &[(412.0, 305.0), (268.0, 318.0)])
            .with(MarkKind::InferiorEndPlate, &[(405.0, 398.0), (262.0, 421.0)])
            .with(MarkKind::Tip, &[(365.45, 356.90)]);
        case.shots.push(shot);
        case
    }

    #[test]
    fn a_missing_or_changed_picture_speaks_and_does_not_block() {
        let case = case();
        let codes = |picture: Picture| {
            let readings = read_case(&case, |_| picture.clone(), None);
            assert!(readings.shots[0].is_read());
            readings.shots[0].issues().iter().map(|issue| issue.code).collect::<Vec<_>>()
        };
        let extent = FrameExtent { width: 800, height: 600, field: Field::Whole };
        let present = |digest: &str| Picture::Present {
            extent,
            digest: Some(digest.to_owned()),
            softness: SoftMarks::default(),
            scale_faults: Vec::new(),
        };
        assert!(codes(Picture::NotLookedAt).is_empty());
        assert_eq!(codes(Picture::Missing), [IssueCode::ImageMissing]);
        assert!(codes(present("sha256:1")).is_empty());
        assert_eq!(codes(present("sha256:2")), [IssueCode::FrameChanged]);
    }

    #[test]
    fn millimetres_are_missed_only_where_they_are_asked_for() {
        let mut case = case();
        let mut readings = read_case(&case, |_| Picture::NotLookedAt, None);
        assert!(readings.shots[0].issues().is_empty());
        ask_for_mm(&case, &mut readings);
        assert_eq!(readings.shots[0].issues()[0].code, IssueCode::NoScale);
        assert!(readings.shots[0].is_read());
        case.shots[0].mm_per_px = Some(0.31);
        case.shots[0].mm_per_px_sd = Some(0.0155);
        let mut readings = read_case(&case, |_| Picture::NotLookedAt, None);
        ask_for_mm(&case, &mut readings);
        assert!(readings.shots[0].issues().is_empty());
        let ShotReading::Lateral(reading) = &readings.shots[0] else { panic!("not lateral") };
        let (body, lengths) = (reading.body.unwrap(), reading.lengths.clone().unwrap());
        // 5 % of the scale is 5 % of every length, beside what the marks bring.
        assert!((lengths.depth.mm() - 0.31 * body.depth_px).abs() < 1e-9);
        assert!((lengths.depth.scale - 0.05 * lengths.depth.mm()).abs() < 1e-9);
        let marks = lengths.depth.quantity.sd();
        // By hand: the depth at mid height is the mean of the borders' chords, so each of the four corners moves
        // it by half its own placement along the chord: √4 · ½ · 0.5 mm.
        assert!((marks - 0.5).abs() < 0.005, "{marks}");
        assert!((lengths.depth.sd() - marks.hypot(0.05 * lengths.depth.mm())).abs() < 1e-12);
    }

    #[test]
    fn a_draft_is_not_read() {
        let mut case = case();
        case.shots[0].draft = true;
        let readings = read_case(&case, |_| Picture::NotLookedAt, None);
        assert!(!readings.shots[0].is_read());
        assert!(readings.shots[0].issues()[0].text.contains("draft"));
    }

    #[test]
    fn half_a_mark_is_told_and_not_used() {
        let mut case = case();
        case.shots[0].marks.set(MarkKind::Cannula, vec![Some(crate::geom::point::Point::new(500.0, 300.0))]);
        let readings = read_case(&case, |_| Picture::NotLookedAt, None);
        let issues = readings.shots[0].issues();
        assert!(issues.iter().any(|i| i.code == IssueCode::HalfMarked && i.text.contains("cannula")));
        assert!(readings.shots[0].is_read());
    }

    #[test]
    fn a_pairing_that_cannot_be_is_told() {
        let mut case = case();
        case.shots[0].pair_with = Some("nobody".to_owned());
        let readings = read_case(&case, |_| Picture::NotLookedAt, None);
        assert_eq!(readings.shots[0].issues()[0].code, IssueCode::PairRefused);
        assert_eq!(read_shot(&case, 0, |_| Picture::NotLookedAt), readings.shots[0]);
    }

    #[test]
    fn one_shot_reads_as_it_does_in_its_case() {
        let mut case = case();
        let mut ap = Shot::new("b", "b.png", View::Ap);
        ap.stage = Some(Stage::Final);
        ap.level = Some(Level::L4);
        ap.side = Some(Side::Right);
        ap.marks = ap
            .marks
            .with(MarkKind::SuperiorEndPlate, &[(100.0, 100.0), (250.0, 100.0)])
            .with(MarkKind::InferiorEndPlate, &[(100.0, 190.0), (250.0, 190.0)])
            .with(MarkKind::RightPedicle, &[(115.0, 120.0), (140.0, 120.0)])
            .with(MarkKind::Tip, &[(160.0, 145.0)]);
        case.shots.push(ap);
        let all = read_case(&case, |_| Picture::NotLookedAt, None);
        assert_eq!(all.pairs.len(), 1);
        for index in 0..2 {
            let (shot, pair) = read_with_partner(&case, index, |_| Picture::NotLookedAt);
            assert_eq!((&shot, pair.as_ref()), (&all.shots[index], Some(&all.pairs[0])));
        }
    }
}
