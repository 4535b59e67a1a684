//! What waits for one worker or for several that do the same kind of work, in its order.
//!
//! A newer state of the unsaved work, or of a figure to be seen, replaces an older one that still waits. A picture that is asked for while it
//! waits or is being decoded is not queued again.

use std::collections::{BTreeMap, VecDeque};
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};

use crate::app::work::cancel::Cancel;
use crate::app::work::effect::Effect;
use crate::app::work::picture_store::PictureKey;

/// An effect with the sign by which it is told to stop.
#[derive(Debug)]
pub(crate) struct Job {
    pub(crate) effect: Effect,
    pub(crate) cancel: Cancel,
}

/// How often a picture was asked for while it was being decoded, and for what.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct AskedAgain {
    /// At least once more.
    pub(crate) again: bool,
    /// With its samples.
    pub(crate) samples: bool,
}

/// A queue that workers wait at.
#[derive(Debug, Default)]
pub(crate) struct Lane {
    waiting: Mutex<Waiting>,
    news: Condvar,
}

#[derive(Debug, Default)]
struct Waiting {
    jobs: VecDeque<Job>,
    /// Pictures that are being decoded.
    decoding: BTreeMap<PictureKey, AskedAgain>,
    closed: bool,
}

impl Lane {
    fn lock(&self) -> MutexGuard<'_, Waiting> {
        // A worker never panics while it holds the lock; were it to, the queue would still be whole.
        self.waiting.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Puts a job at the end; a picture that is looked at goes before all others.
    pub(crate) fn push(&self, mut job: Job) {
        let mut waiting = self.lock();
        let mut ahead = false;
        match &mut job.effect {
            Effect::Keep { .. } => {
                if matches!(waiting.jobs.back(), Some(Job { effect: Effect::Keep { .. }, .. })) {
                    waiting.jobs.pop_back();
                }
            }
            Effect::Decode { key, first, samples } => {
                if let Some(asked) = waiting.decoding.get_mut(key) {
                    *asked = AskedAgain { again: true, samples: asked.samples || *samples };
                    return;
                }
                let same =
                    |job: &Job| matches!(&job.effect, Effect::Decode { key: other, .. } if other == key);
                let place = waiting.jobs.iter().position(same);
                if let Some(at) = place
                    && let Some(Job { effect: Effect::Decode { samples: wanted, first: before, .. }, .. }) =
                        waiting.jobs.get_mut(at)
                {
                    *samples |= *wanted;
                    // One that is not urgent by itself keeps the place it has.
                    if !*first || *before && at == 0 {
                        *wanted = *samples;
                        return;
                    }
                    waiting.jobs.remove(at);
                }
                ahead = *first;
            }
            // One for the shown shot goes before one for the next.
            Effect::Propose(order) => ahead = order.first,
            effect => waiting.jobs.retain(|job| !effect.replaces(&job.effect)),
        }
        if ahead {
            waiting.jobs.push_front(job);
        } else {
            waiting.jobs.push_back(job);
        }
        drop(waiting);
        self.news.notify_one();
    }

    /// The next job; `None` once the lane is closed and empty.
    pub(crate) fn next(&self) -> Option<Job> {
        let mut waiting = self.lock();
        loop {
            if let Some(job) = waiting.jobs.pop_front() {
                if let Effect::Decode { key, samples, .. } = &job.effect {
                    waiting.decoding.insert(key.clone(), AskedAgain { again: false, samples: *samples });
                }
                return Some(job);
            }
            if waiting.closed {
                return None;
            }
            waiting = self.news.wait(waiting).unwrap_or_else(PoisonError::into_inner);
        }
    }

    /// A picture has been decoded: what was asked of it meanwhile.
    pub(crate) fn decoded(&self, key: &PictureKey) -> AskedAgain {
        self.lock().decoding.remove(key).unwrap_or_default()
    }

    /// Takes no more jobs; of those that wait, only the ones that `stay` are still done.
    pub(crate) fn close(&self, stay: impl Fn(&Effect) -> bool) {
        let mut waiting = self.lock();
        waiting.closed = true;
        waiting.jobs.retain(|job| stay(&job.effect));
        drop(waiting);
        self.news.notify_all();
    }
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;
    use crate::app::pages;
    use crate::app::pages::figure::{FigureOrder, FigureWork};
    use crate::case::document::Case;
    use crate::case::document::figure_spec::FigureSpec;

    fn key(name: &str) -> PictureKey {
        PictureKey { path: PathBuf::from(name), frame: 0 }
    }

    fn decode(name: &str, first: bool, samples: bool) -> Effect {
        Effect::Decode { key: key(name), first, samples }
    }

    fn lane(effects: impl IntoIterator<Item = Effect>) -> Lane {
        let lane = Lane::default();
        for effect in effects {
            lane.push(Job { effect, cancel: Cancel::default() });
        }
        lane
    }

    fn rest(lane: &Lane) -> Vec<Effect> {
        lane.close(|_| true);
        std::iter::from_fn(|| lane.next()).map(|job| job.effect).collect()
    }

    #[test]
    fn the_shown_picture_overtakes() {
        let lane = lane([decode("a", false, true), decode("b", true, true)]);
        assert_eq!(rest(&lane), [decode("b", true, true), decode("a", false, true)]);
    }

    #[test]
    fn a_newer_state_of_unsaved_work_replaces_one_that_waits() {
        let keep = |title: &str| Effect::Keep {
            case: Box::new(Case { title: Some(title.to_owned()), ..Case::default() }),
            file: None,
            seen: None,
        };
        assert_eq!(rest(&lane([keep("1"), keep("2")])), [keep("2")]);
        // What stands between them keeps both.
        assert_eq!(rest(&lane([keep("1"), Effect::Drop, keep("2")])).len(), 3);
    }

    #[test]
    fn only_the_newest_of_the_figures_that_wait_to_be_seen_is_drawn() {
        let order = |title: &str| {
            Box::new(FigureOrder {
                case: Box::new(Case { title: Some(title.to_owned()), ..Case::default() }),
                file: None,
                shots: Vec::new(),
                spec: FigureSpec::default(),
                as_is: false,
                asks: false,
            })
        };
        let figure = |work| Effect::Page(pages::PageWork::Figure(work));
        let all = [
            figure(FigureWork::Draw(order("1"))),
            figure(FigureWork::Copy(order("1"))),
            figure(FigureWork::Draw(order("2"))),
            figure(FigureWork::Draw(order("3"))),
        ];
        assert_eq!(rest(&lane(all.clone())), [all[1].clone(), all[3].clone()]);
    }

    #[test]
    fn a_picture_that_waits_is_asked_for_once_with_all_that_is_wanted() {
        let queue = lane([decode("a", false, true), decode("b", false, false), decode("b", false, true)]);
        assert_eq!(rest(&queue), [decode("a", false, true), decode("b", false, true)]);
        let queue = lane([decode("a", false, true), decode("b", false, true), decode("b", true, false)]);
        assert_eq!(rest(&queue), [decode("b", true, true), decode("a", false, true)]);
    }

    #[test]
    fn a_picture_that_is_being_decoded_is_not_queued_again() {
        let queue = lane([decode("a", false, false)]);
        assert!(queue.next().is_some());
        queue.push(Job { effect: decode("a", true, true), cancel: Cancel::default() });
        assert_eq!(queue.decoded(&key("a")), AskedAgain { again: true, samples: true });
        queue.push(Job { effect: decode("a", false, false), cancel: Cancel::default() });
        assert_eq!(rest(&queue).len(), 1, "one that has been decoded may be decoded again");
    }
}
