//! A service with a data directory, and what its callers ask.

use std::ops::Deref;
use std::path::Path;

use loftwright_proto::v1 as pb;
use loftwright_server::rpc::recording::StockFrom;
use loftwright_testing::{Begin, Service};
use tonic::Status;

pub(crate) use loftwright_testing::{reason, uuid, violations};

/// A service of a shop.
pub(crate) struct Running(Service);

impl Deref for Running {
    type Target = Service;

    fn deref(&self) -> &Service {
        &self.0
    }
}

impl Running {
    pub(crate) async fn start(data: &Path) -> Self {
        Running(Service::start(data).await)
    }

    /// As [`Running::start`], with a folder of parts.
    pub(crate) async fn start_with(data: &Path, parts: Option<&Path>, from: StockFrom) -> Self {
        let begin = Begin {
            data: Some(data),
            parts,
            stock_from: from,
            ..Begin::default()
        };
        Running(Service::start_as(begin).await)
    }

    pub(crate) async fn stop(self) {
        self.0.stop().await;
    }

    pub(crate) async fn restart(self, data: &Path) -> Self {
        self.stop().await;
        Running::start(data).await
    }

    pub(crate) async fn recommend(&self, request: pb::RecommendRequest) -> Recommended {
        let answer = self.0.recommend(request).await.expect("an answer");
        Recommended {
            id: answer.record.expect("a record").id,
            bag: answer.recommendation.expect("a recommendation"),
        }
    }

    pub(crate) async fn confirm(
        &self,
        request: pb::ConfirmBuildRequest,
    ) -> Result<pb::ConfirmBuildResponse, Status> {
        let answer = self.fitting().confirm_build(request).await?;
        Ok(answer.into_inner())
    }

    pub(crate) async fn record(&self, id: &str) -> pb::Record {
        self.0.record(id).await.expect("a record")
    }

    /// What is on hand of a kind and part.
    pub(crate) async fn stock(&self, kind: &str, part: &str) -> pb::ListStockResponse {
        let request = pb::ListStockRequest {
            kind: kind.to_owned(),
            part: part.to_owned(),
            page_size: 1000,
            page_token: String::new(),
        };
        let answer = self.parts().list_stock(request).await;
        answer.expect("an answer").into_inner()
    }

    pub(crate) async fn snapshot(&self) -> String {
        let stock = self.stock("grip", "").await;
        stock.snapshot.expect("a snapshot").digest
    }

    /// Whether a piece is on hand.
    pub(crate) async fn has(&self, kind: &str, part: &str, piece: &str) -> bool {
        let stock = self.stock(kind, part).await;
        let mut items = stock.items.iter();
        items.any(|item| item.piece_id.as_deref() == Some(piece))
    }
}

pub(crate) struct Recommended {
    pub(crate) id: String,
    pub(crate) bag: pb::Recommendation,
}

impl Recommended {
    pub(crate) fn club(&self, name: &str) -> &pb::ClubBuild {
        let mut clubs = self.bag.clubs.iter();
        clubs.find(|club| club.name == name).expect("the club")
    }
}

/// The part of a settled part.
pub(crate) fn part(part: Option<&pb::SettledPart>) -> pb::PartBuild {
    let state = part.and_then(|part| part.state.clone());
    let part = state.and_then(|state| match state {
        pb::settled_part::State::Part(part) => Some(part),
        _ => None,
    });
    part.expect("a part")
}

/// The demo's steady player, to be recorded; `number` makes the request's id.
pub(crate) fn player(number: u32, subject: &str) -> pb::RecommendRequest {
    let player = loftwright_testing::preview("steady-right-hander", "skerry", subject);
    loftwright_testing::recorded(number, player)
}
