//! Every sentence and word that the program says, collected from its source into `docs/strings.md`, to be read from
//! top to bottom; and a check that refuses words which were retired. `STILLMARK_UPDATE=1 cargo test strings` writes the
//! document anew.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use crate::support::stillmark_cli;

const INTRODUCTION: &str = "\
# What the program says

Every word and sentence that a person can see, by the part of the program that says it: the window, what both window
and command line say, the command line's help. `{}` stands for what is filled in. This document is written by
`STILLMARK_UPDATE=1 cargo test strings`.
";

/// The parts of the source that speak, in reading order, each with its heading.
const PARTS: [(&str, &str); 9] = [
    ("src/app", "Commands, prompts and notices of the window"),
    ("src/ui", "Panels and pages of the window"),
    ("src/measure", "Names and cautions of the method"),
    ("src/case", "What a case refuses"),
    ("src/align", "Registration of two images"),
    ("src/propose", "Marks proposed from the image, and why they are not"),
    ("src/scene", "Readings, figures, reports and drawings"),
    ("src/io", "Files: what is wrong and what to do"),
    ("src/cli", "The command line"),
];

/// Words that were retired, in lower case, each as a whole word or phrase, with what is said now.
const RETIRED: [(&str, &str); 44] = [
    ("choose", "select"),
    ("chosen", "selected"),
    ("end plate", "endplate"),
    ("end plates", "endplates"),
    ("bony outgrowths", "osteophytes"),
    ("notch where the vessels leave", "basivertebral foramen"),
    ("cannula's mouth", "cannula tip"),
    ("in front of the band", "anterior to the target"),
    ("behind the band", "posterior to the target"),
    ("above the band", "superior to the target"),
    ("below the band", "inferior to the target"),
    ("down the pedicle", "en face pedicle"),
    ("quarters and clock", "quadrants and clock face"),
    ("safe passage", "medial breach check"),
    ("joined by their weights", "inverse-variance weighted"),
    ("certainty", "uncertainty"),
    ("change that matters", "smallest relevant change"),
    ("automatic greys", "auto window/level"),
    ("grey", "gray"),
    ("greys", "gray levels, window/level"),
    ("colour", "color"),
    ("centre", "center"),
    ("millimetre", "millimeter"),
    ("millimetres", "millimeters"),
    ("mirror the picture", "flip horizontally"),
    ("these are no words", "not text"),
    ("own labels", "annotations"),
    ("carry marks", "copy marks"),
    ("run of the level", "tip path"),
    ("curve ahead", "projected stylet path"),
    ("likeness", "similarity"),
    ("series of cases", "case series"),
    ("passed over", "skipped"),
    ("read again blind", "blinded re-reading"),
    ("raters exchanged", "absolute agreement"),
    ("practise", "practice"),
    ("to be sorted", "unlabeled"),
    ("not said", "not set"),
    ("paired by", "matched"),
    ("take it back", "restore"),
    ("throw it away", "discard"),
    ("put away", "dismiss"),
    ("opened lately", "recent cases"),
    ("nothing is in hand", "no mark selected"),
];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).to_path_buf()
}

/// Every source file below a folder, in the order of its path.
fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut entries: Vec<PathBuf> =
        fs::read_dir(folder).into_iter().flatten().filter_map(Result::ok).map(|entry| entry.path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            found.extend(sources(&path));
        } else if path.extension().is_some_and(|ending| ending == "rs") && !path.ends_with("tests.rs") {
            found.push(path);
        }
    }
    found
}

/// The texts in quotation marks of a source, comments and tests left out.
fn literals(source: &str) -> Vec<String> {
    let source = ["#[cfg(test)]\nmod tests", "#[cfg(test)]\npub(crate) mod tests"]
        .into_iter()
        .fold(source, |source, tests| source.split(tests).next().unwrap_or_default());
    let mut found = Vec::new();
    let mut rest = source;
    let mut reason = false;
    while let Some(at) = rest.find(['"', '/', '\'']) {
        let before = &rest[..at];
        reason = before.trim_end().ends_with("reason =") || (reason && before.trim().is_empty());
        let tail = &rest[at..];
        if tail.starts_with("//") {
            rest = tail.find('\n').map_or("", |end| &tail[end..]);
        } else if let Some(inner) = tail.strip_prefix('\'') {
            // A character, or a lifetime, which has no end.
            let skip = inner.char_indices().nth(usize::from(inner.starts_with('\\')) + 1);
            let end = skip.filter(|(i, c)| *c == '\'' && *i > 0).map_or(1, |(i, _)| i + 2);
            rest = &tail[end..];
        } else if let Some(inner) = tail.strip_prefix('"') {
            let (text, after) = quoted(inner);
            if !reason {
                found.push(text);
            }
            reason = false;
            rest = after;
        } else {
            rest = &tail[1..];
        }
    }
    found
}

/// The text up to the closing quotation mark, lines joined and signs unescaped, and what follows it.
fn quoted(inner: &str) -> (String, &str) {
    let mut text = String::new();
    let mut chars = inner.char_indices();
    while let Some((i, c)) = chars.next() {
        match c {
            '"' => return (text, &inner[i + 1..]),
            '\\' => match chars.next() {
                Some((_, 'n')) => text.push(' '),
                Some((j, '\n')) => {
                    let skipped = inner[j..].len() - inner[j..].trim_start().len();
                    let (more, after) = quoted(&inner[j + skipped..]);
                    text.push_str(&more);
                    return (text, after);
                }
                Some((_, other)) => text.push(other),
                None => {}
            },
            other => text.push(other),
        }
    }
    (text, "")
}

/// Whether a text is for people: more than one word, or a word with a capital; no key, code or pattern.
fn is_for_people(text: &str) -> bool {
    let words: Vec<&str> =
        text.split_whitespace().filter(|word| word.chars().any(char::is_alphabetic)).collect();
    let code = ["<", "\u{0}", "{}{", "xmlns", "matrix("].iter().any(|sign| text.contains(sign));
    let capital = text.chars().next().is_some_and(char::is_uppercase);
    let shouted = text.chars().filter(|c| c.is_alphabetic()).all(char::is_uppercase);
    let plain = filled(text);
    let letters = plain.chars().filter(|c| c.is_alphabetic()).count();
    !code && letters >= 3 && (words.len() > 1 || (capital && !shouted))
}

/// What is filled in, by its place alone.
fn filled(text: &str) -> String {
    let mut plain = String::new();
    let mut inside = false;
    for c in text.chars() {
        match c {
            '{' => {
                inside = true;
                plain.push_str("{}");
            }
            '}' => inside = false,
            c if !inside => plain.push(c),
            _ => {}
        }
    }
    plain
}

fn said_by(file: &Path) -> Vec<String> {
    let source = fs::read_to_string(file).unwrap_or_default();
    let mut said = Vec::new();
    for text in literals(&source).into_iter().filter(|text| is_for_people(text)) {
        let plain = filled(&text).split_whitespace().collect::<Vec<_>>().join(" ");
        if !said.contains(&plain) {
            said.push(plain);
        }
    }
    said
}

/// The help of the command line and of each of its subcommands.
fn help() -> Vec<(String, String)> {
    let ask = |arguments: &[&str]| stillmark_cli(arguments).map(|run| run.out).unwrap_or_default();
    let first = ask(&["--help"]);
    let commands = first.lines().skip_while(|line| !line.starts_with("Commands:")).skip(1);
    let names: Vec<String> = commands
        .take_while(|line| line.starts_with("  "))
        // What is said of one may go on below it.
        .filter(|line| !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next().map(str::to_owned))
        .collect();
    let mut all = vec![("stillmark-cli --help".to_owned(), first)];
    for name in names {
        let text = ask(&[&name, "--help"]);
        all.push((format!("stillmark-cli {name} --help"), text));
    }
    all
}

fn document() -> String {
    let mut page = INTRODUCTION.to_owned();
    for (folder, heading) in PARTS {
        let _ = write!(page, "\n## {heading}\n");
        for file in sources(&root().join(folder)) {
            let said = said_by(&file);
            if said.is_empty() {
                continue;
            }
            let name = file.strip_prefix(root().join("src")).unwrap_or(&file).display().to_string();
            let name = name.trim_end_matches(".rs").replace(['/', '\\'], "::");
            let _ = write!(page, "\n`{name}`\n\n");
            for text in said {
                let _ = writeln!(page, "- {text}");
            }
        }
    }
    page.push_str("\n## Help of the command line\n");
    for (command, text) in help() {
        let lines: Vec<&str> = text.lines().map(str::trim_end).collect();
        let _ = write!(page, "\n`{command}`\n\n```text\n{}\n```\n", lines.join("\n"));
    }
    page
}

#[test]
fn every_word_stands_in_one_document() {
    let page = document();
    let file = root().join("docs/strings.md");
    if std::env::var_os("STILLMARK_UPDATE").is_some() {
        fs::write(&file, &page).expect("docs/strings.md can be written");
    }
    let committed = fs::read_to_string(&file).expect("docs/strings.md");
    let differing = committed.lines().zip(page.lines()).find(|(a, b)| a != b);
    assert!(committed == page, "docs/strings.md is not current, run with STILLMARK_UPDATE=1: {differing:?}");
}

/// Where a phrase stands as whole words.
fn has_phrase(text: &str, phrase: &str) -> bool {
    let letter = |c: Option<char>| c.is_some_and(char::is_alphanumeric);
    text.match_indices(phrase).any(|(at, _)| {
        !letter(text[..at].chars().last()) && !letter(text[at + phrase.len()..].chars().next())
    })
}

#[test]
fn retired_words_are_not_used() {
    let mut pages: Vec<(String, String)> = PARTS
        .iter()
        .flat_map(|(folder, _)| sources(&root().join(folder)))
        .map(|file| (file.display().to_string(), said_by(&file).join("\n")))
        .collect();
    pages.extend(help());
    let readme = fs::read_to_string(root().join("README.md")).expect("README.md");
    pages.push(("README.md".to_owned(), readme));
    let mut faults = Vec::new();
    for (name, text) in pages {
        for line in text.lines() {
            let lower = line.to_lowercase().replace('’', "'");
            for (retired, now) in RETIRED {
                if has_phrase(&lower, retired) {
                    faults.push(format!("{name}: “{line}”: not “{retired}” but “{now}”"));
                }
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn literals_are_found_as_they_are_said() {
    let source = "// \"no\"\nlet a = \"one \\\n    line\"; let c = '\"'; #[expect(x, reason = \"not this\")] fn f<'a>() { say(\"Two {n} words\") }";
    assert_eq!(literals(source), ["one line", "Two {n} words"]);
    assert_eq!(filled("Two {n} words"), "Two {} words");
    assert!(is_for_people("Two {n} words") && !is_for_people("superior_end_plate") && !is_for_people("PNG"));
    assert!(has_phrase("the certainty.", "certainty") && !has_phrase("uncertainty", "certainty"));
}
