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
use stillmark::propose::Edge;
use stillmark::propose::further::{Further, Marked, Unmarked, further};
use stillmark::propose::lateral::{Proposal, propose};
use stillmark::propose::trust::Refusal;

use super::stills::{SIDE, Still, Turned, shown, still};

/// A border is off where one of its places lies farther than this from both of its lines.
const OFF_MM: f64 = 3.0;
/// A reader's error of a tip marked by hand, in each direction (method, section 4).
const HAND_MM: f64 = 0.5;

/// What became of a still.
#[derive(Default)]
pub(super) struct Trial {
    pub(super) accepted: bool,
    pub(super) off: bool,
    /// Distances from the nearer line.
    places: Vec<f64>,
    /// Borders that are said to show twice.
    twice: usize,
    /// For each border whether its stated 95 % band holds its middle line on average.
    held: Vec<bool>,
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
    let held = Edge::ALL
        .into_iter()
        .map(|edge| {
            let list = &middle[edge.index()];
            let mean = list.iter().sum::<f64>() / list.len() as f64;
            mean.abs() <= 1.96 * proposal.sds[edge.index()].across
        })
        .collect();
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
        held,
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
    let ShotReading::Lateral(reading) = read_shot(&case, 0, |_| Picture::NotLookedAt) else { return None };
    let truth = still.simulated.truth.lateral?.curved;
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

pub(super) fn first_lateral(seed: u64, turned: Turned, sd: (f64, f64)) -> Trial {
    let still = still(seed, stage_of(seed), turned);
    let clicks = still.clicks(sd, &mut Draw::new(seed.wrapping_mul(7) + 1));
    match propose(&still.frame, &[], clicks, Some(still.mm())) {
        Ok(proposal) => judged(&still, &proposal, seed),
        Err(_) => Trial { blunt: still.simulated.subject.stage != Stage::PosteriorWall, ..Trial::default() },
    }
}

/// A further lateral of the same body, the instrument further on, the C-arm moved by `deg`.
pub(super) fn further_lateral(seed: u64, deg: f64) -> Trial {
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
    let looks = [look(0.5, -0.5), look(deg * angle.cos(), deg * angle.sin())];
    let first = shown(seed, Stage::Stylet, &looks[0], seed.is_multiple_of(3));
    let second = shown(seed, Stage::Final, &looks[1], seed.is_multiple_of(4));
    match again(&first, &second, &[]) {
        Ok(Further::Outline(proposal, _)) => judged(&second, &proposal, seed),
        _ => Trial { blunt: true, ..Trial::default() },
    }
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

/// Trials on two threads.
pub(super) fn trials(n: u64, one: impl Fn(u64) -> Trial + Sync) -> Vec<Trial> {
    in_two(n, one)
}

fn quantile(mut list: Vec<f64>, share: f64) -> f64 {
    list.sort_by(f64::total_cmp);
    let last = list.len().saturating_sub(1);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a place in a list")]
    let at = (share * last as f64).round() as usize;
    list.get(at).copied().unwrap_or(f64::NAN)
}

fn rms(list: &[f64]) -> f64 {
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

/// A row of the first table.
pub(super) fn row(page: &mut String, what: &str, all: &[Trial]) {
    let places: Vec<f64> = all.iter().flat_map(|t| t.places.clone()).collect();
    let readings: Vec<[f64; 2]> = all.iter().filter_map(|t| t.reading).collect();
    let of = |i: usize| rms(&readings.iter().map(|r| r[i]).collect::<Vec<f64>>());
    let reading = if readings.is_empty() { "–".to_owned() } else { format!("{:.4} / {:.4}", of(0), of(1)) };
    let blunt: Vec<&Trial> = all.iter().filter(|t| t.accepted && t.blunt).collect();
    let tips: Vec<f64> = blunt.iter().filter_map(|t| t.tip).collect();
    let accepted = all.iter().filter(|t| t.accepted).count();
    let off = all.iter().filter(|t| t.off).count();
    let held = share(all.iter().flat_map(|t| t.held.clone()));
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
