//! Writes `docs/coverage-angle.md`: every row of both families.

use std::fmt::Write as _;

use stillmark::measure::mark::Stage;

use super::subject::{Family, QUANTITIES};
use super::{Contours, Judged, Off, Row, Trial, WITHIN, off, summary, trials};

const PAGE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/coverage-angle.md");

const ANGLES: [(Off, &str); 10] = [
    (WITHIN, "± 1.4°"),
    (turned(3.0), "turn 3°"),
    (turned(5.0), "turn 5°"),
    (turned(8.0), "turn 8°"),
    (tilted(3.0), "tilt 3°"),
    (tilted(5.0), "tilt 5°"),
    (tilted(8.0), "tilt 8°"),
    (both(3.0), "both 3°"),
    (both(5.0), "both 5°"),
    (both(8.0), "both 8°"),
];

const SHOWN: [(Contours, bool, &str); 4] = [
    (Contours::One, false, "one"),
    (Contours::Both, false, "both"),
    (Contours::Both, true, "both, tube known"),
    (Contours::CannotTell, false, "cannot tell"),
];

const fn turned(deg: f64) -> Off {
    Off { turn: Some(deg), tilt: None }
}

const fn tilted(deg: f64) -> Off {
    Off { turn: None, tilt: Some(deg) }
}

const fn both(deg: f64) -> Off {
    Off { turn: Some(deg), tilt: Some(deg) }
}

const INTRODUCTION: &str = "\
# Turned and tilted views: do the intervals hold?

Matched pairs are simulated whose truth is known, marked as a user would mark them, and read by the same code as in the
window: directly, and as a true view would show it (method, *Turned and tilted views*). `STILLMARK_ANGLES=100
STILLMARK_UPDATE=1 cargo test coverage_angle` makes these tables again; an ordinary test run simulates the method's
acceptance rows and fails where they are not met.

Both shots of a pair are off a true view by the stated angle, each with a sign of its own; a direction that is not named is
within ± 1.4°. *One*: one contour of each border is marked, near or far at random, and the reader says that it shows once.
*Both*: the second contours are marked too, from their own corners. *Cannot tell*: one contour is marked, and the reader
says that it cannot be told. Every point is off by 0.5 mm (bone) or 0.25 mm (metal) in each direction. The side of the tube
is unknown unless it says so.

A cell holds the **direct** reading's error (root mean square) and share held, then what **a true view would show**: error,
half of the 95 % interval over 1.96, share held. Errors are in thousandths of the body. The direct height is the pair's weighted mean.

The interval has more than the standard uncertainty that is stated beside it: what the method's models leave open, growing
with the turn and the tilt found (`src/measure/true_view/left_open.rs`). Its constants were chosen on
other pairs of the first family, with the second in view: these rows are no blind check of them.

The **first family** is the phantom's (see coverage.md). The **second** is drawn from other shapes: sides of unequal width
(3 %), a coronal wedge, a twisted arch (1.8°), rims at 0.76 to 0.94 of the section, other sections and floors, pedicles of
unequal width, spinous processes that deviate by 2.3 mm, and outgrowths that a reader leaves out only in part.
";

const VERDICTS: &str = "
With **one contour** an interval knows nothing of a tilt beyond 1.4°, and its verdicts are wrong the more the view is off: a
reader who says that a border shows once has to have looked. Where *nobody asked*, a verdict is withheld if the other view
speaks against it: on the height if the two heights disagree, on the depth if the AP is turned by more than one and a half of its standard
uncertainties. Within 1.4° that costs the verdicts by which the rows *one* and *one, nobody asked* differ. It does not bring the
share held to 93 %: two views tilted alike agree, and no mark tells that a lateral alone is turned. What would is to withhold
every verdict of a direction with one contour that nobody has spoken of; then none is left within 1.4° either.
";

/// All rows, as many pairs each as the environment asks for.
#[test]
fn every_row_of_both_families() {
    let Some(n) = std::env::var("STILLMARK_ANGLES").ok().and_then(|n| n.parse::<u64>().ok()) else { return };
    let mut page = INTRODUCTION.to_owned();
    let mut stream = 1000;
    let mut verdicts = String::new();
    for (family, name) in [(Family::Phantom, "First family"), (Family::Other, "Second family")] {
        for stage in Stage::ALL {
            write!(page, "\n## {name}, {}\n\n| off | marked |", stage.key()).unwrap_or_default();
            for quantity in QUANTITIES {
                write!(page, " {quantity} |").unwrap_or_default();
            }
            page.push_str("\n| --- | --- |");
            page.push_str(&" --- |".repeat(QUANTITIES.len()));
            page.push('\n');
            for (off, angle) in ANGLES {
                stream += 1;
                for (contours, tube, marked) in SHOWN {
                    let all = trials(&Row { family, stage, off, contours, tube }, n, stream);
                    line(&mut page, angle, marked, &all);
                    if stage == Stage::Final {
                        judged(&mut verdicts, name, angle, marked, &all);
                    }
                }
                if stage == Stage::Final {
                    let row = Row { family, stage, off, contours: Contours::Unanswered, tube: false };
                    judged(&mut verdicts, name, angle, "one, nobody asked", &trials(&row, n, stream));
                }
            }
        }
    }
    write!(
        page,
        "\n## Verdicts at the last stage\n\nDepth, height and offset from the pedicles of a pair together: how often a verdict is \
         given (inside or outside), how often it is wrong, and how often its interval holds the truth where it is given.\n\n| family | off | marked | given | wrong | held where given |\n| --- | --- | --- | ---: | ---: | ---: |\n{verdicts}{VERDICTS}"
    )
    .unwrap_or_default();
    write!(page, "\n{n} pairs a row.\n").unwrap_or_default();
    if std::env::var_os("STILLMARK_UPDATE").is_some() {
        std::fs::write(PAGE, page).expect("the page can be written");
    } else {
        let there = std::fs::read_to_string(PAGE).unwrap_or_default();
        assert!(there == page, "docs/coverage-angle.md is not current; run with STILLMARK_UPDATE=1");
    }
}

fn line(page: &mut String, angle: &str, marked: &str, all: &[Trial]) {
    write!(page, "| {angle} | {marked} |").unwrap_or_default();
    for quantity in 0..QUANTITIES.len() {
        let direct = summary(all.iter().map(|t| &t.direct[quantity]));
        let view = summary(all.iter().map(|t| &t.view[quantity]));
        write!(
            page,
            " {:.1} {:.0} % → {:.1} / {:.1} {:.0} % |",
            1e3 * direct.rms,
            100.0 * direct.held,
            1e3 * view.rms,
            1e3 * view.sd,
            100.0 * view.held
        )
        .unwrap_or_default();
    }
    page.push('\n');
}

fn judged(page: &mut String, family: &str, angle: &str, marked: &str, all: &[Trial]) {
    let (mut given, mut false_ones, mut kept, mut sum) = (0.0, 0.0, 0.0, 0.0);
    for &Judged { decided, wrong, held } in all.iter().flat_map(|trial| &trial.verdicts) {
        sum += 1.0;
        given += f64::from(u8::from(decided));
        false_ones += f64::from(u8::from(wrong));
        kept += f64::from(u8::from(decided && held));
    }
    let share = |x: f64| 100.0 * x / f64::max(sum, 1.0);
    writeln!(
        page,
        "| {family} | {angle} | {marked} | {:.0} % | {:.1} % | {:.0} % |",
        share(given),
        share(false_ones),
        100.0 * kept / f64::max(given, 1.0)
    )
    .unwrap_or_default();
}

/// The estimated turn holds the true one as often as it says, at 5°, and is not far off.
#[test]
fn the_turn_found_holds_the_turn_taken() {
    for (family, stream) in [(Family::Phantom, 300), (Family::Other, 301)] {
        let row =
            Row { family, stage: Stage::Final, off: off(5.0, 5.0), contours: Contours::One, tube: false };
        let all = trials(&row, 200, stream);
        let turns: Vec<[f64; 3]> = all.iter().filter_map(|trial| trial.turn).collect();
        let held = turns.iter().filter(|[deg, sd, truth]| (deg - truth).abs() <= 1.96 * sd).count();
        assert!(turns.len() > 150 && 100 * held >= 88 * turns.len(), "{family:?}: {held} of {}", turns.len());
    }
}
