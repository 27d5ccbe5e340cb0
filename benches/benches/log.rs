//! A log of a million records: how long it takes to open, to prove, to list and to append to, and
//! how long a caller waits for his record, alone and among 64: `cargo bench -p loftwright-benches
//! --bench log`. `LOFTWRIGHT_LOG_RECORDS` takes another size; the folder (about a kilobyte a
//! record) is made where `TMPDIR` says.

use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use loftwright_benches::record::entry;
use loftwright_server::audit::merkle::{leaf_hash, verify_inclusion};
use loftwright_server::store::{
    DataFolder, Entry, ListFilter, Notary, Outcome, Recorder, RecorderSettings, SqliteStore, Store,
    inclusion_proof, root_of,
};

const RECORDS: u64 = 1_000_000;
const BODY_BYTES: usize = 200;
/// The records of a transaction while the log is made.
const AT_ONCE: u64 = 4096;
const CALLERS: u64 = 64;
const RECORDS_OF_A_CALLER: u64 = 200;

/// The memory of this process in MiB.
fn memory_mib() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap();
    let line = status.lines().find(|line| line.starts_with("VmRSS:"));
    let kib = line.unwrap().split_whitespace().nth(1).unwrap();
    kib.parse::<u64>().unwrap() / 1024
}

async fn open(path: &Path) -> (Arc<SqliteStore>, Notary) {
    let folder = DataFolder::open(path).unwrap();
    let key = folder.signing_key().unwrap();
    let store = Arc::new(SqliteStore::open(&folder, &key).await.unwrap());
    let as_store: Arc<dyn Store> = store.clone();
    (store, Notary::new(as_store, folder, key).unwrap())
}

async fn fill(path: &Path, records: u64) {
    let (store, mut notary) = open(path).await;
    let began = Instant::now();
    for from in (0..records).step_by(AT_ONCE as usize) {
        let to = records.min(from + AT_ONCE);
        let entries: Vec<Entry> = (from..to).map(|number| entry(number, BODY_BYTES)).collect();
        store.append(&entries).await.unwrap();
    }
    notary.sign().await.unwrap();
    println!("{records} records made in {:.0?}", began.elapsed());
}

fn shown(mut times: Vec<Duration>) -> String {
    times.sort_unstable();
    let at = |share: f64| times[((times.len() - 1) as f64 * share) as usize];
    format!(
        "median {:.2?}, 99 of 100 within {:.2?}, longest {:.2?}",
        at(0.5),
        at(0.99),
        at(1.0)
    )
}

async fn read(store: &dyn Store, records: u64) {
    let root = root_of(store, records).await.unwrap();
    let mut times = Vec::new();
    for step in 0..500 {
        let position = (step * 618_033) % records;
        let began = Instant::now();
        let proof = inclusion_proof(store, position, records).await.unwrap();
        times.push(began.elapsed());
        let leaf = store.leaf(position).await.unwrap().unwrap();
        verify_inclusion(&leaf_hash(&leaf), position, records, &proof, &root).unwrap();
    }
    println!("prove inclusion: {}", shown(times));
    for (name, filter) in [
        ("the newest 50", ListFilter::default()),
        (
            "an outcome that none has, all looked through",
            ListFilter {
                outcome: Some(Outcome::Undecided),
                ..ListFilter::default()
            },
        ),
    ] {
        let began = Instant::now();
        store.list(&filter, None, 50).await.unwrap();
        println!("list, {name}: {:.2?}", began.elapsed());
    }
}

/// How long callers wait, so many at once, each for one record after the other.
async fn wait(recorder: &Recorder, callers: u64, first: u64) -> Vec<Duration> {
    let callers: Vec<_> = (0..callers)
        .map(|caller| {
            let recorder = recorder.clone();
            tokio::spawn(async move {
                let mut times = Vec::new();
                for number in 0..RECORDS_OF_A_CALLER {
                    let number = first + caller * RECORDS_OF_A_CALLER + number;
                    let entry = entry(number, 2048);
                    let began = Instant::now();
                    recorder.keep(entry).await.unwrap();
                    times.push(began.elapsed());
                }
                times
            })
        })
        .collect();
    let mut all = Vec::new();
    for caller in callers {
        all.extend(caller.await.unwrap());
    }
    all
}

#[tokio::main]
async fn main() {
    let records = std::env::var("LOFTWRIGHT_LOG_RECORDS").ok();
    let records = records.map_or(RECORDS, |records| records.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("data");
    fill(&path, records).await;
    let before = memory_mib();
    let began = Instant::now();
    let (store, notary) = open(&path).await;
    println!(
        "opened in {:.2?}, with {} MiB more memory",
        began.elapsed(),
        memory_mib().saturating_sub(before)
    );
    read(store.as_ref(), records).await;
    let (recorder, task) = Recorder::start(store, notary, RecorderSettings::default());
    // Two rounds: the first also warms up.
    for round in 0..2 {
        let first = records + round * 1_000_000;
        let alone = wait(&recorder, 1, first).await;
        println!("a caller alone waits: {}", shown(alone));
        let many = wait(&recorder, CALLERS, first + 500_000).await;
        println!("one of {CALLERS} waits: {}", shown(many));
    }
    println!("at the end {} MiB of memory", memory_mib());
    drop(recorder);
    task.await.unwrap();
}
