//! `docs/hostile-files.md`, whose tables the tests make: each test gives its section. `STILLMARK_UPDATE=1 cargo test` writes
//! them anew.

use std::path::Path;
use std::sync::{Mutex, PoisonError};

/// One section at a time is written.
static TURN: Mutex<()> = Mutex::new(());

/// Compares a section with what the page has between the lines `<!-- NAME -->` and `<!-- end -->`, or writes it there.
pub(crate) fn section(name: &str, text: &str) {
    let page = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/hostile-files.md");
    let _turn = TURN.lock().unwrap_or_else(PoisonError::into_inner);
    let all = std::fs::read_to_string(&page).expect("the page");
    let begin = format!("<!-- {name} -->\n");
    let (before, rest) = all.split_once(&begin).unwrap_or_else(|| panic!("the page has no section {name}"));
    let (now, after) = rest.split_once("<!-- end -->").expect("an end of the section");
    let text = format!("{}\n", text.trim_end());
    if now == text {
        return;
    }
    assert!(
        std::env::var_os("STILLMARK_UPDATE").is_some(),
        "docs/hostile-files.md is not current in {name}; run with STILLMARK_UPDATE=1. Now:\n{text}"
    );
    std::fs::write(&page, format!("{before}{begin}{text}<!-- end -->{after}")).expect("the page, written");
}
