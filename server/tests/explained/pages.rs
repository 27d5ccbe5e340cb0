//! What the pages say, to whom, and what is recorded of it.

use loftwright_proto::v1 as pb;
use loftwright_server::audit::act::RecordRead;
use loftwright_server::audit::leaf::LeafKind;
use loftwright_testing::Service;

use crate::fetching::{get, get_as, player};

async fn reads(service: &Service) -> Vec<pb::RecordSummary> {
    let request = pb::ListRecordsRequest {
        kinds: vec![LeafKind::ReadByAPerson.text().to_owned()],
        ..pb::ListRecordsRequest::default()
    };
    let page = service.audit().list_records(request).await.expect("a page");
    page.into_inner().records
}

#[tokio::test]
async fn a_record_is_found_from_the_list_and_each_view_is_recorded() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let id = service.keep(player("steady-right-hander", 1)).await;
    let (head, list) = get(service.pages(), "/records").await;
    assert!(head.starts_with("HTTP/1.1 200"), "{head}");
    let link = format!("href=\"/records/{id}\"");
    assert!(list.contains(&link));
    assert!(reads(&service).await.is_empty(), "a list shows no record");

    let (head, page) = get(service.pages(), &format!("/records/{id}")).await;
    assert!(head.starts_with("HTTP/1.1 200"), "{head}");
    for said in [
        "planted-pseudonym",
        "wedge_bounce",
        "H-WG-01-52-S-R",
        "plays_by_the_sea",
    ] {
        assert!(page.contains(said), "{said}");
    }
    let why = format!("/records/{id}/why/wedge_bounce");
    assert!(page.contains(&format!("href=\"{why}\"")));
    let (head, page) = get(service.pages(), &format!("{why}?club=wedge%2056%20deg")).await;
    assert!(head.starts_with("HTTP/1.1 200"), "{head}");
    for said in [
        "over 8 deg",
        "A steep blow digs",
        "-7.4 deg",
        "is ruled out",
        "-8 deg",
    ] {
        assert!(page.contains(said), "{said}");
    }
    let read = reads(&service).await;
    let about: Vec<Option<u64>> = read.iter().map(|read| read.about).collect();
    let (place, _) = id.split_once('-').expect("a place");
    let place = place.parse().ok();
    assert_eq!(about, [place, place], "one a view");
    service.stop().await;
    assert_eq!(RecordRead::WHOLE, "the whole");
}

#[tokio::test]
async fn pages_keep_to_themselves_and_answer_for_this_machine_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let id = service.keep(player("steady-right-hander", 1)).await;
    let page = format!("/records/{id}");
    for path in [
        "/records",
        &page,
        "/records/9-0000000000000000",
        "/style.css",
    ] {
        let (head, body) = get(service.pages(), path).await;
        let head = head.to_ascii_lowercase();
        assert!(head.contains("content-security-policy: default-src 'none'; style-src 'self'"));
        assert!(head.contains("cache-control: no-store"), "{path}");
        assert!(
            !body.contains("<script") && !body.contains(" style=\""),
            "{path}"
        );
    }
    for host in ["shop.example", "127.0.0.1.example:80", "evil-localhost"] {
        let (head, body) = get_as(service.pages(), host, &page).await;
        assert!(head.starts_with("HTTP/1.1 421"), "{host}: {head}");
        assert!(!body.contains("planted-pseudonym"));
    }
    let port = service.pages().port();
    for host in ["localhost", &format!("localhost:{port}"), "[::1]:7451"] {
        let (head, _) = get_as(service.pages(), host, "/records").await;
        assert!(head.starts_with("HTTP/1.1 200"), "{host}: {head}");
    }
    service.stop().await;
}

#[tokio::test]
async fn what_cannot_be_shown_is_said_and_is_not_recorded_as_read() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let id = service.keep(player("steady-right-hander", 1)).await;
    let erase = pb::EraseSubjectRequest {
        subject: "planted-pseudonym".to_owned(),
        reason: "asked for".to_owned(),
    };
    let erasure = service.audit().erase_subject(erase).await.expect("erased");
    let erasure = erasure.into_inner().record.expect("a record").id;
    let cases = [
        ("/nowhere".to_owned(), "404", "leads to no page"),
        (format!("/records/{id}"), "410", "its subject was erased"),
        (
            format!("/records/{erasure}"),
            "400",
            "of the kind `erasure`",
        ),
        ("/records/x".to_owned(), "404", "an id is a position"),
        (format!("/records/{id}/why/nothing"), "410", "was erased"),
        (
            "/records?from=yesterday".to_owned(),
            "400",
            "`yesterday` is no day",
        ),
        (
            "/rulesets/skerry/revisions/12".to_owned(),
            "404",
            "no such revision",
        ),
    ];
    for (path, status, says) in cases {
        let (head, body) = get(service.pages(), &path).await;
        assert!(
            head.starts_with(&format!("HTTP/1.1 {status}")),
            "{path}: {head}"
        );
        assert!(body.contains(says), "{path}: {body}");
    }
    assert!(reads(&service).await.is_empty());
    service.stop().await;
}

#[tokio::test]
async fn what_was_sent_stays_text() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let hostile = pb::RecommendRequest {
        subject: "</dd><b>planted</b>".to_owned(),
        ..player("steady-right-hander", 1)
    };
    let id = service.keep(hostile).await;
    let (_, page) = get(service.pages(), &format!("/records/{id}")).await;
    assert!(page.contains("&lt;/dd&gt;&lt;b&gt;planted"));
    assert!(!page.contains("<b>planted"));
    let asked = format!("/records/{id}/why/putter_head?part=%3Cb%3Eplanted");
    let (_, page) = get(service.pages(), &asked).await;
    assert!(page.contains("&lt;b&gt;planted") && !page.contains("<b>planted"));
    let (_, page) = get(service.pages(), "/records?ruleset=%22%3E%3Cb%3Eplanted").await;
    assert!(page.contains("&quot;&gt;&lt;b&gt;planted") && !page.contains("<b>planted"));
    service.stop().await;
}

#[tokio::test]
async fn a_revision_shows_its_rows_and_leads_to_its_records() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let id = service.keep(player("steady-right-hander", 1)).await;
    let (_, page) = get(service.pages(), &format!("/records/{id}")).await;
    let address = crate::fetching::link(&page, "/rulesets/skerry/revisions/");
    let (head, rules) = get(service.pages(), &address).await;
    assert!(head.starts_with("HTTP/1.1 200"), "{head}");
    for said in [
        "wedge_bounce",
        "over 8 deg",
        "A steep blow digs.",
        "in place of common",
    ] {
        assert!(rules.contains(said), "{said}");
    }
    let revision = address.rsplit('/').next().expect("a revision");
    let (_, list) = get(service.pages(), &format!("/records?revision={revision}")).await;
    assert!(list.contains(&id));
    let wrong = address.replace("skerry", "common");
    let (head, _) = get(service.pages(), &wrong).await;
    assert!(head.starts_with("HTTP/1.1 404"), "{head}");
    service.stop().await;
}
