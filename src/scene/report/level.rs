//! The page of one body and side: its final stills, where the tip came to lie, the way there, and what was written down.

use crate::case::readings::{ReadPairOf, ShotReading};
use crate::measure::issue::Issue;
use crate::measure::mark::{Level, Side, Stage, View};
use crate::measure::quantity::Quantity;
use crate::measure::reading::MidlineBy;
use crate::measure::settings::Rule;
use crate::measure::true_view::choice::used;
use crate::measure::verdict::{Verdict, VerdictRule};
use crate::scene::drawing::shape::{Role, TextSize};
use crate::scene::drawing::theme::space;
use crate::scene::figure::c_arm::{SKETCH, c_arms};
use crate::scene::figure::legend::legend;
use crate::scene::figure::{SeenBody, drawings};
use crate::scene::format;
use crate::scene::overlay::LayerSet;
use crate::scene::page::paper::{Column, Paper};
use crate::scene::report::contact;
use crate::scene::report::told::CaseReport;
use crate::scene::tip_path::TipRun;
use crate::scene::words::plan;
use crate::scene::words::reading;

/// Heights of the three drawings: the tallest with which the body keeps to one page, and the last where none does. In a lower
/// one words leave no room for the body.
const DRAWINGS: [f64; 4] = [152.0, 132.0, 112.0, 96.0];

/// The final shots of a body and side: the last lateral, the last AP, and what they tell together if they are a pair.
#[derive(Clone, Copy)]
pub(super) struct Final<'a> {
    lateral: Option<usize>,
    ap: Option<usize>,
    pair: Option<&'a ReadPairOf>,
}

/// Writes the page.
pub(super) fn write(paper: &mut Paper, told: &CaseReport<'_>, level: Level, side: Side) {
    paper.new_page();
    paper.title(&format::body(level, side));
    let plan = told.plan.body(level).and_then(|body| body.side(side));
    paper.note(&format!("{}.", plan::side(level, side, plan)));

    let last = Final::of(told, level, side);
    stills(paper, told, last);
    let before = paper.clone();
    for height in DRAWINGS {
        *paper = before.clone();
        final_position(paper, told, last, height);
        notes(paper, told, level, side);
        path(paper, told, level, side);
        if paper.pages() == before.pages() && paper.room() >= 0.0 {
            return;
        }
    }
}

/// The final lateral and AP beside each other, and what their lines mean.
fn stills(paper: &mut Paper, told: &CaseReport<'_>, last: Final<'_>) {
    let shots: Vec<usize> = [last.lateral, last.ap].into_iter().flatten().collect();
    if shots.is_empty() {
        return;
    }
    let width = 0.5 * (paper.inner() - space::S4);
    let sheet = &mut paper.sheet;
    let (top, parts) = (sheet.y, sheet.parts.len());
    let (mut x, mut bottom) = (sheet.left, top);
    for &index in &shots {
        let Some(shot) = told.shown.get(index) else { continue };
        sheet.y = top;
        let heading = format::shot(None, None, shot.known_view(), shot.stage);
        sheet.lines(x, width, &heading, Role::Text, TextSize::Small);
        sheet.y += space::S1;
        if let Some(why) = contact::still(sheet, told, index, (x, width)) {
            sheet.y += space::S1;
            sheet.lines(x, width, why, Role::WeakText, TextSize::Small);
        }
        bottom = bottom.max(sheet.y);
        x += width + space::S4;
    }
    sheet.y = bottom + space::S2;
    let entries = legend(&sheet.parts[parts..], &told.case.settings, &[Some(Stage::Final)]);
    sheet.legend_close(&entries);
    sheet.y += space::S2;
}

/// The way of the tip from shot to shot.
fn path(paper: &mut Paper, told: &CaseReport<'_>, level: Level, side: Side) {
    let way = TipRun::of(told.case, told.readings, (level, side));
    if way.moments.len() < 2 {
        return;
    }
    paper.heading("Tip path");
    way.places(told.case).iter().for_each(|line| paper.line(line));
}

fn notes(paper: &mut Paper, told: &CaseReport<'_>, level: Level, side: Side) {
    paper.heading("Report notes");
    let record = told.case.record(level, side);
    let lesion = record.and_then(|record| record.lesion_s);
    let remarks = record.and_then(|record| record.remarks.as_deref());
    if let Some(seconds) = lesion {
        paper.paragraph(&format!("Lesion time {}.", format::seconds(seconds)));
    }
    remarks.iter().flat_map(|remarks| remarks.lines()).for_each(|line| paper.line(line));
    paper.gap(if remarks.is_some() { space::S2 } else { 0.0 });
    match (lesion, remarks) {
        (None, None) => paper.note("No lesion time and no remarks entered."),
        (None, Some(_)) => paper.note("No lesion time."),
        (Some(_), _) => {}
    }
}

impl<'a> Final<'a> {
    /// The final shots of a body and side.
    pub(super) fn of(told: &CaseReport<'a>, level: Level, side: Side) -> Self {
        let last = |view: View| {
            told.case.shots.iter().rposition(|shot| {
                (shot.level, shot.side, shot.stage) == (Some(level), Some(side), Some(Stage::Final))
                    && shot.shows(view)
            })
        };
        let (lateral, ap) = (last(View::Lateral), last(View::Ap));
        let own = |pair: &&ReadPairOf| (Some(pair.lateral), Some(pair.ap)) == (lateral, ap);
        Self { lateral, ap, pair: told.readings.pairs.iter().find(own) }
    }

    /// Its numbers: what, how much with its half-width, the interval, and how it stands to the target.
    pub(super) fn rows(self, told: &CaseReport<'_>) -> Vec<PositionRow> {
        let reading = |index: Option<usize>| index.and_then(|index| told.readings.shots.get(index));
        let mut rows = Vec::new();
        if let Some(ReadPairOf { reading: pair, .. }) = self.pair
            && (pair.depth.is_some() || pair.midline.is_some())
        {
            let verdicts = &pair.verdicts;
            let view = &pair.true_view;
            rows.extend(
                pair.depth.as_ref().map(|q| PositionRow::of(Rule::Depth, q, verdicts, view.depth.as_ref())),
            );
            rows.extend(
                pair.height
                    .as_ref()
                    .map(|q| PositionRow::of(Rule::Height, q, verdicts, view.height.as_ref())),
            );
            rows.extend(
                pair.midline
                    .as_ref()
                    .map(|(by, q)| PositionRow::offset(*by, q, verdicts, view.midline_by.by(*by))),
            );
            rows.extend(passage(verdicts));
            return rows;
        }
        if let Some(ShotReading::Lateral(side)) = reading(self.lateral)
            && let Some(tip) = &side.tip
        {
            let view = side.true_view.as_ref();
            rows.push(PositionRow::of(Rule::Depth, &tip.along, &side.verdicts, view.map(|view| &view.depth)));
            rows.push(PositionRow::of(
                Rule::Height,
                &tip.height,
                &side.verdicts,
                view.map(|view| &view.height),
            ));
        }
        if let Some(ShotReading::Ap(front)) = reading(self.ap) {
            let view = front.true_view.as_ref();
            if rows.is_empty() {
                let height = view.and_then(|view| view.height.as_ref());
                rows.extend(
                    front.height.as_ref().map(|q| PositionRow::of(Rule::Height, q, &front.verdicts, height)),
                );
            }
            rows.extend(front.midline_by.best().map(|(by, q)| {
                PositionRow::offset(by, q, &front.verdicts, view.and_then(|view| view.midline_by.by(by)))
            }));
        }
        rows
    }
}

/// One line of a final position.
pub(super) struct PositionRow {
    pub(super) rule: Option<Rule>,
    name: String,
    pub(super) number: String,
    interval: String,
    direct: String,
    verdict: String,
}

impl PositionRow {
    fn of(rule: Rule, direct: &Quantity, verdicts: &[Verdict], corrected: Option<&Quantity>) -> Self {
        let quantity = used(direct, corrected);
        let verdict = verdicts.iter().find(|verdict| verdict.rule == VerdictRule::Band(rule));
        let mut words = verdict.map(judged).unwrap_or_default();
        if let Some(place) = reading::depth_place(quantity.value).filter(|_| rule == Rule::Depth) {
            words = if words.is_empty() { place.to_owned() } else { format!("{words}; {place}") };
        }
        Self {
            rule: Some(rule),
            name: rule.key().to_owned(),
            number: format::coordinate_brief(rule, quantity),
            interval: format::interval_brief(rule, quantity),
            direct: reading::beside(rule, direct, corrected)
                .map(|_| format::coordinate_brief(rule, direct))
                .unwrap_or_default(),
            verdict: words,
        }
    }

    fn offset(by: MidlineBy, direct: &Quantity, verdicts: &[Verdict], corrected: Option<&Quantity>) -> Self {
        let name = format!("offset from the midline, {}", reading::midline_by(by));
        Self { name, ..Self::of(Rule::Midline, direct, verdicts, corrected) }
    }
}

fn judged(verdict: &Verdict) -> String {
    format!("{} {}", format::state_sign(verdict.state), format::verdict(verdict))
}

fn passage(verdicts: &[Verdict]) -> Option<PositionRow> {
    let verdict = verdicts.iter().find(|verdict| verdict.rule == VerdictRule::SafePassage)?;
    Some(PositionRow {
        rule: None,
        name: format::rule(verdict.rule).to_owned(),
        number: verdict.q.map(format::probability).unwrap_or_default(),
        interval: String::new(),
        direct: String::new(),
        verdict: judged(verdict),
    })
}

/// Where the tip came to lie, in drawings of this height and in numbers.
fn final_position(paper: &mut Paper, told: &CaseReport<'_>, last: Final<'_>, height: f64) {
    let shot = |index: Option<usize>| {
        let index = index?;
        Some((told.shown.get(index)?, told.readings.shots.get(index)?))
    };
    let (lateral, ap) = (shot(last.lateral), shot(last.ap));
    if lateral.is_none() && ap.is_none() {
        paper.note("There is no shot of the final stage.");
        return;
    }
    let seen = SeenBody {
        lateral: lateral.and_then(|(shot, reading)| match reading {
            ShotReading::Lateral(reading) => Some((shot, &**reading)),
            ShotReading::Ap(_) | ShotReading::Pedicle(_) => None,
        }),
        ap: ap.and_then(|(shot, reading)| match reading {
            ShotReading::Ap(reading) => Some((shot, &**reading)),
            ShotReading::Lateral(_) | ShotReading::Pedicle(_) => None,
        }),
        pair: last.pair.map(|pair| &pair.reading),
    };
    let rows = last.rows(told);
    if rows.is_empty() {
        paper.note("The final shots have no reading.");
    } else {
        paper.need(height + SKETCH + 64.0);
        drawings(&mut paper.sheet, told.case, &seen, LayerSet::default(), height);
        let (side, front) = (seen.lateral.map(|(_, reading)| reading), seen.ap.map(|(_, reading)| reading));
        c_arms(&mut paper.sheet, side, front);
        let columns = [
            Column::words("", 3.4),
            Column::words("value", 1.5),
            Column::words("95 % interval", 2.0),
            Column::words("direct", 1.5),
            Column::words("relative to the target", 7.1),
        ];
        let cells =
            rows.into_iter().map(|row| vec![row.name, row.number, row.interval, row.direct, row.verdict]);
        paper.table(&columns, &cells.collect::<Vec<_>>());
    }
    if last.pair.is_none() {
        paper.note("The final stage was not saved as a matched lateral and AP.");
    }
    let own = [lateral, ap].into_iter().flatten().flat_map(|(_, reading)| reading.issues());
    let of_pair = last.pair.map(|pair| pair.reading.issues.as_slice()).unwrap_or_default();
    let mut said: Vec<Issue> = Vec::new();
    for issue in own.chain(of_pair) {
        if !said.iter().any(|one| one.text == issue.text) {
            said.push(issue.clone());
        }
    }
    for issue in &said {
        paper.need(60.0);
        let (left, inner) = (paper.sheet.left, paper.inner());
        paper.sheet.issues(left, inner, std::slice::from_ref(issue));
    }
}
