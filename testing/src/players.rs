//! The demo's players as requests.

use loftwright_proto::v1 as pb;
use loftwright_server::files::{PlayerFile, built_in};
use loftwright_server::rpc::convert::player::request;

/// A demo player's request to a ruleset: a preview with its reasons, of which nothing is kept.
pub fn preview(player: &str, ruleset: &str, subject: &str) -> pb::RecommendRequest {
    let files = built_in::player_files("demo");
    let file = files
        .iter()
        .find(|file| file.path == format!("{player}.toml"))
        .expect("a player of the demo");
    let file = PlayerFile::of_text(file).expect("a player file");
    pb::RecommendRequest {
        view: pb::RecommendationView::Reasons.into(),
        ..request(ruleset, subject, file.text().expect("no faults"))
    }
}

/// The request, to be recorded; `number` makes its id.
pub fn recorded(number: u32, request: pb::RecommendRequest) -> pb::RecommendRequest {
    pb::RecommendRequest {
        request_id: uuid(number),
        preview: false,
        ..request
    }
}

/// A UUID of a number.
pub fn uuid(number: u32) -> String {
    format!("00000000-0000-4000-8000-{number:012x}")
}
