//! Propagation of distributions by simulation (JCGM 101:2008): every mark displaced at random, the whole
//! reading made again.

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use crate::measure::mark::Marks;
use crate::measure::placement::{Placement, normal};
use crate::measure::quantity::{Quantity, Simulated};
use crate::measure::reading::MonteCarlo;
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
    placement: &Placement,
    reading: &mut R,
    again: impl Fn(&Marks) -> R,
) {
    let mut random = ChaCha8Rng::seed_from_u64(run.seed);
    let mut nominal = reading.quantities();
    let mut drawn: Vec<Vec<f64>> = vec![Vec::with_capacity(run.draws); nominal.len()];
    for _ in 0..run.draws {
        let displaced = placement.displace(marks, &mut random);
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
