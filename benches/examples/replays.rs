//! Ten thousand recommendations of wedges are recorded by a service, each with readings of its
//! own, and replayed under the revision that decided; all must be the same. Says how long reading
//! them takes, how long evaluating them, and how long the whole replay takes over the wire:
//!
//! ```text
//! cargo run --release -p loftwright-benches --example replays
//! ```
//!
//! With a number there are as many. Instructions, which no other load disturbs:
//!
//! ```text
//! valgrind --tool=callgrind --toggle-collect='loftwright_server::replay::Replays::replay' \
//!   target/release/examples/replays 200
//! ```

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use futures::stream::{self, StreamExt};
use loftwright_benches::wedges;
use loftwright_dsl::check::check;
use loftwright_engine::CONTRACT_VERSION;
use loftwright_engine::evaluate::Evaluator;
use loftwright_engine::parts::Parts;
use loftwright_proto::v1 as pb;
use loftwright_proto::v1::fitting_service_client::FittingServiceClient;
use loftwright_proto::v1::ruleset_service_client::RulesetServiceClient;
use loftwright_server::audit::columns::KnownTexts;
use loftwright_server::files::rules_folder::layers_of_folder;
use loftwright_server::load;
use loftwright_server::registry::source_of;
use loftwright_server::replay::{Replayed, Replays};
use loftwright_server::rpc::recording::Recording;
use loftwright_server::rpc::serve::{listen, serve_and_record};
use loftwright_server::store::{DataFolder, KeptBody, RecorderSettings, SqliteStore, Store};
use pb::replay_records_response::Piece;
use tokio::sync::oneshot;
use tonic::transport::Channel;

const USUAL_PLAYERS: usize = 10_000;
const AT_ONCE: usize = 64;
/// The records that are read at a time.
const AT_A_TIME: usize = 256;

fn main() {
    let asked = std::env::args().nth(1);
    let players = asked.map_or(USUAL_PLAYERS, |number| number.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let (rules, parts, data) = (
        folder.path().join("base"),
        folder.path().join("parts"),
        folder.path().join("data"),
    );
    wedges::write_rules(&rules);
    wedges::write_no_parts(&parts);
    let output = check(&layers_of_folder(&rules).unwrap(), CONTRACT_VERSION);
    let source = source_of(&output.folder);
    let known = KnownTexts::of_source(&source.bytes).unwrap();
    let revision = source.revision;
    let program = output.program.unwrap();
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .unwrap();
    runtime.block_on(over_the_wire(players, &rules, &parts, &data, &revision));
    let store = runtime.block_on(async {
        let folder = DataFolder::open(&data).unwrap();
        let key = folder.signing_key().unwrap();
        SqliteStore::open(&folder, &key).await.unwrap()
    });
    let (mut bodies, mut count) = (Vec::new(), 0);
    let begun = Instant::now();
    runtime.block_on(each_body(&store, |_| count += 1));
    say("read and unsealed", count, begun.elapsed());
    // What is kept takes memory anew, which is no part of reading.
    runtime.block_on(each_body(&store, |body| bodies.push(body.to_vec())));
    assert_eq!((bodies.len(), count), (players, players));
    let bytes: usize = bodies.iter().map(Vec::len).sum();
    println!("{} bytes a body", bytes / bodies.len().max(1));
    let evaluator = Evaluator::new(&program);
    let none = Parts::new(&program, BTreeMap::new());
    let mut replays = Replays::new(&evaluator, none);
    let begun = Instant::now();
    for body in &bodies {
        assert_eq!(replays.replay(body, &known), Replayed::Same);
    }
    say(
        "decoded, evaluated, compared",
        bodies.len(),
        begun.elapsed(),
    );
}

fn say(what: &str, count: usize, took: Duration) {
    let each = took.as_secs_f64() / count.max(1) as f64;
    println!(
        "{what}: {count} in {took:.2?}, {:.1} us each, {:.0} a second",
        each * 1e6,
        1.0 / each
    );
}

async fn each_body(store: &SqliteStore, mut take: impl FnMut(&[u8])) {
    let mut from = 0;
    loop {
        let records = store.records(from, AT_A_TIME).await.unwrap();
        let Some(last) = records.last() else {
            return;
        };
        from = last.position + 1;
        for record in records {
            if let KeptBody::Whole { body, .. } = record.body
                && body.len() > 1000
            {
                take(&body);
            }
        }
    }
}

/// Records all players, and replays them.
async fn over_the_wire(players: usize, rules: &Path, parts: &Path, data: &Path, revision: &str) {
    let registry = load::registry(&[rules.to_owned()], Some(parts), None).unwrap();
    let opened = Recording::open(data, RecorderSettings::default()).await;
    let (recording, writing) = opened.unwrap();
    let (listener, address) = listen("127.0.0.1:0".parse().unwrap()).await.unwrap();
    let (stop, stopped) = oneshot::channel::<()>();
    let stopped = async {
        let _ = stopped.await;
    };
    let recording = Some(Arc::new(recording));
    let drain = Duration::from_secs(30);
    let served = serve_and_record(listener, Arc::new(registry), recording, stopped, drain);
    let served = tokio::spawn(served);
    let channel = Channel::from_shared(format!("http://{address}")).unwrap();
    let channel = channel.connect().await.unwrap();
    let client = FittingServiceClient::new(channel.clone());
    let begun = Instant::now();
    let asked = stream::iter(0..players).map(|number| {
        let mut client = client.clone();
        async move { client.recommend(wedges::request(number)).await.unwrap() }
    });
    asked.buffer_unordered(AT_ONCE).for_each(async |_| ()).await;
    say("recorded", players, begun.elapsed());
    let mut rulesets = RulesetServiceClient::new(channel);
    let begun = Instant::now();
    let request = pb::ReplayRecordsRequest {
        ruleset: "base".to_owned(),
        revision: revision.to_owned(),
        ..pb::ReplayRecordsRequest::default()
    };
    let mut pieces = rulesets.replay_records(request).await.unwrap().into_inner();
    let (mut summary, mut example) = (None, None);
    while let Some(piece) = pieces.message().await.unwrap() {
        match piece.piece {
            Some(Piece::Summary(end)) => summary = Some(end),
            Some(Piece::Record(record)) => example = Some(record),
            _ => {}
        }
    }
    say("replayed over the wire", players, begun.elapsed());
    let summary = summary.unwrap();
    let same = u64::try_from(players).unwrap();
    let counts = (summary.same, summary.changed, summary.not_comparable);
    assert_eq!(counts, (same, 0, 0), "{:?} {example:?}", summary.reasons);
    drop((client, rulesets));
    let _ = stop.send(());
    served.await.unwrap().unwrap();
    writing.await.unwrap();
}
