//! Figures as the program writes them: small goldens, and what must hold of every one.
//!
//! To write the goldens anew after a change: `STILLMARK_UPDATE=1 cargo test --test it figures`; then look at them.
//! Their shots have second contours, electrodes and cannula, so every kind of shape is in them.

use std::path::Path;
use std::{fs, io};

use stillmark::align::softness::soft_marks;
use stillmark::case::document::figure_spec::{FigureKind, FigureSpec, FigureWidth};
use stillmark::case::document::{Case, Shot};
use stillmark::case::image::frame::{Frame, Samples};
use stillmark::case::readings::{Picture, read_case, read_shot};
use stillmark::cli;
use stillmark::io::case_file;
use stillmark::io::export::png::grey_png;
use stillmark::io::export::{PageFormat, page_bytes};
use stillmark::measure::mark::{Level, MarkKind, Marks, Side, Stage, View};
use stillmark::measure::reading::Field;
use stillmark::phantom::picture::Bits;
use stillmark::scene::drawing::shape as scene;
use stillmark::scene::drawing::theme::{Ground, Theme};
use stillmark::scene::figure::asked::FigureStyle;
use stillmark::scene::figure::{Extent, FigureOptions, FigureShot, figure, pairs_among};
use stillmark::scene::overlay::{Layer, LayerSet};
use stillmark::scene::page::{Page, PagePart};

/// A frame whose 16-bit values rise from left to right, so that every grey is beneath the lines.
fn frame() -> Frame {
    let (width, height) = (48_u16, 40_u16);
    let values = (0..height).flat_map(|_| (0..width).map(|x| 400 + 1300 * x)).collect();
    Frame {
        width: u32::from(width),
        height: u32::from(height),
        samples: Samples::Gray16(values),
        was_colour: false,
        digest: String::new().into(),
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

/// The AP that belongs to it, and one down the pedicle.
fn whole_case() -> Case {
    let mut case = case();
    let like = |id: &str, view, marks| {
        let mut shot = case.shots[0].clone();
        shot.id = id.to_owned();
        shot.view = view;
        shot.marks = marks;
        shot
    };
    let ap = Marks::new()
        .with(MarkKind::SuperiorEndPlate, &[(8.0, 9.0), (24.0, 10.2), (40.0, 8.5)])
        .with(MarkKind::InferiorEndPlate, &[(7.5, 31.0), (24.0, 29.5), (40.5, 30.5)])
        .with(MarkKind::RightWall, &[(9.0, 20.0)])
        .with(MarkKind::LeftWall, &[(39.2, 20.0)])
        .with(MarkKind::SuperiorEndPlateSecond, &[(8.2, 10.4), (24.0, 11.8), (39.8, 10.0)])
        .with(MarkKind::RightPedicle, &[(9.5, 16.0), (16.0, 16.0)])
        .with(MarkKind::LeftPedicle, &[(38.5, 15.8), (32.0, 15.8)])
        .with(MarkKind::SpinousProcess, &[(22.0, 27.0), (27.0, 27.0)])
        .with(MarkKind::Cannula, &[(2.0, 8.0), (13.0, 17.0)])
        .with(MarkKind::Electrodes, &[(18.5, 18.8), (21.5, 20.0)])
        .with(MarkKind::Tip, &[(22.5, 20.4)]);
    let pedicle = Marks::new()
        .with(MarkKind::Pedicle, &[(24.5, 6.0), (23.5, 33.0), (33.0, 20.0), (15.0, 19.0)])
        .with(MarkKind::Tip, &[(20.5, 14.0)]);
    let (ap, mut pedicle) = (like("b", View::Ap, ap), like("c", View::Pedicle, pedicle));
    pedicle.stage = Some(Stage::Docking);
    case.shots.extend([ap, pedicle]);
    case
}

fn page(case: &Case, frame: Option<&Frame>, options: &FigureOptions) -> Page {
    let reading = read_shot(case, 0, |_| Picture::NotLookedAt);
    let shots = [FigureShot { shot: &case.shots[0], reading: &reading, frame, field: Field::Whole }];
    figure(case, &shots, &[], options)
}

/// A figure of some shots of the whole case, with what a pair among them tells.
fn page_of(case: &Case, places: &[usize], options: &FigureOptions) -> Page {
    let read = read_case(case, |_| Picture::NotLookedAt, None);
    let frame = frame();
    let shots: Vec<_> = places
        .iter()
        .map(|&i| FigureShot {
            shot: &case.shots[i],
            reading: &read.shots[i],
            frame: Some(&frame),
            field: Field::Whole,
        })
        .collect();
    let pairs = pairs_among(&read.pairs, places);
    figure(case, &shots, &pairs, options)
}

fn options() -> FigureOptions {
    FigureOptions {
        title: Some("Demonstration A".to_owned()),
        layers: Some(LayerSet::default()),
        window: None,
        extent: Extent::AroundBody,
        style: FigureStyle::default(),
    }
}

/// The same with a later lateral, the tip further forward.
fn moved_case() -> Case {
    let mut case = whole_case();
    let mut later = case.shots[0].clone();
    later.id = "d".to_owned();
    later.marks = later.marks.with(MarkKind::Tip, &[(21.0, 20.0)]);
    case.shots.push(later);
    case
}

fn styled(kind: FigureKind, width: FigureWidth) -> FigureOptions {
    let caption = Some("A caption.".to_owned());
    FigureOptions::of_spec(
        &FigureSpec { kind, width, caption, ..FigureSpec::default() },
        Some("Demonstration A"),
    )
}

fn svg(page: &Page) -> io::Result<String> {
    let bytes = page_bytes(page, &Theme::light(), PageFormat::Svg).map_err(io::Error::other)?;
    String::from_utf8(bytes).map_err(io::Error::other)
}

#[test]
fn small_figures_are_the_goldens() {
    let case = whole_case();
    let pages = [
        ("figure", page(&self::case(), Some(&frame()), &options())),
        ("figure-ap", page_of(&case, &[1], &options())),
        ("figure-pedicle", page_of(&case, &[2], &options())),
        ("figure-pair", page_of(&case, &[0, 1], &options())),
        (
            "figure-before-after",
            page_of(&moved_case(), &[0, 3], &styled(FigureKind::BeforeAfter, FigureWidth::Double)),
        ),
        (
            "figure-sequence",
            page_of(&moved_case(), &[0, 3, 1, 2], &styled(FigureKind::Sequence, FigureWidth::Double)),
        ),
        ("figure-slide", page_of(&case, &[0, 1], &styled(FigureKind::Pair, FigureWidth::Slide))),
    ];
    let update = std::env::var_os("STILLMARK_UPDATE").is_some();
    let mut stale = Vec::new();
    for (name, page) in pages {
        let text = svg(&page).unwrap();
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/it/golden/{name}.svg"));
        if update {
            fs::write(&file, &text).unwrap();
        } else if fs::read_to_string(&file).ok().as_ref() != Some(&text) {
            stale.push(name);
        }
    }
    assert!(stale.is_empty(), "no longer the goldens: {stale:?}; see the head of this file");
}

#[test]
fn every_layer_of_every_view_shows_by_itself_and_can_be_hidden() {
    let case = whole_case();
    let overlay = |i: usize, layers: LayerSet| {
        let options = FigureOptions { layers: Some(layers), ..options() };
        let page = page_of(&case, &[i], &options);
        let is_overlay = |part: &&PagePart| part.scene.space == scene::Space::Image;
        // The picture comes first, its overlay next.
        page.parts.iter().filter(is_overlay).nth(1).map_or_else(Vec::new, |part| part.scene.shapes.clone())
    };
    for (i, view) in View::ALL.into_iter().enumerate() {
        // The labels lie over the overlay, in a part of their own.
        let own = |layer: &Layer| layer.belongs_to(view) && *layer != Layer::Teaching;
        for layer in Layer::ALL.into_iter().filter(own) {
            let all = LayerSet::all();
            assert_ne!(overlay(i, all), overlay(i, all.without(layer)), "{view:?} without {layer:?}");
            let alone = overlay(i, LayerSet::NONE.with(layer));
            // Words stand beside what they name.
            assert!(layer == Layer::Labels || !alone.is_empty(), "{view:?} {layer:?} alone");
        }
        for layer in Layer::ALL.into_iter().filter(|layer| !layer.belongs_to(view)) {
            assert!(overlay(i, LayerSet::NONE.with(layer)).is_empty(), "{view:?} has {layer:?}");
        }
        assert!(overlay(i, LayerSet::NONE).is_empty(), "{view:?}");
    }
}

/// A pair's figure has the three drawings; either of its shots alone has none.
#[test]
fn a_pair_has_the_body_from_three_sides() {
    let case = whole_case();
    let drawings = |places: &[usize]| {
        let page = page_of(&case, places, &options());
        let tip = |shape: &scene::Shape| matches!(shape, scene::Shape::Marker { role: scene::Role::Tip, .. });
        let drawing = |part: &&PagePart| part.ground == Ground::Panel && part.scene.shapes.iter().any(tip);
        page.parts.iter().filter(drawing).count()
    };
    assert_eq!([drawings(&[0, 1]), drawings(&[1, 0]), drawings(&[0]), drawings(&[1, 2])], [3, 3, 0, 0]);
}

#[test]
fn a_figure_tells_nothing_of_files_and_times() {
    for options in [options(), FigureOptions { layers: None, ..options() }] {
        let page = page(&case(), Some(&frame()), &options);
        let png = page_bytes(&page, &Theme::dark(), PageFormat::Png).unwrap();
        let pdf = page_bytes(&page, &Theme::light(), PageFormat::Pdf).unwrap();
        for file in [svg(&page).unwrap().into_bytes(), png, pdf] {
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
    for format in [PageFormat::Svg, PageFormat::Png, PageFormat::Pdf] {
        assert!(write(format) == write(format), "{format:?}");
    }
}

/// A program of the system's, `None` where it is not installed.
#[expect(clippy::print_stdout, reason = "says what was left out")]
fn outside(program: &str, arguments: &[&str]) -> Option<std::process::Output> {
    match std::process::Command::new(program).args(arguments).output() {
        Ok(output) => Some(output),
        Err(_) => {
            println!("{program} is not installed; what it would check is left out");
            None
        }
    }
}

/// Read by other programs, where they are installed: the file is sound, its words are words in both typefaces, and
/// its picture has the frame's own pixels.
#[test]
fn a_figures_pdf_holds_up_outside() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("figure.pdf");
    let page = page_of(&whole_case(), &[0, 1], &options());
    fs::write(&file, page_bytes(&page, &Theme::light(), PageFormat::Pdf).unwrap()).unwrap();
    let file = file.to_string_lossy();
    if let Some(checked) = outside("qpdf", &["--check", &file]) {
        assert!(checked.status.success(), "{}", String::from_utf8_lossy(&checked.stderr));
    }
    if let Some(read) = outside("pdftotext", &["-layout", &file, "-"]) {
        let words = String::from_utf8_lossy(&read.stdout);
        for expected in
            ["Demonstration A", "depth", "lateral and AP combined", "does not guide a needle", "± "]
        {
            assert!(words.contains(expected), "{expected} in {words}");
        }
    }
    if let Some(fonts) = outside("pdffonts", &[&file]) {
        let fonts = String::from_utf8_lossy(&fonts.stdout);
        assert!(fonts.contains("Ubuntu") && !fonts.contains(" no "), "{fonts}");
    }
    if let Some(images) = outside("pdfimages", &["-list", &file]) {
        let images = String::from_utf8_lossy(&images.stdout);
        let first: Vec<_> = images.lines().nth(2).unwrap_or_default().split_whitespace().collect();
        // Page, number, type, width, height, colour space, components, bits.
        assert_eq!(first.get(2..8), Some(&["image", "48", "40", "gray", "1", "16"][..]), "{images}");
    }
}

#[test]
fn the_caution_stands_in_every_figure() {
    // Words are outlines, so what is looked for is the page's own text.
    let words = |page: &Page| {
        let theme = Theme::light();
        let drawn = page.drawn(&theme);
        let texts = drawn.iter().flat_map(|part| &part.primitives).filter_map(|primitive| match primitive {
            stillmark::scene::drawing::primitive::Primitive::Words { words, .. } => Some(words.as_str()),
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
        fs::write(folder.path().join("a.png"), grey_png(&picture).map_err(io::Error::other)?)?;
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
    // The command line looks at the picture: a ramp has no edge at any mark.
    let (case, frame) = (case(), frame());
    let (extent, softness) = (frame.extent(), soft_marks(&frame, &case.shots[0]));
    let reading = read_shot(&case, 0, |_| Picture::Present {
        extent,
        digest: None,
        softness: softness.clone(),
        scale_faults: Vec::new(),
    });
    let shots =
        [FigureShot { shot: &case.shots[0], reading: &reading, frame: Some(&frame), field: Field::Whole }];
    assert_eq!(written, svg(&figure(&case, &shots, &[], &options())).unwrap());
    assert_eq!(folder.run(&["a", "a"], "figure.png", &["--clean", "--dark", "--whole"]), (0, String::new()));
    let png = fs::read(folder.path("figure.png")).unwrap();
    assert_eq!(&png[1..4], b"PNG");
}

#[test]
fn what_cannot_be_drawn_is_refused_in_a_sentence_and_nothing_is_written() {
    let folder = Folder::new().unwrap();
    let before = fs::read_dir(folder.0.path()).unwrap().count();
    let refused: [(&[&str], &str, &[&str], &str); 5] = [
        (&["a"], "figure.doc", &[], ".png, .svg or .pdf"),
        (&["b"], "figure.svg", &[], "this case has no shot “b”; it has a"),
        (&["a"], "figure.svg", &["--layers", "borders,nose"], "there is no overlay “nose”"),
        (&["a"], "figure.svg", &["--layers", "tip", "--clean"], "cannot be used with"),
        (&["a"], "a.png", &[], "would overwrite its source"),
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
        let picture = shot.picture();
        let most = if picture.bits == Bits::Eight { 257 } else { 1 };
        Frame {
            width: picture.side,
            height: picture.side,
            samples: Samples::Gray16(picture.samples.iter().map(|sample| sample * most).collect()),
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
    let series = stillmark::phantom::demonstration::demonstration();
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
    let mut figures: Vec<(String, Vec<usize>)> = vec![("all".to_owned(), (0..all.len().min(6)).collect())];
    let ap_or_pedicle = (0..all.len()).filter(|&i| case.shots[i].view != View::Lateral);
    figures.extend(ap_or_pedicle.map(|i| (case.shots[i].id.clone(), vec![i])));
    figures.extend(
        read.pairs.iter().map(|p| (format!("pair-{}", case.shots[p.lateral].id), vec![p.lateral, p.ap])),
    );
    for (what, places) in figures {
        let shots: Vec<_> = places.iter().map(|&i| all[i]).collect();
        let pairs = pairs_among(&read.pairs, &places);
        for (how, layers) in [("", LayerSet::default()), ("-every", LayerSet::all())] {
            for (mode, theme) in [("dark", Theme::dark()), ("light", Theme::light())] {
                let options = FigureOptions { layers: Some(layers), ..options() };
                // Small enough to be written soon; `figure` itself keeps every pixel.
                let page = Page { raster: 1.5, ..figure(case, &shots, &pairs, &options) };
                let bytes = page_bytes(&page, &theme, PageFormat::Png).unwrap();
                fs::write(folder.join(format!("figure-{what}{how}-{mode}.png")), bytes).unwrap();
            }
        }
    }
}
