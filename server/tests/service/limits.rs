//! The limits over a real connection. The layer's own tests have the deadline and the panic.

use std::net::{Ipv4Addr, SocketAddr};

use loftwright_proto::v1 as pb;
use loftwright_server::rpc::limits::MOST_REQUEST_BYTES;
use loftwright_server::rpc::serve::{ServeError, listen};
use loftwright_testing::Service;
use prost::Message;
use tonic::Code;
use tonic_types::StatusExt;

use crate::player;

/// The player with a reading that brings the request to so many bytes.
fn of_size(bytes: usize) -> pb::RecommendRequest {
    let mut request = player();
    let filler = |length: usize| pb::Reading {
        value: "x".repeat(length),
        spread: None,
        shots: None,
    };
    request.readings.insert("filler".to_owned(), filler(0));
    // The lengths before the text take a few bytes more as it grows.
    let mut length = bytes.saturating_sub(request.encoded_len());
    loop {
        request.readings.insert("filler".to_owned(), filler(length));
        match request.encoded_len() {
            size if size > bytes => length -= size - bytes,
            _ => return request,
        }
    }
}

#[tokio::test]
async fn ten_megabytes_are_refused_by_the_limits_name() {
    let service = Service::of_previews().await;
    let status = service.fitting().recommend(of_size(10_000_000)).await;
    let status = status.expect_err("a refusal");
    assert_eq!(status.code(), Code::ResourceExhausted);
    let info = status.get_details_error_info().expect("an error info");
    assert_eq!(info.reason, "REQUEST_TOO_LARGE");
    assert_eq!(
        info.metadata.get("limit").map(String::as_str),
        Some("request_bytes")
    );
    assert!(status.message().contains(&MOST_REQUEST_BYTES.to_string()));
    service.stop().await;
}

#[tokio::test]
async fn a_request_at_the_limit_is_read_and_one_byte_more_is_not() {
    let service = Service::of_previews().await;
    let at_the_limit = of_size(MOST_REQUEST_BYTES);
    assert_eq!(at_the_limit.encoded_len(), MOST_REQUEST_BYTES);
    let status = service.fitting().recommend(at_the_limit).await;
    // It is read, and its filler is no reading.
    assert_eq!(status.expect_err("a refusal").code(), Code::InvalidArgument);
    let status = service
        .fitting()
        .recommend(of_size(MOST_REQUEST_BYTES + 1))
        .await;
    assert_eq!(
        status.expect_err("a refusal").code(),
        Code::ResourceExhausted
    );
    service.stop().await;
}

#[tokio::test]
async fn a_subject_may_have_128_characters_and_no_more() {
    let service = Service::of_previews().await;
    let with_subject = |characters: usize| pb::RecommendRequest {
        subject: "é".repeat(characters),
        ..player()
    };
    assert!(service.fitting().recommend(with_subject(128)).await.is_ok());
    let status = service.fitting().recommend(with_subject(129)).await;
    assert_eq!(status.expect_err("a refusal").code(), Code::InvalidArgument);
    service.stop().await;
}

#[tokio::test]
async fn only_this_machine_may_ask() {
    let everywhere = SocketAddr::from((Ipv4Addr::UNSPECIFIED, 0));
    let refused = listen(everywhere).await;
    assert!(matches!(refused, Err(ServeError::NotLoopback(address)) if address == everywhere));
}
