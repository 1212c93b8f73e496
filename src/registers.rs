//! The widest registers that the machine has.

use pulp::{Arch, Simd, WithSimd};

/// Work on many numbers. [`Job::run`] and all that it calls must be `#[inline(always)]`, so that it is compiled anew for each kind of
/// registers; references are best handed on to a function as arguments of their own, by which the compiler knows that they do not overlap.
pub(crate) trait Job {
    type Answer;

    fn run(self) -> Self::Answer;
}

struct Wide<J>(J);

impl<J: Job> WithSimd for Wide<J> {
    type Output = J::Answer;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> J::Answer {
        self.0.run()
    }
}

/// Runs a job that is compiled for the usual registers and for wide ones (AVX2), whichever this machine has; the answer is the
/// same. For a loop over many numbers, not for each: asking costs some nanoseconds.
#[inline(always)]
pub(crate) fn widest<J: Job>(job: J) -> J::Answer {
    Arch::new().dispatch(Wide(job))
}
