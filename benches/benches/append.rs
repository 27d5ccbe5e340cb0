//! How many records a second are kept on the disk, 64 a transaction, beside a raw file that is
//! appended to and flushed with fdatasync for the same bytes, in the same run:
//! `cargo bench -p loftwright-benches --bench append`. The folder is made where `TMPDIR` says: name
//! a real disk there, since a file system in memory flushes nothing.

use std::fs::File;
use std::io::Write;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use loftwright_server::audit::leaf::{LeafHeader, LeafKind, Salt};
use loftwright_server::audit::merkle::leaf_hash;
use loftwright_server::store::{
    DataFolder, Entry, EntryFacts, MOST_IN_A_BATCH, Outcome, RequestMark, SqliteStore, Store,
};
use zeroize::Zeroizing;

/// About what a wedge-only record has.
const BODY_BYTES: usize = 2048;
/// About what a leaf has besides.
const LEAF_BYTES: usize = 450;

fn entry(number: u64) -> Entry {
    let digest = Some(leaf_hash(b"a digest"));
    let hash = leaf_hash(&number.to_be_bytes());
    Entry {
        header: LeafHeader {
            position: 0,
            instant_ms: 1_795_000_000_000,
            kind: LeafKind::Recommendation,
            principal: "till-2".to_owned(),
            request_id_hash: None,
            meaning_digest: digest,
            text_digest: digest,
            rules_digest: digest,
            contract_version: Some(3),
            semantics_version: Some(4),
            parts_digest: digest,
            subject_commitment: None,
        },
        subject: Some(format!("player-{}", number % 1000)),
        salt: Salt::generate().unwrap(),
        body: Zeroizing::new(vec![7; BODY_BYTES]),
        request: Some(RequestMark {
            id: hash,
            content: hash,
        }),
        facts: EntryFacts {
            ruleset: Some("skerry".to_owned()),
            outcome: Some(Outcome::Complete),
            about: None,
        },
        blobs: Vec::new(),
    }
}

fn append(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("durable append of 64");
    group.throughput(Throughput::Elements(64));
    let folder = tempfile::tempdir().unwrap();

    let mut file = File::create(folder.path().join("raw")).unwrap();
    let batch = vec![7; MOST_IN_A_BATCH * (BODY_BYTES + LEAF_BYTES)];
    group.bench_function("raw file", |bencher| {
        bencher.iter(|| {
            file.write_all(&batch).unwrap();
            file.sync_data().unwrap();
        });
    });

    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .unwrap();
    let data = DataFolder::open(&folder.path().join("data")).unwrap();
    let key = data.signing_key().unwrap();
    let store = runtime.block_on(SqliteStore::open(&data, &key)).unwrap();
    let mut number = 0;
    group.bench_function("the store", |bencher| {
        bencher.iter(|| {
            let entries: Vec<Entry> = (0..MOST_IN_A_BATCH)
                .map(|_| {
                    number += 1;
                    entry(number)
                })
                .collect();
            runtime.block_on(store.append(&entries)).unwrap()
        });
    });
    group.finish();
}

criterion_group!(benches, append);
criterion_main!(benches);
