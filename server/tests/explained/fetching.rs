//! The demo's players, and pages as they come over the wire.

use std::net::SocketAddr;

use loftwright_proto::v1 as pb;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;

/// A demo player's request that is to be recorded; `number` makes its id.
pub(crate) fn player(name: &str, number: u32) -> pb::RecommendRequest {
    let player = loftwright_testing::preview(name, "skerry", "planted-pseudonym");
    loftwright_testing::recorded(number, player)
}

/// What a page answers: the first line and the headers, and the body.
pub(crate) async fn get_as(address: SocketAddr, host: &str, path: &str) -> (String, String) {
    let mut stream = TcpStream::connect(address).await.expect("a connection");
    let request = format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n");
    stream.write_all(request.as_bytes()).await.expect("sent");
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).await.expect("an answer");
    let answer = String::from_utf8(answer).expect("text");
    let (head, body) = answer.split_once("\r\n\r\n").expect("a body");
    (head.to_owned(), body.to_owned())
}

/// As [`get_as`], of the listener's own name.
pub(crate) async fn get(address: SocketAddr, path: &str) -> (String, String) {
    get_as(address, &address.to_string(), path).await
}

/// The first link of a page that begins so.
pub(crate) fn link(page: &str, opening: &str) -> String {
    let (_, rest) = page.split_once(opening).expect("a link");
    let rest: String = rest.chars().take_while(|sign| *sign != '"').collect();
    format!("{opening}{rest}")
}
