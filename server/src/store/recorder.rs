//! The one task that writes, and the queue before it.
//!
//! What waits is taken in batches of at most [`MOST_IN_A_BATCH`], each one transaction: while one
//! is on its way to the disk the next gathers. Whoever waits is answered after the commit. Once an
//! entry is in the queue it will be kept, whether or not its caller still waits. After a commit
//! that failed nothing is taken any more: every waiter is told, and [`Recorder::stopped`] is done.

use std::sync::Arc;
use std::time::Duration;

use tokio::sync::{mpsc, oneshot, watch};
use tokio::task::JoinHandle;
use tokio::time::Instant;

use super::Store;
use super::entry::{Entry, Placed};
use super::notary::Notary;

/// The most entries of one transaction, unless so many are to be kept together.
pub const MOST_IN_A_BATCH: usize = 64;

/// How the recorder works.
#[derive(Clone, Copy, Debug)]
pub struct RecorderSettings {
    /// The most entries that wait.
    pub most_waiting: usize,
    /// The longest that a record goes without a checkpoint over it; zero signs after each batch.
    pub checkpoint_every: Duration,
}

impl Default for RecorderSettings {
    fn default() -> Self {
        RecorderSettings {
            most_waiting: 1024,
            checkpoint_every: Duration::from_secs(1),
        }
    }
}

/// Why nothing was recorded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotRecorded {
    /// The queue is full.
    #[error("the limit `records_waiting` of {most} records is reached; try again in a moment")]
    QueueFull {
        /// The limit.
        most: usize,
    },
    /// A commit failed, or the service stops.
    #[error("nothing is recorded any more: writing the record failed; see the service's log")]
    Stopped,
    /// There is no such subject.
    #[error("no record of that subject is kept here under a key")]
    NoSubject,
    /// An erasure is recorded, and what is left of the key cannot be removed yet.
    #[error(
        "the subject's key is destroyed, but a program that reads the database holds back the \
         write-ahead log, where it can still be found; end that program, then ask again: once \
         nothing is left, no record of the subject is kept under a key"
    )]
    ErasureUnfinished,
}

/// How long what is left of an erasure is let be before it is tried again.
const ERASURE_RETRY: Duration = Duration::from_secs(1);

enum Job {
    Keep(
        Vec<Entry>,
        oneshot::Sender<Result<Vec<Placed>, NotRecorded>>,
    ),
    Erase(Box<Entry>, oneshot::Sender<Result<Placed, NotRecorded>>),
    Sign(oneshot::Sender<Result<String, NotRecorded>>),
}

/// The way to the task that writes.
#[derive(Clone)]
pub struct Recorder {
    store: Arc<dyn Store>,
    queue: mpsc::Sender<Job>,
    most_waiting: usize,
    stopped: watch::Receiver<bool>,
}

impl std::fmt::Debug for Recorder {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let mut shown = formatter.debug_struct("Recorder");
        shown.field("most_waiting", &self.most_waiting);
        shown.finish_non_exhaustive()
    }
}

impl Recorder {
    /// Starts the task. It ends, with a last checkpoint, once every `Recorder` is gone.
    pub fn start(
        store: Arc<dyn Store>,
        notary: Notary,
        settings: RecorderSettings,
    ) -> (Self, JoinHandle<()>) {
        let most_waiting = settings.most_waiting.max(1);
        let (queue, jobs) = mpsc::channel(most_waiting);
        let (stop, stopped) = watch::channel(false);
        let task = Writing {
            store: Arc::clone(&store),
            notary,
            jobs,
            held: None,
            stop,
            every: settings.checkpoint_every,
            signed_at: Instant::now(),
            is_unsigned: true,
            // What a process left that was killed.
            erasure_due: Some(Instant::now()),
        };
        let recorder = Recorder {
            store,
            queue,
            most_waiting,
            stopped,
        };
        (recorder, tokio::spawn(task.run()))
    }

    /// Keeps an entry; it is on the disk when this returns.
    ///
    /// # Errors
    /// [`NotRecorded`].
    pub async fn keep(&self, entry: Entry) -> Result<Placed, NotRecorded> {
        let placed = self.keep_together(vec![entry]).await?;
        placed.first().copied().ok_or(NotRecorded::Stopped)
    }

    /// Keeps entries in one transaction, at places one after the other. Where the request of one
    /// of them is known, none is kept, and each is answered with that request.
    ///
    /// # Errors
    /// [`NotRecorded`].
    pub async fn keep_together(&self, mut entries: Vec<Entry>) -> Result<Vec<Placed>, NotRecorded> {
        for entry in &mut entries {
            self.store.make_ready(entry);
        }
        self.ask(|answer| Job::Keep(entries, answer)).await
    }

    /// Erases the entry's subject, and keeps the entry.
    ///
    /// # Errors
    /// [`NotRecorded`].
    pub async fn erase(&self, entry: Entry) -> Result<Placed, NotRecorded> {
        self.ask(|answer| Job::Erase(Box::new(entry), answer)).await
    }

    /// A signed checkpoint over all that was kept before.
    ///
    /// # Errors
    /// [`NotRecorded`].
    pub async fn checkpoint(&self) -> Result<String, NotRecorded> {
        self.ask(Job::Sign).await
    }

    async fn ask<T>(
        &self,
        job: impl FnOnce(oneshot::Sender<Result<T, NotRecorded>>) -> Job,
    ) -> Result<T, NotRecorded> {
        let (answer, answered) = oneshot::channel();
        self.queue
            .try_send(job(answer))
            .map_err(|refused| match refused {
                mpsc::error::TrySendError::Full(_) => NotRecorded::QueueFull {
                    most: self.most_waiting,
                },
                mpsc::error::TrySendError::Closed(_) => NotRecorded::Stopped,
            })?;
        answered.await.unwrap_or(Err(NotRecorded::Stopped))
    }

    /// Done once a commit has failed; never where the task ends in peace.
    pub async fn stopped(&self) {
        let mut stopped = self.stopped.clone();
        if stopped.wait_for(|stopped| *stopped).await.is_err() {
            std::future::pending::<()>().await;
        }
    }
}

/// The task.
struct Writing {
    store: Arc<dyn Store>,
    notary: Notary,
    jobs: mpsc::Receiver<Job>,
    /// Taken from the queue, and not of the batch before it.
    held: Option<Job>,
    stop: watch::Sender<bool>,
    every: Duration,
    signed_at: Instant,
    /// Whether something was kept since.
    is_unsigned: bool,
    /// When what is left of an erasure is tried again.
    erasure_due: Option<Instant>,
}

/// A write failed; it was logged.
struct Failed;

impl Writing {
    async fn run(mut self) {
        while let Some(job) = self.next().await {
            let done = match job {
                Some(Job::Keep(entries, answer)) => self.keep(entries, answer).await,
                Some(Job::Erase(entry, answer)) => self.erase(&entry, answer).await,
                Some(Job::Sign(answer)) => self.answer_checkpoint(answer).await,
                None => Ok(()),
            };
            let done = match done {
                Ok(()) if self.is_due() => self.sign().await.map(drop),
                done => done,
            };
            let done = match done {
                Ok(()) if self.erasure_due.is_some_and(|due| due <= Instant::now()) => {
                    self.finish_erasures().await.map(drop)
                }
                done => done,
            };
            if done.is_err() {
                let _ = self.stop.send(true);
                // What waits is dropped with the queue, which answers it.
                return;
            }
        }
        // The last word of a log that nobody writes to any more.
        let _ = self.sign().await;
    }

    /// The next job; `Some(None)` when a checkpoint or an erasure is due, `None` at the end.
    async fn next(&mut self) -> Option<Option<Job>> {
        if let Some(job) = self.held.take() {
            return Some(Some(job));
        }
        let signing = self.is_unsigned.then(|| self.signed_at + self.every);
        let due = signing.into_iter().chain(self.erasure_due).min();
        let Some(due) = due else {
            return self.jobs.recv().await.map(Some);
        };
        match tokio::time::timeout_at(due, self.jobs.recv()).await {
            Ok(job) => job.map(Some),
            Err(_) => Some(None),
        }
    }

    fn is_due(&self) -> bool {
        self.is_unsigned && self.signed_at.elapsed() >= self.every
    }

    async fn keep(
        &mut self,
        first: Vec<Entry>,
        answer: oneshot::Sender<Result<Vec<Placed>, NotRecorded>>,
    ) -> Result<(), Failed> {
        let mut count = first.len();
        let (mut jobs, mut answers) = (vec![first], vec![answer]);
        while count < MOST_IN_A_BATCH {
            match self.jobs.try_recv() {
                Ok(Job::Keep(entries, answer)) if count + entries.len() <= MOST_IN_A_BATCH => {
                    count += entries.len();
                    jobs.push(entries);
                    answers.push(answer);
                }
                Ok(other) => {
                    self.held = Some(other);
                    break;
                }
                Err(_) => break,
            }
        }
        let groups: Vec<&[Entry]> = jobs.iter().map(Vec::as_slice).collect();
        match self.store.append_groups(&groups).await {
            Ok(placed) => {
                self.is_unsigned = true;
                for (answer, placed) in answers.into_iter().zip(placed) {
                    // Whoever does not wait any more finds it by asking again.
                    let _ = answer.send(Ok(placed));
                }
                Ok(())
            }
            Err(why) => {
                tracing::error!(%why, "writing the record failed; nothing is recorded any more");
                for answer in answers {
                    let _ = answer.send(Err(NotRecorded::Stopped));
                }
                Err(Failed)
            }
        }
    }

    async fn erase(
        &mut self,
        entry: &Entry,
        answer: oneshot::Sender<Result<Placed, NotRecorded>>,
    ) -> Result<(), Failed> {
        let (said, done) = match self.store.erase(entry).await {
            Ok(placed) => {
                self.is_unsigned |= placed.is_some();
                match self.finish_erasures().await {
                    Ok(true) => (placed.ok_or(NotRecorded::NoSubject), Ok(())),
                    Ok(false) => (Err(NotRecorded::ErasureUnfinished), Ok(())),
                    Err(Failed) => (Err(NotRecorded::Stopped), Err(Failed)),
                }
            }
            Err(why) => {
                tracing::error!(%why, "an erasure failed; nothing is recorded any more");
                (Err(NotRecorded::Stopped), Err(Failed))
            }
        };
        let _ = answer.send(said);
        done
    }

    /// Whether nothing is left of what was erased; where something is, it is tried again later.
    async fn finish_erasures(&mut self) -> Result<bool, Failed> {
        match self.store.finish_erasures().await {
            Ok(true) => {
                self.erasure_due = None;
                Ok(true)
            }
            Ok(false) => {
                tracing::warn!("an erasure waits for whoever reads the database");
                self.erasure_due = Some(Instant::now() + ERASURE_RETRY);
                Ok(false)
            }
            Err(why) => {
                tracing::error!(%why, "an erasure failed; nothing is recorded any more");
                Err(Failed)
            }
        }
    }

    async fn answer_checkpoint(
        &mut self,
        answer: oneshot::Sender<Result<String, NotRecorded>>,
    ) -> Result<(), Failed> {
        let signed = self.sign().await;
        let (said, done) = match signed {
            Ok(note) => (Ok(note), Ok(())),
            Err(Failed) => (Err(NotRecorded::Stopped), Err(Failed)),
        };
        let _ = answer.send(said);
        done
    }

    async fn sign(&mut self) -> Result<String, Failed> {
        self.signed_at = Instant::now();
        self.is_unsigned = false;
        match self.notary.sign().await {
            Ok(note) => Ok(note.to_owned()),
            Err(why) => {
                tracing::error!(%why, "no checkpoint can be signed; nothing is recorded any more");
                Err(Failed)
            }
        }
    }
}
