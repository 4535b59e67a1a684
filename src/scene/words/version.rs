//! What the program calls itself.

/// The version, with the commit it was built from where the build named one in `STILLMARK_COMMIT`, as packages do.
#[must_use]
pub fn version() -> &'static str {
    static VERSION: std::sync::LazyLock<String> =
        std::sync::LazyLock::new(|| match option_env!("STILLMARK_COMMIT") {
            Some(commit) => format!("{} ({commit})", env!("CARGO_PKG_VERSION")),
            None => format!("{} (built from source, commit unknown)", env!("CARGO_PKG_VERSION")),
        });
    &VERSION
}
