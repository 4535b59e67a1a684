//! Circles among the modules of each layer: files that can only be understood together, because each names, directly
//! or over others, all the rest. A circle of a few files is one idea; a large one is a knot.
//!
//! What a file names is read from its text: every path that begins at `crate`, `self` or `super`, in `use` lines and
//! elsewhere, and every path that begins at a module of its own. Unit tests at a file's foot do not count.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::{fs, io};

/// The most files that a circle may have.
const MOST: usize = 4;

/// Layers that still have a larger circle, with its size. It may only shrink; the entry goes with the circle.
const STILL: &[(&str, usize)] = &[];

/// A module by the names on its path below the crate.
type Name = Vec<String>;
/// What each module names.
type Graph = BTreeMap<Name, BTreeSet<Name>>;

#[test]
fn no_large_circle_of_files() -> io::Result<()> {
    let mut texts = BTreeMap::new();
    for entry in fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("src"))? {
        let path = entry?.path();
        let layer = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        // The crate's own file and the two programs lie above all layers.
        if path.is_dir() && layer != "bin" {
            read(&path, &vec![layer], &mut texts)?;
        }
    }
    assert!(texts.len() > 100, "only {} files were read: is the source somewhere else?", texts.len());
    let mut wrong = Vec::new();
    let mut largest: BTreeMap<String, usize> = BTreeMap::new();
    for circle in circles(&graph(&texts)) {
        let layer = circle.first().and_then(|name| name.first()).cloned().unwrap_or_default();
        let most = STILL.iter().find(|(still, _)| *still == layer).map_or(MOST, |(_, size)| *size);
        if circle.len() > most {
            let names: Vec<String> = circle.iter().map(|name| name.join("::")).collect();
            wrong.push(format!("`{layer}`: a circle of {} files: {}", circle.len(), names.join(", ")));
        }
        let size = largest.entry(layer).or_default();
        *size = circle.len().max(*size);
    }
    for (layer, size) in STILL {
        let now = largest.get(*layer).copied().unwrap_or(1);
        if now < *size {
            wrong.push(format!("`{layer}`: the largest circle has {now} files by now; say so in `STILL`"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    Ok(())
}

/// Reads the modules of a folder, which is the module `above`.
fn read(folder: &Path, above: &Name, texts: &mut BTreeMap<Name, String>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        let stem = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let mut name = above.clone();
        if stem != "mod" {
            name.push(stem.clone());
        }
        if path.is_dir() {
            read(&path, &name, texts)?;
        } else if path.extension().is_some_and(|ending| ending == "rs") && stem != "tests" {
            texts.insert(name, code_of(&fs::read_to_string(&path)?));
        }
    }
    Ok(())
}

/// A file's text without comments, unit tests and the places in `pub(in …)`.
fn code_of(text: &str) -> String {
    let mut code = String::new();
    let mut lines = text.lines().peekable();
    while let Some(line) = lines.next() {
        let tests = lines.peek().is_some_and(|next| next.contains("mod tests") && next.ends_with('{'));
        if line == "#[cfg(test)]" && tests {
            break;
        }
        let line = line.split("//").next().unwrap_or_default();
        match line.split_once("pub(in ") {
            Some((before, after)) => {
                code.push_str(before);
                code.push_str(after.split_once(')').map_or("", |(_, rest)| rest));
            }
            None => code.push_str(line),
        }
        code.push('\n');
    }
    code
}

fn graph(texts: &BTreeMap<Name, String>) -> Graph {
    let known: BTreeSet<&Name> = texts.keys().collect();
    let of = |(name, text): (&Name, &String)| {
        let above = &name[..name.len() - 1];
        let mut paths = paths_from(text, "crate", &[]);
        paths.extend(paths_from(text, "self", name));
        paths.extend(paths_from(text, "super", above));
        for child in known.iter().filter(|other| other.len() == name.len() + 1 && other.starts_with(name)) {
            paths.extend(paths_from(text, &child[name.len()], child));
        }
        let named = paths.iter().filter_map(|path| {
            (1..=path.len()).rev().map(|n| path[..n].to_vec()).find(|module| known.contains(module))
        });
        (name.clone(), named.filter(|module| module != name).collect())
    };
    texts.iter().map(of).collect()
}

/// The paths in a text that begin with the word `root`, which stands for `base`.
fn paths_from(text: &str, root: &str, base: &[String]) -> Vec<Name> {
    let inner = |c: char| c == '_' || c == ':' || c == '.' || c.is_alphanumeric();
    let mut paths = Vec::new();
    for (at, _) in text.match_indices(&format!("{root}::")) {
        if !text[..at].ends_with(inner) {
            take(&text[at + root.len() + 2..], base, &mut paths);
        }
    }
    paths
}

/// Takes the path or the group of paths at the beginning of a text; returns what stands behind it.
fn take<'a>(text: &'a str, base: &[String], paths: &mut Vec<Name>) -> &'a str {
    let text = text.trim_start();
    if let Some(mut rest) = text.strip_prefix('{') {
        loop {
            rest = rest.trim_start();
            if let Some(behind) = rest.strip_prefix('}') {
                return behind;
            }
            let before = rest.len();
            rest = take(rest, base, paths).trim_start();
            rest = rest.find([',', '}']).map_or("", |at| rest[at..].strip_prefix(',').unwrap_or(&rest[at..]));
            if rest.len() >= before {
                return rest;
            }
        }
    }
    let end = text.find(|c: char| c != '_' && !c.is_alphanumeric()).unwrap_or(text.len());
    let (word, rest) = text.split_at(end);
    let mut path = base.to_vec();
    if word != "self" && !word.is_empty() {
        path.push(word.to_owned());
    }
    match rest.strip_prefix("::") {
        Some(behind) => take(behind, &path, paths),
        None => {
            paths.push(path);
            rest
        }
    }
}

/// The circles of more than one module: each can be reached from each.
fn circles(graph: &Graph) -> Vec<BTreeSet<Name>> {
    let reached: BTreeMap<&Name, BTreeSet<&Name>> =
        graph.keys().map(|name| (name, reached_from(graph, name))).collect();
    let mut seen: BTreeSet<&Name> = BTreeSet::new();
    let mut found = Vec::new();
    for name in graph.keys() {
        if !seen.contains(name) {
            let back = |other: &&&Name| reached[**other].contains(name);
            let circle: BTreeSet<&Name> = reached[name].iter().filter(back).copied().collect();
            if circle.len() > 1 {
                found.push(circle.iter().map(|&name| name.clone()).collect());
            }
            seen.extend(circle);
        }
    }
    found
}

fn reached_from<'a>(graph: &'a Graph, from: &Name) -> BTreeSet<&'a Name> {
    let mut reached = BTreeSet::new();
    let mut open: Vec<&Name> = graph[from].iter().collect();
    while let Some(name) = open.pop() {
        if reached.insert(name) {
            open.extend(&graph[name]);
        }
    }
    reached
}

/// A small crate worked out by hand: `a` and its two modules stand in one circle, `b` and `c` outside it.
#[test]
fn a_circle_is_found_through_groups_children_and_parents() {
    let text = |name: &str, text: &str| {
        let name: Name = name.split("::").map(str::to_owned).collect();
        (name, code_of(text))
    };
    let texts: BTreeMap<Name, String> = [
        text("a", "use crate::b::{self, Thing};\npub fn f() { one::go() }"),
        text("a::one", "use crate::{\n    a::two,\n    c::Other,\n};\npub(in crate::a) fn go() {}"),
        text("a::two", "use super::f; // crate::b::x"),
        text("b", "use crate::c::Other;\nfn f() { x.a::<u8>() }"),
        text("c", "fn f() {}\n#[cfg(test)]\nmod tests {\n    use crate::a::f;\n}"),
    ]
    .into_iter()
    .collect();
    let found: Vec<Vec<String>> = circles(&graph(&texts))
        .into_iter()
        .map(|circle| circle.iter().map(|name| name.join("::")).collect())
        .collect();
    assert_eq!(found, [["a", "a::one", "a::two"]]);
}
