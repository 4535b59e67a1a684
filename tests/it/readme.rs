//! The commands of the README and of the page on the command line, as they stand there.

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::support::folder;

fn copied(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder");
    for entry in fs::read_dir(from).expect("a folder").flatten() {
        let (path, name) = (entry.path(), entry.file_name());
        if path.is_dir() {
            copied(&path, &to.join(name));
        } else {
            fs::copy(&path, to.join(name)).expect("a copy");
        }
    }
}

/// Each ends with 0 and without a complaint but for files that a series passes over.
#[test]
fn every_command_line_of_the_readme_does_what_it_says() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folder = folder();
    copied(&root.join("sample-images"), &folder.path().join("sample-images"));
    copied(&root.join("tests/it/samples"), &folder.path().join("tests/it/samples"));
    let pages = ["README.md", "docs/command-line.md"];
    let readme: String =
        pages.iter().map(|page| fs::read_to_string(root.join(page)).expect("a page")).collect();
    let mut seen = 0;
    for line in readme.lines() {
        let Some(arguments) = line.strip_prefix("cargo run --bin stillmark-cli -- ") else {
            continue;
        };
        let home = folder.path().join("home");
        let run = Command::new(env!("CARGO_BIN_EXE_stillmark-cli"))
            .args(arguments.split_whitespace())
            .current_dir(folder.path())
            .envs([
                ("HOME", &home),
                ("XDG_CACHE_HOME", &home),
                ("XDG_DATA_HOME", &home),
                ("XDG_CONFIG_HOME", &home),
            ])
            .output()
            .expect("a run");
        let err = String::from_utf8_lossy(&run.stderr);
        assert_eq!(run.status.code(), Some(0), "{line}: {err}");
        assert!(err.lines().all(|line| line.starts_with("Skipped: ")), "{line}: {err}");
        if let Some(named) =
            arguments.split_once("--out ").and_then(|(_, rest)| rest.split_whitespace().next())
        {
            assert!(folder.path().join(named).exists(), "{line}");
        }
        seen += 1;
    }
    assert!(seen >= 12, "only {seen} commands were found");
}

/// A newcomer sees on the first screen, of about fifty lines, what it is, the caution, how to install it and the first reading.
#[test]
fn the_readme_begins_with_one_screen_for_a_newcomer() {
    let readme =
        fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).expect("README.md");
    let screen: Vec<&str> = readme.lines().take(50).collect();
    let screen = screen.join("\n");
    for words in ["not a medical device", "## Install", "## First reading", "docs/window.png", "## More"] {
        assert!(screen.contains(words), "“{words}” is not on the first screen");
    }
    assert!(readme.lines().count() < 60, "the rest belongs into the pages that the README names");
}

/// Every file that the README names is there.
#[test]
fn every_link_of_the_readme_leads_somewhere() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let readme = fs::read_to_string(root.join("README.md")).expect("README.md");
    let links = readme.split("](").skip(1).filter_map(|rest| rest.split(')').next());
    let gone: Vec<&str> =
        links.filter(|link| !link.starts_with("http") && !root.join(link).exists()).collect();
    assert!(gone.is_empty(), "{gone:?}");
}
