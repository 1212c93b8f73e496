//! What the search is given: layers of shapes for two hands, what each pair costs, and the ways from layer to layer.

/// One chord, or one of several ways to play it: how many shapes each hand has, the cost of each pair, and from which layers
/// one comes here.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Layer {
    /// Left shapes.
    pub lefts: usize,
    /// Right shapes.
    pub rights: usize,
    /// `lefts × rights` costs, a row for each left shape; [`Layer::NEVER`] for a pair that cannot be played. Costs beyond ten
    /// million points count as that much.
    pub base: Vec<i32>,
    /// The layers before, which must stand earlier; none where a path starts here. Paths end in layers that nobody comes from.
    pub from: Vec<Coming>,
}

/// The ways from one layer to the next.
#[derive(Clone, Debug, PartialEq)]
pub struct Coming {
    /// The layer before.
    pub layer: usize,
    /// What it costs each left shape there to become each here.
    pub left: Ways,
    /// The same for right shapes.
    pub right: Ways,
    /// Whether the way costs something more that looks at both hands at once.
    pub joint: bool,
}

impl Coming {
    /// Whether costs counted from the cheapest pair before fit into short words, as far as they matter.
    pub(super) fn is_short(&self) -> bool {
        let (left, right) = (&self.left, &self.right);
        let words = left.narrow().is_some() && right.narrow().is_some();
        words && self.cap() + left.most.max(0) + right.most.max(0) <= i32::from(i16::MAX)
    }

    /// At this distance from the cheapest pair before, nothing gets cheaper.
    pub(super) fn cap(&self) -> i32 {
        (self.left.most - self.left.least) + (self.right.most - self.right.least) + 1
    }

    /// Both hands in words of the length that the step needs, so that it makes none of its own.
    pub(in crate::search) fn settled(self) -> Self {
        if self.is_short() {
            return self;
        }
        Self { left: self.left.widened(), right: self.right.widened(), ..self }
    }
}

impl Layer {
    /// The cost of a pair that cannot be played.
    pub const NEVER: i32 = i32::MAX;
    /// No pair costs or earns more points than this.
    pub const MOST: i32 = 10_000_000;

    /// How many pairs there are.
    pub fn pairs(&self) -> usize {
        self.lefts * self.rights
    }

    /// The cost of a pair, within bounds; `None` where it cannot be played.
    pub(in crate::search) fn cost_of(&self, pair: usize) -> Option<i32> {
        self.base
            .get(pair)
            .filter(|cost| **cost != Self::NEVER)
            .map(|cost| (*cost).clamp(-Self::MOST, Self::MOST))
    }
}

/// Rows are filled up to a multiple of so many cells, so that whole registers are added and nothing is left over.
pub(super) const LANES: usize = 16;

/// How long a row with so many cells is.
pub(in crate::search) const fn stride(cells: usize) -> usize {
    cells.next_multiple_of(LANES)
}

/// What it costs each shape of one hand to become each of the next.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ways {
    to: usize,
    /// Rows of [`stride`] cells; what stands behind the last shape means nothing.
    cells: Cells,
    least: i32,
    most: i32,
}

#[derive(Clone, Debug, PartialEq)]
enum Cells {
    Narrow(Vec<i16>),
    Wide(Vec<i32>),
}

impl Default for Cells {
    fn default() -> Self {
        Self::Narrow(Vec::new())
    }
}

impl Ways {
    /// The costs, a row of `to` for each shape before; beyond ten million points they count as that much.
    pub fn new(to: usize, costs: &[i32]) -> Self {
        if to == 0 || costs.is_empty() {
            return Self { to, ..Self::default() };
        }
        let bounded = |cost: i32| cost.clamp(-Layer::MOST, Layer::MOST);
        let (least, most) = costs.iter().fold((i32::MAX, i32::MIN), |(l, m), c| (l.min(*c), m.max(*c)));
        let (least, most) = (bounded(least), bounded(most));
        let cells = if fits(least, most) {
            Cells::Narrow(filled_up(to, costs, |cost| cost as i16))
        } else {
            Cells::Wide(filled_up(to, costs, bounded))
        };
        Self { to, cells, least, most }
    }

    /// The same from short costs, in rows of [`stride`] cells; long words where those do not fit well.
    pub(in crate::search) fn short(to: usize, costs: Vec<i16>) -> Self {
        if to == 0 || costs.is_empty() {
            return Self { to, ..Self::default() };
        }
        let cells = costs.chunks_exact(stride(to)).flat_map(|row| row.get(..to).unwrap_or_default());
        let (least, most) = cells.fold((i16::MAX, i16::MIN), |(l, m), c| (l.min(*c), m.max(*c)));
        let (least, most) = (i32::from(least), i32::from(most));
        let ways = Self { to, cells: Cells::Narrow(costs), least, most };
        if fits(least, most) { ways } else { ways.widened() }
    }

    /// How many shapes there are behind.
    pub fn to(&self) -> usize {
        self.to
    }

    /// What it costs this shape to become that.
    pub fn get(&self, from: usize, to: usize) -> i32 {
        if to >= self.to {
            return Layer::MOST;
        }
        let at = from * stride(self.to) + to;
        match &self.cells {
            Cells::Narrow(cells) => cells.get(at).map_or(Layer::MOST, |cost| i32::from(*cost)),
            Cells::Wide(cells) => cells.get(at).copied().unwrap_or(Layer::MOST),
        }
    }

    /// The least and the most that a way costs.
    pub(super) fn range(&self) -> (i32, i32) {
        (self.least, self.most)
    }

    /// The same costs in long words.
    fn widened(self) -> Self {
        let Cells::Narrow(cells) = &self.cells else { return self };
        let cells = Cells::Wide(cells.iter().map(|cost| i32::from(*cost)).collect());
        Self { cells, ..self }
    }

    /// The costs as short words, where all fit well.
    pub(super) fn narrow(&self) -> Option<&[i16]> {
        match &self.cells {
            Cells::Narrow(cells) => Some(cells),
            Cells::Wide(_) => None,
        }
    }

    /// The costs as long words.
    pub(super) fn wide(&self) -> std::borrow::Cow<'_, [i32]> {
        match &self.cells {
            Cells::Narrow(cells) => cells.iter().map(|cost| i32::from(*cost)).collect(),
            Cells::Wide(cells) => cells.into(),
        }
    }
}

/// Whether costs from the one to the other fit well into short words: sums of some of them do too.
fn fits(least: i32, most: i32) -> bool {
    let short =
        |cost: i32| i16::try_from(cost).is_ok_and(|cost| (i16::MIN / 4..=i16::MAX / 4).contains(&cost));
    short(least) && short(most)
}

/// The costs in rows of [`stride`] cells.
fn filled_up<T: Copy + Default>(to: usize, costs: &[i32], of: impl Fn(i32) -> T) -> Vec<T> {
    let mut cells = vec![T::default(); costs.len().div_ceil(to) * stride(to)];
    for (cells, costs) in cells.chunks_exact_mut(stride(to)).zip(costs.chunks(to)) {
        cells.iter_mut().zip(costs).for_each(|(cell, cost)| *cell = of(*cost));
    }
    cells
}
