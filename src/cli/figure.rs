//! `figure`: one or more shots of a case as a finished figure.

use std::ffi::OsStr;
use std::path::{Path, PathBuf};

use crate::case::document::Case;
use crate::case::document::figure_spec::{FigureGround, FigureKind, FigureWidth};
use crate::cli::aside::Aside;
use crate::cli::ending::{Done, Refused};
use crate::cli::output::{self, Replace};
use crate::io::export::figure::Chosen;
use crate::io::export::questions::{QuestionFault, QuestionSet};
use crate::io::export::{ExportError, PageFormat, page_bytes};
use crate::io::store::pictures::picture_paths;
use crate::io::store::save::{Opened, open_case};
use crate::scene::drawing::theme::Theme;
use crate::scene::figure::asked::FigureStyle;
use crate::scene::figure::{Extent, FigureOptions};
use crate::scene::overlay::{Layer, LayerSet};

/// Arguments of `figure`.
#[derive(Debug, clap::Args)]
pub struct FigureArgs {
    /// Case file.
    #[arg(value_name = "CASE")]
    case: PathBuf,
    /// Ids of the shots, in order. A matched lateral and AP get the lateral, AP and axial drawings of the body below
    /// them. With --questions, no id means all shots.
    #[arg(required_unless_present = "questions", value_name = "SHOT")]
    shots: Vec<String>,
    /// The file to write; its name ends in .png, .svg or .pdf.
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// A figure template saved in the case; other options override it.
    #[arg(long, value_name = "NAME")]
    template: Option<String>,
    /// Figure type: shot, before_after, sequence or pair.
    #[arg(long, value_name = "KIND")]
    kind: Option<String>,
    /// Width: single, one_and_half or double (journal columns), slide (16:9), slide_4_3, or poster (600 mm).
    #[arg(long, value_name = "WIDTH")]
    width: Option<String>,
    /// Background: light or dark.
    #[arg(long, value_name = "GROUND", conflicts_with = "dark")]
    ground: Option<String>,
    /// Images only: no overlays, no readings.
    #[arg(long, conflicts_with = "layers")]
    clean: bool,
    /// Overlays to draw, separated by commas: depth-band, height-band, midline-band, docking-target, thirds, quadrants,
    /// spinous-process, midlines, borders, contours, pedicles, ruler, cannula, electrodes, tip-region, tip, labels,
    /// teaching (your annotations), or all.
    #[arg(long, value_name = "LAYERS")]
    layers: Option<String>,
    /// Whole frames, not only the region around the body.
    #[arg(long)]
    whole: bool,
    /// Show whole frames even though they may contain readable text; use it once you have checked them.
    #[arg(long)]
    as_is: bool,
    /// Light on dark, for slides.
    #[arg(long)]
    dark: bool,
    /// Title instead of the case title; an empty one leaves it out.
    #[arg(long, value_name = "TEXT")]
    title: Option<String>,
    /// Caption below the images.
    #[arg(long, value_name = "TEXT")]
    caption: Option<String>,
    /// A letter on every image.
    #[arg(long)]
    letters: bool,
    /// A scale bar on every calibrated image.
    #[arg(long)]
    scale_bar: bool,
    /// Leave out the legend.
    #[arg(long)]
    no_legend: bool,
    /// Each shot twice, as a question and with its answer: pages of one .pdf, or for one shot two files whose names end
    /// in -question and -answer.
    #[arg(long, conflicts_with_all = ["clean", "kind"])]
    questions: bool,
    #[command(flatten)]
    replace: Replace,
}

/// Makes the figure and writes it.
///
/// # Errors
/// One sentence for each thing that is wrong; nothing is written.
pub fn run(args: &FigureArgs, aside: &mut Aside<'_>) -> Result<Done, Refused> {
    let format = PageFormat::of_name(&args.out).map_err(|e| refused(e.to_string()))?;
    let opened = open_case(&args.case)?;
    let case = &opened.case;
    let (options, theme) = asked(args, case)?;
    let places =
        if args.shots.is_empty() { (0..case.shots.len()).collect() } else { chosen(&opened, &args.shots)? };
    if let Some(why) = options.style.kind.and_then(|kind| kind.fault(places.len())) {
        return Err(refused(format!("{}: {why}, but {} were given", args.case.display(), places.len())));
    }
    let shown = if args.questions { 1 } else { places.len() };
    if let Some(why) = options.refusal(shown) {
        return Err(refused(format!("{}: {why}", args.case.display())));
    }
    let pictures = picture_paths(&opened.path, case);
    let inputs: Vec<_> = std::iter::once(&args.case).chain(&pictures).map(PathBuf::as_path).collect();
    if args.questions && format == PageFormat::Pdf {
        let bytes = question_document(args, &opened, (&places, &options, &theme), aside)?;
        output::write_result(&bytes, &args.out, &inputs, args.replace)?;
        return Ok(Done::Fully);
    }
    let pictured = Chosen::open(&opened.path, case, &places).map_err(Refused)?;
    let mut doubts = pictured.doubts(case, options.extent);
    if !doubts.is_empty() && !args.as_is {
        doubts.push(NOTHING_WRITTEN.to_owned());
        return Err(Refused(doubts));
    }
    let drawn = |bytes: Result<Vec<u8>, ExportError>| bytes.map_err(|e| refused(e.to_string()));
    let files = if args.questions {
        let questions = pictured.questions(case, &options);
        match questions.as_slice() {
            [] => return Err(nothing_to_ask(args)),
            [one] => vec![
                (beside(&args.out, "-question"), drawn(page_bytes(&one.asked, &theme, format))?),
                (beside(&args.out, "-answer"), drawn(page_bytes(&one.answered, &theme, format))?),
            ],
            _ => return Err(refused(ExportError::OnePage(args.out.display().to_string()).to_string())),
        }
    } else {
        let page = pictured.page(case, &options);
        page.left_out.iter().for_each(|sentence| aside.say(sentence));
        vec![(args.out.clone(), drawn(page_bytes(&page, &theme, format))?)]
    };
    for (file, bytes) in &files {
        output::write_result(bytes, file, &inputs, args.replace)?;
    }
    Ok(Done::Fully)
}

/// What is said where words may be readable in images.
const NOTHING_WRITTEN: &str =
    "Nothing was written. Redact the text, or use --as-is once you have checked the images.";

/// Questions and answers as one document, image by image.
fn question_document(
    args: &FigureArgs,
    opened: &Opened,
    (places, options, theme): (&[usize], &FigureOptions, &Theme),
    aside: &mut Aside<'_>,
) -> Result<Vec<u8>, Refused> {
    let mut progress = aside.progress("Writing questions");
    let mut goes_on = |done, of| {
        progress.at(done, of);
        true
    };
    let set = QuestionSet { case_file: &opened.path, case: &opened.case, places, options, as_is: args.as_is };
    set.document(theme, &mut goes_on).map_err(|fault| match fault {
        QuestionFault::Doubts(mut doubts) => {
            doubts.push(NOTHING_WRITTEN.to_owned());
            Refused(doubts)
        }
        QuestionFault::Wrong(sentences) => Refused(sentences),
        QuestionFault::NothingToAsk | QuestionFault::Stopped => nothing_to_ask(args),
    })
}

fn nothing_to_ask(args: &FigureArgs) -> Refused {
    refused(format!("{}: no shot has a reading to ask about", args.case.display()))
}

/// How the figure is to be made: the template, and what else was said before it.
fn asked(args: &FigureArgs, case: &Case) -> Result<(FigureOptions, Theme), Refused> {
    let mut options = FigureOptions {
        title: case.title.clone(),
        layers: Some(LayerSet::default()),
        window: None,
        extent: Extent::AroundBody,
        style: FigureStyle::default(),
    };
    let mut ground = FigureGround::Light;
    if let Some(name) = &args.template {
        let unknown = || {
            let known: Vec<_> = case.figures.iter().map(|figure| figure.name.as_str()).collect();
            let known = if known.is_empty() { "none".to_owned() } else { known.join(", ") };
            refused(format!("--template: the case has no figure template “{name}”; it has {known}"))
        };
        let spec = case.figure(name).ok_or_else(unknown)?;
        (options, ground) = (FigureOptions::of_spec(spec, case.title.as_deref()), spec.ground);
    }
    if args.title.is_some() {
        options.title.clone_from(&args.title);
    }
    match &args.layers {
        _ if args.clean => options.layers = None,
        None => {}
        Some(keys) if keys.trim() == "all" => options.layers = Some(LayerSet::all()),
        Some(keys) => {
            let layers = LayerSet::from_keys(keys).map_err(|unknown| refused(no_such_layer(&unknown)))?;
            options.layers = Some(layers);
        }
    }
    if args.whole {
        options.extent = Extent::Whole;
    }
    let style = &mut options.style;
    if let Some(key) = &args.kind {
        style.kind = Some(one_of("--kind", key, FigureKind::ALL, FigureKind::key)?);
    }
    if args.questions {
        style.kind = None;
    }
    if let Some(key) = &args.width {
        style.width = Some(one_of("--width", key, FigureWidth::ALL, FigureWidth::key)?);
    }
    if let Some(key) = &args.ground {
        ground = one_of("--ground", key, FigureGround::ALL, FigureGround::key)?;
    }
    if args.caption.is_some() {
        style.caption.clone_from(&args.caption);
    }
    style.letters |= args.letters;
    style.scale_bar |= args.scale_bar;
    style.legend &= !args.no_legend;
    let dark = args.dark || ground == FigureGround::Dark;
    Ok((options, if dark { Theme::dark() } else { Theme::light() }))
}

/// The value that a key names.
pub(crate) fn one_of<T: Copy, const N: usize>(
    option: &str,
    said: &str,
    all: [T; N],
    key: impl Fn(T) -> &'static str,
) -> Result<T, Refused> {
    let known = all.map(&key).join(", ");
    let unknown = || refused(format!("{option}: “{said}” is not known; it must be one of {known}"));
    all.into_iter().find(|one| key(*one) == said).ok_or_else(unknown)
}

/// The file with this behind its name, before its ending.
fn beside(file: &Path, behind: &str) -> PathBuf {
    let part =
        |part: Option<&OsStr>| part.map(|part| part.to_string_lossy().into_owned()).unwrap_or_default();
    file.with_file_name(format!("{}{behind}.{}", part(file.file_stem()), part(file.extension())))
}

fn refused(sentence: String) -> Refused {
    Refused(vec![sentence])
}

fn no_such_layer(unknown: &str) -> String {
    let known: Vec<_> = Layer::ALL.into_iter().map(Layer::key).collect();
    format!("--layers: there is no overlay “{unknown}”; use {}, or all", known.join(", "))
}

/// The places of the shots in the case.
///
/// # Errors
/// One sentence for each id that no shot has.
pub(crate) fn chosen(opened: &Opened, ids: &[String]) -> Result<Vec<usize>, Refused> {
    let mut found = Vec::new();
    let mut unknown = Vec::new();
    for id in ids {
        match opened.case.shots.iter().position(|shot| shot.id == *id) {
            Some(place) => found.push(place),
            None => unknown.push(id),
        }
    }
    if unknown.is_empty() {
        return Ok(found);
    }
    let known: Vec<_> = opened.case.shots.iter().map(|shot| shot.id.as_str()).collect();
    let there_is = if known.is_empty() { "none".to_owned() } else { known.join(", ") };
    let sentence =
        |id: &String| format!("{}: this case has no shot “{id}”; it has {there_is}", opened.path.display());
    Err(Refused(unknown.into_iter().map(sentence).collect()))
}
