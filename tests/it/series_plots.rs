//! The plots of many invented series: no words touch each other, none is cut, and the ticks of an axis have one precision.

use rand::{Rng as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use stillmark::measure::mark::{Level, Side};
use stillmark::measure::settings::{Band, Rule};
use stillmark::measure::true_view::choice::Basis;
use stillmark::measure::verdict::State;
use stillmark::scene::drawing::primitive::Primitive;
use stillmark::scene::drawing::set_line::SetLine;
use stillmark::scene::drawing::shape::{Rect, Scene};
use stillmark::scene::drawing::theme::Theme;
use stillmark::scene::plot::agreement::{AxisWords, agreement_plot};
use stillmark::scene::plot::{Axis, audit as charts, shares};
use stillmark::stats::agreement::agreement;
use stillmark::study::audit::{audit, rates};
use stillmark::study::series::{Against, BodyOutcome, Treated, ValueSd};

const SERIES: u64 = 200;

fn body(draw: &mut ChaCha8Rng) -> Treated {
    let state = [State::Inside, State::Inside, State::Outside, State::Undecided][draw.random_range(0..4)];
    let p_inside = match state {
        State::Inside => 0.97,
        State::Outside => 0.02,
        State::Undecided | State::NotShown => draw.random_range(0.1..0.9),
    };
    let mut value = |middle: f64| Some(ValueSd { value: middle + draw.random_range(-0.3..0.3), sd: 0.02 });
    let [depth, height, midline] = [value(0.4), value(0.5), value(0.0)];
    let against = |rule, low, high| Against {
        rule,
        band: Band::new(low, high),
        nominal_inside: p_inside > 0.5,
        state,
        p_inside,
        basis: Basis::Direct,
    };
    Treated {
        lesion_s: None,
        remarks: String::new(),
        file: "a.case.json".to_owned(),
        title: "Invented".to_owned(),
        operator: ["R1", "R2", ""][draw.random_range(0..3)].to_owned(),
        date: format!("{}-{:02}-10", draw.random_range(2020..2027), draw.random_range(1..13)),
        level: [Level::L3, Level::L4, Level::L5][draw.random_range(0..3)],
        side: [Side::Right, Side::Left][draw.random_range(0..2)],
        shots: 2,
        origins: [0; 3],
        depth,
        height,
        midline,
        true_view: [None; 3],
        against: vec![
            against(Rule::Depth, 0.3, 0.5),
            against(Rule::Height, 0.4, 0.6),
            against(Rule::Midline, -0.1, 0.1),
        ],
        outcome: Ok(BodyOutcome { nominal_inside: p_inside > 0.5, state, p_inside }),
        issues: Vec::new(),
    }
}

/// The lines of words of a drawing with their boxes.
fn words(scene: &Scene) -> Vec<(String, Rect)> {
    let drawn = Primitive::of(scene, &Theme::light(), |p| p);
    let line = |primitive| match primitive {
        Primitive::Words { at, align, words, size, .. } => {
            let ink = SetLine::of(&words, size, at, align).ink();
            Some((words, ink))
        }
        _ => None,
    };
    drawn.into_iter().filter_map(line).collect()
}

fn faults(name: &str, scene: &Scene) -> Vec<String> {
    let words = words(scene);
    let mut faults = Vec::new();
    for (i, (said, at)) in words.iter().enumerate() {
        let room = scene.bounds.grown(0.5);
        if !room.contains(at.min) || !room.contains(at.max) {
            faults.push(format!("{name}: “{said}” is cut: {at:?} in {room:?}"));
        }
        for (other, there) in &words[i + 1..] {
            let touch = at.min.x < there.max.x
                && there.min.x < at.max.x
                && at.min.y + 0.2 < there.max.y
                && there.min.y + 0.2 < at.max.y;
            if touch {
                faults.push(format!("{name}: “{said}” touches “{other}”"));
            }
        }
    }
    faults
}

/// All numbers of an axis have as many decimals.
fn uneven(axis: &Axis) -> bool {
    let decimals = |words: &str| words.split_once('.').map_or(0, |(_, behind)| behind.len());
    let numbers = axis.ticks.iter().map(|(_, words)| words.as_str()).filter(|words| !words.contains(' '));
    let found: std::collections::BTreeSet<usize> = numbers.map(decimals).collect();
    found.len() > 1
}

#[test]
fn two_hundred_series_are_plotted_without_words_that_touch() {
    let rates = rates(0.1, 0.2).expect("rates");
    let mut wrong = Vec::new();
    let (mut direct, mut plots) = (0, 0);
    for seed in 0..SERIES {
        let mut draw = ChaCha8Rng::seed_from_u64(seed);
        let count = draw.random_range(1..=90);
        let bodies: Vec<Treated> = (0..count).map(|_| body(&mut draw)).collect();
        let all: Vec<&Treated> = bodies.iter().collect();
        let found = audit(&all, &rates);
        let sizes = [(912.0, 300.0), (673.0, 220.0), (480.0, 250.0)];
        for size in sizes {
            for chart in charts::errors(&all, &found).iter().chain(&charts::sums(&found, &rates)) {
                plots += 1;
                direct += usize::from(chart.direct(size).is_some());
                let name = format!("{seed}, {} at {size:?}", chart.title);
                wrong.extend(faults(&name, &chart.drawn(size).scene));
                if uneven(&chart.x) || uneven(&chart.y) {
                    wrong.push(format!("{name}: ticks of several precisions"));
                }
            }
            wrong.extend(faults(&format!("{seed}, shares {size:?}"), &shares::drawn(&found, size.0).scene));
        }
        // Limits of agreement that lie close to the bias, and far from it.
        let spread = draw.random_range(0.001..30.0);
        let pairs: Vec<(f64, f64)> = (0..draw.random_range(2..30))
            .map(|_| {
                let first: f64 = draw.random_range(0.0..100.0);
                (first, first + draw.random_range(-1.0..1.0) * spread)
            })
            .collect();
        let differences: Vec<f64> = pairs.iter().map(|(a, b)| a - b).collect();
        let agreed = agreement(&differences).expect("two or more");
        let said = AxisWords { what: "Depth, %".to_owned(), first: "R1".to_owned(), second: "R2".to_owned() };
        wrong.extend(faults(
            &format!("{seed}, agreement"),
            &agreement_plot(&pairs, &agreed, &said, (460.0, 280.0)),
        ));
    }
    assert!(wrong.is_empty(), "{} faults:\n{}", wrong.len(), wrong[..wrong.len().min(30)].join("\n"));
    assert!(direct * 10 > plots, "names stand at their lines where there is room: {direct} of {plots}");
}
