//! How many records a second are kept on the disk, 64 a transaction, beside a raw file that is
//! appended to and flushed with fdatasync for the same bytes, in the same run:
//! `cargo bench -p loftwright-benches --bench append`. The folder is made where `TMPDIR` says: name
//! a real disk there, since a file system in memory flushes nothing.
//!
//! They take turns, round by round, since the speed of a disk is not the same from one second to
//! the next; medians are shown. Beside the time stands the processors' time, which other work on
//! the machine changes less. On a machine whose disk others write to, flushing a file that grows
//! waits for them, and the log, which is written over, does not: the ratio then says nothing.
//!
//! What is timed is the one task that writes. Its callers have done before what they do in a
//! service, each for himself: body salted, request asked for, entry made ready (`Recorder::keep`).
//! Players of late come again ("the store"), or each is met for the first time and no caller asked
//! for his request ("strangers"): then the database is asked for both, and keys are made.

use std::fs::File;
use std::io::Write;
use std::iter::repeat_with;
use std::time::{Duration, Instant};

use loftwright_benches::record::entry;
use loftwright_server::store::{DataFolder, Entry, MOST_IN_A_BATCH, SqliteStore, Store};

/// About what a wedge-only record has.
const BODY_BYTES: usize = 2048;
/// About what a leaf has besides.
const LEAF_BYTES: usize = 450;
/// A round of each: so many batches. No more than what goes into the index of requests with them is
/// remembered: a caller has asked shortly before.
const BATCHES: u32 = 32;
const ROUNDS: usize = 60;

/// The processors' time of this process, in nanoseconds.
fn processor_time() -> u64 {
    let threads = std::fs::read_dir("/proc/self/task").unwrap();
    let times = threads.map(|thread| {
        let times = std::fs::read_to_string(thread.unwrap().path().join("schedstat")).unwrap();
        // Documentation/scheduler/sched-stats.rst of Linux: first the time on a processor.
        times.split(' ').next().unwrap().parse::<u64>().unwrap()
    });
    times.sum()
}

#[derive(Default)]
struct Measured {
    rounds: Vec<Duration>,
    processor: u64,
}

impl Measured {
    /// Batches that are made before and dropped after what is timed: neither is the writer's work.
    fn round<T>(&mut self, make: impl FnMut() -> T, mut batch: impl FnMut(&T)) {
        let batches: Vec<T> = repeat_with(make).take(BATCHES as usize).collect();
        let (processor, began) = (processor_time(), Instant::now());
        for given in &batches {
            batch(given);
        }
        self.rounds.push(began.elapsed() / BATCHES);
        self.processor += processor_time() - processor;
    }

    /// Milliseconds of the median batch, and of the processors.
    fn say(&mut self, name: &str) -> (f64, f64) {
        self.rounds.sort_unstable();
        let median = self.rounds[ROUNDS / 2].as_secs_f64() * 1e3;
        let least = self.rounds[0].as_secs_f64() * 1e3;
        let processor = self.processor as f64 * 1e-6 / f64::from(BATCHES) / ROUNDS as f64;
        let records = MOST_IN_A_BATCH as f64 / median * 1e3;
        println!(
            "{name:>10}: {median:6.3} ms a batch (fastest round {least:6.3}, processors \
             {processor:6.3}), {records:8.0} records/s"
        );
        (median, least)
    }
}

fn main() {
    let folder = tempfile::tempdir().unwrap();
    let mut file = File::create(folder.path().join("raw")).unwrap();
    let batch = vec![7; MOST_IN_A_BATCH * (BODY_BYTES + LEAF_BYTES)];
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .unwrap();
    let data = DataFolder::open(&folder.path().join("data")).unwrap();
    let key = data.signing_key().unwrap();
    let store = runtime.block_on(SqliteStore::open(&data, &key)).unwrap();
    let (mut raw, mut kept) = (Measured::default(), Measured::default());
    let mut strange = Measured::default();
    let mut number = 0;
    let mut entries = |are_strangers: bool| {
        let entries = (0..MOST_IN_A_BATCH).map(|_| {
            number += 1;
            let mut entry = entry(number, BODY_BYTES);
            if are_strangers {
                entry.subject = Some(format!("stranger-{number}"));
            }
            entry
        });
        entries.collect::<Vec<Entry>>()
    };
    for _ in 0..ROUNDS {
        raw.round(
            || (),
            |()| {
                file.write_all(&batch).unwrap();
                file.sync_data().unwrap();
            },
        );
        let as_callers_do = || {
            let mut entries = entries(false);
            for entry in &mut entries {
                let id = entry.request.unwrap().id;
                let known = runtime.block_on(store.request(id)).unwrap();
                assert!(known.is_none());
                store.make_ready(entry);
            }
            entries
        };
        let mut append = |entries: &Vec<Entry>| {
            runtime.block_on(store.append(entries)).unwrap();
        };
        kept.round(as_callers_do, &mut append);
        strange.round(|| entries(true), &mut append);
    }
    let (raw, raw_least) = raw.say("raw file");
    let (kept, kept_least) = kept.say("the store");
    strange.say("strangers");
    println!(
        "ratio of medians {:.3}, of the fastest rounds {:.3}",
        raw / kept,
        raw_least / kept_least
    );
}
