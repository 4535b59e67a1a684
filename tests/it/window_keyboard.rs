//! Every control of the window by keyboard and for assistive technology: on each page, whatever can be used has a name,
//! and Tab reaches it.

use std::collections::BTreeMap;
use std::path::Path;

use eframe::egui::accesskit::Role;
use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};

use crate::journey::{Journey, one_picture, samples};

/// What can be used.
const USED: [Role; 12] = [
    Role::Button,
    Role::CheckBox,
    Role::RadioButton,
    Role::ComboBox,
    Role::TextInput,
    Role::MultilineTextInput,
    Role::Slider,
    Role::SpinButton,
    Role::Link,
    Role::Tab,
    Role::ListBoxOption,
    Role::Canvas,
];

fn alone(name: &str, journey: impl FnOnce(&Path)) {
    crate::journey::alone("window_keyboard", name, journey);
}

/// Each control that can be used now, by its number in the tree, with its role and name.
fn controls(journey: &Journey) -> BTreeMap<String, String> {
    let used = journey.window.query_all_by(|node| USED.contains(&node.role()) && !node.is_disabled());
    let told = used.map(|node| {
        let node = node.accesskit_node();
        (format!("{:?}", node.id()), format!("{:?} “{}”", node.role(), node.label().unwrap_or_default()))
    });
    told.collect()
}

/// Goes round the window with Tab and says what was passed over or has no name.
fn missed(journey: &mut Journey, page: &str) -> Vec<String> {
    missed_before(journey, page, &BTreeMap::new())
}

/// The same in front of what has to wait until a question or a list is closed.
fn missed_before(journey: &mut Journey, page: &str, behind: &BTreeMap<String, String>) -> Vec<String> {
    let mut left = controls(journey);
    left.retain(|id, _| !behind.contains_key(id));
    assert!(!left.is_empty(), "{page} shows nothing that can be used");
    let mut wrong: Vec<String> = left
        .values()
        .filter(|told| told.ends_with("“”"))
        .map(|told| format!("{page}: {told} has no name"))
        .collect();
    for _ in 0..2 * left.len() + 8 {
        journey.key(Modifiers::NONE, Key::Tab);
        let focused = journey.window.query_all_by(|node| node.is_focused());
        for node in focused.map(|node| format!("{:?}", node.accesskit_node().id())).collect::<Vec<_>>() {
            left.remove(&node);
        }
        if left.is_empty() {
            break;
        }
    }
    // What came and went meanwhile, such as a hint, is not asked for.
    let still = controls(journey);
    left.retain(|id, _| still.contains_key(id));
    wrong.extend(left.values().map(|told| format!("{page}: Tab does not reach {told}")));
    wrong
}

#[test]
fn tab_reaches_every_control_beside_an_image() {
    alone("tab_reaches_every_control_beside_an_image", |folder| {
        let mut wrong = Vec::new();
        let mut start = Journey::begin(Vec::new());
        wrong.extend(missed(&mut start, "start"));
        drop(start);
        let (still, _) = one_picture(folder);
        let mut asked = Journey::begin(vec![still]);
        wrong.extend(missed(&mut asked, "view asked"));
        drop(asked);
        let mut journey = Journey::begin(vec![samples().join("demonstration.case.json")]);
        assert!(controls(&journey).len() > 40, "{:?}", controls(&journey));
        wrong.extend(missed(&mut journey, "read"));
        journey.key(Modifiers::NONE, Key::C);
        wrong.extend(missed(&mut journey, "details"));
        for (key, name) in [(Key::S, "labeling"), (Key::W, "redaction"), (Key::E, "annotations")] {
            journey.key(Modifiers::NONE, Key::Escape);
            journey.key(Modifiers::NONE, key);
            wrong.extend(missed(&mut journey, name));
            journey.key(Modifiers::NONE, Key::Escape);
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    });
}

#[test]
fn tab_reaches_every_control_of_the_pages() {
    alone("tab_reaches_every_control_of_the_pages", |_| {
        let mut journey = Journey::begin(vec![samples().join("demonstration.case.json")]);
        let mut wrong = Vec::new();
        for (key, page) in [
            (Key::F4, "case settings"),
            (Key::F1, "keyboard shortcuts"),
            (Key::F5, "shot overview"),
            (Key::F6, "compare"),
            (Key::F7, "tip path"),
            (Key::F8, "figure"),
            (Key::F9, "series"),
            (Key::F10, "re-reading"),
            (Key::F12, "practice"),
        ] {
            let before = journey.window.state().state.pages.shown;
            let behind = controls(&journey);
            let held = if key == Key::F5 { Modifiers::SHIFT } else { Modifiers::NONE };
            journey.key(held, key);
            let state = &journey.window.state().state;
            assert!(state.pages.shown != before || state.display.help || state.display.settings, "{page}");
            let on_top = state.display.help || state.display.settings;
            let behind = if on_top { behind } else { BTreeMap::new() };
            wrong.extend(missed_before(&mut journey, page, &behind));
            // A field that is left keeps what it held; then the page or the list closes.
            for _ in 0..3 {
                journey.key(Modifiers::NONE, Key::Escape);
            }
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    });
}

/// The image says what is shown on it and what was read, in words.
#[test]
fn the_image_describes_the_reading() {
    alone("the_image_describes_the_reading", |_| {
        let journey = Journey::begin(vec![samples().join("demonstration.case.json")]);
        let canvas = journey.window.get_by_role(Role::Canvas).accesskit_node().label().unwrap_or_default();
        assert!(canvas.starts_with("Image of shot l4-right-lateral-final"), "{canvas}");
        assert!(canvas.contains("Inside") && canvas.contains("depth 4"), "{canvas}");
    });
}
