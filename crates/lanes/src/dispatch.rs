//! Choice of the instruction set while the program runs.

use std::sync::LazyLock;

use pulp::{Arch, Simd, WithSimd};

/// A piece of work on [`Lane`](crate::Lane)s that is worth wide registers.
pub trait Job {
    /// What it gives back.
    type Output;
    /// Does it. Mark the method, and all that it calls and that should use wide registers, `#[inline(always)]`: what is not
    /// inlined is compiled for any processor, unless it is a job of its own.
    fn run(self) -> Self::Output;
}

struct Wide<J>(J);

impl<J: Job> WithSimd for Wide<J> {
    type Output = J::Output;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _simd: S) -> J::Output {
        self.0.run()
    }
}

/// What this processor has.
static HERE: LazyLock<Arch> = LazyLock::new(Arch::new);

/// Runs `job` with the widest registers that this processor has. What it computes does not depend on them.
#[inline]
pub(crate) fn wide<J: Job>(job: J) -> J::Output {
    match *HERE {
        Arch::Scalar => job.run(),
        arch => arch.dispatch(Wide(job)),
    }
}
