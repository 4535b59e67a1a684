//! A shape fitted to a picture: borders are looked for near the shape, the shape follows them as far as clicks and what is
//! usual let it, from coarse to fine.

use crate::geom::linear;
use crate::geom::point::{Point, Vec2};
use crate::propose::edge::{CLEAR, Found, find};
use crate::propose::model::{Edge, N, Prior, Shape, Target, locate, nudged, sampled, shares};
use crate::propose::patch::Patch;

/// Something seen by a person: where a part of the body lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Observation {
    pub(crate) target: Target,
    /// In patch millimetres.
    pub(crate) at: Point,
    /// Standard deviations along x and y of the patch, in millimetres.
    pub(crate) sd: Vec2,
}

/// One round of looking: how far, at which blur, how stiff the path, how sure its places.
#[derive(Clone, Copy, Debug)]
struct Round {
    reach: f64,
    blur: usize,
    stiffness: f32,
    sd: f64,
}

const fn round(reach: f64, blur: usize, stiffness: f32, sd: f64) -> Round {
    Round { reach, blur, stiffness, sd }
}

/// From coarse to fine, each twice.
const ROUNDS: [Round; 6] = [
    round(5.0, 0, 0.02, 1.6),
    round(4.0, 1, 0.03, 1.3),
    round(3.0, 2, 0.04, 1.0),
    round(2.0, 3, 0.05, 0.9),
    round(1.5, 3, 0.06, 0.8),
    round(1.2, 4, 0.06, 0.8),
];
/// Rounds that follow a drag: the shape is nearly right already.
const LAST_ROUNDS: usize = 2;
/// Where a border may lie off its start, in standard deviations of what is left open, and at least.
const REACH_SD: f64 = 2.5;
const LEAST_REACH: f64 = 1.2;
/// A border on which a person has put a point as sure as this across it and as unsure along it, in millimetres, is looked for
/// no farther away than the least: it is where it was clicked, and what answers elsewhere is another border.
const TOLD_SD: f64 = 1.0;
const TOLD_ALONG: f64 = 5.0;
/// What is found along such a border counts by this share: it was asked for because the image says little there.
const TOLD_SHARE: f64 = 0.2;
/// Ends of borders count less: corners are rounded, or have spurs.
const END: f64 = 0.12;
const LEAST_AT_END: f64 = 0.15;
/// Places this many standard deviations off count half, once the search is fine.
const FAR_SD: f64 = 2.5;
const FINE_SD: f64 = 1.2;
/// Step of the differences that give slopes.
const STEP: f64 = 1e-4;
/// The most a number may move in one step, in standard deviations of what is usual.
const MOST_SD: f64 = 3.0;

type Matrix = [[f64; N]; N];

/// A fitted shape and what was found along its borders last.
#[derive(Clone, Debug)]
pub(crate) struct Fit {
    pub(crate) shape: Shape,
    pub(crate) found: [Found; 4],
}

/// The shape that clicks and what is usual give.
pub(crate) fn start(prior: &Prior, clicks: &[Observation]) -> Option<Shape> {
    let mut shape = prior.mean;
    for _ in 0..3 {
        let (mut matrix, mut right) = usual(prior, &shape);
        observe(&shape, clicks, &mut matrix, &mut right);
        let step = linear::solve(matrix, right)?;
        shape = std::array::from_fn(|i| shape[i] + step[i]);
    }
    Some(shape)
}

/// The shape fitted from a start; clicks hold it.
pub(crate) fn fit(patch: &Patch, prior: &Prior, from: Shape, clicks: &[Observation]) -> Option<Fit> {
    rounds(patch, prior, from, clicks, &ROUNDS)
}

/// The shape fitted again from one that is nearly right.
pub(crate) fn fit_again(patch: &Patch, prior: &Prior, from: Shape, clicks: &[Observation]) -> Option<Fit> {
    rounds(patch, prior, from, clicks, &ROUNDS[ROUNDS.len() - LAST_ROUNDS..])
}

fn rounds(
    patch: &Patch,
    prior: &Prior,
    from: Shape,
    clicks: &[Observation],
    rounds: &[Round],
) -> Option<Fit> {
    let mut shape = from;
    let reaches = reaches(prior, &shape, clicks)?;
    for round in rounds {
        for _ in 0..2 {
            let found = search(patch, &shape, round, &reaches);
            shape = step(prior, &shape, clicks, &found, round.sd)?;
        }
    }
    Some(Fit { found: look(patch, &shape), shape })
}

/// The shape moved so that each border lies `corrections` millimetres outward of where it was found.
pub(crate) fn moved(
    prior: &Prior,
    shape: &Shape,
    clicks: &[Observation],
    found: &[Found; 4],
    corrections: &[f64; 4],
) -> Option<Shape> {
    let mut corrected = found.clone();
    for (found, correction) in corrected.iter_mut().zip(corrections) {
        found.off.iter_mut().for_each(|off| *off += correction);
    }
    step(prior, shape, clicks, &corrected, ROUNDS[ROUNDS.len() - 1].sd)
}

/// What lies along the borders of a shape, in the finest way.
pub(crate) fn look(patch: &Patch, shape: &Shape) -> [Found; 4] {
    search(patch, shape, &ROUNDS[ROUNDS.len() - 1], &[f64::INFINITY; 4])
}

fn search(patch: &Patch, shape: &Shape, round: &Round, reaches: &[f64; 4]) -> [Found; 4] {
    Edge::ALL.map(|edge| {
        let reach = round.reach.min(reaches[edge.index()]).max(LEAST_REACH);
        find(patch, sampled(shape, edge), reach, round.blur, round.stiffness)
    })
}

/// Whether a person has clicked a border that was not found: sure across it, anywhere along it.
fn is_told(clicks: &[Observation], edge: Edge) -> bool {
    let sure = |sd: Vec2| match edge {
        Edge::Superior | Edge::Inferior => sd.y < TOLD_SD && sd.x > TOLD_ALONG,
        Edge::Posterior | Edge::Anterior => sd.x < TOLD_SD && sd.y > TOLD_ALONG,
    };
    let on = |target: Target| matches!(target, Target::On(other, _) if other == edge);
    clicks.iter().any(|click| on(click.target) && sure(click.sd))
}

/// How far each border may lie off its start.
fn reaches(prior: &Prior, shape: &Shape, clicks: &[Observation]) -> Option<[f64; 4]> {
    let (mut matrix, mut right) = usual(prior, shape);
    observe(shape, clicks, &mut matrix, &mut right);
    let open = linear::inverse(matrix)?;
    Some(Edge::ALL.map(|edge| {
        if is_told(clicks, edge) {
            return LEAST_REACH;
        }
        let rows = across(shape, edge);
        let variance = |row: &Shape| -> f64 {
            (0..N).map(|i| row[i] * (0..N).map(|j| open[i][j] * row[j]).sum::<f64>()).sum()
        };
        #[expect(clippy::cast_precision_loss, reason = "some dozen samples")]
        let mean = rows.iter().map(variance).sum::<f64>() / rows.len().max(1) as f64;
        REACH_SD * mean.max(0.0).sqrt()
    }))
}

/// How much each sample of a border moves outward with each of the numbers.
fn across(shape: &Shape, edge: Edge) -> Vec<Shape> {
    let here = sampled(shape, edge);
    let mut rows = vec![[0.0; N]; here.len()];
    for number in 0..N {
        let there = sampled(&nudged(shape, number, STEP), edge);
        for ((row, a), b) in rows.iter_mut().zip(&here).zip(&there) {
            row[number] = (b.at - a.at).dot(a.out) / STEP;
        }
    }
    rows
}

/// Normal equations of what is usual.
fn usual(prior: &Prior, shape: &Shape) -> (Matrix, Shape) {
    let mut matrix = [[0.0; N]; N];
    let mut right = [0.0; N];
    for i in 0..N {
        let weight = prior.sd[i].powi(-2);
        matrix[i][i] = weight;
        right[i] = weight * (prior.mean[i] - shape[i]);
    }
    (matrix, right)
}

fn add(matrix: &mut Matrix, right: &mut Shape, row: &Shape, weight: f64, off: f64) {
    for i in 0..N {
        let w = weight * row[i];
        for j in 0..N {
            matrix[i][j] += w * row[j];
        }
        right[i] += w * off;
    }
}

/// Adds what a person saw.
fn observe(shape: &Shape, clicks: &[Observation], matrix: &mut Matrix, right: &mut Shape) {
    for click in clicks {
        let here = locate(shape, click.target);
        let (mut by_x, mut by_y) = ([0.0; N], [0.0; N]);
        for number in 0..N {
            let moved = locate(&nudged(shape, number, STEP), click.target) - here;
            (by_x[number], by_y[number]) = (moved.x / STEP, moved.y / STEP);
        }
        let miss = click.at - here;
        add(matrix, right, &by_x, click.sd.x.powi(-2), miss.x);
        add(matrix, right, &by_y, click.sd.y.powi(-2), miss.y);
    }
}

/// One step toward what was found.
fn step(prior: &Prior, shape: &Shape, clicks: &[Observation], found: &[Found; 4], sd: f64) -> Option<Shape> {
    let (mut matrix, mut right) = usual(prior, shape);
    observe(shape, clicks, &mut matrix, &mut right);
    for edge in Edge::ALL {
        let found = &found[edge.index()];
        let rows = across(shape, edge);
        let share = if is_told(clicks, edge) { TOLD_SHARE } else { 1.0 };
        for (((row, &off), &response), t) in
            rows.iter().zip(&found.off).zip(&found.response).zip(shares(edge))
        {
            let mut weight = share * f64::from((response / CLEAR).clamp(0.0, 1.0)) * at_end(t);
            if sd < FINE_SD {
                weight /= 1.0 + (off / (FAR_SD * sd)).powi(2);
            }
            add(&mut matrix, &mut right, row, weight / (sd * sd), off);
        }
    }
    let step = linear::solve(matrix, right)?;
    Some(std::array::from_fn(|i| {
        let most = MOST_SD * prior.sd[i];
        shape[i] + step[i].clamp(-most, most)
    }))
}

fn at_end(t: f64) -> f64 {
    (t.min(1.0 - t) / END).clamp(LEAST_AT_END, 1.0)
}

/// Root mean square of the clicks' misses over their standard deviations, two directions a click.
pub(crate) fn misfit(shape: &Shape, clicks: &[Observation]) -> f64 {
    if clicks.is_empty() {
        return 0.0;
    }
    #[expect(clippy::cast_precision_loss, reason = "a few clicks")]
    let n = clicks.len() as f64;
    (squares(shape, clicks) / n).sqrt()
}

/// Sum of the clicks' squared misses over their variances.
pub(crate) fn squares(shape: &Shape, clicks: &[Observation]) -> f64 {
    let one = |click: &Observation| {
        let miss = click.at - locate(shape, click.target);
        (miss.x / click.sd.x).powi(2) + (miss.y / click.sd.y).powi(2)
    };
    clicks.iter().map(one).sum()
}
