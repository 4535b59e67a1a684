//! The module graph, checked: an arrow missing from `LAYERS` is a design change, not an accident.

use std::{
    fs, io,
    path::{Path, PathBuf},
};

/// Module, modules it may use, outside crates only it may use.
const LAYERS: &[(&str, &[&str], &[&str])] = &[
    ("geom", &[], &[]),
    ("stats", &[], &["libm", "statrs"]),
    ("measure", &["geom", "stats"], &["rand", "rand_chacha", "rand_distr"]),
    ("case", &["geom", "measure"], &[]),
    ("align", &["geom", "stats", "measure", "case"], &["rayon"]),
    ("study", &["geom", "stats", "measure", "case"], &[]),
    (
        "scene",
        &["geom", "stats", "measure", "case", "align", "study"],
        &["ttf_parser", "epaint_default_fonts"],
    ),
    ("phantom", &["geom", "stats", "measure", "case"], &["glam", "libm", "rand_chacha", "rayon"]),
    (
        "io",
        &["geom", "stats", "measure", "case", "align", "study", "scene", "phantom"],
        &[
            "base64",
            "dicom_core",
            "dicom_dictionary_std",
            "dicom_object",
            "dicom_pixeldata",
            "directories",
            "epaint_default_fonts",
            "flate2",
            "image",
            "jpegls",
            "krilla",
            "krilla_svg",
            "resvg",
            "serde",
            "serde_json",
            "sha2",
            "tempfile",
            "tiff",
            "ttf_parser",
        ],
    ),
    ("app", &["geom", "measure", "case", "align", "study", "scene", "phantom", "io"], &[]),
    ("ui", &["geom", "measure", "case", "study", "scene", "app"], &["eframe", "egui", "egui_plot", "rfd"]),
    (
        "cli",
        &["geom", "stats", "measure", "case", "align", "study", "scene", "phantom", "io", "app"],
        &["clap"],
    ),
];

/// Crates that belong to the layers that list them.
const KEPT_APART: &[&str] = &[
    "base64",
    "clap",
    "dicom_core",
    "dicom_dictionary_std",
    "dicom_object",
    "dicom_pixeldata",
    "directories",
    "eframe",
    "egui",
    "egui_plot",
    "epaint_default_fonts",
    "flate2",
    "glam",
    "image",
    "jpegls",
    "krilla",
    "krilla_svg",
    "libm",
    "rand",
    "rand_chacha",
    "rand_distr",
    "resvg",
    "rfd",
    "serde",
    "serde_json",
    "sha2",
    "statrs",
    "tempfile",
    "tiff",
    "ttf_parser",
];

/// What the method and its statistics must not know: files, clocks, the environment, threads.
const BANNED_IN_METHOD: &[&str] = &["std::fs", "std::time", "std::env", "std::path", "std::net", "std::io"];

#[test]
fn dependencies_point_inward() -> io::Result<()> {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut wrong = Vec::new();
    let mut seen = 0;
    for (layer, uses, crates) in LAYERS {
        for file in rust_files(&src.join(layer))? {
            let text = fs::read_to_string(&file)?;
            for (n, line) in text.lines().enumerate() {
                seen += 1;
                let code = line.split("//").next().unwrap_or_default();
                let own = paths_after(code, "crate::").filter(|m| m != layer && !uses.contains(m));
                let outside = KEPT_APART.iter().copied().filter(|c| !crates.contains(c) && has_root(code, c));
                let upward = code.contains("super::super").then_some("super::super");
                let method = ["measure", "stats", "geom"].contains(layer);
                let banned = BANNED_IN_METHOD.iter().copied().filter(|b| method && code.contains(b));
                for bad in own.chain(outside).chain(upward).chain(banned) {
                    wrong.push(format!("{}:{}: `{layer}` uses `{bad}`", file.display(), n + 1));
                }
            }
        }
    }
    for entry in fs::read_dir(&src)? {
        let entry = entry?;
        let name = entry.file_name().to_string_lossy().into_owned();
        let listed = name == "bin" || LAYERS.iter().any(|(layer, ..)| *layer == name);
        if entry.path().is_dir() && !listed {
            wrong.push(format!("src/{name}: not in `LAYERS`"));
        }
    }
    assert!(seen > 1000, "only {seen} lines were read: is the source somewhere else?");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    Ok(())
}

/// The names that directly follow `root` in `code`; a brace group yields an empty name, so is refused.
fn paths_after<'a>(code: &'a str, root: &'a str) -> impl Iterator<Item = &'a str> {
    code.split(root).skip(1).map(|rest| {
        let end = rest.find(|c: char| c != '_' && !c.is_alphanumeric()).unwrap_or(rest.len());
        &rest[..end]
    })
}

/// Whether a path in `code` starts at the crate `name`.
fn has_root(code: &str, name: &str) -> bool {
    let word = |c: char| c == '_' || c == ':' || c.is_alphanumeric();
    code.match_indices(&format!("{name}::")).any(|(at, _)| !code[..at].ends_with(word))
}

fn rust_files(dir: &Path) -> io::Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    for entry in fs::read_dir(dir)? {
        let path = entry?.path();
        match path.extension() {
            None => files.extend(rust_files(&path)?),
            Some(ext) if ext == "rs" => files.push(path),
            Some(_) => {}
        }
    }
    Ok(files)
}
