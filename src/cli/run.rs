//! `run`: all shots of one body in order: the way through the body, the lines over the shots, and the steps in words.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::cli::ending::{Done, Refused};
use crate::cli::output::{self, Replace};
use crate::io::export::{PageFormat, page_bytes};
use crate::io::store::pictures::{picture_paths, read_with_pictures};
use crate::io::store::save::open_case;
use crate::measure::mark::{Level, Side};
use crate::scene::drawing::theme::Theme;
use crate::scene::tip_path::page::page;
use crate::scene::tip_path::{TipRun, bodies};
use crate::scene::words::caution;
use crate::scene::words::tip_path;

/// Arguments of `run`.
#[derive(Debug, clap::Args)]
pub struct RunArgs {
    /// Case file.
    #[arg(value_name = "CASE")]
    case: PathBuf,
    /// The body and the entry side, such as L4-right.
    #[arg(value_name = "LEVEL-SIDE")]
    body: String,
    /// Also draw it into this file; its name ends in .png, .svg or .pdf.
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
    /// Light on dark, for slides.
    #[arg(long, requires = "picture")]
    dark: bool,
    /// Write the words into this file.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    #[command(flatten)]
    replace: Replace,
}

/// Says how the tip went and draws it.
///
/// # Errors
/// One sentence, if there is no such body or a file cannot be written.
pub fn run(args: &RunArgs, out: &mut dyn Write) -> Result<Done, Refused> {
    let refused = |why: String| Refused(vec![why]);
    let format = args.picture.as_deref().map(PageFormat::of_name).transpose();
    let format = format.map_err(|e| refused(e.to_string()))?;
    let opened = open_case(&args.case)?;
    let case = &opened.case;
    let all = bodies(case);
    let key = |(level, side): (Level, Side)| format!("{}-{}", level.name(), side.key());
    let Some(body) = all.iter().copied().find(|body| key(*body).eq_ignore_ascii_case(&args.body)) else {
        let known: Vec<String> = all.into_iter().map(key).collect();
        let there_is = if known.is_empty() { "none".to_owned() } else { known.join(", ") };
        return Err(refused(format!(
            "{}: this case has no body “{}” with lateral or AP shots; it has {there_is}",
            args.case.display(),
            args.body
        )));
    };
    let (readings, _said) = read_with_pictures(&opened.path, case, None);
    let way = TipRun::of(case, &readings, body);
    let pictures = picture_paths(&opened.path, case);
    let inputs: Vec<&Path> = std::iter::once(&args.case).chain(&pictures).map(PathBuf::as_path).collect();
    if let Some((file, format)) = args.picture.as_deref().zip(format) {
        let theme = if args.dark { Theme::dark() } else { Theme::light() };
        let bytes = page_bytes(&page(case, &way), &theme, format).map_err(|e| refused(e.to_string()))?;
        output::write_result(&bytes, file, &inputs, args.replace)?;
    }
    let mut lines = vec![format!("{}: {}", way.name(), tip_path::HEADING)];
    lines.extend(way.moment_lines(case).iter().map(|line| format!("  {line}")));
    let steps = way.step_lines().into_iter().chain(way.line_ahead());
    lines.extend(steps.chain(way.without_steps().map(str::to_owned)).map(|line| format!("  {line}")));
    lines.extend([String::new(), caution::SHORT.to_owned(), String::new()]);
    output::deliver(&lines.join("\n"), args.out.as_deref(), &inputs, args.replace, out)?;
    Ok(if way.moments.is_empty() { Done::WithoutSomeReading } else { Done::Fully })
}
