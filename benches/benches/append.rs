//! How many records a second are kept on the disk, 64 a transaction, beside a raw file that is
//! appended to and flushed with fdatasync for the same bytes, in the same run:
//! `cargo bench -p loftwright-benches --bench append`. The folder is made where `TMPDIR` says: name
//! a real disk there, since a file system in memory flushes nothing.
//!
//! The two take turns, round by round, since the speed of a disk is not the same from one second to
//! the next; medians are shown. Beside the time stands the processors' time, which other work on
//! the machine does not change.

use std::fs::File;
use std::io::Write;
use std::time::{Duration, Instant};

use loftwright_benches::record::entry;
use loftwright_server::store::{DataFolder, Entry, MOST_IN_A_BATCH, SqliteStore, Store};

/// About what a wedge-only record has.
const BODY_BYTES: usize = 2048;
/// About what a leaf has besides.
const LEAF_BYTES: usize = 450;
/// A round of each: so many batches.
const BATCHES: u32 = 50;
const ROUNDS: usize = 40;

/// The processors' time of this process, in hundredths of a second.
fn processor_ticks() -> u64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap();
    // proc(5): utime and stime are the 14th and 15th fields, the 2nd ends with a bracket.
    let (_, fields) = stat.rsplit_once(')').unwrap();
    let fields: Vec<&str> = fields.split_whitespace().collect();
    fields[11].parse::<u64>().unwrap() + fields[12].parse::<u64>().unwrap()
}

#[derive(Default)]
struct Measured {
    rounds: Vec<Duration>,
    ticks: u64,
}

impl Measured {
    /// Batches that are made before and dropped after what is timed: neither is the store's work.
    fn round<T>(&mut self, batches: &[T], mut batch: impl FnMut(&T)) {
        let (ticks, began) = (processor_ticks(), Instant::now());
        for given in batches {
            batch(given);
        }
        self.rounds.push(began.elapsed() / BATCHES);
        self.ticks += processor_ticks() - ticks;
    }

    /// Milliseconds of the median batch, and of the processors.
    fn say(&mut self, name: &str) -> (f64, f64) {
        self.rounds.sort_unstable();
        let median = self.rounds[ROUNDS / 2].as_secs_f64() * 1e3;
        let least = self.rounds[0].as_secs_f64() * 1e3;
        let processor = self.ticks as f64 * 10.0 / f64::from(BATCHES) / ROUNDS as f64;
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
    let mut number = 0;
    for _ in 0..ROUNDS {
        raw.round(&[(); BATCHES as usize], |()| {
            file.write_all(&batch).unwrap();
            file.sync_data().unwrap();
        });
        let mut entries = || {
            let entries = (0..MOST_IN_A_BATCH).map(|_| {
                number += 1;
                entry(number, BODY_BYTES)
            });
            entries.collect::<Vec<Entry>>()
        };
        let batches: Vec<_> = (0..BATCHES).map(|_| entries()).collect();
        kept.round(&batches, |entries| {
            runtime.block_on(store.append(entries)).unwrap();
        });
    }
    let (raw, raw_least) = raw.say("raw file");
    let (kept, kept_least) = kept.say("the store");
    println!(
        "ratio of medians {:.3}, of the fastest rounds {:.3}",
        raw / kept,
        raw_least / kept_least
    );
}
