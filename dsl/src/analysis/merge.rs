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
    let mut together: BTreeMap<Vec<CellSet>, CellSet> = BTreeMap::new();
    for region in regions {
        let mut others = region.sets;
        if axis >= others.len() {
            continue;
        }
        let own = others.remove(axis);
        let set = together.entry(others).or_default();
        *set = set.union(&own);
    }
    together
        .into_iter()
        .map(|(mut sets, own)| {
            sets.insert(axis.min(sets.len()), own);
            Region { sets }
        })
        .collect()
}

/// The regions cut into runs on the axes that `is_cut` names: there a set of cells that do not
/// follow each other becomes several.
pub fn cut_into_runs(regions: Vec<Region>, is_cut: &dyn Fn(usize) -> bool) -> Vec<Region> {
    let axes = regions.first().map_or(0, |region| region.sets.len());
    let mut regions = regions;
    for axis in (0..axes).filter(|axis| is_cut(*axis)) {
        let mut cut = Vec::with_capacity(regions.len());
        for region in regions {
            let runs = region.sets.get(axis).map_or(&[][..], CellSet::runs);
            for (start, end) in runs {
                let mut sets = region.sets.clone();
                if let Some(own) = sets.get_mut(axis) {
                    *own = CellSet::run(*start, *end);
                }
                cut.push(Region { sets });
            }
        }
        regions = cut;
    }
    regions.sort_unstable();
    regions
}
