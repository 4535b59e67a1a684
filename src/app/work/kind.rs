//! Kinds of work: which goes on beside which, on how many threads, and what is still done when the program ends.

use rayon::{ThreadPool, ThreadPoolBuilder};

use crate::app::pages;
use crate::app::work::effect::Effect;

/// Stack of each lane: damaged pictures can nest deeply.
pub(super) const STACK_BYTES: usize = 16 << 20;

/// The most pictures that are decoded at the same time.
const MOST_DECODING: usize = 4;

/// A kind of work that goes on beside all others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum WorkKind {
    /// The case and its unsaved work.
    Saving,
    /// Cases, pictures and folders.
    Opening,
    /// Recent cases and work left behind.
    LookingAround,
    /// Frames.
    Pictures,
    /// Results into files.
    Writing,
    /// Figures to be seen.
    Figures,
    /// Two shots laid on each other.
    Comparing,
    /// Marks that are proposed from images.
    Proposing,
    /// Many shots of the open case.
    Readings,
    /// Many case files.
    Series,
    /// Simulated shots.
    Practice,
}

impl WorkKind {
    pub(super) const ALL: [Self; 11] = [
        Self::Saving,
        Self::Opening,
        Self::LookingAround,
        Self::Pictures,
        Self::Writing,
        Self::Figures,
        Self::Comparing,
        Self::Proposing,
        Self::Readings,
        Self::Series,
        Self::Practice,
    ];

    /// The lane of an effect; `None` for what is done at once or by the window.
    pub(super) const fn of(effect: &Effect) -> Option<Self> {
        match effect {
            Effect::Save { .. }
            | Effect::Allow { .. }
            | Effect::Keep { .. }
            | Effect::Drop
            | Effect::Adopt(_)
            | Effect::Forget(_) => Some(Self::Saving),
            Effect::Open { .. } | Effect::OpenDemonstration | Effect::ReadKeypoints { .. } => {
                Some(Self::Opening)
            }
            Effect::LookAround | Effect::ForgetKept => Some(Self::LookingAround),
            Effect::Decode { .. } => Some(Self::Pictures),
            Effect::Export { .. } | Effect::Receive { .. } => Some(Self::Writing),
            Effect::Propose(_) => Some(Self::Proposing),
            Effect::Read(_) => Some(Self::Readings),
            Effect::Page(work) => match work {
                pages::PageWork::Figure(work) if work.is_drawing() => Some(Self::Figures),
                pages::PageWork::Series(work) if work.is_reading() => Some(Self::Series),
                pages::PageWork::Figure(_) | pages::PageWork::Series(_) => Some(Self::Writing),
                pages::PageWork::Present(_) => Some(Self::Figures),
                pages::PageWork::Compare(_) => Some(Self::Comparing),
                pages::PageWork::Practice(_) => Some(Self::Practice),
            },
            Effect::Ask { .. } | Effect::Stop(_) | Effect::KeepOpen(_) | Effect::Quit => None,
        }
    }

    /// Name of its threads.
    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::Saving => "saving",
            Self::Opening => "opening",
            Self::LookingAround => "looking around",
            Self::Pictures => "images",
            Self::Writing => "writing",
            Self::Figures => "figures",
            Self::Comparing => "comparing",
            Self::Proposing => "proposing",
            Self::Readings => "readings",
            Self::Series => "series",
            Self::Practice => "practice",
        }
    }

    /// Threads of its own on all cores for what keeps them busy for long: the drawing thread shares the usual ones, and
    /// would stand still until the last of a large batch is done.
    pub(super) fn pool(self) -> Option<ThreadPool> {
        let pool = || {
            ThreadPoolBuilder::new()
                .stack_size(STACK_BYTES)
                .thread_name(move |n| format!("{} {n}", self.name()))
        };
        match self {
            Self::Comparing | Self::Proposing | Self::Series | Self::Practice => pool().build().ok(),
            Self::Saving
            | Self::Opening
            | Self::LookingAround
            | Self::Pictures
            | Self::Writing
            | Self::Figures
            | Self::Readings => None,
        }
    }

    /// How many threads work for it.
    pub(super) fn workers(self) -> usize {
        let cores = || std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
        if self == Self::Pictures { cores().clamp(1, MOST_DECODING) } else { 1 }
    }
}

/// What is still done when the program ends: whatever a user would miss afterwards.
pub(super) const fn must_be_done(effect: &Effect) -> bool {
    match effect {
        Effect::Save { .. }
        | Effect::Allow { .. }
        | Effect::Keep { .. }
        | Effect::Drop
        | Effect::Adopt(_)
        | Effect::Forget(_)
        | Effect::ForgetKept
        | Effect::Export { .. }
        | Effect::Receive { .. } => true,
        Effect::Page(work) => match work {
            pages::PageWork::Figure(work) => !work.is_drawing(),
            pages::PageWork::Series(work) => !work.is_reading(),
            pages::PageWork::Practice(work) => work.is_kept(),
            pages::PageWork::Compare(_) | pages::PageWork::Present(_) => false,
        },
        Effect::Ask { .. }
        | Effect::Open { .. }
        | Effect::OpenDemonstration
        | Effect::ReadKeypoints { .. }
        | Effect::LookAround
        | Effect::Decode { .. }
        | Effect::Propose(_)
        | Effect::Read(_)
        | Effect::Stop(_)
        | Effect::KeepOpen(_)
        | Effect::Quit => false,
    }
}
