//! How a value answers to each mark: first-order propagation of placement errors.

use crate::geom::point::Vec2;
use crate::measure::mark::MarkRef;
use crate::measure::placement::{Placement, Variances};
use crate::measure::quantity::{Budget, Influence, Quantity};

/// Derivatives of a value by the x and y of each mark, per pixel.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Gradient(Vec<(MarkRef, Vec2)>);

impl Gradient {
    /// A gradient with room for this many marks.
    pub(crate) fn with_room(marks: usize) -> Self {
        Self(Vec::with_capacity(marks))
    }

    /// A value that answers to one mark only.
    pub(crate) fn push(&mut self, mark: MarkRef, by: Vec2) {
        match self.0.iter_mut().find(|(m, _)| *m == mark) {
            Some((_, sum)) => *sum += by,
            None => self.0.push((mark, by)),
        }
    }

    /// Appends a mark that is known not to be there yet.
    pub(crate) fn push_new(&mut self, mark: MarkRef, by: Vec2) {
        self.0.push((mark, by));
    }

    /// The gradient of `k` times the value.
    pub(crate) fn scaled(&self, k: f64) -> Self {
        Self(self.0.iter().map(|&(mark, by)| (mark, by * k)).collect())
    }

    /// The gradient of this value plus `k` times the other.
    pub(crate) fn plus(&self, k: f64, other: &Self) -> Self {
        let mut sum = self.clone();
        for (place, &(mark, by)) in other.0.iter().enumerate() {
            // Gradients of one body mostly list the same marks in the same order.
            match sum.0.get_mut(place) {
                Some((own, sum)) if *own == mark => *sum += by * k,
                _ => sum.push(mark, by * k),
            }
        }
        sum
    }

    /// The derivative by one mark; `near` is where it would stand if both listed the same marks.
    fn by(&self, mark: MarkRef, near: usize) -> Option<Vec2> {
        match self.0.get(near) {
            Some((own, by)) if *own == mark => Some(*by),
            _ => self.0.iter().find(|(own, _)| *own == mark).map(|&(_, by)| by),
        }
    }

    /// The derivative by one error that moves all of these marks alike.
    fn along(&self, marks: &[MarkRef], direction: Vec2) -> f64 {
        marks.iter().filter_map(|&mark| self.by(mark, 0)).map(|by| by.dot(direction)).sum()
    }

    /// Covariance of two values from the placement of marks.
    pub(crate) fn covariance(&self, other: &Self, placement: &Placement) -> f64 {
        let own = self.0.iter().enumerate();
        let own = own
            .filter_map(|(place, &(mark, by))| Some(placement.covariance(mark, by, other.by(mark, place)?)));
        let common = placement
            .common()
            .map(|(sd, marks, across)| sd * sd * self.along(marks, across) * other.along(marks, across));
        own.sum::<f64>() + common.sum::<f64>()
    }

    /// The value with its bone and metal parts from this gradient, and the view part as given (a variance).
    pub(crate) fn quantity(&self, value: f64, placement: &Placement, view_variance: f64) -> Quantity {
        let mut sum = Variances::default();
        let mut influences: Vec<Influence> = self
            .0
            .iter()
            .map(|&(mark, by)| Influence { mark, sd: placement.add(mark, by, &mut sum).sqrt() })
            .collect();
        if placement.has_common() {
            self.add_common(placement, &mut sum, &mut influences);
        }
        influences.sort_unstable_by(|a, b| b.sd.total_cmp(&a.sd).then(a.mark.cmp(&b.mark)));
        let root = |variance: f64| variance.max(0.0).sqrt();
        let budget = Budget {
            bone: root(sum.bone),
            metal: root(sum.metal),
            view: root(view_variance),
            model: 0.0,
            softness: root(sum.softness),
            proposal: root(sum.proposal),
        };
        Quantity { value, budget, influences, monte_carlo: None }
    }

    /// Errors in common belong to the bone part and to proposals; the marks share in them by the squares of what each
    /// contributes.
    fn add_common(&self, placement: &Placement, sum: &mut Variances, influences: &mut [Influence]) {
        for (sd, marks, across) in placement.common() {
            let variance = (sd * self.along(marks, across)).powi(2);
            sum.bone += variance;
            sum.proposal += variance;
            let square = |mark: MarkRef| self.by(mark, 0).map_or(0.0, |by| by.dot(across).powi(2));
            let squares: f64 = marks.iter().map(|&mark| square(mark)).sum();
            if squares > 0.0 {
                for influence in influences.iter_mut().filter(|influence| marks.contains(&influence.mark)) {
                    influence.sd = influence.sd.hypot((variance * square(influence.mark) / squares).sqrt());
                }
            }
        }
    }
}
