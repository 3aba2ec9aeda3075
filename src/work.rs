//! How much work was done, counted where it is done: what tests pin without a clock.

use std::cell::Cell;

/// A kind of work that takes its time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Work {
    /// Readings adjusted, of a pass or of one that is imagined.
    Adjustment,
    /// The likelihood of one roughness.
    Likelihood,
    /// A search for whole numbers.
    Search,
    /// A partial vector looked at in such a search.
    Node,
}

const KINDS: usize = 4;

thread_local! {
    static DONE: [Cell<u64>; KINDS] = const { [const { Cell::new(0) }; KINDS] };
}

impl Work {
    /// Takes so much of it as done.
    pub(crate) fn done(self, times: u64) {
        DONE.with(|done| {
            let count = &done[self as usize];
            count.set(count.get() + times);
        });
    }

    /// How much of it this thread has done so far.
    pub fn count(self) -> u64 {
        DONE.with(|done| done[self as usize].get())
    }
}
