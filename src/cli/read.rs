//! `read`: readings, verdicts and issues of every shot of some cases.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::app::display::reading_details::HeightFrom;
use crate::case::document::{Case, Shot};
use crate::case::plan::plan;
use crate::case::plan::runs::{LevelRun, runs};
use crate::case::readings::{CaseReadings, ReadPairOf, ShotReading, ask_for_mm, says_already};
use crate::cli::ending::{Done, Refused};
use crate::cli::opening::open_cases;
use crate::cli::output::{self, Paths, Replace};
use crate::io::export::result::CaseResult;
use crate::io::export::{csv, json};
use crate::io::store::pictures::{picture_path, read_with_pictures};
use crate::io::store::save::Opened;
use crate::measure::issue::{Blocks, Issue, IssueCode};
use crate::measure::quantity::Quantity;
use crate::measure::reading::{Electrodes, MidlineBy, MonteCarlo, Place};
use crate::measure::settings::Rule;
use crate::measure::true_view::choice::{Basis, used};
use crate::measure::verdict::{Verdict, VerdictRule};
use crate::scene::format;
use crate::scene::words::caution;
use crate::scene::words::plan;
use crate::scene::words::proposed::marks_by_origin;
use crate::scene::words::reading::depth_place;
use crate::scene::words::record;
use crate::scene::words::tip_path;
use crate::scene::words::true_view;

/// Arguments of `read`.
#[derive(Debug, clap::Args)]
pub struct ReadArgs {
    /// Case files.
    #[arg(required = true, value_name = "CASE")]
    cases: Vec<PathBuf>,
    /// Everything, as JSON.
    #[arg(long, conflicts_with = "csv")]
    json: bool,
    /// A table, one line for each shot.
    #[arg(long)]
    csv: bool,
    /// Also lengths in millimeters; a shot that is not calibrated says so.
    #[arg(long)]
    mm: bool,
    /// Also simulate the marking error this many times.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(100..=1_000_000))]
    monte_carlo: Option<u32>,
    /// Seed of the simulation; the same seed gives the same numbers.
    #[arg(long, value_name = "S", default_value_t = 1, requires = "monte_carlo")]
    seed: u64,
    /// Write the result to this file.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    #[command(flatten)]
    paths: Paths,
    #[command(flatten)]
    replace: Replace,
}

/// A case that was opened, with all that follows.
struct ReadFile {
    opened: Opened,
    /// What stands for its file in the results.
    name: String,
    readings: CaseReadings,
    said: Vec<Vec<String>>,
}

/// Reads the cases and delivers the result. All are opened before anything is written.
///
/// # Errors
/// One sentence for each case that cannot be opened.
pub fn run(args: &ReadArgs, out: &mut dyn Write) -> Result<Done, Refused> {
    let opened = open_cases(&args.cases)?;
    let monte_carlo = args.monte_carlo.map(|draws| MonteCarlo { draws: draws as usize, seed: args.seed });
    let read: Vec<ReadFile> =
        opened.into_iter().enumerate().map(|(n, opened)| read_opened(opened, n, monte_carlo, args)).collect();
    let results: Vec<CaseResult<'_>> = read
        .iter()
        .map(|read| CaseResult {
            file: &read.name,
            case: &read.opened.case,
            readings: &read.readings,
            said: &read.said,
        })
        .collect();
    let text = if args.json {
        json::readings_text(&results)
    } else if args.csv {
        csv::readings_text(&results, monte_carlo.is_some())
    } else {
        for_people(&results, args)
    };
    // The pictures of the cases count as inputs too: a result must never take their place.
    let pictures: Vec<PathBuf> = read
        .iter()
        .flat_map(|read| {
            let shots = read.opened.case.shots.iter();
            shots.filter_map(|shot| picture_path(&read.opened.path, &shot.image).ok())
        })
        .collect();
    let inputs: Vec<&Path> = args.cases.iter().chain(&pictures).map(PathBuf::as_path).collect();
    output::deliver(&text, args.out.as_deref(), &inputs, args.replace, out)?;
    let all_read = read.iter().flat_map(|read| &read.readings.shots).all(ShotReading::is_read);
    Ok(if all_read { Done::Fully } else { Done::WithoutSomeReading })
}

/// What stands for a case's file: its path where paths are told, its name alone in JSON, else the case's number.
fn name_of(path: &Path, number: usize, args: &ReadArgs) -> String {
    if args.paths.are_told() {
        path.to_string_lossy().into_owned()
    } else if args.json {
        path.file_name().unwrap_or_default().to_string_lossy().into_owned()
    } else {
        (number + 1).to_string()
    }
}

fn read_opened(opened: Opened, number: usize, monte_carlo: Option<MonteCarlo>, args: &ReadArgs) -> ReadFile {
    let (mut readings, found) = read_with_pictures(&opened.path, &opened.case, monte_carlo);
    if args.mm {
        ask_for_mm(&opened.case, &mut readings);
    }
    let said = found.into_iter().map(|found| found.said).collect();
    let name = name_of(&opened.path, number, args);
    ReadFile { opened, name, readings, said }
}

/// The readings in words, with the caution.
fn for_people(results: &[CaseResult<'_>], args: &ReadArgs) -> String {
    let mut text = String::new();
    for result in results {
        let title = result.case.title.as_deref().unwrap_or("Untitled case");
        // A number only tells cases apart.
        let name = (args.paths.are_told() || results.len() > 1).then_some(result.file);
        put(&mut text, &name.map_or_else(|| title.to_owned(), |name| format!("{title} ({name})")));
        if result.case.shots.is_empty() {
            put(&mut text, "  no shots");
        }
        for (index, (reading, said)) in result.readings.shots.iter().zip(result.said).enumerate() {
            let shot = &result.case.shots[index];
            put(&mut text, "");
            shot_for_people(&mut text, shot, reading, (said, height_by_both(result.readings, index)));
            if args.mm {
                lengths_for_people(&mut text, shot, reading);
            }
        }
        for pair in &result.readings.pairs {
            put(&mut text, "");
            pair_for_people(&mut text, result, pair);
        }
        for run in runs(result.case, result.readings) {
            put(&mut text, "");
            run_for_people(&mut text, result.case, &run);
        }
        plan_for_people(&mut text, result);
        for line in record::of_case(result.case) {
            put(&mut text, &format!("  {line}"));
        }
        put(&mut text, "");
    }
    put(&mut text, caution::SHORT);
    text
}

/// The height that both views of a shot's matched pair tell, where both do: it is the better one, and the one that the
/// window shows beside the shot.
fn height_by_both(readings: &CaseReadings, index: usize) -> Option<&Quantity> {
    let pair = readings.pairs.iter().find(|pair| pair.lateral == index || pair.ap == index)?;
    let tells = |index: usize| {
        readings.shots.get(index).is_some_and(|reading| reading.is_read() || reading.is_height_only())
    };
    let both = HeightFrom::of(tells(pair.lateral), tells(pair.ap)) == HeightFrom::Both;
    let height = pair.reading.height.as_ref().filter(|_| both)?;
    Some(used(height, pair.reading.true_view.height.as_ref()))
}

fn shot_for_people(
    text: &mut String,
    shot: &Shot,
    reading: &ShotReading,
    (said, height): (&[String], Option<&Quantity>),
) {
    let what = format::shot(shot.level, shot.side, shot.known_view(), shot.stage);
    put(text, &format!("  {}: {what}", shot.id));
    put_true_view(text, &true_view::direct(reading));
    match reading {
        ShotReading::Lateral(reading) => {
            let (tip, view) = (reading.tip.as_ref(), reading.true_view.as_ref());
            put_quantity(text, Some(Rule::Depth), tip.map(|tip| &tip.along), view.map(|view| &view.depth));
            put_quantity(text, Some(Rule::Height), tip.map(|tip| &tip.height), view.map(|view| &view.height));
            let depth = tip.map(|tip| used(&tip.along, view.map(|view| &view.depth)).value);
            // Posterior to the wall is said with the number.
            if let Some(place) = depth.filter(|depth| *depth > 0.0).and_then(depth_place) {
                put(text, &format!("    {place}"));
            }
            put_instruments(
                text,
                Some(Rule::Depth),
                reading.electrodes.as_ref(),
                reading.cannula_mouth.as_ref(),
            );
        }
        ShotReading::Ap(reading) => {
            let view = reading.true_view.as_ref();
            let along = reading.tip.as_ref().map(|tip| &tip.along);
            put_quantity(text, None, along, view.and_then(|view| view.across.as_ref()));
            put_quantity(
                text,
                Some(Rule::Height),
                reading.height.as_ref(),
                view.and_then(|view| view.height.as_ref()),
            );
            if let Some((by, offset)) = reading.midline_by.best() {
                put_offset(text, by, offset, view.and_then(|view| view.midline_by.by(by)));
            }
            put_instruments(text, None, reading.electrodes.as_ref(), reading.cannula_mouth.as_ref());
        }
        ShotReading::Pedicle(reading) => {
            if let Some(radius) = &reading.radius {
                put(text, &format!("    radius   {} (1 is the outline)", format::number_of(radius)));
            }
            if let (Some(hour), Some(quadrant)) = (reading.clock_hour, reading.quadrant) {
                let quadrant = quadrant.key().replace('_', "-");
                put(text, &format!("    at       {}, {quadrant}", format::clock_hour(hour)));
            }
        }
    }
    if let Some(marks) = marks_by_origin(shot) {
        put(text, &format!("    marks    {marks}"));
    }
    for sentence in true_view::sentences(reading) {
        put(text, &format!("    {sentence}"));
    }
    if !reading.is_read() {
        let height_only = matches!(reading, ShotReading::Ap(ap) if ap.height.is_some());
        put(text, if height_only { "    only the height is read" } else { "    no reading" });
    }
    // A height is judged by both views where both tell it, and that verdict stands with the pair.
    let own = |verdict: &&Verdict| height.is_none() || verdict.rule != VerdictRule::Band(Rule::Height);
    put_verdicts(text, reading.verdicts().iter().filter(own));
    if let Some(height) = height {
        let words = format::percent_of(height);
        put(text, &format!("    height from both views {words}; it is judged with the matched pair below"));
    }
    // Where the picture's own sentence says why it is missing, the general one would only repeat it.
    let general = |issue: &&Issue| said.is_empty() || issue.code != IssueCode::ImageMissing;
    put_issues(text, reading.issues().iter().filter(general));
    let scale = match reading {
        ShotReading::Lateral(reading) => reading.body.as_ref().map(|b| (b.mm_per_px, b.scale_assumed)),
        ShotReading::Ap(reading) => reading.body.as_ref().map(|b| (b.mm_per_px, b.scale_assumed)),
        ShotReading::Pedicle(reading) => reading.scale,
    };
    if let Some((mm_per_px, true)) = scale {
        let scale = format::scale(mm_per_px);
        put(text, &format!("    note: not calibrated; {scale} is assumed from a body of typical size."));
    }
    for sentence in said.iter().filter(|sentence| !says_already(reading.issues(), sentence)) {
        put(text, &format!("    image: {sentence}"));
    }
}

/// The body's sizes in millimetres, and where the scale comes from.
fn lengths_for_people(text: &mut String, shot: &Shot, reading: &ShotReading) {
    let (lengths, electrodes, first) = match reading {
        ShotReading::Lateral(reading) => (&reading.lengths, reading.electrodes.as_ref(), "depth"),
        ShotReading::Ap(reading) => (&reading.lengths, reading.electrodes.as_ref(), "width"),
        ShotReading::Pedicle(_) => return,
    };
    let Some(lengths) = lengths else { return };
    put(text, &format!("    body {first} at mid height {}", format::mm_of(&lengths.depth)));
    let heights = [&lengths.posterior_height, &lengths.middle_height, &lengths.anterior_height];
    let order = if first == "depth" { "posterior, middle, anterior" } else { "entry side, middle, far side" };
    put(text, &format!("    body heights {} ({order})", heights.map(format::mm_of).join(", ")));
    if let Some(distance) = electrodes.and_then(|electrodes| electrodes.to_posterior_wall_mm.as_ref()) {
        put(text, &format!("    proximal electrode to the posterior wall {}", format::mm_of(distance)));
    }
    if let Some(scale) = shot.mm_per_px {
        put(text, &format!("    scale {}", format::scale_of(scale, shot.mm_per_px_sd, shot.scale_from)));
    }
}

fn pair_for_people(text: &mut String, result: &CaseResult<'_>, pair: &ReadPairOf) {
    let id = |index: usize| result.case.shots.get(index).map_or("", |shot| shot.id.as_str());
    put(text, &format!("  {} with {}: matched pair", id(pair.lateral), id(pair.ap)));
    let reading = &pair.reading;
    put_true_view(text, &true_view::direct_of_pair(reading));
    let view = &reading.true_view;
    put_quantity(text, Some(Rule::Depth), reading.depth.as_ref(), view.depth.as_ref());
    put_quantity(text, None, reading.across.as_ref(), view.across.as_ref());
    put_quantity(text, Some(Rule::Height), reading.height.as_ref(), view.height.as_ref());
    if let Some((by, offset)) = &reading.midline {
        put_offset(text, *by, offset, view.midline_by.by(*by));
    }
    put_verdicts(text, reading.verdicts.iter());
    put_issues(text, reading.issues.iter());
}

/// What is expected of the case, what is there, and how far it has come.
fn plan_for_people(text: &mut String, result: &CaseResult<'_>) {
    let plan = plan(result.case, result.readings);
    if plan.discs.is_empty() && plan.bodies.is_empty() && plan.unreadable_discs.is_empty() {
        return;
    }
    put(text, "");
    put(text, &format!("  plan: {}", plan::summary(&plan)));
    let discs: Vec<String> =
        plan.discs.iter().map(|(above, below)| format!("{}-{}", above.name(), below.name())).collect();
    if !discs.is_empty() {
        put(text, &format!("    affected discs: {}", discs.join(", ")));
    }
    for name in &plan.unreadable_discs {
        put(text, &format!("    note: “{name}” is not a disc between two adjacent bodies."));
    }
    for body in &plan.bodies {
        if body.sides.is_empty() && body.wanted {
            put(text, &format!("    {}: no shots from either side", body.level.name()));
        }
        for side in &body.sides {
            put(text, &format!("    {}", plan::side(body.level, side.side, Some(side))));
            for line in plan::stages(side) {
                put(text, &format!("      {line}"));
            }
        }
    }
    let to_sort: Vec<&str> =
        plan.to_sort.iter().filter_map(|&i| result.case.shots.get(i)).map(|shot| shot.id.as_str()).collect();
    if !to_sort.is_empty() {
        put(text, &format!("    unlabeled (level, side, view or stage not set): {}", to_sort.join(", ")));
    }
}

fn run_for_people(text: &mut String, case: &Case, found: &LevelRun) {
    let pairs = format::count(found.pairs.len(), "matched pair", "matched pairs");
    let (level, side) = (found.level.name(), format::side(found.side));
    put(text, &format!("  {level}, {side}, {pairs}: {}", tip_path::HEADING));
    let id = |index: usize| case.shots[index].id.as_str();
    for (step, pair) in found.run.steps.iter().zip(found.pairs.windows(2)) {
        put(text, &format!("    {} to {}: {}", id(pair[0].0), id(pair[1].0), tip_path::step(step)));
    }
    for sentence in tip_path::line_ahead(&found.run) {
        put(text, &format!("    {sentence}"));
    }
}

/// A number as a true view would show it where that is known; a Monte Carlo run is one of the direct reading, which then
/// stands beside it as it does where it rounds to another number.
fn put_quantity(
    text: &mut String,
    rule: Option<Rule>,
    direct: Option<&Quantity>,
    corrected: Option<&Quantity>,
) {
    let Some(direct) = direct else { return };
    let name = rule.map_or("across", Rule::key);
    let words = |q| coordinate(rule, q);
    let shown = used(direct, corrected);
    let beside = corrected.is_some()
        && (direct.monte_carlo.is_some() || format::percent(direct.value) != format::percent(shown.value));
    let of = |rule| format::interval_brief(rule, shown);
    let mut interval = rule.map_or_else(|| format::interval(shown), of);
    if beside {
        interval.push_str(&format!("; direct {}", words(direct)));
    }
    if let Some(run) = &direct.monte_carlo {
        interval.push_str(&format!(
            ", simulated {} to {}",
            format::percent(run.low),
            format::percent(run.high)
        ));
    }
    put(text, &format!("    {name:<8} {}  (95 %: {interval})", words(shown)));
}

/// A coordinate; `None` is the mediolateral one.
fn coordinate(rule: Option<Rule>, q: &Quantity) -> String {
    rule.map_or_else(|| format::percent_of(q), |rule| format::coordinate(rule, q))
}

/// That the numbers below are those of a true view.
fn put_true_view(text: &mut String, direct: &[true_view::Row<'_>]) {
    if !direct.is_empty() {
        put(text, &format!("    {}:", true_view::HEADING.to_lowercase()));
    }
}

fn put_offset(text: &mut String, by: MidlineBy, direct: &Quantity, corrected: Option<&Quantity>) {
    let (shown, by) = (used(direct, corrected), by.key().replace('_', " "));
    let other = format::percent(direct.value) != format::percent(shown.value);
    let words = |q| format::coordinate(Rule::Midline, q);
    let beside = if other { format!("; direct {}", words(direct)) } else { String::new() };
    put(text, &format!("    midline  {}  (by the {by}{beside})", words(shown)));
}

fn put_instruments(
    text: &mut String,
    rule: Option<Rule>,
    electrodes: Option<&Electrodes>,
    mouth: Option<&Place>,
) {
    let along = rule.map_or("across", Rule::key);
    let place = |name: &str, place: &Place| {
        let first = coordinate(rule, &place.along);
        let height = coordinate(Some(Rule::Height), &place.height);
        format!("    {name}: {along} {first}, height {height}")
    };
    if let Some(electrodes) = electrodes {
        put(text, &place("middle of the electrodes", &electrodes.centre));
    }
    if let Some(mouth) = mouth {
        put(text, &place("cannula tip", mouth));
    }
}

fn put_verdicts<'a>(text: &mut String, verdicts: impl IntoIterator<Item = &'a Verdict>) {
    for verdict in verdicts {
        let (sign, rule) = (format::state_sign(verdict.state), format::rule(verdict.rule));
        let by = if verdict.basis == Basis::TrueView { "; by what a true view would show" } else { "" };
        put(text, &format!("    {sign} {rule}: {}{by}", format::verdict(verdict)));
    }
}

fn put_issues<'a>(text: &mut String, issues: impl Iterator<Item = &'a Issue>) {
    for issue in issues {
        let word = if issue.blocks == Blocks::Nothing { "note" } else { "in the way" };
        put(text, &format!("    {word}: {}", issue.text));
    }
}

fn put(text: &mut String, line: &str) {
    text.push_str(line);
    text.push('\n');
}
