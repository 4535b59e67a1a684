//! Decoders run apart: on a thread with a stack of its own, so that nothing a file asks for exhausts another's, and
//! with panics caught, so that a damaged file takes no unsaved work with it.

use std::panic::AssertUnwindSafe;
use std::sync::{LazyLock, Once};
use std::thread::Builder;

use rayon::{ThreadPool, ThreadPoolBuilder};

/// Stack of a decoder, in bytes.
const STACK: usize = 64 << 20;
/// Name of its thread.
const NAME: &str = "decoder";

/// The threads of decoders, one for each core; `None` where the system gives none.
static POOL: LazyLock<Option<ThreadPool>> = LazyLock::new(|| {
    let named = ThreadPoolBuilder::new().thread_name(|_| NAME.to_owned());
    named.stack_size(STACK).build().ok()
});

/// Runs a decoder to its end; `None` if it panicked, or if there is no thread to be had. What it does on all cores is done on
/// threads of the same kind. A thread of another pool that asks may be given other work of its own pool meanwhile, so that it must
/// hold nothing which that could wait for.
pub(super) fn run<T: Send>(work: impl FnOnce() -> T + Send) -> Option<T> {
    quiet();
    let pool = POOL.as_ref()?;
    pool.install(|| std::panic::catch_unwind(AssertUnwindSafe(work)).ok())
}

/// The same for one that waits, as for another process, so that it keeps no other decoder waiting.
pub(super) fn wait<T: Send>(work: impl FnOnce() -> T + Send) -> Option<T> {
    quiet();
    std::thread::scope(|scope| {
        let caught = || std::panic::catch_unwind(AssertUnwindSafe(work)).ok();
        let thread = Builder::new().name(NAME.to_owned()).stack_size(STACK).spawn_scoped(scope, caught);
        thread.ok()?.join().ok().flatten()
    })
}

/// Begins a work beside whoever asks, where there is a core for it; what comes of it has to be looked for.
pub(super) fn aside(work: impl FnOnce() + Send + 'static) {
    if let Some(pool) = POOL.as_ref() {
        pool.spawn(work);
    }
}

/// A decoder's panic becomes a sentence about the file; its own words are for programmers and are not written to
/// standard error beside it. Other threads report theirs as before.
fn quiet() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        let before = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |panic| {
            if std::thread::current().name() != Some(NAME) {
                before(panic);
            }
        }));
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_is_caught_and_a_deep_stack_is_there() {
        assert_eq!((run(|| 7), wait(|| 7)), (Some(7), Some(7)));
        assert_eq!(run(|| -> i32 { panic!("damaged") }), None);
        assert_eq!(wait(|| -> i32 { panic!("damaged") }), None);
        assert_eq!(run(|| rayon::join(|| 1, || -> i32 { panic!("damaged") })), None);
        fn deep(n: u32) -> u64 {
            let room = std::hint::black_box([u64::from(n); 64]);
            if n == 0 { room[0] } else { room[1] + deep(n - 1) }
        }
        // 50 000 calls of half a kilobyte: more than a usual thread's stack of 2 MiB.
        assert!(run(|| deep(50_000)).is_some());
    }
}
