//! The way from one voicing to the next, as the rules that apply to the second see it.

use smallvec::SmallVec;

use super::sink::{Explain, Sink, Source, Sum};
use super::ways::Ways;
use super::{Coded, HandName, Judge, Sound, keys};
use crate::rules::Finding;
use crate::rules::kind::Motion;
use crate::rules::plug_in::Context;
use crate::rules::rule::Points;
use crate::voicing::Voicing;

impl Judge<'_> {
    /// What it costs the left hand (or the right) to come from one shape to another, in points ≥ 0, by the `motion` rules
    /// of the set that apply to this chord; both ascending MIDI numbers, of at most five keys. The right hand's shapes are
    /// given without the melody note.
    ///
    /// # Example
    ///
    /// ```
    /// use overshell::chord::chord;
    /// use overshell::rules::RuleSet;
    ///
    /// let judge = RuleSet::standard().judge_for(chord("G7"), &Default::default());
    /// // F3 C4 over D comes to F3 B3 over G: one voice, one semitone.
    /// assert_eq!(judge.motion_cost(true, &[53, 60], &[53, 59]), 1);
    /// ```
    pub fn motion_cost(&self, left: bool, from: &[u8], to: &[u8]) -> i32 {
        self.motions_of(left).fold(0, |sum: i32, motion| sum.saturating_add(motion.cost(from, to)))
    }

    /// The rules that look at the way of one hand.
    fn motions_of(&self, left: bool) -> impl Iterator<Item = &Motion> {
        let hand = if left { HandName::Left } else { HandName::Right };
        self.motions.iter().map(|(_, motion)| *motion).filter(move |motion| motion.hand == hand)
    }

    /// [`Judge::motion_cost`] for every way from one of `from` to one of `to`, a row for each of `from`, at most `most`
    /// points each; `out` is written anew. For an arranger that compares all with all.
    ///
    /// # Complexity
    ///
    /// Linear in the number of ways, about a nanosecond each, where asking one by one takes some tens of them. Allocates
    /// a few tables for all ways together.
    ///
    /// # Example
    ///
    /// ```
    /// use overshell::chord::chord;
    /// use overshell::rules::RuleSet;
    ///
    /// let judge = RuleSet::standard().judge_for(chord("G7"), &Default::default());
    /// let mut costs = Vec::new();
    /// judge.motion_costs(true, &[&[53, 60]], &[&[53, 59], &[52, 60], &[53, 72]], 10, &mut costs);
    /// assert_eq!(costs, [1, 1, 10]); // C4 to C5 would be a leap of twelve semitones
    /// ```
    pub fn motion_costs(&self, left: bool, from: &[&[u8]], to: &[&[u8]], most: i32, out: &mut Vec<i32>) {
        out.resize(from.len() * to.len(), 0);
        let rules: SmallVec<[&Motion; 4]> = self.motions_of(left).collect();
        if !Ways::new(from, to).is_some_and(|ways| ways.write(&rules, most, out)) {
            let pairs = itertools::iproduct!(from, to);
            out.iter_mut()
                .zip(pairs)
                .for_each(|(slot, (from, to))| *slot = self.motion_cost(left, from, to).min(most));
        }
    }

    /// The same in short numbers and without a limit, in rows of so many cells, of which the last mean nothing; `false` where short
    /// numbers might not do.
    pub(crate) fn short_motion_costs(
        &self,
        left: bool,
        from: &[&[u8]],
        to: &[&[u8]],
        stride: usize,
        out: &mut Vec<i16>,
    ) -> bool {
        out.clear();
        out.resize(from.len() * stride, 0);
        let rules: SmallVec<[&Motion; 4]> = self.motions_of(left).collect();
        Ways::new(from, to).is_some_and(|ways| ways.write_short(&rules, stride, out))
    }

    /// Whether some rule looks at both hands at once on the way to this chord.
    pub(crate) fn has_joint_motion(&self) -> bool {
        !self.outer.is_empty() || !self.coded_motions.is_empty()
    }

    /// Whether a rule in code looks at the way to this chord.
    pub(crate) fn has_coded_motion(&self) -> bool {
        !self.coded_motions.is_empty()
    }

    /// What the rules that look at both hands at once charge for the way from two hands over `before` to two hands over
    /// this chord, in points ≥ 0; all notes given, the melody too.
    pub(crate) fn joint_motion_cost(&self, before: &Judge<'_>, from: [&[u8]; 2], to: [&[u8]; 2]) -> i32 {
        let mut sum = Sum::default();
        self.run_joint(before, from, to, &mut sum);
        sum.score().cost
    }

    fn run_joint(&self, before: &Judge<'_>, from: [&[u8]; 2], to: [&[u8]; 2], sink: &mut impl Sink) {
        let sound = |[left, right]: [&[u8]; 2]| Sound::new(left, right);
        let (from, to) = (sound(from), sound(to));
        let mut charge = |rule, cost, classes| {
            if cost > 0 {
                sink.fire(&Source::new(rule, Points::Cost(cost)), 1, classes);
            }
        };
        for (rule, outer) in &self.outer {
            charge(*rule, outer.cost(from.keys(), to.keys()), to.classes_of_outer());
        }
        for Coded { rule, code } in &self.coded_motions {
            let cost = code.cost(&Context::new(&before.frame, &from), &Context::new(&self.frame, &to));
            charge(*rule, i32::from(cost), 0);
        }
    }

    /// The rules that charge for the way from a voicing of the chord `before` to a voicing of this one, dearest first,
    /// from files and from code alike. Where a chord has a melody note, the right hand's top is not counted as a voice of
    /// the hand, since it moves as the tune says.
    ///
    /// # Example
    ///
    /// ```
    /// use overshell::chord::chord;
    /// use overshell::rules::{Effect, RuleSet};
    ///
    /// let rules = RuleSet::standard();
    /// let (d, g) = (rules.judge_for(chord("Dm7"), &Default::default()), rules.judge_for(chord("G7"), &Default::default()));
    /// let moves = g.motion(&d, &"D3 F3 C4 | E4 A4".parse()?, &"G3 B3 F4 | A4 E5".parse()?);
    /// assert_eq!(moves[0].rule, "left-hand-motion");
    /// assert!(matches!(moves[0].effect, Effect::Cost(points) if points > 10));
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub fn motion(&self, before: &Judge<'_>, from: &Voicing, to: &Voicing) -> Vec<Finding> {
        let hands = |voicing: &Voicing| [keys(voicing.left().pitches()), keys(voicing.right().pitches())];
        let (from, to) = (hands(from), hands(to));
        let inner = |judge: &Judge<'_>, right: &[u8]| {
            right.len() - usize::from(judge.frame.melody.is_some() && !right.is_empty())
        };
        let mut explain = Explain::default();
        let ([left_from, right_from], [left_to, right_to]) = (&from, &to);
        for (rule, motion) in &self.motions {
            let cost = match motion.hand {
                HandName::Left => motion.cost(left_from, left_to),
                HandName::Right => motion.cost(
                    right_from.get(..inner(before, right_from)).unwrap_or_default(),
                    right_to.get(..inner(self, right_to)).unwrap_or_default(),
                ),
            };
            if cost > 0 {
                explain.fire(&Source::new(*rule, Points::Cost(cost)), 1, 0);
            }
        }
        self.run_joint(before, [left_from, right_from], [left_to, right_to], &mut explain);
        self.findings(&explain.fired)
    }
}
