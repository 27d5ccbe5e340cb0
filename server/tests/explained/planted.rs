//! Values that stand nowhere else, in every private input of the rules; what they look like where
//! they are shown; and the program with all that it says.

use std::collections::BTreeSet;
use std::io::{BufRead, BufReader};
use std::net::SocketAddr;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use loftwright_proto::v1 as pb;
use loftwright_proto::v1::audit_service_client::AuditServiceClient;
use loftwright_proto::v1::fitting_service_client::FittingServiceClient;
use loftwright_proto::v1::ruleset_service_client::RulesetServiceClient;
use loftwright_testing::{preview, recorded};
use tonic::Status;
use tonic::transport::Channel;

pub(crate) const SUBJECT: &str = "planted-subject-7741";

/// The private inputs that a grown player is asked, each with a value.
pub(crate) const OF_A_PLAYER: [(&str, &str); 3] =
    [("age", "67"), ("pain", "yes"), ("sore_hands", "yes")];

/// Those that the academy asks a child.
pub(crate) const OF_A_CHILD: [(&str, &str); 6] = [
    ("age", "9"),
    ("body_mass", "31.5 kg"),
    ("growth_in_twelve_months", "2 3/16 in"),
    ("guardian_agreed", "yes"),
    ("pain", "yes"),
    ("sore_hands", "yes"),
];

/// A reading that is not marked, and is of a body all the same.
pub(crate) const HEIGHT: (&str, &str) = ("height", "5 ft 7 3/16 in");

/// The program as it is served, with all that it says on standard error.
pub(crate) struct Service {
    child: Child,
    lines: Receiver<String>,
    channel: Channel,
    pub(crate) pages: SocketAddr,
    pub(crate) url: String,
}

impl Service {
    pub(crate) async fn start(data: &Path) -> Self {
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
        let url = format!("http://{}", address("listening on http://"));
        let pages = address("pages on http://").parse().expect("an address");
        let channel = Channel::from_shared(url.clone()).expect("an address");
        Service {
            child,
            lines,
            channel: channel.connect().await.expect("a connection"),
            pages,
            url,
        }
    }

    pub(crate) fn fitting(&self) -> FittingServiceClient<Channel> {
        FittingServiceClient::new(self.channel.clone())
    }

    pub(crate) fn audit(&self) -> AuditServiceClient<Channel> {
        AuditServiceClient::new(self.channel.clone())
    }

    pub(crate) fn rulesets(&self) -> RulesetServiceClient<Channel> {
        RulesetServiceClient::new(self.channel.clone())
    }

    /// Stops the program, and answers with all that it said.
    pub(crate) fn stop(mut self) -> String {
        drop(self.channel);
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

fn with_readings(
    mut request: pb::RecommendRequest,
    planted: &[(&str, &str)],
) -> pb::RecommendRequest {
    for (name, value) in planted {
        let reading = pb::Reading {
            value: (*value).to_owned(),
            ..pb::Reading::default()
        };
        request.readings.insert((*name).to_owned(), reading);
    }
    request
}

/// A grown player, to be recorded.
pub(crate) fn planted_player(number: u32) -> pb::RecommendRequest {
    let player = recorded(number, preview("steady-right-hander", "skerry", SUBJECT));
    with_readings(with_readings(player, &OF_A_PLAYER), &[HEIGHT])
}

/// A child, to be recorded by rules that build on the academy's.
pub(crate) fn planted_child(ruleset: &str, number: u32) -> pb::RecommendRequest {
    let mut child = recorded(number, preview("junior", ruleset, SUBJECT));
    // Only skerry asks that.
    child.readings.remove("bunker_sand");
    with_readings(child, &OF_A_CHILD)
}

/// All that a refusal carries.
pub(crate) fn told(refused: &Status) -> String {
    let details = String::from_utf8_lossy(refused.details());
    format!("{} {details} {:?}", refused.message(), refused.metadata())
}

/// The planted values that stand in a text. A value that is a word or a number alone is in any log:
/// such a one is looked for as a reading's value would be written.
pub(crate) fn found(text: &str) -> BTreeSet<String> {
    let mut planted = BTreeSet::from([SUBJECT.to_owned(), "5 ft 7".to_owned()]);
    for (name, value) in OF_A_PLAYER.into_iter().chain(OF_A_CHILD).chain([HEIGHT]) {
        planted.insert(format!("value: \"{value}\""));
        planted.insert(format!("value: Some(\"{value}\")"));
        planted.extend([": ", " ", "=", " = ", " is "].map(|sign| format!("{name}{sign}{value}")));
        if value.contains(' ') {
            planted.insert(value.to_owned());
        }
    }
    planted.retain(|planted| text.contains(planted));
    planted
}
