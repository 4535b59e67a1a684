//! `propose`: the outline and the tip of a lateral shot from two clicks, or the marks of a shot from a marked one.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::case::document::Shot;
use crate::case::document::edit::Edit;
use crate::case::document::proposed::ProposedMarks;
use crate::case::image::frame::Frame;
use crate::cli::ending::{Done, Refused};
use crate::cli::output::{self, Replace};
use crate::geom::point::Point;
use crate::io::case_file;
use crate::io::export::proposal;
use crate::io::store::outside;
use crate::io::store::pictures::{open_picture, picture_paths, renamed_pictures, taken_along};
use crate::io::store::save::{Opened, open_case};
use crate::measure::mark::{Level, MarkKind, Marks, View};
use crate::propose::Edge;
use crate::propose::further::{Copied, Further, Marked, Unmarked, further};
use crate::propose::lateral::{Clicks, Proposal, propose};
use crate::propose::trust::{Code, Refusal};
use crate::scene::words::caution;

/// Arguments of `propose`.
#[derive(Debug, clap::Args)]
pub struct ProposeArgs {
    /// Case file.
    #[arg(value_name = "CASE")]
    case: PathBuf,
    /// Id of the shot.
    #[arg(value_name = "SHOT")]
    shot: String,
    /// The middle of the posterior wall, in pixels from the top left corner.
    #[arg(long, value_name = "X,Y", value_parser = point, allow_hyphen_values = true, requires = "anterior")]
    posterior: Option<Point>,
    /// The middle of the anterior wall.
    #[arg(long, value_name = "X,Y", value_parser = point, allow_hyphen_values = true, requires = "posterior")]
    anterior: Option<Point>,
    /// Instead of clicks: id of a marked shot of the same level and view.
    #[arg(long, value_name = "SHOT", conflicts_with_all = ["posterior", "anterior"])]
    from: Option<String>,
    /// Everything, as JSON.
    #[arg(long)]
    json: bool,
    /// Write the case with the proposed marks as a draft into this file; a draft is not measured until it is accepted.
    #[arg(long, value_name = "OUT.case.json")]
    write: Option<PathBuf>,
    #[command(flatten)]
    replace: Replace,
}

/// Proposes marks and delivers them.
///
/// # Errors
/// One sentence, if the shot or its image is not there, or the result cannot be written.
pub fn run(args: &ProposeArgs, out: &mut dyn Write) -> Result<Done, Refused> {
    let opened = open_case(&args.case)?;
    let shot = named(args, &opened, &args.shot)?;
    let (text, draft) = match &args.from {
        Some(from) => from_shot(args, &opened, shot, named(args, &opened, from)?)?,
        None => from_clicks(args, &opened, shot)?,
    };
    if let (Some(file), Some(draft)) = (&args.write, &draft) {
        write_draft(args, &opened, draft, file)?;
    }
    output::show(&text, out)?;
    Ok(if draft.is_some() { Done::Fully } else { Done::WithoutSomeReading })
}

/// Marks with their origin.
type DraftMarks = (Marks, ProposedMarks);

fn named<'a>(args: &ProposeArgs, opened: &'a Opened, id: &str) -> Result<&'a Shot, Refused> {
    opened.case.shot(id).ok_or_else(|| {
        let ids: Vec<&str> = opened.case.shots.iter().map(|shot| shot.id.as_str()).collect();
        refused(args, format!("there is no shot “{id}”; its shots are {}", ids.join(", ")))
    })
}

fn image(args: &ProposeArgs, opened: &Opened, shot: &Shot) -> Result<Frame, Refused> {
    open_picture(&opened.path, shot).map_err(|why| refused(args, format!("{}: {why}", shot.id)))
}

/// What a marked shot gives: what is said, and the draft if there is one.
fn from_shot(
    args: &ProposeArgs,
    opened: &Opened,
    shot: &Shot,
    from: &Shot,
) -> Result<(String, Option<DraftMarks>), Refused> {
    if shot.id == from.id {
        return Err(refused(args, "--from names the shot itself; name another one of its level and view"));
    }
    if let Some(open) = [shot, from].into_iter().find(|one| !one.view_set) {
        return Err(refused(args, format!("the view of “{}” is not set; set it first", open.id)));
    }
    if shot.view != from.view || (shot.level.is_some() && from.level.is_some() && shot.level != from.level) {
        let what = format!("“{}” and “{}” are not of one level and view", from.id, shot.id);
        return Err(refused(args, format!("{what}; name a shot of the same level and view")));
    }
    if from.draft {
        return Err(refused(args, format!("the marks of “{}” are a draft; accept them first", from.id)));
    }
    let frames = [image(args, opened, from)?, image(args, opened, shot)?];
    let marked = Marked {
        frame: &frames[0],
        covers: &from.covers,
        marks: &from.marks,
        view: from.view,
        mm_per_px: from.mm_per_px,
    };
    let unmarked = Unmarked { frame: &frames[1], covers: &shot.covers, mm_per_px: shot.mm_per_px };
    let outcome = if shot.level == Some(Level::S1) {
        Err(Refusal::plain(Code::Sacrum))
    } else {
        further(marked, unmarked)
    };
    let text = if args.json {
        proposal::further_text(&shot.id, &outcome)
    } else {
        ended(match &outcome {
            Ok(Further::Outline(proposal, registered)) => {
                let mut lines = proposed_lines(&shot.id, proposal);
                lines.push(format!("  similarity of the two images {:.2}", registered.similarity));
                lines
            }
            Ok(Further::Copied(copied)) => copied_lines(&shot.id, copied),
            Err(refusal) => refused_lines(&shot.id, refusal),
        })
    };
    Ok((text, outcome.ok().map(|found| found.draft_of(&shot.marks))))
}

/// What two clicks give.
fn from_clicks(
    args: &ProposeArgs,
    opened: &Opened,
    shot: &Shot,
) -> Result<(String, Option<DraftMarks>), Refused> {
    let outcome = outcome(args, opened, shot)?;
    let text = match (&outcome, args.json) {
        (outcome, true) => proposal::text(&shot.id, outcome),
        (Ok(proposal), false) => ended(proposed_lines(&shot.id, proposal)),
        (Err(refusal), false) => ended(refused_lines(&shot.id, refusal)),
    };
    Ok((text, outcome.ok().map(|proposal| proposal.draft_of(&shot.marks))))
}

fn refused(args: &ProposeArgs, why: impl std::fmt::Display) -> Refused {
    Refused(vec![format!("{}: {why}", args.case.display())])
}

fn outcome(args: &ProposeArgs, opened: &Opened, shot: &Shot) -> Result<Result<Proposal, Refusal>, Refused> {
    let Some((posterior, anterior)) = args.posterior.zip(args.anterior) else {
        return Err(refused(
            args,
            "give the two clicks, --posterior X,Y in the middle of the posterior wall and --anterior X,Y in the middle of the anterior wall, or a marked shot with --from SHOT",
        ));
    };
    let frame = image(args, opened, shot)?;
    let outside =
        |p: Point| p.x < 0.0 || p.y < 0.0 || p.x > f64::from(frame.width) || p.y > f64::from(frame.height);
    if let Some((name, p)) =
        [("posterior", posterior), ("anterior", anterior)].into_iter().find(|(_, p)| outside(*p))
    {
        return Err(refused(
            args,
            format!(
                "--{name} {},{} lies outside the image of {} × {} pixels",
                p.x, p.y, frame.width, frame.height
            ),
        ));
    }
    if !shot.view_set {
        return Err(refused(args, format!("the view of “{}” is not set; set it first", shot.id)));
    }
    if shot.view != View::Lateral {
        return Ok(Err(Refusal::plain(Code::View)));
    }
    if shot.level == Some(Level::S1) {
        return Ok(Err(Refusal::plain(Code::Sacrum)));
    }
    Ok(propose(&frame, &shot.covers, Clicks { posterior, anterior }, shot.mm_per_px))
}

/// Writes the case with the proposal as a draft into a new file.
fn write_draft(
    args: &ProposeArgs,
    opened: &Opened,
    (marks, proposed): &DraftMarks,
    file: &Path,
) -> Result<(), Refused> {
    let mut case = opened.case.clone();
    let edit = Edit::SetDraft {
        shot: args.shot.clone(),
        marks: marks.clone(),
        proposed: Box::new(proposed.clone()),
    };
    let moved = renamed_pictures(&case, Some(&opened.path), file);
    for edit in std::iter::once(&edit).chain(&moved) {
        case.apply(edit).map_err(|e| refused(args, e))?;
    }
    let text = case_file::to_text(file, &case)?;
    // A case that someone works on is not lost to a proposal.
    if file.exists() && std::fs::read(file).ok().as_deref() != Some(text.as_bytes()) {
        return Err(Refused(vec![format!(
            "{}: it exists already; name a new file for the draft",
            file.display()
        )]));
    }
    let pictures = picture_paths(&opened.path, &opened.case);
    let inputs: Vec<&Path> = std::iter::once(&args.case).chain(&pictures).map(PathBuf::as_path).collect();
    output::write_result(text.as_bytes(), file, &inputs, args.replace)?;
    outside::allow(file, &taken_along(&opened.case, Some(&opened.path), file));
    Ok(())
}

/// Lines with the caution below them.
fn ended(mut lines: Vec<String>) -> String {
    lines.extend([String::new(), caution::SHORT.to_owned(), String::new()]);
    lines.join("\n")
}

fn refused_lines(shot: &str, refusal: &Refusal) -> Vec<String> {
    let mut lines = vec![format!("{shot}: nothing is proposed. {}", refusal.text)];
    if let Some((_, score)) = refusal.found {
        lines.push(format!("  doubt {score:.2} (0 none, 2 the most that is proposed)"));
    }
    lines
}

fn places(marks: &Marks, kind: MarkKind) -> String {
    let points = marks.complete(kind).unwrap_or_default();
    let places: Vec<String> = points.iter().map(|p| format!("{:.1},{:.1}", p.x, p.y)).collect();
    places.join("  ")
}

fn proposed_lines(shot: &str, proposal: &Proposal) -> Vec<String> {
    let mut lines = vec![
        format!("{shot}: proposed; check every border before you accept it."),
        format!("  doubt {:.2} (0 none, 2 the most that is proposed)", proposal.score),
    ];
    for edge in Edge::ALL {
        let twice = if proposal.shows_twice.contains(&edge) {
            "; seems to show twice, halfway between its lines"
        } else {
            ""
        };
        let sd = proposal.sds[edge.index()].across;
        let places = places(&proposal.marks, edge.mark_kind());
        lines.push(format!("  {}: {places} (SD {sd:.1} mm across it){twice}", edge.name()));
    }
    lines.push(match &proposal.tip {
        Ok(tip) => format!(
            "  tip: {:.1},{:.1} (SD {:.1} mm along the instrument, {:.1} mm across it)",
            tip.point.x, tip.point.y, tip.sd_mm[0], tip.sd_mm[1]
        ),
        Err(why) => format!("  tip: {}", why.text()),
    });
    lines
}

fn copied_lines(shot: &str, copied: &Copied) -> Vec<String> {
    let mut lines = vec![format!("{shot}: marks copied; check every one before you accept them.")];
    for kind in copied.marks.kinds() {
        let again =
            if copied.look_again.contains(&kind) { "; mark it again where the view has turned" } else { "" };
        lines.push(format!("  {}: {}{again}", kind.name(), places(&copied.marks, kind)));
    }
    lines.push(format!("  similarity of the two images {:.2}", copied.registered.similarity));
    lines
}

fn point(text: &str) -> Result<Point, String> {
    let number = |part: &str| part.trim().parse::<f64>().ok().filter(|v| v.is_finite());
    let pair = text.split_once(',').and_then(|(x, y)| Some(Point::new(number(x)?, number(y)?)));
    pair.ok_or_else(|| "give two numbers as X,Y, pixels from the top left corner".to_owned())
}
