//! The best voicings for a whole progression.

use std::ops::ControlFlow;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use super::arrangement::Arrangement;
use super::arranger::Arranger;
use super::options::ArrangeOptions;
use super::progression::Progression;
use super::watch::{Progress, stopped};
use crate::error::Result;
use crate::rules::RuleSet;

/// The arrangement of a progression that costs least under the rules: for every chord what each hand plays, the
/// melody on top. Exact: no other choice among the candidates costs less. [`Arranger`] gives the next best too, and holds what is
/// pinned.
///
/// A chord that no candidate serves without a clash (a melody note that fights it) gets the voicing whose other notes
/// do not clash, without credit for colour, with the findings that say so; a chord with no room at all stays without a voicing, with
/// a finding that says what took the last candidate away, and the rest of the tune is arranged.
///
/// # Errors
///
/// [`Error::is_limit`](crate::Error::is_limit) where a limit of the options is exceeded.
///
/// # Complexity
///
/// Linear in the number of chords; for each, `L·R` scores and a step of `L'·R'·R + L'·L·R` additions with L, R the
/// shapes of left and right hand (about 40 and 100). Memory: twelve bytes for each pair of hands, two for each way between the
/// hands of neighbouring chords, of which each row is filled up to sixteen; all together within the limits of the options.
///
/// # Example
///
/// ```
/// use overshell::rules::RuleSet;
/// use overshell::search::{ArrangeOptions, Progression, arrange};
///
/// let progression = Progression::from_symbols("C", [("Dm7", "F5"), ("Db7", "Eb5"), ("Cmaj7", "E5")])?;
/// let arrangement = arrange(&progression, RuleSet::standard(), ArrangeOptions::default())?;
/// let db7 = &arrangement.chords[1];
/// assert_eq!(db7.function.unwrap().to_string(), "subV7");
/// assert_eq!(db7.structure.unwrap().label.to_string(), "II"); // Eb major over Db7
/// assert_eq!(db7.voicing.unwrap().top().unwrap().to_string(), "Eb5");
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn arrange(progression: &Progression, rules: &RuleSet, options: ArrangeOptions) -> Result<Arrangement> {
    Ok(Arranger::new(progression, rules, options)?.best())
}

/// Arranges many progressions, in the order given: each as [`arrange`] does. With the feature `parallel`, on all cores;
/// the answers are the same without.
///
/// # Example
///
/// ```
/// use overshell::rules::RuleSet;
/// use overshell::search::{Progression, arrange, arrange_many};
///
/// let one = Progression::from_symbols("C", [("G7", "D5"), ("Cmaj7", "E5")])?;
/// let many = arrange_many(&[one.clone(), one.clone()], RuleSet::standard(), Default::default());
/// assert_eq!(many[1].as_ref().unwrap(), &arrange(&one, RuleSet::standard(), Default::default())?);
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn arrange_many(
    progressions: &[Progression],
    rules: &RuleSet,
    options: ArrangeOptions,
) -> Vec<Result<Arrangement>> {
    arrange_many_watched(progressions, rules, options, |_| ControlFlow::Continue(()))
}

/// The same, telling after each progression how many are done, with several threads not always in order; those not begun when `watch` says stop are
/// [stopped](crate::Error::is_stopped).
pub fn arrange_many_watched(
    progressions: &[Progression],
    rules: &RuleSet,
    options: ArrangeOptions,
    watch: impl Fn(Progress) -> ControlFlow<()> + Sync,
) -> Vec<Result<Arrangement>> {
    let (done, stop, of) = (AtomicUsize::new(0), AtomicBool::new(false), progressions.len());
    let one = |progression| {
        if stop.load(Ordering::Relaxed) {
            return Err(stopped(Progress { done: done.load(Ordering::Relaxed), of }));
        }
        let arrangement = arrange(progression, rules, options);
        let progress = Progress { done: done.fetch_add(1, Ordering::Relaxed) + 1, of };
        if watch(progress).is_break() {
            stop.store(true, Ordering::Relaxed);
        }
        arrangement
    };
    #[cfg(feature = "parallel")]
    {
        use rayon::prelude::*;
        progressions.par_iter().map(one).collect()
    }
    #[cfg(not(feature = "parallel"))]
    progressions.iter().map(one).collect()
}
