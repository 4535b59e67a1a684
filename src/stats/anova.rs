//! The variance of a complete table of subjects and raters, split: one observation a cell.
//!
//! Textbook analysis of variance as in Shrout and Fleiss (1979), table 2.

/// A complete table: a row for each subject, a column for each rater (or occasion); at least two of both.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    rows: Vec<Vec<f64>>,
}

/// Why rows are no table whose variance can be split.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TableFault {
    /// Fewer than two subjects.
    OneSubject,
    /// Fewer than two raters or occasions.
    OneRater,
    /// Rows of different lengths, or a value that is no finite number.
    Ragged,
}

/// Mean squares of a table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeanSquares {
    /// Number of subjects.
    pub n: f64,
    /// Number of raters.
    pub k: f64,
    /// Between subjects, n − 1 degrees of freedom.
    pub between: f64,
    /// Within subjects, n(k − 1) degrees of freedom.
    pub within: f64,
    /// Between raters, k − 1 degrees of freedom.
    pub raters: f64,
    /// What is left, (n − 1)(k − 1) degrees of freedom.
    pub error: f64,
}

impl Table {
    /// A table of these rows.
    ///
    /// # Errors
    /// Says why the rows are none.
    pub fn new(rows: Vec<Vec<f64>>) -> Result<Self, TableFault> {
        let k = rows.first().map_or(0, Vec::len);
        if rows.iter().any(|row| row.len() != k || row.iter().any(|x| !x.is_finite())) {
            return Err(TableFault::Ragged);
        }
        if rows.len() < 2 {
            return Err(TableFault::OneSubject);
        }
        if k < 2 {
            return Err(TableFault::OneRater);
        }
        Ok(Self { rows })
    }

    /// Its mean squares. Differences too small to be more than rounding of the values are none.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "tables are far smaller than 2^52")]
    pub fn mean_squares(&self) -> MeanSquares {
        let (n, k) = (self.rows.len() as f64, self.rows[0].len() as f64);
        let grand = self.rows.iter().flatten().sum::<f64>() / (n * k);
        let of_subject: Vec<f64> = self.rows.iter().map(|row| row.iter().sum::<f64>() / k).collect();
        let of_rater: Vec<f64> =
            (0..self.rows[0].len()).map(|j| self.rows.iter().map(|row| row[j]).sum::<f64>() / n).collect();
        let squares = |means: &[f64]| means.iter().map(|m| (m - grand) * (m - grand)).sum::<f64>();
        // Residuals one by one: a difference of sums of squares would lose what is small beside the values.
        let (mut within, mut error) = (0.0, 0.0);
        for (row, m) in self.rows.iter().zip(&of_subject) {
            for (x, r) in row.iter().zip(&of_rater) {
                within += (x - m) * (x - m);
                error += (x - m - r + grand) * (x - m - r + grand);
            }
        }
        let size = self.rows.iter().flatten().fold(0.0_f64, |most, x| most.max(x.abs()));
        let nothing = (8.0 * f64::EPSILON * size).powi(2);
        let clean = |mean_square: f64| if mean_square <= nothing { 0.0 } else { mean_square };
        MeanSquares {
            n,
            k,
            between: clean(k * squares(&of_subject) / (n - 1.0)),
            within: clean(within / (n * (k - 1.0))),
            raters: clean(n * squares(&of_rater) / (k - 1.0)),
            error: clean(error / ((n - 1.0) * (k - 1.0))),
        }
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// The six subjects and four judges of Shrout and Fleiss (1979), table 2.
    pub(crate) fn shrout_fleiss() -> Table {
        let rows = [
            [9.0, 2.0, 5.0, 8.0],
            [6.0, 1.0, 3.0, 2.0],
            [8.0, 4.0, 6.0, 8.0],
            [7.0, 1.0, 2.0, 6.0],
            [10.0, 5.0, 6.0, 9.0],
            [6.0, 2.0, 4.0, 7.0],
        ];
        Table::new(rows.map(|row| row.to_vec()).to_vec()).unwrap()
    }

    /// Mean squares printed there: 11.24, 6.26, 32.49, 1.02.
    #[test]
    fn mean_squares_of_the_published_table() {
        let ms = shrout_fleiss().mean_squares();
        for (found, printed) in [(ms.between, 11.24), (ms.within, 6.26), (ms.raters, 32.49), (ms.error, 1.02)]
        {
            assert!((found - printed).abs() < 0.005, "{found} {printed}");
        }
    }

    #[test]
    fn what_is_no_table() {
        assert_eq!(Table::new(vec![vec![1.0, 2.0]]), Err(TableFault::OneSubject));
        assert_eq!(Table::new(vec![vec![1.0], vec![2.0]]), Err(TableFault::OneRater));
        assert_eq!(Table::new(vec![vec![1.0, 2.0], vec![2.0]]), Err(TableFault::Ragged));
        assert_eq!(Table::new(vec![vec![1.0, f64::NAN], vec![2.0, 1.0]]), Err(TableFault::Ragged));
    }

    #[test]
    fn rounding_is_no_variance() {
        let ms = Table::new(vec![vec![0.1 + 0.2, 0.3], vec![0.3, 0.3]]).unwrap().mean_squares();
        assert!(ms.between <= 0.0 && ms.within <= 0.0 && ms.error <= 0.0);
    }
}
