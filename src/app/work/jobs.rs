//! Slow work off the drawing thread: one lane for saving, in its order, one for opening, which may
//! take long, and one for pictures, the shown one first.

use std::collections::VecDeque;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::thread::{Builder, JoinHandle};

use crate::app::work::effect::{Effect, Outcome};
use crate::app::work::performer::Performer;

/// Stack of each lane: damaged pictures can nest deeply.
const STACK_BYTES: usize = 16 << 20;

/// The most pictures that are decoded at the same time.
const MOST_DECODING: usize = 4;

/// Effects under way.
#[derive(Debug)]
pub struct Jobs {
    lanes: Option<Lanes>,
    inline: Performer,
    stop: Arc<AtomicBool>,
    done: VecDeque<Outcome>,
}

#[derive(Debug)]
struct Lanes {
    files: Arc<Lane>,
    opening: Arc<Lane>,
    pictures: Arc<Lane>,
    outcomes: Receiver<Outcome>,
    threads: Vec<JoinHandle<()>>,
}

#[derive(Debug, Default)]
struct Lane {
    waiting: Mutex<Waiting>,
    news: Condvar,
}

#[derive(Debug, Default)]
struct Waiting {
    effects: VecDeque<Effect>,
    closed: bool,
}

impl Jobs {
    /// Work on threads of its own; `wake` is called whenever something is done, from another thread.
    #[must_use]
    pub fn threaded(wake: impl Fn() + Send + Sync + 'static) -> Self {
        let (sender, outcomes) = channel();
        let stop = Arc::new(AtomicBool::new(false));
        let wake: Arc<dyn Fn() + Send + Sync> = Arc::new(wake);
        let [files, opening, pictures] = [(); 3].map(|()| Arc::new(Lane::default()));
        let cores = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
        let decoding = (0..cores.clamp(1, MOST_DECODING)).map(|_| (&pictures, "pictures"));
        let threads = [(&files, "files"), (&opening, "opening")]
            .into_iter()
            .chain(decoding)
            .filter_map(|(lane, name)| {
                let performer = Performer::stopped_by(Arc::clone(&stop));
                spawn(Arc::clone(lane), name, performer, sender.clone(), Arc::clone(&wake))
            })
            .collect();
        let lanes = Lanes { files, opening, pictures, outcomes, threads };
        Self { lanes: Some(lanes), inline: Performer::default(), stop, done: VecDeque::new() }
    }

    /// Work done at once, for tests.
    #[must_use]
    pub fn inline() -> Self {
        let stop = Arc::new(AtomicBool::new(false));
        let inline = Performer::stopped_by(Arc::clone(&stop));
        Self { lanes: None, inline, stop, done: VecDeque::new() }
    }

    /// Takes an effect in.
    pub fn push(&mut self, effect: Effect) {
        match &effect {
            // Heard at once by what is under way, not after it.
            Effect::Stop => return self.stop.store(true, Ordering::Relaxed),
            Effect::Open { .. } | Effect::Page(_) => self.stop.store(false, Ordering::Relaxed),
            _ => {}
        }
        match &self.lanes {
            None => {
                let Self { inline, done, .. } = self;
                let outcomes = inline.perform(effect, &mut |outcome| done.push_back(outcome));
                done.extend(outcomes);
            }
            Some(lanes) => match effect {
                Effect::Decode { first, .. } => lanes.pictures.push(effect, first),
                Effect::Open { .. } | Effect::OpenDemonstration | Effect::Page(_) => {
                    lanes.opening.push(effect, false);
                }
                other => lanes.files.push(other, false),
            },
        }
    }

    /// What has been done since the last time.
    pub fn outcomes(&mut self) -> Vec<Outcome> {
        let mut all: Vec<Outcome> = self.done.drain(..).collect();
        if let Some(lanes) = &self.lanes {
            all.extend(lanes.outcomes.try_iter());
        }
        all
    }
}

impl Drop for Jobs {
    /// Saving that is under way or waiting is finished; what nobody will see is not begun.
    fn drop(&mut self) {
        let Some(lanes) = self.lanes.take() else { return };
        self.stop.store(true, Ordering::Relaxed);
        lanes.opening.lock().effects.clear();
        lanes.pictures.lock().effects.clear();
        lanes.files.close();
        lanes.opening.close();
        lanes.pictures.close();
        for thread in lanes.threads {
            let _ = thread.join();
        }
    }
}

impl Lane {
    fn lock(&self) -> std::sync::MutexGuard<'_, Waiting> {
        self.waiting.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// An effect at the end, or before all others. A newer state of the unsaved work replaces an older one
    /// that still waits.
    fn push(&self, effect: Effect, first: bool) {
        let mut waiting = self.lock();
        if matches!(effect, Effect::Keep { .. })
            && matches!(waiting.effects.back(), Some(Effect::Keep { .. }))
        {
            waiting.effects.pop_back();
        }
        if first {
            waiting.effects.push_front(effect);
        } else {
            waiting.effects.push_back(effect);
        }
        drop(waiting);
        self.news.notify_one();
    }

    fn close(&self) {
        self.lock().closed = true;
        self.news.notify_all();
    }

    /// The next effect; `None` once the lane is closed and empty.
    fn next(&self) -> Option<Effect> {
        let mut waiting = self.lock();
        loop {
            if let Some(effect) = waiting.effects.pop_front() {
                return Some(effect);
            }
            if waiting.closed {
                return None;
            }
            waiting = self.news.wait(waiting).unwrap_or_else(PoisonError::into_inner);
        }
    }
}

fn spawn(
    lane: Arc<Lane>,
    name: &str,
    mut performer: Performer,
    sender: Sender<Outcome>,
    wake: Arc<dyn Fn() + Send + Sync>,
) -> Option<JoinHandle<()>> {
    let work = move || {
        while let Some(effect) = lane.next() {
            let mut say = |outcome| {
                if sender.send(outcome).is_ok() {
                    wake();
                }
            };
            for outcome in performer.perform(effect, &mut say) {
                if sender.send(outcome).is_err() {
                    return;
                }
                wake();
            }
        }
    };
    Builder::new().name(name.to_owned()).stack_size(STACK_BYTES).spawn(work).ok()
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;
    use std::sync::atomic::{AtomicUsize, Ordering};
    use std::time::{Duration, Instant};

    use super::*;
    use crate::app::session::state::{PictureKey, Purpose};

    fn decode(name: &str, first: bool) -> Effect {
        Effect::Decode { key: PictureKey { path: PathBuf::from(name), frame: 0 }, first, samples: true }
    }

    #[test]
    fn the_shown_picture_overtakes_and_unsaved_work_is_kept_once() {
        let lane = Lane::default();
        lane.push(decode("a", false), false);
        lane.push(decode("b", true), true);
        assert_eq!(lane.next(), Some(decode("b", true)));
        let keep = |title: &str| Effect::Keep {
            case: Box::new(crate::case::document::Case {
                title: Some(title.to_owned()),
                ..Default::default()
            }),
            file: None,
            seen: None,
        };
        let files = Lane::default();
        files.push(keep("1"), false);
        files.push(keep("2"), false);
        files.close();
        assert_eq!(files.next(), Some(keep("2")));
        assert_eq!(files.next(), None);
    }

    #[test]
    fn done_work_wakes_the_window() {
        let woken = Arc::new(AtomicUsize::new(0));
        let count = Arc::clone(&woken);
        let mut jobs = Jobs::threaded(move || {
            count.fetch_add(1, Ordering::SeqCst);
        });
        let missing = PathBuf::from("/no/such/picture.png");
        jobs.push(Effect::Open { paths: vec![missing.clone()], purpose: Purpose::Open });
        jobs.push(Effect::Decode { key: PictureKey { path: missing, frame: 0 }, first: true, samples: true });
        let start = Instant::now();
        let mut outcomes = Vec::new();
        while outcomes.len() < 2 && start.elapsed() < Duration::from_secs(10) {
            outcomes.extend(jobs.outcomes());
            std::thread::sleep(Duration::from_millis(2));
        }
        assert_eq!(outcomes.len(), 2);
        assert!(woken.load(Ordering::SeqCst) >= 1);
    }
}
