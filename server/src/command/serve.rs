//! `serve`: answers over gRPC on this machine until it is told to stop.

use std::future::Future;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use clap::Args;
use tokio::runtime::{Builder, Runtime};
use tokio::sync::oneshot;
use tokio::task::JoinHandle;

use super::output::print;
use crate::ending::{CommandError, Ended};
use crate::load;
use crate::pages;
use crate::registry::Registry;
use crate::rpc::recording::{Recording, StockFrom};
use crate::rpc::serve::{ServeError, listen, serve_and_record};
use crate::store::RecorderSettings;

/// What `serve` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// A folder of rules; may be given several times [default: the built-in rulesets]
    #[arg(long, value_name = "DIR")]
    rules: Vec<PathBuf>,
    /// The folder of parts and stock [default: the built-in demo stock]
    #[arg(long, value_name = "DIR")]
    parts: Option<PathBuf>,
    /// Where the record of the data directory has another stock than the folder of parts: which one
    /// is in force from now on, that of the `log` or that of the `parts`, which is then recorded
    #[arg(long, value_enum, value_name = "WHICH", requires = "data")]
    stock_from: Option<StockFrom>,
    /// The ruleset taken where a request names none
    #[arg(long, value_name = "NAME")]
    ruleset: Option<String>,
    /// The data directory of the record; without one nothing is recorded, and previews are answered
    #[arg(long, value_name = "DIR")]
    data: Option<PathBuf>,
    /// The longest that a record goes without a signed checkpoint over it; 0 signs after each batch
    #[arg(long, value_name = "SECONDS", default_value_t = 1)]
    checkpoint_seconds: u64,
    /// The loopback address to listen on; port 0 takes a free one
    #[arg(long, value_name = "ADDRESS", default_value = "127.0.0.1:7450")]
    listen: SocketAddr,
    /// The loopback address of the record's pages, such as 127.0.0.1:7451; port 0 takes a free one
    #[arg(long, value_name = "ADDRESS", requires = "data")]
    admin: Option<SocketAddr>,
    /// How long requests in work may go on after a stop
    #[arg(long, value_name = "SECONDS", default_value_t = 10)]
    drain_seconds: u64,
    /// Worker threads; 1 keeps everything on one
    #[arg(long, value_name = "COUNT", default_value_t = 2, value_parser = clap::value_parser!(u16).range(1..=256))]
    workers: u16,
}

/// Serves until SIGTERM or ctrl-c.
///
/// # Errors
/// [`CommandError`].
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let registry = Arc::new(load::registry(
        &arguments.rules,
        arguments.parts.as_deref(),
        arguments.ruleset.as_deref(),
    )?);
    runtime(arguments.workers)?.block_on(async {
        // Signals first: a stop between the two would otherwise end us without a word.
        let stop = stop_signal()?;
        let (recording, writing) = record(arguments).await?.unzip();
        let recording = recording.map(Arc::new);
        if let Some(recording) = &recording {
            let stock_from = stock_from(arguments, recording, &registry).await?;
            let taken_up = recording.taken_up_by(&registry, stock_from).await;
            taken_up.map_err(CommandError::bad)?;
        }
        let (listener, address) = listen(arguments.listen).await.map_err(refused)?;
        print(&format!("listening on http://{address}\n"))?;
        tracing::info!(%address, rulesets = registry.workshop().names().join(", "), "listening");
        let drain = Duration::from_secs(arguments.drain_seconds);
        let pages = serve_pages(arguments.admin, &registry, recording.clone()).await?;
        let is_drained = serve_and_record(listener, registry, recording, stop, drain)
            .await
            .map_err(refused)?;
        let is_drained = pages_ended(pages, drain).await && is_drained;
        if is_drained && let Some(writing) = writing {
            // The record is gone with the services: what is left is the last checkpoint.
            writing.await.map_err(CommandError::own)?;
        }
        if !is_drained {
            tracing::warn!("requests were still in work after {drain:?} and were ended");
        }
        Ok(Ended::Answered)
    })
}

/// The pages on their way: what stops them, and the task.
type Pages = (oneshot::Sender<()>, JoinHandle<std::io::Result<()>>);

/// Serves the pages of the record, where an address is given.
async fn serve_pages(
    address: Option<SocketAddr>,
    registry: &Arc<Registry>,
    recording: Option<Arc<Recording>>,
) -> Result<Option<Pages>, CommandError> {
    let Some((address, recording)) = address.zip(recording) else {
        return Ok(None);
    };
    let (listener, address) = listen(address).await.map_err(refused)?;
    print(&format!("pages on http://{address}/records\n"))?;
    let (stop, stopped) = oneshot::channel();
    let serving = pages::serve(listener, Arc::clone(registry), recording, async {
        // A sender that is gone is a stop too.
        let _ = stopped.await;
    });
    Ok(Some((stop, tokio::spawn(serving))))
}

/// Whether the pages have ended in time.
async fn pages_ended(pages: Option<Pages>, drain: Duration) -> bool {
    let Some((stop, mut serving)) = pages else {
        return true;
    };
    let _ = stop.send(());
    let is_ended = tokio::time::timeout(drain, &mut serving).await.is_ok();
    if !is_ended {
        serving.abort();
    }
    is_ended
}

/// The record of the data directory, where one is named, and the task that writes it.
async fn record(
    arguments: &Arguments,
) -> Result<Option<(Recording, JoinHandle<()>)>, CommandError> {
    let Some(data) = &arguments.data else {
        return Ok(None);
    };
    let settings = RecorderSettings {
        checkpoint_every: Duration::from_secs(arguments.checkpoint_seconds),
        ..RecorderSettings::default()
    };
    let opened = Recording::open(data, settings).await;
    opened.map(Some).map_err(CommandError::bad)
}

/// Which stock is in force. Where a folder of parts is named and holds another stock than the
/// record, somebody has to say.
async fn stock_from(
    arguments: &Arguments,
    recording: &Recording,
    registry: &Registry,
) -> Result<StockFrom, CommandError> {
    if let Some(chosen) = arguments.stock_from {
        return Ok(chosen);
    }
    let Some(folder) = &arguments.parts else {
        return Ok(StockFrom::Log);
    };
    let in_log = recording.stock().await.map_err(CommandError::bad)?;
    let workshop = registry.workshop();
    match in_log {
        Some(in_log) if !in_log.stock.files.says_the_same(&workshop.stock().files) => {
            Err(CommandError::bad(format!(
                "the stock of the record (record {}, `{}`) is another than that of `{}`: go on \
                 with the record's by `--stock-from log`, or put the folder's in its place by \
                 `--stock-from parts`",
                in_log.position,
                in_log.stock.name,
                folder.display()
            )))
        }
        _ => Ok(StockFrom::Log),
    }
}

/// A runtime with so many workers.
///
/// # Errors
/// [`CommandError::OwnFault`] where the machine gives no threads.
pub(super) fn runtime(workers: u16) -> Result<Runtime, CommandError> {
    let mut builder = match workers {
        1 => Builder::new_current_thread(),
        _ => Builder::new_multi_thread(),
    };
    builder
        .worker_threads(usize::from(workers))
        .enable_all()
        .build()
        .map_err(CommandError::own)
}

/// Done once the process is told to stop.
fn stop_signal() -> Result<impl Future<Output = ()>, CommandError> {
    use tokio::signal::unix::{SignalKind, signal};
    let mut terminate = signal(SignalKind::terminate()).map_err(CommandError::own)?;
    let mut interrupt = signal(SignalKind::interrupt()).map_err(CommandError::own)?;
    Ok(async move {
        tokio::select! {
            _ = terminate.recv() => {}
            _ = interrupt.recv() => {}
        }
        tracing::info!("stopping");
    })
}

/// An address that cannot be had is the caller's; everything else is ours.
pub(super) fn refused(error: ServeError) -> CommandError {
    match error {
        ServeError::NotLoopback(_) | ServeError::Listen { .. } | ServeError::NotTakenUp(_) => {
            CommandError::bad(error)
        }
        ServeError::Reflection(_) | ServeError::Transport(_) | ServeError::Task(_) => {
            CommandError::own(error)
        }
    }
}
