//! Every version ever released still loads; what is unknown survives; save then load equals the case.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use proptest::prelude::*;
use stillmark::case::annotation::{Label, LabelKind};
use stillmark::case::document::extra::{Extra, SettingsExtra};
use stillmark::case::document::figure_spec::{FigureGround, FigureKind, FigureSpec, FigureWidth};
use stillmark::case::document::proposed::{MarkSd, ProposedMarks};
use stillmark::case::document::record::BodyRecord;
use stillmark::case::document::redaction::Cover;
use stillmark::case::document::rereading::{Progress, Reread, Rereading};
use stillmark::case::document::{Case, Shot};
use stillmark::geom::point::Point;
use stillmark::io::case_file::{from_bytes, to_text};
use stillmark::io::error::ErrorKind;
use stillmark::measure::calibration::{KnownLength, ScaleFrom};
use stillmark::measure::mark::{Level, MarkKind, MarkRef, Marks, PatientRight, Side, Stage, View};
use stillmark::measure::settings::{Band, Rule, Settings, Targets};
use stillmark::measure::true_view::known::{ApTube, CannotTell, Tube};

fn sample() -> String {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/it/samples/version-1.case.json");
    std::fs::read_to_string(path).expect("the committed sample of version 1")
}

fn read(text: &str) -> Result<Case, stillmark::io::error::Error> {
    from_bytes(Path::new("a.case.json"), text.as_bytes())
}

#[test]
fn the_sample_of_version_1_loads_whole() {
    let case = read(&sample()).unwrap();
    assert_eq!(case.title.as_deref(), Some("Demonstration A"));
    assert_eq!(case.operator.as_deref(), Some("R1"));
    assert_eq!(case.date.as_deref(), Some("2026-02-03"));
    assert_eq!(case.discs, ["L4-L5"]);
    assert_eq!(case.patient_right, Some(PatientRight::ImageLeft));
    let settings = &case.settings;
    let numbers = [
        settings.bone_sd_mm,
        settings.metal_sd_mm,
        settings.view_half_width_deg,
        settings.change_that_matters,
    ];
    assert_eq!(numbers.map(f64::to_bits), [0.4_f64, 0.2, 1.2, 0.07].map(f64::to_bits));
    assert_eq!(settings.targets, Targets::default());

    let shots: Vec<&Shot> = case.shots.iter().collect();
    let [lateral, ap, docking] = shots[..] else { panic!("three shots") };
    assert_eq!(
        (lateral.view, lateral.level, lateral.side),
        (View::Lateral, Some(Level::L4), Some(Side::Right))
    );
    assert_eq!((lateral.stage, lateral.mm_per_px), (Some(Stage::Final), Some(0.31)));
    assert_eq!(lateral.taken.as_deref(), Some("10:42:05"));
    assert!(lateral.digest.as_ref().unwrap().starts_with("sha256:0000"));
    assert_eq!(
        lateral.marks.complete(MarkKind::SuperiorEndPlate).unwrap(),
        [Point::new(412.0, 305.0), Point::new(340.0, 316.0), Point::new(268.0, 318.0)]
    );
    assert_eq!(lateral.marks.complete(MarkKind::Tip).unwrap(), [Point::new(365.4, 356.9)]);
    assert_eq!(lateral.marks.slots(MarkKind::InferiorEndPlateSecond), [None, Some(Point::new(263.0, 423.0))]);
    assert_eq!(ap.patient_right, Some(PatientRight::ImageRight));
    assert_eq!(ap.pair_with.as_deref(), Some("l4-right-lateral-3"));
    assert_eq!(ap.marks.complete(MarkKind::LeftPedicle).unwrap()[1], Point::new(210.0, 120.0));
    assert_eq!(docking.marks.complete(MarkKind::Pedicle).unwrap().len(), 4);
    assert_eq!(docking.level, None);
}

#[test]
fn what_is_unknown_survives_word_for_word() {
    let case = read(&sample()).unwrap();
    let text = to_text(Path::new("a.case.json"), &case).unwrap();
    // As written in the sample, spaces and digits included.
    for words in [
        r#""mood": { "of the day":   "calm", "digits": 0.1000000000000000055511151231257827 }"#,
        r#""glass": 0.1"#,
        r#""tilt": [-5, 5]"#,
        r#""rest": { "depth": [0, 1] }"#,
        r#""sound": false"#,
        r#""disc_centre": [[300, 250]]"#,
        r#""labels": [{ "text": "tip",  "at": [365, 357] }]"#,
        r#""marrow": [null]"#,
        r#""kerma": 1e2"#,
    ] {
        assert!(text.contains(words), "{words} in\n{text}");
    }
    let again = read(&text).unwrap();
    assert_eq!(again, case);
    assert_eq!(to_text(Path::new("a.case.json"), &again).unwrap(), text);
}

#[test]
fn files_compare_well_line_by_line() {
    let mut case = read(&sample()).unwrap();
    let before = to_text(Path::new("a"), &case).unwrap();
    case.shots[0].marks = case.shots[0].marks.clone().with(MarkKind::Tip, &[(366.0, 357.0)]);
    let after = to_text(Path::new("a"), &case).unwrap();
    let changed: Vec<_> = before.lines().zip(after.lines()).filter(|(a, b)| a != b).collect();
    assert_eq!(before.lines().count(), after.lines().count());
    assert_eq!(changed, [(r#"        "tip": [[365.4, 356.9]],"#, r#"        "tip": [[366, 357]],"#)]);
}

#[test]
fn a_file_with_only_what_must_be_there_takes_the_methods_defaults() {
    let case = read(r#"{"format": "stillmark case", "version": 1}"#).unwrap();
    assert_eq!(case, Case::default());
    let shot = r#"{"id": "a", "image": "a.png", "view": "ap", "marks": {}, "level": null, "stage": null}"#;
    let case = read(&format!(
        r#"{{"format": "stillmark case", "version": 1, "settings": null, "shots": [{shot}]}}"#
    ));
    assert_eq!(case.unwrap().shots, vec![Shot::new("a", "a.png", View::Ap)].into());
}

/// An older program reads such a shot as the lateral that stands there; here it is none.
#[test]
fn a_view_that_nobody_set_is_kept_apart_from_the_view() {
    let text = |set: &str| {
        let shot = format!(r#"{{"id": "a", "image": "a.png", "view": "lateral", {set}"marks": {{}}}}"#);
        format!(r#"{{"format": "stillmark case", "version": 1, "shots": [{shot}]}}"#)
    };
    for set in ["", r#""view_set": true, "#, r#""view_set": null, "#] {
        let case = read(&text(set)).unwrap();
        assert_eq!(case.shots[0].known_view(), Some(View::Lateral), "{set}");
        assert!(!to_text(Path::new("a"), &case).unwrap().contains("view_set"));
    }
    let open = read(&text(r#""view_set": false, "#)).unwrap();
    assert_eq!((open.shots[0].view, open.shots[0].known_view()), (View::Lateral, None));
    let saved = to_text(Path::new("a"), &open).unwrap();
    assert!(saved.contains(r#""view": "lateral","#) && saved.contains(r#""view_set": false,"#), "{saved}");
    assert_eq!(read(&saved).unwrap(), open);
    let why = read(&text(r#""view_set": "no", "#)).unwrap_err().to_string();
    assert!(why.contains("shots[0].view_set") && why.contains("true or false"), "{why}");
}

#[test]
fn a_band_that_was_taken_out_stays_out_and_a_missing_one_is_the_default() {
    let with = |targets: &str| {
        let text =
            format!(r#"{{"format": "stillmark case", "version": 1, "settings": {{"targets": {targets}}}}}"#);
        read(&text).unwrap().settings.targets
    };
    assert_eq!(with("{}"), Targets::default());
    let some = with(r#"{"final": {"depth": [0.2, 0.4], "height": null}, "posterior_wall": null}"#);
    assert_eq!(some.band(Some(Stage::Final), Rule::Depth), Some(Band::new(0.2, 0.4)));
    assert_eq!(some.band(Some(Stage::Final), Rule::Height), None);
    assert_eq!(some.band(Some(Stage::Final), Rule::Midline), Some(Band::new(-0.1, 0.1)));
    assert_eq!(some.band(Some(Stage::PosteriorWall), Rule::Depth), None);
}

/// A change of the sample that must be refused, and what the sentence must say.
const REFUSED: &[(&str, &str, &str)] = &[
    (r#""format": "stillmark case""#, r#""format": "other""#, "not a Stillmark case"),
    (r#""format": "stillmark case","#, "", "not a Stillmark case"),
    (r#""version": 1"#, r#""version": 2"#, "newer Stillmark"),
    (r#""version": 1"#, r#""version": 0"#, "version: must be 1"),
    (r#""version": 1"#, r#""version": 1.5"#, "version: must be a whole number"),
    (r#""version": 1"#, r#""version": "1""#, "version: must be a whole number"),
    (r#""version": 1,"#, "", "version: is missing"),
    (r#""title": "Demonstration A""#, r#""title": 7"#, "title: must be a text"),
    (r#"["L4-L5"]"#, r#"["L4-L5", 5]"#, "discs[1]: must be a text"),
    (r#""image_left""#, r#""left""#, "patient_right: “left” is not known"),
    (
        r#""id": "l4-right-ap-1""#,
        r#""id": "l4-right-lateral-3""#,
        "shots[1]: the shot “l4-right-lateral-3” is listed twice",
    ),
    (r#""id": "l4-right-ap-1","#, "", "shots[1].id: is missing"),
    (r#""image": "images/ap-1.png","#, "", "shots[1].image: is missing"),
    (r#""view": "ap","#, "", "shots[1].view: is missing"),
    (
        r#""view": "ap""#,
        r#""view": "axial""#,
        "shots[1].view: “axial” is not known; it must be one of lateral, ap, pedicle",
    ),
    (
        r#""level": "L4", "side": "right", "view": "ap""#,
        r#""level": "L6", "view": "ap""#,
        "shots[1].level: “L6” is not a level",
    ),
    (r#""side": "right", "view": "ap""#, r#""side": "both", "view": "ap""#, "shots[1].side: “both”"),
    (r#""view": "ap", "stage": "final""#, r#""view": "ap", "stage": "last""#, "shots[1].stage: “last”"),
    (r#""frame": 0"#, r#""frame": -1"#, "shots[0].frame: must be a whole number"),
    (r#""frame": 0"#, r#""frame": 4294967296"#, "shots[0].frame: is too large"),
    (r#""mm_per_px": 0.31"#, r#""mm_per_px": 0"#, "shots[0].mm_per_px: the scale must be"),
    (r#""mm_per_px": 0.31"#, r#""mm_per_px": -0.31"#, "shots[0].mm_per_px"),
    (r#""mm_per_px": 0.31"#, r#""mm_per_px": 1e300"#, "shots[0].mm_per_px"),
    (r#""mm_per_px": 0.31"#, r#""mm_per_px": "0.31""#, "shots[0].mm_per_px: must be a number"),
    ("[[365.4, 356.9]]", "[[365.4]]", "shots[0].marks.tip[0]: must be a point"),
    ("[[365.4, 356.9]]", "[365.4, 356.9]", "shots[0].marks.tip[0]: must be a point"),
    ("[[365.4, 356.9]]", r#"[[365.4, "356.9"]]"#, "shots[0].marks.tip[0][1]: must be a number"),
    ("[[365.4, 356.9]]", "[[365.4, 1e300]]", "shots[0].marks.tip[0][1]: the coordinate 1e300"),
    ("[[365.4, 356.9]]", "[[365.4, -1e400]]", "shots[0].marks.tip[0][1]: the number -1e400 is too large"),
    ("[[365.4, 356.9]]", "[[365.4, NaN]]", "not valid JSON at line"),
    ("[[365.4, 356.9]]", "[[365.4, null]]", "shots[0].marks.tip[0][1]: must be a number, but is null"),
    ("[[365.4, 356.9]]", "[[1, 2], [3, 4]]", "shots[0].marks.tip: has 2 points"),
    ("[[365.4, 356.9]]", "7", "shots[0].marks.tip: must be a list"),
    ("[null, [263, 423]]", "[null, [263]]", "shots[0].partial.inferior_end_plate_second[1]: must be a point"),
    ("inferior_end_plate_second", "tip", "shots[0].partial.tip: the mark is also listed"),
    (r#""bone": 0.4"#, r#""bone": -0.4"#, "settings.placement_sd_mm.bone: must not be negative"),
    (r#""bone": 0.4"#, r#""bone": "0.4""#, "settings.placement_sd_mm.bone: must be a number"),
    (r#""view_half_width_deg": 1.2"#, r#""view_half_width_deg": 90"#, "settings: the undetected rotation"),
    ("[0.40, 0.60]", "[0.60, 0.40]", "settings.targets.final.height: the low end"),
    ("[0.40, 0.60]", "[0.40]", "settings.targets.final.height: must be a band"),
    (r#""title": "Demonstration A""#, r#""title": "A", "title": "B""#, "“title” is given twice"),
];

#[test]
fn what_is_wrong_is_named_with_its_place() {
    for (from, to, said) in REFUSED {
        let text = sample();
        assert!(text.contains(from), "the sample has {from}");
        let error = read(&text.replacen(from, to, 1)).expect_err(said).to_string();
        assert!(error.starts_with("a.case.json: ") && error.contains(said), "{error}\nlacks {said}");
        assert_eq!(error.lines().count(), 1, "{error}");
    }
}

#[test]
fn a_file_of_a_newer_version_says_so() {
    let error = read(&sample().replace(r#""version": 1"#, r#""version": 7"#)).unwrap_err();
    assert_eq!(error.kind, ErrorKind::Newer);
    assert!(error.text.contains("version 7"));
}

#[test]
fn a_cut_file_is_refused_at_every_place() {
    let text = sample();
    let end = text.trim_end().len();
    for at in (0..end).filter(|&at| text.is_char_boundary(at)) {
        let error = read(&text[..at]).expect_err("cut");
        assert_eq!(error.to_string().lines().count(), 1);
    }
}

fn finite() -> impl Strategy<Value = f64> {
    // Ordinary pixels, awkward digits, and the far ends of what a mark may be.
    prop_oneof![
        4 => (0.0..2000.0_f64).prop_map(f64::round),
        4 => 0.0..2000.0_f64,
        1 => -1e7..1e7_f64,
        1 => prop_oneof![Just(0.0), Just(1e7), Just(-1e7), Just(1e-300), Just(0.1 + 0.2), Just(5e-324)],
    ]
}

fn words() -> impl Strategy<Value = String> {
    prop_oneof!["[a-z0-9 ./_-]{0,12}", "\\PC{0,8}", Just("“\u{0}\n\t\"\\\u{1f}ä漢".to_owned())]
}

fn extra() -> impl Strategy<Value = Extra> {
    let value = prop_oneof![
        Just("null".to_owned()),
        Just("[1,  2.50, {\"a\": true}]".to_owned()),
        Just("1e400".to_owned()),
        Just("\"\\u00e9\"".to_owned()),
    ];
    // A sign in front keeps made-up keys apart from known ones.
    prop::collection::btree_map(words().prop_map(|w| format!("~{w}")), value, 0..3).prop_map(Extra)
}

fn marks() -> impl Strategy<Value = Marks> {
    let slot = || (any::<bool>(), finite(), finite());
    let of_kind = |kind: MarkKind| {
        let (least, most) = kind.count();
        let most = most.min(least + 5);
        (Just(kind), prop::collection::vec(slot(), least..=most), any::<bool>())
    };
    let kinds: Vec<_> = MarkKind::ALL.into_iter().map(of_kind).collect();
    (kinds, prop::collection::vec(any::<bool>(), MarkKind::ALL.len())).prop_map(|(kinds, present)| {
        let mut marks = Marks::new();
        for ((kind, slots, with_gaps), present) in kinds.into_iter().zip(present) {
            if present {
                let point = |(full, x, y)| (full || !with_gaps).then_some(Point::new(x, y));
                marks.set(kind, slots.into_iter().map(point).collect());
            }
        }
        marks
    })
}

fn shot(id: String) -> impl Strategy<Value = Shot> {
    let level = prop::sample::select((1..=18).collect::<Vec<u8>>()).prop_map(|n| match n {
        1..=12 => Level::from_name(&format!("T{n}")),
        13..=17 => Level::from_name(&format!("L{}", n - 12)),
        _ => Level::from_name("S1"),
    });
    let about = (
        words(),
        any::<u32>(),
        prop::option::of(words()),
        prop_oneof![Just(None), level],
        prop::option::of(prop::sample::select(Side::ALL.to_vec())),
        prop::sample::select(View::ALL.to_vec()),
        prop::option::of(prop::sample::select(Stage::ALL.to_vec())),
    );
    let further = (
        prop::option::of(words()),
        prop::option::of(0.001..1000.0_f64),
        prop::option::of(prop::sample::select(PatientRight::ALL.to_vec())),
        prop::option::of(words()),
        marks(),
        (any::<bool>(), any::<bool>(), prop::option::of(any::<(bool, bool)>())),
        extra(),
        extra(),
    );
    (about, further, scale(), covers(), labels()).prop_map(move |(about, further, scale, covers, labels)| {
        let (image, frame, digest, level, side, view, stage) = about;
        let (
            taken,
            mm_per_px,
            patient_right,
            pair_with,
            marks,
            (draft, view_set, untold),
            extra,
            marks_extra,
        ) = further;
        let id = id.clone();
        // Drafts are also proposed, each mark with another uncertainty.
        let sd = |n: usize| MarkSd {
            across: 0.5 + 0.1 * n as f64,
            common: 0.25,
            along: n.is_multiple_of(2).then_some(1.5),
        };
        let sds = marks.kinds().enumerate().map(|(n, kind)| (kind, sd(n))).collect();
        let proposed = if draft { ProposedMarks::all(&marks, sds) } else { ProposedMarks::default() };
        Shot {
            id,
            image,
            frame,
            digest,
            level,
            side,
            view,
            view_set,
            stage,
            taken,
            mm_per_px,
            mm_per_px_sd: scale.0,
            scale_from: scale.1,
            known_length: scale.2,
            covers,
            labels,
            patient_right,
            cannot_tell: untold.map(|(depth, height)| CannotTell { depth, height }),
            pair_with,
            marks,
            draft,
            proposed,
            extra,
            marks_extra,
        }
    })
}

fn scale() -> impl Strategy<Value = (Option<f64>, Option<ScaleFrom>, Option<KnownLength>)> {
    let known = (point(), 2.0..500.0_f64, 0.01..100.0_f64, 0.0..1.0_f64).prop_map(|(a, apart, mm, share)| {
        KnownLength { ends: [a, Point::new(a.x + apart, a.y)], mm, sd_mm: mm * share }
    });
    (
        prop::option::of(0.0..10.0_f64),
        prop::option::of(prop::sample::select(ScaleFrom::ALL.to_vec())),
        prop::option::of(known),
    )
}

fn covers() -> impl Strategy<Value = Vec<Cover>> {
    let cover = (point(), 1.0..500.0_f64, 1.0..500.0_f64)
        .prop_filter_map("a box", |(a, w, h)| Cover::between(a, Point::new(a.x + w, a.y + h)));
    prop::collection::vec(cover, 0..3)
}

fn labels() -> impl Strategy<Value = Vec<Label>> {
    let kind =
        prop::sample::select(vec![LabelKind::Text, LabelKind::Arrow, LabelKind::Angle, LabelKind::Curve]);
    let about = (kind, prop::collection::vec(point(), 4), ".{0,40}", prop::option::of(point()), extra());
    let label = about.prop_map(|(kind, mut points, text, text_at, extra)| {
        points.truncate(kind.count(false).1);
        Label { text_at, extra, ..Label::new(kind, points).saying(text) }
    });
    prop::collection::vec(label, 0..3)
}

fn point() -> impl Strategy<Value = Point> {
    (-1e5..1e5_f64, -1e5..1e5_f64).prop_map(|(x, y)| Point::new(x, y))
}

fn settings() -> impl Strategy<Value = Settings> {
    let band =
        (-100.0..100.0_f64, 0.0..1.0_f64).prop_map(|(low, wide)| Band::new(low, (low + wide).min(100.0)));
    let bands = prop::collection::btree_map(prop::sample::select(Rule::ALL.to_vec()), band, 0..=3);
    let stages = prop::collection::btree_map(prop::sample::select(Stage::ALL.to_vec()), bands, 0..=5);
    let numbers = (0.0..100.0_f64, 0.0..100.0_f64, 0.0..45.0_f64, 0.0..10.0_f64);
    (numbers, prop_oneof![Just(Targets::default()), stages.prop_map(|stages| Targets { stages })]).prop_map(
        |((bone_sd_mm, metal_sd_mm, view_half_width_deg, change_that_matters), targets)| Settings {
            bone_sd_mm,
            metal_sd_mm,
            view_half_width_deg,
            change_that_matters,
            targets,
        },
    )
}

fn rereadings() -> impl Strategy<Value = Vec<Rereading>> {
    let state = prop::sample::select(Progress::ALL.to_vec());
    let reading = (state, marks(), extra(), extra());
    let round = (prop::collection::vec(reading, 0..3), any::<u64>(), extra());
    prop::collection::vec(round, 0..3).prop_map(|rounds| {
        let rounds =
            rounds.into_iter().zip(1..).map(|((readings, seed, extra), round)| {
                let readings =
                    readings.into_iter().enumerate().map(|(i, (progress, marks, extra, marks_extra))| {
                        Reread { shot: format!("{i} “a”"), progress, marks, extra, marks_extra }
                    });
                Rereading {
                    operator: format!("R{}", round % 2),
                    round,
                    seed,
                    readings: readings.collect(),
                    extra,
                }
            });
        rounds.collect()
    })
}

/// What is written down of bodies, each body and side at most once.
fn records() -> impl Strategy<Value = Vec<BodyRecord>> {
    let one = || (prop::option::of(0.001..86_400.0), prop::option::of(words()), extra());
    let bodies = prop::sample::subsequence(vec![Level::L3, Level::L4, Level::S1], 0..=3);
    bodies.prop_flat_map(move |bodies| {
        let count = bodies.len();
        let sides = prop::collection::vec(prop::sample::select(Side::ALL.to_vec()), count);
        (prop::collection::vec(one(), count), sides).prop_map(move |(said, sides)| {
            let record = |((level, side), (lesion_s, remarks, extra))| BodyRecord {
                lesion_s,
                remarks,
                extra,
                ..BodyRecord::new(level, side)
            };
            bodies.iter().copied().zip(sides).zip(said).map(record).collect()
        })
    })
}

/// Templates of figures, each by its own name.
fn figures() -> impl Strategy<Value = Vec<FigureSpec>> {
    let choices = (
        prop::sample::select(FigureKind::ALL.to_vec()),
        prop::sample::select(FigureWidth::ALL.to_vec()),
        prop::sample::select(FigureGround::ALL.to_vec()),
        any::<[bool; 5]>(),
    );
    let one = (choices, prop::option::of(words()), prop::option::of(words()), extra());
    prop::collection::vec(one, 0..3).prop_map(|figures| {
        let spec = |(i, ((kind, width, ground, switches), title, caption, extra))| {
            let [marked, whole, letters, scale_bar, legend] = switches;
            let name = format!("{i} “a”");
            FigureSpec {
                name,
                kind,
                marked,
                whole,
                width,
                ground,
                title,
                letters,
                caption,
                scale_bar,
                legend,
                extra,
            }
        };
        figures.into_iter().enumerate().map(spec).collect()
    })
}

fn case() -> impl Strategy<Value = Case> {
    let ids = prop::collection::btree_set(words(), 0..4);
    let shots = ids.prop_flat_map(|ids| ids.into_iter().map(shot).collect::<Vec<_>>());
    let about = (
        (prop::option::of(words()), prop::option::of(words())),
        prop::option::of(words()),
        prop::option::of(words()),
        prop::collection::vec(words(), 0..3),
        prop::option::of(prop::sample::select(PatientRight::ALL.to_vec())),
    );
    (
        about,
        settings(),
        (shots, records(), rereadings(), figures()),
        (extra(), extra(), extra(), extra(), extra()),
    )
        .prop_map(
            |(
                ((title, reference), operator, date, discs, patient_right),
                settings,
                (shots, bodies, rereadings, figures),
                extras,
            )| {
                let (extra, in_settings, placement_sd_mm, targets, of_stage) = extras;
                // Only a stage that the target has can have unknown keys of its own.
                let stages: BTreeMap<String, Extra> = settings
                    .targets
                    .stages
                    .keys()
                    .filter(|_| !of_stage.0.is_empty())
                    .map(|stage| (stage.key().to_owned(), of_stage.clone()))
                    .collect();
                let settings_extra =
                    SettingsExtra { settings: in_settings, placement_sd_mm, targets, stages };
                Case {
                    title,
                    operator,
                    date,
                    reference,
                    discs,
                    patient_right,
                    // Said or not, and with keys of its own or none, as the patient's right happens to be.
                    tube: Tube {
                        lateral: patient_right.map(|right| match right {
                            PatientRight::ImageLeft => Side::Left,
                            PatientRight::ImageRight => Side::Right,
                        }),
                        ap: patient_right
                            .filter(|right| *right == PatientRight::ImageLeft)
                            .map(|_| ApTube::Behind),
                    },
                    tube_extra: extra.clone(),
                    settings,
                    bodies,
                    figures,
                    shots: shots.into(),
                    rereadings,
                    extra,
                    settings_extra,
                }
            },
        )
}

#[test]
fn what_was_written_down_of_bodies_is_read_or_refused_by_its_place() {
    let with = |bodies: &str| {
        read(&format!(
            "{{\"format\": \"stillmark case\", \"version\": 1, \"bodies\": {bodies}, \"shots\": []}}"
        ))
    };
    let case = with(
        "[{\"level\": \"L4\", \"side\": \"right\", \"lesion_s\": 900, \"remarks\": \"calm\", \"new\": 1}]",
    )
    .unwrap();
    let record = case.record(Level::L4, Side::Right).unwrap();
    assert_eq!((record.lesion_s, record.remarks.as_deref()), (Some(900.0), Some("calm")));
    assert!(to_text(Path::new("a.case.json"), &case).unwrap().contains("\"new\": 1"));
    for (bodies, place) in [
        ("[{\"side\": \"right\"}]", "bodies[0].level"),
        ("[{\"level\": \"L4\"}]", "bodies[0].side"),
        ("[{\"level\": \"L9\", \"side\": \"left\"}]", "bodies[0].level"),
        ("[{\"level\": \"L4\", \"side\": \"left\", \"lesion_s\": -1}]", "bodies[0].lesion_s"),
        ("[{\"level\": \"L4\", \"side\": \"left\", \"remarks\": 3}]", "bodies[0].remarks"),
        ("[{\"level\": \"L4\", \"side\": \"left\"}, {\"level\": \"L4\", \"side\": \"left\"}]", "bodies[1]"),
        ("7", "bodies"),
    ] {
        let error = with(bodies).unwrap_err().to_string();
        assert!(error.contains(place) && error.lines().count() == 1, "{bodies}: {error}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(256) })]

    #[test]
    fn save_then_load_equals_the_case(case in case()) {
        let text = to_text(Path::new("a.case.json"), &case).unwrap();
        let again = read(&text).unwrap();
        prop_assert_eq!(&again, &case);
        prop_assert_eq!(to_text(Path::new("a.case.json"), &again).unwrap(), text);
    }

    #[test]
    fn any_text_is_read_or_refused_in_one_line(cut in 0_usize..3000, junk in "\\PC{0,12}", keep in any::<bool>()) {
        let text = sample();
        let at = (0..=cut.min(text.len())).rev().find(|&at| text.is_char_boundary(at)).unwrap_or(0);
        let rest = if keep { &text[at..] } else { "" };
        if let Err(error) = read(&format!("{}{junk}{rest}", &text[..at])) {
            prop_assert_eq!(error.to_string().lines().count(), 1, "{}", error);
        }
    }
}

/// Origins of marks come through a load and a save, and what cannot be meant is refused with its place.
#[test]
fn the_origin_of_marks_is_kept() {
    let file = |sd: &str| {
        format!(
            r#"{{ "format": "stillmark case", "version": 1, "shots": [{{ "id": "a", "image": "a.png", "view": "lateral",
            "draft": true, "marks": {{ "superior_end_plate": [[1, 2], [3, 4]], "tip": [[5, 6]] }},
            "proposed": {{ "superior_end_plate": [true, false], "tip": [false] }},
            "mark_sd_mm": {{ "superior_end_plate": {sd}, "tip": {{ "across": 0.4 }} }} }}] }}"#
        )
    };
    let open = |text: &str| from_bytes(Path::new("a.case.json"), text.as_bytes());
    let case = open(&file(r#"{ "across": 0.62, "common": 0.4 }"#)).unwrap();
    let proposed = &case.shots[0].proposed;
    let at = |kind, index| MarkRef { kind, index };
    assert!(proposed.holds(at(MarkKind::SuperiorEndPlate, 0)));
    assert!(!proposed.holds(at(MarkKind::SuperiorEndPlate, 1)) && !proposed.holds(at(MarkKind::Tip, 0)));
    let text = to_text(Path::new("a.case.json"), &case).unwrap();
    assert!(text.contains(r#""superior_end_plate": [true, false]"#), "{text}");
    assert!(text.contains(r#""superior_end_plate": { "across": 0.62, "common": 0.4 }"#), "{text}");
    assert_eq!(open(&text).unwrap(), case);
    for wrong in ["{}", r#"{ "across": -1 }"#, r#"{ "across": 0.2, "common": 0.4 }"#, "7"] {
        let error = open(&file(wrong)).unwrap_err().to_string();
        assert!(error.contains("mark_sd_mm.superior_end_plate"), "{error}");
    }
}
