//! How a value answers to each mark: first-order propagation of placement errors.

use crate::geom::point::Vec2;
use crate::measure::mark::{MarkRef, Material};
use crate::measure::quantity::{Budget, Influence, Quantity};

/// Derivatives of a value by the x and y of each mark, per pixel.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Gradient(Vec<(MarkRef, Vec2)>);

/// Standard deviations of placement in pixels, per axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct PlacementSd {
    pub(crate) bone: f64,
    pub(crate) metal: f64,
}

impl PlacementSd {
    pub(crate) const fn of(self, material: Material) -> f64 {
        match material {
            Material::Bone => self.bone,
            Material::Metal => self.metal,
        }
    }
}

impl Gradient {
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
        for &(mark, by) in &other.0 {
            sum.push(mark, by * k);
        }
        sum
    }

    /// Covariance of two values from the placement of marks.
    pub(crate) fn covariance(&self, other: &Self, sd: PlacementSd) -> f64 {
        let of = |mark: MarkRef| other.0.iter().find(|(m, _)| *m == mark).map(|&(_, by)| by);
        self.0
            .iter()
            .filter_map(|&(mark, by)| Some(by.dot(of(mark)?) * sd.of(mark.kind.material()).powi(2)))
            .sum()
    }

    /// The value with its bone and metal parts from this gradient, and the view part as given (a variance).
    pub(crate) fn quantity(&self, value: f64, sd: PlacementSd, view_variance: f64) -> Quantity {
        let (mut bone, mut metal) = (0.0, 0.0);
        let mut influences = Vec::with_capacity(self.0.len());
        for &(mark, by) in &self.0 {
            let material = mark.kind.material();
            let share = by.length() * sd.of(material);
            match material {
                Material::Bone => bone += share * share,
                Material::Metal => metal += share * share,
            }
            influences.push(Influence { mark, sd: share });
        }
        influences.sort_by(|a, b| b.sd.total_cmp(&a.sd).then(a.mark.cmp(&b.mark)));
        let budget = Budget { bone: bone.sqrt(), metal: metal.sqrt(), view: view_variance.max(0.0).sqrt() };
        Quantity { value, budget, influences, monte_carlo: None }
    }
}
