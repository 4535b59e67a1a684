//! `straighten`: a photo of a screen, by the four corners of the screen or by its round field, as a new image beside the
//! original.

use std::io::Write;
use std::path::PathBuf;

use crate::case::image::straighten::{ScreenOutline, straightened};
use crate::cli::ending::{Done, Refused};
use crate::cli::output::{self, Replace};
use crate::geom::point::Point;
use crate::io::export::frame::png;
use crate::io::import::source::Source;

/// Arguments of `straighten`.
#[derive(Debug, clap::Args)]
pub struct StraightenArgs {
    /// Image file of the photo.
    #[arg(value_name = "IMAGE")]
    file: PathBuf,
    /// The corners of the screen in pixels: upper left, upper right, lower right, lower left.
    #[arg(long, value_name = "X,Y", num_args = 4, required_unless_present = "field", value_parser = place, allow_hyphen_values = true)]
    corners: Vec<Point>,
    /// Width over height of the screen, such as 1.333; without it, the sides in the photo tell, which is inexact where
    /// the photo was taken from far aside.
    #[arg(long, value_name = "RATIO", conflicts_with = "field")]
    aspect: Option<f64>,
    /// Points on the edge of the round field in pixels, at least five, all around it.
    #[arg(long, value_name = "X,Y", num_args = 1.., conflicts_with = "corners", value_parser = place)]
    field: Vec<Point>,
    /// The center of the round field in pixels, where it can be seen; without it the field is stretched to a circle, and
    /// what perspective does within it stays.
    #[arg(long, value_name = "X,Y", requires = "field", value_parser = place, allow_hyphen_values = true)]
    center: Option<Point>,
    /// The frame of a file with several, from 0.
    #[arg(long, value_name = "N", default_value_t = 0)]
    frame: u32,
    /// The new image, a PNG.
    #[arg(long, value_name = "FILE.png")]
    out: PathBuf,
    #[command(flatten)]
    replace: Replace,
}

fn place(text: &str) -> Result<Point, String> {
    let number = |part: &str| part.trim().parse::<f64>().ok().filter(|x| x.is_finite());
    text.split_once(',')
        .and_then(|(x, y)| Some(Point::new(number(x)?, number(y)?)))
        .ok_or_else(|| "write a position as x,y in pixels".to_owned())
}

/// Writes the straightened image; the photo stays as it is.
///
/// # Errors
/// One sentence, if the photo cannot be read, the points enclose no screen, or the image cannot be written.
pub fn run(args: &StraightenArgs, out: &mut dyn Write) -> Result<Done, Refused> {
    let photo = Source::open(&args.file)?.frame(args.frame)?;
    let refused = |why: String| Refused(vec![format!("{}: {why}", args.file.display())]);
    let outline = if args.field.is_empty() {
        let corners = <[Point; 4]>::try_from(args.corners.as_slice());
        let corners = corners.map_err(|_count| refused("--corners: enter four positions".to_owned()))?;
        ScreenOutline::Corners { corners, aspect: args.aspect }
    } else {
        ScreenOutline::Field { edge: args.field.clone(), centre: args.center }
    };
    let straight = straightened(&photo, &outline).map_err(refused)?;
    let bytes = png(&straight).map_err(|e| refused(e.to_string()))?;
    output::write_result(&bytes, &args.out, &[&args.file], args.replace)?;
    let said = format!("{}: {} × {} pixels\n", args.out.display(), straight.width, straight.height);
    output::show(&said, out)?;
    Ok(Done::Fully)
}
