//! Statistics against published examples and against other packages (tests/reference/reliability.py: pingouin,
//! statsmodels, SciPy). Sources of the published values stand in tests/reference/README.md.

use serde_json::Value;
use stillmark::stats::agreement::{Agreement, agreement, corrected_sd};
use stillmark::stats::anova::{MeanSquares, Table};
use stillmark::stats::cusum::{self, Rates};
use stillmark::stats::icc::{Form, icc};
use stillmark::stats::noncentral_t;
use stillmark::stats::proportion::{newcombe, wilson};
use stillmark::stats::quantile;
use stillmark::stats::repeatability::{sem_agreement, sem_consistency, within_subject};
use stillmark::stats::summary::sd;

use crate::reference_cases::Differences;

/// Asked of everything that is compared with another package, relative to the size of the numbers.
const CLOSE: f64 = 1e-8;

fn parsed(text: &str) -> Value {
    serde_json::from_str(text).expect("a file of tests/reference")
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().expect("a list").iter().map(number).collect()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or(f64::NAN)
}

fn rows(value: &Value) -> Vec<Vec<f64>> {
    value.as_array().expect("rows").iter().map(numbers).collect()
}

impl Differences {
    fn close(&mut self, what: &str, found: f64, expected: f64) {
        self.near(what, found, expected, CLOSE * expected.abs().max(1.0));
    }
}

#[test]
fn shrout_and_fleiss_and_weir() {
    let expected = parsed(include_str!("../reference/icc_shrout_fleiss_1979.json"));
    let ms = Table::new(rows(&expected["ratings_rows_are_subjects"])).unwrap().mean_squares();
    let mut wrong = Differences::default();
    let of = |name: &str| number(&expected["mean_squares"][name]);
    for (name, found) in
        [("between", ms.between), ("within", ms.within), ("judges", ms.raters), ("error", ms.error)]
    {
        wrong.close(name, found, of(name));
    }
    for form in Form::ALL {
        let found = icc(&ms, form).unwrap();
        let name = form.key();
        let value =
            expected["icc"].as_object().unwrap().iter().find(|(key, _)| key.starts_with(name)).unwrap().1;
        wrong.close(name, found.value, number(value));
        let (low, high) = found.interval.unwrap();
        wrong.close(&format!("{name} low"), low, number(&expected["ci95"][name][0]));
        wrong.close(&format!("{name} high"), high, number(&expected["ci95"][name][1]));
    }
    for (name, found) in [("consistency", sem_consistency(&ms)), ("agreement", sem_agreement(&ms))] {
        let key = if name == "consistency" { "consistency_sqrtMSE" } else { name };
        wrong.close(name, found.sem, number(&expected["sem"][key]));
        // The published factor is 1.96, not its exact value.
        wrong.near(name, found.mdc95, number(&expected["mdc95"][name]), 2e-4);
    }
    // Weir 2005: the standard error of agreement is the root of the mean square within subjects.
    wrong.close("identity", sem_agreement(&ms).sem, ms.within.sqrt());
    // A teaching example of two measurements: standard deviations of five subjects 5.7, 4.2, 5.7, 2.8 and 2.1 give 4.3559.
    let pairs: Vec<Vec<f64>> =
        [5.7, 4.2, 5.7, 2.8, 2.1].iter().map(|sd| vec![50.0, 50.0 + sd * 2.0_f64.sqrt()]).collect();
    wrong.near("two measurements", within_subject(&pairs).unwrap().0, 4.3559, 5e-5);
    // Hicks 2006 (lumbar lordosis): a smallest detectable change of 3.90° belongs to a standard error of 1.4070°.
    wrong.near("Hicks", stillmark::stats::repeatability::Sem::of(1.4070).mdc95, 3.90, 0.005);
    wrong.assert_none();
}

/// The four columns of the published table: first and second reading by each meter.
fn peak_flow() -> [Vec<f64>; 4] {
    let mut columns: [Vec<f64>; 4] = Default::default();
    let mut reader =
        csv::Reader::from_reader(include_str!("../reference/pefr_bland_altman_1986.csv").as_bytes());
    for record in reader.records() {
        for (column, cell) in columns.iter_mut().zip(record.expect("a cell of the table").iter().skip(1)) {
            column.push(cell.parse().expect("a cell of the table"));
        }
    }
    columns
}

fn differences(a: &[f64], b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a - b).collect()
}

#[test]
fn bland_and_altman() {
    let expected = parsed(include_str!("../reference/pefr_expected.json"));
    let [a1, a2, b1, b2] = peak_flow();
    let found = agreement(&differences(&a1, &b1)).unwrap();
    let first = &expected["first_readings"];
    let mut wrong = Differences::default();
    wrong.close("bias", found.bias.value, number(&first["bias"]));
    wrong.close("sd", found.sd, number(&first["sd"]));
    wrong.close("low", found.bias.low, number(&first["bias_ci"][0]));
    wrong.close("high", found.bias.high, number(&first["bias_ci"][1]));
    // The file takes 1.96 for z; 1.959964 changes the fifth digit.
    wrong.near("lower limit", found.lower.value, number(&first["loa_196sd"][0]), 0.0015);
    wrong.near("upper limit", found.upper.value, number(&first["loa_196sd"][1]), 0.0015);
    for (limit, key) in
        [(found.lower, "ci_lower_limit_1999_196sd"), (found.upper, "ci_upper_limit_1999_196sd")]
    {
        wrong.near(key, limit.approximate.0, number(&first[key][0]), 0.003);
        wrong.near(key, limit.approximate.1, number(&first[key][1]), 0.003);
    }
    let within = |a: &[f64], b: &[f64]| {
        let groups: Vec<Vec<f64>> = a.iter().zip(b).map(|(a, b)| vec![*a, *b]).collect();
        within_subject(&groups).unwrap().0
    };
    let (wright, mini) = (within(&a1, &a2), within(&b1, &b2));
    wrong.close("wright", wright, number(&expected["repeatability"]["wright"]["sw"]));
    wrong.close("mini", mini, number(&expected["repeatability"]["mini"]["sw"]));
    let means = |a: &[f64], b: &[f64]| -> Vec<f64> { a.iter().zip(b).map(|(a, b)| 0.5 * (a + b)).collect() };
    let averaged = differences(&means(&a1, &a2), &means(&b1, &b2));
    let of_means = &expected["averages_of_two"];
    wrong.close("sd of means", sd(&averaged), number(&of_means["sd"]));
    // The file takes a meter's own standard deviation about the mean difference of its two readings; a half of its square
    // is the within-subject variance about each meter's own trend.
    let [own_a, own_b] = [(&a1, &a2), (&b1, &b2)].map(|(a, b)| sd(&differences(a, b)) / 2.0_f64.sqrt());
    let corrected = corrected_sd(sd(&averaged), (own_a, 2.0), (own_b, 2.0));
    wrong.close("corrected", corrected, number(&of_means["corrected_sd"]));
    wrong.assert_none();
}

#[test]
fn wilson_intervals() {
    let mut wrong = Differences::default();
    let mut reader =
        csv::Reader::from_reader(include_str!("../reference/proportion_intervals.csv").as_bytes());
    for record in reader.records() {
        let cells: Vec<f64> = record.unwrap().iter().map(|cell| cell.parse().unwrap()).collect();
        let found = wilson(cells[0], cells[1]).unwrap();
        let what = format!("{}/{}", cells[0], cells[1]);
        wrong.near(&what, found.low, cells[2], 1e-9);
        wrong.near(&what, found.high, cells[3], 1e-9);
    }
    wrong.assert_none();
}

#[test]
fn cumulative_sums() {
    let expected = parsed(include_str!("../reference/cusum.json"));
    let mut wrong = Differences::default();
    let rates = |limit: &Value| Rates {
        acceptable: number(&limit["p0"]),
        unacceptable: number(&limit["p1"]),
        alpha: number(&limit["alpha"]),
        beta: number(&limit["beta"]),
    };
    for limit in expected["limits"].as_array().unwrap() {
        let found = rates(limit).limits();
        for (name, found) in [("s", found.s), ("h0", found.h0), ("h1", found.h1)] {
            wrong.close(name, found, number(&limit[name]));
        }
        wrong.close("threshold", rates(limit).threshold(), number(&limit["a"]));
    }
    let outcomes = numbers(&expected["sequence_1_is_failure"]);
    let first = rates(&expected["limits"][0]);
    let mut all = |what: &str, found: &[f64], expected: &[f64]| {
        wrong.same(what, &found.len(), &expected.len());
        for (found, expected) in found.iter().zip(expected) {
            wrong.close(what, *found, *expected);
        }
    };
    let walk = numbers(&expected["williams_walk_p0_0p1_p1_0p2"]);
    all("walk", &cusum::walk(&outcomes, &first.limits()), &walk);
    all("chart", &cusum::deterioration(&outcomes, &first), &numbers(&expected["tabular_llr"]));
    let steiner = expected["steiner_2000"].as_array().unwrap();
    assert!(steiner.len() >= 4);
    for case in steiner {
        let of = |key: &str| number(&case[key]);
        wrong.close("Steiner", cusum::increment(of("outcome"), of("p"), of("RA")), of("score"));
    }
    wrong.assert_none();
}

/// The mean run length of the chart against a simulation written here: 4,000 charts at the unacceptable rate.
#[test]
fn run_lengths_agree_with_simulation() {
    use rand::{Rng as _, SeedableRng as _};
    let rates = Rates { acceptable: 0.1, unacceptable: 0.2, alpha: 0.1, beta: 0.1 };
    let threshold = rates.threshold();
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(4);
    let (success, failure) = ((0.8_f64 / 0.9).ln(), 2.0_f64.ln());
    let mut total = 0.0;
    for _ in 0..4000 {
        let mut sum = 0.0_f64;
        while sum <= threshold {
            sum = f64::max(0.0, sum + if random.random::<f64>() < 0.2 { failure } else { success });
            total += 1.0;
        }
    }
    let (simulated, found) = (total / 4000.0, cusum::run_length(&rates, threshold, 0.2));
    assert!((found / simulated - 1.0).abs() < 0.06, "{found} {simulated}");
    assert!(cusum::run_length(&rates, threshold, 0.1) > 3.0 * found);
}

#[test]
fn two_hundred_tables_agree_with_other_packages() {
    let expected = parsed(include_str!("../reference/reliability.json"));
    let mut wrong = Differences::default();
    let tables = expected["tables"].as_array().unwrap();
    assert_eq!(tables.len(), 200);
    for (i, one) in tables.iter().enumerate() {
        let rows = rows(&one["values"]);
        let ms = Table::new(rows.clone()).unwrap().mean_squares();
        wrong.close(&format!("{i} F"), ms.raters / ms.error, number(&one["f_raters"]));
        wrong.close(&format!("{i} within"), ms.within, number(&one["within_variance"]));
        coefficients(&mut wrong, i, &ms, &one["icc"]);
        let column = |j: usize| rows.iter().map(|row| row[j]).collect::<Vec<f64>>();
        let found = agreement(&differences(&column(0), &column(1))).unwrap();
        limits(&mut wrong, i, &found, &one["agreement"]);
    }
    wrong.assert_none();
}

fn coefficients(wrong: &mut Differences, i: usize, ms: &MeanSquares, expected: &Value) {
    for form in Form::ALL {
        let found = icc(ms, form).expect("a table with variance");
        let expected = numbers(&expected[form.key()]);
        let what = format!("{i} {}", form.key());
        wrong.close(&what, found.value, expected[0]);
        match found.interval {
            Some((low, high)) => {
                wrong.close(&format!("{what} low"), low, expected[1]);
                wrong.close(&format!("{what} high"), high, expected[2]);
            }
            // Where the library gives none, the other package's does not hold its own coefficient.
            None => {
                let holds = expected[1] <= expected[0] && expected[0] <= expected[2];
                wrong.same(&format!("{what} has no interval"), &holds, &false);
            }
        }
    }
}

fn limits(wrong: &mut Differences, i: usize, found: &Agreement, expected: &Value) {
    let ends = |key: &str| numbers(&expected[key]);
    for (what, found, expected) in [
        ("bias", found.bias.value, number(&expected["bias"])),
        ("bias low", found.bias.low, ends("bias_interval")[0]),
        ("bias high", found.bias.high, ends("bias_interval")[1]),
        ("sd", found.sd, number(&expected["sd"])),
        ("lower", found.lower.value, number(&expected["lower_limit"])),
        ("upper", found.upper.value, number(&expected["upper_limit"])),
        ("lower from", found.lower.exact.0, ends("lower_exact")[0]),
        ("lower to", found.lower.exact.1, ends("lower_exact")[1]),
        ("upper from", found.upper.exact.0, ends("upper_exact")[0]),
        ("upper to", found.upper.exact.1, ends("upper_exact")[1]),
    ] {
        wrong.close(&format!("{i} {what}"), found, expected);
    }
}

#[test]
fn shares_and_quantiles_agree_with_other_packages() {
    let expected = parsed(include_str!("../reference/reliability.json"));
    let mut wrong = Differences::default();
    for one in expected["proportions"].as_array().unwrap() {
        let (x, n) = (numbers(&one["x"]), numbers(&one["n"]));
        let [first, second] = [0, 1].map(|i| wilson(x[i], n[i]).unwrap());
        let difference = newcombe(&first, &second);
        let what = format!("{x:?} of {n:?}");
        for (found, expected) in [
            (first.low, &one["wilson"][0]),
            (first.high, &one["wilson"][1]),
            (difference.low, &one["newcombe"][0]),
            (difference.high, &one["newcombe"][1]),
        ] {
            wrong.close(&what, found, number(expected));
        }
    }
    for one in expected["quantiles"].as_array().unwrap() {
        let (p, d) = (number(&one["p"]), numbers(&one["d"]));
        let found = match one["of"].as_str() {
            Some("t") => quantile::t(p, d[0]),
            Some("f") => quantile::f(p, d[0], d[1]),
            _ => noncentral_t::quantile(p, d[0], d[1]),
        };
        wrong.close(&format!("{} {p} {d:?}", one["of"]), found, number(&one["value"]));
    }
    wrong.assert_none();
}
