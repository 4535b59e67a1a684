//! `compare`: how far the tip moved between two shots of one level and view.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::case::document::{Case, Shot};
use crate::case::readings::{ReadPairOf, ShotReading, read_with_partner};
use crate::cli::figure::chosen;
use crate::cli::output;
use crate::cli::{Done, Refused};
use crate::io::export::change::{self, Compared};
use crate::io::store::pictures::{picture_of, picture_path};
use crate::io::store::save::open_case;
use crate::measure::ap::ap_body_map;
use crate::measure::compare::{self, Position, ShotChange};
use crate::measure::issue::Issue;
use crate::measure::lateral::lateral_body_map;
use crate::measure::mark::{MarkKind, MarkRef, View};
use crate::measure::registration::Registration;
use crate::scene::caution;
use crate::scene::format;
use crate::scene::run_lines;

/// Arguments of `compare`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Case file.
    #[arg(value_name = "CASE")]
    case: PathBuf,
    /// Id of the earlier shot.
    #[arg(value_name = "FROM")]
    from: String,
    /// Id of the later shot, of the same level and view.
    #[arg(value_name = "TO")]
    to: String,
    /// Both shots share one C-arm position: the view then errs alike in both, and its part is left out.
    #[arg(long)]
    one_position: bool,
    /// Everything, as JSON.
    #[arg(long)]
    json: bool,
    /// Write the result into this file.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// Compares the shots and delivers the result.
///
/// # Errors
/// One sentence, if the shots are not there or cannot be compared.
pub fn run(args: &Args, out: &mut dyn Write) -> Result<Done, Refused> {
    let opened = open_case(&args.case)?;
    let places = chosen(&opened, &[args.from.clone(), args.to.clone()])?;
    let shots = [places[0], places[1]];
    let case = &opened.case;
    let notes = comparable(case, shots).map_err(|why| {
        Refused(vec![format!("{}: {} and {}: {why}", args.case.display(), args.from, args.to)])
    })?;
    let read = shots.map(|at| read_with_partner(case, at, |shot| picture_of(&opened.path, shot).picture));
    let position = if args.one_position { Position::Shared } else { Position::Own };
    let matters = case.settings.change_that_matters;
    let [(first, first_pair), (second, second_pair)] = &read;
    let change = match (first, second) {
        (ShotReading::Lateral(a), ShotReading::Lateral(b)) => compare::lateral(a, b, position, matters),
        (ShotReading::Ap(a), ShotReading::Ap(b)) => compare::ap(a, b, position, matters),
        _ => ShotChange::default(),
    };
    let pairs = first_pair.as_ref().zip(second_pair.as_ref()).map(|(a, b)| {
        let place = |pair: &ReadPairOf| (pair.lateral, pair.ap);
        ([place(a), place(b)], compare::pairs(&a.reading, &b.reading, position, matters))
    });
    let compared = Compared {
        case,
        shots,
        change,
        pairs,
        arrow: arrow(case, shots),
        one_position: args.one_position,
        issues: [first.issues(), second.issues()],
        notes: &notes,
    };
    let text = if args.json { change::text(&compared) } else { for_people(&compared) };
    let pictures = case.shots.iter().filter_map(|shot| picture_path(&opened.path, &shot.image).ok());
    let pictures: Vec<PathBuf> = pictures.collect();
    let inputs: Vec<&Path> = std::iter::once(&args.case).chain(&pictures).map(PathBuf::as_path).collect();
    output::deliver(&text, args.out.as_deref(), &inputs, out)?;
    let read = first.is_read() && second.is_read();
    Ok(if read { Done::Fully } else { Done::WithoutSomeReading })
}

/// What is to be said of a comparison of these shots, or why there can be none.
fn comparable(case: &Case, [from, to]: [usize; 2]) -> Result<Vec<String>, String> {
    let (a, b) = (&case.shots[from], &case.shots[to]);
    if from == to {
        return Err("the same shot stands twice; name two shots".to_owned());
    }
    if a.view != b.view {
        let views = format!("{} and {}", format::view(a.view), format::view(b.view));
        return Err(format!("the views differ ({views}); name two shots of one view"));
    }
    if a.view == View::Pedicle {
        return Err("a pedicle view shows where the needle docks, not how far it went; name two lateral or two AP shots"
            .to_owned());
    }
    if let (Some(x), Some(y)) = (a.level, b.level)
        && x != y
    {
        let levels = format!("{} and {}", x.name(), y.name());
        return Err(format!("the levels differ ({levels}); name two shots of one level"));
    }
    let mut notes = Vec::new();
    if a.level.is_none() || b.level.is_none() {
        notes.push("The level of a shot is not set; make sure that both show the same body.".to_owned());
    }
    if let (Some(x), Some(y)) = (a.side, b.side)
        && x != y
    {
        if a.view == View::Ap {
            return Err("the entry sides differ, and across is counted from the entry side; name two shots of one side"
                .to_owned());
        }
        notes.push(
            "The shots are of different entry sides, so this is the difference between two instruments."
                .to_owned(),
        );
    }
    Ok(notes)
}

/// The first shot's tip carried into the second picture, and the tip there.
fn arrow(case: &Case, shots: [usize; 2]) -> Option<[crate::geom::point::Point; 2]> {
    let [from, to] = shots.map(|at| &case.shots[at]);
    if from.draft || to.draft {
        return None;
    }
    let map = |shot: &Shot| match shot.view {
        View::Lateral => lateral_body_map(&shot.marks).ok(),
        _ => ap_body_map(&shot.marks, shot.side, shot.patient_right.or(case.patient_right)).ok(),
    };
    let tip = |shot: &Shot| shot.marks.point(MarkRef { kind: MarkKind::Tip, index: 0 });
    let carried = Registration::new(map(from)?, map(to)?).carry(tip(from)?)?;
    Some([carried, tip(to)?])
}

/// The comparison in words, with the caution.
fn for_people(compared: &Compared<'_>) -> String {
    let [from, to] = compared.shots.map(|at| &compared.case.shots[at]);
    let what = |shot: &Shot| format::shot(shot.level, shot.side, shot.view, shot.stage);
    let mut lines =
        vec![format!("from {}: {}", from.id, what(from)), format!("to   {}: {}", to.id, what(to))];
    let found = &compared.change;
    let along = if from.view == View::Lateral { "depth" } else { "across" };
    let mut put = |name: &str, change: Option<&compare::Change>| {
        if let Some(change) = change {
            lines.push(format!("  {name:<8} {}", run_lines::change(change)));
        }
    };
    put(along, found.along.as_ref());
    put("height", found.height.as_ref());
    put("midline", found.midline.as_ref().map(|(_, change)| change));
    if found.along.is_none() && found.height.is_none() {
        lines.push("  no change can be said: a shot has no reading".to_owned());
    }
    if let Some(mm) = &found.mm {
        let (a, h) = (format::mm_of(&mm.along), format::mm_of(&mm.height));
        lines.push(format!("  in millimetres: {along} {a}, height {h}"));
    }
    if let Some((_, change)) = &compared.pairs {
        lines.push("  the matched pairs, in three coordinates:".to_owned());
        let mut put = |name: &str, change: Option<&compare::Change>| {
            if let Some(change) = change {
                lines.push(format!("    {name:<8} {}", run_lines::change(change)));
            }
        };
        put("depth", change.depth.as_ref());
        put("across", change.across.as_ref());
        put("height", change.height.as_ref());
        put("midline", change.midline.as_ref().map(|(_, change)| change));
    }
    if compared.one_position {
        lines.push("  as said, both shots share one C-arm position; the view's part is left out".to_owned());
    }
    let issues = |list: &[Issue], shot: &Shot| -> Vec<String> {
        list.iter().map(|issue| format!("  note on {}: {}", shot.id, issue.text)).collect()
    };
    lines.extend(issues(compared.issues[0], from));
    lines.extend(issues(compared.issues[1], to));
    lines.extend(compared.notes.iter().map(|note| format!("  note: {note}")));
    lines.push(String::new());
    lines.push(caution::SHORT.to_owned());
    lines.push(String::new());
    lines.join("\n")
}
