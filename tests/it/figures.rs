//! Figures as the program writes them: one small golden, and what must hold of every one.
//!
//! To write the golden anew after a change: `STILLMARK_UPDATE=1 cargo test --test it figures`; then look at it. It
//! has one shot with second contours, electrodes and cannula, so every kind of shape is in it.

use std::path::Path;
use std::{fs, io};

use stillmark::case::document::{Case, Shot};
use stillmark::case::frame::{Frame, Samples};
use stillmark::case::readings::{Picture, read_case, read_shot};
use stillmark::cli;
use stillmark::io::case_file;
use stillmark::io::export::svg::png_of;
use stillmark::io::export::{PageFormat, page_bytes};
use stillmark::measure::mark::{Level, MarkKind, Marks, Side, Stage, View};
use stillmark::measure::reading::Field;
use stillmark::scene::figure::{Extent, FigureOptions, FigurePair, FigureShot, figure};
use stillmark::scene::overlay::LayerSet;
use stillmark::scene::page::Page;
use stillmark::scene::shape as scene;
use stillmark::scene::theme::Theme;

/// A frame whose 16-bit values rise from left to right, so that every grey is beneath the lines.
fn frame() -> Frame {
    let (width, height) = (48_u16, 40_u16);
    let values = (0..height).flat_map(|_| (0..width).map(|x| 400 + 1300 * x)).collect();
    Frame {
        width: u32::from(width),
        height: u32::from(height),
        samples: Samples::Gray16(values),
        was_colour: false,
        digest: String::new(),
        warnings: Vec::new(),
        taken: Some("10:42:05".to_owned()),
        facts: Default::default(),
    }
}

fn case() -> Case {
    let marks = Marks::new()
        .with(MarkKind::SuperiorEndPlate, &[(38.0, 9.0), (24.0, 10.5), (9.0, 8.0)])
        .with(MarkKind::InferiorEndPlate, &[(37.5, 30.0), (24.0, 29.0), (8.5, 32.0)])
        .with(MarkKind::PosteriorWall, &[(37.0, 19.5)])
        .with(MarkKind::PosteriorWallSecond, &[(36.0, 9.0), (35.2, 19.5), (35.6, 30.0)])
        .with(MarkKind::Tip, &[(25.5, 20.5)])
        .with(MarkKind::Cannula, &[(47.0, 12.0), (35.0, 17.0)])
        .with(MarkKind::Electrodes, &[(30.0, 19.0), (26.5, 20.2)]);
    let mut shot = Shot::new("a", "secret-folder/secret-name.png", View::Lateral);
    shot.level = Some(Level::L4);
    shot.side = Some(Side::Right);
    shot.stage = Some(Stage::Final);
    shot.mm_per_px = Some(1.2);
    shot.taken = Some("10:42:05".to_owned());
    shot.marks = marks;
    let mut case = Case { title: Some("Demonstration A".to_owned()), ..Case::default() };
    case.operator = Some("secret operator".to_owned());
    case.date = Some("2026-02-03".to_owned());
    case.shots.push(shot);
    case
}

fn page(case: &Case, frame: Option<&Frame>, options: &FigureOptions) -> Page {
    let reading = read_shot(case, 0, |_| Picture::NotLookedAt);
    let shots = [FigureShot { shot: &case.shots[0], reading: &reading, frame, field: Field::Whole }];
    figure(case, &shots, &[], options)
}

fn options() -> FigureOptions {
    FigureOptions {
        title: Some("Demonstration A".to_owned()),
        layers: Some(LayerSet::default()),
        window: None,
        extent: Extent::AroundBody,
    }
}

fn svg(page: &Page) -> io::Result<String> {
    let bytes = page_bytes(page, &Theme::light(), PageFormat::Svg).map_err(io::Error::other)?;
    String::from_utf8(bytes).map_err(io::Error::other)
}

#[test]
fn a_small_figure_is_the_golden() {
    let text = svg(&page(&case(), Some(&frame()), &options())).unwrap();
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/it/golden/figure.svg");
    if std::env::var_os("STILLMARK_UPDATE").is_some() {
        fs::write(&file, &text).unwrap();
    }
    let golden = fs::read_to_string(&file).unwrap();
    assert!(text == golden, "the figure is no longer the golden; see the head of this file");
}

#[test]
fn a_figure_tells_nothing_of_files_and_times() {
    for options in [options(), FigureOptions { layers: None, ..options() }] {
        let page = page(&case(), Some(&frame()), &options);
        let png = page_bytes(&page, &Theme::dark(), PageFormat::Png).unwrap();
        for file in [svg(&page).unwrap().into_bytes(), png] {
            for told in ["secret", "10:42", "2026", env!("CARGO_MANIFEST_DIR")] {
                assert!(!file.windows(told.len()).any(|bytes| bytes == told.as_bytes()), "{told}");
            }
        }
    }
}

/// The PNG specification (ISO/IEC 15948, 11.2.4 and 11.3): beside the critical chunks IHDR, IDAT and IEND there
/// is no other, so neither text nor time.
#[test]
fn a_figures_png_has_no_metadata() {
    let png =
        page_bytes(&page(&case(), Some(&frame()), &options()), &Theme::light(), PageFormat::Png).unwrap();
    let mut at = 8;
    let mut chunks = Vec::new();
    while at + 8 <= png.len() {
        let length = u32::from_be_bytes(png[at..at + 4].try_into().unwrap()) as usize;
        chunks.push(String::from_utf8_lossy(&png[at + 4..at + 8]).into_owned());
        at += 12 + length;
    }
    chunks.dedup();
    assert_eq!(chunks, ["IHDR", "IDAT", "IEND"]);
}

#[test]
fn the_same_figure_has_the_same_bytes() {
    let write =
        |format| page_bytes(&page(&case(), Some(&frame()), &options()), &Theme::dark(), format).unwrap();
    for format in [PageFormat::Svg, PageFormat::Png] {
        assert!(write(format) == write(format), "{format:?}");
    }
}

#[test]
fn the_caution_stands_in_every_figure() {
    // Words are outlines, so what is looked for is the page's own text.
    let words = |page: &Page| {
        let theme = Theme::light();
        let drawn = page.drawn(&theme);
        let texts = drawn.iter().flat_map(|part| &part.primitives).filter_map(|primitive| match primitive {
            stillmark::scene::primitive::Primitive::Words { words, .. } => Some(words.as_str()),
            _ => None,
        });
        texts.collect::<Vec<_>>().join(" ")
    };
    let clean = FigureOptions { title: None, layers: None, ..options() };
    for (how, frame) in [(options(), Some(frame())), (clean, Some(frame())), (options(), None)] {
        assert!(words(&page(&case(), frame.as_ref(), &how)).contains("it does not guide a needle"));
    }
    let mut blocked = case();
    blocked.shots[0].marks.set(MarkKind::SuperiorEndPlate, Vec::new());
    assert!(words(&page(&blocked, Some(&frame()), &options())).contains("No reading."));
}

/// A folder with the case and its picture, and the command line run in it: status, and what was said.
struct Folder(tempfile::TempDir);

impl Folder {
    fn new() -> io::Result<Self> {
        let folder = tempfile::tempdir()?;
        let mut case = case();
        case.shots[0].image = "a.png".to_owned();
        let file = folder.path().join("a.case.json");
        let text = case_file::to_text(&file, &case).map_err(io::Error::other)?;
        fs::write(&file, text)?;
        let Samples::Gray16(values) = frame().samples else { return Err(io::Error::other("16 bits")) };
        let picture = scene::Picture { width: 48, height: 40, greys: scene::Greys::Sixteen(values) };
        fs::write(folder.path().join("a.png"), png_of(&picture).map_err(io::Error::other)?)?;
        Ok(Self(folder))
    }

    fn path(&self, name: &str) -> String {
        self.0.path().join(name).to_string_lossy().into_owned()
    }

    fn run(&self, shots: &[&str], out: &str, more: &[&str]) -> (u8, String) {
        let (case, out) = (self.path("a.case.json"), self.path(out));
        let mut arguments = vec!["stillmark-cli", "figure", &case];
        arguments.extend(shots);
        arguments.extend(["--out", &out]);
        arguments.extend(more);
        let (mut said, mut wrong) = (Vec::new(), Vec::new());
        let status = cli::run(arguments.iter().map(Into::into), &mut said, &mut wrong);
        (status, String::from_utf8_lossy(&wrong).into_owned())
    }
}

#[test]
fn the_command_line_writes_what_the_library_draws() {
    let folder = Folder::new().unwrap();
    assert_eq!(folder.run(&["a"], "figure.svg", &[]), (0, String::new()));
    let written = fs::read_to_string(folder.path("figure.svg")).unwrap();
    assert_eq!(written, svg(&page(&case(), Some(&frame()), &options())).unwrap());
    assert_eq!(folder.run(&["a", "a"], "figure.png", &["--clean", "--dark", "--whole"]), (0, String::new()));
    let png = fs::read(folder.path("figure.png")).unwrap();
    assert_eq!(&png[1..4], b"PNG");
}

#[test]
fn what_cannot_be_drawn_is_refused_in_a_sentence_and_nothing_is_written() {
    let folder = Folder::new().unwrap();
    let before = fs::read_dir(folder.0.path()).unwrap().count();
    let refused: [(&[&str], &str, &[&str], &str); 6] = [
        (&["a"], "figure.pdf", &[], "later version"),
        (&["a"], "figure.doc", &[], ".png or .svg"),
        (&["b"], "figure.svg", &[], "there is no shot “b” in this case; there is a"),
        (&["a"], "figure.svg", &["--layers", "borders,nose"], "there is no layer “nose”"),
        (&["a"], "figure.svg", &["--layers", "tip", "--clean"], "cannot be used with"),
        (&["a"], "a.png", &[], "would replace what it is made from"),
    ];
    for (shots, out, more, sentence) in refused {
        let (status, said) = folder.run(shots, out, more);
        assert_eq!(status, 2, "{said}");
        assert!(said.contains(sentence), "{said}");
    }
    fs::remove_file(folder.path("a.png")).unwrap();
    let (status, said) = folder.run(&["a"], "figure.svg", &[]);
    assert!(status == 2 && said.contains("a.png") && said.lines().count() == 1, "{said}");
    assert_eq!(fs::read_dir(folder.0.path()).unwrap().count(), before - 1);
}

/// Frames of simulated shots, as they would be opened.
fn frames_of(shots: &[stillmark::phantom::series::SimulatedShot]) -> Vec<Frame> {
    let frame = |shot: &stillmark::phantom::series::SimulatedShot| {
        let picture = shot.picture(2);
        Frame {
            width: picture.side,
            height: picture.side,
            samples: Samples::Gray16(picture.samples),
            ..frame()
        }
    };
    shots.iter().map(frame).collect()
}

/// Writes figures of simulated cases in both modes into a folder of the user's, to be looked at:
/// `STILLMARK_LOOK=folder cargo test --test it figures_to_look_at`.
#[test]
fn figures_to_look_at() {
    let Some(folder) = std::env::var_os("STILLMARK_LOOK").map(std::path::PathBuf::from) else { return };
    fs::create_dir_all(&folder).unwrap();
    for (series, name) in [
        (stillmark::phantom::series::demonstration(), "demonstration"),
        (stillmark::phantom::series::drawn(7), "seven"),
    ] {
        let case = &series.case;
        let frames = frames_of(&series.shots);
        let read = read_case(case, |_| Picture::NotLookedAt, None);
        let shot = |i: usize| FigureShot {
            shot: &case.shots[i],
            reading: &read.shots[i],
            frame: Some(&frames[i]),
            field: Field::Whole,
        };
        let all: Vec<_> = (0..frames.len()).map(shot).collect();
        let mut figures: Vec<(String, Vec<usize>)> =
            vec![("all".to_owned(), (0..all.len().min(6)).collect())];
        let ap_or_pedicle = (0..all.len()).filter(|&i| case.shots[i].view != View::Lateral);
        figures.extend(ap_or_pedicle.map(|i| (case.shots[i].id.clone(), vec![i])));
        figures.extend(
            read.pairs.iter().map(|p| (format!("pair-{}", case.shots[p.lateral].id), vec![p.lateral, p.ap])),
        );
        for (what, places) in figures {
            let shots: Vec<_> = places.iter().map(|&i| all[i]).collect();
            let place = |i: usize| places.iter().position(|&p| p == i);
            let pairs: Vec<_> = read
                .pairs
                .iter()
                .filter_map(|p| {
                    Some(FigurePair { lateral: place(p.lateral)?, ap: place(p.ap)?, reading: &p.reading })
                })
                .collect();
            for (how, layers) in [("", LayerSet::default()), ("-every", LayerSet::all())] {
                for (mode, theme) in [("dark", Theme::dark()), ("light", Theme::light())] {
                    let options = FigureOptions { layers: Some(layers), ..options() };
                    // Small enough to be written soon; `figure` itself keeps every pixel.
                    let page = Page { raster: 1.5, ..figure(case, &shots, &pairs, &options) };
                    let bytes = page_bytes(&page, &theme, PageFormat::Png).unwrap();
                    fs::write(folder.join(format!("figure-{name}-{what}{how}-{mode}.png")), bytes).unwrap();
                }
            }
        }
    }
}
