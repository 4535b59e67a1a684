//! Intraclass correlation: how much of the variance is that of the subjects.
//!
//! Point values and exact intervals: Shrout and Fleiss (1979), *Psychological Bulletin* 86:420–428; the interval of the
//! (2,·) forms by Satterthwaite's degrees of freedom as given there. McGraw and Wong (1996) call (2,·) "A" (absolute
//! agreement) and (3,·) "C" (consistency). Words: Koo and Li (2016), *Journal of Chiropractic Medicine* 15:155–163,
//! who apply them to the interval.

use crate::stats::anova::MeanSquares;
use crate::stats::quantile;

/// The six forms.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Form {
    /// (1,1): each subject read by other raters; single readings.
    OneWaySingle,
    /// (2,1): raters drawn from many, absolute agreement; single readings.
    AgreementSingle,
    /// (3,1): these raters only, consistency; single readings.
    ConsistencySingle,
    /// (1,k): the mean of k readings.
    OneWayMean,
    /// (2,k).
    AgreementMean,
    /// (3,k).
    ConsistencyMean,
}

/// A coefficient with its 95 % interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Icc {
    /// Which form.
    pub form: Form,
    /// The point value; at most 1, and it can be negative.
    pub value: f64,
    /// Lower and upper end of the 95 % interval. There is none where the formula breaks down: for the (2,·) forms of a
    /// negative coefficient Satterthwaite's degrees of freedom can come near zero, and what follows then no longer
    /// holds the coefficient itself.
    pub interval: Option<(f64, f64)>,
}

/// Why there is no coefficient.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Undefined {
    /// All values are the same: there is no variance to partition.
    NoVariance,
    /// The subjects do not differ in what the form counts, and nothing else does: zero over zero.
    NothingToShare,
}

/// How good, in Koo and Li's words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Grade {
    /// Below 0.50.
    Poor,
    /// 0.50 to 0.75.
    Moderate,
    /// 0.75 to 0.90.
    Good,
    /// Above 0.90.
    Excellent,
}

impl Form {
    /// All forms.
    pub const ALL: [Self; 6] = [
        Self::OneWaySingle,
        Self::AgreementSingle,
        Self::ConsistencySingle,
        Self::OneWayMean,
        Self::AgreementMean,
        Self::ConsistencyMean,
    ];

    /// Its name: `ICC(2,1)`.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::OneWaySingle => "ICC(1,1)",
            Self::AgreementSingle => "ICC(2,1)",
            Self::ConsistencySingle => "ICC(3,1)",
            Self::OneWayMean => "ICC(1,k)",
            Self::AgreementMean => "ICC(2,k)",
            Self::ConsistencyMean => "ICC(3,k)",
        }
    }
}

impl Grade {
    /// The grade of a value. The guideline gives 0.50, 0.75 and 0.90 to no side; here they belong to the higher grade,
    /// except that excellent is above 0.90.
    #[must_use]
    pub const fn of(value: f64) -> Self {
        if value > 0.90 {
            Self::Excellent
        } else if value >= 0.75 {
            Self::Good
        } else if value >= 0.50 {
            Self::Moderate
        } else {
            Self::Poor
        }
    }

    /// In a word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Poor => "poor",
            Self::Moderate => "moderate",
            Self::Good => "good",
            Self::Excellent => "excellent",
        }
    }
}

impl Icc {
    /// The grades of both ends of the interval, which is what may be said of the reliability.
    #[must_use]
    pub fn grades(&self) -> Option<(Grade, Grade)> {
        self.interval.map(|(low, high)| (Grade::of(low), Grade::of(high)))
    }
}

/// A coefficient of a table with these mean squares, with its 95 % interval.
///
/// Without any error the coefficient is 1 and so are the ends of its interval.
///
/// # Errors
/// Says why there is none.
pub fn icc(ms: &MeanSquares, form: Form) -> Result<Icc, Undefined> {
    if ms.between <= 0.0 && ms.within <= 0.0 {
        return Err(Undefined::NoVariance);
    }
    let [value, low, high] = match form {
        Form::OneWaySingle => single_of(ms.between, ms.within, ms.k, one_way(ms)),
        Form::OneWayMean => mean_of(ms.between, ms.within, one_way(ms)),
        Form::ConsistencySingle => single_of(ms.between, ms.error, ms.k, two_way(ms)),
        Form::ConsistencyMean => mean_of(ms.between, ms.error, two_way(ms)),
        Form::AgreementSingle => agreement(ms)?,
        Form::AgreementMean => {
            // Spearman and Brown's formula on the single form, for value and interval alike.
            agreement(ms)?.map(|r| ms.k * r / (1.0 + (ms.k - 1.0) * r))
        }
    };
    if value.is_nan() {
        return Err(Undefined::NothingToShare);
    }
    let holds = low <= value && value <= high;
    Ok(Icc { form, value, interval: holds.then_some((low, high)) })
}

/// Degrees of freedom of the one-way F: between and within subjects.
fn one_way(ms: &MeanSquares) -> (f64, f64) {
    (ms.n - 1.0, ms.n * (ms.k - 1.0))
}

/// Degrees of freedom of the two-way F: subjects and error.
fn two_way(ms: &MeanSquares) -> (f64, f64) {
    (ms.n - 1.0, (ms.n - 1.0) * (ms.k - 1.0))
}

/// F by its 97.5 % quantiles: value, lower and upper end.
fn f_ends(between: f64, rest: f64, (d1, d2): (f64, f64)) -> [f64; 3] {
    let f = between / rest;
    [f, f / quantile::f(0.975, d1, d2), f * quantile::f(0.975, d2, d1)]
}

fn single_of(between: f64, rest: f64, k: f64, df: (f64, f64)) -> [f64; 3] {
    if rest <= 0.0 && between > 0.0 {
        return [1.0; 3];
    }
    f_ends(between, rest, df).map(|f| (f - 1.0) / (f + k - 1.0))
}

fn mean_of(between: f64, rest: f64, df: (f64, f64)) -> [f64; 3] {
    if rest <= 0.0 && between > 0.0 {
        return [1.0; 3];
    }
    let ends = f_ends(between, rest, df);
    ends.map(|f| 1.0 - 1.0 / f)
}

/// ICC(2,1) with its interval.
fn agreement(ms: &MeanSquares) -> Result<[f64; 3], Undefined> {
    let (n, k) = (ms.n, ms.k);
    let value =
        (ms.between - ms.error) / (ms.between + (k - 1.0) * ms.error + k * (ms.raters - ms.error) / n);
    if ms.within <= 0.0 {
        return Ok([1.0; 3]);
    }
    if value.is_nan() {
        return Err(Undefined::NothingToShare);
    }
    // Numerator and denominator of the degrees of freedom times the error's mean square squared, so that an error of
    // zero stays defined.
    let by_raters = k * value * ms.raters;
    let by_error = (n * (1.0 + (k - 1.0) * value) - k * value) * ms.error;
    let df = (n - 1.0) * (k - 1.0) * (by_raters + by_error).powi(2)
        / ((n - 1.0) * by_raters.powi(2) + by_error.powi(2));
    let rest = k * ms.raters + (k * n - k - n) * ms.error;
    let (f_low, f_high) = (quantile::f(0.975, n - 1.0, df), quantile::f(0.975, df, n - 1.0));
    let low = n * (ms.between - f_low * ms.error) / (f_low * rest + n * ms.between);
    let high = n * (f_high * ms.between - ms.error) / (rest + n * f_high * ms.between);
    Ok([value, low, high])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::anova::Table;
    use crate::stats::anova::tests::shrout_fleiss;

    fn all(table: &Table) -> Vec<Result<Icc, Undefined>> {
        let ms = table.mean_squares();
        Form::ALL.map(|form| icc(&ms, form)).to_vec()
    }

    /// Printed in Shrout and Fleiss (1979): .17 .29 .71 .44 .62 .91.
    #[test]
    fn the_published_example() {
        let printed = [0.17, 0.29, 0.71, 0.44, 0.62, 0.91];
        for (found, printed) in all(&shrout_fleiss()).into_iter().zip(printed) {
            assert!((found.unwrap().value - printed).abs() < 0.005);
        }
    }

    /// Koo and Li's own example: 0.932 with the interval 0.879 to 0.965 is good to excellent, not excellent.
    #[test]
    fn words_are_for_the_interval() {
        let icc = Icc { form: Form::ConsistencySingle, value: 0.932, interval: Some((0.879, 0.965)) };
        assert_eq!(icc.grades(), Some((Grade::Good, Grade::Excellent)));
    }

    #[test]
    fn degenerate_tables_have_an_answer_or_a_reason() {
        let table = |rows: &[[f64; 2]]| Table::new(rows.iter().map(|row| row.to_vec()).collect()).unwrap();
        let same = all(&table(&[[2.0, 2.0], [2.0, 2.0]]));
        assert!(same.iter().all(|r| *r == Err(Undefined::NoVariance)), "{same:?}");
        // Perfect agreement.
        for found in all(&table(&[[1.0, 1.0], [2.0, 2.0], [5.0, 5.0]])) {
            let found = found.unwrap();
            assert!((found.value - 1.0).abs() < 1e-12 && found.interval == Some((1.0, 1.0)), "{found:?}");
        }
        // The second rater adds one everywhere: consistent, not in agreement.
        let shifted = all(&table(&[[1.0, 2.0], [2.0, 3.0], [5.0, 6.0]]));
        let [agreement, consistency] = [1, 2].map(|i| shifted[i].unwrap());
        assert!((consistency.value - 1.0).abs() < 1e-12 && agreement.value < 1.0);
        assert!(agreement.interval.is_some(), "{agreement:?}");
        // Subjects that do not differ, raters that do: nothing of the variance is the subjects'.
        for found in all(&table(&[[1.0, 2.0], [1.0, 2.0], [1.0, 2.0]])).into_iter().flatten() {
            assert!(found.value <= 0.0, "{found:?}");
        }
    }
}
