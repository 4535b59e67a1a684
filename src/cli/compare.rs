//! `compare`: how far the tip moved between two shots of one level and view.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::align::registration::Registration;
use crate::case::document::figure_spec::FigureWidth;
use crate::case::document::{Case, Shot};
use crate::case::image::frame::Frame;
use crate::case::readings::{ShotReading, read_with_partner};
use crate::cli::ending::{Done, Refused};
use crate::cli::figure::chosen;
use crate::cli::output::{self, Replace};
use crate::io::export::change;
use crate::io::export::comparison::compared_page;
use crate::io::export::{PageFormat, page_bytes};
use crate::io::store::pictures::{open_picture, picture_of, picture_paths};
use crate::io::store::save::{Opened, open_case};
use crate::measure::compare::Position;
use crate::scene::comparison::page::ShownAs;
use crate::scene::comparison::refined::{ACCEPTED, Refined};
use crate::scene::comparison::{Comparison, words};
use crate::scene::drawing::theme::Theme;
use crate::scene::format;
use crate::scene::words::caution;
use crate::scene::words::reading::ReadingLine;

/// Arguments of `compare`.
#[derive(Debug, clap::Args)]
pub struct CompareArgs {
    /// Case file.
    #[arg(value_name = "CASE")]
    case: PathBuf,
    /// Id of the earlier shot.
    #[arg(value_name = "FROM")]
    from: String,
    /// Id of the later shot, of the same level and view.
    #[arg(value_name = "TO")]
    to: String,
    /// Both shots share one C-arm position, so the view error cancels out of the change.
    #[arg(long)]
    one_position: bool,
    /// Also draw the two shots to this file; its name ends in .png, .svg or .pdf.
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
    /// How the two shots are shown.
    #[arg(long = "as", value_enum, default_value_t = PairLook::SideBySide, requires = "picture")]
    way: PairLook,
    /// With --as blend the weight of the later shot, with --as divider the position of the split from the left: 0 to 1.
    #[arg(long, default_value_t = 0.5, requires = "picture")]
    share: f64,
    /// As a slide of 16:9 with the change beside the image; for shots laid on each other (not side by side).
    #[arg(long, requires = "picture")]
    slide: bool,
    /// Light on dark, for slides.
    #[arg(long, requires = "picture")]
    dark: bool,
    /// Refine the registration from the images, and report how far that shifts the body and whether it is reliable
    /// (lateral shots).
    #[arg(long)]
    refine: bool,
    /// Use the refined registration for the change where it is reliable; implies `--refine`.
    #[arg(long)]
    accept_refinement: bool,
    /// Everything, as JSON.
    #[arg(long)]
    json: bool,
    /// Write the result to this file.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    #[command(flatten)]
    replace: Replace,
}

/// How the picture of a comparison shows the two shots.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum PairLook {
    /// Side by side.
    SideBySide,
    /// Blended.
    Blend,
    /// Split at a line.
    Divider,
    /// Difference.
    Difference,
}

/// Compares the shots and delivers the result.
///
/// # Errors
/// One sentence, if the shots are not there or cannot be compared.
pub fn run(args: &CompareArgs, out: &mut dyn Write) -> Result<Done, Refused> {
    let opened = open_case(&args.case)?;
    let places = chosen(&opened, &[args.from.clone(), args.to.clone()])?;
    let shots = [places[0], places[1]];
    let case = &opened.case;
    let read = shots.map(|at| read_with_partner(case, at, |shot| picture_of(&opened.path, shot).picture));
    let position = if args.one_position { Position::Shared } else { Position::Own };
    let both = read.each_ref().map(|(reading, pair)| (reading, pair.as_ref()));
    let compared = Comparison::of(case, shots, both, position).map_err(|why| {
        Refused(vec![format!("{}: {} and {}: {why}", args.case.display(), args.from, args.to)])
    })?;
    let refined = if args.refine || args.accept_refinement {
        Some(refined(args, &opened, &compared, &read[1].0)?)
    } else {
        None
    };
    let accepted =
        refined.as_ref().filter(|_| args.accept_refinement).and_then(|refined| refined.accepted(&compared));
    let text = match (&refined, args.json) {
        (None, true) => change::text(case, &compared),
        (Some(refined), true) => change::refined_text(case, &compared, refined, accepted.as_ref()),
        (refined, false) => {
            for_people(case, accepted.as_ref().unwrap_or(&compared), refined.as_ref(), accepted.is_some())
        }
    };
    let pictures = picture_paths(&opened.path, case);
    let inputs: Vec<&Path> = std::iter::once(&args.case).chain(&pictures).map(PathBuf::as_path).collect();
    let shown = accepted.as_ref().unwrap_or(&compared);
    let registration = refined.as_ref().filter(|_| accepted.is_some()).and_then(|r| r.refinement.trusted());
    let readings = [&read[0].0, &read[1].0];
    let drawn =
        args.picture.as_deref().map(|file| picture(args, file, &opened, shown, readings, registration));
    if let Some((file, bytes)) = args.picture.as_deref().zip(drawn.transpose()?) {
        output::write_result(&bytes, file, &inputs, args.replace)?;
    }
    output::deliver(&text, args.out.as_deref(), &inputs, args.replace, out)?;
    let all = read.iter().all(|(reading, _)| reading.is_read());
    Ok(if all { Done::Fully } else { Done::WithoutSomeReading })
}

/// The bytes of the picture that is asked for, laid as given or else by the marks.
fn picture(
    args: &CompareArgs,
    file: &Path,
    opened: &Opened,
    compared: &Comparison,
    readings: [&ShotReading; 2],
    registration: Option<&Registration>,
) -> Result<Vec<u8>, Refused> {
    let refused = |why: String| Refused(vec![why]);
    let format = PageFormat::of_name(file).map_err(|e| refused(e.to_string()))?;
    if !(0.0..=1.0).contains(&args.share) {
        return Err(refused("--share: enter a number from 0 to 1".to_owned()));
    }
    let case = &opened.case;
    let frames = frames(args, opened, compared.shots)?;
    let way = match args.way {
        PairLook::SideBySide => ShownAs::SideBySide,
        PairLook::Blend => ShownAs::Blend(args.share),
        PairLook::Divider => ShownAs::Divider(args.share),
        PairLook::Difference => ShownAs::Difference,
    };
    if args.slide && way == ShownAs::SideBySide {
        return Err(refused(
            "--slide: for two shots side by side use figure --kind before_after --width slide, or add --as blend, divider or difference"
                .to_owned(),
        ));
    }
    let width = args.slide.then_some(FigureWidth::Slide);
    let page = compared_page(case, compared, (readings, &frames), registration, (way, width))
        .map_err(|why| refused(format!("{}: {why}", args.case.display())))?;
    let theme = if args.dark { Theme::dark() } else { Theme::light() };
    page_bytes(&page, &theme, format).map_err(|e| refused(e.to_string()))
}

/// The pictures of two shots.
fn frames(args: &CompareArgs, opened: &Opened, shots: [usize; 2]) -> Result<[Arc<Frame>; 2], Refused> {
    let frame = |at: usize| {
        let shot = &opened.case.shots[at];
        open_picture(&opened.path, shot)
            .map(Arc::new)
            .map_err(|why| Refused(vec![format!("{}: {}: {why}", args.case.display(), shot.id)]))
    };
    Ok([frame(shots[0])?, frame(shots[1])?])
}

/// What the pictures of the two shots say.
fn refined(
    args: &CompareArgs,
    opened: &Opened,
    compared: &Comparison,
    second: &ShotReading,
) -> Result<Refined, Refused> {
    let [from, to] = frames(args, opened, compared.shots)?;
    Refined::of(&opened.case, compared, [&from, &to], second)
        .map_err(|why| Refused(vec![format!("{}: {why}", args.case.display())]))
}

/// The comparison in words, with the caution.
fn for_people(case: &Case, compared: &Comparison, refined: Option<&Refined>, accepted: bool) -> String {
    let [from, to] = compared.shots.map(|at| &case.shots[at]);
    let what = |shot: &Shot| format::shot(shot.level, shot.side, shot.known_view(), shot.stage);
    let mut lines =
        vec![format!("from {}: {}", from.id, what(from)), format!("to   {}: {}", to.id, what(to))];
    let put = |indent: &str, line: &ReadingLine| {
        format!("{indent}{:<8} {}, {}", line.name, line.number, line.words)
    };
    let found = compared.lines(case);
    lines.extend(found.iter().map(|line| put("  ", line)));
    if found.is_empty() {
        lines.push(format!("  {}", words::NO_CHANGE));
    }
    lines.extend(compared.millimetres(case).map(|sentence| format!("  {sentence}")));
    if compared.pairs.is_some() {
        lines.push(format!("  {}:", words::PAIRS));
        lines.extend(compared.pair_lines().iter().map(|line| put("    ", line)));
    }
    if let Some(refined) = refined {
        lines.extend(refined.sentences().into_iter().map(|sentence| format!("  {sentence}")));
        if accepted {
            lines.push(format!("  {ACCEPTED}"));
        } else {
            lines.extend(refined.lines().iter().map(|line| put("    refined: ", line)));
        }
    }
    lines.extend(compared.remarks(case).iter().map(|remark| format!("  {remark}")));
    lines.extend([String::new(), caution::SHORT.to_owned(), String::new()]);
    lines.join("\n")
}
