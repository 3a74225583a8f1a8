//! Work on all cores where threads can be started, one piece after the other where they can't, and all of it on stacks that
//! are large enough.

use rayon::prelude::*;
use rayon::{ThreadPool, ThreadPoolBuilder};
use std::num::NonZero;
use std::panic::resume_unwind;
use std::sync::OnceLock;
use std::thread;

/// The stack of a thread, in bytes: several times what the deepest text and the longest chain of channels take. It is only
/// reserved; what is not used costs nothing.
const STACK: usize = 64 << 20;

/// The threads, as many as there are cores or as `RAYON_NUM_THREADS` says, if that is fewer; `None` where one is enough or
/// more can't be started.
fn pool() -> Option<&'static ThreadPool> {
    static POOL: OnceLock<Option<ThreadPool>> = OnceLock::new();
    let start = || {
        let cores = thread::available_parallelism().map_or(1, NonZero::get);
        let wanted = std::env::var("RAYON_NUM_THREADS").ok().and_then(|text| text.parse().ok());
        let count = wanted.filter(|count| *count > 0).map_or(cores, |count: usize| count.min(cores));
        (count > 1).then(|| ThreadPoolBuilder::new().num_threads(count).stack_size(STACK).build().ok()).flatten()
    };
    POOL.get_or_init(start).as_ref()
}

/// Has every piece of work done, by its number.
pub(super) fn spread(count: usize, piece: &(dyn Fn(usize) + Sync)) {
    match pool() {
        Some(pool) => pool.install(|| (0..count).into_par_iter().for_each(piece)),
        None => (0..count).for_each(piece),
    }
}

/// What each of these becomes, in their order; every thread has something of its own to work with.
pub(super) fn map<T: Sync, W, R: Send>(
    items: &[T],
    own: impl Fn() -> W + Sync + Send,
    with: impl Fn(&mut W, &T) -> R + Sync + Send,
) -> Vec<R> {
    match pool() {
        Some(pool) => pool.install(|| items.par_iter().map_init(own, with).collect()),
        None => {
            let mut own = own();
            items.iter().map(|item| with(&mut own, item)).collect()
        }
    }
}

/// Does something on a stack of its own, since the one that the program was given may be small; where no thread can be
/// started, on that one.
pub(super) fn on_own_stack<T: Send>(work: impl FnOnce() -> T + Send) -> Option<T> {
    let mut work = Some(work);
    let mut found = None;
    thread::scope(|scope| {
        let run = || found = work.take().map(|work| work());
        if let Ok(thread) = thread::Builder::new().stack_size(STACK).spawn_scoped(scope, run)
            && let Err(panic) = thread.join()
        {
            resume_unwind(panic);
        }
    });
    found.or_else(|| work.take().map(|work| work()))
}
