//! Labels: kept in the case file, never on each other, read on every ground.

use std::path::Path;

use rand::{Rng as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use stillmark::case::annotation::{Corner, Label, LabelKind, LabelShape as What, MAX_LABELS};
use stillmark::case::document::edit::{Description, Edit};
use stillmark::case::document::history::History;
use stillmark::case::document::{Case, Shot};
use stillmark::case::readings::body_map::body_map;
use stillmark::case::readings::{Picture, read_shot};
use stillmark::geom::point::Point;
use stillmark::io::case_file::{from_bytes, to_text};
use stillmark::io::export::{PageFormat, page_bytes};
use stillmark::measure::mark::{Level, MarkKind, Marks, Side, Stage, View};
use stillmark::measure::reading::Field;
use stillmark::scene::annotation;
use stillmark::scene::drawing::shape::{AlignX, AlignY, Rect, Role, Scene, Shape, Text};
use stillmark::scene::drawing::theme::{Colour, Ground, Theme};
use stillmark::scene::drawing::type_metrics;
use stillmark::scene::figure::asked::FigureStyle;
use stillmark::scene::figure::{Extent, FigureOptions, FigureShot, figure};
use stillmark::scene::overlay::LayerSet;
use stillmark::scene::overlay::of_shot::ShotOverlay;
use stillmark::scene::page::Page;

fn marked() -> Shot {
    let mut shot = Shot::new("a", "a.png", View::Lateral);
    (shot.level, shot.side, shot.stage) = (Some(Level::L4), Some(Side::Right), Some(Stage::Final));
    shot.marks = Marks::new()
        .with(MarkKind::SuperiorEndPlate, &[(412.0, 305.0), (340.0, 316.0), (268.0, 318.0)])
        .with(MarkKind::InferiorEndPlate, &[(405.0, 398.0), (262.0, 421.0)])
        .with(MarkKind::Tip, &[(365.4, 356.9)])
        .with(MarkKind::Cannula, &[(500.0, 300.0), (420.0, 340.0)]);
    shot
}

/// One label of every kind, with everything that can be said of it.
fn one_of_each() -> Vec<Label> {
    let p = |x: f64, y: f64| Point::new(x, y);
    let mut text = Label::new(LabelKind::Text, vec![p(365.4, 356.9)]).saying("the tip’s “place”\nhere");
    text.text_at = Some(p(300.5, 250.25));
    text.extra.0.insert("mood".to_owned(), "{ \"of the day\":  1 }".to_owned());
    let mut inset = Label::new(LabelKind::Inset, vec![p(340.0, 330.0), p(390.0, 380.0)]).saying("3 times");
    if let What::Known { corner, times, .. } = &mut inset.drawn {
        (*corner, *times) = (Corner::BottomLeft, 3.0);
    }
    vec![
        text,
        Label::new(LabelKind::Arrow, vec![p(470.0, 250.0), p(412.0, 305.0)]).saying("corner"),
        Label::new(LabelKind::Line, vec![p(340.0, 300.0), p(340.0, 420.0)]),
        Label::new(
            LabelKind::Curve,
            vec![p(268.0, 318.0), p(340.0, 316.0), p(412.0, 305.0), p(430.0, 300.0)],
        ),
        Label::new(LabelKind::Angle, vec![p(500.0, 300.0), p(420.0, 340.0), p(420.0, 300.0)]).saying("tilt"),
        Label::new(LabelKind::Length, vec![p(405.0, 350.0), p(265.0, 370.0)]),
        Label::new(LabelKind::Outline, vec![p(300.0, 300.0), p(320.0, 300.0), p(310.0, 330.0)]).saying("rim"),
        Label::new(LabelKind::Dim, vec![p(250.0, 360.0), p(430.0, 360.0), p(340.0, 440.0)]).rounded(),
        Label::new(LabelKind::Number, vec![p(405.0, 398.0)]).saying("posterior inferior corner"),
        Label::new(LabelKind::Number, vec![p(262.0, 421.0)]).saying("anterior inferior corner"),
        inset,
    ]
}

fn case_with(labels: Vec<Label>) -> Case {
    let mut shot = marked();
    shot.labels = labels;
    Case { shots: vec![shot].into(), ..Case::default() }
}

fn read(text: &str) -> Result<Case, String> {
    from_bytes(Path::new("a.case.json"), text.as_bytes()).map_err(|e| e.to_string())
}

#[test]
fn every_kind_comes_back_from_the_file_as_it_was() {
    let case = case_with(one_of_each());
    let text = to_text(Path::new("a"), &case).unwrap();
    assert_eq!(read(&text).unwrap(), case);
    for line in text.lines().filter(|line| line.contains("\"kind\"")) {
        assert!(line.trim_start().starts_with("{ \"kind\": "), "one label a line, its kind first: {line}");
    }
}

#[test]
fn a_kind_of_a_later_version_is_kept_word_for_word_and_not_drawn() {
    let raw = r#"{ "kind": "hologram",  "depth": [1.00], "text": "x" }"#;
    let text = to_text(Path::new("a"), &case_with(vec![Label::unknown(raw)])).unwrap();
    assert!(text.contains(raw), "{text}");
    let case = read(&text).unwrap();
    assert_eq!(case.shots[0].labels, [Label::unknown(raw)]);
    assert!(drawn(&case, false).is_empty());
}

#[test]
fn broken_labels_are_one_sentence_that_names_the_place() {
    let file = |labels: &str| {
        format!(
            r#"{{"format": "stillmark case", "version": 1, "shots": [{{"id": "a", "image": "a.png", "view": "ap", "marks": {{}}, "labels": {labels}}}]}}"#
        )
    };
    let many = format!("[{}]", vec![r#"{"kind": "number", "points": [[1, 1]]}"#; 10_000].join(","));
    let long = format!(r#"[{{"kind": "text", "points": [[1, 1]], "text": "{}"}}]"#, "x".repeat(10_000));
    for (labels, said) in [
        (r#"{}"#, "a list of labels"),
        (r#"[7]"#, "labels[0]: must be an object"),
        (r#"[{"kind": 7}]"#, "labels[0].kind: must be a text"),
        (r#"[{"kind": "text"}]"#, "labels[0].points: is missing"),
        (r#"[{"kind": "text", "points": []}]"#, "has 1 point, not 0"),
        (r#"[{"kind": "arrow", "points": [[1, 1]]}]"#, "has 2 points, not 1"),
        (r#"[{"kind": "angle", "points": [[1, 1], [2, 2], [3, 3], [4, 4]]}]"#, "has 3 points, not 4"),
        (r#"[{"kind": "text", "points": [[1e300, 1]]}]"#, "outside any image"),
        (r#"[{"kind": "text", "points": [[1, null]]}]"#, "labels[0].points[0][1]: must be a number"),
        (r#"[{"kind": "text", "points": [[NaN, 1]]}]"#, "not valid JSON"),
        (r#"[{"kind": "text", "points": [[1, 1]], "text_at": [1]}]"#, "labels[0].text_at"),
        (r#"[{"kind": "arrow", "points": [[1, 1], [2, 2]], "round": true}]"#, "cannot be round"),
        (r#"[{"kind": "inset", "points": [[1, 1], [1, 9]]}]"#, "no area"),
        (r#"[{"kind": "inset", "points": [[1, 1], [9, 9]], "times": 900}]"#, "1.5 to 8 times"),
        (r#"[{"kind": "inset", "points": [[1, 1], [9, 9]], "corner": "middle"}]"#, "labels[0].corner"),
        (many.as_str(), "has 10000 annotations"),
        (long.as_str(), "more than 200 characters"),
    ] {
        let sentence = read(&file(labels)).unwrap_err();
        assert!(sentence.contains(said), "{said}: {sentence}");
        assert!(!sentence.contains('\n') && sentence.len() < 400, "{sentence}");
    }
}

#[test]
fn what_cannot_be_meant_is_no_edit_and_each_edit_is_one_step_back() {
    let mut history = History::new(case_with(Vec::new()));
    let set = |labels: Vec<Label>| Edit::Describe { shot: "a".to_owned(), what: Description::Labels(labels) };
    let nowhere = Label::new(LabelKind::Text, vec![Point::new(f64::NAN, 0.0)]);
    assert!(history.apply(&set(vec![nowhere])).is_err());
    let one = Label::new(LabelKind::Text, vec![Point::new(1.0, 1.0)]);
    assert!(history.apply(&set(vec![one.clone(); MAX_LABELS + 1])).is_err());
    history.apply(&set(vec![one.clone()])).unwrap();
    history.apply(&set(one_of_each())).unwrap();
    assert!(history.undo());
    assert_eq!(history.case().shots[0].labels, [one]);
    assert!(history.undo());
    assert!(history.case().shots[0].labels.is_empty());
}

const ROOM: Rect = Rect::new(24.0, 60.0, 584.0, 433.0);
const SHOWN: Rect = Rect::new(190.0, 260.0, 490.0, 460.0);

/// The labels of a case's only shot in a figure's room, with or without the overlay beneath.
fn drawn(case: &Case, with_overlay: bool) -> annotation::PlacedAnnotations {
    let shot = &case.shots[0];
    let map = body_map(case, shot);
    let reading = read_shot(case, 0, |_| Picture::NotLookedAt);
    let overlay = ShotOverlay {
        case,
        shot,
        marks: &shot.marks,
        map: map.as_ref(),
        reading: Some(&reading),
        layers: LayerSet::default(),
        zoom: ROOM.width() / SHOWN.width(),
    }
    .scene(SHOWN);
    let scale = ROOM.width() / SHOWN.width();
    let place = |p: Point| ROOM.min + (p - SHOWN.min) * scale;
    let overlay = with_overlay.then_some(&overlay);
    annotation::AnnotatedView {
        case,
        shot,
        map: map.as_ref(),
        overlay,
        kept: &[],
        bounds: SHOWN,
        room: ROOM,
        without_room: annotation::WithoutRoom::Anywhere,
        place: &place,
    }
    .drawn()
}

/// An inset once lay on the posterior-superior corner. By hand: at its full size, 149 × 112 points, it lies on a corner of the
/// body in each corner of the room; at 0.9 of it no more in the one above on the right.
#[test]
fn an_inset_gets_smaller_rather_than_hide_a_corner_of_the_body() {
    let p = |x: f64, y: f64| Point::new(x, y);
    let mut inset = Label::new(LabelKind::Inset, vec![p(345.0, 342.0), p(385.0, 372.0)]);
    if let What::Known { corner, times, .. } = &mut inset.drawn {
        (*corner, *times) = (Corner::TopRight, 2.0);
    }
    let case = case_with(vec![inset]);
    let placed = drawn(&case, true);
    let [inset] = placed.insets.as_slice() else { panic!("one inset: {placed:?}") };
    let scale = ROOM.width() / SHOWN.width();
    assert!((1.4..2.0).contains(&(inset.zoom / scale)), "{inset:?}");
    for (at, p) in case.shots[0].marks.placed().filter(|(at, _)| at.kind != MarkKind::Cannula) {
        let there = ROOM.min + (p - SHOWN.min) * scale;
        assert!(!inset.to.grown(4.0).contains(there), "{at:?} at {there:?} in {inset:?}");
    }
}

fn overlap(a: Rect, b: Rect) -> bool {
    a.min.x < b.max.x && b.min.x < a.max.x && a.min.y < b.max.y && b.min.y < a.max.y
}

/// The box of a text as the writer of figures places it: capitals in the middle of a line of 1.2 times the size.
fn box_of(text: &Text) -> Rect {
    let size = Theme::points(text.size);
    let width = type_metrics::width(&text.words, text.size);
    let left = match text.align.0 {
        AlignX::Left => text.at.x,
        AlignX::Middle => text.at.x - 0.5 * width,
        AlignX::Right => text.at.x - width,
    };
    let top = match text.align.1 {
        AlignY::Top => text.at.y,
        AlignY::Middle => text.at.y - 0.6 * size,
        AlignY::Bottom => text.at.y - 1.2 * size,
    };
    Rect::new(left, top, left + width, top + 1.2 * size)
}

fn between(rng: &mut ChaCha8Rng, low: f64, high: f64) -> f64 {
    rng.random_range(low..high)
}

fn below(rng: &mut ChaCha8Rng, n: usize) -> usize {
    rng.random_range(0..n)
}

const WORDS: [&str; 8] = [
    "tip",
    "posterior wall",
    "medial border of the pedicle",
    "superior endplate with its concavity, double contour at the rim",
    "Nervus basivertebralis",
    "L4",
    "cannula",
    "the bone between the endplates is not seen here because of the gas in front of it",
];

/// Labels of any kind anywhere in the part shown, words from short to long, one in four put by hand.
fn some_labels(rng: &mut ChaCha8Rng, n: usize) -> Vec<Label> {
    let kinds: Vec<LabelKind> = LabelKind::ALL.into_iter().filter(|kind| *kind != LabelKind::Dim).collect();
    let place = |rng: &mut ChaCha8Rng| {
        Point::new(
            between(rng, SHOWN.min.x + 2.0, SHOWN.max.x - 2.0),
            between(rng, SHOWN.min.y + 2.0, SHOWN.max.y - 2.0),
        )
    };
    (0..n)
        .map(|_| {
            let kind = kinds[below(rng, kinds.len())];
            let points = match kind {
                LabelKind::Inset => {
                    let at = place(rng);
                    vec![at, Point::new(at.x + 20.0, at.y + 15.0)]
                }
                kind => (0..kind.count(false).0).map(|_| place(rng)).collect(),
            };
            let mut label = Label::new(kind, points).saying(WORDS[below(rng, WORDS.len())]);
            if below(rng, 4) == 0 {
                label.text_at = Some(place(rng));
            }
            label
        })
        .collect()
}

/// Five hundred figures of 1–12 labels: no box of words lies on another, on the overlay's words, on an inset that is
/// not its own, or beyond the picture; every word is in its box, and all find room.
#[test]
fn no_words_overlap_in_five_hundred_figures() {
    let (mut count, mut left_out, mut led_through) = (0, 0, 0);
    for seed in 0..500_u64 {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let n = 1 + usize::try_from(seed).unwrap() % 12;
        let case = case_with(some_labels(&mut rng, n));
        let drawn = drawn(&case, true);
        let boxes: Vec<(usize, Rect)> = drawn.boxes.clone();
        for (k, (i, a)) in boxes.iter().enumerate() {
            let room = ROOM.grown(1e-9);
            let inside = room.contains(a.min) && room.contains(a.max);
            assert!(inside, "seed {seed}: label {i} leaves the picture: {a:?}");
            for (j, b) in &boxes[k + 1..] {
                assert!(!overlap(*a, *b), "seed {seed}: labels {i} and {j} overlap");
            }
            for inset in drawn.insets.iter().filter(|inset| inset.index != *i) {
                assert!(!overlap(*a, inset.to), "seed {seed}: label {i} lies on inset {}", inset.index);
            }
        }
        let texts: Vec<Rect> = texts(&drawn.words).map(box_of).collect();
        for text in &texts {
            let whole = |b: &Rect| {
                b.min.x <= text.min.x
                    && b.max.x >= text.max.x
                    && b.min.y <= text.min.y
                    && b.max.y >= text.max.y
            };
            assert!(boxes.iter().any(|(_, b)| whole(b)), "seed {seed}: words beyond their plate: {text:?}");
        }
        // Words put by hand may stand far from their places, whatever lies between.
        let by_hand = case.shots[0].labels.iter().any(|label| label.text_at.is_some());
        for line in leaders(&drawn.words).filter(|_| !by_hand) {
            led_through += boxes.iter().filter(|(_, b)| runs_through(line, *b)).count();
        }
        count += boxes.len();
        left_out += drawn.left_out.len();
    }
    assert!(count > 2500);
    // An inset has four corners only, so of several in one picture some find none.
    assert!(left_out * 20 < count, "{left_out} of {count} find no room");
    assert!(led_through * 50 < count, "{led_through} leaders run through words");
}

fn texts(scene: &Scene) -> impl Iterator<Item = &Text> {
    scene.shapes.iter().filter_map(|shape| match shape {
        Shape::Text(text) => Some(text),
        _ => None,
    })
}

fn leaders(scene: &Scene) -> impl Iterator<Item = [Point; 2]> {
    scene.shapes.iter().filter_map(|shape| match shape {
        Shape::Line { points, role: Role::Leader, .. } => Some([points[0], points[1]]),
        _ => None,
    })
}

/// Whether a leader is seen inside a box that it does not begin at.
fn runs_through([a, b]: [Point; 2], at: Rect) -> bool {
    let at = at.grown(-0.5);
    (0..=200).any(|i| at.contains(a.lerp(b, f64::from(i) / 200.0)))
}

#[test]
fn the_same_labels_always_stand_the_same_way() {
    let case = case_with(one_of_each());
    assert_eq!(drawn(&case, true), drawn(&case, true));
}

#[test]
fn words_keep_off_the_tip_where_there_is_room() {
    let mut on_tip = 0;
    for seed in 0..100 {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let mut labels = some_labels(&mut rng, 6);
        labels.retain(|label| label.kind() != Some(LabelKind::Inset));
        labels.iter_mut().for_each(|label| label.text_at = None);
        let case = case_with(labels);
        let scale = ROOM.width() / SHOWN.width();
        let tip = ROOM.min + (Point::new(365.4, 356.9) - SHOWN.min) * scale;
        on_tip += drawn(&case, true).boxes.iter().filter(|(_, at)| at.contains(tip)).count();
    }
    assert_eq!(on_tip, 0);
}

#[test]
fn a_hand_placed_word_stays_where_it_was_put() {
    let mut label = Label::new(LabelKind::Text, vec![Point::new(300.0, 300.0)]).saying("here");
    label.text_at = Some(Point::new(230.0, 440.0));
    let case = case_with(vec![label]);
    let found = drawn(&case, true).boxes[0].1.centre();
    let scale = ROOM.width() / SHOWN.width();
    assert!(found.distance(ROOM.min + (Point::new(230.0, 440.0) - SHOWN.min) * scale) < 1e-9);
}

#[test]
fn two_hundred_labels_and_hopeless_rooms_are_drawn_without_a_fault() {
    let mut rng = ChaCha8Rng::seed_from_u64(7);
    let case = case_with(some_labels(&mut rng, MAX_LABELS));
    let found = drawn(&case, true);
    assert!(found.boxes.len() + found.left_out.len() >= MAX_LABELS - 60, "{}", found.boxes.len());
    let shot = &case.shots[0];
    for room in [Rect::new(0.0, 0.0, 0.0, 0.0), Rect::new(0.0, 0.0, 30.0, 3.0)] {
        let place = |_: Point| Point::new(0.0, 0.0);
        let view = annotation::AnnotatedView {
            case: &case,
            shot,
            map: None,
            overlay: None,
            kept: &[],
            bounds: SHOWN,
            room,
            without_room: annotation::WithoutRoom::Anywhere,
            place: &place,
        };
        assert!(view.drawn().boxes.iter().all(|(_, b)| b.max.x <= 30.0 && b.max.y <= 3.0));
    }
}

/// WCAG 2.2: words 4.5 on their plate over white as over black, lines 3 on every grey in core or edge.
#[test]
fn labels_are_read_on_every_ground() {
    let (_, words) = Theme::plate(Role::Text);
    let plate = Theme::dark().fill(Role::LabelPlate, Ground::Picture);
    assert_eq!(plate, Theme::light().fill(Role::LabelPlate, Ground::Picture));
    for grey in 0..=255_u8 {
        let share = f64::from(plate.a) / 255.0;
        let mixed =
            |over: u8, under: u8| (f64::from(over) * share + f64::from(under) * (1.0 - share)).round();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and 255")]
        let ground = Colour::opaque(
            mixed(plate.r, grey) as u8,
            mixed(plate.g, grey) as u8,
            mixed(plate.b, grey) as u8,
        );
        assert!(words.contrast(ground) >= 4.5, "words over gray {grey}: {}", words.contrast(ground));
        for role in [Role::Label, Role::Leader] {
            let stroke = Theme::picture_stroke(role);
            let edge = stroke.edge.expect("two tones").1;
            let under = Colour::opaque(grey, grey, grey);
            assert!(stroke.colour.contrast(under).max(edge.contrast(under)) >= 3.0, "{role:?} on {grey}");
        }
    }
}

fn page(case: &Case, layers: Option<LayerSet>) -> Page {
    let shot = &case.shots[0];
    let reading = read_shot(case, 0, |_| Picture::NotLookedAt);
    let shots = [FigureShot { shot, reading: &reading, frame: None, field: Field::Whole }];
    let options = FigureOptions {
        title: None,
        layers,
        window: None,
        extent: Extent::AroundBody,
        style: Default::default(),
    };
    figure(case, &shots, &[], &options)
}

fn words_on(page: &Page) -> String {
    page.parts
        .iter()
        .flat_map(|part| texts(&part.scene))
        .map(|t| t.words.as_str())
        .collect::<Vec<_>>()
        .join(" | ")
}

#[test]
fn a_figure_has_the_labels_with_their_legend_and_a_clean_one_has_none() {
    let case = case_with(one_of_each());
    let words = words_on(&page(&case, Some(LayerSet::default())));
    for said in
        ["corner", "tilt: ", "rim", "| 1 | posterior inferior corner", "| 2 | anterior inferior corner"]
    {
        assert!(words.contains(said), "{said} in {words}");
    }
    assert!(words.contains("of the body’s depth"), "a length without a scale is a fraction: {words}");
    let clean = page(&case, None);
    assert!(!words_on(&clean).contains("corner"), "{}", words_on(&clean));
    let without = LayerSet::default().without(stillmark::scene::overlay::Layer::Teaching);
    assert!(!words_on(&page(&case, Some(without))).contains("rim"));
    for theme in [Theme::dark(), Theme::light()] {
        let svg = page_bytes(&page(&case, Some(LayerSet::default())), &theme, PageFormat::Svg).unwrap();
        assert!(
            String::from_utf8_lossy(&svg).contains("fill-rule=\"evenodd\""),
            "the shade around the region"
        );
    }
}

#[test]
fn with_a_scale_a_length_is_in_millimetres() {
    let mut case = case_with(vec![Label::new(
        LabelKind::Length,
        vec![Point::new(300.0, 300.0), Point::new(400.0, 300.0)],
    )]);
    case.shots[0].mm_per_px = Some(0.31);
    let words: Vec<String> = texts(&drawn(&case, false).words).map(|t| t.words.clone()).collect();
    assert_eq!(words, ["31.0 mm"]);
}

/// Words put by hand where a figure's letter and scale bar stand give way to them.
#[test]
fn words_keep_off_the_letter_and_the_scale_bar_of_a_figure() {
    let shot = case_with(Vec::new()).shots.remove(0);
    let corners = [(Point::new(1.0, 1.0), "letter"), (Point::new(1.0, 999.0), "bar")];
    let put = |(at, words): (Point, &str)| {
        let mut label = Label::new(LabelKind::Text, vec![Point::new(340.0, 360.0)]).saying(words);
        label.text_at = Some(at);
        label
    };
    let mut case = case_with(corners.map(put).to_vec());
    case.shots[0].mm_per_px = Some(0.31);
    case.shots.push(Shot { id: "b".to_owned(), ..shot });
    let readings = [0, 1].map(|i| read_shot(&case, i, |_| Picture::NotLookedAt));
    let shots: Vec<FigureShot<'_>> = case
        .shots
        .iter()
        .zip(&readings)
        .map(|(shot, reading)| FigureShot { shot, reading, frame: None, field: Field::Whole })
        .collect();
    let options = FigureOptions {
        title: None,
        layers: Some(LayerSet::default()),
        window: None,
        extent: Extent::AroundBody,
        style: FigureStyle { letters: true, scale_bar: true, ..FigureStyle::default() },
    };
    let page = figure(&case, &shots, &[], &options);
    let box_on_page = |words: &str| {
        page.parts
            .iter()
            .find_map(|part| {
                let text = texts(&part.scene).find(|text| text.words == words)?;
                let by = part.room.min - part.scene.bounds.min;
                let found = box_of(text);
                Some(Rect { min: found.min + by, max: found.max + by })
            })
            .unwrap_or_else(|| panic!("no “{words}” in {}", words_on(&page)))
    };
    let mm = texts_of(&page).find(|words| words.ends_with(" mm")).expect("a scale bar").to_owned();
    for (own, there) in [("letter", "a"), ("bar", mm.as_str())] {
        assert!(!overlap(box_on_page(own), box_on_page(there)), "{own} on {there}");
    }
}

fn texts_of(page: &Page) -> impl Iterator<Item = &str> {
    page.parts.iter().flat_map(|part| texts(&part.scene)).map(|text| text.words.as_str())
}
