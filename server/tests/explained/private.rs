//! What a player tells in confidence stays in his record: it is not in the service's log at its
//! finest, not in a refusal, not in a list.
//!
//! Every `private` input of the rules gets a value that stands nowhere else, and so does the
//! subject. Then all is asked that can be asked, with every event and span of the program and its
//! libraries written down, and what was written is searched for the values.

use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use loftwright_proto::v1 as pb;
use loftwright_proto::v1::audit_service_client::AuditServiceClient;
use loftwright_proto::v1::fitting_service_client::FittingServiceClient;
use pb::explain_record_request::Question;
use tonic::transport::Channel;
use tonic::{Code, Status};

use crate::fetching::{get, player};

const SUBJECT: &str = "planted-subject-7741";

/// The private inputs of the rules, each with a value.
const PRIVATE: [(&str, &str); 3] = [("age", "67"), ("pain", "yes"), ("sore_hands", "yes")];

/// A reading that is not marked, and is of a body all the same.
const HEIGHT: (&str, &str) = ("height", "5 ft 7 3/16 in");

/// The program as it is served, with all that it says on standard error.
struct Service {
    child: Child,
    lines: Receiver<String>,
    fitting: FittingServiceClient<Channel>,
    audit: AuditServiceClient<Channel>,
    pages: std::net::SocketAddr,
}

impl Service {
    async fn start(data: &std::path::Path) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_loftwright"))
            .args(["--log", "trace", "serve", "--listen", "127.0.0.1:0"])
            .args(["--admin", "127.0.0.1:0", "--data"])
            .arg(data)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program runs");
        let (say, lines) = channel();
        let errors = child.stderr.take().expect("standard error");
        std::thread::spawn(move || {
            for line in BufReader::new(errors).lines().map_while(Result::ok) {
                let _ = say.send(line);
            }
        });
        let output = child.stdout.take().expect("standard output");
        let mut output = BufReader::new(output);
        let mut address = |opening: &str| {
            let mut line = String::new();
            output.read_line(&mut line).expect("a line");
            let address = line.trim().strip_prefix(opening).expect(opening);
            address.trim_end_matches("/records").to_owned()
        };
        let listening = address("listening on http://");
        let pages = address("pages on http://").parse().expect("an address");
        let channel = Channel::from_shared(format!("http://{listening}")).expect("an address");
        let channel = channel.connect().await.expect("a connection");
        Service {
            child,
            lines,
            fitting: FittingServiceClient::new(channel.clone()),
            audit: AuditServiceClient::new(channel),
            pages,
        }
    }

    /// Stops the program, and answers with all that it said.
    fn stop(mut self) -> String {
        drop((self.fitting, self.audit));
        let stopped = Command::new("kill")
            .arg(self.child.id().to_string())
            .status();
        assert!(stopped.expect("kill runs").success());
        self.child.wait().expect("it ends");
        let mut said = String::new();
        while let Ok(line) = self.lines.recv_timeout(Duration::from_secs(5)) {
            said.push_str(&line);
            said.push('\n');
        }
        said
    }
}

fn planted(number: u32) -> pb::RecommendRequest {
    let mut request = pb::RecommendRequest {
        subject: SUBJECT.to_owned(),
        ..player("steady-right-hander", number)
    };
    for (name, value) in PRIVATE.into_iter().chain([HEIGHT]) {
        let reading = pb::Reading {
            value: value.to_owned(),
            ..pb::Reading::default()
        };
        request.readings.insert(name.to_owned(), reading);
    }
    request
}

/// All that a refusal carries.
fn told(refused: &Status) -> String {
    let details = String::from_utf8_lossy(refused.details());
    format!("{} {details} {:?}", refused.message(), refused.metadata())
}

/// The planted values that stand in a text. Short ones only as a reading's value would be written:
/// `67` alone is in any log.
fn found(text: &str) -> Vec<&'static str> {
    let planted = [
        SUBJECT,
        "7 3/16 in",
        "5 ft 7",
        "age: 67",
        "value: \"67\"",
        "value: \"yes\"",
        "age 67",
        "pain yes",
        "pain: yes",
        "sore_hands yes",
        "sore_hands: yes",
    ];
    planted
        .into_iter()
        .filter(|planted| text.contains(planted))
        .collect()
}

#[test]
fn every_private_input_has_a_planted_value() {
    let rules = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../rulesets/common");
    let mut private = Vec::new();
    for file in std::fs::read_dir(rules).expect("a folder") {
        let text = std::fs::read_to_string(file.expect("a file").path()).expect("rules");
        let mut input = String::new();
        for line in text.lines() {
            if let Some(rest) = line.strip_prefix("input ") {
                input = rest.split([' ', ':']).next().expect("a name").to_owned();
            }
            if line.trim() == "private" || line.trim().starts_with("private ") {
                private.push(input.clone());
            }
        }
    }
    private.sort();
    assert_eq!(private, PRIVATE.map(|(name, _)| name));
}

/// What the service says to requests and questions with faults beside the planted values.
async fn refused_in_many_ways(service: &mut Service, id: &str) -> String {
    let mut refusals = String::new();
    // Another request under the same id, one with faults beside the private readings, one with a
    // private reading of another type.
    let mut other = planted(1);
    other.readings.remove("wedge_attack_angle");
    let refused = service.fitting.recommend(other).await;
    refusals.push_str(&told(&refused.expect_err("another request")));
    let mut faulty = planted(2);
    faulty
        .readings
        .insert("no_such_input".to_owned(), pb::Reading::default());
    faulty.view = 99;
    let refused = service.fitting.recommend(faulty).await;
    refusals.push_str(&told(&refused.expect_err("a fault")));
    for question in [
        None,
        Some(Question::Why(pb::WhyQuestion {
            decision: "length_change".to_owned(),
            club: String::new(),
        })),
        Some(Question::Why(pb::WhyQuestion {
            decision: "no_such".to_owned(),
            club: String::new(),
        })),
    ] {
        let request = pb::ExplainRecordRequest {
            id: id.to_owned(),
            question,
        };
        match service.audit.explain_record(request).await {
            Ok(_) => {}
            Err(refused) => refusals.push_str(&told(&refused)),
        }
    }
    let erase = pb::EraseSubjectRequest {
        subject: SUBJECT.to_owned(),
        reason: String::new(),
    };
    let refused = service.audit.erase_subject(erase).await;
    refusals.push_str(&told(&refused.expect_err("a reason is missing")));
    let erase = pb::EraseSubjectRequest {
        subject: format!("{SUBJECT}-of-another"),
        reason: "asked for".to_owned(),
    };
    let refused = service
        .audit
        .erase_subject(erase)
        .await
        .expect_err("nobody");
    assert_eq!(refused.code(), Code::NotFound);
    refusals.push_str(&told(&refused));
    refusals
}

#[tokio::test]
async fn nothing_of_a_player_leaves_his_record() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut service = Service::start(folder.path()).await;
    let answer = service.fitting.recommend(planted(1)).await;
    let answer = answer.expect("an answer").into_inner();
    let id = answer.record.expect("a record").id;
    // It is there: in the record, and in the explanation that an auditor asks for.
    let request = pb::GetRecordRequest { id: id.clone() };
    let record = service.audit.get_record(request).await.expect("a record");
    let record = format!("{:?}", record.into_inner());
    assert!(record.contains("5 ft 7 3/16 in") && record.contains(SUBJECT));
    // What is searched for below is found where it is.
    assert!(found(&record).len() >= 4, "{:?}", found(&record));
    let refusals = refused_in_many_ways(&mut service, &id).await;
    let verify = pb::VerifyRecordRequest { id: id.clone() };
    let verified = service.audit.verify_record(verify).await.expect("compared");
    assert_eq!(verified.into_inner().differences, Vec::<String>::new());
    let list = pb::ListRecordsRequest::default();
    let list = service.audit.list_records(list).await.expect("a list");
    let list = format!("{:?}", list.into_inner());
    let (_, page) = get(service.pages, &format!("/records/{id}/why/length_change")).await;
    assert!(
        page.contains("5 ft 7 3/16 in"),
        "the page is for an auditor"
    );
    let (_, index) = get(service.pages, "/records").await;
    let (_, lost) = get(service.pages, &format!("/records/{id}/why/nothing")).await;
    let log = service.stop();
    assert!(
        log.contains("TRACE"),
        "it said nothing at its finest: {log}"
    );
    for (what, text) in [
        ("the log", &log),
        ("a refusal", &refusals),
        ("a list", &list),
        ("the list as a page", &index),
        ("the page of what is not there", &lost),
    ] {
        assert_eq!(found(text), Vec::<&str>::new(), "{what}");
    }
}

#[tokio::test]
async fn a_private_reading_that_is_wrong_is_told_to_the_caller_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut service = Service::start(folder.path()).await;
    let mut request = planted(1);
    let wrong = pb::Reading {
        value: "planted-age-8813".to_owned(),
        ..pb::Reading::default()
    };
    request.readings.insert("age".to_owned(), wrong);
    let refused = service.fitting.recommend(request).await;
    let refused = refused.expect_err("no age");
    let log = service.stop();
    assert!(!log.contains("planted-age-8813"), "{log}");
    assert!(!told(&refused).contains(SUBJECT));
}
