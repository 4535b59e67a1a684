//! Tables of other programs: cells separated by commas, semicolons or tabs, as the heading has them.

/// A reader of such a table, and whether a comma is its decimal point, as where semicolons separate. Cells are trimmed, and
/// rows may be of different lengths.
pub(super) fn reader(text: &str) -> (csv::Reader<&[u8]>, bool) {
    let heading = text.lines().next().unwrap_or_default();
    let delimiter = [b',', b';', b'\t']
        .into_iter()
        .max_by_key(|d| (heading.bytes().filter(|b| b == d).count(), *d == b','))
        .unwrap_or(b',');
    let reader = csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .trim(csv::Trim::All)
        .flexible(true)
        .from_reader(text.as_bytes());
    (reader, delimiter == b';')
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The mark that the heading has most of separates; where it has none, the comma.
    #[test]
    fn cells_are_separated_as_the_heading_has_them() {
        for (text, wanted) in [
            ("a,b\n1, 2\n", vec!["1", "2"]),
            ("a;b;c,d\n1,5;2;3\n", vec!["1,5", "2", "3"]),
            ("a\tb\n1\t2\n", vec!["1", "2"]),
            ("a\n1,2\n", vec!["1", "2"]),
        ] {
            let record = reader(text).0.records().next().expect("a row").expect("a readable row");
            assert_eq!(record.iter().collect::<Vec<_>>(), wanted, "{text:?}");
        }
    }
}
