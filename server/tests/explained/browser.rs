//! The pages as Debian's Chromium shows them, judged by axe-core: WCAG 2.2, levels A and AA, in
//! light and wide, and in the dark and 320 pixels wide (1.4.10 of the guidelines). Left out, and
//! said so, where there is no Chromium or no axe-core; `tests/run` brings the latter.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use loftwright_proto::v1 as pb;
use loftwright_testing::Service;

use crate::fetching::{get, link, player};

/// Where the script of axe-core is.
const AXE: &str = "AXE_CORE";

/// What is asked in the page: every rule of the guidelines and of good practice, and whether
/// anything makes the page itself scroll sideways.
const ASK: &str = "
  const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
  addEventListener('load', () => axe.run(document, {runOnly: {type: 'tag', values: tags}})
    .then(found => {
      const faults = found.violations.map(rule =>
        rule.id + ' at ' + rule.nodes.map(node => node.target.join(' ')).slice(0, 3).join(', '));
      const root = document.documentElement;
      if (root.scrollWidth > root.clientWidth + 1)
        faults.push('wider than the page by ' + (root.scrollWidth - root.clientWidth));
      parent.postMessage(found.passes.length + ' rules passed; faults: ' + faults.join('; '), '*');
    }));";

/// Around it: a frame of the width, since a window has a least one.
fn frame(page: &str, width: u32) -> String {
    format!(
        "<!DOCTYPE html><title>none</title>\
         <script>onmessage = told => document.title = told.data;</script>\
         <iframe width={width} height=900 src={page}></iframe>"
    )
}

fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"))
        .join("pages")
        .join(name);
    fs::create_dir_all(&folder).expect("a folder");
    folder
}

/// What axe-core says of a page so wide, as `N rules passed; faults: …`. `None` where it cannot be
/// asked.
fn judged(name: &str, page: &str, width: u32, axe: &str) -> Option<String> {
    let folder = folder(name);
    let asking = format!("<script>{axe}</script><script>{ASK}</script></head>");
    fs::write(
        folder.join("page.html"),
        page.replacen("</head>", &asking, 1),
    )
    .expect("a page");
    let around = folder.join(format!("{width}.html"));
    fs::write(&around, frame("page.html", width)).expect("a page");
    let output = Command::new("chromium")
        .args([
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-dev-shm-usage",
        ])
        .args(["--virtual-time-budget=60000", "--dump-dom"])
        .arg(format!("file://{}", around.display()))
        .output()
        .ok()?;
    let found = String::from_utf8_lossy(&output.stdout).into_owned();
    let title = found.split("<title>").nth(1).unwrap_or_default();
    let title = title.split("</title>").next().unwrap_or_default();
    Some(title.to_owned())
}

/// The page with its style sheet in it, by day or by night.
fn with_style(page: &str, css: &str, is_dark: bool) -> String {
    let css = match is_dark {
        true => css.replace("(prefers-color-scheme: dark)", "all"),
        false => css.replace("(prefers-color-scheme: dark)", "(width < 0px)"),
    };
    let link = "<link rel=\"stylesheet\" href=\"/style.css\">";
    assert!(page.contains(link), "{page}");
    page.replace(link, &format!("<style>{css}</style>"))
}

#[tokio::test(flavor = "multi_thread")]
async fn nobody_is_shut_out() {
    let data = tempfile::tempdir().expect("a folder");
    let service = Service::start(data.path()).await;
    let full = pb::RecommendRequest {
        view: pb::RecommendationView::Full.into(),
        ..player("very-steep", 1)
    };
    let id = service.keep(full).await;
    let open = service.keep(player("readings-missing", 2)).await;
    let (_, css) = get(service.pages(), "/style.css").await;
    let (_, record) = get(service.pages(), &format!("/records/{id}")).await;
    let revision = link(&record, "/rulesets/");
    let paths = [
        ("list", "/records".to_owned()),
        ("record", format!("/records/{id}")),
        ("open-record", format!("/records/{open}")),
        ("rows", format!("/records/{id}/why/wedge_bounce")),
        (
            "choice",
            format!("/records/{id}/why/wood_shaft?club=driver&part=S-70-S-M"),
        ),
        (
            "length",
            format!("/records/{id}/why/club_length?club=7%20iron"),
        ),
        ("revision", revision),
        ("refused", "/records/1-none".to_owned()),
    ];
    let axe = std::env::var(AXE)
        .ok()
        .and_then(|path| fs::read_to_string(path).ok());
    let mut faults = String::new();
    for (name, path) in paths {
        let (_, page) = get(service.pages(), &path).await;
        for (scheme, is_dark, width) in [("light", false, 1280), ("dark", true, 320)] {
            let styled = with_style(&page, &css, is_dark);
            let name = format!("{name}-{scheme}");
            fs::write(folder(&name).join("as-it-is.html"), &styled).expect("a page");
            let Some(axe) = &axe else {
                continue;
            };
            let Some(said) = judged(&name, &styled, width, axe) else {
                eprintln!("left out: it takes Chromium as `chromium`");
                return;
            };
            // A page that nobody judged is no clean one.
            if !said.contains("rules passed") || !said.ends_with("faults: ") {
                faults.push_str(&format!("{name}, {width} wide: {said}\n"));
            }
        }
    }
    service.stop().await;
    if axe.is_none() {
        eprintln!("left out: it takes axe-core's script at the path in {AXE}");
    }
    assert_eq!(faults, "");
}
