//! Names of files as Windows takes them: which stand for a device, and which for a file on another computer.
//!
//! A name in a case file is a stranger's. Opening `\\server\share\a.png` would make this computer sign on at that server,
//! and opening `CON` would wait for a keyboard, so such names are known before anything is opened. They are judged by
//! their text alone and alike on every system.

use std::path::{Path, PathBuf};

/// Names that Windows gives to devices, whatever ending follows (Microsoft, "Naming Files, Paths, and Namespaces").
const DEVICES: [&str; 6] = ["CON", "PRN", "AUX", "NUL", "CONIN$", "CONOUT$"];
/// Names that are devices with a digit behind them, one to nine or a raised one to three.
const PORTS: [&str; 2] = ["COM", "LPT"];

/// Whether Windows takes the last part of a name for a device: `NUL`, `con.png`, `COM1`.
#[must_use]
pub fn is_device(name: &str) -> bool {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let stem = last.split(['.', ':']).next().unwrap_or_default().trim_end();
    let stem = stem.to_uppercase();
    let port = |before: &str| {
        stem.strip_prefix(before).is_some_and(|number| {
            let mut digits = number.chars();
            matches!((digits.next(), digits.next()), (Some('1'..='9' | '¹' | '²' | '³'), None))
        })
    };
    DEVICES.contains(&stem.as_str()) || PORTS.iter().any(|before| port(before))
}

/// The computer that a name reaches for over the network, `\\server\share\…` in any of its spellings; an empty name for a
/// device by its full name (`\\.\…`). `None` for a name on this computer.
#[must_use]
pub fn server(name: &str) -> Option<String> {
    let parts: Vec<&str> = name.split(['/', '\\']).collect();
    let &["", "", first, ref rest @ ..] = parts.as_slice() else { return None };
    let server = match (first, rest) {
        ("?" | ".", [unc, server, ..]) if unc.eq_ignore_ascii_case("UNC") => server,
        ("?", [drive, ..]) if is_drive(drive) => return None,
        ("?" | ".", _) => "",
        _ => first,
    };
    Some(server.to_lowercase())
}

fn is_drive(part: &str) -> bool {
    matches!(part.as_bytes(), [letter, b':'] if letter.is_ascii_alphabetic())
}

/// The same path without the `\\?\` that Windows puts before one that it has resolved, as people write it.
#[must_use]
pub fn as_written(path: PathBuf) -> PathBuf {
    let short = path.to_str().and_then(|text| {
        let rest = text.strip_prefix("\\\\?\\")?;
        // Longer ones are only understood with it.
        if rest.len() >= 250 {
            return None;
        }
        if let Some(shared) = rest.strip_prefix("UNC\\") {
            return Some(format!(r"\\{shared}"));
        }
        is_drive(rest.get(..2)?).then(|| rest.to_owned())
    });
    short.map_or(path, PathBuf::from)
}

/// Whether this system would take the path for a device.
#[must_use]
pub fn is_device_here(path: &Path) -> bool {
    cfg!(windows) && path.file_name().is_some_and(|name| is_device(&name.to_string_lossy()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn devices_are_known_with_any_ending() {
        for name in ["NUL", "con", "aux.png", "COM1", "images/lpt9.case.json", "prn .txt", "a\\nul:x", "com²"]
        {
            assert!(is_device(name), "{name}");
        }
        for name in ["", "contour.png", "COM", "COM0", "com10.png", "a.nul", "console", "nul/a.png"] {
            assert!(!is_device(name), "{name}");
        }
    }

    #[test]
    fn a_name_on_another_computer_is_known_in_every_spelling() {
        let there = [
            r"\\Server\share\a.png",
            "//server/share/a.png",
            r"\/server\a.png",
            r"\\?\UNC\server\share\a.png",
            r"\\.\unc\server\share\a.png",
            "//?/unc/SERVER/a",
        ];
        for name in there {
            assert_eq!(server(name).as_deref(), Some("server"), "{name}");
        }
        assert_eq!(server(r"\\server@SSL@8080\dav\a.png").as_deref(), Some("server@ssl@8080"));
        for name in [r"\\.\pipe\a", r"\\?\GLOBALROOT\Device\x", r"\\.\C:\a.png", r"\\?\"] {
            assert_eq!(server(name).as_deref(), Some(""), "{name}");
        }
        for name in ["a.png", "images/a.png", "/x/a.png", r"C:\x\a.png", r"\\?\C:\x\a.png", r"\x", "", "a//b"]
        {
            assert_eq!(server(name), None, "{name}");
        }
    }

    #[test]
    fn a_resolved_path_is_written_as_people_do() {
        let short = |text: &str| as_written(PathBuf::from(text));
        assert_eq!(short(r"\\?\C:\x\a.png"), PathBuf::from(r"C:\x\a.png"));
        assert_eq!(short(r"\\?\UNC\server\share\a.png"), PathBuf::from(r"\\server\share\a.png"));
        for same in ["/x/a.png", r"\\?\Volume{1}\a.png", r"\\server\share\a.png"] {
            assert_eq!(short(same), PathBuf::from(same));
        }
        let long = format!(r"\\?\C:\{}", "x".repeat(250));
        assert_eq!(short(&long), PathBuf::from(&long));
    }
}
