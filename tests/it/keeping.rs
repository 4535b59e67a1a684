//! What the command line writes over and what it keeps for itself: no file of somebody else's is replaced unasked, and
//! its own are readable by their owner only, listed, and deleted on request.

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::support::{Run, folder, lateral_shot, write_picture};

/// A run with this folder as the program's own.
fn run(home: &Path, arguments: &[&str]) -> Run {
    let done = Command::new(env!("CARGO_BIN_EXE_stillmark-cli"))
        .args(arguments)
        .env("STILLMARK_DATA_DIR", home)
        .output()
        .expect("a run");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    Run { status: done.status.code(), out: text(&done.stdout), err: text(&done.stderr) }
}

fn case_in(folder: &Path) -> String {
    write_picture(&folder.join("a.png"), 800, 600).expect("an image");
    let case = crate::support::case_of("A case", vec![lateral_shot("side", "a.png")]);
    let file = folder.join("a.case.json");
    stillmark::io::store::save::save_case(&file, &case, &stillmark::io::store::save::Over::Nothing)
        .expect("a case");
    file.display().to_string()
}

#[test]
fn a_file_of_somebody_elses_is_replaced_only_by_force_and_an_own_result_freely() {
    let (folder, home) = (folder(), folder());
    let case = case_in(folder.path());
    let out = folder.path().join("readings.json").display().to_string();
    let read = ["read", case.as_str(), "--json", "--out", out.as_str()];
    fs::write(&out, "a letter").expect("somebody's file");
    let refused = run(home.path(), &read);
    assert_eq!(refused.status, Some(2), "{refused:?}");
    assert!(refused.err.contains("--force") && refused.err.contains("readings.json"), "{}", refused.err);
    assert_eq!(fs::read_to_string(&out).expect("still there"), "a letter");

    let forced = run(home.path(), &[&read[..], &["--force"]].concat());
    assert_eq!(forced.status, Some(0), "{forced:?}");
    let first = fs::read_to_string(&out).expect("a result");
    assert!(first.contains("\"reading\"") || first.contains("\"readings\""), "{first}");
    // Its own result, by another format: replaced without asking.
    let again = run(home.path(), &["read", &case, "--csv", "--out", &out]);
    assert_eq!(again.status, Some(0), "{again:?}");
    // The same, changed by hand since.
    fs::write(&out, "my notes").expect("a change");
    let changed = run(home.path(), &read);
    assert_eq!(changed.status, Some(2), "{changed:?}");
    assert_eq!(fs::read_to_string(&out).expect("still there"), "my notes");
    // An empty file holds nothing to lose.
    fs::write(&out, "").expect("an empty file");
    assert_eq!(run(home.path(), &read).status, Some(0));
}

/// Eight at a time lose none of each other's lines: each may write its own result again.
#[test]
fn results_written_at_the_same_time_are_all_remembered() {
    let (folder, home) = (folder(), folder());
    let case = case_in(folder.path());
    let outs: Vec<String> =
        (0..8).map(|i| folder.path().join(format!("{i}.txt")).display().to_string()).collect();
    let write = |how: &'static str, out: &String| {
        let (case, home, out) = (case.clone(), home.path().to_owned(), out.clone());
        std::thread::spawn(move || run(&home, &["read", &case, how, "--out", &out]))
    };
    for how in ["--csv", "--json"] {
        let runs: Vec<_> = outs.iter().map(|out| write(how, out)).collect();
        for done in runs {
            let done = done.join().expect("a run");
            assert_eq!(done.status, Some(0), "{how}: {done:?}");
        }
    }
}

/// The image of another shot, as it was once replaced.
#[test]
fn a_frame_is_not_written_over_another_image() {
    let (folder, home) = (folder(), folder());
    let [from, over] = ["a.png", "b.png"].map(|name| folder.path().join(name));
    write_picture(&from, 80, 60).expect("an image");
    write_picture(&over, 90, 70).expect("an image");
    let before = fs::read(&over).expect("bytes");
    let [from, over] = [from, over].map(|path| path.display().to_string());
    let refused = run(home.path(), &["frame", &from, "--out", &over]);
    assert_eq!(refused.status, Some(2), "{refused:?}");
    assert_eq!(fs::read(&over).expect("bytes"), before);
}

#[test]
fn what_is_kept_is_listed_hidden_from_others_and_deleted_on_request() {
    let (folder, home) = (folder(), folder());
    let case = case_in(folder.path());
    let out = folder.path().join("a.csv").display().to_string();
    assert_eq!(run(home.path(), &["read", &case, "--csv", "--out", &out]).status, Some(0));
    let series = run(home.path(), &["series", &folder.path().display().to_string()]);
    assert_eq!(series.status, Some(1), "no body has both views: {series:?}");
    let listed = run(home.path(), &["kept"]);
    assert!(listed.out.contains("written.txt"), "{}", listed.out);
    let files: Vec<_> = fs::read_dir(home.path()).expect("the folder").flatten().collect();
    assert!(files.len() >= 2, "the digests and the cache of series");
    #[cfg(unix)]
    for file in files.iter().filter(|file| file.path().is_file()) {
        use std::os::unix::fs::PermissionsExt as _;
        let mode = file.metadata().expect("its mode").permissions().mode() & 0o777;
        assert_eq!(mode, 0o600, "{}", file.path().display());
    }
    // No name of a case or image is in the digests.
    let digests = fs::read_to_string(home.path().join("written.txt")).expect("the digests");
    assert!(digests.lines().all(|line| line.len() == 71 && line.starts_with("sha256:")), "{digests}");

    fs::create_dir(home.path().join("unsaved")).expect("a folder");
    fs::write(home.path().join("unsaved/new.case.autosave-1.json"), "{}").expect("unsaved work");
    // A folder that the user named may hold things of the user's own.
    fs::create_dir(home.path().join("mine")).expect("a folder");
    for mine in ["letter.txt", "mine/other.case.json"] {
        fs::write(home.path().join(mine), "mine").expect("a file of the user's");
    }
    let gone = run(home.path(), &["kept", "--forget"]);
    assert_eq!(gone.status, Some(0), "{gone:?}");
    assert!(gone.out.contains("Unsaved work stays: 1"), "{}", gone.out);
    assert!(home.path().join("unsaved/new.case.autosave-1.json").exists());
    assert!(!home.path().join("written.txt").exists());
    assert!(Path::new(&case).exists(), "the user's own case");
    for mine in ["letter.txt", "mine/other.case.json"] {
        assert!(home.path().join(mine).exists(), "{mine}");
    }
}

#[test]
fn help_completions_and_manual_pages_come_from_the_same_definition() {
    let (folder, home) = (folder(), folder());
    let help = run(home.path(), &["help"]);
    assert_eq!(help.status, Some(0), "{help:?}");
    assert!(help.out.contains("Exit status:") && help.out.contains("Examples:"), "{}", help.out);
    for shell in ["bash", "zsh", "fish"] {
        let done = run(home.path(), &["completions", shell]);
        assert_eq!(done.status, Some(0), "{done:?}");
        assert!(done.out.contains("propose") && done.out.contains("posterior"), "{shell}");
    }
    let pages = folder.path().join("man");
    let done = run(home.path(), &["manual", "--out", &pages.display().to_string()]);
    assert_eq!(done.status, Some(0), "{done:?}");
    for page in ["stillmark-cli.1", "stillmark-cli-read.1", "stillmark-cli-series.1"] {
        assert!(pages.join(page).exists(), "{page}");
    }
    let version = run(home.path(), &["--version"]);
    assert!(version.out.contains(env!("CARGO_PKG_VERSION")) && version.out.contains('('), "{}", version.out);
}

/// One list: the README's, the one the window names what is missing from, and the package's.
#[cfg(feature = "window")]
#[test]
fn the_packages_that_the_window_needs_are_one_list() {
    let read = |file: &str| {
        fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(file)).expect("a file of the project")
    };
    let readme = read("README.md");
    let mut line = readme.lines().skip_while(|line| !line.starts_with("<!-- packages -->"));
    let line = line.find(|line| line.starts_with("sudo apt install ")).expect("the README's list");
    let named: Vec<&str> = line.split_whitespace().skip(3).collect();
    let needed = stillmark::ui::needs::LIBRARIES.map(|(_, package)| package);
    assert_eq!(named[0], "build-essential", "what a build needs besides Rust");
    assert_eq!(named[1..], needed);
    // The package and the check in a bare system take theirs from the README.
    for script in [".ci/package.sh", ".ci/bare.sh"] {
        assert!(read(script).contains("<!-- packages -->"), "{script}");
    }
}

/// What packages and citations say of the version is what the program says.
#[test]
fn the_version_is_the_same_everywhere() {
    let version = env!("CARGO_PKG_VERSION");
    let read = |name: &str| {
        fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(name)).expect("a file of the project")
    };
    for (file, line) in [
        (".ci/linux/stillmark.metainfo.xml", format!("<release version=\"{version}\"")),
        ("docs/CITATION.cff", format!("version: {version}\n")),
        ("docs/changes.md", format!("## {version}")),
    ] {
        assert!(read(file).contains(&line), "{file} does not say {line:?}");
    }
}
