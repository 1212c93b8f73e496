//! Which layers take the same class, and which of them every path goes through.

use std::collections::BTreeMap;

use crate::search::paths::costs::Joint;
use crate::search::paths::{Layer, Path};

/// What ties a layer to others.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tie {
    /// The layers of one group take the same class.
    pub group: usize,
    /// The class of each pair; numbers from 0 without large gaps.
    pub classes: Vec<u32>,
}

/// The layers of one group.
#[derive(Debug)]
pub(super) struct Group {
    pub(super) name: usize,
    /// The classes are below this.
    pub(super) classes: usize,
    pub(super) layers: Vec<usize>,
    /// Those that every path goes through. Only these carry prices, which sum up to nothing.
    pub(super) sure: Vec<usize>,
}

/// A tied layer.
#[derive(Debug)]
struct Member<'a> {
    group: usize,
    /// The class of each pair.
    classes: &'a [u32],
    /// Pairs that can be played, by class, then by cost: class, cost, pair.
    playable: Vec<(u32, i32, u32)>,
    /// By how much a pair may get dearer or cheaper, so that no cost goes beyond what the search takes.
    most_price: u32,
}

/// All groups.
#[derive(Debug)]
pub(super) struct Groups<'a> {
    pub(super) all: Vec<Group>,
    members: Vec<Option<Member<'a>>>,
}

impl<'t> Groups<'t> {
    /// The groups of ties, in order of their first layers.
    pub(super) fn new(layers: &[Layer], ties: &'t [Option<Tie>]) -> Self {
        let sure = sure_layers(layers);
        let mut groups = Self { all: Vec::new(), members: Vec::new() };
        let mut places: BTreeMap<usize, usize> = BTreeMap::new();
        for (at, layer) in layers.iter().enumerate() {
            let Some(tie) = ties.get(at).and_then(Option::as_ref) else {
                groups.members.push(None);
                continue;
            };
            let place = *places.entry(tie.group).or_insert_with(|| {
                let name = tie.group;
                groups.all.push(Group { name, classes: 0, layers: Vec::new(), sure: Vec::new() });
                groups.all.len() - 1
            });
            let Some(group) = groups.all.get_mut(place) else { continue };
            group.layers.push(at);
            if sure.get(at) == Some(&true) {
                group.sure.push(at);
            }
            let classes = tie.classes.get(..layer.pairs()).unwrap_or_default();
            let most = classes.iter().copied().max().map_or(0, |most| most as usize + 1);
            group.classes = group.classes.max(most);
            let pairs = (0u32..).zip(classes);
            let mut playable: Vec<_> = pairs
                .filter_map(|(pair, class)| Some((*class, layer.cost_of(pair as usize)?, pair)))
                .collect();
            playable.sort_unstable();
            let largest = playable.iter().map(|(_, cost, _)| cost.unsigned_abs()).max().unwrap_or(0);
            let most_price = Layer::MOST.unsigned_abs().saturating_sub(largest);
            groups.members.push(Some(Member { group: place, classes, playable, most_price }));
        }
        groups
    }

    /// The group of a layer.
    pub(super) fn of(&self, layer: usize) -> Option<usize> {
        Some(self.members.get(layer)?.as_ref()?.group)
    }

    /// The class of a pair, where its layer is tied.
    pub(super) fn class(&self, layer: usize, pair: u32) -> Option<usize> {
        let class = self.members.get(layer)?.as_ref()?.classes.get(pair as usize)?;
        Some(*class as usize)
    }

    /// By how much a class may get dearer or cheaper in a layer at most.
    pub(super) fn most_price(&self, layer: usize) -> u32 {
        self.members.get(layer).and_then(Option::as_ref).map_or(0, |member| member.most_price)
    }

    /// The cheapest pair of a class, the first among equals.
    pub(super) fn pair(&self, layer: usize, class: usize) -> Option<u32> {
        let playable = &self.members.get(layer)?.as_ref()?.playable;
        let at = playable.partition_point(|(own, ..)| (*own as usize) < class);
        playable.get(at).filter(|(own, ..)| *own as usize == class).map(|(.., pair)| *pair)
    }

    /// The classes that a path takes: group, layer and class, in order of layers.
    pub(super) fn on<'a>(
        &'a self,
        layers: &'a [Layer],
        path: &'a Path,
    ) -> impl DoubleEndedIterator<Item = (usize, usize, usize)> + 'a {
        path.nodes.iter().filter_map(|(at, left, right)| {
            let pair = u32::try_from(left * layers.get(*at)?.rights + right).ok()?;
            Some((self.of(*at)?, *at, self.class(*at, pair)?))
        })
    }

    /// The path through the same layers in which every group takes the class given; what it costs is summed up.
    pub(super) fn tied(
        &self,
        layers: &[Layer],
        joint: &impl Joint,
        path: &Path,
        class: &[Option<usize>],
    ) -> Option<Path> {
        let mut nodes: Vec<(usize, usize, usize)> = Vec::with_capacity(path.nodes.len());
        let mut cost = 0i64;
        for (at, left, right) in path.nodes.iter().copied() {
            let layer = layers.get(at)?;
            let own = left * layer.rights + right;
            let wanted = self.of(at).map(|group| class.get(group).copied().flatten());
            let pair = match wanted {
                Some(wanted) if wanted != self.class(at, u32::try_from(own).ok()?) => {
                    self.pair(at, wanted?)? as usize
                }
                _ => own,
            };
            cost += i64::from(layer.cost_of(pair)?);
            if let Some((before, left, right)) = nodes.last().copied() {
                let from = left * layers.get(before)?.rights + right;
                let ways = layer.from.iter().enumerate().filter(|(_, coming)| coming.layer == before);
                let way = ways.map(|(which, coming)| {
                    let way = i64::from(coming.left.get(left, pair / layer.rights))
                        + i64::from(coming.right.get(right, pair % layer.rights));
                    let both =
                        if coming.joint { joint(at, which, from, pair).clamp(0, Layer::MOST) } else { 0 };
                    way + i64::from(both)
                });
                cost += way.min()?;
            }
            nodes.push((at, pair / layer.rights, pair % layer.rights));
        }
        Some(Path { cost, nodes })
    }
}

/// For each layer, whether every path goes through it: none starts behind it, ends before it, or goes past it.
fn sure_layers(layers: &[Layer]) -> Vec<bool> {
    let mut goes_on = vec![false; layers.len()];
    // How far one comes from the layers before without a stop.
    let mut past = vec![0usize; layers.len()];
    for (at, layer) in layers.iter().enumerate() {
        for coming in &layer.from {
            if let (Some(goes_on), Some(past)) = (goes_on.get_mut(coming.layer), past.get_mut(coming.layer)) {
                *goes_on = true;
                *past = (*past).max(at);
            }
        }
    }
    let last_start = layers.iter().rposition(|layer| layer.from.is_empty()).unwrap_or(0);
    let first_end = goes_on.iter().position(|goes_on| !goes_on).unwrap_or(0);
    let mut furthest = 0;
    let mut sure = Vec::with_capacity(layers.len());
    for (at, past) in past.into_iter().enumerate() {
        sure.push(at >= last_start && at <= first_end && furthest <= at);
        furthest = furthest.max(past);
    }
    sure
}
