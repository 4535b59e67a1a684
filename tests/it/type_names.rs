//! One type name, one meaning: who reads `Frame` must not have to look which of them is meant.
//!
//! Every `struct`, `enum`, `trait` and `type` of the source counts, private ones too, but not associated types. A name stands
//! once in a layer, and over all layers no oftener than [`IN_SEVERAL_LAYERS`] says.

use std::collections::BTreeMap;
use std::path::Path;
use std::{fs, io};

/// Names that stand in several layers, with why they stay.
const IN_SEVERAL_LAYERS: &[(&str, &str)] = &[
    ("Look", "how a simulated shot is to look (phantom), and how grays are shown (scene)"),
    (
        "Mode",
        "what pointer and keys are about (app), and light or dark (scene): each is what its layer is about",
    ),
    ("Page", "what fills the window (app), and a sheet of paper (scene)"),
    ("Patch", "values on a grid over a body (align), and the image around one (propose)"),
    ("Picture", "what is known of a shot's image (case), and a gray image among shapes (scene)"),
    ("Position", "whether two shots were taken from one place (measure), and a tip in the body (scene)"),
    ("Refusal", "why a command does nothing (app), and why nothing is proposed (propose)"),
    ("Shape", "one thing to draw (scene), and the numbers of an outline (propose)"),
    ("Showing", "which part of an image is seen (app), and which contours a simulated shot shows (phantom)"),
    ("State", "everything the window knows (app), and what can be said of a target (measure)"),
];

#[test]
fn a_type_name_has_one_meaning() -> io::Result<()> {
    let mut places: BTreeMap<String, Vec<String>> = BTreeMap::new();
    collect(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), "", &mut places)?;
    assert!(places.len() > 500, "only {} types were found: is the source somewhere else?", places.len());
    let mut wrong = Vec::new();
    for (name, files) in &places {
        let mut layers: BTreeMap<&str, usize> = BTreeMap::new();
        for file in files {
            *layers.entry(file.split('/').next().unwrap_or_default()).or_default() += 1;
        }
        if let Some((layer, times)) = layers.iter().find(|(_, times)| **times > 1) {
            wrong.push(format!("`{name}` stands {times} times in `{layer}`: {}", files.join(", ")));
        }
        let allowed = IN_SEVERAL_LAYERS.iter().any(|(allowed, _)| allowed == name);
        if layers.len() > 1 && !allowed {
            wrong.push(format!("`{name}` means something else in each of: {}", files.join(", ")));
        }
    }
    for (name, _) in IN_SEVERAL_LAYERS {
        if places.get(*name).is_none_or(|files| files.len() < 2) {
            wrong.push(format!("`{name}` no longer stands in several layers; take it off the list"));
        }
    }
    assert!(wrong.is_empty(), "give one of them a name that says what it is:\n{}", wrong.join("\n"));
    Ok(())
}

/// The types of all files below a folder, by name.
fn collect(folder: &Path, above: &str, places: &mut BTreeMap<String, Vec<String>>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let below = if above.is_empty() { name } else { format!("{above}/{name}") };
        if path.is_dir() {
            collect(&path, &below, places)?;
        } else if below.ends_with(".rs") {
            for line in fs::read_to_string(&path)?.lines() {
                if let Some(name) = declared(line) {
                    places.entry(name.to_owned()).or_default().push(below.clone());
                }
            }
        }
    }
    Ok(())
}

/// The type that a line declares.
fn declared(line: &str) -> Option<&str> {
    let indented = line.starts_with(' ');
    let line = line.trim_start();
    let visible = line.strip_prefix("pub").map_or(line, |rest| {
        let rest =
            rest.strip_prefix('(').and_then(|inner| inner.split_once(')')).map_or(rest, |(_, rest)| rest);
        rest.trim_start()
    });
    let (kind, rest) = visible.split_once(' ')?;
    let is_type = match kind {
        "struct" | "enum" | "trait" => true,
        // Within a block it is one of a trait.
        "type" => !indented,
        _ => false,
    };
    let name = rest.split(|c: char| !c.is_alphanumeric() && c != '_').next()?;
    (is_type && name.starts_with(char::is_uppercase)).then_some(name)
}

#[test]
fn declarations_are_recognized() {
    assert_eq!(declared("pub(in crate::app) struct Frame<'a> {"), Some("Frame"));
    assert_eq!(declared("    enum Kind {"), Some("Kind"));
    assert_eq!(declared("pub type Pair = (f64, f64);"), Some("Pair"));
    assert_eq!(declared("    type Item = f64;"), None);
    assert_eq!(declared("/// struct of a case"), None);
    assert_eq!(declared("public struct"), None);
}
