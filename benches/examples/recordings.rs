//! Records recommendations of wedges by the smallest ruleset in a service in this process, 64 in
//! flight, and says how long they take:
//!
//! ```text
//! cargo run --release -p loftwright-benches --example recordings
//! ```
//!
//! With a number there are as many; with `skerry` they are whole bags of the demo's players.
//! Instructions, which no other load disturbs:
//!
//! ```text
//! valgrind --tool=callgrind --toggle-collect='*Body*to_bytes*' \
//!   target/release/examples/recordings 100
//! ```

use std::time::Instant;

use futures::stream::{self, StreamExt};
use loftwright_benches::wedges;
use loftwright_proto::v1 as pb;
use loftwright_testing::{Begin, Service, preview, recorded};

const USUAL_RECORDINGS: u32 = 2000;
const AT_ONCE: usize = 64;
const PLAYERS: [&str; 3] = ["steady-right-hander", "left-hander", "small-sore-hands"];

fn whole_bag(number: u32) -> pb::RecommendRequest {
    let player = PLAYERS[number as usize % PLAYERS.len()];
    recorded(number, preview(player, "skerry", player))
}

#[tokio::main(worker_threads = 2)]
async fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let asked = arguments.iter().find_map(|argument| argument.parse().ok());
    let recordings: u32 = asked.unwrap_or(USUAL_RECORDINGS);
    let is_whole_bag = arguments.iter().any(|argument| argument == "skerry");
    let folder = tempfile::tempdir().unwrap();
    let (rules, parts) = ([folder.path().join("base")], folder.path().join("parts"));
    let data = folder.path().join("data");
    let mut begin = Begin {
        data: Some(&data),
        ..Begin::default()
    };
    let mut request: fn(u32) -> pb::RecommendRequest = whole_bag;
    if !is_whole_bag {
        wedges::write_rules(&rules[0]);
        wedges::write_no_parts(&parts);
        begin.rules = &rules;
        begin.parts = Some(&parts);
        request = |number| wedges::request(number as usize);
    }
    let service = Service::start_as(begin).await;
    let begun = Instant::now();
    let asked = stream::iter(0..recordings).map(|number| {
        let mut client = service.fitting();
        async move { client.recommend(request(number)).await.unwrap() }
    });
    asked.buffer_unordered(AT_ONCE).for_each(async |_| ()).await;
    let took = begun.elapsed();
    println!(
        "{recordings} recorded in {took:.2?}, {:.0} a second",
        f64::from(recordings) / took.as_secs_f64()
    );
    service.stop().await;
}
