//! A reading as a few lines: what, how much, and how it stands to the target.

use crate::case::readings::ShotReading;
use crate::measure::quantity::Quantity;
use crate::measure::reading::{
    ApReading, LateralReading, MidlineBy, OverSpinousProcess, PairReading, PedicleReading, Quadrant,
};
use crate::measure::settings::Rule;
use crate::measure::true_view::choice::used;
use crate::measure::verdict::{Nominal, State, Verdict, VerdictRule};
use crate::scene::drawing::shape::{Glyph, Role};
use crate::scene::drawing::theme::state_sign;
use crate::scene::format;

/// Depth from which the anterior third begins.
const ANTERIOR_THIRD: f64 = 2.0 / 3.0;

/// One line of a reading.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadingLine {
    /// The verdict's sign, where there is a verdict.
    pub sign: Option<(Role, Glyph)>,
    /// What is read: `depth`.
    pub name: String,
    /// The number with its certainty: `38 % ± 3`.
    pub number: String,
    /// How it stands to the target, and what else is to be said; may be empty.
    pub words: String,
}

impl ReadingLine {
    /// Name and number in one phrase: `depth 38 % ± 3`, `22 % ± 3 short of the midline`.
    #[must_use]
    pub fn phrase(&self) -> String {
        if self.number.contains(&self.name) {
            self.number.clone()
        } else {
            format!("{} {}", self.name, self.number)
        }
    }
}

/// The lines of a reading; none where there is nothing to be read.
#[must_use]
pub fn lines(reading: &ShotReading) -> Vec<ReadingLine> {
    match reading {
        ShotReading::Lateral(reading) => lateral(reading),
        ShotReading::Ap(reading) => ap(reading),
        ShotReading::Pedicle(reading) => pedicle(reading),
    }
}

/// The chief lines of a reading: each coordinate once, a midline as the verdict takes it.
pub fn chief(lines: &[ReadingLine]) -> impl Iterator<Item = &ReadingLine> {
    const CHIEF: [&str; 5] = ["depth", "midline", "height", "radius", "clock"];
    let first = |line: &ReadingLine| lines.iter().find(|one| one.name == line.name);
    lines.iter().filter(move |line| CHIEF.contains(&&*line.name) && first(line) == Some(line))
}

fn line(name: &str, number: String, verdict: Option<&Verdict>) -> ReadingLine {
    ReadingLine {
        sign: verdict.map(|v| state_sign(v.state)),
        name: name.to_owned(),
        number,
        words: verdict.map(format::verdict).unwrap_or_default(),
    }
}

fn of_rule(verdicts: &[Verdict], rule: VerdictRule) -> Option<&Verdict> {
    verdicts.iter().find(|verdict| verdict.rule == rule)
}

fn lateral(reading: &LateralReading) -> Vec<ReadingLine> {
    let Some(tip) = &reading.tip else { return Vec::new() };
    let view = reading.true_view.as_ref();
    vec![
        coordinate(Rule::Depth, &tip.along, view.map(|view| &view.depth), &reading.verdicts),
        own_height(&tip.height, view.map(|view| &view.height), &reading.verdicts),
    ]
}

/// A coordinate as a true view would show it where that is known, and the direct reading beside it.
fn coordinate(
    rule: Rule,
    direct: &Quantity,
    corrected: Option<&Quantity>,
    verdicts: &[Verdict],
) -> ReadingLine {
    let shown = used(direct, corrected);
    let mut one =
        line(rule.key(), format::coordinate(rule, shown), of_rule(verdicts, VerdictRule::Band(rule)));
    add_words(&mut one, beside(rule, direct, corrected).as_deref());
    // The number says by itself that it lies posterior to the wall.
    let place = depth_place(shown.value).filter(|_| rule == Rule::Depth && shown.value > 0.0);
    add_words(&mut one, place);
    one
}

/// An offset from a midline, likewise, with what the midline was found by.
fn offset(
    by: MidlineBy,
    direct: &Quantity,
    corrected: Option<&Quantity>,
    verdicts: &[Verdict],
) -> ReadingLine {
    let mut one = coordinate(Rule::Midline, direct, corrected, verdicts);
    add_words(&mut one, Some(midline_by(by)));
    one
}

/// Where a depth lies that is worth naming beside its number.
#[must_use]
pub fn depth_place(depth: f64) -> Option<&'static str> {
    if depth > 1.0 {
        Some("the tip projects anterior to the body")
    } else if depth > ANTERIOR_THIRD {
        Some("in the anterior third")
    } else if depth < 0.0 {
        Some("posterior to the posterior wall")
    } else {
        None
    }
}

fn ap(reading: &ApReading) -> Vec<ReadingLine> {
    let view = reading.true_view.as_ref();
    let mut lines = Vec::new();
    let ways = [MidlineBy::Pedicles, MidlineBy::SpinousProcess, MidlineBy::Body];
    let found = ways.into_iter().filter_map(|by| Some((by, reading.midline_by.by(by)?)));
    for (i, (by, direct)) in found.enumerate() {
        let verdicts = if i == 0 { reading.verdicts.as_slice() } else { &[] };
        lines.push(offset(by, direct, view.and_then(|view| view.midline_by.by(by)), verdicts));
    }
    if let Some(over) = &reading.over_spinous_process {
        let mut one = line("spinous", format::probability(over.p_inside), None);
        add_words(&mut one, Some(over_spinous_process(over)));
        lines.push(one);
    }
    if let Some(direct) = &reading.medial_border {
        let to_go = used(direct, view.and_then(|view| view.medial_border.as_ref()));
        let mut one = line("border", format::size_of(to_go), None);
        add_words(&mut one, Some(medial_border(to_go.value)));
        lines.push(one);
    }
    if let Some(height) = &reading.height {
        let corrected = view.and_then(|view| view.height.as_ref());
        lines.push(own_height(height, corrected, &reading.verdicts));
    }
    lines
}

/// The height as one view tells it; a pair's, which the window shows in its place, is of both.
fn own_height(direct: &Quantity, corrected: Option<&Quantity>, verdicts: &[Verdict]) -> ReadingLine {
    let mut one = coordinate(Rule::Height, direct, corrected, verdicts);
    add_words(&mut one, Some("from this view alone"));
    one
}

/// The lines of a matched pair: its three coordinates against the target, and safe passage.
#[must_use]
pub fn pair(reading: &PairReading) -> Vec<ReadingLine> {
    let (view, verdicts) = (&reading.true_view, &reading.verdicts);
    let mut lines = Vec::new();
    if let Some(depth) = &reading.depth {
        lines.push(coordinate(Rule::Depth, depth, view.depth.as_ref(), verdicts));
    }
    if let Some(height) = &reading.height {
        lines.push(coordinate(Rule::Height, height, view.height.as_ref(), verdicts));
    }
    if let Some((by, direct)) = &reading.midline {
        lines.push(offset(*by, direct, view.midline_by.by(*by), verdicts));
    }
    if let Some(passage) = of_rule(&reading.verdicts, VerdictRule::SafePassage) {
        let number = passage.q.map(format::probability).unwrap_or_default();
        let mut one = line("passage", number, Some(passage));
        let chance = "the number is the probability that the tip was medial to the border while posterior to the posterior wall";
        add_words(&mut one, Some(chance));
        lines.push(one);
    }
    lines
}

/// Where a tip lies to the spinous process, with how sure that is.
#[must_use]
pub const fn over_spinous_process(over: &OverSpinousProcess) -> &'static str {
    match (over.nominal, over.state) {
        (Nominal::Inside, State::Inside) => {
            "probability that the tip overlaps the spinous process; it does, at least 95 % likely"
        }
        (Nominal::Inside, _) => {
            "probability that the tip overlaps the spinous process; by the value it does, but too close to call"
        }
        (_, State::Outside) => {
            "probability that the tip overlaps the spinous process; it does not, at least 95 % likely"
        }
        _ => {
            "probability that the tip overlaps the spinous process; by the value it does not, but too close to call"
        }
    }
}

/// Where a tip lies to the entry side's medial border, from the way still to go.
#[must_use]
pub fn medial_border(to_go: f64) -> &'static str {
    if to_go >= 0.0 {
        "of the body width lateral to the medial border of the entry-side pedicle"
    } else {
        "of the body width medial to the medial border of the entry-side pedicle"
    }
}

fn pedicle(reading: &PedicleReading) -> Vec<ReadingLine> {
    let numbers = |q: &Option<Quantity>| q.as_ref().map(format::number_of);
    let mut lines = Vec::new();
    if let Some(radius) = numbers(&reading.radius) {
        let mut one = line("radius", radius, of_rule(&reading.verdicts, VerdictRule::Docking));
        add_words(&mut one, reading.quadrant.map(quadrant));
        lines.push(one);
    }
    if let Some(hour) = reading.clock_hour {
        lines.push(line("clock", format::clock_hour(hour), None));
    }
    lines
}

/// What stands beside a number that a true view would show where the direct reading rounds to another:
/// `true view; direct 38 % ± 3`.
#[must_use]
pub fn beside(rule: Rule, direct: &Quantity, corrected: Option<&Quantity>) -> Option<String> {
    let other = format::percent(direct.value) != format::percent(corrected?.value);
    other.then(|| format!("true view; direct {}", format::coordinate(rule, direct)))
}

fn add_words(line: &mut ReadingLine, words: Option<&str>) {
    let Some(words) = words else { return };
    if !line.words.is_empty() {
        line.words.push_str("; ");
    }
    line.words.push_str(words);
}

/// By what a midline was found, in words.
#[must_use]
pub const fn midline_by(by: MidlineBy) -> &'static str {
    match by {
        MidlineBy::Pedicles => "by the pedicles",
        MidlineBy::SpinousProcess => "by the spinous process",
        MidlineBy::Body => "by the body center",
    }
}

/// A quarter of the pedicle in words.
#[must_use]
pub const fn quadrant(quadrant: Quadrant) -> &'static str {
    match quadrant {
        Quadrant::SuperiorLateral => "superolateral quadrant",
        Quadrant::SuperiorMedial => "superomedial quadrant",
        Quadrant::InferiorLateral => "inferolateral quadrant",
        Quadrant::InferiorMedial => "inferomedial quadrant",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::quantity::Budget;
    use crate::measure::reading::Place;
    use crate::measure::settings::Band;

    fn quantity(value: f64) -> Quantity {
        let budget = Budget { bone: 0.016, ..Budget::default() };
        Quantity { value, budget, influences: Vec::new(), monte_carlo: None }
    }

    fn read(depth: f64) -> Vec<ReadingLine> {
        let reading = LateralReading {
            tip: Some(Place { along: quantity(depth), height: quantity(0.5), covariance: 0.0 }),
            verdicts: vec![Verdict::on_band(Rule::Depth, Band::new(0.3, 0.5), depth, 0.016)],
            ..LateralReading::default()
        };
        lines(&ShotReading::Lateral(Box::new(reading)))
    }

    #[test]
    fn a_lateral_reading_says_depth_and_height() {
        let lines = read(0.38);
        assert_eq!((lines[0].name.as_str(), lines[0].number.as_str()), ("depth", "38 % ± 3"));
        assert_eq!(lines[0].sign, Some((Role::Inside, Glyph::Disc)));
        assert_eq!(lines[0].words, "in target range 30–50 %, at least 95 % likely inside");
        // Height has no band in this reading, so it has a number and where that is from.
        assert_eq!((lines[1].sign, lines[1].words.as_str()), (None, "from this view alone"));
    }

    #[test]
    fn places_outside_the_middle_are_named() {
        assert!(read(0.7)[0].words.ends_with("in the anterior third"));
        assert!(read(1.04)[0].words.ends_with("the tip projects anterior to the body"));
        let behind = &read(-0.1)[0];
        assert_eq!(behind.phrase(), "depth 10 % ± 3 posterior to the wall");
        assert!(!behind.words.contains("posterior wall"), "said once: {}", behind.words);
    }

    #[test]
    fn without_a_tip_there_are_no_lines() {
        assert!(lines(&ShotReading::Lateral(Box::default())).is_empty());
    }
}
