//! Figures in the house style: their widths on paper, what stands in them by kind, templates, questions and answers.

use std::fs;
use std::path::{Path, PathBuf};

use stillmark::case::document::Case;
use stillmark::case::document::figure_spec::{FigureGround, FigureKind, FigureSpec, FigureWidth};
use stillmark::io::case_file::to_text;
use stillmark::io::export::figure::{Chosen, paged};
use stillmark::io::store::save::open_case;
use stillmark::scene::drawing::shape::{Greys, Picture, Shape};
use stillmark::scene::figure::FigureOptions;
use stillmark::scene::page::Page;

use crate::support::{folder, stillmark_cli};

fn demonstration() -> (PathBuf, Case) {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images/demonstration.case.json");
    let case = open_case(&file).expect("the demonstration").case;
    (file, case)
}

fn chosen(ids: &[&str]) -> (Case, Chosen) {
    let (file, case) = demonstration();
    let place = |id: &&str| case.shots.iter().position(|shot| shot.id == *id).expect("a shot");
    let places: Vec<usize> = ids.iter().map(place).collect();
    let chosen = Chosen::open(&file, &case, &places).expect("images");
    (case, chosen)
}

fn spec(kind: FigureKind, width: FigureWidth) -> FigureSpec {
    FigureSpec { name: "x".to_owned(), kind, width, ..FigureSpec::default() }
}

fn page(ids: &[&str], spec: &FigureSpec) -> Page {
    let (case, chosen) = chosen(ids);
    chosen.page(&case, &FigureOptions::of_spec(spec, case.title.as_deref()))
}

fn words(page: &Page) -> String {
    page.words().collect::<Vec<_>>().join("\n")
}

fn greys(page: &Page) -> Vec<Greys> {
    let shapes = page.parts.iter().flat_map(|part| &part.scene.shapes);
    let greys = |shape: &Shape| match shape {
        Shape::Picture { picture, .. } => {
            let Picture { greys, .. } = &**picture;
            Some(greys.clone())
        }
        _ => None,
    };
    shapes.filter_map(greys).collect()
}

const STYLET: &str = "l4-right-lateral-stylet";
const FINAL: &str = "l4-right-lateral-final";
const FINAL_AP: &str = "l4-right-ap-final";

/// Millimetres to points by hand: 175 mm / 25.4 × 72 = 496.06.
#[test]
fn before_and_after_say_what_changed() {
    let mut spec = spec(FigureKind::BeforeAfter, FigureWidth::Double);
    spec.caption = Some("From the stylet to the end.".to_owned());
    let page = page(&[STYLET, FINAL], &spec);
    assert!((page.size.0 * page.scale - 496.06).abs() < 0.01);
    let said = words(&page);
    for expected in [
        "From the first to the second: depth posterior → anterior",
        "From the stylet to the end.",
        "a",
        "b",
        " mm",
        "scale bar",
    ] {
        assert!(said.contains(expected), "{expected} in {said}");
    }
    assert_eq!(greys(&page).len(), 2);
}

#[test]
fn a_clean_figure_tells_nothing_that_was_read() {
    let mut spec = spec(FigureKind::BeforeAfter, FigureWidth::Single);
    spec.marked = false;
    let said = words(&page(&[STYLET, FINAL], &spec));
    assert!(!said.contains('%') && !said.contains("depth") && !said.contains("border"), "{said}");
    assert!(said.contains("does not guide a needle"));
}

#[test]
fn a_slide_is_sixteen_to_nine_and_nothing_runs_off_it() {
    let slides: [(FigureKind, &[&str]); 4] = [
        (FigureKind::Shot, &[FINAL]),
        (FigureKind::BeforeAfter, &[STYLET, FINAL]),
        (FigureKind::Pair, &[FINAL, FINAL_AP]),
        (
            FigureKind::Sequence,
            &["l4-right-lateral-pedicle", "l4-right-lateral-posterior_wall", STYLET, FINAL],
        ),
    ];
    for (kind, ids) in slides {
        let page = page(ids, &spec(kind, FigureWidth::Slide));
        let (width, height) = (page.size.0 * page.scale, page.size.1 * page.scale);
        assert!(
            (width - 960.0).abs() < 1e-6 && (height - 540.0).abs() < 1e-6,
            "{kind:?}: {width} × {height}"
        );
        for part in &page.parts {
            let room = part.room;
            assert!(
                room.max.x <= page.size.0 + 1e-6 && room.max.y <= page.size.1 + 1e-6,
                "{kind:?}: {room:?}"
            );
        }
    }
}

#[test]
fn pictures_beside_each_other_begin_at_one_height() {
    let ids = ["l4-right-lateral-pedicle", "l4-right-lateral-posterior_wall", STYLET, FINAL];
    let page = page(&ids, &spec(FigureKind::Sequence, FigureWidth::Double));
    let pictures = page
        .parts
        .iter()
        .filter(|part| part.scene.shapes.iter().any(|shape| matches!(shape, Shape::Picture { .. })));
    let tops: Vec<f64> = pictures.map(|part| part.room.min.y).collect();
    // Two rows of two, so that each image is half as wide as the page.
    assert_eq!(tops.len(), 4);
    assert!((tops[1] - tops[0]).abs() < 1e-9 && (tops[3] - tops[2]).abs() < 1e-9, "{tops:?}");
    assert!(tops[2] > tops[0]);
    // What short readings leave out stands below, by letter.
    assert!(words(&page).contains("a: The tip projects posterior to the posterior wall."));
}

#[test]
fn a_question_and_its_answer_show_the_same_frame() {
    let (case, chosen) = chosen(&[FINAL, FINAL_AP, "l4-right-pedicle-docking"]);
    let options = FigureOptions::of_spec(&FigureSpec::default(), case.title.as_deref());
    let questions = chosen.questions(&case, &options);
    assert_eq!(questions.len(), 3);
    for (i, question) in questions.iter().enumerate() {
        let (asked, answered) = (words(&question.asked), words(&question.answered));
        assert!(
            asked.contains(&format!("{}. How ", i + 1).replace("3. How ", "3. Where "))
                && asked.contains('?'),
            "{asked}"
        );
        assert!(!asked.contains('±') && answered.contains('±'), "{asked}\n{answered}");
        assert_eq!(greys(&question.asked), greys(&question.answered));
        let room = |page: &Page| page.parts[0].room;
        assert_eq!(room(&question.asked), room(&question.answered));
    }
    assert_eq!(paged(questions).len(), 6);
}

#[test]
fn the_command_line_takes_templates_and_asks_questions() {
    let place = folder();
    let (file, mut case) = demonstration();
    let images = file.parent().expect("a folder").join("images");
    for shot in &mut case.shots {
        shot.image = images.join(shot.image.trim_start_matches("images/")).to_string_lossy().into_owned();
    }
    case.figures.push(FigureSpec {
        name: "talk".to_owned(),
        ground: FigureGround::Dark,
        title: Some("Two stages".to_owned()),
        ..spec(FigureKind::BeforeAfter, FigureWidth::Slide)
    });
    let file = place.path().join("a.case.json");
    fs::write(&file, to_text(&file, &case).expect("a case")).expect("a file");
    let path = |name: &str| place.path().join(name);
    let run = |shots: &[&str], out: &str, more: &[&str]| {
        let (file, out) = (file.to_string_lossy().into_owned(), path(out).to_string_lossy().into_owned());
        // Its images lie elsewhere, which the command line follows only when told to.
        let mut arguments = vec!["figure", "--outside-images", &file];
        arguments.extend(shots);
        arguments.extend(["--out", &out]);
        arguments.extend(more);
        stillmark_cli(arguments).expect("the command line")
    };
    let done = run(&[STYLET, FINAL], "talk.svg", &["--template", "talk"]);
    assert_eq!((done.status, done.err.as_str()), (Some(0), ""));
    let svg = fs::read_to_string(path("talk.svg")).expect("a figure");
    assert!(svg.starts_with("<svg ") && svg.contains("width=\"960pt\" height=\"540pt\""));
    assert!(svg.contains("fill=\"#171a1d\""), "dark ground");
    // One shot: two files; several: one document.
    assert_eq!(run(&[FINAL], "q.svg", &["--questions"]).status, Some(0));
    let (asked, answered) = (fs::read(path("q-question.svg")), fs::read(path("q-answer.svg")));
    assert!(asked.expect("a question").len() < answered.expect("an answer").len() && !path("q.svg").exists());
    assert_eq!(run(&[FINAL, FINAL_AP], "q.pdf", &["--questions", "--width", "slide"]).status, Some(0));
    assert!(fs::read(path("q.pdf")).expect("a document").starts_with(b"%PDF-"));
    for (shots, out, more, sentence) in [
        (
            &[FINAL][..],
            "x.svg",
            &["--template", "none"][..],
            "the case has no figure template “none”; it has talk",
        ),
        (&[FINAL], "x.svg", &["--kind", "before_after"], "has two shots, but 1 were given"),
        (&[FINAL], "x.svg", &["--width", "wide"], "--width: “wide” is not known"),
        (&[FINAL, FINAL_AP], "x.svg", &["--questions"], "ending in .pdf"),
        (&["l4-right-lateral-final-9"], "x.svg", &[], "this case has no shot"),
    ] {
        let refused = run(shots, out, more);
        assert!(refused.status == Some(2) && refused.err.contains(sentence), "{sentence}: {}", refused.err);
        assert!(!path(out).exists());
    }
}
