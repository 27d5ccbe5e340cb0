//! The page as Debian's Chromium prints it. Left out, and said so, where there is none.

use std::fs;
use std::path::Path;
use std::process::Command;

use loftwright_proto::v1 as pb;
use loftwright_server::ticket::{TicketForm, draw};
use pb::ticket_task::Wanted;

use super::{demo_player, folder, ticket};

/// Chromium with a page; what it writes to its standard output. `None` where there is none.
fn chromium(arguments: &[&str], page: &Path) -> Option<String> {
    let output = Command::new("chromium")
        .args([
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-dev-shm-usage",
        ])
        .args(arguments)
        .arg(format!("file://{}", page.display()))
        .output();
    match output {
        Ok(output) => Some(String::from_utf8_lossy(&output.stdout).into_owned()),
        Err(_) => {
            eprintln!("left out: it takes Chromium as `chromium`");
            None
        }
    }
}

/// How many pages a PDF has: `/Type /Page` stands once for each, `/Type /Pages` for their tree.
fn pages(pdf: &[u8]) -> usize {
    let text = String::from_utf8_lossy(pdf);
    text.matches("/Type /Page").count() - text.matches("/Type /Pages").count()
}

#[test]
fn the_longest_set_prints_on_one_page_of_either_size() {
    let page = ticket("print", &demo_player("left-hander"), "html");
    let folder = folder("printed");
    for size in ["A4", "letter"] {
        let sized = page.replace("@page {", &format!("@page {{ size: {size};"));
        assert_ne!(sized, page);
        let file = folder.join(format!("{size}.html"));
        fs::write(&file, sized).expect("a page");
        let pdf = folder.join(format!("{size}.pdf"));
        let to = format!("--print-to-pdf={}", pdf.display());
        if chromium(&["--no-pdf-header-footer", &to], &file).is_none() {
            return;
        }
        let pdf = fs::read(&pdf).expect("a PDF");
        assert_eq!(
            pages(&pdf),
            1,
            "pages of {size}; a caution that says less may help"
        );
    }
}

/// What is cut off or runs into its neighbour: everything that is wider than its own box.
const OVERFLOW: &str = "<script>
  const wide = [...document.querySelectorAll('body, section, table, td, th, aside, li, p, h1')]
    .filter(box => box.scrollWidth > box.clientWidth + 1 && box.clientWidth > 0)
    .map(box => box.tagName + ' ' + box.textContent.slice(0, 40));
  document.title = 'overflow: ' + wide.length + ' ' + wide.join('; ');
</script>";

/// What runs over on a page of A4, the narrower paper: 210 mm less two margins of 8 mm, at 96
/// pixels an inch. `None` where there is no Chromium.
fn overflow(test: &str, page: &str) -> Option<String> {
    let file = folder(&format!("overflow-{test}")).join("page.html");
    let page = page.replace("</body>", &format!("{OVERFLOW}</body>"));
    fs::write(&file, page).expect("a page");
    let found = chromium(&["--window-size=734,1100", "--dump-dom"], &file)?;
    let title = found.split("<title>").nth(1).unwrap_or_default();
    let title = title.split("</title>").next().unwrap_or_default();
    Some(title.trim().to_owned())
}

#[test]
fn nothing_runs_over_at_the_width_of_the_paper() {
    for name in ["left-hander", "small-sore-hands", "junior"] {
        let page = ticket(&format!("wide-{name}"), &demo_player(name), "html");
        let Some(found) = overflow(name, &page) else {
            return;
        };
        assert_eq!(found, "overflow: 0", "{name}");
    }
}

/// The longest words that a file may hold, without a space to break at.
#[test]
fn long_codes_and_subjects_are_broken_and_not_cut_off() {
    let long = "W".repeat(120);
    let task = |item: pb::TicketItem, wanted: Wanted| pb::TicketTask {
        club: "driver".to_owned(),
        item: item.into(),
        wanted: Some(wanted),
        note: Some(long.clone()),
        ..pb::TicketTask::default()
    };
    let part = |item| {
        let part = pb::TicketPart {
            part_id: long.clone(),
            piece_id: Some(long.clone()),
            ..pb::TicketPart::default()
        };
        task(item, Wanted::Part(part))
    };
    let work = |work: &str, tasks| pb::TicketWork {
        work: work.to_owned(),
        tasks,
        ..pb::TicketWork::default()
    };
    let recommendation = pb::Recommendation {
        ticket: Some(pb::Ticket {
            subject: long.clone(),
            kept_clubs: vec![long.clone()],
            works: vec![
                work(
                    "pulling",
                    vec![
                        part(pb::TicketItem::Head),
                        part(pb::TicketItem::Shaft),
                        part(pb::TicketItem::Grip),
                    ],
                ),
                work(
                    "setting",
                    vec![task(pb::TicketItem::Sleeve, Wanted::Position(long.clone()))],
                ),
            ],
            ..pb::Ticket::default()
        }),
        ..pb::Recommendation::default()
    };
    let page = draw(&recommendation, TicketForm::Page).expect("a page");
    if let Some(found) = overflow("long", &page) {
        assert_eq!(found, "overflow: 0");
    }
}
