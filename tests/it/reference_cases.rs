//! Loads the cases of tests/reference, and gathers what disagrees with them.

use std::collections::BTreeMap;

use serde_json::Value;
use stillmark::geom::point::Point;
use stillmark::measure::issue::{Issue, IssueCode};
use stillmark::measure::mark::{MarkKind, Marks, PatientRight, Side, Stage, View};
use stillmark::measure::quantity::Quantity;
use stillmark::measure::reading::{Field, FrameExtent, Lent, ShotInput};
use stillmark::measure::settings::{Band, Rule, Settings};
use stillmark::measure::true_view::known::Known;
use stillmark::measure::verdict::{Verdict, VerdictRule, too_uncertain};

/// Agreement of fractions.
pub(crate) const FRACTION: f64 = 1e-9;
/// Agreement of places and lengths in pixels.
pub(crate) const PIXELS: f64 = 1e-8;
/// Relative agreement of standard uncertainties, and absolute of probabilities.
pub(crate) const UNCERTAINTY: f64 = 1e-6;

/// What disagrees, gathered so that one run shows all of it.
#[derive(Default)]
pub(crate) struct Differences(Vec<String>);

impl Differences {
    pub(crate) fn near(&mut self, what: &str, found: f64, expected: f64, tolerance: f64) {
        if (found - expected).abs() > tolerance || found.is_nan() || expected.is_nan() {
            self.0.push(format!("{what}: {found} instead of {expected}"));
        }
    }

    pub(crate) fn same<T: PartialEq + std::fmt::Debug>(&mut self, what: &str, found: &T, expected: &T) {
        if found != expected {
            self.0.push(format!("{what}: {found:?} instead of {expected:?}"));
        }
    }

    pub(crate) fn quantity(&mut self, what: &str, found: &Quantity, expected: &Value) {
        self.near(&format!("{what} value"), found.value, number(&expected["value"]), FRACTION);
        let sd = number(&expected["sd"]);
        // A part much smaller than the whole is compared on the scale of the whole.
        let close = |part: f64| UNCERTAINTY * part.max(1e-3 * sd);
        self.near(&format!("{what} sd"), found.sd(), sd, close(sd));
        for (part, value) in
            [("bone", found.budget.bone), ("metal", found.budget.metal), ("view", found.budget.view)]
        {
            let expected = number(&expected["budget"][part]);
            self.near(&format!("{what} {part}"), value, expected, close(expected));
        }
        self.near(&format!("{what} low"), found.low(), number(&expected["low"]), FRACTION + 2.0 * close(sd));
        self.near(
            &format!("{what} high"),
            found.high(),
            number(&expected["high"]),
            FRACTION + 2.0 * close(sd),
        );
    }

    pub(crate) fn assert_none(self) {
        assert!(self.0.is_empty(), "{} differences:\n{}", self.0.len(), self.0.join("\n"));
    }
}

/// The verdict on the direct reading where a reading's own goes by what a true view would show.
pub(crate) fn on_direct(verdict: &Verdict, direct: Option<&Quantity>) -> Verdict {
    match (verdict.rule, verdict.band, direct) {
        (VerdictRule::Band(rule), Some(band), Some(q)) => Verdict::on_band(rule, band, q.value, q.sd()),
        _ => *verdict,
    }
}

/// The keys of issues, each once and in order, with `too_uncertain` said of the direct readings as the reference says it; a
/// reading's own goes by what a true view would show.
pub(crate) fn keys_on_direct<'a>(
    issues: &[Issue],
    direct: impl IntoIterator<Item = (&'a Verdict, Option<&'a Quantity>)>,
) -> Vec<&'static str> {
    let mut keys: Vec<_> = issues.iter().map(|issue| issue.code).collect();
    keys.retain(|code| *code != IssueCode::TooUncertain);
    let doubted = |(verdict, q): (&Verdict, Option<&Quantity>)| {
        verdict.band.zip(q).is_some_and(|(band, q)| too_uncertain(band, q.sd()))
    };
    if direct.into_iter().any(doubted) {
        keys.push(IssueCode::TooUncertain);
    }
    let mut keys: Vec<_> = keys.into_iter().map(IssueCode::key).collect();
    keys.sort_unstable();
    keys.dedup();
    keys
}

/// A number of a case.
pub(crate) fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("not a number: {value}"))
}

/// A place of a case.
pub(crate) fn point(value: &Value) -> Point {
    Point::new(number(&value[0]), number(&value[1]))
}

/// The marks of a case.
pub(crate) fn marks(value: &Value) -> Marks {
    let mut marks = Marks::new();
    for (key, points) in value.as_object().expect("marks are an object") {
        let kind = MarkKind::from_key(key).expect("a known mark");
        let points = points.as_array().expect("a list of points");
        marks.set(kind, points.iter().map(|p| Some(point(p))).collect());
    }
    marks
}

/// A stage by its key.
pub(crate) fn stage(value: &Value) -> Option<Stage> {
    let key = value.as_str()?;
    Stage::ALL.into_iter().find(|stage| stage.key() == key)
}

/// Settings as in a case file; what is missing keeps its default.
pub(crate) fn settings(value: &Value) -> Settings {
    let mut settings = Settings::default();
    if let Some(sd) = value.get("placement_sd_mm") {
        settings.bone_sd_mm = number(&sd["bone"]);
        settings.metal_sd_mm = number(&sd["metal"]);
    }
    if let Some(half_width) = value.get("view_half_width_deg") {
        settings.view_half_width_deg = number(half_width);
    }
    if let Some(targets) = value.get("targets") {
        settings.targets.stages.clear();
        for (key, bands) in targets.as_object().expect("targets are an object") {
            let stage = Stage::ALL.into_iter().find(|stage| stage.key() == key).expect("a known stage");
            let mut rules = BTreeMap::new();
            for rule in Rule::ALL {
                if let Some(band) = bands.get(rule.key()) {
                    rules.insert(rule, Band::new(number(&band[0]), number(&band[1])));
                }
            }
            settings.targets.stages.insert(stage, rules);
        }
    }
    settings
}

fn frame(value: &Value) -> Option<FrameExtent> {
    let side = |key: &str| u32::try_from(value[key].as_u64()?).ok();
    let field = value
        .get("round")
        .map_or(Field::Whole, |round| Field::Round { centre: point(round), radius: number(&round[2]) });
    Some(FrameExtent { width: side("width")?, height: side("height")?, field })
}

/// The cases of a file.
pub(crate) fn fixture(text: &str) -> Vec<Value> {
    serde_json::from_str(text).expect("a list of cases")
}

/// What a reading is made from, as a case says.
pub(crate) fn shot<'a>(view: View, input: &Value, marks: &'a Marks, settings: &'a Settings) -> ShotInput<'a> {
    let side = input["side"].as_str().and_then(|key| Side::ALL.into_iter().find(|side| side.key() == key));
    let setting = input["patient_right"].as_str();
    ShotInput {
        view,
        marks,
        side,
        stage: stage(&input["stage"]),
        patient_right: setting.and_then(|key| PatientRight::ALL.into_iter().find(|right| right.key() == key)),
        mm_per_px: input["mm_per_px"].as_f64(),
        mm_per_px_sd: None,
        frame: input.get("frame").and_then(frame),
        settings,
        known: Known::default(),
        mark_errors: None,
        lent: Lent { off_middle_mm: input["off_middle_mm"].as_f64(), depth: input["depth"].as_f64() },
        monte_carlo: None,
    }
}
