//! How long the tree of the record takes at a million leaves, in memory:
//! `cargo bench -p loftwright-benches --bench record`.

use std::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use loftwright_server::audit::merkle::{
    Frontier, Hash, MemoryNodes, Plan, leaf_hash, verify_consistency, verify_inclusion,
};

const LEAVES: u64 = 1_000_000;
/// About what a leaf of the record has.
const LEAF_BYTES: usize = 450;

fn leaf(index: u64) -> Hash {
    leaf_hash(&index.to_be_bytes())
}

fn record(criterion: &mut Criterion) {
    let mut frontier = Frontier::empty();
    let mut store = MemoryNodes::default();
    let mut written = Vec::new();
    for index in 0..LEAVES {
        written.clear();
        frontier.add(leaf(index), &mut written).unwrap();
        store.write(&written);
    }
    let root = frontier.root();

    let mut group = criterion.benchmark_group("tree of a million leaves");
    let content = vec![7; LEAF_BYTES];
    group.throughput(Throughput::Elements(1000));
    group.bench_function("add 1000 leaves", |bencher| {
        bencher.iter(|| {
            let mut grown = frontier.clone();
            let mut written = Vec::new();
            for _ in 0..1000 {
                grown
                    .add(leaf_hash(black_box(&content)), &mut written)
                    .unwrap();
            }
            written
        });
    });
    group.throughput(Throughput::Elements(1));
    group.bench_function("root", |bencher| {
        bencher.iter(|| Plan::root(black_box(LEAVES)).read(&store).unwrap());
    });
    let mut index = 0;
    group.bench_function("prove inclusion", |bencher| {
        bencher.iter(|| {
            // Another leaf each time, all over the tree.
            index = (index + 618_033) % LEAVES;
            Plan::inclusion(index, LEAVES)
                .unwrap()
                .read(&store)
                .unwrap()
        });
    });
    let index = LEAVES / 3;
    let proof = Plan::inclusion(index, LEAVES)
        .unwrap()
        .read(&store)
        .unwrap();
    group.bench_function("verify inclusion", |bencher| {
        bencher.iter(|| {
            verify_inclusion(&leaf(index), index, LEAVES, black_box(&proof), &root).unwrap();
        });
    });
    let older = LEAVES / 3;
    let older_root = Plan::root(older).read(&store).unwrap().remove(0);
    group.bench_function("prove and verify consistency", |bencher| {
        bencher.iter(|| {
            let plan = Plan::consistency(black_box(older), LEAVES).unwrap();
            let proof = plan.read(&store).unwrap();
            verify_consistency(older, LEAVES, &proof, &older_root, &root).unwrap();
        });
    });
    group.finish();
}

criterion_group!(benches, record);
criterion_main!(benches);
