//! The cheapest path on which layers that are tied take the same class.
//!
//! Without its ties the problem is that of [`Solved`](super::Solved), whose cheapest path costs no more than the cheapest tied one. Prices
//! make that bound good: each class of a tied layer is made dearer or cheaper, so that the prices of a class sum up to nothing over
//! the layers of its group. A tied path then costs what it costs without prices, so that the bound holds at any prices
//! (Lagrange's multipliers). They are chosen so that what the cheapest path through each class costs becomes the same in all layers
//! of a group. Layers that a path may go past carry no prices.
//!
//! What remains is branch and bound: where layers i and j of a group disagree, each class goes to one of two branches, to the one
//! whose layer it suits; so i gets dearer in one branch and j in the other. Pairs through which no path can be
//! cheaper than the best tied one known are left out on the way. Everything is in integers and in a fixed order.

mod groups;
mod relaxed;
#[cfg(test)]
mod tests;

use std::rc::Rc;

pub use self::groups::Tie;
use self::groups::{Group, Groups};
use self::relaxed::{Open, Prices, Relaxed, Seen};
use super::costs::Joint;
use super::first::GoOn;
use super::layer::Layer;
use super::solved::Path;

/// So many prices are tried for all paths, and for the paths of each branch.
const ROUNDS: [usize; 2] = [24, 6];

/// Prices are given up after so many that did not make the bound better.
const PATIENCE: usize = 3;

/// The cheapest tied path, and what it took to find it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BestTied {
    /// The path.
    pub path: Path,
    /// How many branches were looked at, all paths together being the first.
    pub branches: usize,
    /// How often the layers were solved.
    pub rounds: usize,
}

/// Why there is no tied path.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotTied {
    /// The layers of this group, all of which every path goes through, have no class in common.
    Apart(usize),
    /// There is no path that goes with all ties.
    NoPath,
    /// More branches than allowed.
    TooLong,
    /// Whoever was asked said so.
    Stopped,
}

/// The cheapest path on which all layers of a group that it goes through take the same class. `ties` holds the tie of each layer, if it
/// has one. Asks before each round, with the number of rounds so far, whether to go on.
///
/// Among equals, the cheapest path without ties where that is tied; otherwise the one that this search finds first, which is the same
/// every time and everywhere.
///
/// # Errors
///
/// [`NotTied`]; with at most `most` branches.
///
/// # Complexity
///
/// Each round solves all layers twice, as [`Solved::new`](super::Solved::new) does. How many there are depends on how much tied layers
/// disagree; the ties of a repeated section matter at its ends only, and a few rounds do.
pub fn best_tied(
    layers: &[Layer],
    joint: impl Joint,
    ties: &[Option<Tie>],
    most: usize,
    go_on: impl GoOn,
) -> Result<BestTied, NotTied> {
    in_rounds(ROUNDS, layers, joint, ties, most, go_on)
}

/// The same with so many prices at the most, for all paths and for those of a branch.
fn in_rounds(
    at_most: [usize; 2],
    layers: &[Layer],
    joint: impl Joint,
    ties: &[Option<Tie>],
    most: usize,
    go_on: impl GoOn,
) -> Result<BestTied, NotTied> {
    let groups = Groups::new(layers, ties);
    let relaxed = Relaxed::new(layers, &joint);
    let mut search =
        Search { layers, joint: &joint, groups: &groups, relaxed, best: None, rounds: 0, at_most, go_on };
    let branches = search.run(most)?;
    let path = search.best.ok_or(NotTied::NoPath)?;
    Ok(BestTied { path, branches, rounds: search.rounds })
}

/// Some of the paths.
struct Branch {
    open: Rc<Open>,
    prices: Rc<Prices>,
    /// What each of them costs at least.
    bound: i64,
}

struct Search<'a, J, G> {
    layers: &'a [Layer],
    joint: &'a J,
    groups: &'a Groups<'a>,
    relaxed: Relaxed<'a, J>,
    /// The cheapest tied path so far.
    best: Option<Path>,
    rounds: usize,
    at_most: [usize; 2],
    go_on: G,
}

/// A group whose layers disagree on a path.
struct Quarrel {
    group: usize,
    /// Two layers with the classes that they take.
    sides: [(usize, usize); 2],
    /// By how much agreeing here would make paths dearer, about.
    gain: i64,
}

impl<J: Joint, G: GoOn> Search<'_, J, G> {
    fn run(&mut self, most: usize) -> Result<usize, NotTied> {
        let mut open: Open = Vec::new();
        for layer in self.layers {
            let pairs = (0u32..).zip(0..layer.pairs()).filter(|(_, pair)| layer.cost_of(*pair).is_some());
            open.push(pairs.map(|(pair, _)| pair).collect());
        }
        let groups = self.groups;
        for group in &groups.all {
            let kept = common(groups, group, &open);
            if !group.sure.is_empty()
                && group.sure.iter().all(|at| open.get(*at).is_some_and(|o| !o.is_empty()))
            {
                if !kept.contains(&true) {
                    return Err(NotTied::Apart(group.name));
                }
                keep(groups, group, &mut open, &kept);
            }
        }
        let price =
            |at: usize| groups.of(at).and_then(|group| groups.all.get(group)).map_or(0, |g| g.classes);
        let prices: Prices = (0..self.layers.len()).map(|at| vec![0; price(at)]).collect();
        let mut branches = 0;
        let mut left = vec![Branch { open: Rc::new(open), prices: Rc::new(prices), bound: i64::MIN }];
        while let Some(branch) = left.pop() {
            if self.is_hopeless(branch.bound) {
                continue;
            }
            if branches >= most {
                return Err(NotTied::TooLong);
            }
            branches += 1;
            let is_first = branches == 1;
            left.extend(self.explore(branch, is_first)?.into_iter().flatten());
        }
        Ok(branches)
    }

    /// Whether paths that cost so much are no better than the best one known.
    fn is_hopeless(&self, bound: i64) -> bool {
        self.best.as_ref().is_some_and(|best| bound >= best.cost)
    }

    /// Finds the best of a branch, or the two branches that it falls into.
    fn explore(&mut self, branch: Branch, is_first: bool) -> Result<Option<[Branch; 2]>, NotTied> {
        let [first, other] = self.at_most;
        let (mut open, mut prices) = (Rc::unwrap_or_clone(branch.open), Rc::unwrap_or_clone(branch.prices));
        // The best bound and its prices.
        let mut bound: Option<(i64, Prices)> = None;
        let mut in_vain = 0;
        for _ in 0..if is_first { first } else { other } {
            let Some(seen) = self.see(&open, &prices)? else { return Ok(None) };
            let quarrels = self.quarrels(&seen, &open);
            if quarrels.is_empty() || self.is_hopeless(seen.path.cost) {
                return Ok(None);
            }
            let next = self.fairer(&open, &prices, &seen, &quarrels);
            let is_better = bound.as_ref().is_none_or(|(bound, _)| seen.path.cost > *bound);
            if is_better {
                bound = Some((seen.path.cost, prices));
                in_vain = 0;
            } else {
                in_vain += 1;
            }
            open = self.promising(&seen, &open);
            prices = next;
            if in_vain > PATIENCE {
                break;
            }
        }
        // The same prices with fewer pairs.
        let Some((_, prices)) = bound else { return Ok(None) };
        let Some(seen) = self.see(&open, &prices)? else { return Ok(None) };
        let quarrels = self.quarrels(&seen, &open);
        if is_first {
            self.dive(&open, &prices, &seen, &quarrels)?;
        }
        if self.is_hopeless(seen.path.cost) {
            return Ok(None);
        }
        let Some(worst) = quarrels.iter().rev().max_by_key(|quarrel| quarrel.gain) else { return Ok(None) };
        Ok(Some(self.halves(&open, prices, &seen, worst)))
    }

    /// One round: the cheapest path at these prices, and the tied paths that it leads to.
    fn see(&mut self, open: &Open, prices: &Prices) -> Result<Option<Seen>, NotTied> {
        if !(self.go_on)(self.rounds) {
            return Err(NotTied::Stopped);
        }
        self.rounds += 1;
        let Some(seen) = self.relaxed.see(self.groups, open, prices) else { return Ok(None) };
        let mut first = vec![None; self.groups.all.len()];
        let mut last = first.clone();
        for (group, _, class) in self.groups.on(self.layers, &seen.path) {
            if let (Some(first), Some(last)) = (first.get_mut(group), last.get_mut(group)) {
                first.get_or_insert(class);
                *last = Some(class);
            }
        }
        for classes in [first, last] {
            let path = self.groups.tied(self.layers, self.joint, &seen.path, &classes);
            if let Some(path) = path.filter(|path| !self.is_hopeless(path.cost)) {
                self.best = Some(path);
            }
        }
        Ok(Some(seen))
    }

    /// The groups whose layers disagree on the cheapest path, in order of their first layers.
    fn quarrels(&self, seen: &Seen, open: &Open) -> Vec<Quarrel> {
        let mut first: Vec<Option<(usize, usize)>> = vec![None; self.groups.all.len()];
        let mut quarrels: Vec<Option<Quarrel>> = first.iter().map(|_| None).collect();
        for (group, at, class) in self.groups.on(self.layers, &seen.path) {
            let (Some(first), Some(quarrel)) = (first.get_mut(group), quarrels.get_mut(group)) else {
                continue;
            };
            let before = *first.get_or_insert((at, class));
            if before.1 != class && quarrel.is_none() {
                let (sums, layers) = self.sums(group, seen, open);
                let least = sums.into_iter().flatten().min();
                let gain = least.map_or(0, |least| least - seen.path.cost * layers);
                *quarrel = Some(Quarrel { group, sides: [before, (at, class)], gain });
            }
        }
        quarrels.into_iter().flatten().collect()
    }

    /// For each class of a group the sum of what the cheapest paths through it cost in each layer that every path goes through, where
    /// there are some; and how many layers that are.
    fn sums(&self, group: usize, seen: &Seen, open: &Open) -> (Vec<Option<i64>>, i64) {
        let Some(group) = self.groups.all.get(group) else { return (Vec::new(), 0) };
        let mut sums = vec![(0i64, 0usize); group.classes];
        for at in group.sure.iter().copied() {
            for (sum, cost) in sums.iter_mut().zip(through(self.groups, group, seen, open, at)) {
                if let Some(cost) = cost {
                    *sum = (sum.0 + cost, sum.1 + 1);
                }
            }
        }
        let all = group.sure.len();
        let sums = sums.into_iter().map(|(sum, count)| (count == all && all > 0).then_some(sum)).collect();
        (sums, all as i64)
    }

    /// Of groups that quarrel side by side, the one where agreeing costs most: the others follow it.
    fn leaders<'q>(&self, quarrels: &'q [Quarrel]) -> Vec<&'q Quarrel> {
        let mut leaders: Vec<&Quarrel> = Vec::new();
        let mut last = None;
        for quarrel in quarrels {
            let place = self.groups.all.get(quarrel.group).and_then(|group| group.layers.first()).copied();
            let goes_on = last.zip(place).is_some_and(|(last, place): (usize, usize)| place == last + 1);
            last = place;
            match leaders.last_mut() {
                Some(leader) if goes_on => {
                    if quarrel.gain > leader.gain {
                        *leader = quarrel;
                    }
                }
                _ => leaders.push(quarrel),
            }
        }
        leaders
    }

    /// Prices at which the layers of the groups that quarrel find each class equally dear.
    fn fairer(&self, open: &Open, prices: &Prices, seen: &Seen, quarrels: &[Quarrel]) -> Prices {
        let mut prices = prices.clone();
        for quarrel in self.leaders(quarrels) {
            let Some(group) = self.groups.all.get(quarrel.group) else { continue };
            let (sums, layers) = self.sums(quarrel.group, seen, open);
            if layers < 2 {
                continue;
            }
            // For each layer the changes of all classes; a class changes in all of them or in none.
            let mut changes: Vec<Vec<i32>> = Vec::new();
            let mut fits = vec![true; group.classes];
            for (index, at) in (0i64..).zip(group.sure.iter().copied()) {
                let own = through(self.groups, group, seen, open, at);
                let known = prices.get(at).map_or(&[][..], Vec::as_slice);
                let most = self.groups.most_price(at);
                let change =
                    own.iter().zip(&sums).zip(known).zip(&mut fits).map(|(((own, sum), known), fits)| {
                        let (Some(own), Some(sum)) = (own, sum) else { return 0 };
                        // The remainder goes to the first layers.
                        let share = sum.div_euclid(layers) + i64::from(index < sum.rem_euclid(layers));
                        let fitting = |change: &i32| change.saturating_add(*known).unsigned_abs() <= most;
                        let change = i32::try_from(share - own).ok().filter(fitting);
                        *fits &= change.is_some();
                        change.unwrap_or_default()
                    });
                changes.push(change.collect());
            }
            for (at, changes) in group.sure.iter().zip(&changes) {
                let Some(own) = prices.get_mut(*at) else { continue };
                for ((price, change), fits) in own.iter_mut().zip(changes).zip(&fits) {
                    *price += if *fits { *change } else { 0 };
                }
            }
        }
        prices
    }

    /// The pairs through which a path may be cheaper than the best one known.
    fn promising(&self, seen: &Seen, open: &Open) -> Open {
        let mut open = open.clone();
        let Some(best) = &self.best else { return open };
        let hopes = |cost: &Option<i64>| cost.is_some_and(|cost| cost < best.cost);
        for (open, through) in open.iter_mut().zip(&seen.through) {
            let mut costs = through.iter();
            open.retain(|_| costs.next().is_some_and(hopes));
        }
        for group in &self.groups.all {
            let kept = common(self.groups, group, &open);
            keep(self.groups, group, &mut open, &kept);
        }
        open
    }

    /// Looks for a good tied path: groups that quarrel agree, one after the other, on the class that suits all best.
    fn dive(
        &mut self,
        open: &Open,
        prices: &Prices,
        seen: &Seen,
        quarrels: &[Quarrel],
    ) -> Result<(), NotTied> {
        let mut open = self.agreed(open, seen, quarrels);
        for _ in 0..self.groups.all.len() {
            let Some(seen) = self.see(&open, prices)? else { break };
            let quarrels = self.quarrels(&seen, &open);
            if quarrels.is_empty() || self.is_hopeless(seen.path.cost) {
                break;
            }
            open = self.agreed(&open, &seen, &quarrels);
        }
        Ok(())
    }

    fn agreed(&self, open: &Open, seen: &Seen, quarrels: &[Quarrel]) -> Open {
        let mut agreed = open.clone();
        for quarrel in self.leaders(quarrels) {
            let Some(group) = self.groups.all.get(quarrel.group) else { continue };
            let (sums, _) = self.sums(quarrel.group, seen, open);
            let costs = sums.iter().enumerate().filter_map(|(class, sum)| Some(((*sum)?, class)));
            let chosen = costs.min().map_or(quarrel.sides[0].1, |(_, class)| class);
            let kept: Vec<bool> = (0..group.classes).map(|class| class == chosen).collect();
            keep(self.groups, group, &mut agreed, &kept);
        }
        agreed
    }

    /// The two branches of a quarrel, the one to be looked at first last.
    fn halves(&self, open: &Open, prices: Prices, seen: &Seen, quarrel: &Quarrel) -> [Branch; 2] {
        let prices = Rc::new(prices);
        let [(one, class), (other, class_there)] = quarrel.sides;
        let group = self.groups.all.get(quarrel.group);
        let costs = |at| group.map(|group| through(self.groups, group, seen, open, at)).unwrap_or_default();
        let (here, there) = (costs(one), costs(other));
        let dear = |cost: &Option<i64>| cost.unwrap_or(i64::MAX);
        let suits_one: Vec<bool> = here
            .iter()
            .zip(&there)
            .enumerate()
            .map(|(own, costs)| own == class || (own != class_there && dear(costs.0) <= dear(costs.1)))
            .collect();
        let half = |side: bool| {
            let kept: Vec<bool> = suits_one.iter().map(|suits| *suits == side).collect();
            let mut open = open.clone();
            if let Some(group) = group {
                keep(self.groups, group, &mut open, &kept);
            }
            let is_sure = |at: &usize| group.is_some_and(|group| group.sure.contains(at));
            let of_half = here.iter().zip(&there).zip(&kept).filter(|(_, kept)| **kept);
            let least = of_half.map(|((here, there), _)| dear(here).max(dear(there))).min();
            let bound = least.filter(|_| is_sure(&one) && is_sure(&other)).unwrap_or(seen.path.cost);
            Branch { open: Rc::new(open), prices: Rc::clone(&prices), bound }
        };
        let (first, second) = (half(true), half(false));
        if first.bound <= second.bound { [second, first] } else { [first, second] }
    }
}

/// For each class of a group what the cheapest path through it in a layer costs.
fn through(groups: &Groups<'_>, group: &Group, seen: &Seen, open: &Open, at: usize) -> Vec<Option<i64>> {
    let mut costs: Vec<Option<i64>> = vec![None; group.classes];
    let (Some(open), Some(through)) = (open.get(at), seen.through.get(at)) else { return costs };
    for (pair, cost) in open.iter().zip(through) {
        let Some(known) = groups.class(at, *pair).and_then(|class| costs.get_mut(class)) else { continue };
        *known = match (*known, *cost) {
            (Some(known), Some(cost)) => Some(known.min(cost)),
            (known, cost) => known.or(cost),
        };
    }
    costs
}

/// Whether each class of a group is open in every layer that every path goes through.
fn common(groups: &Groups<'_>, group: &Group, open: &Open) -> Vec<bool> {
    let mut kept = vec![true; group.classes];
    for at in group.sure.iter().copied() {
        let mut here = vec![false; group.classes];
        for pair in open.get(at).into_iter().flatten() {
            if let Some(here) = groups.class(at, *pair).and_then(|class| here.get_mut(class)) {
                *here = true;
            }
        }
        kept.iter_mut().zip(here).for_each(|(kept, here)| *kept &= here);
    }
    kept
}

/// Leaves the classes out that are not kept.
fn keep(groups: &Groups<'_>, group: &Group, open: &mut Open, kept: &[bool]) {
    for at in group.layers.iter().copied() {
        let is_kept = |pair: &u32| groups.class(at, *pair).and_then(|class| kept.get(class)) == Some(&true);
        if let Some(open) = open.get_mut(at) {
            open.retain(is_kept);
        }
    }
}
