//! AP and en face marks copied by registration to a further shot of the body: how far they lie off the true ones, whether what is
//! stated of them holds, and the offset from the midline that is read by them.

use std::fmt::Write as _;

use stillmark::case::document::edit::{Description, Edit};
use stillmark::case::document::proposed::ProposedMarks;
use stillmark::case::document::redaction::Cover;
use stillmark::case::document::{Case, Shot};
use stillmark::case::image::frame::Frame;
use stillmark::case::readings::{Picture, ShotReading, read_shot};
use stillmark::geom::affine::Affine;
use stillmark::geom::point::{Point, Vec2};
use stillmark::measure::mark::{MarkKind, MarkRef, Marks, Material, Stage, View};
use stillmark::phantom::anatomy::part::Part as PatientPart;
use stillmark::phantom::draw::Draw;
use stillmark::phantom::scenario::placed_with_error;
use stillmark::phantom::series::{SimulatedShot, WantedShots, drawn};
use stillmark::propose::further::{Marked, Unmarked, further};

use super::refusals::box_of;
use super::stills::{SIDE, Wanted, frame_of, in_reverse, of_patient};
use super::trial::{in_two, moved_looks, rms, share};

/// A reader's errors of a mark on bone and on metal, in each direction, in millimeters: what the settings say.
const HAND_MM: [f64; 2] = [0.5, 0.25];
/// Marks that lie farther than this off the true ones on average are another level's.
const ELSEWHERE_MM: f64 = 15.0;
/// Along a border, in millimeters, where a draft does not say how sure it is: what readings take.
const ALONG_MM: f64 = 1.5;
/// How far the C-arm is moved between the marked shot and the further one, in degrees.
const MOVED: [&str; 3] = ["1.4°", "3–5°", "8°"];

/// What is marked, and in which direction it is looked at.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Part {
    Plates,
    Corners,
    Walls,
    Pedicles,
    Spinous,
    Midline,
    Heights,
    Widths,
}

const OF_AP: [Part; 6] =
    [Part::Plates, Part::Corners, Part::Walls, Part::Pedicles, Part::Spinous, Part::Midline];
const OF_EN_FACE: [Part; 2] = [Part::Heights, Part::Widths];

impl Part {
    const fn name(self) -> &'static str {
        match self {
            Self::Plates => "endplates and corners, across the endplate",
            Self::Corners => "corners, along the endplate",
            Self::Walls => "walls",
            Self::Pedicles => "pedicles' borders",
            Self::Spinous => "spinous process",
            Self::Midline => "midline by the pedicles",
            Self::Heights => "pedicle's superior and inferior border",
            Self::Widths => "pedicle's medial and lateral border",
        }
    }
}

/// One place: how far the registration alone puts it off, how far it lies off in all, and the standard deviation stated.
#[derive(Clone, Copy)]
struct OffPlace {
    part: Part,
    copied: f64,
    all: f64,
    stated: f64,
}

/// An offset from the midline, less the truth, and its stated standard deviation.
type OffsetError = Option<[f64; 2]>;

/// What became of a further AP or en face shot.
#[derive(Clone, Default)]
pub(super) struct DraftTrial {
    copied: bool,
    /// Whether the marks lie on another level: nothing else is counted of these.
    elsewhere: bool,
    places: Vec<OffPlace>,
    /// Marked by hand; as copied; as copied with the pedicles marked anew.
    offsets: [OffsetError; 3],
}

/// A still of an AP or en face view and its true marks.
struct FrontStill {
    frame: Frame,
    shot: Shot,
    simulated: SimulatedShot,
    exact: Marks,
}

impl FrontStill {
    fn mm(&self) -> f64 {
        self.simulated.pose.mm_per_px
    }

    fn marked<'a>(&'a self, marks: &'a Marks) -> Marked<'a> {
        let view = self.shot.view;
        Marked { frame: &self.frame, covers: &[], marks, view, mm_per_px: Some(self.mm()) }
    }

    fn unmarked<'a>(&'a self, covers: &'a [Cover]) -> Unmarked<'a> {
        Unmarked { frame: &self.frame, covers, mm_per_px: Some(self.mm()) }
    }

    /// The true marks as a reader places them.
    fn by_hand(&self, seed: u64) -> Marks {
        let [bone, metal] = HAND_MM;
        placed_with_error(&self.exact, bone, metal, self.mm(), &mut Draw::new(seed ^ 0x6861_6e64))
    }
}

/// Stills of a seed's body in one view; the patient is made once for all views but lateral ones.
fn front_stills(
    seed: u64,
    view: View,
    wanted: &[Wanted],
    patient: &mut Option<Vec<PatientPart>>,
) -> Vec<FrontStill> {
    let one = |(number, Wanted { stage, look, inverted }): (u64, &Wanted)| {
        let wanted = WantedShots { view: Some(view), stage: Some(*stage), ..WantedShots::default() };
        let mut series = drawn(seed, wanted, look);
        let (shot, mut simulated) = (series.case.shots.remove(0), series.shots.remove(0));
        simulated.technique.seed = seed.wrapping_mul(1000).wrapping_add(700 + number);
        let samples = of_patient(&simulated, patient);
        let frame = frame_of(SIDE, if *inverted { in_reverse(samples) } else { samples });
        FrontStill { frame, shot, exact: simulated.true_marks(), simulated }
    };
    (0..).zip(wanted).map(one).collect()
}

/// A view, and the stages of its marked shot and of further ones.
type Views = (View, Stage, Stage);
const AP: Views = (View::Ap, Stage::Stylet, Stage::Final);
const EN_FACE: Views = (View::Pedicle, Stage::Docking, Stage::Docking);

/// Further AP and then en face shots of a body, the C-arm moved by each of the angles.
pub(super) fn further_fronts(seed: u64) -> [Vec<DraftTrial>; 2] {
    let mut patient = None;
    [AP, EN_FACE].map(|views| further_shots(seed, views, &mut patient))
}

fn further_shots(
    seed: u64,
    (view, first, then): Views,
    patient: &mut Option<Vec<PatientPart>>,
) -> Vec<DraftTrial> {
    let between = 3.0 + 2.0 * (seed as f64 * 0.618_034).fract();
    let wanted = moved_looks(seed, [first, then], &[1.4, between, 8.0]);
    let stills = front_stills(seed, view, &wanted, patient);
    let Some((first, others)) = stills.split_first() else { return Vec::new() };
    (0..).zip(others).map(|(number, other)| copied(first, other, seed + (number << 40))).collect()
}

/// A spine looks nearly the same the other way round: this body's AP turned by some degrees was taken for its mirror image, and right
/// and left changed places.
#[test]
fn an_ap_is_not_taken_for_its_mirror_image() {
    let found = further_shots((36 << 20) + 30, AP, &mut None);
    let [near, far, _] = found.as_slice() else { panic!("three further shots") };
    assert!(near.copied && far.copied && !near.elsewhere && !far.elsewhere);
}

/// Whether nothing is copied where only the body's neighbors are left in the further AP.
pub(super) fn is_covered_refused(seed: u64) -> bool {
    let wanted = moved_looks(seed, [Stage::Stylet, Stage::Final], &[1.4]);
    let stills = front_stills(seed, View::Ap, &wanted, &mut None);
    let [first, second] = stills.as_slice() else { return false };
    let bone = |(at, p): (MarkRef, Point)| (at.kind.material() == Material::Bone).then_some(p);
    let all: Vec<Point> = second.exact.placed().filter_map(bone).collect();
    let covers = [box_of(&all)];
    let marks = first.by_hand(seed);
    further(first.marked(&marks), second.unmarked(&covers)).is_err()
}

/// What the marks of one still, placed by hand, give in another one of the body.
fn copied(first: &FrontStill, second: &FrontStill, seed: u64) -> DraftTrial {
    let marks = first.by_hand(seed);
    let Ok(found) = further(first.marked(&marks), second.unmarked(&[])) else { return DraftTrial::default() };
    let (draft, proposed) = found.draft_of(&Marks::new());
    let anew = second.by_hand(seed ^ 1);
    let offset = |draft: &Marks, proposed: &ProposedMarks, by_hand: &[MarkKind]| {
        offset(second, draft, proposed, &anew, by_hand)
    };
    let pedicles = [MarkKind::RightPedicle, MarkKind::LeftPedicle];
    let all: Vec<MarkKind> = anew.kinds().collect();
    let offsets = match second.shot.view {
        View::Ap => [&all[..], &[], &pedicles].map(|by_hand| offset(&draft, &proposed, by_hand)),
        View::Lateral | View::Pedicle => [None; 3],
    };
    let far: Vec<f64> = draft
        .placed()
        .filter_map(|(at, p)| Some(p.distance(second.exact.point(at)?) * second.mm()))
        .collect();
    if far.iter().sum::<f64>() > ELSEWHERE_MM * far.len() as f64 {
        return DraftTrial { copied: true, elsewhere: true, ..DraftTrial::default() };
    }
    DraftTrial {
        copied: true,
        elsewhere: false,
        places: places(first, second, &marks, (&draft, &proposed)).unwrap_or_default(),
        offsets,
    }
}

/// How far the copied marks lie off the true ones.
fn places(
    first: &FrontStill,
    second: &FrontStill,
    marks: &Marks,
    (draft, proposed): (&Marks, &ProposedMarks),
) -> Option<Vec<OffPlace>> {
    // What the registration does to the marks it does to every place; by it the true ones are carried, too.
    let pairs: Vec<(Point, Point)> =
        draft.placed().filter_map(|(at, to)| marks.point(at).map(|from| (from, to))).collect();
    let map = Affine::fit(&pairs)?;
    let carried = first.exact.map(|p| map.apply(p));
    let (across, down) = directions(&second.exact)?;
    let mm = second.mm();
    let mut list = Vec::new();
    for (at, _) in draft.placed() {
        let (Some(found), Some(copied), Some(truth), Some(sd)) =
            (draft.point(at), carried.point(at), second.exact.point(at), proposed.sd(at.kind))
        else {
            continue;
        };
        let mut put = |part: Part, way: Vec2, stated: f64| {
            let [copied, all] = [copied, found].map(|p| (p - truth).dot(way) * mm);
            list.push(OffPlace { part, copied, all, stated });
        };
        let last = draft.slots(at.kind).len() - 1;
        match at.kind {
            MarkKind::SuperiorEndPlate | MarkKind::InferiorEndPlate => {
                put(Part::Plates, down, sd.across);
                if at.index == 0 || at.index == last {
                    put(Part::Corners, across, sd.along.unwrap_or(ALONG_MM));
                }
            }
            MarkKind::RightWall | MarkKind::LeftWall => put(Part::Walls, across, sd.across),
            MarkKind::RightPedicle | MarkKind::LeftPedicle => put(Part::Pedicles, across, sd.across),
            MarkKind::SpinousProcess => put(Part::Spinous, across, sd.across),
            MarkKind::Pedicle if at.index < 2 => put(Part::Heights, down, sd.across),
            MarkKind::Pedicle => put(Part::Widths, across, sd.across),
            _ => {}
        }
    }
    let medial = |marks: &Marks| {
        let of = |kind| marks.point(MarkRef { kind, index: 1 });
        Some(of(MarkKind::RightPedicle)?.midpoint(of(MarkKind::LeftPedicle)?))
    };
    if let (Some(found), Some(copied), Some(truth)) = (medial(draft), medial(&carried), medial(&second.exact))
    {
        let [copied, all] = [copied, found].map(|p| (p - truth).dot(across) * mm);
        let sds = [MarkKind::RightPedicle, MarkKind::LeftPedicle].map(|kind| proposed.sd(kind));
        let stated = 0.5 * sds[0]?.across.hypot(sds[1]?.across);
        list.push(OffPlace { part: Part::Midline, copied, all, stated });
    }
    Some(list)
}

/// Across the body and down in the picture, a pixel long.
fn directions(marks: &Marks) -> Option<(Vec2, Vec2)> {
    if let Some(pedicle) = marks.complete(MarkKind::Pedicle) {
        return Some(((pedicle[3] - pedicle[2]).normalized()?, (pedicle[1] - pedicle[0]).normalized()?));
    }
    let plate = marks.complete(MarkKind::SuperiorEndPlate)?;
    let across = (*plate.last()? - *plate.first()?).normalized()?;
    Some((across, across.perpendicular()))
}

/// The offset from the pedicles' midline less the truth, by a draft that is accepted with these marks placed by hand, the tip in any
/// case.
fn offset(
    still: &FrontStill,
    draft: &Marks,
    proposed: &ProposedMarks,
    anew: &Marks,
    by_hand: &[MarkKind],
) -> OffsetError {
    let mut case = Case { shots: vec![still.shot.clone()].into(), ..Case::default() };
    let shot = still.shot.id.clone();
    let mut edits = vec![
        Edit::SetDraft { shot: shot.clone(), marks: draft.clone(), proposed: Box::new(proposed.clone()) },
        Edit::Describe { shot: shot.clone(), what: Description::Draft(false) },
    ];
    for (at, to) in anew.placed() {
        if at.kind == MarkKind::Tip || (by_hand.contains(&at.kind) && !draft.slots(at.kind).is_empty()) {
            edits.push(Edit::Place { shot: shot.clone(), at, to });
        }
    }
    edits.iter().try_for_each(|edit| case.apply(edit)).ok()?;
    let ShotReading::Ap(reading) = read_shot(&case, 0, |_| Picture::NotLookedAt) else { return None };
    let found = reading.midline_by.pedicles?;
    Some([found.value - still.simulated.truth.beside?.pedicles, found.sd()])
}

/// The rows of copied marks, and those of the offsets read by them: the first bodies whatever the angle, then all of each angle.
pub(super) fn draft_rows(bodies: &[[Vec<DraftTrial>; 2]], first: usize) -> [String; 2] {
    let (mut marks, mut offsets) = (String::new(), String::new());
    for (view, (name, parts)) in [("AP", &OF_AP[..]), ("en face", &OF_EN_FACE[..])].into_iter().enumerate() {
        let mut line = |what: &str, list: &[&DraftTrial]| {
            mark_rows(&mut marks, &format!("{name}, {what}"), parts, list);
            if name == "AP" {
                offset_row(&mut offsets, &format!("{name}, {what}"), list);
            }
        };
        let of_first: Vec<&DraftTrial> = bodies[..first].iter().flat_map(|body| &body[view]).collect();
        line("all angles, the first", &of_first);
        if bodies.len() > first {
            for (which, moved) in MOVED.into_iter().enumerate() {
                let list: Vec<&DraftTrial> = bodies.iter().filter_map(|body| body[view].get(which)).collect();
                line(&format!("{moved}, all"), &list);
            }
        }
    }
    [marks, offsets]
}

fn mark_rows(page: &mut String, what: &str, parts: &[Part], list: &[&DraftTrial]) {
    let copied = list.iter().filter(|t| t.copied).count();
    let elsewhere = list.iter().filter(|t| t.elsewhere).count();
    for part in parts {
        let of: Vec<OffPlace> =
            list.iter().flat_map(|t| &t.places).filter(|p| p.part == *part).copied().collect();
        let column = |value: fn(&OffPlace) -> f64| rms(&of.iter().map(value).collect::<Vec<f64>>());
        let held = share(of.iter().map(|p| p.all.abs() <= 1.96 * p.stated));
        writeln!(
            page,
            "| {what} | {copied} of {} | {elsewhere} | {} | {:.2} | {:.2} | {:.2} | {held} |",
            list.len(),
            part.name(),
            column(|p| p.copied),
            column(|p| p.all),
            column(|p| p.stated),
        )
        .expect("a text can be written to");
    }
}

fn offset_row(page: &mut String, what: &str, list: &[&DraftTrial]) {
    let cell = |i: usize| {
        let errors: Vec<[f64; 2]> = list.iter().filter_map(|t| t.offsets[i]).collect();
        let held = share(errors.iter().map(|[off, sd]| off.abs() <= 1.96 * sd));
        format!("{:.4} | {held}", rms(&errors.iter().map(|[off, _]| *off).collect::<Vec<f64>>()))
    };
    writeln!(page, "| {what} | {} | {} | {} |", cell(0), cell(1), cell(2)).expect("a text can be written to");
}

/// Further AP and en face shots of so many bodies.
pub(super) fn all_fronts(n: usize) -> Vec<[Vec<DraftTrial>; 2]> {
    in_two(n as u64, |seed| further_fronts((36 << 20) + seed))
}
