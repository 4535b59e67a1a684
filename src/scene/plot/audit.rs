//! Charts of what a series of bodies says: the tip's error over time, and cumulative sums with their limits.

use crate::measure::settings::Rule;
use crate::scene::drawing::shape::{Glyph, Role};
use crate::scene::format;
use crate::scene::plot::{Axis, Chart, PlotLayer};
use crate::stats::cusum::Rates;
use crate::study::audit::{Audit, Sums, TipError, Undecided, common_band};
use crate::study::series::{Treated, half_year_middle};

/// The tip's error over time: depth, height and midline, each body a dot, each half-year its mean with a 95 % interval.
/// Bodies without a date that can be read are left out.
#[must_use]
pub fn errors(bodies: &[&Treated], audit: &Audit) -> Vec<Chart> {
    Rule::ALL.into_iter().filter_map(|rule| error(bodies, audit, rule)).collect()
}

fn error(bodies: &[&Treated], audit: &Audit, rule: Rule) -> Option<Chart> {
    let dots: Vec<(f64, f64)> =
        bodies.iter().filter_map(|body| Some((body.time()?, body.error(rule)?))).collect();
    let own: Vec<(f64, &TipError)> = audit
        .errors
        .iter()
        .filter(|one| one.rule == rule)
        .filter_map(|one| Some((half_year_middle(&one.group)?, one)))
        .collect();
    let first = dots.iter().map(|(x, _)| *x).fold(f64::INFINITY, f64::min);
    let last = dots.iter().map(|(x, _)| *x).fold(f64::NEG_INFINITY, f64::max);
    if dots.is_empty() {
        return None;
    }
    let ends: Vec<(f64, f64, f64)> =
        own.iter().filter_map(|(x, one)| one.interval.map(|(low, high)| (*x, low, high))).collect();
    let band = common_band(bodies, rule).map(|(band, _)| 0.5 * (band.high - band.low));
    let all = dots.iter().map(|(_, y)| *y).chain(band.into_iter().flat_map(|half| [-half, half]));
    let (low, high) = all.fold((0.0_f64, 0.0_f64), |(low, high), y| (low.min(y), high.max(y)));
    let means: Vec<(f64, f64)> = own.iter().map(|(x, one)| (*x, one.mean)).collect();
    let mut layers = Vec::new();
    if let Some(half) = band {
        let name = "in target range".to_owned();
        layers.push(PlotLayer::Band { low: -half, high: half, role: Role::DepthBand, name });
    }
    let dot = "one body".to_owned();
    layers.push(PlotLayer::Signs { points: dots.clone(), glyph: Glyph::Disc, role: Role::Dot, name: dot });
    layers.push(PlotLayer::Line { points: means.clone(), role: Role::FirstCurve, name: String::new() });
    layers.push(PlotLayer::Intervals { ends, role: Role::FirstCurve });
    let name = "half-year mean with 95 % interval".to_owned();
    layers.push(PlotLayer::Signs { points: means, glyph: Glyph::Square, role: Role::FirstCurve, name });
    let words = format!(
        "Error of the {} over time, {}: {}.",
        rule.key(),
        format::count(dots.len(), "body", "bodies"),
        own.iter()
            .map(|(_, one)| format!("{} mean {}", one.group, format::signed_percent(one.mean)))
            .collect::<Vec<_>>()
            .join(", ")
    );
    let (name, way) = match rule {
        Rule::Depth => ("Depth", "plus: too far anterior"),
        Rule::Height => ("Height", "plus: too far inferior"),
        Rule::Midline => ("Midline", "plus: past the midline"),
    };
    Some(Chart {
        title: format!("{name}: tip minus the center of its target range ({way})"),
        x: time_axis(first, last),
        y: Axis::round("of the body", (low, high), format::signed_percent),
        layers,
        words,
    })
}

/// An axis of time in years, named by January and July, or by years where there are many.
fn time_axis(first: f64, last: f64) -> Axis {
    let (low, high) = ((2.0 * first).floor() / 2.0, ((2.0 * last).floor() + 1.0) / 2.0);
    let mut ticks = Vec::new();
    let mut at = low;
    while at <= high + 1e-9 && ticks.len() < 400 {
        let july = at.fract() > 0.25;
        if !july || high - low <= 4.0 {
            let year = format::rounded(at.floor());
            ticks.push((at, if july { format!("Jul {year}") } else { format!("Jan {year}") }));
        }
        at += 0.5;
    }
    Axis { label: "date of the case".to_owned(), low, high, ticks, number: format::year_and_month }
}

/// The three charts of cumulative sums: by decision limits, by likelihood ratio, and the same the other way. Each has
/// three lines, for the three ways of counting undecided bodies.
#[must_use]
pub fn sums(audit: &Audit, rates: &Rates) -> Vec<Chart> {
    if audit.order.is_empty() {
        return Vec::new();
    }
    let limits = rates.limits();
    let threshold = rates.threshold();
    let number = |x: f64| format::coefficient(x);
    let limit = |at: f64, words: &str| PlotLayer::Limit { at, name: format!("{words} {}", number(at)) };
    let chart = |title: &str, of: &dyn Fn(&Sums) -> &[f64], limits: Vec<PlotLayer>| {
        sum_chart(audit, title, of, limits)
    };
    vec![
        chart(
            "Cumulative sum with decision limits: up for a miss, down for a hit",
            &|sums| &sums.walk,
            vec![limit(limits.h1, "miss rate too high above"), limit(-limits.h0, "acceptable below")],
        ),
        chart(
            "Likelihood ratio, detecting a high miss rate",
            &|sums| &sums.deterioration,
            vec![limit(threshold, "signal above")],
        ),
        chart(
            "Likelihood ratio, improvement chart",
            &|sums| &sums.learning,
            vec![limit(threshold, "signal above")],
        ),
    ]
}

fn sum_chart(audit: &Audit, title: &str, of: &dyn Fn(&Sums) -> &[f64], limits: Vec<PlotLayer>) -> Chart {
    let n = audit.order.len();
    #[expect(clippy::cast_precision_loss, reason = "a series is far smaller than 2^52")]
    let place = |i: usize| i as f64;
    let (mut low, mut high) = (0.0_f64, 0.0_f64);
    let mut layers = Vec::new();
    let mut said = Vec::new();
    for sums in &audit.sums {
        let values = of(sums);
        let points: Vec<(f64, f64)> = std::iter::once((0.0, 0.0))
            .chain(values.iter().enumerate().map(|(i, y)| (place(i + 1), *y)))
            .collect();
        for (_, y) in &points {
            (low, high) = (low.min(*y), high.max(*y));
        }
        let (role, name) = way(sums.undecided);
        let last = values.last().copied().unwrap_or(0.0);
        said.push(format!("{name} it ends at {}", format::coefficient(last)));
        layers.push(PlotLayer::Line { points, role, name: name.to_owned() });
    }
    for limit in &limits {
        if let PlotLayer::Limit { at, name } = limit {
            (low, high) = (low.min(*at), high.max(*at));
            said.push(name.clone());
        }
    }
    layers.extend(limits);
    Chart {
        title: title.to_owned(),
        x: Axis::round("bodies in chronological order", (0.0, place(n)), format::rounded),
        y: Axis::numbers("sum", (low, high)),
        layers,
        words: format!("{title}, {}: {}.", format::count(n, "body", "bodies"), said.join("; ")),
    }
}

/// How a way of counting undecided bodies is drawn and called.
#[must_use]
pub const fn way(undecided: Undecided) -> (Role, &'static str) {
    match undecided {
        Undecided::AsIn => (Role::SecondCurve, "undecided as hits"),
        Undecided::AsOut => (Role::ThirdCurve, "undecided as misses"),
        Undecided::ByProbability => (Role::FirstCurve, "by probability"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::settings::Band;
    use crate::measure::verdict::State;
    use crate::scene::words::series_table::tests::body;
    use crate::study::audit::{audit, rates};
    use crate::study::series::{Against, BodyOutcome, ValueSd};

    fn bodies() -> Vec<Treated> {
        (0..30)
            .map(|i| {
                let mut one = body();
                one.date = format!("{}-{:02}-10", 2025 + i / 12, i % 12 + 1);
                let value = 0.40 + 0.01 * f64::from(i % 5);
                one.depth = Some(ValueSd { value, sd: 0.01 });
                let band = Band::new(0.3, 0.5);
                let state = if i % 7 == 0 { State::Outside } else { State::Inside };
                one.against = vec![Against {
                    rule: Rule::Depth,
                    band,
                    nominal_inside: true,
                    state,
                    p_inside: 0.9,
                    basis: crate::measure::true_view::choice::Basis::Direct,
                }];
                one.outcome = Ok(BodyOutcome { nominal_inside: true, state, p_inside: 0.9 });
                one
            })
            .collect()
    }

    #[test]
    fn errors_are_dots_and_half_years_are_means() {
        let bodies = bodies();
        let bodies: Vec<&Treated> = bodies.iter().collect();
        let rates = rates(0.1, 0.2).unwrap();
        let charts = errors(&bodies, &audit(&bodies, &rates));
        let [depth] = charts.as_slice() else { panic!("only the depth has a band: {}", charts.len()) };
        let dots = depth.layers.iter().find_map(|layer| match layer {
            PlotLayer::Signs { points, role: Role::Dot, .. } => Some(points.clone()),
            _ => None,
        });
        let dots = dots.unwrap();
        assert_eq!(dots.len(), 30);
        // By hand: 10 January is the ninth day after the year's beginning, 0.40 lies on the band's middle.
        assert!(
            (dots[0].0 - (2025.0 + 9.0 / 365.0)).abs() < 1e-9 && dots[0].1.abs() < 1e-12,
            "{:?}",
            dots[0]
        );
        let means = depth.layers.iter().filter_map(|layer| match layer {
            PlotLayer::Signs { points, glyph: Glyph::Square, .. } => Some(points.len()),
            _ => None,
        });
        assert_eq!(means.sum::<usize>(), 5, "five half-years");
        assert!(depth.words.contains("2025 H1 mean +2 %"), "{}", depth.words);
        assert_eq!((depth.x.low, depth.x.high), (2025.0, 2027.5));
    }

    #[test]
    fn sums_have_their_limits() {
        let bodies = bodies();
        let bodies: Vec<&Treated> = bodies.iter().collect();
        let rates = rates(0.1, 0.2).unwrap();
        let charts = sums(&audit(&bodies, &rates), &rates);
        assert_eq!(charts.len(), 3);
        // Both limits of the first by hand in tests/it/reference.rs: 2.7092 each way.
        assert!(
            charts[0].words.contains("miss rate too high above 2.71; acceptable below −2.71"),
            "{}",
            charts[0].words
        );
        assert!(charts[1].words.contains("signal above 2.20"));
        for chart in &charts {
            let drawn = chart.drawn((500.0, 260.0));
            assert!(!drawn.scene.shapes.is_empty());
        }
        assert!(sums(&audit(&[], &rates), &rates).is_empty());
    }
}
