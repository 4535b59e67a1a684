//! Five fits from clicks moved a little: where they agree, and how far they spread.

use crate::geom::point::Vec2;
use crate::propose::edge::Found;
use crate::propose::fit::{Fit, Observation, fit, look, misfit, squares, start};
use crate::propose::model::{Edge, N, Prior, Shape, Target, corners, oddity, on_edge, outline};
use crate::propose::patch::Patch;

/// How the clicks of each fit are moved, in millimetres; another way for each click.
pub(crate) const MOVES: [(f64, f64); 5] = [(0.0, 0.0), (1.5, 0.8), (-1.5, 0.8), (0.8, -1.5), (-0.8, -1.5)];
/// Two fits agree when no place of theirs lies farther apart than this, in millimetres.
const AGREE_MM: f64 = 1.5;
/// A fit whose borders answer less than the chosen one's by more than this (mean response over a clear one's) is no other
/// possibility: it stayed on something that is hardly a border.
const RIVAL: f64 = 0.1;
/// The first clicks are on the two walls; any further one is on a border that was not found.
const WALLS: usize = 2;
/// Places on each border that are compared.
const PLACES: usize = 21;

/// The mean of the fits that agree, and what tells how far to trust it.
#[derive(Clone, Debug)]
pub(crate) struct Agreed {
    pub(crate) shape: Shape,
    pub(crate) found: [Found; 4],
    /// How many of the five agree with the one chosen, itself included.
    pub(crate) agreeing: u32,
    /// For each border, the farthest that any of the possible fits lies off it, in millimetres.
    pub(crate) spread: [f64; 4],
    /// Root mean square of the clicks' misses.
    pub(crate) misfit: f64,
    /// The largest oddity of the form.
    pub(crate) oddest: f64,
    /// Borders that a person has clicked because they were not found.
    pub(crate) helped: [bool; 4],
}

/// Five fits and what they agree on.
pub(crate) fn five(patch: &Patch, prior: &Prior, clicks: &[Observation]) -> Option<Agreed> {
    let fits: Vec<Fit> = (0..MOVES.len())
        .filter_map(|n| {
            let moved = moved(clicks, n);
            fit(patch, prior, start(prior, &moved)?, &moved)
        })
        .collect();
    agreed(patch, prior, clicks, &fits)
}

/// The clicks as the fit of this number sees them.
fn moved(clicks: &[Observation], n: usize) -> Vec<Observation> {
    // A click on a border that was not found is meant exactly there.
    let by = |i: usize| MOVES[if n == 0 || i >= WALLS { 0 } else { (n + 2 * i) % MOVES.len() }];
    clicks
        .iter()
        .enumerate()
        .map(|(i, click)| Observation { at: click.at + Vec2::new(by(i).0, by(i).1), ..*click })
        .collect()
}

/// What a set of fits agrees on.
pub(crate) fn agreed(patch: &Patch, prior: &Prior, clicks: &[Observation], fits: &[Fit]) -> Option<Agreed> {
    let outlines: Vec<_> = fits.iter().map(|fit| outline(&fit.shape, PLACES)).collect();
    let agree =
        |a: usize, b: usize| outlines[a].iter().zip(&outlines[b]).all(|(p, q)| p.distance(*q) < AGREE_MM);
    let near = |a: usize| -> Vec<usize> { (0..fits.len()).filter(|&b| agree(a, b)).collect() };
    #[expect(clippy::cast_precision_loss, reason = "at most five")]
    let worth = |a: usize| {
        let shape = &fits[a].shape;
        let oddity: f64 = oddity(shape, prior).iter().map(|z| z * z).sum();
        near(a).len() as f64 + 2.0 * score(&fits[a].found) - 0.15 * squares(shape, clicks) - 0.1 * oddity
    };
    let best = (0..fits.len()).max_by(|&a, &b| worth(a).total_cmp(&worth(b)))?;
    let near = near(best);
    let mut shape = [0.0; N];
    for &i in &near {
        for (sum, v) in shape.iter_mut().zip(fits[i].shape) {
            #[expect(clippy::cast_precision_loss, reason = "at most five")]
            let n = near.len() as f64;
            *sum += v / n;
        }
    }
    // What would be refused by its form, or answers clearly less, does not speak against the chosen one by its place.
    let rivals = (0..fits.len()).filter(|&i| {
        let possible = oddity(&fits[i].shape, prior).iter().all(|z| z.abs() <= prior.most_odd);
        near.contains(&i) || (possible && score(&fits[i].found) > score(&fits[best].found) - RIVAL)
    });
    let rivals: Vec<Shape> = rivals.map(|i| fits[i].shape).collect();
    Some(Agreed {
        found: look(patch, &shape),
        agreeing: u32::try_from(near.len()).unwrap_or(0),
        spread: spread(&shape, &rivals),
        misfit: misfit(&shape, clicks),
        helped: helped(clicks),
        oddest: oddest(&shape, prior),
        shape,
    })
}

/// The largest oddity of a form, in standard deviations.
pub(crate) fn oddest(shape: &Shape, prior: &Prior) -> f64 {
    oddity(shape, prior).iter().map(|z| z.abs()).fold(0.0, f64::max)
}

/// The borders of the clicks beyond those on the two walls.
fn helped(clicks: &[Observation]) -> [bool; 4] {
    let on = |edge: Edge| {
        let is = |click: &Observation| matches!(click.target, Target::On(other, _) if other == edge);
        clicks.iter().skip(WALLS).any(is)
    };
    Edge::ALL.map(on)
}

/// Mean response of the borders.
pub(crate) fn score(found: &[Found; 4]) -> f64 {
    found.iter().map(Found::mean_response).sum::<f64>() / 4.0
}

/// For each border, how far others lie off it, across it.
pub(crate) fn spread(shape: &Shape, others: &[Shape]) -> [f64; 4] {
    let middle = corners(shape);
    Edge::ALL.map(|edge| {
        let mut farthest = 0.0_f64;
        for other in others {
            let theirs = corners(other);
            for i in 0..PLACES {
                #[expect(clippy::cast_precision_loss, reason = "some dozen places")]
                let t = i as f64 / (PLACES - 1) as f64;
                let here = on_edge(shape, &middle, edge, t);
                let there = on_edge(other, &theirs, edge, t).at;
                farthest = farthest.max((there - here.at).dot(here.out).abs());
            }
        }
        farthest
    })
}
