//! The module graph, checked: an arrow missing from `LAYERS` is a design change, not an accident.

use std::{
    fs, io,
    path::{Path, PathBuf},
};

/// Module, and the modules it may use.
const LAYERS: &[(&str, &[&str])] = &[
    ("geom", &[]),
    ("stats", &[]),
    ("measure", &["geom", "stats"]),
    ("case", &["geom", "measure"]),
    ("align", &["geom", "stats", "measure", "case"]),
    ("propose", &["geom", "measure", "case", "align"]),
    ("study", &["geom", "stats", "measure", "case"]),
    ("scene", &["geom", "stats", "measure", "case", "align", "study"]),
    ("phantom", &["geom", "stats", "measure", "case"]),
    ("io", &["geom", "stats", "measure", "case", "align", "propose", "study", "scene", "phantom"]),
    ("app", &["geom", "measure", "case", "align", "propose", "study", "scene", "phantom", "io"]),
    ("ui", &["geom", "measure", "case", "study", "scene", "app"]),
    (
        "cli",
        &["geom", "stats", "measure", "case", "align", "propose", "study", "scene", "phantom", "io", "app"],
    ),
];

/// Every outside crate of Cargo.toml with the layers that may use it. `ui`'s are also those of the window's program.
const CRATES: &[(&str, &[&str])] = &[
    ("base64", &["io"]),
    ("clap", &["cli"]),
    ("clap_complete", &["cli"]),
    ("clap_mangen", &["cli"]),
    ("csv", &["io"]),
    ("dicom-core", &["io"]),
    ("dicom-dictionary-std", &["io"]),
    ("dicom-object", &["io"]),
    ("dicom-pixeldata", &["io"]),
    ("directories", &["io"]),
    ("eframe", &["ui"]),
    ("egui", &["ui"]),
    ("egui_plot", &["ui"]),
    ("epaint_default_fonts", &["scene"]),
    ("fearless_simd", &["align", "phantom"]),
    ("flate2", &["io"]),
    ("glam", &["phantom"]),
    ("image", &["io"]),
    ("jpeg2k", &["io"]),
    ("kamadak-exif", &["io"]),
    ("krilla", &["io"]),
    ("libm", &["stats", "phantom"]),
    ("log", &["io"]),
    ("pure_jpegls", &["io"]),
    ("quick-xml", &["io"]),
    ("rand", &["measure"]),
    ("rand_chacha", &["measure", "phantom"]),
    ("rand_distr", &["measure"]),
    ("rayon", &["align", "scene", "phantom", "io", "app"]),
    ("rfd", &["ui"]),
    ("rustix", &["io"]),
    ("serde", &["io"]),
    ("serde_json", &["io"]),
    ("sha2", &["io"]),
    ("statrs", &["stats"]),
    ("strict-num", &[]),
    ("tempfile", &["io"]),
    ("thiserror", &["io"]),
    ("tiff", &["io"]),
    ("tiny-skia", &["io"]),
    ("ttf-parser", &["scene", "io"]),
    ("unicode-properties", &[]),
    ("weezl", &["io"]),
];

/// Crates whose paths do not begin with their own name.
const NAMED_OTHERWISE: &[(&str, &str)] = &[("kamadak-exif", "exif"), ("pure_jpegls", "jpegls")];

/// What the method and its statistics must not know: files, clocks, the environment, threads.
const BANNED_IN_METHOD: &[&str] = &["std::fs", "std::time", "std::env", "std::path", "std::net", "std::io"];

#[test]
fn dependencies_point_inward() -> io::Result<()> {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut wrong = Vec::new();
    let mut seen = 0;
    for (layer, uses) in LAYERS {
        for file in rust_files(&src.join(layer))? {
            let text = fs::read_to_string(&file)?;
            for (n, line) in text.lines().enumerate() {
                seen += 1;
                let code = line.split("//").next().unwrap_or_default();
                let own = paths_after(code, "crate::").filter(|m| m != layer && !uses.contains(m));
                let outside = CRATES
                    .iter()
                    .filter(|(package, layers)| !layers.contains(layer) && names(&text, code, package))
                    .map(|(package, _)| *package);
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
        let listed = name == "bin" || LAYERS.iter().any(|(layer, _)| *layer == name);
        if entry.path().is_dir() && !listed {
            wrong.push(format!("src/{name}: not in `LAYERS`"));
        }
    }
    assert!(seen > 1000, "only {seen} lines were read: is the source somewhere else?");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    Ok(())
}

/// A crate without a line here could be used anywhere; a line that nothing needs would hide the next use.
#[test]
fn every_outside_crate_has_its_layers() -> io::Result<()> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let manifest = fs::read_to_string(root.join("Cargo.toml"))?;
    // Those of every machine, and those of some.
    let is_listing = |section: &&str| {
        let head = section.lines().next().unwrap_or_default();
        head == "dependencies]" || (head.starts_with("target.") && head.ends_with(".dependencies]"))
    };
    let listed = manifest
        .split("\n[")
        .filter(is_listing)
        .flat_map(|section| section.lines().skip(1))
        .filter(|line| !line.starts_with('#'))
        .filter_map(|line| line.split_once('='));
    let listed: Vec<&str> = listed.map(|(package, _)| package.trim()).collect();
    assert!(listed.len() > 20, "only {listed:?} was read of Cargo.toml");
    let mut wrong = Vec::new();
    for package in &listed {
        if !CRATES.iter().any(|(known, _)| known == package) {
            wrong.push(format!(
                "`{package}` of Cargo.toml has no line in `CRATES`: say which layers may use it"
            ));
        }
    }
    for (package, layers) in CRATES {
        if !listed.contains(package) {
            wrong.push(format!("`{package}` is not in Cargo.toml; take its line out of `CRATES`"));
        }
        for layer in *layers {
            let mut used = false;
            for file in rust_files(&root.join("src").join(layer))? {
                let text = fs::read_to_string(file)?;
                let mut code = text.lines().map(|line| line.split("//").next().unwrap_or_default());
                used |= code.any(|code| names(&text, code, package));
            }
            if !used {
                wrong.push(format!("`{layer}` does not use `{package}`; take it out of that crate's line"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    Ok(())
}

/// Whether a line of a file names an outside crate, and not a module of our own that is called so.
fn names(text: &str, code: &str, package: &str) -> bool {
    let otherwise = NAMED_OTHERWISE.iter().find(|(known, _)| *known == package).map(|(_, root)| *root);
    let root = otherwise.map_or_else(|| package.replace('-', "_"), str::to_owned);
    let own = |line: &str| {
        line.contains("crate::") && line.split(|c: char| c != '_' && !c.is_alphanumeric()).any(|w| w == root)
    };
    let shadowed = || text.lines().any(|line| line.starts_with("use crate::") && own(line));
    has_root(code, &root) && !shadowed()
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
