//! `curve`: for teaching, where a curved stylet of a given shape would run from the cannula's mouth.

use std::io::Write;
use std::path::PathBuf;

use crate::case::document::Shot;
use crate::case::readings::read_shot;
use crate::cli::ending::{Done, Refused};
use crate::cli::figure::chosen;
use crate::cli::output::{self, Replace};
use crate::geom::point::Point;
use crate::io::export::change;
use crate::io::store::pictures::picture_of;
use crate::io::store::save::open_case;
use crate::measure::ahead::{Stylet, ahead, seen_radius};
use crate::measure::mark::View;
use crate::scene::format;
use crate::scene::tip_path::curve::{self, next_lateral};
use crate::scene::words::caution;

/// Arguments of `curve`.
#[derive(Debug, clap::Args)]
pub struct CurveArgs {
    /// Case file.
    #[arg(value_name = "CASE")]
    case: PathBuf,
    /// Id of a lateral shot with the cannula marked.
    #[arg(value_name = "SHOT")]
    shot: String,
    /// Radius of the stylet curve in millimeters.
    #[arg(long, value_name = "MM", required_unless_present = "through")]
    radius_mm: Option<f64>,
    /// Measure the radius along a visible curve instead: three or more points in pixels, such as 410,300 395,312 384,330.
    #[arg(long, value_name = "X,Y", num_args = 3.., value_parser = place, conflicts_with = "radius_mm", allow_hyphen_values = true)]
    through: Vec<(f64, f64)>,
    /// How far it bends, in degrees.
    #[arg(long, value_name = "DEGREES")]
    bend_deg: f64,
    /// Rotation about the cannula axis: 0 bends toward the inferior endplate, 180 toward the superior endplate.
    #[arg(long, value_name = "DEGREES", default_value_t = 0.0, allow_hyphen_values = true)]
    turn_deg: f64,
    /// Angle of the cannula out of the image plane; it then appears foreshortened.
    #[arg(long, value_name = "DEGREES", default_value_t = 0.0, allow_hyphen_values = true)]
    lean_deg: f64,
    /// Everything, as JSON.
    #[arg(long)]
    json: bool,
    /// Write the result to this file.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    #[command(flatten)]
    replace: Replace,
}

fn place(text: &str) -> Result<(f64, f64), String> {
    let number = |part: &str| part.trim().parse::<f64>().ok().filter(|x| x.is_finite());
    text.split_once(',')
        .and_then(|(x, y)| number(x).zip(number(y)))
        .ok_or_else(|| "write a position as x,y in pixels".to_owned())
}

/// Works out the course and delivers it.
///
/// # Errors
/// One sentence, if the shot or the shape cannot be used.
pub fn run(args: &CurveArgs, out: &mut dyn Write) -> Result<Done, Refused> {
    let opened = open_case(&args.case)?;
    let index = chosen(&opened, std::slice::from_ref(&args.shot))?[0];
    let shot = &opened.case.shots[index];
    let refused = |text: &str| Refused(vec![format!("{}: {}: {text}", args.case.display(), args.shot)]);
    if !shot.shows(View::Lateral) {
        return Err(refused("the curve is drawn on a lateral shot; select a lateral shot"));
    }
    if shot.draft {
        return Err(refused("its marks are a draft; confirm them first"));
    }
    let stylet = |radius_mm: f64| Stylet {
        radius_mm,
        bend_deg: args.bend_deg,
        turn_deg: args.turn_deg,
        lean_deg: args.lean_deg,
    };
    let drawn = |radius_mm: f64| {
        let stylet = stylet(radius_mm);
        if let Some(why) = stylet.fault() {
            return Err(refused(why));
        }
        ahead(&shot.marks, shot.mm_per_px, &stylet).map_err(|why| refused(&why))
    };
    let (radius_mm, circle) = match args.radius_mm {
        Some(radius) => (radius, None),
        None => {
            // The scale first, which may be the typical body's.
            let scale = drawn(30.0)?.mm_per_px;
            let points: Vec<Point> = args.through.iter().map(|&(x, y)| Point::new(x, y)).collect();
            let (radius, circle) = seen_radius(&points, scale).ok_or_else(|| {
                refused("the positions lie on a straight line, so they have no radius; enter positions along the curve")
            })?;
            (radius, Some(circle))
        }
    };
    let found = drawn(radius_mm)?;
    let text = if args.json {
        change::curve_text(&shot.id, radius_mm, circle, &found)
    } else {
        let mut lines = vec![format!("{}: a stylet of radius {}", shot.id, format::mm(radius_mm))];
        let next = next_lateral(&opened.case, index).map(|at| {
            let picture = |shot: &Shot| picture_of(&opened.path, shot).picture;
            (opened.case.shots[at].id.as_str(), read_shot(&opened.case, at, picture))
        });
        let next = next.as_ref().map(|(id, reading)| (*id, reading));
        lines.extend(curve::lines(&found, next).iter().map(|line| format!("  {line}")));
        lines.extend([String::new(), caution::SHORT.to_owned(), String::new()]);
        lines.join("\n")
    };
    output::deliver(&text, args.out.as_deref(), &[args.case.as_path()], args.replace, out)?;
    Ok(Done::Fully)
}
