//! Small systems of linear equations.

/// The solution of `m x = right` by Gaussian elimination with pivots; `None` where the equations do not tell: a pivot
/// below 1e-12, so that `m` should be scaled to about 1 first.
#[must_use]
pub fn solve<const N: usize>(mut m: [[f64; N]; N], mut right: [f64; N]) -> Option<[f64; N]> {
    for column in 0..N {
        let pivot = (column..N).max_by(|&a, &b| m[a][column].abs().total_cmp(&m[b][column].abs()))?;
        m.swap(column, pivot);
        right.swap(column, pivot);
        if m[column][column].abs() < 1e-12 {
            return None;
        }
        let (top, value) = (m[column], right[column]);
        for row in column + 1..N {
            let factor = m[row][column] / top[column];
            for (cell, above) in m[row].iter_mut().zip(top) {
                *cell -= factor * above;
            }
            right[row] -= factor * value;
        }
    }
    let mut x = [0.0; N];
    for row in (0..N).rev() {
        let known: f64 = (row + 1..N).map(|column| m[row][column] * x[column]).sum();
        x[row] = (right[row] - known) / m[row][row];
    }
    x.iter().all(|v| v.is_finite()).then_some(x)
}

/// The inverse of a matrix, column by column; `None` as [`solve`].
#[must_use]
pub fn inverse<const N: usize>(m: [[f64; N]; N]) -> Option<[[f64; N]; N]> {
    let mut found = [[0.0; N]; N];
    for column in 0..N {
        let mut unit = [0.0; N];
        unit[column] = 1.0;
        let x = solve(m, unit)?;
        for (row, value) in found.iter_mut().zip(x) {
            row[column] = value;
        }
    }
    Some(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: x = 1, y = −2, z = 3.
    #[test]
    fn three_equations_by_hand() {
        let m = [[0.0, 2.0, 1.0], [1.0, 1.0, 1.0], [4.0, -1.0, 2.0]];
        let x = solve(m, [-1.0, 2.0, 12.0]).unwrap();
        for (found, expected) in x.into_iter().zip([1.0, -2.0, 3.0]) {
            assert!((found - expected).abs() < 1e-12, "{x:?}");
        }
        assert_eq!(solve([[1.0, 2.0], [2.0, 4.0]], [1.0, 2.0]), None);
    }

    #[test]
    fn a_matrix_times_its_inverse_is_one() {
        let m = [[4.0, 1.0, 0.5], [1.0, 3.0, -0.25], [0.5, -0.25, 2.0]];
        let inv = inverse(m).unwrap();
        for (i, row) in m.iter().enumerate() {
            for j in 0..3 {
                let cell: f64 = row.iter().zip(inv).map(|(a, of)| a * of[j]).sum();
                assert!((cell - f64::from(u8::from(i == j))).abs() < 1e-12);
            }
        }
    }
}
