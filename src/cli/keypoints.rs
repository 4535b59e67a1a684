//! `keypoints`: the marks of many cases as one open table or as COCO-style JSON, and marks out of such a file.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::cli::ending::{Done, Refused};
use crate::cli::opening::open_cases;
use crate::cli::output::{Paths, Replace, deliver, show, write_result};
use crate::io::case_file;
use crate::io::keypoints::{NamedCase, case_of, coco_text, found_for, of_cases, own_names, table_text};
use crate::io::store::pictures::picture_paths;
use crate::io::store::save::open_case;
use crate::scene::format;

/// Arguments of `keypoints`.
#[derive(Debug, clap::Args)]
pub struct KeypointsArgs {
    /// Case files, whose marks are written.
    #[arg(value_name = "CASE", required_unless_present = "from")]
    cases: Vec<PathBuf>,
    /// The file to write: a table (.csv), or keypoints in the COCO layout (.json); with --from, a case file.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Take marks out of this table or JSON instead.
    #[arg(long, value_name = "TABLE", requires = "out", conflicts_with = "cases")]
    from: Option<PathBuf>,
    /// How others name columns, points and views; TABLE.mapping.json is used where it lies beside the table.
    #[arg(long, value_name = "MAPPING.json", requires = "from")]
    mapping: Option<PathBuf>,
    /// The case of the table to take, where it holds several.
    #[arg(long, value_name = "NAME", requires = "from", conflicts_with = "into")]
    case: Option<String>,
    /// Put the marks into the shots of this case that show the images, and keep everything else of it.
    #[arg(long, value_name = "CASE", requires = "from")]
    into: Option<PathBuf>,
    #[command(flatten)]
    paths: Paths,
    #[command(flatten)]
    replace: Replace,
}

/// Writes the marks of cases, or a case of the marks in a table.
///
/// # Errors
/// One sentence for each thing that stands in the way; nothing is written.
pub fn run(args: &KeypointsArgs, out: &mut dyn Write) -> Result<Done, Refused> {
    match (&args.from, &args.out) {
        (Some(table), Some(file)) => take_in(args, table, file, out),
        (Some(_), None) => Err(Refused(vec!["--out: name the case file to write".to_owned()])),
        (None, _) => give_out(args, out),
    }
}

fn give_out(args: &KeypointsArgs, out: &mut dyn Write) -> Result<Done, Refused> {
    let opened = open_cases(&args.cases)?;
    let as_json = match args.out.as_deref().map(Path::extension) {
        None => false,
        Some(Some(ending)) if ending.eq_ignore_ascii_case("csv") => false,
        Some(Some(ending)) if ending.eq_ignore_ascii_case("json") => true,
        Some(_) => return Err(Refused(vec!["--out: its name must end in .csv or .json".to_owned()])),
    };
    let files: Vec<&Path> = opened.iter().map(|one| one.path.as_path()).collect();
    let names = if args.paths.are_told() {
        files.iter().map(|path| path.to_string_lossy().into_owned()).collect()
    } else {
        own_names(&files)
    };
    let cases = opened.iter().zip(names);
    let cases = cases.map(|(one, name)| NamedCase { name, path: &one.path, case: &one.case });
    let shots = of_cases(&cases.collect::<Vec<_>>());
    let text = if as_json { coco_text(&shots) } else { table_text(&shots) };
    let pictures: Vec<PathBuf> = opened.iter().flat_map(|one| picture_paths(&one.path, &one.case)).collect();
    let inputs: Vec<&Path> = args.cases.iter().chain(&pictures).map(PathBuf::as_path).collect();
    deliver(&text, args.out.as_deref(), &inputs, args.replace, out)?;
    Ok(Done::Fully)
}

fn take_in(args: &KeypointsArgs, table: &Path, file: &Path, out: &mut dyn Write) -> Result<Done, Refused> {
    let mapping = args.mapping.as_deref();
    let (case, mut said) = match &args.into {
        None => {
            let case = case_of(table, mapping, args.case.as_deref())?;
            let points: usize = case.shots.iter().map(|shot| shot.marks.placed().count()).sum();
            let words = counted(points, case.shots.len());
            (case, words)
        }
        Some(into) => {
            let mut case = open_case(into)?.case;
            let found = found_for(table, mapping, &case)?;
            for edit in &found.edits {
                case.apply(edit).map_err(|e| Refused(vec![format!("{}: {e}", into.display())]))?;
            }
            let mut words = counted(found.points, found.shots);
            for image in &found.without_shot {
                words.push_str(&format!("{image}: no shot of the case shows it\n"));
            }
            (case, words)
        }
    };
    let text = case_file::to_text(file, &case)?;
    let inputs: Vec<&Path> = [Some(table), mapping, args.into.as_deref()].into_iter().flatten().collect();
    write_result(text.as_bytes(), file, &inputs, args.replace)?;
    said.push_str(&format!("{}\n", file.display()));
    show(&said, out)?;
    Ok(Done::Fully)
}

fn counted(points: usize, shots: usize) -> String {
    let (points, shots) = (format::count(points, "point", "points"), format::count(shots, "shot", "shots"));
    format!("{points} taken in for {shots}\n")
}
