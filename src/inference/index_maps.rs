//! Where the entries of a small table stand for each entry of a larger one.

use rustc_hash::FxHashMap;

/// Position of an index map.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct MapId(pub(super) u32);

/// Index maps, each made once for all tables of the same shape.
#[derive(Clone, Debug, Default)]
pub(super) struct IndexMaps {
    maps: Vec<Vec<u32>>,
    known: FxHashMap<Vec<(u32, u32)>, MapId>,
    /// Room for the shape that is looked up.
    shape: Vec<(u32, u32)>,
}

impl IndexMaps {
    /// The map from a table over `outer` to one over `inner`, both row-major; `None` if they are
    /// the same. Every variable of `inner` must be in `outer`.
    pub(super) fn map(
        &mut self,
        outer: &[u32],
        inner: &[u32],
        size: &dyn Fn(u32) -> usize,
    ) -> Option<MapId> {
        if outer == inner {
            return None;
        }
        let stride = |variable: &u32| {
            let at = inner.iter().position(|v| v == variable)?;
            Some(inner[at + 1..].iter().map(|v| size(*v)).product::<usize>())
        };
        self.shape.clear();
        let sizes = outer.iter().map(|v| (size(*v) as u32, stride(v).unwrap_or(0) as u32));
        self.shape.extend(sizes);
        if let Some(known) = self.known.get(self.shape.as_slice()) {
            return Some(*known);
        }
        let mut map = vec![0u32];
        for (size, stride) in &self.shape {
            map = map.iter().flat_map(|at| (0..*size).map(move |s| at + s * stride)).collect();
        }
        let id = MapId(self.maps.len() as u32);
        self.maps.push(map);
        self.known.insert(self.shape.clone(), id);
        Some(id)
    }

    pub(super) fn get(&self, id: MapId) -> &[u32] {
        &self.maps[id.0 as usize]
    }

    /// How many entries all maps hold.
    pub(super) fn entries(&self) -> usize {
        self.maps.iter().map(Vec::len).sum()
    }
}
