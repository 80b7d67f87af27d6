//! Where everybody stands in a family: generations in rows, relatives near each other.
//!
//! Knows no animals, only who is a parent of whom. A parent whose young stand more than one row
//! below is led there by stand-ins, one in each row between, so that no line runs over a symbol.

/// Somebody, or a stand-in.
#[derive(Clone, Debug)]
pub(super) struct Node {
    /// Room it takes across.
    pub(super) wide: f64,
    pub(super) row: usize,
    /// Its middle.
    pub(super) x: f64,
}

/// Parents with the young they have together.
#[derive(Clone, Debug)]
pub(super) struct Union {
    pub(super) parents: Vec<usize>,
    pub(super) children: Vec<usize>,
    /// The row of the children.
    pub(super) row: usize,
    /// For each parent the stand-ins on the way down; empty when it stands in the row above.
    pub(super) ways: Vec<Vec<usize>>,
}

impl Union {
    /// Who stands for each parent in the row above the children.
    pub(super) fn ends(&self) -> impl Iterator<Item = usize> + '_ {
        self.parents.iter().zip(&self.ways).map(|(parent, way)| *way.last().unwrap_or(parent))
    }
}

#[derive(Clone, Debug)]
pub(super) struct Layout {
    pub(super) nodes: Vec<Node>,
    pub(super) unions: Vec<Union>,
    /// From left to right.
    pub(super) rows: Vec<Vec<usize>>,
}

/// Room a stand-in takes.
const STAND_IN: f64 = 18.0;
/// What it counts against a shorter line that young of two couples stand among each other.
const ENTANGLED: f64 = 6.0;
/// How often neighbours are swapped to shorten the lines, and places evened out.
const ROUNDS: usize = 8;

/// Finds a place for everybody; `unions` are parents and children.
pub(super) fn layout(wides: &[f64], unions: Vec<(Vec<usize>, Vec<usize>)>) -> Layout {
    let rows = generations(wides.len(), &unions);
    let place = |(wide, row): (&f64, &usize)| Node { wide: *wide, row: *row, x: 0.0 };
    let nodes = wides.iter().zip(&rows).map(place).collect();
    let mut layout = Layout { nodes, unions: Vec::new(), rows: Vec::new() };
    for (parents, children) in unions {
        layout.add(parents, children);
    }
    layout.order();
    layout.shorten();
    layout.spread();
    layout
}

/// The row of everybody: below the lower of both parents; who came in stands beside the mate.
fn generations(number: usize, unions: &[(Vec<usize>, Vec<usize>)]) -> Vec<usize> {
    let mut row = vec![0; number];
    let below = |row: &[usize], parents: &[usize]| {
        parents.iter().map(|parent| row[*parent] + 1).max().unwrap_or(0)
    };
    for _ in 0..number {
        let before = row.clone();
        for (parents, children) in unions {
            let at = below(&row, parents);
            children.iter().for_each(|child| row[*child] = row[*child].max(at));
        }
        if row == before {
            break;
        }
    }
    let bred: Vec<usize> = unions.iter().flat_map(|(_, children)| children.clone()).collect();
    for root in (0..number).filter(|at| !bred.contains(at)) {
        let own = unions.iter().filter(|(parents, _)| parents.contains(&root));
        let highest = own.map(|(parents, _)| below(&row, parents)).min();
        row[root] = highest.map_or(0, |highest| highest.saturating_sub(1));
    }
    row
}

impl Layout {
    fn add(&mut self, parents: Vec<usize>, children: Vec<usize>) {
        let row = parents.iter().map(|p| self.nodes[*p].row + 1).max().unwrap_or(0);
        let row = children.first().map_or(row, |child| self.nodes[*child].row);
        let mut ways = Vec::new();
        for parent in &parents {
            let first = self.nodes.len();
            for between in self.nodes[*parent].row + 1..row {
                self.nodes.push(Node { wide: STAND_IN, row: between, x: 0.0 });
            }
            ways.push((first..self.nodes.len()).collect());
        }
        self.unions.push(Union { parents, children, row, ways });
    }

    /// The order from left to right: below one's parents, beside one's mate.
    fn order(&mut self) {
        let deepest = self.nodes.iter().map(|node| node.row).max().unwrap_or(0);
        let mut place = vec![f64::NAN; self.nodes.len()];
        for row in 0..=deepest {
            let mut known: Vec<(f64, usize)> = Vec::new();
            let mut came_in = Vec::new();
            for at in (0..self.nodes.len()).filter(|at| self.nodes[*at].row == row) {
                match self.above(at, &place) {
                    Some(key) => known.push((key, at)),
                    None => came_in.push(at),
                }
            }
            known.sort_by(|a, b| a.0.total_cmp(&b.0));
            let mut order: Vec<usize> = known.into_iter().map(|(_, at)| at).collect();
            for at in self.couples_first(&came_in) {
                let mate = self.mates(at).find_map(|mate| order.iter().position(|o| *o == mate));
                order.insert(mate.map_or(order.len(), |mate| mate + 1), at);
            }
            order.iter().enumerate().for_each(|(at, node)| place[*node] = at as f64);
            self.rows.push(order);
        }
    }

    /// The mean place of what a node hangs on in the row above.
    fn above(&self, at: usize, place: &[f64]) -> Option<f64> {
        for union in &self.unions {
            if union.children.contains(&at) {
                let ends: Vec<f64> = union.ends().map(|end| place[end]).collect();
                return Some(ends.iter().sum::<f64>() / ends.len().max(1) as f64);
            }
            for (parent, way) in union.parents.iter().zip(&union.ways) {
                if let Some(step) = way.iter().position(|stand_in| *stand_in == at) {
                    let before = if step == 0 { *parent } else { way[step - 1] };
                    return Some(place[before]);
                }
            }
        }
        None
    }

    /// Those that came in, in the order of the unions they are part of.
    fn couples_first(&self, came_in: &[usize]) -> Vec<usize> {
        let mut order: Vec<usize> = Vec::new();
        let parents = self.unions.iter().flat_map(|union| union.parents.iter().copied());
        for at in parents.chain(came_in.iter().copied()) {
            if came_in.contains(&at) && !order.contains(&at) {
                order.push(at);
            }
        }
        order
    }

    fn mates(&self, at: usize) -> impl Iterator<Item = usize> + '_ {
        let own = self.unions.iter().filter(move |union| union.parents.contains(&at));
        own.flat_map(|union| union.parents.iter().copied()).filter(move |other| *other != at)
    }

    /// Swaps neighbours as long as that shortens the lines.
    fn shorten(&mut self) {
        self.rows.clone().iter().for_each(|row| self.pack(row));
        let mut best = self.length();
        for _ in 0..ROUNDS {
            let before = best;
            for row in 0..self.rows.len() {
                for at in 1..self.rows[row].len() {
                    self.rows[row].swap(at - 1, at);
                    self.pack(&self.rows[row].clone());
                    let length = self.length();
                    if length + 1e-9 < best {
                        best = length;
                    } else {
                        self.rows[row].swap(at - 1, at);
                        self.pack(&self.rows[row].clone());
                    }
                }
            }
            if best >= before {
                break;
            }
        }
    }

    /// Puts a row side by side, around zero.
    fn pack(&mut self, row: &[usize]) {
        let all: f64 = row.iter().map(|at| self.nodes[*at].wide).sum();
        let mut left = -all / 2.0;
        for at in row {
            let wide = self.nodes[*at].wide;
            self.nodes[*at].x = left + wide / 2.0;
            left += wide;
        }
    }

    /// How far all lines run sideways.
    fn length(&self) -> f64 {
        let of = |union: &Union| {
            let middle = self.middle(union);
            let x = |at: usize| self.nodes[at].x;
            let down: f64 = union.children.iter().map(|child| (x(*child) - middle).abs()).sum();
            let across: f64 = union.ends().map(|end| (x(end) - middle).abs()).sum();
            let ways = union.parents.iter().zip(&union.ways).map(|(parent, way)| {
                let mut last = x(*parent);
                way.iter()
                    .map(|at| (x(*at) - std::mem::replace(&mut last, x(*at))).abs())
                    .sum::<f64>()
            });
            down + 2.0 * across + ways.sum::<f64>()
        };
        self.unions.iter().map(of).sum::<f64>() + ENTANGLED * self.entangled()
    }

    /// How far the young of one couple stand among those of another.
    fn entangled(&self) -> f64 {
        let reach = |union: &Union| {
            let xs = union.children.iter().map(|child| self.nodes[*child].x);
            xs.fold([f64::MAX, f64::MIN], |[low, high], x| [low.min(x), high.max(x)])
        };
        let reaches: Vec<[f64; 2]> = self.unions.iter().map(reach).collect();
        let mut sum = 0.0;
        for (at, [low, high]) in reaches.iter().enumerate() {
            for (other, [from, to]) in reaches.iter().enumerate().skip(at + 1) {
                if self.unions[at].row == self.unions[other].row {
                    sum += (high.min(*to) - low.max(*from)).max(0.0);
                }
            }
        }
        sum
    }

    /// The middle between the parents, where they are nearest to their young.
    pub(super) fn middle(&self, union: &Union) -> f64 {
        let ends: Vec<f64> = union.ends().map(|end| self.nodes[end].x).collect();
        let (low, high) =
            ends.iter().fold((f64::MAX, f64::MIN), |(l, h), x| (l.min(*x), h.max(*x)));
        if ends.is_empty() { 0.0 } else { f64::midpoint(low, high) }
    }

    /// Evens the places out: young below the middle of their parents, parents above their young.
    fn spread(&mut self) {
        for _ in 0..ROUNDS {
            for row in 1..self.rows.len() {
                self.settle(row, |layout, at| layout.wish_of_young(at));
            }
            for row in (0..self.rows.len().saturating_sub(1)).rev() {
                self.settle(row, |layout, at| layout.wish_of_parent(at));
            }
        }
        let left = self.nodes.iter().map(|node| node.x - node.wide / 2.0).fold(f64::MAX, f64::min);
        self.nodes.iter_mut().for_each(|node| node.x -= left);
    }

    fn wish_of_young(&self, at: usize) -> Option<f64> {
        for union in &self.unions {
            if let Some(own) = union.children.iter().position(|child| *child == at) {
                let wide = |child: &usize| self.nodes[*child].wide;
                let all: f64 = union.children.iter().map(wide).sum();
                let left: f64 = union.children[..own].iter().map(wide).sum();
                return Some(self.middle(union) - all / 2.0 + left + self.nodes[at].wide / 2.0);
            }
            for (parent, way) in union.parents.iter().zip(&union.ways) {
                if let Some(step) = way.iter().position(|stand_in| *stand_in == at) {
                    let before = if step == 0 { *parent } else { way[step - 1] };
                    return Some(self.nodes[before].x);
                }
            }
        }
        None
    }

    fn wish_of_parent(&self, at: usize) -> Option<f64> {
        let mut wishes = Vec::new();
        for union in &self.unions {
            for (parent, way) in union.parents.iter().zip(&union.ways) {
                let chain: Vec<usize> =
                    std::iter::once(*parent).chain(way.iter().copied()).collect();
                let Some(step) = chain.iter().position(|one| *one == at) else { continue };
                match chain.get(step + 1) {
                    Some(next) => wishes.push(self.nodes[*next].x),
                    None if union.children.is_empty() => {}
                    None => {
                        let xs = union.children.iter().map(|child| self.nodes[*child].x);
                        let young = xs.sum::<f64>() / union.children.len() as f64;
                        wishes.push(young + self.nodes[at].x - self.middle(union));
                    }
                }
            }
        }
        let sum: f64 = wishes.iter().sum();
        (!wishes.is_empty()).then(|| sum / wishes.len() as f64)
    }

    /// Moves a row as near to its wishes as the order and the room of each allow.
    ///
    /// Least squares under an order: neighbours that get into each other's way are pooled.
    fn settle(&mut self, row: usize, wish: impl Fn(&Layout, usize) -> Option<f64>) {
        let order = self.rows[row].clone();
        let mut offset = 0.0;
        let mut pools: Vec<(f64, f64, usize)> = Vec::new();
        let mut offsets = Vec::new();
        for (at, node) in order.iter().enumerate() {
            if at > 0 {
                offset += (self.nodes[order[at - 1]].wide + self.nodes[*node].wide) / 2.0;
            }
            offsets.push(offset);
            let (wished, weight) = match wish(self, *node) {
                Some(x) => (x, 1.0),
                None => (self.nodes[*node].x, 0.05),
            };
            pools.push((weight * (wished - offset), weight, 1));
            while let [.., (s1, w1, n1), (s2, w2, n2)] = pools.as_slice()
                && s1 / w1 > s2 / w2
            {
                let pooled = (s1 + s2, w1 + w2, n1 + n2);
                pools.truncate(pools.len() - 2);
                pools.push(pooled);
            }
        }
        let mut at = 0;
        for (sum, weight, number) in pools {
            for _ in 0..number {
                self.nodes[order[at]].x = sum / weight + offsets[at];
                at += 1;
            }
        }
    }
}

/// Puts stretches into lanes so that no two in one lane come nearer than `apart`; gives the lane of
/// each, and how many there are.
pub(super) fn lanes(stretches: &[[f64; 2]], apart: f64) -> (Vec<usize>, usize) {
    let mut order: Vec<usize> = (0..stretches.len()).collect();
    order.sort_by(|a, b| stretches[*a][0].total_cmp(&stretches[*b][0]));
    let mut ends: Vec<f64> = Vec::new();
    let mut lane = vec![0; stretches.len()];
    for at in order {
        let [from, to] = stretches[at];
        let free = ends.iter().position(|end| end + apart <= from);
        let own = free.unwrap_or(ends.len());
        if own == ends.len() {
            ends.push(to);
        } else {
            ends[own] = to;
        }
        lane[at] = own;
    }
    (lane, ends.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nobody_stands_on_anybody() {
        // Two couples, their young paired, and a back-cross of a daughter to her sire.
        let unions = vec![
            (vec![0, 1], vec![4, 5, 6]),
            (vec![2, 3], vec![7, 8]),
            (vec![5, 7], vec![9, 10]),
            (vec![0, 9], vec![11]),
        ];
        let layout = layout(&[70.0; 12], unions);
        assert_eq!(layout.nodes[11].row, 3);
        assert_eq!(layout.unions[3].ways[0].len(), 2);
        for row in &layout.rows {
            for pair in row.windows(2) {
                let [a, b] = [&layout.nodes[pair[0]], &layout.nodes[pair[1]]];
                assert!(b.x - a.x >= (a.wide + b.wide) / 2.0 - 1e-6, "{} {}", a.x, b.x);
            }
        }
        assert!(layout.nodes.iter().all(|node| node.x - node.wide / 2.0 >= -1e-6));
    }

    #[test]
    fn stretches_that_meet_get_lanes_of_their_own() {
        let (lane, number) = lanes(&[[0.0, 10.0], [5.0, 20.0], [15.0, 30.0]], 2.0);
        assert_eq!((lane, number), (vec![0, 1, 0], 2));
    }
}
