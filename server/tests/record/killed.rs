//! SIGKILL of the real process under load: nothing acknowledged is missing, the last checkpoint
//! extends, and its log says nothing of the players.

use std::io::{BufRead, BufReader, Read};
use std::path::Path;
use std::process::{Child, Command, Stdio};

use loftwright_proto::v1 as pb;
use loftwright_proto::v1::audit_service_client::AuditServiceClient;
use loftwright_proto::v1::fitting_service_client::FittingServiceClient;
use loftwright_server::audit::merkle::{Hash, verify_consistency};
use loftwright_server::audit::note::{Checkpoint, KeyRing, open_checkpoint};
use tokio::sync::mpsc;
use tonic::transport::Channel;
use tonic_types::StatusExt;

/// Set it for more rounds than a build machine has time for.
const ROUNDS: &str = "LOFTWRIGHT_KILL_ROUNDS";
/// The pseudonyms begin with it, and no log line may hold it.
const PLANTED: &str = "planted-pseudonym";
/// A reading that no other text has.
const PLANTED_READING: &str = "-4.4817 deg";
const CALLERS: u32 = 8;

/// A service in a process of its own.
pub(crate) struct Process {
    child: Child,
    pub(crate) channel: Channel,
}

impl Process {
    pub(crate) fn command(data: &Path) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_loftwright"));
        command
            .args(["--log", "trace", "serve", "--listen", "127.0.0.1:0"])
            .args(["--checkpoint-seconds", "0", "--data"])
            .arg(data)
            .stdout(Stdio::piped())
            .stderr(
                std::fs::File::options()
                    .append(true)
                    .create(true)
                    .open(data.with_extension("log"))
                    .expect("a log file"),
            );
        command
    }

    pub(crate) async fn start(data: &Path) -> Self {
        let process = Process::start_by(Process::command(data)).await;
        process.expect("an address")
    }

    /// The process of a command; none where it ends before it listens.
    pub(crate) async fn start_by(mut command: Command) -> Option<Self> {
        let mut child = command.spawn().expect("started");
        let stdout = child.stdout.take().expect("an output");
        let mut line = String::new();
        BufReader::new(stdout).read_line(&mut line).expect("a line");
        let Some(address) = line.trim().strip_prefix("listening on ") else {
            child.wait().expect("waited for");
            return None;
        };
        let channel = Channel::from_shared(address.to_owned()).expect("an address");
        // It may be gone already.
        match channel.connect().await {
            Ok(channel) => Some(Process { child, channel }),
            Err(_) => {
                child.wait().expect("waited for");
                None
            }
        }
    }

    /// SIGKILL: `Child::kill` sends no other signal on Unix.
    pub(crate) fn kill(mut self) {
        self.child.kill().expect("killed");
        self.child.wait().expect("waited for");
    }

    /// An acknowledged record: in the log of that size, and readable.
    pub(crate) async fn find(&self, id: &str, size: u64) {
        let mut audit = AuditServiceClient::new(self.channel.clone());
        let id = id.to_owned();
        let request = pb::GetInclusionProofRequest {
            id: id.clone(),
            size,
        };
        audit
            .get_inclusion_proof(request)
            .await
            .expect("in the log");
        let record = audit.get_record(pb::GetRecordRequest { id }).await;
        let record = record.expect("acknowledged, so there").into_inner().record;
        assert!(record.expect("a record").recommendation.is_some());
    }

    pub(crate) async fn checkpoint(&self) -> (Checkpoint, KeyRing) {
        let mut audit = AuditServiceClient::new(self.channel.clone());
        let answer = audit.get_checkpoint(pb::GetCheckpointRequest {}).await;
        let answer = answer.expect("a checkpoint").into_inner();
        let ring = KeyRing::of(answer.verifier_key.parse().expect("a key"));
        let (checkpoint, _) = open_checkpoint(answer.note.as_bytes(), &ring).expect("signed");
        (checkpoint, ring)
    }
}

pub(crate) fn request(round: u32, caller: u32, number: u32) -> pb::RecommendRequest {
    let reading = pb::Reading {
        value: PLANTED_READING.to_owned(),
        ..pb::Reading::default()
    };
    pb::RecommendRequest {
        ruleset: "common".to_owned(),
        subject: format!("{PLANTED}-{caller}"),
        readings: [("wedge_attack_angle".to_owned(), reading)].into(),
        request_id: format!("{round:08x}-{caller:04x}-4000-8000-{number:012x}"),
        view: pb::RecommendationView::Basic.into(),
        ..pb::RecommendRequest::default()
    }
}

/// Asks without a pause until the service is gone, and tells of each answer.
async fn load(channel: Channel, round: u32, caller: u32, told: mpsc::UnboundedSender<String>) {
    let mut client = FittingServiceClient::new(channel);
    for number in 0.. {
        match client.recommend(request(round, caller, number)).await {
            Ok(answer) => {
                let record = answer.into_inner().record.expect("a record");
                let _ = told.send(record.id);
            }
            // Only the transport may fail: a refusal of ours has a reason.
            Err(status) => {
                assert!(status.get_details_error_info().is_none(), "{status}");
                return;
            }
        }
    }
}

#[tokio::test]
async fn a_killed_process_has_lost_nothing_that_it_acknowledged() {
    let folder = tempfile::tempdir().expect("a folder");
    let data = folder.path().join("data");
    let rounds = std::env::var(ROUNDS).ok();
    let rounds: u32 = rounds.and_then(|rounds| rounds.parse().ok()).unwrap_or(10);
    let mut kept: Vec<String> = Vec::new();
    let mut older: Option<Checkpoint> = None;
    let mut process = Process::start(&data).await;
    for round in 0..rounds {
        let before = kept.len();
        let (tell, mut told) = mpsc::unbounded_channel();
        let callers: Vec<_> = (0..CALLERS)
            .map(|caller| tokio::spawn(load(process.channel.clone(), round, caller, tell.clone())))
            .collect();
        drop(tell);
        // Another moment each round: after so many answers, with as many more on their way.
        for _ in 0..5 + round * 7 % 40 {
            kept.push(told.recv().await.expect("an answer"));
        }
        process.kill();
        while let Some(id) = told.recv().await {
            kept.push(id);
        }
        for caller in callers {
            caller.await.expect("no panic");
        }
        process = Process::start(&data).await;
        let (newer, _) = process.checkpoint().await;
        let mut audit = AuditServiceClient::new(process.channel.clone());
        if let Some(older) = &older {
            let request = pb::GetConsistencyProofRequest {
                older_size: older.size,
                newer_size: newer.size,
            };
            let proof = audit.get_consistency_proof(request).await.expect("a proof");
            let proof: Vec<Hash> = proof
                .into_inner()
                .hashes
                .iter()
                .map(|hash| Hash::of_slice(hash).expect("32 bytes"))
                .collect();
            let held = verify_consistency(older.size, newer.size, &proof, &older.root, &newer.root);
            assert_eq!(held, Ok(()), "round {round}");
        }
        assert!(
            newer.size >= u64::try_from(kept.len()).expect("a size"),
            "round {round}"
        );
        // Those of this round each time, all of them at the end.
        let from = if round + 1 == rounds { 0 } else { before };
        for id in kept.iter().skip(from) {
            process.find(id, newer.size).await;
        }
        older = Some(newer);
    }
    process.kill();
    let mut log = String::new();
    let mut file = std::fs::File::open(data.with_extension("log")).expect("a log file");
    file.read_to_string(&mut log).expect("read");
    assert!(log.contains("listening"), "it logs at all");
    // With its sign, since the fractions of the log's seconds hold any digits in time.
    let speaks = |line: &&str| line.contains(PLANTED) || line.contains("-4.4817");
    assert_eq!(log.lines().find(speaks), None);
}
