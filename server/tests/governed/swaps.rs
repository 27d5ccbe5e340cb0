//! Rules are swapped while players are answered.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use tonic::Code;

use crate::support::{Running, house, reason};

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn of_two_activations_at_once_one_wins_and_the_other_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Running::start(folder.path()).await;
    let mut revisions = Vec::new();
    for number in 0..4 {
        revisions.push(service.publish("", house(&format!("Word {number}."))).await);
    }
    let tries = revisions
        .iter()
        .map(|revision| service.activate("", revision, ""));
    let tries = futures::future::join_all(tries).await;
    let won: Vec<usize> = (0..4).filter(|index| tries[*index].is_ok()).collect();
    assert_eq!(won.len(), 1);
    for refused in tries.into_iter().filter_map(Result::err) {
        assert_eq!(refused.code(), Code::Aborted);
        assert_eq!(reason(&refused), "OTHER_REVISION_IN_FORCE");
        assert!(
            refused.message().contains(&revisions[won[0]]),
            "{}",
            refused.message()
        );
    }
    assert_eq!(service.says().await.1, revisions[won[0]]);
    service.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn whoever_is_answered_during_a_swap_is_answered_by_the_one_revision_that_is_named() {
    let service = Arc::new(Running::in_memory().await);
    let words = ["Odd.", "Even."];
    let mut revisions = Vec::new();
    for word in words {
        revisions.push(service.publish("", house(word)).await);
    }
    service
        .activate("", &revisions[0], "")
        .await
        .expect("activated");
    let is_done = Arc::new(AtomicBool::new(false));
    let asking = {
        let (service, is_done) = (Arc::clone(&service), Arc::clone(&is_done));
        let revisions = revisions.clone();
        tokio::spawn(async move {
            let mut seen = [0, 0];
            while !is_done.load(Ordering::Relaxed) || seen.iter().sum::<usize>() < 4 {
                let (says, revision) = service.says().await;
                let which = revisions.iter().position(|one| *one == revision);
                let which = which.expect("a revision that was published");
                assert_eq!(says, [words[which]], "it says what that revision says");
                seen[which] += 1;
            }
        })
    };
    for number in 0..8 {
        let (from, to) = (&revisions[number % 2], &revisions[(number + 1) % 2]);
        service.activate("", to, from).await.expect("activated");
    }
    is_done.store(true, Ordering::Relaxed);
    asking.await.expect("no panic");
    Arc::into_inner(service).expect("the last").stop().await;
}
