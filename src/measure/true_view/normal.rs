//! Least squares over a handful of unknowns by their normal equations.

/// Observations of `N` unknowns gathered as normal equations, each divided by its standard deviation.
#[derive(Clone, Debug)]
pub(crate) struct Normal<const N: usize> {
    matrix: [[f64; N]; N],
    right: [f64; N],
    squares: f64,
}

/// What they say.
#[derive(Clone, Debug)]
pub(crate) struct Solution<const N: usize> {
    /// The unknowns.
    pub(crate) x: [f64; N],
    /// Their covariances: the inverse of the normal matrix.
    pub(crate) c: [[f64; N]; N],
    /// The sum of squared residuals, each over its standard deviation.
    pub(crate) misfit: f64,
    /// Natural logarithm of the normal matrix's determinant.
    pub(crate) ln_det: f64,
}

impl<const N: usize> Normal<N> {
    pub(crate) const fn new() -> Self {
        Self { matrix: [[0.0; N]; N], right: [0.0; N], squares: 0.0 }
    }

    /// Adds the observation `row · x = value ± sd`.
    pub(crate) fn observe(&mut self, row: [f64; N], value: f64, sd: f64) {
        let y = value / sd;
        let row = row.map(|a| a / sd);
        for i in 0..N {
            for j in 0..N {
                self.matrix[i][j] += row[i] * row[j];
            }
            self.right[i] += row[i] * y;
        }
        self.squares += y * y;
    }

    /// The least squares solution; `None` where the observations do not fix it. By Cholesky's factors.
    pub(crate) fn solve(&self) -> Option<Solution<N>> {
        let mut l = [[0.0; N]; N];
        let mut ln_det = 0.0;
        for i in 0..N {
            for j in 0..=i {
                let sum: f64 = (0..j).map(|k| l[i][k] * l[j][k]).sum();
                let rest = self.matrix[i][j] - sum;
                if i == j {
                    if !rest.is_finite() || rest <= 0.0 {
                        return None;
                    }
                    l[i][i] = rest.sqrt();
                    ln_det += rest.ln();
                } else {
                    l[i][j] = rest / l[j][j];
                }
            }
        }
        let mut c = [[0.0; N]; N];
        for column in 0..N {
            let mut unit = [0.0; N];
            unit[column] = 1.0;
            let solved = substitute(&l, unit);
            for (row, value) in c.iter_mut().zip(solved) {
                row[column] = value;
            }
        }
        let x = substitute(&l, self.right);
        let fitted: f64 = x.iter().zip(self.right).map(|(x, b)| x * b).sum();
        Some(Solution { x, c, misfit: (self.squares - fitted).max(0.0), ln_det })
    }
}

/// Solves `L Lᵀ x = b`.
fn substitute<const N: usize>(l: &[[f64; N]; N], mut b: [f64; N]) -> [f64; N] {
    for i in 0..N {
        let sum: f64 = (0..i).map(|k| l[i][k] * b[k]).sum();
        b[i] = (b[i] - sum) / l[i][i];
    }
    for i in (0..N).rev() {
        let sum: f64 = (i + 1..N).map(|k| l[k][i] * b[k]).sum();
        b[i] = (b[i] - sum) / l[i][i];
    }
    b
}

impl<const N: usize> Solution<N> {
    /// `g · x` with its variance `g · C · gᵀ`.
    pub(crate) fn combine(&self, g: [f64; N]) -> (f64, f64) {
        let value = g.iter().zip(self.x).map(|(g, x)| g * x).sum();
        let variance = (0..N).map(|i| (0..N).map(|j| g[i] * self.c[i][j] * g[j]).sum::<f64>()).sum();
        (value, variance)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: x = 1 ± 1 and x = 4 ± 2 make x = (1 + 4/4) / (1 + 1/4) = 1.6 with variance 0.8; the residuals −0.6 and
    /// 2.4/2 give 0.36 + 1.44.
    #[test]
    fn two_readings_of_one_value() {
        let mut normal = Normal::<1>::new();
        normal.observe([1.0], 1.0, 1.0);
        normal.observe([1.0], 4.0, 2.0);
        let s = normal.solve().unwrap();
        assert!((s.x[0] - 1.6).abs() < 1e-12 && (s.c[0][0] - 0.8).abs() < 1e-12);
        assert!((s.misfit - 1.8).abs() < 1e-12 && (s.ln_det - 1.25_f64.ln()).abs() < 1e-12);
    }

    /// A line through (0, 1), (1, 3), (2, 5): intercept 1, slope 2; covariances of the ordinary regression, 5/6, −1/2, 1/2.
    #[test]
    fn a_line_through_three_points() {
        let mut normal = Normal::<2>::new();
        for (x, y) in [(0.0, 1.0), (1.0, 3.0), (2.0, 5.0)] {
            normal.observe([1.0, x], y, 1.0);
        }
        let s = normal.solve().unwrap();
        assert!((s.x[0] - 1.0).abs() < 1e-12 && (s.x[1] - 2.0).abs() < 1e-12 && s.misfit < 1e-12);
        assert!((s.c[0][0] - 5.0 / 6.0).abs() < 1e-12 && (s.c[0][1] + 0.5).abs() < 1e-12);
        let (at_three, variance) = s.combine([1.0, 3.0]);
        assert!((at_three - 7.0).abs() < 1e-12 && (variance - (5.0 / 6.0 - 3.0 + 4.5)).abs() < 1e-12);
        assert!(Normal::<2>::new().solve().is_none());
    }
}
