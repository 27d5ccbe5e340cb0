//! What is asked of a service again and again.

use loftwright_proto::v1 as pb;
use tonic::Status;

use crate::Service;

impl Service {
    /// Asks for a recommendation.
    ///
    /// # Errors
    /// What the service refuses.
    pub async fn recommend(
        &self,
        request: pb::RecommendRequest,
    ) -> Result<pb::RecommendResponse, Status> {
        let answer = self.fitting().recommend(request).await?;
        Ok(answer.into_inner())
    }

    /// Asks for a recommendation that is recorded: the record's id.
    pub async fn keep(&self, request: pb::RecommendRequest) -> String {
        let answer = self.recommend(request).await.expect("an answer");
        answer.record.expect("a record").id
    }

    /// A record.
    ///
    /// # Errors
    /// What the service refuses.
    pub async fn record(&self, id: &str) -> Result<pb::Record, Status> {
        let request = pb::GetRecordRequest { id: id.to_owned() };
        let answer = self.audit().get_record(request).await?;
        Ok(answer.into_inner().record.expect("a record"))
    }
}
