//! Readings as a table: one line for each shot, values not rounded, an empty cell where nothing could be read.

use crate::case::document::Shot;
use crate::case::document::proposed::{Origin, origins};
use crate::case::readings::ShotReading;
use crate::io::export::result::CaseResult;
use crate::measure::mark::{Level, MarkKind, MarkRef, Side, Stage, View};
use crate::measure::quantity::Quantity;
use crate::measure::reading::{BodySizes, MidlineBy, Place, Quadrant};
use crate::measure::settings::Rule;
use crate::measure::true_view::choice::Basis;
use crate::measure::true_view::view::Angle;
use crate::measure::verdict::{Verdict, VerdictRule};

/// A heading under way, or one line: cells by the name of their column, in order.
#[derive(Default)]
struct CsvLine {
    cells: Vec<(String, String)>,
    with_monte_carlo: bool,
}

/// The readings of these cases with a heading, ending in a line break. `with_monte_carlo` adds the columns of
/// the simulation.
#[must_use]
pub fn readings_text(cases: &[CaseResult<'_>], with_monte_carlo: bool) -> String {
    let new = || CsvLine { cells: Vec::new(), with_monte_carlo };
    // The heading does not depend on the lines, so that a table without shots has one too.
    let mut heading = new();
    heading.fill("", "", None);
    let mut table = csv::Writer::from_writer(Vec::new());
    // Every line has the same columns, and writing to memory does not fail.
    let _ = table.write_record(heading.cells.iter().map(|(name, _)| name));
    for result in cases {
        let title = result.case.title.clone().unwrap_or_default();
        for (shot, reading) in result.case.shots.iter().zip(&result.readings.shots) {
            let mut line = new();
            line.fill(result.file, &title, Some((shot, reading)));
            let _ = table.write_record(line.cells.iter().map(|(_, cell)| cell));
        }
    }
    String::from_utf8(table.into_inner().unwrap_or_default()).unwrap_or_default()
}

/// What a line shows of a reading, whatever its view.
#[derive(Default)]
struct ShownReading<'a> {
    depth: Option<&'a Quantity>,
    across: Option<&'a Quantity>,
    height: Option<&'a Quantity>,
    midline: Option<(MidlineBy, &'a Quantity)>,
    radius: Option<&'a Quantity>,
    quadrant: Option<Quadrant>,
    body: Option<&'a BodySizes>,
    scale: Option<(f64, bool)>,
}

impl<'a> ShownReading<'a> {
    fn of(reading: &'a ShotReading) -> Self {
        let along = |place: &'a Option<Place>| place.as_ref().map(|tip| &tip.along);
        let scale = |body: &BodySizes| (body.mm_per_px, body.scale_assumed);
        match reading {
            ShotReading::Lateral(reading) => Self {
                depth: along(&reading.tip),
                height: reading.tip.as_ref().map(|tip| &tip.height),
                body: reading.body.as_ref(),
                scale: reading.body.as_ref().map(scale),
                ..Self::default()
            },
            ShotReading::Ap(reading) => Self {
                across: along(&reading.tip),
                height: reading.height.as_ref(),
                midline: reading.midline_by.best(),
                body: reading.body.as_ref(),
                scale: reading.body.as_ref().map(scale),
                ..Self::default()
            },
            ShotReading::Pedicle(reading) => Self {
                radius: reading.radius.as_ref(),
                quadrant: reading.quadrant,
                scale: reading.scale,
                ..Self::default()
            },
        }
    }
}

/// What a true view would show, whatever the view.
#[derive(Default)]
struct TrueView<'a> {
    depth: Option<&'a Quantity>,
    across: Option<&'a Quantity>,
    height: Option<&'a Quantity>,
    midline: Option<&'a Quantity>,
    turn: Option<Angle>,
    tilt: Option<Angle>,
}

impl<'a> TrueView<'a> {
    fn of(reading: &'a ShotReading) -> Self {
        match reading {
            ShotReading::Lateral(reading) => {
                reading.true_view.as_ref().map_or_else(Self::default, |view| Self {
                    depth: Some(&view.depth),
                    height: Some(&view.height),
                    turn: Some(view.turn_abs),
                    tilt: Some(view.tilt),
                    ..Self::default()
                })
            }
            ShotReading::Ap(reading) => reading.true_view.as_ref().map_or_else(Self::default, |view| Self {
                across: view.across.as_ref(),
                height: view.height.as_ref(),
                midline: reading.midline_by.best().and_then(|(by, _)| view.midline_by.by(by)),
                turn: view.turn,
                tilt: view.tilt,
                ..Self::default()
            }),
            ShotReading::Pedicle(_) => Self::default(),
        }
    }
}

/// The standard deviation of each mark's points in millimetres: `superior_end_plate 0.5 0.74 0.5; tip 0.25`.
fn mark_sds(sds: &[(MarkRef, f64)]) -> String {
    let mut kinds: Vec<MarkKind> = sds.iter().map(|(at, _)| at.kind).collect();
    kinds.dedup();
    let of = |kind: MarkKind| {
        let own = sds.iter().filter(|(at, _)| at.kind == kind).map(|(_, sd)| short(*sd));
        format!("{} {}", kind.key(), own.collect::<Vec<_>>().join(" "))
    };
    kinds.into_iter().map(of).collect::<Vec<_>>().join("; ")
}

/// A standard deviation to a thousandth of a millimetre; nobody needs more.
fn short(sd: f64) -> String {
    ((sd * 1000.0).round() / 1000.0).to_string()
}

impl CsvLine {
    fn fill(&mut self, file: &str, title: &str, of: Option<(&Shot, &ShotReading)>) {
        let (shot, reading) = of.unzip();
        self.put("file", file.to_owned());
        self.put("case", title.to_owned());
        self.put("shot", shot.map(|shot| shot.id.clone()).unwrap_or_default());
        self.put("view", shot.and_then(Shot::known_view).map(View::key).unwrap_or_default().to_owned());
        self.put("level", shot.and_then(|shot| shot.level).map(Level::name).unwrap_or_default());
        self.put("side", shot.and_then(|shot| shot.side).map(Side::key).unwrap_or_default().to_owned());
        self.put("stage", shot.and_then(|shot| shot.stage).map(Stage::key).unwrap_or_default().to_owned());

        let shown = reading.map(ShownReading::of).unwrap_or_default();
        self.put_quantity("depth", shown.depth);
        self.put_quantity("across", shown.across);
        self.put_quantity("height", shown.height);
        self.put_quantity("midline", shown.midline.map(|(_, offset)| offset));
        self.put("midline_by", shown.midline.map(|(by, _)| by.key()).unwrap_or_default().to_owned());
        self.put_quantity("radius", shown.radius);
        self.put("quadrant", shown.quadrant.map(Quadrant::key).unwrap_or_default().to_owned());

        let body = shown.body;
        self.put_number("body_length_px", body.map(|body| body.depth_px));
        self.put_number("start_height_px", body.map(|body| body.posterior_height_px));
        self.put_number("middle_height_px", body.map(|body| body.middle_height_px));
        self.put_number("end_height_px", body.map(|body| body.anterior_height_px));
        self.put_number("end_plate_angle_deg", body.map(|body| body.end_plate_angle_deg));
        self.put_number("mm_per_px", shown.scale.map(|(mm_per_px, _)| mm_per_px));
        let assumed = shown.scale.map(|(_, assumed)| assumed.to_string());
        self.put("scale_assumed", assumed.unwrap_or_default());

        let rules = Rule::ALL.map(VerdictRule::Band).into_iter().chain([VerdictRule::Docking]);
        for rule in rules {
            let verdicts = reading.map(ShotReading::verdicts).unwrap_or_default();
            self.put_verdict(rule.key(), verdicts.iter().find(|verdict| verdict.rule == rule));
        }
        let issues = reading.map(ShotReading::issues).unwrap_or_default();
        let codes: Vec<_> = issues.iter().map(|issue| issue.code.key()).collect();
        self.put("issues", codes.join(" "));
        self.put_true_view(reading);
        self.put("mark_sd_mm", mark_sds(reading.map(ShotReading::mark_sds).unwrap_or_default()));
        let counts = shot.map(|shot| origins(&shot.marks, &shot.proposed));
        for (index, origin) in Origin::ALL.into_iter().enumerate() {
            let count = counts.map(|counts| counts[index].to_string());
            self.put(&format!("marks_{}", origin.key()), count.unwrap_or_default());
        }
    }

    /// What a true view would show, and which verdicts go by it.
    fn put_true_view(&mut self, reading: Option<&ShotReading>) {
        let seen = reading.map(TrueView::of).unwrap_or_default();
        let quantities = [
            ("depth", seen.depth),
            ("across", seen.across),
            ("height", seen.height),
            ("midline", seen.midline),
        ];
        for (name, quantity) in quantities {
            self.put_number(&format!("true_view_{name}"), quantity.map(|q| q.value));
            self.put_number(&format!("true_view_{name}_sd"), quantity.map(|q| q.budget.stated()));
            self.put_number(&format!("true_view_{name}_low"), quantity.map(Quantity::low));
            self.put_number(&format!("true_view_{name}_high"), quantity.map(Quantity::high));
        }
        for (name, angle) in [("turn", seen.turn), ("tilt", seen.tilt)] {
            self.put_number(&format!("{name}_deg"), angle.map(|angle| angle.deg));
            self.put_number(&format!("{name}_sd_deg"), angle.map(|angle| angle.sd_deg));
        }
        let verdicts = reading.map(ShotReading::verdicts).unwrap_or_default();
        let by: Vec<&str> = verdicts
            .iter()
            .filter(|verdict| verdict.basis == Basis::TrueView)
            .map(|verdict| verdict.rule.key())
            .collect();
        self.put("verdicts_by_true_view", by.join(" "));
    }

    fn put(&mut self, name: &str, cell: String) {
        self.cells.push((name.to_owned(), cell));
    }

    fn put_number(&mut self, name: &str, number: Option<f64>) {
        let cell = number.filter(|number| number.is_finite()).map(|number| number.to_string());
        self.put(name, cell.unwrap_or_default());
    }

    fn put_quantity(&mut self, name: &str, quantity: Option<&Quantity>) {
        self.put_number(name, quantity.map(|q| q.value));
        self.put_number(&format!("{name}_sd"), quantity.map(|q| q.budget.stated()));
        self.put_number(&format!("{name}_low"), quantity.map(Quantity::low));
        self.put_number(&format!("{name}_high"), quantity.map(Quantity::high));
        self.put_number(&format!("{name}_sd_bone"), quantity.map(|q| q.budget.bone));
        self.put_number(&format!("{name}_sd_metal"), quantity.map(|q| q.budget.metal));
        self.put_number(&format!("{name}_sd_view"), quantity.map(|q| q.budget.view));
        if self.with_monte_carlo {
            let run = quantity.and_then(|q| q.monte_carlo);
            self.put_number(&format!("{name}_monte_carlo_mean"), run.map(|run| run.mean));
            self.put_number(&format!("{name}_monte_carlo_sd"), run.map(|run| run.sd));
            self.put_number(&format!("{name}_monte_carlo_low"), run.map(|run| run.low));
            self.put_number(&format!("{name}_monte_carlo_high"), run.map(|run| run.high));
        }
    }

    fn put_verdict(&mut self, name: &str, verdict: Option<&Verdict>) {
        let nominal = verdict.map(|verdict| verdict.nominal.key()).unwrap_or_default();
        let state = verdict.map(|verdict| verdict.state.key()).unwrap_or_default();
        self.put(&format!("{name}_nominal"), nominal.to_owned());
        self.put(&format!("{name}_state"), state.to_owned());
        self.put_number(&format!("{name}_p_inside"), verdict.map(|verdict| verdict.p_inside));
    }
}
