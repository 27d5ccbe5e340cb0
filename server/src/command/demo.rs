//! `demo`: the whole way on one machine: a service on a free loopback port, a built-in player sent
//! to it by a gRPC client, the build sheet of what comes back.

use std::net::{Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;

use clap::Args;
use loftwright_engine::intake::{nearest, quoted};
use loftwright_proto::v1 as pb;
use loftwright_proto::v1::fitting_service_client::FittingServiceClient;
use tokio::sync::oneshot;

use super::output::{is_coloured, print};
use super::serve::{refused, runtime};
use crate::ending::{CommandError, Ended};
use crate::files::{PlayerFile, built_in};
use crate::json::canonical_json;
use crate::load::{self, DEMO_STOCK, USUAL_RULESET, file_faults};
use crate::rpc::convert::player::request;
use crate::rpc::serve::{listen, serve};
use crate::sheet::{SheetOptions, build_sheet};

/// The player that is shown where none is named.
const USUAL_PLAYER: &str = "steady-right-hander";

/// How long the service may take to come to an end.
const DRAIN: Duration = Duration::from_secs(2);

/// What `demo` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    /// A built-in player [default: steady-right-hander]
    #[arg(long, value_name = "NAME")]
    player: Option<String>,
    /// Every step of every decision, and how sure each is
    #[arg(long)]
    full: bool,
    /// The answer as JSON
    #[arg(long, conflicts_with = "full")]
    json: bool,
}

/// Fits a built-in player and prints the sheet.
///
/// # Errors
/// [`CommandError`].
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    let name = arguments.player.as_deref().unwrap_or(USUAL_PLAYER);
    let request = player(name)?;
    let recommendation = runtime(1)?.block_on(ask(request))?;
    if arguments.json {
        let json = canonical_json("loftwright.v1.Recommendation", &recommendation);
        print(&format!("{}\n", json.map_err(CommandError::own)?))?;
        return Ok(Ended::Answered);
    }
    let options = SheetOptions {
        player: name.to_owned(),
        is_full: arguments.full,
        is_coloured: is_coloured(),
    };
    print(&build_sheet(&recommendation, &options))?;
    Ok(Ended::Answered)
}

/// The request of a built-in player.
fn player(name: &str) -> Result<pb::RecommendRequest, CommandError> {
    let files = built_in::player_files(DEMO_STOCK);
    let names: Vec<&str> = files
        .iter()
        .map(|file| file.path.trim_end_matches(".toml"))
        .collect();
    let Some(file) = files.iter().zip(&names).find(|(_, known)| **known == name) else {
        let near = nearest(name, names.iter().copied())
            .map(|near| format!("; did you mean `{near}`?"))
            .unwrap_or_default();
        return Err(CommandError::bad(format!(
            "there is no built-in player {}; there are `{}`{near}",
            quoted(name),
            names.join("`, `")
        )));
    };
    let file = PlayerFile::of_text(file.0).map_err(|faults| file_faults(&faults))?;
    let ruleset = file.ruleset.as_deref().unwrap_or(USUAL_RULESET);
    let text = file.text().map_err(|faults| file_faults(&faults))?;
    Ok(request(ruleset, name, text))
}

/// Starts the service, asks it over the wire, and lets it come to an end.
async fn ask(request: pb::RecommendRequest) -> Result<pb::Recommendation, CommandError> {
    let registry = Arc::new(load::registry(&[], None, None)?);
    let free_port = SocketAddr::from((Ipv4Addr::LOCALHOST, 0));
    let (listener, address) = listen(free_port).await.map_err(refused)?;
    let (stop, stopped) = oneshot::channel::<()>();
    let stopped = async {
        let _ = stopped.await;
    };
    let service = tokio::spawn(serve(listener, registry, stopped, DRAIN));
    let mut client = FittingServiceClient::connect(format!("http://{address}"))
        .await
        .map_err(CommandError::own)?;
    let answer = client.recommend(request).await;
    drop(client);
    let _ = stop.send(());
    service.await.map_err(CommandError::own)?.map_err(refused)?;
    let answer = answer.map_err(|status| CommandError::own(status.message().to_owned()))?;
    answer
        .into_inner()
        .recommendation
        .ok_or_else(|| CommandError::own("the service answered without a recommendation"))
}
