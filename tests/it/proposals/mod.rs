//! Proposed outlines and tips against where they truly lie, on simulated stills. The first stills of every row are always
//! made; `STILLMARK_PROPOSALS=100 STILLMARK_UPDATE=1 cargo test proposals` makes as many a row and writes the tables of
//! `docs/proposals.md`, or those of one test where one is named; `STILLMARK_ROW=AP` only the refusals with these letters.

mod command;
mod drafts;
mod refusals;
mod softness;
mod stills;
pub(crate) mod third_click;
mod tilted;
mod trial;

use std::fmt::Write as _;
use std::sync::{Mutex, PoisonError};

use drafts::{all_fronts, draft_rows};
use refusals::{OUTLINES, Refused, TIPS};
use stills::Turned;
use trial::{
    Trial, border_rows, by_exact_marks, depth_and_height, further_laterals, in_two, laterals, row, share,
    stage_of,
};

const PAGE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/proposals.md");
/// Bodies and stills that are always made.
const FIRST_BODIES: usize = 2;
const FIRST_FURTHER: usize = 2;
const FIRST_REFUSED: usize = 2;
const FIRST_FRONTS: usize = 1;
/// A quarter more bodies of first laterals are made than stills of another row, for coverage: each in three views.
const QUARTERS: usize = 5;
/// Bodies that are read by exact marks: as many as first laterals are made of in the long form.
const EXACT_BODIES: u64 = 125;

/// A row of accuracy, and the least share accepted, in percent.
struct Condition {
    what: &'static str,
    least: usize,
}

const fn condition(what: &'static str, least: usize) -> Condition {
    Condition { what, least }
}

/// How the ray of first laterals is turned; bad clicks are made in the first way's stills.
const WAYS: [Turned; 3] = [Turned::Within(1.4), Turned::Between(3.0, 5.0), Turned::Between(8.0, 8.0)];
const LATERALS: [Condition; 4] = [
    condition("within ± 1.4°", 85),
    condition("3–5°", 80),
    condition("8°", 50),
    condition("within ± 1.4°, bad clicks", 0),
];
/// How far the C-arm is moved between a marked shot and a further one, in degrees.
const MOVED_DEG: [f64; 3] = [1.4, 5.0, 8.0];
const FURTHER: [Condition; 3] =
    [condition("further, 1.4°", 60), condition("further, 5°", 60), condition("further, 8°", 0)];

/// How many of each row are wanted; 0 where only the first are.
fn wanted() -> usize {
    number_in("STILLMARK_PROPOSALS").unwrap_or(0)
}

/// The number in an environment variable.
fn number_in(name: &str) -> Option<usize> {
    std::env::var(name).ok()?.parse().ok()
}

/// What the name of a refusal must hold to be tried, where not all are.
fn named_row() -> Option<String> {
    std::env::var("STILLMARK_ROW").ok()
}

/// The trials of one condition, of all bodies or of some.
fn of_condition(bodies: &[Vec<Trial>], which: usize) -> Vec<Trial> {
    bodies.iter().filter_map(|trials| trials.get(which).cloned()).collect()
}

/// The rows of accuracy of these conditions, and what is wrong with them.
fn accuracy(
    conditions: &[Condition],
    bodies: &[Vec<Trial>],
    first: usize,
    wrong: &mut Vec<String>,
) -> String {
    let mut rows = String::new();
    for (which, Condition { what, least }) in conditions.iter().enumerate() {
        row(&mut rows, &format!("{what}, the first"), &of_condition(&bodies[..first], which));
        let all = of_condition(bodies, which);
        if all.len() > first {
            row(&mut rows, &format!("{what}, all"), &all);
        }
        let accepted = all.iter().filter(|t| t.accepted).count();
        let off = all.iter().filter(|t| t.off).count();
        // None of the first is off; of a hundred, one in fifty may be. A hundred stills keep the whole share.
        if off * 50 > all.len() || (all.len() >= 50 && accepted * 100 < least * all.len()) {
            wrong.push(format!("{what}: {accepted} of {} accepted, {off} of them off", all.len()));
        }
    }
    rows
}

/// The rows of intervals of readings accepted as proposed, and those of their borders.
fn coverage(bodies: &[Vec<Trial>], wrong: &mut Vec<String>) -> [String; 2] {
    let (mut rows, mut borders) = (String::new(), String::new());
    let mut line = |what: &str, list: &[Trial]| {
        let within: Vec<[bool; 2]> = list.iter().filter_map(|t| t.within).collect();
        let of = |i: usize| share(within.iter().map(|w| w[i]));
        writeln!(rows, "| {what} | {} | {} | {} |", list.len(), of(0), of(1))
            .expect("a text can be written to");
        border_rows(&mut borders, what, list);
        within
    };
    let views = |bodies: &[Vec<Trial>]| -> Vec<Trial> {
        (0..WAYS.len()).flat_map(|way| of_condition(bodies, way)).collect()
    };
    line("all three views, the first", &views(&bodies[..FIRST_BODIES]));
    if bodies.len() > FIRST_BODIES {
        for (way, condition) in LATERALS.iter().enumerate().take(WAYS.len()) {
            line(&format!("{}, all", condition.what), &of_condition(bodies, way));
        }
        let within = line("all three views, all", &views(bodies));
        for i in 0..2 {
            let held = within.iter().filter(|w| w[i]).count();
            // 98 % and less are wanted too; wider ones than that are told by the page, since what is stated is meant for real bone.
            if 1000 * held < 930 * within.len() {
                wrong.push(format!("intervals: {held} of {} hold", within.len()));
            }
        }
    }
    [rows, borders]
}

/// First laterals of so many bodies, or of as many as `STILLMARK_BODIES` wants.
fn first_laterals() -> Vec<Vec<Trial>> {
    let n = number_in("STILLMARK_BODIES").unwrap_or(wanted() * QUARTERS / 4).max(FIRST_BODIES);
    in_two(n as u64, |seed| laterals((31 << 20) + seed, &WAYS))
}

/// The rows of what the angle of the view alone costs a reading; nothing is drawn for them.
fn exact_rows() -> String {
    let mut rows = String::new();
    for (way, (turned, condition)) in (0_u64..).zip(WAYS.into_iter().zip(&LATERALS)) {
        let seeds = (31_u64 << 20)..(31 << 20) + EXACT_BODIES;
        let errors: Vec<[f64; 2]> = seeds.filter_map(|seed| by_exact_marks(seed, way, turned)).collect();
        writeln!(rows, "| {} | {} | {} |", condition.what, errors.len(), depth_and_height(&errors))
            .expect("a text can be written to");
    }
    rows
}

/// Further laterals of so many bodies.
fn all_further() -> Vec<Vec<Trial>> {
    let n = wanted().max(FIRST_FURTHER);
    in_two(n as u64, |seed| further_laterals((35 << 20) + seed, &MOVED_DEG))
}

/// The rows of what must be refused.
fn refusals(list: &[Refused], wrong: &mut Vec<String>) -> String {
    let mut rows = String::new();
    let named = named_row();
    for Refused { what, of, least } in
        list.iter().filter(|row| named.as_ref().is_none_or(|n| row.what.contains(n)))
    {
        let n = wanted().max(FIRST_REFUSED);
        let all = in_two(n as u64, |seed| of((38 << 20) + seed));
        let no = |list: &[bool]| list.iter().filter(|refused| **refused).count();
        let first = no(&all[..FIRST_REFUSED]);
        writeln!(rows, "| {what}, the first | {FIRST_REFUSED} | {first} |")
            .expect("a text can be written to");
        if n > FIRST_REFUSED {
            writeln!(rows, "| {what}, all | {n} | {} |", no(&all)).expect("a text can be written to");
        }
        if n >= 50 && no(&all) * 100 < least * n {
            wrong.push(format!("{what}: only {} of {n} refused", no(&all)));
        }
    }
    rows
}

#[test]
fn proposed_borders_lie_where_the_body_is() {
    let mut wrong = Vec::new();
    let (bodies, moved) = (first_laterals(), all_further());
    let rows = accuracy(&LATERALS, &bodies, FIRST_BODIES, &mut wrong)
        + &accuracy(&FURTHER, &moved, FIRST_FURTHER, &mut wrong);
    let [held, borders] = coverage(&bodies, &mut wrong);
    assert!(wrong.is_empty(), "{}\n{rows}{held}{borders}", wrong.join("\n"));
    on_the_page(&[(INTRODUCTION, rows), (EXACT, exact_rows()), (COVERAGE, held), (BORDERS, borders)]);
}

#[test]
fn copied_marks_are_as_sure_as_they_say() {
    let [fronts, offsets] = draft_rows(&all_fronts(wanted().max(FIRST_FRONTS)), FIRST_FRONTS);
    on_the_page(&[(FRONTS, fronts), (OFFSETS, offsets)]);
}

#[test]
fn what_is_no_body_or_no_tip_is_refused() {
    let mut wrong = Vec::new();
    let [outlines, tips] = [&OUTLINES[..], &TIPS].map(|list| refusals(list, &mut wrong));
    assert!(wrong.is_empty(), "{}\n{outlines}{tips}", wrong.join("\n"));
    on_the_page(&[(REFUSED, outlines), (NO_TIP, tips)]);
}

/// What the page says before each of its tables, in order.
const BEFORE_TABLES: [&str; 8] = [INTRODUCTION, EXACT, COVERAGE, BORDERS, FRONTS, OFFSETS, REFUSED, NO_TIP];
/// One table is written at a time.
static WRITING: Mutex<()> = Mutex::new(());

/// The rows of the table that follows a text, as the page has them.
fn rows_after<'a>(page: &'a str, before: &str) -> &'a str {
    let head = before.trim_end().lines().rev().nth(1).expect("a table's head");
    let Some((_, rows)) = page.split_once(&format!("{head}\n")) else { return "" };
    // The rule below the head is no row.
    let rows = rows.split_once('\n').map_or("", |(_, rows)| rows);
    rows.find("\n\n").map_or(rows, |end| &rows[..=end])
}

/// The rows of a table made anew: all of it where all of it was made, else those that were made in the places of the old.
fn renewed(there: &str, made: &str) -> String {
    let is_there = |row: &str| there.lines().any(|old| name_of(old) == name_of(row));
    if (wanted() > 0 && named_row().is_none()) || !made.lines().all(is_there) {
        return made.to_owned();
    }
    let (mut last, mut rows) = ("", String::new());
    for row in there.lines() {
        let new: Vec<&str> = made.lines().filter(|new| name_of(new) == name_of(row)).collect();
        if new.is_empty() {
            rows.extend([row, "\n"]);
        } else if name_of(row) != last {
            rows.extend(new.into_iter().flat_map(|new| [new, "\n"]));
        }
        last = name_of(row);
    }
    rows
}

/// The first cell of a row.
fn name_of(row: &str) -> &str {
    row.trim_start_matches("| ").split(" |").next().unwrap_or(row)
}

/// Holds tables to the page, each by the text before it, or writes them into it and leaves the others as they are.
fn on_the_page(made: &[(&'static str, String)]) {
    if std::env::var_os("STILLMARK_UPDATE").is_some() {
        let _one_at_a_time = WRITING.lock().unwrap_or_else(PoisonError::into_inner);
        let old = std::fs::read_to_string(PAGE).unwrap_or_default();
        let tables = BEFORE_TABLES.map(|before| {
            let there = rows_after(&old, before);
            let new = made.iter().find(|(of, _)| *of == before);
            before.to_owned() + &new.map_or_else(|| there.to_owned(), |(_, rows)| renewed(there, rows))
        });
        std::fs::write(PAGE, tables.concat() + CLOSING).expect("the page");
    }
    let page = std::fs::read_to_string(PAGE).unwrap_or_default();
    for (before, rows) in made {
        let there: Vec<&str> = rows_after(&page, before).lines().collect();
        let missing: Vec<&str> = rows.lines().filter(|row| !there.contains(row)).collect();
        assert!(
            missing.is_empty(),
            "docs/proposals.md lacks these rows, see the head of this test:\n{}",
            missing.join("\n")
        );
        assert!(page.contains(before), "docs/proposals.md is not current, see the head of this test");
    }
    assert!(page.ends_with(CLOSING), "docs/proposals.md is not current, see the head of this test");
}

const INTRODUCTION: &str = "\
# How good are proposed marks?

Two clicks in a lateral view, or a marked shot of the same body, give a proposed outline and tip. Here they are held against
where the borders and the tip truly lie on simulated stills.

**Stills**: 512 × 512, 0.25–0.36 mm a pixel, any lumbar level, the stages posterior wall, stylet and final in turn, dose
0.3–2, the image rotated by up to 30°, half of them inverted, half mirrored, half with words burned in. No still of these
seeds was looked at while the method was made. Each body is seen in three views, with a place, dose, noise and gray levels of its own in
each. **Clicks** are off by normal errors of 0.8 mm across the wall and 2 mm along it; bad clicks, in the first view's stills, by two and
a half times as much. A **further** shot is registered with a marked one of the same body whose instrument is less far on; its
C-arm is moved by the angle named, three times from the same shot, and its zoom, place, dose, noise and gray levels differ.

*Off*: accepted, and somewhere more than 3 mm from both of a border's lines (near and far side of the body). *Places*: distance
from the nearer line, median / 90 % / largest, mm. *Bands*: borders whose stated 95 % band holds the middle line. *Twice*: borders
said to show twice. *Reading*: root mean square error of depth / height of the true tip by the proposed outline. *Tips*: proposed where
the end is blunt, and their error, median / 90 % / largest, mm.

| view | stills | accepted | off | places | bands | twice | reading | tips | tip error |
| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |
";

const EXACT: &str = "
What no outline can do away with: the tip lies off the middle plane, and a ray that is turned or tilted carries it to another place
of the outline. The same readings of 125 bodies by their true middle lines, as root mean squares; from 3° on, proposed outlines err
hardly more than that in height:

| exact marks | stills | depth / height |
| --- | ---: | ---: |
";

const COVERAGE: &str = "
## Do the intervals hold?

Everything is accepted as it is proposed; where no tip is proposed it is marked by hand, with the error of 0.25 mm in each direction
that is usual on metal. How often the 95 % intervals of depth and of height hold the truth, of the stills where an outline was
proposed. Nobody marks a second line here, although the program asks for it. Of 95 % intervals 93–98 % should hold. Heights hold more
often, for the uncertainty of a border is stated for real bone, not for the clean bone of a simulation (see the next table).

| view | stills | depth held | height held |
| --- | ---: | ---: | ---: |
";

const BORDERS: &str = "
The borders of these stills against the middle of their two lines, in millimeters: *off* is a border's mean distance, outward
positive, over the stills its mean, its root mean square and the 95 % quantile of its size; *own* how far its places lie off that
mean distance; *stated* the standard deviation of a mark across it, and whether its 95 % band holds. It is 0.5 mm, of the
posterior wall 0.6 mm: more than borders are off here within 5°, since no patient's bones are as clean, and less than the 0.6–0.7 mm
on stills computed from a real spine. To this comes how far the five fits lie apart, and of two lines a quarter of their distance.

| view | border | stills | off, mean | off, rms | off, 95 % | own | stated | bands |
| --- | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |
";

const FRONTS: &str = "
## Marks copied in AP and en face views

There nothing is fitted: the marks of a shot are copied to a further one by registering the two images, with a shift, a turn and a
zoom; what lies in front of or behind the middle of the body moves against it when the view is turned. Here a reader has marked the first
shot with the usual error (0.5 mm in each direction), and the C-arm is moved by the angle named. *Shots copied*: the others are refused.
*Another level's*: copied to a neighbor, more than 15 mm off; they are not counted in what follows. *Copied*: how far the registration
alone puts the marks off the true ones, root mean square, mm, in the direction that counts for a mark; *in all*: with the reader's
error; *stated*: the standard deviation that the draft states, which grows as the images are less alike; *bands*: places whose
stated 95 % band holds the truth. Along an endplate nothing is stated, and readings take 1.5 mm; the midline is half way between the
pedicles' medial borders.

| view | shots copied | another level's | marks | copied | in all | stated | bands |
| --- | ---: | ---: | --- | ---: | ---: | ---: | ---: |
";

const OFFSETS: &str = "
The offset from the pedicles' midline (in parts of the body's width) that is read in these shots at the last stage, the tip marked by hand with the
usual 0.25 mm: its error, root mean square, and how many 95 % intervals hold. A view that is turned carries the tip away from the midline
whoever marks it: *by hand* is everything marked in the further shot itself.

| view | by hand | held | as copied | held | pedicles marked again | held |
| --- | ---: | ---: | ---: | ---: | ---: | ---: |
";

const REFUSED: &str = "
## What is refused

Two clicks where there is no body to measure, 30 mm apart or on the walls named; a crushed body and a spine on its side with
ordinary clicks; a further shot in which the body is covered, so that only its neighbors are left, or of another patient.

| clicks | stills | refused |
| --- | ---: | ---: |
";

const NO_TIP: &str = "
No tip may be proposed, whatever becomes of the outline:

| instrument | stills | no tip |
| --- | ---: | ---: |
";

const CLOSING: &str = "
## On a real radiograph

![Above: refused; below: three of four bodies with their own usual form in place of the human one](radiograph-proposals.jpg)

No radiograph of a human spine is open to everybody in a package. The one that is shows a cat (package `deid-data`, MIT License):
bodies nearly three times as long as they are deep, waists of a fifth of the depth on both sides, no instrument. By the usual form of
human bodies all four are refused (above). With that one prior replaced by the form of the second body, measured by eye, the
outlines follow three of them, and the fourth is refused by its form (below; crosses are the clicks). Nobody has marked the truth
there: it is something to look at. `tests/radiograph/overlay.py` makes the picture anew.

What was found by it: the bright edge of the animal, which runs beside the image's edge, was taken for an instrument and turned
the image's polarity round. An instrument crosses the edge; what runs along it is none.

## In the window

A lateral without marks asks for **two clicks**: the middle of the posterior wall, then of the anterior wall. The outline and the
tip appear in a dash-dot-dot line, each border with its 95 % band, thin where the image says little, with close-ups of the four
corners. **Enter** accepts everything. A mark that is dragged is yours from then on, and the other borders follow it at once; undo
takes one drag back. **Esc** drops the proposal and the guide goes on corner by corner, as **Shift C** does; **Shift K** asks for
the two clicks again. A border that was not found is named: a click on it looks once more. Where nothing is proposed, a sentence
says why.

![A further lateral as it is proposed, with the close-ups of its corners](window-proposal.jpg)

A **further shot** of a body needs no click: its outline is registered from the nearest marked shot of the level and view while
the shot before is still shown, and fitted again. In AP and en face views the marks are copied, and those that a turn of the view
moves are named, to be marked again. Nothing is copied where the instrument is seen to end at another level; it is not always seen, and
some drafts do lie on a neighbor (table above), so check the level before you accept. A flipped AP is as like the other way
round: there check right and left, too. Where the tip is not proposed, it is the one mark that is asked for.

What is offered is only shown. It lies in the case, as a draft, once you take hold of a mark, and counts once it is accepted;
paging on accepts nothing. The list of marks, `read` and the series say which marks are as proposed, which were moved and which
were placed by hand. In practice and in blinded re-reading nothing is proposed; after an exercise the proposal's error stands
beside yours.

Counted in a scripted window, 1.2 s a click and 0.3 s a key (`tests/it/window_proposals.rs`): the first lateral with level, side,
view and stage takes less than 7 s, a further one less than 4 s, and a labeled case of ten laterals and ten APs 47 s instead of
294 s by hand. Looking and thinking are not in these numbers. In the real window, from a dropped folder of twenty stills of one simulated
body that nobody has said anything of (`.ci/actions.sh`): labels 20.1 s; then all marks 51.0 s with proposals (the first AP corner by
corner, 16 tips clicked, of which 9 in the other APs) and 293.7 s by hand.

## Tried by a reader who did not know the truth

Twenty simulated lateral stills, turned and tilted by up to 3°, rotated by up to 12°: ten marked by hand, ten by two clicks and
correction, before any truth was opened. Errors are root mean squares of depth / height.

| way | stills | actions | error | intervals that hold |
| --- | ---: | ---: | ---: | ---: |
| by hand | 10 | 11.0 | 0.013 / 0.011 | 10 / 10 |
| two clicks, then corrected | 10 | 11.5 | 0.017 / 0.015 | 10 / 10 |
| two clicks, left as proposed (17 of the 20 were proposed) | 17 | 3 | 0.010 / 0.024 | 17 / 16 |

The last row's clicks are those of a script, off by half a millimeter across the wall. The reader's corrections made the depth better in
three stills and worse in four: nearly every corner had been moved inward, to where the bone is seen to end, by 0.5–1.5 mm, and one
posterior wall that shows twice had been moved the wrong way, worse by 0.02. The program now says at the proposal where corners lie. Heights left as
proposed are worse for one reason, a bent end seen from its end, whose tip was proposed on the bend, 2 mm off (0.07 of the height,
the interval that does not hold): look at the tip. The reader left no proposal unchanged; one that was 1.2 mm off at the posterior wall by the reader's eye
was nearly accepted.

## What decides the result

- **A view turned by more than 2°** parts the lines of a border. An endplate is then a dark band from one line to the other; the
  outline runs through its middle, which is what is read. Where two lines are told apart (of an endplate the band's outer edge and
  where it is darkest), the outline runs half way between them, that the border shows twice is said, and its uncertainty grows
  with the distance. Mark both lines to be exact.
- **In a further shot the instrument tells the level**: nothing is proposed where the instrument ends above or below the body, and
  where a neighbor looks more like the marked body than it does itself, the body in which the instrument ends is taken.
- **Corners** lie where the lines of endplate and wall would meet, as the method asks for, so that they lie outside the rounded bone
  (1–2 mm on simulated stills, as the true ones do).
- **The sharp end** of a trocar is not proposed. An end broader than the part behind it points along the ray: its tip is less sure,
  or not proposed. A bend seen from its end hides where it ends, two to four millimeters behind its outline. Where it shows as an end
  darker than the part behind it and hardly broader, or as an end with a broader cannula right behind it, no tip is proposed; not every
  one does, so look at the other view.
- **A crushed body** is refused by its form where it is unusual for any lumbar body; the heights of what is accepted are checked as
  those of any marks are.
- The simulated patient is stiff and clean. Real images are softer and fuller; see the images in this folder and check every
  border before you accept it.

`STILLMARK_PROPOSALS=100 STILLMARK_UPDATE=1 cargo test --release proposals` makes the tables again, `STILLMARK_BODIES=670` with more
first laterals; without the first, the tests make the first stills of each row only and compare their rows.
";
