//! What becomes of a still, and how a row of the table is made of many.

use std::fmt::Write as _;

use stillmark::case::document::Case;
use stillmark::case::document::edit::{Description, Edit};
use stillmark::case::document::redaction::Cover;
use stillmark::case::readings::{Picture, ShotReading, read_shot};
use stillmark::geom::point::{Point, Vec2};
use stillmark::measure::mark::{MarkKind, MarkRef, Marks, Stage, View};
use stillmark::phantom::draw::Draw;
use stillmark::phantom::look::Look;
use stillmark::phantom::series::SimulatedShot;
use stillmark::propose::Edge;
use stillmark::propose::further::{Further, Marked, Unmarked, further};
use stillmark::propose::lateral::{Proposal, propose};
use stillmark::propose::trust::Refusal;

use super::stills::{SIDE, Still, Turned, Wanted, look_of, of_one_patient, simulated, stills_of_body};

/// Errors of clicks across the wall and along it: ordinary ones and bad ones.
pub(super) const ORDINARY_MM: (f64, f64) = (0.8, 2.0);
const BAD_MM: (f64, f64) = (2.0, 5.0);
/// A border is off where one of its places lies farther than this from both of its lines.
const OFF_MM: f64 = 3.0;
/// A reader's error of a tip marked by hand, in each direction: what the settings say of marks on metal.
const HAND_MM: f64 = 0.25;

/// A proposed border, in millimetres.
#[derive(Clone, Copy)]
pub(super) struct Border {
    edge: Edge,
    twice: bool,
    /// How far outward of its middle line it lies on average.
    off: f64,
    /// How far its places lie off that average, root mean square.
    own: f64,
    /// What is stated of one mark across it.
    across: f64,
}

impl Border {
    /// Whether the stated 95 % band holds the middle line on average.
    fn holds(&self) -> bool {
        self.off.abs() <= 1.96 * self.across
    }
}

/// What became of a still.
#[derive(Clone, Default)]
pub(super) struct Trial {
    pub(super) accepted: bool,
    pub(super) off: bool,
    /// Distances from the nearer line.
    places: Vec<f64>,
    /// Borders that are said to show twice.
    twice: usize,
    borders: Vec<Border>,
    /// Depth and height of the true tip by the proposed outline, less the truth.
    reading: Option<[f64; 2]>,
    /// Whether the 95 % intervals of depth and height hold the truth when everything is accepted as proposed, and the tip, where
    /// none is proposed, is marked by hand.
    pub(super) within: Option<[bool; 2]>,
    /// Error of the tip, where one is proposed.
    tip: Option<f64>,
    blunt: bool,
}

fn judged(still: &Still, proposal: &Proposal, seed: u64) -> Trial {
    let nearer = still.off_nearer(&proposal.marks);
    let middle = still.off_middle(&proposal.marks);
    let places: Vec<f64> = nearer.iter().flatten().map(|v| v.abs()).collect();
    let border = |edge: Edge| {
        let list = &middle[edge.index()];
        let off = list.iter().sum::<f64>() / list.len() as f64;
        let own = rms(&list.iter().map(|v| v - off).collect::<Vec<f64>>());
        let (twice, across) = (proposal.shows_twice.contains(&edge), proposal.sds[edge.index()].across);
        Border { edge, twice, off, own, across }
    };
    let tip = proposal.tip.ok().zip(still.tip()).map(|(found, tip)| found.point.distance(tip) * still.mm());
    let by_hand = still.tip().map(|tip| {
        let mut draw = Draw::new(seed.wrapping_mul(11) + 3);
        tip + Vec2::new(draw.normal(0.0, HAND_MM), draw.normal(0.0, HAND_MM)) / still.mm()
    });
    Trial {
        accepted: true,
        off: places.iter().any(|v| *v > OFF_MM),
        places,
        twice: proposal.shows_twice.len(),
        borders: Edge::ALL.map(border).into(),
        reading: still.tip().and_then(|tip| read(still, proposal, Some(tip))).map(|(off, _)| off),
        within: by_hand
            .and_then(|tip| read(still, proposal, proposal.tip.is_err().then_some(tip)))
            .map(|(off, sd)| std::array::from_fn(|i| off[i].abs() <= 1.96 * sd[i])),
        tip,
        blunt: still.simulated.subject.stage != Stage::PosteriorWall,
    }
}

/// Errors of depth and height, and their stated standard deviations, with the outline accepted as proposed and the tip put at
/// `tip`, or left where it is proposed.
fn read(still: &Still, proposal: &Proposal, tip: Option<Point>) -> Option<([f64; 2], [f64; 2])> {
    let mut case = Case { shots: vec![still.shot.clone()].into(), ..Case::default() };
    let id = still.shot.id.clone();
    let (marks, proposed) = proposal.draft_of(&Marks::new());
    let mut edits = vec![
        Edit::SetDraft { shot: id.clone(), marks, proposed: Box::new(proposed) },
        Edit::Describe { shot: id.clone(), what: Description::Draft(false) },
    ];
    edits.extend(tip.map(|to| Edit::Place { shot: id, at: MarkRef { kind: MarkKind::Tip, index: 0 }, to }));
    edits.iter().try_for_each(|edit| case.apply(edit)).ok()?;
    off_the_truth(&still.simulated, &case)
}

/// Errors of depth and height of a simulated still's body at the true tip, seen this way, by the true middle lines.
pub(super) fn by_exact_marks(seed: u64, way: u64, turned: Turned) -> Option<[f64; 2]> {
    let (look, _) = look_of(seed ^ (way << 50), turned);
    let (mut shot, simulated) = simulated(seed, stage_of(seed), &look, None);
    shot.marks = simulated.true_marks();
    let case = Case { shots: vec![shot].into(), ..Case::default() };
    off_the_truth(&simulated, &case).map(|(off, _)| off)
}

/// Errors of depth and height of a case's only shot, and their stated standard deviations.
fn off_the_truth(simulated: &SimulatedShot, case: &Case) -> Option<([f64; 2], [f64; 2])> {
    let ShotReading::Lateral(reading) = read_shot(case, 0, |_| Picture::NotLookedAt) else { return None };
    let truth = simulated.truth.lateral?.curved;
    let place = reading.tip.as_ref()?;
    let off = [place.along.value - truth.along, place.height.value - truth.height];
    Some((off, [place.along.sd(), place.height.sd()]))
}

/// The stages in turn.
pub(super) fn stage_of(seed: u64) -> Stage {
    match seed % 3 {
        0 => Stage::PosteriorWall,
        1 => Stage::Stylet,
        _ => Stage::Final,
    }
}

/// Two clicks in a still, off by normal errors.
fn clicked(still: &Still, seed: u64, sd: (f64, f64)) -> Trial {
    let clicks = still.clicks(sd, &mut Draw::new(seed.wrapping_mul(7) + 1));
    propose(&still.frame, &[], clicks, Some(still.mm()))
        .map_or_else(|_| Trial::default(), |proposal| judged(still, &proposal, seed))
}

/// A body seen in each of these ways: ordinary clicks in each still, and then bad ones in the first.
pub(super) fn laterals(seed: u64, ways: &[Turned]) -> Vec<Trial> {
    let stills = stills_of_body(seed, stage_of(seed), ways);
    let mut all: Vec<Trial> =
        (0_u64..).zip(&stills).map(|(way, still)| clicked(still, seed ^ (way << 50), ORDINARY_MM)).collect();
    all.extend(stills.first().map(|still| clicked(still, seed ^ (60 << 50), BAD_MM)));
    all
}

/// How a shot and further ones are taken of a body, the C-arm moved by each of these angles: the stage of the first, and of the
/// further ones.
pub(super) fn moved_looks(seed: u64, [first, then]: [Stage; 2], angles_deg: &[f64]) -> Vec<Wanted> {
    let mut draw = Draw::new(seed ^ 0x66_75_72);
    let mirrored = draw.coin();
    let mut look = |turn: f64, tilt: f64| Look {
        side_px: SIDE,
        turn_deg: Some(turn),
        tilt_deg: Some(tilt),
        roll_deg: Some(draw.between(-6.0, 6.0)),
        dose: Some(draw.between(0.3, 2.0)),
        mirrored,
        words: draw.coin(),
        mm_per_px: Some(draw.between(0.28, 0.34)),
        off_axis: Some([draw.between(-20.0, 20.0), draw.between(-20.0, 20.0)]),
        ..Look::default()
    };
    let angle = seed as f64 * 2.4;
    let mut wanted = vec![Wanted { stage: first, look: look(0.5, -0.5), inverted: seed.is_multiple_of(3) }];
    wanted.extend(angles_deg.iter().map(|deg| Wanted {
        stage: then,
        look: look(deg * angle.cos(), deg * angle.sin()),
        inverted: seed.is_multiple_of(4),
    }));
    wanted
}

/// Further laterals of a body, the instrument further on than in the marked one, the C-arm moved by each of these angles.
pub(super) fn further_laterals(seed: u64, angles_deg: &[f64]) -> Vec<Trial> {
    let stills = of_one_patient(seed, &moved_looks(seed, [Stage::Stylet, Stage::Final], angles_deg));
    let Some((first, others)) = stills.split_first() else { return Vec::new() };
    let one = |second: &Still| match again(first, second, &[]) {
        Ok(Further::Outline(proposal, _)) => judged(second, &proposal, seed),
        _ => Trial::default(),
    };
    others.iter().map(one).collect()
}

/// What the marks of one still propose in another of the body, parts of which are covered.
pub(super) fn again(first: &Still, second: &Still, covers: &[Cover]) -> Result<Further, Refusal> {
    let marked = Marked {
        frame: &first.frame,
        covers: &[],
        marks: &first.middle,
        view: View::Lateral,
        mm_per_px: Some(first.mm()),
    };
    further(marked, Unmarked { frame: &second.frame, covers, mm_per_px: Some(second.mm()) })
}

/// Results on two threads, in the order of their seeds.
pub(super) fn in_two<T: Send>(n: u64, one: impl Fn(u64) -> T + Sync) -> Vec<T> {
    let run = |from: u64, to: u64| -> Vec<T> { (from..to).map(&one).collect() };
    std::thread::scope(|scope| {
        let second = scope.spawn(|| run(n / 2, n));
        let mut all = run(0, n / 2);
        all.extend(second.join().expect("the second half"));
        all
    })
}

fn quantile(mut list: Vec<f64>, share: f64) -> f64 {
    list.sort_by(f64::total_cmp);
    let last = list.len().saturating_sub(1);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a place in a list")]
    let at = (share * last as f64).round() as usize;
    list.get(at).copied().unwrap_or(f64::NAN)
}

pub(super) fn rms(list: &[f64]) -> f64 {
    (list.iter().map(|v| v * v).sum::<f64>() / list.len().max(1) as f64).sqrt()
}

pub(super) fn share(list: impl Iterator<Item = bool>) -> String {
    let all: Vec<bool> = list.collect();
    let yes = all.iter().filter(|v| **v).count();
    format!("{yes} of {}", all.len())
}

/// Median, 90 % and the largest of a list; a dash where there is none.
fn three(list: &[f64], places: usize) -> String {
    if list.is_empty() {
        return "–".to_owned();
    }
    let of = |share: f64| quantile(list.to_vec(), share);
    format!("{:.2} / {:.2} / {:.places$}", of(0.5), of(0.9), of(1.0))
}

/// Root mean squares of errors of depth and height; a dash where nothing was read.
pub(super) fn depth_and_height(errors: &[[f64; 2]]) -> String {
    let of = |i: usize| rms(&errors.iter().map(|e| e[i]).collect::<Vec<f64>>());
    if errors.is_empty() { "–".to_owned() } else { format!("{:.4} / {:.4}", of(0), of(1)) }
}

/// A row of the first table.
pub(super) fn row(page: &mut String, what: &str, all: &[Trial]) {
    let places: Vec<f64> = all.iter().flat_map(|t| t.places.clone()).collect();
    let readings: Vec<[f64; 2]> = all.iter().filter_map(|t| t.reading).collect();
    let reading = depth_and_height(&readings);
    let blunt: Vec<&Trial> = all.iter().filter(|t| t.accepted && t.blunt).collect();
    let tips: Vec<f64> = blunt.iter().filter_map(|t| t.tip).collect();
    let accepted = all.iter().filter(|t| t.accepted).count();
    let off = all.iter().filter(|t| t.off).count();
    let held = share(all.iter().flat_map(|t| &t.borders).map(Border::holds));
    let twice: usize = all.iter().map(|t| t.twice).sum();
    let proposed = format!("{} of {}", tips.len(), blunt.len());
    let (places, tips) = (three(&places, 1), three(&tips, 1));
    writeln!(
        page,
        "| {what} | {} | {accepted} | {off} | {places} | {held} | {twice} | {reading} | {proposed} | {tips} |",
        all.len(),
    )
    .expect("a text can be written to");
}

/// The rows of borders: for each border, seen once and seen twice, how far it lies off its middle line.
pub(super) fn border_rows(page: &mut String, what: &str, all: &[Trial]) {
    for (edge, twice) in Edge::ALL.into_iter().flat_map(|edge| [(edge, false), (edge, true)]) {
        let of = |b: &&Border| b.edge == edge && b.twice == twice;
        let list: Vec<Border> = all.iter().flat_map(|t| &t.borders).filter(of).copied().collect();
        if list.is_empty() {
            continue;
        }
        let column = |value: fn(&Border) -> f64| list.iter().map(value).collect::<Vec<f64>>();
        let (off, own, across) = (column(|b| b.off), column(|b| b.own), column(|b| b.across));
        let mean = off.iter().sum::<f64>() / off.len() as f64;
        let most = quantile(off.iter().map(|v| v.abs()).collect(), 0.95);
        let named = if twice { "said to show twice" } else { "shows once" };
        let held = share(list.iter().map(Border::holds));
        writeln!(
            page,
            "| {what} | {}, {named} | {} | {mean:+.2} | {:.2} | {most:.2} | {:.2} | {:.2} | {held} |",
            edge.name(),
            list.len(),
            rms(&off),
            rms(&own),
            rms(&across),
        )
        .expect("a text can be written to");
    }
}
