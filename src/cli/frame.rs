//! `frame`: one frame of a picture's file, its samples and what the file says of them; or several of a film, as images or
//! as the shots of a new case.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::app::files::add_images::shot_of;
use crate::app::work::effect::FoundImage;
use crate::case::document::Case;
use crate::case::document::frame_shots::frame_shots;
use crate::case::image::frame_choice::FrameChoice;
use crate::cli::ending::{Done, Refused};
use crate::cli::output::{self, Replace};
use crate::io::case_file;
use crate::io::export::frame::{facts_text, png};
use crate::io::import::source::Source;
use crate::scene::format;

/// Arguments of `frame`.
#[derive(Debug, clap::Args)]
pub struct FrameArgs {
    /// Image file: PNG, JPEG, TIFF, BMP, WebP, GIF, PNM, AVI or DICOM.
    file: PathBuf,
    /// Frame number, from 0.
    #[arg(long, value_name = "N", default_value_t = 0)]
    frame: u32,
    /// Several frames of a film, from 0: all, FIRST-LAST, or either with /N for every nth, such as all/5.
    #[arg(long, value_name = "CHOICE", conflicts_with = "frame")]
    frames: Option<FrameChoice>,
    /// With --frames: write a new case with a shot of each of these frames.
    #[arg(long, value_name = "FILE.case.json", requires = "frames")]
    case: Option<PathBuf>,
    /// Write the stored samples to this PNG, 8 or 16 bits, and print nothing; with --frames, to PNGs in this folder,
    /// numbered from 1 as in the window.
    #[arg(long, value_name = "FILE.png")]
    out: Option<PathBuf>,
    #[command(flatten)]
    replace: Replace,
}

/// Prints what the file says of a frame as JSON, or writes its samples, or those of several frames.
///
/// # Errors
/// One sentence, if the file or a frame cannot be read, or the result cannot be written.
pub fn run(args: &FrameArgs, out: &mut dyn Write) -> Result<Done, Refused> {
    let source = Source::open(&args.file)?;
    if let Some(choice) = args.frames {
        return several(args, &source, choice, out);
    }
    let frame = source.frame(args.frame)?;
    match &args.out {
        Some(file) => {
            let bytes = png(&frame).map_err(|e| Refused(vec![e.to_string()]))?;
            output::write_result(&bytes, file, &[&args.file], args.replace)?;
        }
        None => output::show(&facts_text(&frame, args.frame, &source.coding()), out)?,
    }
    Ok(Done::Fully)
}

fn several(
    args: &FrameArgs,
    source: &Source,
    choice: FrameChoice,
    out: &mut dyn Write,
) -> Result<Done, Refused> {
    let refused = |why: String| Refused(vec![format!("{}: {why}", args.file.display())]);
    if args.out.is_none() && args.case.is_none() {
        return Err(refused(
            "--frames needs --out with a folder, --case with a case file, or both".to_owned(),
        ));
    }
    let frames = choice.of(source.frames()).map_err(refused)?;
    // All are made before the first is written, so that a film that breaks off leaves nothing.
    let case = args.case.as_deref().map(|file| {
        let case = case_of(args, source, file, &frames)?;
        Ok::<_, Refused>((file, case_file::to_text(file, &case)?, case.shots.len()))
    });
    let case = case.transpose()?;
    let images = args.out.as_deref().map(|folder| images(args, source, folder, &frames)).transpose()?;
    let mut said = String::new();
    // The case first: it is the one that may stand in the way, and is of use without the images.
    if let Some((file, text, shots)) = case {
        output::write_result(text.as_bytes(), file, &[&args.file], args.replace)?;
        said.push_str(&format!("{}: {}\n", file.display(), format::count(shots, "shot", "shots")));
    }
    if let (Some(folder), Some(images)) = (&args.out, images) {
        std::fs::create_dir_all(folder)
            .map_err(|e| Refused(vec![format!("{}: cannot be made: {e}", folder.display())]))?;
        for (path, bytes) in &images {
            output::write_result(bytes, path, &[&args.file], args.replace)?;
        }
        said.push_str(&format!("{}: {}\n", folder.display(), format::count(images.len(), "frame", "frames")));
    }
    output::show(&said, out)?;
    Ok(Done::Fully)
}

/// The frames as images, each with the name it gets in the folder.
fn images(
    args: &FrameArgs,
    source: &Source,
    folder: &Path,
    frames: &[u32],
) -> Result<Vec<(PathBuf, Vec<u8>)>, Refused> {
    let digits = source.frames().to_string().len();
    let stem = args.file.file_stem().unwrap_or_default().to_string_lossy();
    let mut images = Vec::new();
    source.each_frame(frames, &mut |index, frame| {
        let name = format!("{stem}-frame-{:0digits$}.png", index + 1);
        images.push((folder.join(name), png(&frame)));
    })?;
    let refused = |why: String| Refused(vec![format!("{}: {why}", args.file.display())]);
    let made = images.into_iter().map(|(path, bytes)| Ok((path, bytes.map_err(|e| refused(e.to_string()))?)));
    made.collect()
}

/// A case with a shot of each of these frames, whose view nobody has set yet.
fn case_of(args: &FrameArgs, source: &Source, file: &Path, frames: &[u32]) -> Result<Case, Refused> {
    let found = FoundImage {
        path: args.file.clone(),
        digest: Some(source.digest().to_owned()),
        taken: source.taken(),
        frames: source.frames(),
    };
    let mut case = Case::default();
    let mut shot = shot_of(&case, Some(file), None, found);
    shot.frame = frames.first().copied().unwrap_or(0);
    let id = shot.id.clone();
    case.shots = vec![shot].into();
    for edit in frame_shots(&case, &id, frames) {
        case.apply(&edit).map_err(|e| Refused(vec![format!("{}: {e}", file.display())]))?;
    }
    Ok(case)
}
