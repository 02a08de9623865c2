//! Choice of the instruction set while the program runs.

use pulp::{Arch, Simd, WithSimd};

/// A piece of work for [`wide`].
pub trait Job {
    /// What it gives back.
    type Output;
    /// Does it. Mark the method, and all that it calls and that should use wide registers, `#[inline(always)]`: what is not
    /// inlined is compiled for any processor.
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

/// Runs `job` with the widest registers that this processor has. What it computes does not depend on them.
#[inline]
pub fn wide<J: Job>(job: J) -> J::Output {
    Arch::new().dispatch(Wide(job))
}
