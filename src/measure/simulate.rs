//! Propagation of distributions by simulation (JCGM 101:2008): every mark displaced at random, the whole
//! reading made again.

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

use crate::geom::point::{Point, Vec2};
use crate::measure::gradient::PlacementSd;
use crate::measure::mark::Marks;
use crate::measure::quantity::{Quantity, Simulated};
use crate::measure::reading::MonteCarlo;
use crate::measure::settings::Settings;
use crate::stats::summary::{mean, quantile, sd};

/// A reading whose quantities can be listed, always in the same order.
pub(crate) trait Quantities {
    /// Every quantity of the reading.
    fn quantities(&mut self) -> Vec<&mut Quantity>;
}

/// Makes the reading again with displaced marks and fills in what was found.
///
/// The view's part is drawn as a normal distribution of its standard uncertainty, independent of the marks.
/// A draw without a reading, or without the same quantities, is left out; a quantity keeps `None` where more
/// than half of the draws were.
pub(crate) fn run<R: Quantities>(
    run: MonteCarlo,
    marks: &Marks,
    settings: &Settings,
    mm_per_px: f64,
    reading: &mut R,
    again: impl Fn(&Marks) -> R,
) {
    let sd_px = placement(settings, mm_per_px);
    let mut random = ChaCha8Rng::seed_from_u64(run.seed);
    let mut nominal = reading.quantities();
    let mut drawn: Vec<Vec<f64>> = vec![Vec::with_capacity(run.draws); nominal.len()];
    for _ in 0..run.draws {
        let displaced = displace(marks, sd_px, &mut random);
        let mut result = again(&displaced);
        let values = result.quantities();
        let views: Vec<f64> = nominal.iter().map(|q| q.budget.view * normal(&mut random)).collect();
        if values.len() == nominal.len() {
            for ((list, q), view) in drawn.iter_mut().zip(values).zip(views) {
                list.push(q.value + view);
            }
        }
    }
    for (q, mut list) in nominal.iter_mut().zip(drawn) {
        list.retain(|x| x.is_finite());
        if 2 * list.len() > run.draws {
            list.sort_by(f64::total_cmp);
            q.monte_carlo = Some(Simulated {
                mean: mean(&list),
                sd: sd(&list),
                low: quantile(&list, 0.025),
                high: quantile(&list, 0.975),
            });
        }
    }
}

/// Standard deviations of placement in pixels at a scale.
pub(crate) fn placement(settings: &Settings, mm_per_px: f64) -> PlacementSd {
    PlacementSd { bone: settings.bone_sd_mm / mm_per_px, metal: settings.metal_sd_mm / mm_per_px }
}

/// The marks with each point displaced by its placement error.
pub(crate) fn displace(marks: &Marks, sd_px: PlacementSd, random: &mut ChaCha8Rng) -> Marks {
    let mut displaced = marks.clone();
    for kind in marks.kinds() {
        let sd = sd_px.of(kind.material());
        let slots = marks.slots(kind).iter().map(|slot| slot.map(|p| jitter(p, sd, random))).collect();
        displaced.set(kind, slots);
    }
    displaced
}

fn jitter(p: Point, sd: f64, random: &mut ChaCha8Rng) -> Point {
    let x = normal(random);
    let y = normal(random);
    p + Vec2::new(sd * x, sd * y)
}

fn normal(random: &mut ChaCha8Rng) -> f64 {
    StandardNormal.sample(random)
}
