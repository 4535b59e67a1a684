//! The first page: what the case is about, what is there and what is missing, by which settings and how it was read.

use crate::case::plan::SidePlan;
use crate::measure::mark::{Level, Side, Stage};
use crate::measure::settings::Rule;
use crate::scene::drawing::theme::space;
use crate::scene::format;
use crate::scene::page::paper::{Column, Paper};
use crate::scene::report::level::Final;
use crate::scene::report::told::{CaseReport, UNTITLED};
use crate::scene::words::caution;
use crate::scene::words::plan;

/// The method in one paragraph.
const METHOD: &str = "The borders of each vertebral body were marked by hand on saved stills. They define a one-to-one map of the body, which gives the position of the marked tip as fractions: depth from the posterior wall (0 %) to the anterior wall (100 %), height from the superior (0 %) to the inferior endplate (100 %), and the offset from the midline as a fraction of the body width, short of it on the entry side and past it beyond. Each number has a standard uncertainty (JCGM 100) from marking bone and metal and from undetected rotation of the view; intervals are 95 %. A verdict is inside or outside a target where that is at least 95 % likely, and undecided otherwise. Values are as a true view would show them, wherever the marks tell that; a direct reading stands beside a value where it rounds to another number. A matched lateral and AP of one level, side and stage are read together; their heights are inverse-variance weighted.";

/// Writes the page.
pub(super) fn write(paper: &mut Paper, told: &CaseReport<'_>) {
    let case = told.case;
    paper.title(case.title.as_deref().unwrap_or(UNTITLED));
    let facts = [("Reference", &case.reference), ("Date", &case.date), ("Operator", &case.operator)];
    for (name, said) in facts {
        if let Some(said) = said {
            paper.line(&format!("{name}: {said}"));
        }
    }
    paper.gap(space::S2);
    caution::FULL.iter().for_each(|sentence| paper.weak_line(sentence));

    paper.heading("Levels and sides");
    bodies(paper, told);

    paper.heading("Plan");
    plan(paper, told);

    paper.heading("Targets and settings");
    settings(paper, told);

    paper.heading("Method");
    paper.paragraph(METHOD);
    paper.note(&format!("Read by Stillmark {}.", env!("CARGO_PKG_VERSION")));
}

fn bodies(paper: &mut Paper, told: &CaseReport<'_>) {
    let columns = [
        Column::words("body", 3.0),
        Column::words("views read", 1.7),
        Column::words("final verdict", 2.0),
        Column::words("depth", 1.6),
        Column::words("height", 1.6),
        Column::words("midline", 1.7),
        Column::words("lesion time", 1.6),
    ];
    let mut rows = Vec::new();
    for (level, sides) in told.levels() {
        for side in sides {
            rows.push(body(told, level, side));
        }
    }
    for body in told.plan.bodies.iter().filter(|body| body.wanted && body.sides.is_empty()) {
        if !told.case.bodies.iter().any(|record| record.level == body.level) {
            rows.push(vec![body.level.name(), "no shots".to_owned()]);
        }
    }
    if rows.is_empty() {
        paper.note("No shot has a level and a side.");
    } else {
        paper.table(&columns, &rows);
    }
}

fn body(told: &CaseReport<'_>, level: Level, side: Side) -> Vec<String> {
    let plan = told.plan.body(level).and_then(|body| body.side(side));
    let read = |plan: &SidePlan| {
        let count = plan.count();
        format!("{} of {}", count.expected - count.missing - count.unread, count.expected)
    };
    let verdict = plan.and_then(|plan| plan.verdict);
    let verdict = verdict.map(|state| format!("{} {}", format::state_sign(state), format::state(state)));
    let position = Final::of(told, level, side).rows(told);
    let number = |rule| {
        position.iter().find(|row| row.rule == Some(rule)).map_or_else(String::new, |row| row.number.clone())
    };
    let lesion = told.case.record(level, side).and_then(|record| record.lesion_s);
    vec![
        format::body(level, side),
        plan.map_or_else(|| "no shots".to_owned(), read),
        verdict.unwrap_or_else(|| "none".to_owned()),
        number(Rule::Depth),
        number(Rule::Height),
        number(Rule::Midline),
        lesion.map(format::seconds).unwrap_or_default(),
    ]
}

fn plan(paper: &mut Paper, told: &CaseReport<'_>) {
    let discs: Vec<String> =
        told.plan.discs.iter().map(|(above, below)| format!("{}-{}", above.name(), below.name())).collect();
    if !discs.is_empty() {
        paper.paragraph(&format!("Affected discs: {}.", discs.join(", ")));
    }
    for name in &told.plan.unreadable_discs {
        paper.note(&format!("“{name}” is not a disc between two adjacent bodies."));
    }
    paper.paragraph(&plan::summary(&told.plan));
    let to_sort = told.plan.to_sort.len();
    if to_sort > 0 {
        let shots = format::count(to_sort, "shot lacks", "shots lack");
        paper.paragraph(&format!(
            "{shots} a level, a side or a stage; shots without a level have no page here."
        ));
    }
}

fn settings(paper: &mut Paper, told: &CaseReport<'_>) {
    let settings = &told.case.settings;
    let columns = [
        Column::words("stage", 2.0),
        Column::words("depth", 1.0),
        Column::words("height", 1.0),
        Column::words("offset from the midline", 1.5),
    ];
    let band = |stage: Stage, rule: Rule| {
        let band = settings.targets.band(Some(stage), rule);
        let words = if rule == Rule::Midline { format::offset_band } else { format::band };
        band.map_or_else(|| "no target".to_owned(), words)
    };
    let row = |stage: &Stage| {
        let mut row = vec![format::stage(*stage).to_owned()];
        row.extend(Rule::ALL.map(|rule| band(*stage, rule)));
        row
    };
    let rows: Vec<_> = settings.targets.stages.keys().map(row).collect();
    if !rows.is_empty() {
        paper.table(&columns, &rows);
    }
    paper.paragraph(&format!(
        "Marking error, SD per axis: {} mm on bone, {} mm on metal. Undetected rotation: ± {}°. Smallest relevant change: {} %.",
        format::as_typed(settings.bone_sd_mm),
        format::as_typed(settings.metal_sd_mm),
        format::as_typed(settings.view_half_width_deg),
        format::percent_as_typed(settings.change_that_matters),
    ));
}
