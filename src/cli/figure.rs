//! `figure`: one or more shots of a case as a finished figure.

use std::path::PathBuf;

use crate::case::document::{Case, Shot};
use crate::case::frame::Frame;
use crate::case::readings::{CaseReadings, Picture, read_case};
use crate::cli::output;
use crate::cli::{Done, Refused};
use crate::io::export::case_folder::doubt;
use crate::io::export::{PageFormat, page_bytes};
use crate::io::import::source::Source;
use crate::io::store::pictures::{picture_path, picture_paths};
use crate::io::store::save::{Opened, open_case};
use crate::scene::figure::{Extent, FigureOptions, FigureShot, figure, pairs_among};
use crate::scene::overlay::{Layer, LayerSet};
use crate::scene::theme::Theme;

/// Arguments of `figure`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Case file.
    #[arg(value_name = "CASE")]
    case: PathBuf,
    /// Ids of the shots, in the order in which they are to stand. A lateral and an AP that belong together get the
    /// body from the side, the front and above below them.
    #[arg(required = true, value_name = "SHOT")]
    shots: Vec<String>,
    /// The file to write; its name ends in .png, .svg or .pdf.
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// Only the pictures: nothing drawn on them, no readings.
    #[arg(long, conflicts_with = "layers")]
    clean: bool,
    /// What to draw, with commas between: depth-band, height-band, midline-band, docking-target, thirds, quadrants,
    /// spinous-process, midlines, borders, contours, pedicles, ruler, cannula, electrodes, tip-region, tip, labels,
    /// teaching (the labels you have put on the shots), or all.
    #[arg(long, value_name = "LAYERS")]
    layers: Option<String>,
    /// The whole frames, not only what is about the body.
    #[arg(long)]
    whole: bool,
    /// Show whole frames although words may be readable in them; for pictures that have been looked at.
    #[arg(long)]
    as_is: bool,
    /// Light on dark, for slides.
    #[arg(long)]
    dark: bool,
    /// The heading instead of the case's title; an empty one leaves it out.
    #[arg(long, value_name = "TEXT")]
    title: Option<String>,
}

/// Makes the figure and writes it.
///
/// # Errors
/// One sentence for each thing that is wrong; nothing is written.
pub fn run(args: &Args) -> Result<Done, Refused> {
    let format = PageFormat::of_name(&args.out).map_err(|e| refused(e.to_string()))?;
    let layers = match &args.layers {
        _ if args.clean => None,
        None => Some(LayerSet::default()),
        Some(keys) if keys.trim() == "all" => Some(LayerSet::all()),
        Some(keys) => Some(LayerSet::from_keys(keys).map_err(|unknown| refused(no_such_layer(&unknown)))?),
    };
    let opened = open_case(&args.case)?;
    let indices = chosen(&opened, &args.shots)?;
    let frames = frames(&opened, &indices)?;
    if args.whole && !args.as_is {
        in_doubt(&opened, &indices, &frames)?;
    }
    let readings = readings(&opened.case, &indices, &frames);
    let shots: Vec<FigureShot<'_>> = indices
        .iter()
        .zip(&frames)
        .map(|(&i, frame)| FigureShot {
            shot: &opened.case.shots[i],
            reading: &readings.shots[i],
            frame: Some(frame),
            field: frame.extent().field,
        })
        .collect();
    let pairs = pairs_among(&readings.pairs, &indices);
    let options = FigureOptions {
        title: args.title.clone().or_else(|| opened.case.title.clone()),
        layers,
        window: None,
        extent: if args.whole { Extent::Whole } else { Extent::AroundBody },
    };
    let theme = if args.dark { Theme::dark() } else { Theme::light() };
    let page = figure(&opened.case, &shots, &pairs, &options);
    let bytes = page_bytes(&page, &theme, format).map_err(|e| refused(e.to_string()))?;
    let pictures = picture_paths(&opened.path, &opened.case);
    let inputs: Vec<_> = std::iter::once(&args.case).chain(&pictures).map(PathBuf::as_path).collect();
    output::write_result(&bytes, &args.out, &inputs)?;
    Ok(Done::Fully)
}

fn refused(sentence: String) -> Refused {
    Refused(vec![sentence])
}

fn no_such_layer(unknown: &str) -> String {
    let known: Vec<_> = Layer::ALL.into_iter().map(Layer::key).collect();
    format!("--layers: there is no layer “{unknown}”; there are {}, and all", known.join(", "))
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
    let sentence = |id: &String| {
        format!("{}: there is no shot “{id}” in this case; there is {there_is}", opened.path.display())
    };
    Err(Refused(unknown.into_iter().map(sentence).collect()))
}

/// The shots' pictures; a figure without one would show nothing.
fn frames(opened: &Opened, indices: &[usize]) -> Result<Vec<Frame>, Refused> {
    let open = |&i: &usize| -> Result<Frame, String> {
        let shot = &opened.case.shots[i];
        let file = opened.path.display();
        let path =
            picture_path(&opened.path, &shot.image).map_err(|text| format!("{file}: {}: {text}", shot.id))?;
        let opened = Source::open(&path).and_then(|source| source.frame(shot.frame));
        opened.map_err(|e| format!("{file}: {}: {e}", shot.id))
    };
    let mut frames = Vec::new();
    let mut wrong = Vec::new();
    for opened in indices.iter().map(open) {
        match opened {
            Ok(frame) => frames.push(frame),
            Err(sentence) => wrong.push(sentence),
        }
    }
    if wrong.is_empty() { Ok(frames) } else { Err(Refused(wrong)) }
}

/// Whole frames in which words may be readable are not shown without the user's word.
fn in_doubt(opened: &Opened, indices: &[usize], frames: &[Frame]) -> Result<(), Refused> {
    let shots = indices.iter().map(|&i| &opened.case.shots[i]);
    let mut doubts: Vec<String> = shots.zip(frames).filter_map(|(shot, frame)| doubt(shot, frame)).collect();
    if doubts.is_empty() {
        return Ok(());
    }
    doubts.push(
        "Nothing was written. Add covers, or say --as-is once you have looked at the pictures.".to_owned(),
    );
    Err(Refused(doubts))
}

/// The readings of the case, with what is known of the pictures in the figure.
fn readings(case: &Case, indices: &[usize], frames: &[Frame]) -> CaseReadings {
    let picture = |shot: &Shot| {
        let opened = indices.iter().zip(frames).find(|(i, _)| case.shots[**i].id == shot.id);
        opened.map_or(Picture::NotLookedAt, |(_, frame)| Picture::Present {
            extent: frame.extent(),
            digest: Some(frame.digest.clone()),
        })
    };
    read_case(case, picture, None)
}
