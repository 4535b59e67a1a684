//! Slow work off the drawing thread, in lanes that never wait for each other: what is read, drawn or written in one
//! keeps nothing in another from being done. Saving has a lane of its own.
//!
//! Each work is guarded: one at which the program fails ends with a sentence that names it ([`failure`]), and its lane
//! goes on. Each has its own sign to stop by.

use std::collections::VecDeque;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread::{Builder, JoinHandle};

use rayon::ThreadPool;

use crate::app::work::cancel::Cancel;
use crate::app::work::effect::{Effect, Outcome, Stoppable};
use crate::app::work::failure;
use crate::app::work::kind::{STACK_BYTES, WorkKind, must_be_done};
use crate::app::work::lane::{Job, Lane};
use crate::app::work::performer::{Perform, Performer};
use crate::app::work::picture_store::PictureKey;
use crate::io::files;
use crate::io::import::open_files::OpenFiles;

/// Effects under way.
#[derive(Debug)]
pub struct Jobs {
    lanes: Option<Lanes>,
    /// Does what no thread does.
    inline: Box<dyn Perform>,
    files: Arc<OpenFiles>,
    /// Signs of what waits or is under way, and what it is called where the user can stop it.
    under_way: Vec<(Option<Stoppable>, Cancel)>,
    done: VecDeque<Outcome>,
}

#[derive(Debug)]
struct Lanes {
    queues: Vec<(WorkKind, Arc<Lane>)>,
    outcomes: Receiver<Outcome>,
    threads: Vec<JoinHandle<()>>,
}

impl Jobs {
    /// Work on threads of its own; `wake` is called whenever something is done, from another thread.
    #[must_use]
    pub fn threaded(wake: impl Fn() + Send + Sync + 'static) -> Self {
        let files = Arc::new(OpenFiles::default());
        let own = Arc::clone(&files);
        Self::on_threads(wake, files, move || Box::new(Performer::sharing(Arc::clone(&own))))
    }

    /// The same with performers of another make, one for each thread.
    #[must_use]
    pub fn threaded_with(
        wake: impl Fn() + Send + Sync + 'static,
        performer: impl Fn() -> Box<dyn Perform>,
    ) -> Self {
        Self::on_threads(wake, Arc::default(), performer)
    }

    fn on_threads(
        wake: impl Fn() + Send + Sync + 'static,
        files: Arc<OpenFiles>,
        performer: impl Fn() -> Box<dyn Perform>,
    ) -> Self {
        let (sender, outcomes) = channel();
        let wake: Arc<dyn Fn() + Send + Sync> = Arc::new(wake);
        let mut lanes = Lanes { queues: Vec::new(), outcomes, threads: Vec::new() };
        for kind in WorkKind::ALL {
            let lane = Arc::new(Lane::default());
            let before = lanes.threads.len();
            for _ in 0..kind.workers() {
                let worker = Worker {
                    lane: Arc::clone(&lane),
                    pool: kind.pool(),
                    performer: performer(),
                    sender: sender.clone(),
                    wake: Arc::clone(&wake),
                };
                let thread = Builder::new().name(kind.name().to_owned()).stack_size(STACK_BYTES);
                lanes.threads.extend(thread.spawn(move || worker.run()));
            }
            // Without a thread there is no lane, and its work is done at once.
            if lanes.threads.len() > before {
                lanes.queues.push((kind, lane));
            }
        }
        Self { lanes: Some(lanes), inline: performer(), files, under_way: Vec::new(), done: VecDeque::new() }
    }

    /// Work done at once, for tests.
    #[must_use]
    pub fn inline() -> Self {
        let files = Arc::new(OpenFiles::default());
        let inline = Box::new(Performer::sharing(Arc::clone(&files)));
        Self { lanes: None, inline, files, under_way: Vec::new(), done: VecDeque::new() }
    }

    /// The same with a performer of another make.
    #[must_use]
    pub fn inline_with(performer: Box<dyn Perform>) -> Self {
        let mut jobs = Self::inline();
        jobs.inline = performer;
        jobs
    }

    /// Takes an effect in.
    pub fn push(&mut self, effect: Effect) {
        match effect {
            // Heard at once by what is under way, not after it.
            Effect::Stop(what) => {
                for (_, cancel) in self.under_way.iter().filter(|(one, _)| *one == Some(what)) {
                    cancel.cancel();
                }
                return;
            }
            Effect::KeepOpen(bytes) => return self.files.limit(bytes),
            _ => {}
        }
        let cancel = Cancel::default();
        self.under_way.retain(|(_, cancel)| !cancel.is_alone());
        self.under_way.push((Stoppable::of(&effect), cancel.clone()));
        let job = Job { effect, cancel };
        let lane = self.lanes.as_ref().zip(WorkKind::of(&job.effect)).and_then(|(lanes, kind)| {
            lanes.queues.iter().find(|(one, _)| *one == kind).map(|(_, lane)| Arc::clone(lane))
        });
        match lane {
            Some(lane) => lane.push(job),
            None => {
                let Self { inline, done, .. } = self;
                let outcomes = guarded(inline.as_mut(), job, &mut |outcome| done.push_back(outcome));
                done.extend(outcomes);
            }
        }
    }

    /// What has been done since the last time; of how far a work has come, only the last word.
    pub fn outcomes(&mut self) -> Vec<Outcome> {
        let mut all: Vec<Outcome> = self.done.drain(..).collect();
        if let Some(lanes) = &self.lanes {
            all.extend(lanes.outcomes.try_iter());
        }
        let mut kept: Vec<Outcome> = Vec::with_capacity(all.len());
        for outcome in all {
            if let (Some(before), Some(now)) =
                (kept.last().and_then(Outcome::progress_of), outcome.progress_of())
                && before == now
            {
                kept.pop();
            }
            kept.push(outcome);
        }
        kept
    }
}

impl Drop for Jobs {
    /// What a user would miss is finished, whether under way or waiting; what nobody will see is not begun.
    fn drop(&mut self) {
        let Some(lanes) = self.lanes.take() else { return };
        for (_, cancel) in &self.under_way {
            cancel.cancel();
        }
        for (_, lane) in &lanes.queues {
            lane.close(must_be_done);
        }
        for thread in lanes.threads {
            let _ = thread.join();
        }
    }
}

/// One thread of a lane.
struct Worker {
    lane: Arc<Lane>,
    pool: Option<ThreadPool>,
    performer: Box<dyn Perform>,
    sender: Sender<Outcome>,
    wake: Arc<dyn Fn() + Send + Sync>,
}

impl Worker {
    fn run(mut self) {
        while let Some(job) = self.lane.next() {
            let Self { lane, pool, performer, sender, wake } = &mut self;
            // Once nobody listens any more, the work is done all the same: it may be a save.
            let mut say = |outcome| {
                if sender.send(outcome).is_ok() {
                    wake();
                }
            };
            let outcomes = match &job.effect {
                Effect::Decode { key, .. } => {
                    decoded(lane, performer.as_mut(), key.clone(), job.cancel, &mut say)
                }
                _ => match pool {
                    Some(pool) => pool.install(|| guarded(performer.as_mut(), job, &mut say)),
                    None => guarded(performer.as_mut(), job, &mut say),
                },
            };
            outcomes.into_iter().for_each(say);
        }
    }
}

/// Decodes a picture for all who ask for it until it is there: their wishes are looked at only then.
fn decoded(
    lane: &Lane,
    performer: &mut dyn Perform,
    key: PictureKey,
    cancel: Cancel,
    say: &mut (dyn FnMut(Outcome) + Send),
) -> Vec<Outcome> {
    let seen = files::size_and_time(&key.path);
    let effect = Effect::Decode { key: key.clone(), first: false, samples: true };
    let mut outcomes = guarded(performer, Job { effect, cancel: cancel.clone() }, say);
    let asked = lane.decoded(&key);
    if !asked.samples {
        outcomes.iter_mut().for_each(Outcome::let_samples_go);
    }
    if asked.again && files::size_and_time(&key.path) != seen {
        // Whoever asked last means the file as it is by now.
        lane.push(Job { effect: Effect::Decode { key, first: true, samples: asked.samples }, cancel });
    }
    outcomes
}

/// Carries a job out. If the program fails at it, what comes of it is a sentence, and the performer is used further:
/// it holds nothing that half a work could have spoiled.
fn guarded(performer: &mut dyn Perform, job: Job, say: &mut (dyn FnMut(Outcome) + Send)) -> Vec<Outcome> {
    let Job { effect, cancel } = job;
    let otherwise = failure::outcomes(&effect);
    catch_unwind(AssertUnwindSafe(|| performer.perform(effect, &cancel, say))).unwrap_or(otherwise)
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;
    use std::sync::atomic::{AtomicUsize, Ordering};
    use std::time::{Duration, Instant};

    use super::*;
    use crate::app::files::questions::Purpose;

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

    #[test]
    fn of_how_far_a_work_has_come_only_the_last_word_is_kept() {
        let mut jobs = Jobs::inline();
        let progress = |done| Outcome::Progress { done, of: 9 };
        jobs.done.extend([progress(1), progress(2), Outcome::Told("x".to_owned()), progress(3)]);
        let told: Vec<usize> = jobs
            .outcomes()
            .iter()
            .map(|outcome| if let Outcome::Progress { done, .. } = outcome { *done } else { 0 })
            .collect();
        assert_eq!(told, [2, 0, 3]);
    }
}
