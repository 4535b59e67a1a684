//! Rows of case files remembered between runs, in the application's own folder: read again only what changed. It holds
//! what the rows hold: titles, operators' codes, dates, remarks and readings, no marks and no pictures.
//!
//! It is a JSON object of which each file takes a line, so that lines are read on all cores, only rows that are asked for are
//! parsed, and those of unchanged files are written back as they stand.
//!
//! A cache that cannot be read or written is none; it holds no work.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::UNIX_EPOCH;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use serde_json::value::{RawValue, to_raw_value};

use crate::io::files;
use crate::io::series::FileRows;
use crate::io::store::home::{SERIES, data_dir, write_own};
use crate::measure::mark::{Level, Side};
use crate::measure::settings::{Band, Rule};
use crate::measure::true_view::choice::Basis;
use crate::measure::verdict::State;
use crate::study::series::{Against, BodyOutcome, NoOutcome, Treated, ValueSd};

/// Changes whenever rows would come out differently from the same file.
const METHOD: u32 = 6;
/// The largest cache that is read back, in bytes.
const MAX_BYTES: u64 = 1_000_000_000;
/// How its last line reads.
const END: &str = "]}";
/// Lines that are written by one core at a time.
const PIECE: usize = 512;

/// What tells that a file is as it was: its size and when it was written, in nanoseconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Stamp(u64, u64);

impl Stamp {
    /// The stamp of a file as it is now.
    pub(super) fn of(path: &Path) -> Option<Self> {
        let asked = std::fs::metadata(path).ok()?;
        let written = asked.modified().ok()?.duration_since(UNIX_EPOCH).ok()?;
        asked.is_file().then_some(Self(asked.len(), u64::try_from(written.as_nanos()).ok()?))
    }
}

/// Remembered files by their full path.
#[derive(Debug, Default)]
pub(super) struct Cache(BTreeMap<String, CacheEntry>);

/// What is remembered of a file: its rows, or why it has none, as they stand in the cache.
#[derive(Debug)]
struct CacheEntry {
    stamp: Stamp,
    rows: Box<RawValue>,
}

/// A file's rows, or the sentence why it has none.
type KeptRows = Result<Vec<CachedRows>, String>;

/// A number by its bits: text would cost the last digit, and what is remembered must give the very same result.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
struct Exact(u64);

impl From<f64> for Exact {
    fn from(number: f64) -> Self {
        Self(number.to_bits())
    }
}

impl From<Exact> for f64 {
    fn from(number: Exact) -> Self {
        Self::from_bits(number.0)
    }
}

/// Rule, band, whether the value alone is inside, state, probability, and whether it goes by what a true view would show.
type KeptAgainst = (u8, (Exact, Exact), bool, u8, Exact, bool);

/// A row as it is written; names are short, since there are many.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct CachedRows {
    t: String,
    o: String,
    d: String,
    l: String,
    s: bool,
    e: Option<Exact>,
    w: String,
    n: usize,
    p: [usize; 3],
    u: Option<(Exact, Exact)>,
    v: Option<(Exact, Exact)>,
    m: Option<(Exact, Exact)>,
    x: [Option<(Exact, Exact)>; 3],
    a: Vec<KeptAgainst>,
    r: Result<(bool, u8, Exact), u8>,
    i: Vec<String>,
}

const STATES: [State; 4] = [State::Inside, State::Outside, State::Undecided, State::NotShown];

impl Cache {
    fn file() -> Option<PathBuf> {
        data_dir().map(|folder| folder.join(SERIES))
    }

    /// The first line: what rows come out of, and that files follow.
    fn head() -> String {
        format!("{{\"method\":{METHOD},\"version\":\"{}\",\"files\":[", env!("CARGO_PKG_VERSION"))
    }

    /// What was remembered, if it is whole and of this version.
    pub(super) fn load() -> Self {
        let read = || {
            let bytes = files::read(&Self::file()?, MAX_BYTES).ok()?;
            Self::of_text(std::str::from_utf8(&bytes).ok()?)
        };
        read().unwrap_or_default()
    }

    fn of_text(text: &str) -> Option<Self> {
        let lines = text.strip_prefix(&Self::head())?.strip_suffix(END)?;
        let entry = |line: &str| {
            let line = line.strip_suffix(',').unwrap_or(line);
            let (path, stamp, rows): (String, Stamp, Box<RawValue>) = serde_json::from_str(line).ok()?;
            Some((path, CacheEntry { stamp, rows }))
        };
        lines.trim().par_lines().map(entry).collect::<Option<_>>().map(Self)
    }

    fn text(&self) -> String {
        let entries: Vec<_> = self.0.iter().collect();
        let line = |(path, entry): &(&String, &CacheEntry)| {
            // Text and numbers cannot fail to be written.
            serde_json::to_string(&(path, entry.stamp, &entry.rows)).unwrap_or_default()
        };
        let pieces: Vec<String> = entries
            .par_chunks(PIECE)
            .map(|some| some.iter().map(line).collect::<Vec<_>>().join(",\n"))
            .collect();
        [Self::head(), pieces.join(",\n"), END.to_owned()].join("\n")
    }

    /// The rows of a file, if it is as it was.
    pub(super) fn rows(&self, path: &str, stamp: Stamp) -> Option<FileRows> {
        let entry = self.0.get(path).filter(|entry| entry.stamp == stamp)?;
        match serde_json::from_str::<KeptRows>(entry.rows.get()).ok()? {
            Ok(rows) => rows.iter().map(CachedRows::row).collect::<Option<Vec<Treated>>>().map(Ok),
            Err(why) => Some(Err(why)),
        }
    }

    /// Remembers what was read, beside what is remembered of files elsewhere; nothing is written where nothing changed.
    pub(super) fn keep(mut old: Self, read: &[(String, Option<Stamp>, FileRows)]) {
        let mut changed = old.0.is_empty();
        for (path, stamp, row) in read {
            let Some(stamp) = *stamp else { continue };
            if old.0.get(path).is_some_and(|entry| entry.stamp == stamp) {
                continue;
            }
            let rows: KeptRows =
                row.as_ref().map(|rows| rows.iter().map(CachedRows::of).collect()).map_err(Clone::clone);
            if let Ok(rows) = to_raw_value(&rows) {
                old.0.insert(path.clone(), CacheEntry { stamp, rows });
                changed = true;
            }
        }
        if changed && let Some(file) = Self::file() {
            // A cache that cannot be written costs time in the next run, nothing else.
            let _ = write_own(&file, old.text().as_bytes());
        }
    }
}

impl CachedRows {
    fn of(body: &Treated) -> Self {
        let value = |value: Option<ValueSd>| value.map(|value| (value.value.into(), value.sd.into()));
        let place = |state: State| STATES.iter().position(|s| *s == state).map_or(0, small);
        let rule = |rule: Rule| Rule::ALL.iter().position(|r| *r == rule).map_or(0, small);
        Self {
            t: body.title.clone(),
            o: body.operator.clone(),
            d: body.date.clone(),
            l: body.level.name(),
            s: body.side == Side::Right,
            e: body.lesion_s.map(Exact::from),
            w: body.remarks.clone(),
            n: body.shots,
            p: body.origins,
            u: value(body.depth),
            v: value(body.height),
            m: value(body.midline),
            x: body.true_view.map(value),
            a: body
                .against
                .iter()
                .map(|a| {
                    let band = (a.band.low.into(), a.band.high.into());
                    let by_view = a.basis == Basis::TrueView;
                    (rule(a.rule), band, a.nominal_inside, place(a.state), a.p_inside.into(), by_view)
                })
                .collect(),
            r: match body.outcome {
                Ok(o) => Ok((o.nominal_inside, place(o.state), o.p_inside.into())),
                Err(why) => Err(NoOutcome::ALL.iter().position(|w| *w == why).map_or(0, small)),
            },
            i: body.issues.clone(),
        }
    }

    fn row(&self) -> Option<Treated> {
        let value = |value: Option<(Exact, Exact)>| {
            value.map(|(value, sd)| ValueSd { value: value.into(), sd: sd.into() })
        };
        let state = |at: u8| STATES.get(usize::from(at)).copied();
        let against = |&(rule, (low, high), nominal_inside, at, p_inside, by_view): &KeptAgainst| {
            let rule = *Rule::ALL.get(usize::from(rule))?;
            Some(Against {
                rule,
                band: Band::new(low.into(), high.into()),
                nominal_inside,
                state: state(at)?,
                p_inside: p_inside.into(),
                basis: if by_view { Basis::TrueView } else { Basis::Direct },
            })
        };
        Some(Treated {
            file: String::new(),
            title: self.t.clone(),
            operator: self.o.clone(),
            date: self.d.clone(),
            level: Level::from_name(&self.l)?,
            side: if self.s { Side::Right } else { Side::Left },
            lesion_s: self.e.map(f64::from),
            remarks: self.w.clone(),
            shots: self.n,
            origins: self.p,
            depth: value(self.u),
            height: value(self.v),
            midline: value(self.m),
            true_view: self.x.map(value),
            against: self.a.iter().map(against).collect::<Option<_>>()?,
            outcome: match self.r {
                Ok((nominal_inside, at, p_inside)) => {
                    Ok(BodyOutcome { nominal_inside, state: state(at)?, p_inside: p_inside.into() })
                }
                Err(why) => Err(*NoOutcome::ALL.get(usize::from(why))?),
            },
            issues: self.i.clone(),
        })
    }
}

/// A place in one of the short lists above.
fn small(place: usize) -> u8 {
    u8::try_from(place).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kept() -> Cache {
        let entry = |n: u64, why: &str| CacheEntry {
            stamp: Stamp(n, n + 1),
            rows: to_raw_value(&KeptRows::Err(why.to_owned())).unwrap(),
        };
        let paths = ["/a, \"b\"],\n]}/1.case.json", "/c/2.case.json"].map(str::to_owned);
        Cache(paths.into_iter().zip([entry(1, "it\nis not"), entry(7, "")]).collect())
    }

    #[test]
    fn what_is_written_is_json_and_reads_back() {
        for cache in [kept(), Cache::default()] {
            let text = cache.text();
            let whole: serde_json::Value = serde_json::from_str(&text).unwrap();
            assert_eq!(whole["files"].as_array().unwrap().len(), cache.0.len());
            assert_eq!(text.lines().count(), cache.0.len().max(1) + 2);
            let again = Cache::of_text(&text).unwrap();
            assert_eq!(again.text(), text);
            for (path, entry) in &cache.0 {
                assert_eq!(again.rows(path, entry.stamp), cache.rows(path, entry.stamp));
                assert!(matches!(again.rows(path, entry.stamp), Some(Err(_))));
                assert!(again.rows(path, Stamp(0, 0)).is_none());
            }
        }
    }

    #[test]
    fn what_is_not_whole_or_of_another_version_is_none() {
        let text = kept().text();
        for end in (0..text.len()).filter(|&end| text.is_char_boundary(end)) {
            assert!(Cache::of_text(&text[..end]).is_none(), "{}", &text[..end]);
        }
        let other = text.replacen(&format!("\"method\":{METHOD}"), "\"method\":1", 1);
        assert!(Cache::of_text(&other).is_none());
        assert!(Cache::of_text(&text.replace("[7,8]", "[7]")).is_none());
        // Rows that mean nothing are read from their file again.
        let odd = Cache::of_text(&text.replace("{\"Err\":\"\"}", "{\"Ok\":[{}]}")).unwrap();
        assert!(odd.rows("/c/2.case.json", Stamp(7, 8)).is_none());
    }
}
