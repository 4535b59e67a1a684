//! The manual's drawings are made by the program: each must be what the program draws now.
//!
//! To write them anew after a change: `STILLMARK_UPDATE=1 cargo test --test it drawings`; then look at each.

use std::fs;
use std::path::{Path, PathBuf};

use stillmark::io::export::{PageFormat, page_bytes};
use stillmark::scene::lesson;
use stillmark::scene::page::Page;
use stillmark::scene::theme::Theme;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/drawings")
}

#[test]
fn the_manuals_drawings_are_the_programs_own() {
    let update = std::env::var_os("STILLMARK_UPDATE").is_some();
    let mut stale = Vec::new();
    for (name, scene) in lesson::all() {
        let bytes = page_bytes(&Page::of_drawing(scene), &Theme::light(), PageFormat::Svg).unwrap();
        let file = folder().join(format!("{name}.svg"));
        if update {
            fs::create_dir_all(folder()).unwrap();
            fs::write(&file, &bytes).unwrap();
        } else if fs::read(&file).ok().as_deref() != Some(bytes.as_slice()) {
            stale.push(name);
        }
    }
    assert!(stale.is_empty(), "not as the program draws them now: {stale:?}; see the head of this file");
}

#[test]
fn every_drawing_of_the_manual_is_shown_in_it() {
    let manual = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/method.md")).unwrap();
    for (name, _) in lesson::all() {
        assert!(manual.contains(&format!("](drawings/{name}.svg)")), "{name}");
    }
    let mut files: Vec<_> = fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    files.sort();
    let mut known: Vec<_> = lesson::all().iter().map(|(name, _)| format!("{name}.svg")).collect();
    known.sort();
    assert_eq!(files, known);
}

/// Writes every drawing in both modes as PNG into a folder of the user's, to be looked at:
/// `STILLMARK_LOOK=folder cargo test --test it drawings_to_look_at`.
#[test]
fn drawings_to_look_at() {
    let Some(folder) = std::env::var_os("STILLMARK_LOOK").map(PathBuf::from) else { return };
    fs::create_dir_all(&folder).unwrap();
    for (name, scene) in lesson::all() {
        for (mode, theme) in [("dark", Theme::dark()), ("light", Theme::light())] {
            let page = Page::of_drawing(scene.clone());
            fs::write(
                folder.join(format!("{name}-{mode}.png")),
                page_bytes(&page, &theme, PageFormat::Png).unwrap(),
            )
            .unwrap();
        }
    }
}
