//! Why, and why not.

use loftwright_proto::v1 as pb;
use pb::explain_record_request::Question;
use pb::why_not_question::Other;
use tonic::Status;

use crate::running::{Running, player, violations};

async fn ask(
    service: &mut Running,
    id: &str,
    question: Option<Question>,
) -> Result<pb::ExplainRecordResponse, Status> {
    let request = pb::ExplainRecordRequest {
        id: id.to_owned(),
        question,
    };
    let answer = service.audit.explain_record(request).await?;
    Ok(answer.into_inner())
}

fn why(decision: &str, club: &str) -> Option<Question> {
    Some(Question::Why(pb::WhyQuestion {
        decision: decision.to_owned(),
        club: club.to_owned(),
    }))
}

fn why_not(decision: &str, club: &str, other: Other) -> Option<Question> {
    Some(Question::WhyNot(pb::WhyNotQuestion {
        decision: decision.to_owned(),
        club: club.to_owned(),
        other: Some(other),
    }))
}

#[tokio::test]
async fn look() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut service = Running::start(folder.path()).await;
    let id = service.record(player("steady-right-hander", 1)).await;
    let all = ask(&mut service, &id, None).await.expect("an answer");
    println!("{}", all.text);
    for question in std::env::var("ASK").unwrap_or_default().split(';') {
        let parts: Vec<&str> = question.split('|').collect();
        let question = match parts.as_slice() {
            [decision, club] => why(decision, club),
            [decision, club, "row", row] => why_not(decision, club, Other::Row(pb::RowOfTable{table: 1, row: row.parse().unwrap()})),
            [decision, club, "part", part] => why_not(decision, club, Other::Part((*part).to_owned())),
            [decision, club, "outcome", part] => why_not(decision, club, Other::Outcome((*part).to_owned())),
            _ => continue,
        };
        match ask(&mut service, &id, question).await {
            Ok(answer) => println!("{}", answer.text),
            Err(status) => println!("{:?}", violations(&status)),
        }
    }
    service.stop().await;
}
