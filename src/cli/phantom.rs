//! `phantom`: simulated shots with their true position.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::cli::aside::Aside;
use crate::cli::ending::{Done, Refused};
use crate::cli::output;
use crate::io::simulated::{truth_of, write_series};
use crate::io::store::practice::scores_text;
use crate::io::store::save::open_case;
use crate::measure::mark::{Level, Side, Stage, View};
use crate::phantom::anatomy::tool::CannulaTool;
use crate::phantom::exercise::{Difficulty, exercise};
use crate::phantom::imaging::greys::Setting;
use crate::phantom::look::{Look, SIDE};
use crate::phantom::picture::Bits;
use crate::phantom::series::{Series, WantedShots, drawn};
use crate::phantom::size::LUMBAR;
use crate::scene::repeatability::practice::{habits_table, marks_table, places_table, readings_table};
use crate::scene::words::caution;
use crate::study::practice::{Score, habits, score};

/// Arguments of `phantom`.
#[derive(Debug, clap::Args)]
pub struct PhantomArgs {
    /// Seed of the simulation; the same seed gives the same files.
    #[arg(long, value_name = "N")]
    seed: u64,
    /// Only this view: lateral, ap or pedicle.
    #[arg(long, value_name = "VIEW", value_parser = view)]
    view: Option<View>,
    /// The level, L1 to L5; drawn from the seed if it is not given.
    #[arg(long, value_name = "LEVEL", value_parser = level)]
    level: Option<Level>,
    /// Only this stage: docking, pedicle, posterior_wall, stylet or final.
    #[arg(long, value_name = "STAGE", value_parser = stage)]
    stage: Option<Stage>,
    /// The entry side, left or right; drawn from the seed if it is not given.
    #[arg(long, value_name = "SIDE", value_parser = side)]
    side: Option<Side>,
    #[command(flatten)]
    pose: PoseArgs,
    #[command(flatten)]
    picture: PictureArgs,
    /// One practice shot, as the window simulates it: clear, ordinary or hard. Needs --view.
    #[arg(long, value_name = "DIFFICULTY", value_parser = difficulty, requires = "view", conflicts_with_all = ["level", "stage", "side"])]
    practice: Option<Difficulty>,
    /// A new or empty folder for the images, the case file and the ground truth.
    #[arg(long, value_name = "FOLDER", required_unless_present = "score")]
    out: Option<PathBuf>,
    /// Instead of writing images: compare the marks of this case file with the ground truth of the shots that the other
    /// arguments simulate. Shots are matched by id.
    #[arg(long, value_name = "CASE", conflicts_with = "out")]
    score: Option<PathBuf>,
    /// The scores as JSON.
    #[arg(long, requires = "score")]
    json: bool,
}

/// Beam geometry; what is not given is drawn from the seed.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Beam geometry")]
struct PoseArgs {
    /// Axial rotation of the beam through the body center, −60 to 60 degrees.
    #[arg(long, value_name = "DEGREES", allow_negative_numbers = true, value_parser = within(-60.0, 60.0))]
    turn: Option<f64>,
    /// Cranio-caudal angulation of that beam, −60 to 60 degrees.
    #[arg(long, value_name = "DEGREES", allow_negative_numbers = true, value_parser = within(-60.0, 60.0))]
    tilt: Option<f64>,
    /// Rotation of the image, −180 to 180 degrees.
    #[arg(long, value_name = "DEGREES", allow_negative_numbers = true, value_parser = within(-180.0, 180.0))]
    roll: Option<f64>,
    /// Distance of the body center to the right of the beam axis, −100 to 100 mm.
    #[arg(long, value_name = "MM", allow_negative_numbers = true, value_parser = within(-100.0, 100.0))]
    right: Option<f64>,
    /// Distance of the body center below the beam axis, −100 to 100 mm.
    #[arg(long, value_name = "MM", allow_negative_numbers = true, value_parser = within(-100.0, 100.0))]
    down: Option<f64>,
    /// Source to body, 500 to 1500 mm.
    #[arg(long, value_name = "MM", value_parser = within(500.0, 1500.0))]
    source_to_body: Option<f64>,
    /// Source to detector, 700 to 2000 mm, more than source to body.
    #[arg(long, value_name = "MM", value_parser = within(700.0, 2000.0))]
    source_to_detector: Option<f64>,
    /// Size of a pixel in the plane of the body, 0.05 to 1 mm.
    #[arg(long, value_name = "MM", value_parser = within(0.05, 1.0))]
    mm_per_px: Option<f64>,
    /// Flip the images horizontally.
    #[arg(long)]
    mirrored: bool,
}

/// Image formation; what has no default is drawn from the seed.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Image formation")]
struct PictureArgs {
    /// Pixels per side, 128 to 4096.
    #[arg(long, value_name = "PIXELS", default_value_t = SIDE, value_parser = clap::value_parser!(u32).range(128..=4096))]
    size: u32,
    /// Bits per sample, 8 or 16.
    #[arg(long, value_name = "BITS", default_value = "16", value_parser = bits)]
    bits: Bits,
    /// The field: round or square.
    #[arg(long, value_name = "FIELD", default_value = "round", value_parser = ["round", "square"])]
    field: String,
    /// Dose, 1 for an ordinary still; 0.02 to 50.
    #[arg(long, value_name = "TIMES", value_parser = within(0.02, 50.0))]
    dose: Option<f64>,
    /// Tube voltage, 50 to 120 kV.
    #[arg(long, value_name = "KV", value_parser = within(50.0, 120.0))]
    kv: Option<f64>,
    /// Polarity of the display: dark or bright bone.
    #[arg(long, value_name = "SETTING", value_parser = setting)]
    setting: Option<Setting>,
    /// Instrument beyond the cannula at the stages stylet and final: curved_stylet, radiolucent_stylet or probe.
    #[arg(long, value_name = "TOOL", value_parser = tool)]
    tool: Option<CannulaTool>,
    /// Leave out the burned-in text.
    #[arg(long)]
    without_words: bool,
}

impl PhantomArgs {
    /// What is asked of the pictures.
    fn look(&self) -> Look {
        let (pose, picture) = (&self.pose, &self.picture);
        let aside = pose.right.is_some() || pose.down.is_some();
        Look {
            side_px: picture.size,
            square: picture.field == "square",
            bits: picture.bits,
            words: !picture.without_words,
            kv: picture.kv,
            dose: picture.dose,
            setting: picture.setting,
            tool: picture.tool,
            turn_deg: pose.turn,
            tilt_deg: pose.tilt,
            roll_deg: pose.roll,
            off_axis: aside.then(|| [pose.right.unwrap_or(0.0), pose.down.unwrap_or(0.0)]),
            source_to_body: pose.source_to_body,
            source_to_detector: pose.source_to_detector,
            mm_per_px: pose.mm_per_px,
            mirrored: pose.mirrored,
        }
    }
}

/// Writes the series and names its files.
///
/// # Errors
/// One sentence, if the folder already holds something or cannot be written to.
pub fn run(args: &PhantomArgs, out: &mut dyn Write, aside: &mut Aside<'_>) -> Result<Done, Refused> {
    let wanted = WantedShots { level: args.level, side: args.side, stage: args.stage, view: args.view };
    let series = match (args.practice, args.view) {
        (Some(difficulty), Some(view)) => exercise(args.seed, view, difficulty, args.picture.size),
        _ => drawn(args.seed, wanted, &args.look()),
    };
    if series.shots.is_empty() {
        return Err(Refused(vec!["An en face pedicle view is simulated at the docking stage only; omit --stage or use --stage docking.".to_owned()]));
    }
    if let Some(shot) = series.shots.iter().find(|s| s.pose.source_to_detector <= s.pose.source_to_body) {
        return Err(Refused(vec![format!(
            "The detector would be {:.0} mm from the source, closer than the body at {:.0} mm; use a larger --source-to-detector.",
            shot.pose.source_to_detector, shot.pose.source_to_body
        )]));
    }
    if let Some(case) = &args.score {
        return scored(case, &series, args.json, out);
    }
    let folder = args.out.clone().unwrap_or_default();
    let stem = format!("simulated-{}", args.seed);
    let paths = {
        let mut progress = aside.progress("Simulating images");
        write_series(&folder, &series, &stem, &mut |done, of| progress.at(done, of))?
    };
    let names: String = paths.iter().map(|path| format!("{}\n", path.display())).collect();
    output::show(&names, out)?;
    Ok(Done::Fully)
}

/// Holds the marks of a case against the truth of the series and says how far they are off.
fn scored(path: &Path, series: &Series, json: bool, out: &mut dyn Write) -> Result<Done, Refused> {
    let case = open_case(path)?.case;
    let found: Vec<(String, Score)> = series
        .shots
        .iter()
        .filter_map(|simulated| {
            let shot = case.shot(&simulated.id)?;
            let truth = truth_of(simulated);
            (shot.view == simulated.pose.view && !shot.marks.is_empty())
                .then(|| (shot.id.clone(), score(&case, shot, &shot.marks, &truth, None)))
        })
        .collect();
    if found.is_empty() {
        let ids: Vec<&str> = series.shots.iter().map(|shot| shot.id.as_str()).collect();
        return Err(Refused(vec![format!(
            "{}: it has no marked shot of this simulation ({}); use the arguments with which its images were made",
            path.display(),
            ids.join(", ")
        )]));
    }
    let text = if json { scores_text(&found) } else { for_people(&found) };
    output::show(&text, out)?;
    let all = found.iter().all(|(_, score)| score.readings.iter().all(|reading| reading.read.is_some()));
    Ok(if all { Done::Fully } else { Done::WithoutSomeReading })
}

fn for_people(found: &[(String, Score)]) -> String {
    let mut lines = Vec::new();
    for (id, score) in found {
        lines.push(id.clone());
        for (heads, rows) in [readings_table(score), places_table(score)] {
            lines.extend(output::columns(&heads, &rows));
            lines.push(String::new());
        }
    }
    if found.len() > 1 {
        let scores: Vec<Score> = found.iter().map(|(_, score)| score.clone()).collect();
        let habits = habits(&scores);
        lines.push("All shots together".to_owned());
        for (heads, rows) in [habits_table(&habits), marks_table(&habits)] {
            lines.extend(output::columns(&heads, &rows));
            lines.push(String::new());
        }
    }
    lines.push(caution::SHORT.to_owned());
    lines.push(String::new());
    lines.join("\n")
}

fn difficulty(name: &str) -> Result<Difficulty, String> {
    let known = Difficulty::ALL.into_iter().find(|difficulty| difficulty.key() == name);
    known.ok_or_else(|| "use clear, ordinary or hard".to_owned())
}

fn within(low: f64, high: f64) -> impl Fn(&str) -> Result<f64, String> + Clone {
    move |text| {
        let number = text.parse::<f64>().ok().filter(|x| (low..=high).contains(x));
        number.ok_or_else(|| format!("enter a number from {low} to {high}"))
    }
}

fn bits(text: &str) -> Result<Bits, String> {
    match text {
        "8" => Ok(Bits::Eight),
        "16" => Ok(Bits::Sixteen),
        _ => Err("use 8 or 16".to_owned()),
    }
}

fn setting(name: &str) -> Result<Setting, String> {
    match name {
        "dark" => Ok(Setting::Dark),
        "bright" => Ok(Setting::Bright),
        _ => Err("use dark or bright".to_owned()),
    }
}

fn tool(name: &str) -> Result<CannulaTool, String> {
    match name {
        "curved_stylet" => Ok(CannulaTool::CurvedStylet),
        "radiolucent_stylet" => Ok(CannulaTool::RadiolucentStylet),
        "probe" => Ok(CannulaTool::Probe),
        _ => Err("use curved_stylet, radiolucent_stylet or probe".to_owned()),
    }
}

fn view(name: &str) -> Result<View, String> {
    View::ALL
        .into_iter()
        .find(|view| view.key() == name)
        .ok_or_else(|| "use lateral, ap or pedicle".to_owned())
}

fn level(name: &str) -> Result<Level, String> {
    LUMBAR.into_iter().find(|level| level.name() == name).ok_or_else(|| "use L1, L2, L3, L4 or L5".to_owned())
}

fn stage(name: &str) -> Result<Stage, String> {
    let known = Stage::ALL.into_iter().find(|stage| stage.key() == name);
    known.ok_or_else(|| "use docking, pedicle, posterior_wall, stylet or final".to_owned())
}

fn side(name: &str) -> Result<Side, String> {
    Side::ALL.into_iter().find(|side| side.key() == name).ok_or_else(|| "use left or right".to_owned())
}
