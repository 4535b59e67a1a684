//! Journeys over many cases in the window: a folder is read, bodies are sorted and filtered, a row opens its case.

use std::path::Path;

use eframe::egui::{Key, Modifiers, vec2};
use egui_kittest::kittest::Queryable as _;
use stillmark::app::pages::Page;
use stillmark::measure::mark::View;

use crate::journey::{Journey, alone, one_picture};
use crate::series::fill;

fn page(journey: &Journey) -> Page {
    journey.window.state().state.pages.shown
}

/// The rows that are seen, from the top.
fn rows(journey: &Journey) -> Vec<String> {
    let named = journey.window.query_all_by_label_contains("Open L").filter_map(|node| {
        let node = egui_kittest::kittest::NodeT::accesskit_node(&node);
        Some((node.bounding_box()?.y0, node.label()?))
    });
    let mut rows: Vec<(f64, String)> = named.collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    rows.into_iter().map(|(_, words)| words).collect()
}

/// Opens a list by its name and chooses a line of it.
fn choose(journey: &mut Journey, list: &str, line: &str) {
    journey.press(list);
    journey.window.get_by_label(line).click();
    journey.window.run();
}

/// What is shown is saved as a drawing, and copied.
fn image_is_saved_and_copied(journey: &mut Journey, file: &Path) {
    journey.answer(file);
    journey.press("Save image");
    assert!(std::fs::read_to_string(file).expect("the saved image").contains("<svg "));
    journey.press("Copy image");
    assert!(journey.shows("Copied to the clipboard."));
}

/// By hand: depths of 0.40, 0.80, 0.40 and 0.40 lie 0.10 forward of the band's middle on average.
#[test]
fn plots_say_in_words_what_they_show() {
    alone("window_series", "plots_say_in_words_what_they_show", |folder| {
        let mut journey = read(folder);
        journey.press("Tips in the body");
        assert!(journey.shows(
            "5 tips in a typical body, lateral drawing; mean error from the center of the target: depth 10 % too far anterior"
        ));
        assert!(
            journey.shows("4 tips in a typical body, axial drawing"),
            "one body has no view from the front"
        );
        journey.press("AP, large");
        assert!(journey.shows("AP") && !journey.shows("typical body, axial drawing"));
        journey.press("All three");
        journey.press("Errors over time");
        assert!(
            journey.shows("Error of the depth over time, 4 bodies: 2026 H1 mean +20 %, 2026 H2 mean 0 %.")
        );
        assert!(journey.shows("Error of the height over time, 4 bodies"));
        journey.press("Cumulative sums");
        assert!(journey.shows("Cumulative sum with decision limits"));
        assert!(journey.shows("miss rate too high above 2.71; acceptable below −2.71"));
        assert!(journey.shows("Decision limits: each tip outside the target adds"));
        // Other rates give other limits; rates that cannot be meant are refused in a sentence.
        journey.window.get_by_label("Unacceptable miss rate, %").focus();
        journey.window.run();
        journey.key(Modifiers::COMMAND | Modifiers::CTRL, Key::A);
        journey.window.get_by_label("Unacceptable miss rate, %").type_text("30");
        journey.key(Modifiers::NONE, Key::Enter);
        assert!(journey.shows("miss rate too high above 1.63; acceptable below −1.63"));
        journey.window.get_by_label("Unacceptable miss rate, %").focus();
        journey.window.run();
        journey.key(Modifiers::COMMAND | Modifiers::CTRL, Key::A);
        journey.window.get_by_label("Unacceptable miss rate, %").type_text("5");
        journey.key(Modifiers::NONE, Key::Enter);
        assert!(journey.shows("type them in percent, such as 10 and 20."));
        // The figure and the document say the same.
        let paper = folder.join("series.pdf");
        journey.answer(&paper);
        journey.press("Save as PDF");
        assert!(journey.shows("The series was written to"));
        assert!(std::fs::read(&paper).unwrap().starts_with(b"%PDF-"));
        // The table as an image, too.
        journey.press("Table");
        image_is_saved_and_copied(&mut journey, &folder.join("table.svg"));
        journey.press("Dismiss");
        journey.press("Cumulative sums");
        let table = folder.join("bodies");
        journey.answer(&table);
        journey.press("Save table");
        let written = std::fs::read_to_string(folder.join("bodies.csv")).unwrap();
        assert_eq!(written.lines().count(), 6, "{written}");
        // Each plot by itself, as a file and on the clipboard, and the numbers behind it.
        image_is_saved_and_copied(&mut journey, &folder.join("sums.svg"));
        let numbers = folder.join("sums.csv");
        journey.answer(&numbers);
        journey.press("Save sums");
        let written = std::fs::read_to_string(&numbers).unwrap();
        assert!(written.lines().count() > 3 && written.starts_with("n,file,"), "{written}");
        journey.press("Dismiss");
        journey.press("Copy sums");
        assert!(journey.shows("Copied to the clipboard."));
        // Filters hold for the plots as well.
        choose(&mut journey, "Operator: all", "R1");
        journey.press("Tips in the body");
        assert!(journey.shows("2 tips in a typical body, lateral drawing"));
    });
}

/// Begins without a case, reads the folder and shows its table.
fn read(folder: &Path) -> Journey {
    let root = folder.join("cases");
    fill(&root);
    let mut journey = Journey::sized(Vec::new(), vec2(1280.0, 800.0));
    journey.press("Case series");
    assert!(journey.shows("Images are not opened, and no file is changed."));
    journey.answer(&root);
    journey.press("Add a folder of cases");
    journey
}

#[test]
fn bodies_of_a_folder_are_listed_sorted_and_filtered() {
    alone("window_series", "bodies_of_a_folder_are_listed_sorted_and_filtered", |folder| {
        let mut journey = read(folder);
        assert!(journey.shows("5 case files, 5 bodies treated"));
        assert!(journey.shows("Not a medical device"), "the caution stands");
        // By date as it comes up.
        assert_eq!(
            rows(&journey),
            [
                "Open L4 right, 2026-01-10, operator R1: inside the target",
                "Open L4 right, 2026-03-10, operator R1: outside the target",
                "Open L4 left, 2026-08-10, operator R2: inside the target",
                "Open L4 right, 2026-09-10, operator R2: inside the target",
                "Open L4 right, 2026-09-11, operator R2: one view only",
            ]
        );
        journey.press("Sort by depth");
        journey.press("Sort by depth: sorted");
        assert!(rows(&journey)[0].contains("2026-03-10"), "80 % is the deepest");

        journey.press("Skipped: 2");
        assert!(journey.shows("broken.case.json") && journey.shows("other.json"));

        choose(&mut journey, "Operator: all", "R2");
        assert!(journey.shows("3 of 5 bodies") && rows(&journey).len() == 3);
        choose(&mut journey, "Target: all", "inside the target");
        assert_eq!(rows(&journey).len(), 2);
        // What the bodies say is worked out for those that are listed: both in the target, as Wilson has it for 2 of 2:
        // 1/(1 + z²/2) = 34 %.
        journey.press("Proportions");
        assert!(journey.shows("Of the listed bodies:") && journey.shows("100 % (34 % to 100 %)"));
        journey.press("Show all");
        // 3 of 4: 0.3006 to 0.9544 by hand.
        assert!(journey.shows("Of all bodies:") && journey.shows("75 % (30 % to 95 %)"));
        assert!(journey.shows("not independent of each other"));
        journey.press("Table");
        journey.window.get_by_label("Find in the table").focus();
        journey.window.get_by_label("Find in the table").type_text("left r2");
        journey.window.run();
        assert_eq!(rows(&journey), ["Open L4 left, 2026-08-10, operator R2: inside the target"]);
        journey.window.get_by_label("Find in the table").type_text(" nothing");
        journey.window.run();
        assert!(journey.shows("No body matches"));

        journey.press("Start over");
        assert!(journey.shows("See every treated body"));
    });
}

#[test]
fn a_row_opens_its_case_after_asking_about_unsaved_work() {
    alone("window_series", "a_row_opens_its_case_after_asking_about_unsaved_work", |folder| {
        let (picture, places) = one_picture(folder);
        let mut journey = read(folder);
        journey.press("Open L4 left, 2026-08-10, operator R2: inside the target");
        assert_eq!(page(&journey), Page::Picture);
        let shown = |journey: &Journey| {
            let document = journey.window.state().state.editor.document.as_ref().unwrap();
            (document.file.clone().unwrap(), document.shot().unwrap().view)
        };
        assert_eq!(shown(&journey), (folder.join("cases/b/c/d/3.case.json"), View::Lateral));

        // Back to the table, which is as it was; then away to other work, unsaved.
        journey.key(Modifiers::NONE, Key::F9);
        assert_eq!((page(&journey), rows(&journey).len()), (Page::Series, 5));
        journey.key(Modifiers::NONE, Key::Escape);
        assert_eq!(page(&journey), Page::Picture);
        journey.answer(&picture);
        journey.key(Modifiers::CTRL, Key::O);
        journey.it_is_a_lateral();
        journey.click_picture(places[0]);
        assert!(journey.unsaved());
        journey.key(Modifiers::NONE, Key::F9);
        journey.press("Open L4 right, 2026-03-10, operator R1: outside the target");
        assert!(journey.shows("The case has unsaved changes."));
        journey.press("Cancel");
        assert_eq!(page(&journey), Page::Series);
        assert!(journey.unsaved(), "nothing was lost");
        journey.press("Open L4 right, 2026-03-10, operator R1: outside the target");
        journey.press("Discard");
        assert_eq!(page(&journey), Page::Picture);
        assert_eq!(shown(&journey).0, folder.join("cases/a/2.case.json"));
    });
}
