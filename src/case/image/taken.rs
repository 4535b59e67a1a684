//! When shots were taken: the words that say it, and the order that follows.
//!
//! A picture's own time is a time of day. Where a picture carries none, the time of its file is used and its words
//! say so, because copying a file or saving it anew changes that time.

/// How the words of a file's time begin.
const FILE_TIME: &str = "file time";
/// Files written within this many seconds were copied together; their times say nothing about their order.
const TOGETHER_S: i64 = 2;
/// Seconds of a day.
const DAY_S: i64 = 86_400;

/// A time that could be read from words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct When {
    /// Days since 1970-01-01, where the words name a date.
    pub day: Option<i64>,
    /// Thousandths of a second since midnight.
    pub ms: i64,
}

/// The words for the time of a file, `file time 2026-02-03 10:42:05 UTC`; `seconds` since 1970-01-01 00:00 UTC.
#[must_use]
pub fn of_file(seconds: u64) -> String {
    let seconds = i64::try_from(seconds).unwrap_or(i64::MAX);
    let (year, month, day) = date_of(seconds / DAY_S);
    let (hour, minute, second) = (seconds / 3600 % 24, seconds / 60 % 60, seconds % 60);
    format!("{FILE_TIME} {year:04}-{month:02}-{day:02} {hour:02}:{minute:02}:{second:02} UTC")
}

/// Whether these words are the time of a file and not of the picture.
#[must_use]
pub fn is_file_time(words: &str) -> bool {
    words.starts_with(FILE_TIME)
}

/// The time in words such as `10:42`, `10:42:05.25` or `2026-02-03 10:42:05`, whatever stands around it; `None`
/// where no time of day is found.
#[must_use]
pub fn when(words: &str) -> Option<When> {
    let parts = || words.split(|c: char| c.is_whitespace() || c == 'T' || c == 'Z').filter(|p| !p.is_empty());
    let ms = parts().find_map(time_of_day)?;
    Some(When { day: parts().find_map(day_of), ms })
}

/// The time of day shortly, as `10:42` or `file time 10:42`; the words themselves where no time is found in them.
#[must_use]
pub fn short(words: &str) -> String {
    let Some(when) = when(words) else { return words.to_owned() };
    let minutes = when.ms / 60_000;
    let time = format!("{:02}:{:02}", minutes / 60, minutes % 60);
    if is_file_time(words) { format!("{FILE_TIME} {time}") } else { time }
}

/// The time of day to the second, as `10:42:05`, with the word for a file's time; the words themselves where no time is
/// found in them. Shots of one view often lie within a minute.
#[must_use]
pub fn to_the_second(words: &str) -> String {
    let Some(When { ms, .. }) = when(words) else { return words.to_owned() };
    let seconds = ms / 1000;
    let time = format!("{:02}:{:02}:{:02}", seconds / 3600, seconds / 60 % 60, seconds % 60);
    if is_file_time(words) { format!("{FILE_TIME} {time}") } else { time }
}

/// The order by time taken: places in the given list, the earliest first. What has no time comes last; equal times
/// keep their order, and so does everything if all times are of files that were written together. Dates count only
/// if every time has one.
#[must_use]
pub fn order(times: &[Option<&str>]) -> Vec<usize> {
    let read: Vec<Option<When>> = times.iter().map(|words| words.and_then(when)).collect();
    let mut places: Vec<usize> = (0..times.len()).collect();
    if tell_nothing(times) {
        return places;
    }
    let key = keys_of(&read);
    places.sort_by_key(|&i| read[i].map_or((true, 0), |when| (false, key(when))));
    places
}

/// Whether times tell no order: there are none, or all are of files that were written together.
#[must_use]
pub fn tell_nothing(times: &[Option<&str>]) -> bool {
    let read: Vec<Option<When>> = times.iter().map(|words| words.and_then(when)).collect();
    let key = keys_of(&read);
    let keys = || read.iter().flatten().map(|&when| key(when));
    let of_files = times.iter().flatten().all(|words| is_file_time(words));
    match (keys().min(), keys().max()) {
        (Some(first), Some(last)) => of_files && last - first < TOGETHER_S * 1000,
        _ => true,
    }
}

/// What times are ordered by, in milliseconds: dates count only if every time has one.
fn keys_of(read: &[Option<When>]) -> impl Fn(When) -> i64 + use<> {
    let dated = read.iter().flatten().all(|when| when.day.is_some());
    move |when| (if dated { when.day.unwrap_or(0) } else { 0 }) * DAY_S * 1000 + when.ms
}

fn time_of_day(part: &str) -> Option<i64> {
    let mut fields = part.split(':');
    let number = |text: &str, below: i64| {
        let digits = !text.is_empty() && text.len() <= 2 && text.bytes().all(|b| b.is_ascii_digit());
        text.parse::<i64>().ok().filter(|&n| digits && n < below)
    };
    let hour = number(fields.next()?, 24)?;
    let minute = number(fields.next()?, 60)?;
    let ms = match fields.next() {
        None => 0,
        Some(text) => {
            let (whole, part) = text.split_once('.').unwrap_or((text, ""));
            let digits: String = part.chars().chain("000".chars()).take(3).collect();
            // A leap second is a second of its own.
            number(whole, 61)? * 1000 + digits.parse::<i64>().ok()?
        }
    };
    fields.next().is_none().then_some((hour * 60 + minute) * 60_000 + ms)
}

fn day_of(part: &str) -> Option<i64> {
    let fields: Vec<&str> = part.split('-').collect();
    let [year, month, day] = fields.as_slice() else { return None };
    if (year.len(), month.len(), day.len()) != (4, 2, 2) {
        return None;
    }
    let (year, month, day) = (year.parse().ok()?, month.parse().ok()?, day.parse().ok()?);
    ((1..=12).contains(&month) && (1..=31).contains(&day)).then(|| days_of(year, month, day))
}

/// Days since 1970-01-01 of a date of the Gregorian calendar, counted in years that begin in March, so that the
/// leap day is the last of its year.
fn days_of(year: i64, month: i64, day: i64) -> i64 {
    let year = if month <= 2 { year - 1 } else { year };
    let in_year = (153 * ((month + 9) % 12) + 2) / 5 + day - 1;
    365 * year + year.div_euclid(4) - year.div_euclid(100) + year.div_euclid(400) + in_year - 719_468
}

/// The date of a day since 1970-01-01.
fn date_of(days: i64) -> (i64, i64, i64) {
    let mut year = 1970 + days / 366;
    while days_of(year + 1, 1, 1) <= days {
        year += 1;
    }
    let mut month = 1;
    while month < 12 && days_of(year, month + 1, 1) <= days {
        month += 1;
    }
    (year, month, days - days_of(year, month, 1) + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_is_shown_to_the_second_and_a_files_is_called_so() {
        assert_eq!(to_the_second("2026-02-03 10:42:05.25"), "10:42:05");
        assert_eq!(to_the_second("10:42"), "10:42:00");
        assert_eq!(to_the_second("file time 2026-02-03 10:42:05 UTC"), "file time 10:42:05");
        assert_eq!(to_the_second("after lunch"), "after lunch");
    }

    #[test]
    fn file_times_are_written_as_the_calendar_says() {
        // GNU date: `date -u -d @N '+%F %T'`.
        for (seconds, words) in [
            (0, "1970-01-01 00:00:00"),
            (951_782_399, "2000-02-28 23:59:59"),
            (951_782_400, "2000-02-29 00:00:00"),
            (1_770_115_325, "2026-02-03 10:42:05"),
            (4_107_542_400, "2100-03-01 00:00:00"),
        ] {
            assert_eq!(of_file(seconds), format!("file time {words} UTC"));
            let when = when(&of_file(seconds)).unwrap();
            let back = when.day.unwrap() * DAY_S + when.ms / 1000;
            assert_eq!(back, i64::try_from(seconds).unwrap());
        }
    }

    #[test]
    fn times_are_found_in_words_and_shortened() {
        assert_eq!(when("10:42:05.25").map(|w| w.ms), Some(38_525_250));
        assert_eq!(when("2026-02-03T10:42").map(|w| (w.day, w.ms)), Some((Some(20_487), 38_520_000)));
        for nonsense in ["", "soon", "25:00", "10:60", "1:2:3:4", "104205"] {
            assert_eq!(when(nonsense), None, "{nonsense}");
            assert_eq!(short(nonsense), nonsense);
        }
        assert_eq!(short("10:42:05"), "10:42");
        assert_eq!(short(&of_file(1_770_115_325)), "file time 10:42");
    }

    #[test]
    fn the_earliest_comes_first_and_what_has_no_time_last() {
        assert_eq!(order(&[Some("10:43"), None, Some("10:42:05"), Some("10:42")]), [3, 2, 0, 1]);
        // Without a date a time of day is all there is to compare.
        assert_eq!(order(&[Some("2026-02-03 10:43"), Some("2026-02-04 09:00")]), [0, 1]);
        assert_eq!(order(&[Some("2026-02-03 10:43"), Some("09:00")]), [1, 0]);
    }

    #[test]
    fn files_copied_together_stay_as_they_are() {
        let (a, b, c) = (of_file(1_000_001), of_file(1_000_000), of_file(1_000_010));
        assert_eq!(order(&[Some(&a), Some(&b)]), [0, 1]);
        assert_eq!(order(&[Some(&a), Some(&b), Some(&c)]), [1, 0, 2]);
    }

    #[test]
    fn files_written_together_tell_no_order() {
        let file = |time: &str| format!("{FILE_TIME} 2026-02-03 {time}");
        let [a, b, late] = ["10:42:05", "10:42:06", "13:00:00"].map(file);
        assert!(tell_nothing(&[Some(&a), Some(&b)]) && tell_nothing(&[None, None]) && tell_nothing(&[]));
        assert!(!tell_nothing(&[Some(&a), Some(&late)]), "far apart");
        assert!(!tell_nothing(&[Some("10:42:05"), Some("10:42:06")]), "times of the images themselves");
    }
}
