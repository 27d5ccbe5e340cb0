//! Regions put together where they differ on one axis only.

use std::collections::BTreeMap;

use super::cell_set::CellSet;
use super::sweep::Region;

/// Merges disjoint regions greedily, axis after axis, until no two of them differ on one axis
/// only. The result is disjoint, covers the same points, and is in order.
pub fn merged(mut regions: Vec<Region>) -> Vec<Region> {
    let axes = regions.first().map_or(0, |region| region.sets.len());
    let mut before = usize::MAX;
    while regions.len() < before {
        before = regions.len();
        // The last column first: it is the one that a reader varies first.
        for axis in (0..axes).rev() {
            regions = merged_along(axis, regions);
        }
    }
    regions.sort_unstable();
    regions
}

fn merged_along(axis: usize, regions: Vec<Region>) -> Vec<Region> {
    let mut together: BTreeMap<Vec<CellSet>, Vec<(usize, usize)>> = BTreeMap::new();
    for region in regions {
        let mut others = region.sets;
        if axis >= others.len() {
            continue;
        }
        let own = others.remove(axis);
        together.entry(others).or_default().extend(own.runs());
    }
    together
        .into_iter()
        .map(|(mut sets, runs)| {
            sets.insert(axis.min(sets.len()), CellSet::of_runs(runs));
            Region { sets }
        })
        .collect()
}

/// The regions cut into pieces: `pieces` divides the set of a region on an axis.
pub fn cut(
    mut regions: Vec<Region>,
    pieces: &dyn Fn(usize, &CellSet) -> Vec<CellSet>,
) -> Vec<Region> {
    let axes = regions.first().map_or(0, |region| region.sets.len());
    for axis in 0..axes {
        let mut cut = Vec::with_capacity(regions.len());
        for region in regions {
            let own = region.sets.get(axis).cloned().unwrap_or_default();
            for piece in pieces(axis, &own) {
                let mut sets = region.sets.clone();
                if let Some(own) = sets.get_mut(axis) {
                    *own = piece;
                }
                cut.push(Region { sets });
            }
        }
        regions = cut;
    }
    regions.sort_unstable();
    regions
}
