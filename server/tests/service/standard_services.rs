//! Health and reflection.

use loftwright_testing::Service;
use tokio_stream::StreamExt;
use tonic_health::pb::HealthCheckRequest;
use tonic_health::pb::health_check_response::ServingStatus;
use tonic_health::pb::health_client::HealthClient;

#[tokio::test]
async fn the_service_says_that_it_is_well() {
    let service = Service::of_previews().await;
    let mut health = HealthClient::new(service.channel.clone());
    for name in ["", "loftwright.v1.FittingService"] {
        let request = HealthCheckRequest {
            service: name.to_owned(),
        };
        let answer = health.check(request).await.expect("an answer").into_inner();
        assert_eq!(answer.status(), ServingStatus::Serving);
    }
    drop(health);
    service.stop().await;
}

macro_rules! lists_the_services {
    ($test:ident, $version:ident) => {
        #[tokio::test]
        async fn $test() {
            use tonic_reflection::pb::$version::ServerReflectionRequest;
            use tonic_reflection::pb::$version::server_reflection_client::ServerReflectionClient;
            use tonic_reflection::pb::$version::server_reflection_request::MessageRequest;
            use tonic_reflection::pb::$version::server_reflection_response::MessageResponse;

            let service = Service::of_previews().await;
            let mut client = ServerReflectionClient::new(service.channel.clone());
            let request = ServerReflectionRequest {
                host: String::new(),
                message_request: Some(MessageRequest::ListServices(String::new())),
            };
            let answers = client
                .server_reflection_info(tokio_stream::once(request))
                .await;
            let mut answers = answers.expect("a stream").into_inner();
            let answer = answers
                .next()
                .await
                .expect("an answer")
                .expect("no refusal");
            let Some(MessageResponse::ListServicesResponse(list)) = answer.message_response else {
                panic!("{answer:?}");
            };
            let names: Vec<String> = list.service.into_iter().map(|one| one.name).collect();
            assert!(
                names.contains(&"loftwright.v1.FittingService".to_owned()),
                "{names:?}"
            );
            assert!(
                names.contains(&"grpc.health.v1.Health".to_owned()),
                "{names:?}"
            );
            drop((client, answers));
            service.stop().await;
        }
    };
}

lists_the_services!(reflection_version_1_lists_the_services, v1);
lists_the_services!(reflection_version_1_alpha_lists_the_services, v1alpha);
