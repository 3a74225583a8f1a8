//! How far a long run is, on a terminal.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::IsTerminal;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// Fewer files than this are done before anybody wonders.
const MANY: usize = 200;
/// A run shorter than this shows nothing.
const PATIENCE: Duration = Duration::from_millis(500);

/// A bar on standard error that appears when a run takes its time, and is gone when it ends.
pub(super) struct Progress {
    bar: Option<ProgressBar>,
    begun: Instant,
    shown: AtomicBool,
}

impl Progress {
    /// The progress through so many files.
    pub(super) fn through(files: usize) -> Self {
        let bar = is_wanted(files, std::io::stderr().is_terminal()).then(|| {
            let bar = ProgressBar::with_draw_target(Some(files as u64), ProgressDrawTarget::hidden());
            let style = ProgressStyle::with_template("{pos} of {len} files {wide_bar}");
            style.map_or(bar.clone(), |style| bar.with_style(style))
        });
        Self { bar, begun: Instant::now(), shown: AtomicBool::new(false) }
    }

    /// One more file is done.
    pub(super) fn step(&self) {
        let Some(bar) = &self.bar else { return };
        bar.inc(1);
        if is_late(self.begun.elapsed()) && !self.shown.swap(true, Ordering::Relaxed) {
            bar.set_draw_target(ProgressDrawTarget::stderr());
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}

/// Whether a run may show how far it is: nobody reads a bar in a file or a pipe.
const fn is_wanted(files: usize, terminal: bool) -> bool {
    terminal && files >= MANY
}

fn is_late(elapsed: Duration) -> bool {
    elapsed > PATIENCE
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bar_is_for_long_runs_on_a_terminal() {
        for (files, terminal, wanted) in
            [(199, true, false), (200, true, true), (200, false, false), (10_000, true, true)]
        {
            assert_eq!(is_wanted(files, terminal), wanted, "{files} files, terminal: {terminal}");
        }
        assert!(!is_late(Duration::from_millis(500)));
        assert!(is_late(Duration::from_millis(501)));
    }

    #[test]
    fn nothing_is_drawn_before_half_a_second() {
        let bar = ProgressBar::with_draw_target(Some(2), ProgressDrawTarget::hidden());
        let progress = Progress { bar: Some(bar), begun: Instant::now(), shown: AtomicBool::new(false) };
        progress.step();
        assert!(!progress.shown.load(Ordering::Relaxed));
        assert_eq!(progress.bar.as_ref().map(ProgressBar::position), Some(1));
    }
}
