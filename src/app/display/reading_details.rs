//! The smaller lines of a reading, beside the large numbers: what each view and a matched pair tell further.

use crate::app::marking::guide::capital;
use crate::case::readings::ShotReading;
use crate::measure::quantity::Quantity;
use crate::measure::reading::{ApReading, MidlineBy, OverSpinousProcess, PairReading, PedicleReading};
use crate::measure::settings::Rule;
use crate::measure::true_view::choice::used;
use crate::measure::verdict::{Nominal, State, Verdict, VerdictRule};
use crate::scene::drawing::shape::{Glyph, Role};
use crate::scene::drawing::theme::state_sign;
use crate::scene::format;
use crate::scene::words::reading::{midline_by, quadrant};
use crate::scene::words::true_view;

/// One small line.
#[derive(Clone, Debug, PartialEq)]
pub struct DetailLine {
    /// What it is about.
    pub name: &'static str,
    /// The number, if it is one.
    pub number: String,
    /// What is to be said of it; may be empty.
    pub words: String,
    /// The sign of what can be said with confidence.
    pub sign: Option<(Role, Glyph)>,
}

impl DetailLine {
    fn new(name: &'static str, number: String, words: impl Into<String>) -> Self {
        Self { name, number, words: words.into(), sign: None }
    }

    /// Everything in one line, for those who hear it.
    #[must_use]
    pub fn spoken(&self) -> String {
        let parts = [format!("{} {}", self.name, self.number), self.words.clone()];
        parts.iter().map(|part| part.trim()).filter(|part| !part.is_empty()).collect::<Vec<_>>().join(": ")
    }
}

/// The small lines of a shot's reading.
#[must_use]
pub fn of_shot(reading: &ShotReading) -> Vec<DetailLine> {
    match reading {
        ShotReading::Lateral(_) => Vec::new(),
        ShotReading::Ap(reading) => of_ap(reading),
        ShotReading::Pedicle(reading) => of_pedicle(reading),
    }
}

/// By what the midline of the verdict was found, in words; `None` where there is none.
#[must_use]
pub fn midline_used(reading: &ShotReading) -> Option<String> {
    let ShotReading::Ap(reading) = reading else { return None };
    let (by, _) = reading.midline_by.best()?;
    Some(format!("Measured {}, the reference midline.", midline_by(by)))
}

/// The direct readings of a shot beside which a true view would show others.
#[must_use]
pub fn of_direct(reading: &ShotReading) -> Vec<DetailLine> {
    true_view::direct(reading).into_iter().map(of_row).collect()
}

/// How the C-arm stood, and what is not known of that.
#[must_use]
pub fn true_view_said(reading: &ShotReading) -> Vec<String> {
    true_view::sentences(reading)
}

fn of_row(row: true_view::Row<'_>) -> DetailLine {
    let name = match row.rule {
        Some(Rule::Depth) => "Depth, direct",
        Some(Rule::Height) => "Height, direct",
        Some(Rule::Midline) => "Midline, direct",
        None => "Mediolateral, direct",
    };
    let by_side = |rule| format::coordinate(rule, row.quantity);
    let number = row.rule.map_or_else(|| format::percent_of(row.quantity), by_side);
    DetailLine::new(name, number, capital(row.words))
}

/// A coordinate: the name says the side of its number.
fn coordinate(rule: Rule, quantity: &Quantity, words: impl Into<String>) -> DetailLine {
    DetailLine::new(format::coordinate_name(rule, quantity.value), format::size_of(quantity), words)
}

fn of_ap(reading: &ApReading) -> Vec<DetailLine> {
    let (offsets, view) = (&reading.midline_by, reading.true_view.as_ref());
    let best = offsets.best().map(|(by, _)| by);
    let ways = [MidlineBy::Pedicles, MidlineBy::SpinousProcess, MidlineBy::Body];
    let mut lines: Vec<DetailLine> = ways
        .into_iter()
        .filter(|by| Some(*by) != best)
        .filter_map(|by| {
            let offset = used(offsets.by(by)?, view.and_then(|view| view.midline_by.by(by)));
            Some(coordinate(Rule::Midline, offset, capital(midline_by(by))))
        })
        .collect();
    lines.extend(reading.over_spinous_process.map(over_spinous_process));
    if let Some(direct) = &reading.medial_border {
        let to_go = used(direct, view.and_then(|view| view.medial_border.as_ref()));
        let words = if to_go.value < 0.0 {
            "Of the body width, medial to the medial border of the entry-side pedicle"
        } else {
            "Of the body width, lateral to the medial border of the entry-side pedicle"
        };
        lines.push(DetailLine::new("Medial border", format::size_of(to_go), words));
    }
    // Beyond the pedicle's borders the number means nothing.
    if let Some(across) = reading.across_pedicle.as_ref().filter(|across| (0.0..=1.0).contains(&across.value))
    {
        let words = "0 % at its lateral, 100 % at its medial border";
        lines.push(DetailLine::new("Across the pedicle", format::percent_of(across), words));
    }
    lines
}

fn over_spinous_process(over: OverSpinousProcess) -> DetailLine {
    let nominal = match over.nominal {
        Nominal::Inside => "yes",
        Nominal::Short => "no, lateral to it",
        _ => "no, past it",
    };
    let words = match over.state {
        State::Undecided => "Too close to call",
        _ => "At least 95 % likely",
    };
    let words = format!("{words}; probability of overlap: {}", format::probability(over.p_inside));
    // Being over it is neither good nor bad, so the sign of a verdict would say too much.
    DetailLine::new("Overlaps the spinous process", nominal.to_owned(), words)
}

fn of_pedicle(reading: &PedicleReading) -> Vec<DetailLine> {
    let mut lines = Vec::new();
    for (names, offset) in [
        (["Toward the lateral border", "Toward the medial border"], &reading.lateral_offset),
        (["Toward the superior border", "Toward the inferior border"], &reading.superior_offset),
    ] {
        if let Some(offset) = offset {
            let name = names[usize::from(offset.value < 0.0)];
            lines.push(DetailLine::new(
                name,
                format::size_of(offset),
                "0 % at the center, 100 % at the border",
            ));
        }
    }
    if let Some(hour) = reading.clock_hour {
        let words = "As displayed, 12 at the superior border";
        lines.push(DetailLine::new("Clock", format::clock_hour(hour), words));
    }
    if let Some(quarter) = reading.quadrant {
        lines.push(DetailLine::new("Quadrant", quadrant(quarter).to_owned(), ""));
    }
    lines
}

/// Which views gave a pair its height.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HeightFrom {
    /// Both.
    Both,
    /// The lateral alone.
    Lateral,
    /// The AP alone.
    Ap,
}

impl HeightFrom {
    /// From the readings of the two shots.
    #[must_use]
    pub const fn of(lateral: bool, ap: bool) -> Self {
        match (lateral, ap) {
            (true, true) => Self::Both,
            (true, false) => Self::Lateral,
            (false, _) => Self::Ap,
        }
    }

    const fn words(self) -> &'static str {
        match self {
            Self::Both => "From both views, inverse-variance weighted",
            Self::Lateral => "From the lateral only",
            Self::Ap => "From the AP only",
        }
    }
}

/// What the line on the way past the pedicle is called.
pub const MEDIAL_BREACH: &str = "Medial breach check";

/// The lines of a matched pair: three coordinates, the midline, safe passage.
#[must_use]
pub fn of_pair(reading: &PairReading, height_from: HeightFrom) -> Vec<DetailLine> {
    let verdict = |rule| reading.verdicts.iter().find(|verdict| verdict.rule == rule);
    let band = |rule| verdict(VerdictRule::Band(rule));
    let judged = |mut line: DetailLine, verdict: Option<&Verdict>| {
        if let Some(verdict) = verdict {
            line.sign = Some(state_sign(verdict.state));
            line.words = capital(&format::verdict(verdict));
        }
        line
    };
    let view = &reading.true_view;
    let mut lines = Vec::new();
    if let Some(direct) = &reading.depth {
        let depth = used(direct, view.depth.as_ref());
        lines.push(judged(coordinate(Rule::Depth, depth, "From the lateral"), band(Rule::Depth)));
    }
    if let Some(direct) = &reading.across {
        let across = used(direct, view.across.as_ref());
        lines.push(DetailLine::new("Mediolateral", format::percent_of(across), "From the AP"));
    }
    if let Some(direct) = &reading.height {
        let height = used(direct, view.height.as_ref());
        let line = coordinate(Rule::Height, height, height_from.words());
        lines.push(judged(line, band(Rule::Height)));
    }
    if let Some((by, direct)) = &reading.midline {
        let offset = used(direct, view.midline_by.by(*by));
        let line = coordinate(Rule::Midline, offset, capital(midline_by(*by)));
        lines.push(judged(line, band(Rule::Midline)));
    }
    if let Some(verdict) = verdict(VerdictRule::SafePassage) {
        lines.push(safe_passage(verdict));
    }
    lines.extend(true_view::direct_of_pair(reading).into_iter().map(of_row));
    lines
}

fn safe_passage(verdict: &Verdict) -> DetailLine {
    let q = verdict.q.map(format::probability).unwrap_or_default();
    let chance =
        format!("Probability that the tip was medial to the border while posterior to the wall: {q}");
    let words = format!("{}. {chance}.", capital(&format::verdict(verdict)));
    DetailLine {
        sign: Some(state_sign(verdict.state)),
        ..DetailLine::new(MEDIAL_BREACH, String::new(), words)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::document::{Case, Shot};
    use crate::case::plan::standing::{Standing, standing};
    use crate::case::readings::{Picture, read_case};
    use crate::measure::mark::{Level, MarkKind, Marks, Side, Stage, View};

    /// Both views of a body 50 mm wide, 35 deep and 30 high at 1 mm to a pixel; the patient's right on the left.
    fn case(tip: (f64, f64)) -> Case {
        let mut case = Case::default();
        for view in [View::Lateral, View::Ap, View::Pedicle] {
            let mut shot = Shot::new(view.key(), "x.png", view);
            shot.level = Some(Level::L4);
            shot.side = Some(Side::Right);
            shot.stage = Some(Stage::Pedicle);
            shot.mm_per_px = Some(1.0);
            case.shots.push(shot);
        }
        case.shots[0].marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(100.0, 100.0), (135.0, 100.0)])
            .with(MarkKind::InferiorEndPlate, &[(100.0, 130.0), (135.0, 130.0)])
            .with(MarkKind::Tip, &[(93.0, tip.1)]);
        case.shots[1].marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(100.0, 100.0), (150.0, 100.0)])
            .with(MarkKind::InferiorEndPlate, &[(100.0, 130.0), (150.0, 130.0)])
            .with(MarkKind::RightPedicle, &[(106.0, 108.0), (114.0, 108.0)])
            .with(MarkKind::LeftPedicle, &[(144.0, 108.0), (136.0, 108.0)])
            .with(MarkKind::SpinousProcess, &[(121.0, 120.0), (129.0, 120.0)])
            .with(MarkKind::Tip, &[(tip.0, tip.1)]);
        case.shots[2].marks = Marks::new()
            .with(MarkKind::Pedicle, &[(100.0, 70.0), (100.0, 130.0), (80.0, 100.0), (120.0, 100.0)])
            .with(MarkKind::Tip, &[(110.0, 85.0)]);
        case
    }

    fn line<'a>(lines: &'a [DetailLine], name: &str) -> &'a DetailLine {
        lines.iter().find(|line| line.name == name).expect(name)
    }

    /// By hand: the body is 50 wide, so the tip at 110 lies at 20 % across; the medial border at 114 is 8 % away,
    /// and between 106 and 114 the tip is half way across the pedicle.
    #[test]
    fn an_ap_says_what_is_to_be_said_beside_its_numbers() {
        let readings = read_case(&case((110.0, 115.0)), |_| Picture::NotLookedAt, None);
        let lines = of_shot(&readings.shots[1]);
        assert!(midline_used(&readings.shots[1]).unwrap().contains("by the pedicles"));
        assert_eq!(
            lines.iter().filter(|line| line.name == "Short of the midline").count(),
            2,
            "the other two ways"
        );
        assert_eq!(line(&lines, "Overlaps the spinous process").number, "no, lateral to it");
        let border = line(&lines, "Medial border");
        assert!(
            border.number.starts_with("8 %") && border.words.contains("lateral to the medial border"),
            "{border:?}"
        );
        assert!(line(&lines, "Across the pedicle").number.starts_with("50 %"));
        let past = read_case(&case((118.0, 115.0)), |_| Picture::NotLookedAt, None);
        assert!(
            line(&of_shot(&past.shots[1]), "Medial border").words.contains("medial to the medial border")
        );
    }

    /// By hand: half way to the lateral border, and half way to the superior one; no number has a sign.
    #[test]
    fn a_docking_point_has_offsets_an_hour_and_a_quarter() {
        let readings = read_case(&case((110.0, 115.0)), |_| Picture::NotLookedAt, None);
        let lines = of_shot(&readings.shots[2]);
        assert!(line(&lines, "Toward the lateral border").number.starts_with("50 %"));
        assert!(line(&lines, "Toward the superior border").number.starts_with("50 %"));
        assert_eq!(line(&lines, "Quadrant").number, "superolateral quadrant");
        assert!(line(&lines, "Clock").spoken().contains("o’clock: As displayed"));
    }

    /// The lateral tip at 93 lies 7 of 35 behind the wall: −20 %.
    #[test]
    fn a_pair_has_three_coordinates_and_safe_passage_with_its_probability() {
        let readings = read_case(&case((110.0, 115.0)), |_| Picture::NotLookedAt, None);
        let lines = of_pair(&readings.pairs[0].reading, HeightFrom::Both);
        assert!(line(&lines, "Posterior to the wall").number.starts_with("20 %"));
        assert!(line(&lines, "Mediolateral").number.starts_with("20 %"));
        assert!(line(&lines, "Height").number.starts_with("50 %"));
        let passage = line(&lines, "Medial breach check");
        assert!(passage.words.contains("under 1 %") && passage.words.contains("not assessed"), "{passage:?}");
        assert_eq!(passage.sign, Some(state_sign(State::Inside)));
        let crossed = read_case(&case((120.0, 115.0)), |_| Picture::NotLookedAt, None);
        let crossed = of_pair(&crossed.pairs[0].reading, HeightFrom::Both);
        assert_eq!(line(&crossed, "Medial breach check").sign, Some(state_sign(State::Outside)));
    }

    #[test]
    fn an_ap_of_unknown_sides_gives_its_height_only() {
        let mut case = case((110.0, 115.0));
        for kind in [MarkKind::RightPedicle, MarkKind::LeftPedicle] {
            case.shots[1].marks.set(kind, Vec::new());
        }
        let readings = read_case(&case, |_| Picture::NotLookedAt, None);
        assert!(readings.shots[1].is_height_only() && !readings.shots[0].is_height_only());
        assert_eq!(standing(&case.shots[1], &readings.shots[1]), Standing::HeightOnly);
    }
}
