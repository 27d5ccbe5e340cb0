//! The tutorial of the language reference, walked through as it stands on the page.
//!
//! A block ```` ```file NAME ```` is written, a block ```` ```sh ```` is run by a shell in an empty
//! folder, a block ```` ```sh serve ```` is left running. What a block ```` ```output CODE ````
//! says must come from the command before it, line by line in that order, and the command must end
//! with the code (0 where none is named).

#![expect(
    clippy::expect_used,
    clippy::panic,
    reason = "a panic is how a test fails"
)]

use std::fs;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};

/// The address that the page names; the test takes a free port instead.
const ADDRESS: &str = "127.0.0.1:7450";

struct Walk {
    folder: PathBuf,
    service: Option<Child>,
    address: String,
    /// What the last command came to, until a block `output` has looked at it.
    last: Option<(String, Output)>,
}

impl Drop for Walk {
    fn drop(&mut self) {
        if let Some(service) = &mut self.service {
            let _ = service.kill();
            let _ = service.wait();
        }
    }
}

impl Walk {
    fn new() -> Self {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("tutorial");
        let _ = fs::remove_dir_all(&folder);
        fs::create_dir_all(&folder).expect("a folder");
        Walk {
            folder,
            service: None,
            address: ADDRESS.to_owned(),
            last: None,
        }
    }

    fn command(&self, line: &str) -> Command {
        let program = Path::new(env!("CARGO_BIN_EXE_loftwright"));
        let folder = program.parent().expect("the program's folder");
        let path = std::env::var("PATH").expect("a path");
        let mut command = Command::new("sh");
        command
            .arg("-c")
            .arg(line.replace(ADDRESS, &self.address))
            .current_dir(&self.folder)
            .env("PATH", format!("{}:{path}", folder.display()));
        command
    }

    fn block(&mut self, info: &str, text: &str) {
        match info.split_once(' ').unwrap_or((info, "")) {
            ("file", name) => {
                let path = self.folder.join(name);
                let parent = path.parent().expect("its folder");
                fs::create_dir_all(parent).expect("a folder");
                fs::write(&path, text).expect("a file");
            }
            ("sh", "") => {
                for line in text.lines() {
                    self.ended_well();
                    let output = self.command(line).output().expect("a shell");
                    self.last = Some((line.to_owned(), output));
                }
            }
            ("sh", "serve") => self.serve(text.trim()),
            ("output", code) => self.output(code.parse().unwrap_or(0), text),
            _ => panic!("`{info}` is no kind of block"),
        }
    }

    fn serve(&mut self, line: &str) {
        self.ended_well();
        // `exec`, so that the shell is the service and ends with it.
        let mut service = self
            .command(&format!("exec {line} --listen 127.0.0.1:0"))
            .stdout(Stdio::piped())
            .spawn()
            .expect("a shell");
        let output = service.stdout.take().expect("its output");
        self.service = Some(service);
        let mut said = String::new();
        BufReader::new(output).read_line(&mut said).expect("a line");
        let address = said.trim().strip_prefix("listening on http://");
        self.address = address.expect("an address").to_owned();
    }

    /// A command of which the page shows no output ends with 0.
    fn ended_well(&mut self) {
        if let Some((line, output)) = self.last.take() {
            assert!(output.status.success(), "{line}: {}", all_of(&output));
        }
    }

    fn output(&mut self, code: i32, text: &str) {
        let (line, output) = self.last.take().expect("a command before it");
        let said = all_of(&output);
        assert_eq!(output.status.code(), Some(code), "{line}: {said}");
        let mut rest = plain(&said);
        for wanted in text.lines().map(plain).filter(|wanted| !wanted.is_empty()) {
            let (_, after) = rest
                .split_once(&wanted)
                .unwrap_or_else(|| panic!("{line}: `{wanted}` is not said in\n{said}"));
            rest = after.to_owned();
        }
    }
}

/// Breaks of lines are the sheet's, not the page's.
fn plain(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn all_of(output: &Output) -> String {
    format!(
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    )
}

#[test]
fn the_tutorial_can_be_walked() {
    let page = Path::new(env!("CARGO_MANIFEST_DIR")).join("../dsl/reference/tutorial.md");
    let page = fs::read_to_string(page).expect("the page");
    let mut walk = Walk::new();
    let mut lines = page.lines();
    let mut blocks = 0;
    while let Some(line) = lines.next() {
        let Some(info) = line.strip_prefix("```") else {
            continue;
        };
        let inside = lines.by_ref().take_while(|line| *line != "```");
        let inside: Vec<&str> = inside.collect();
        walk.block(info.trim(), &format!("{}\n", inside.join("\n")));
        blocks += 1;
    }
    walk.ended_well();
    assert!(blocks > 20, "{blocks}");
    assert!(walk.folder.join("links.svg").exists());
    let has_laid_out = fs::read_to_string(walk.folder.join("links/wedges.rules"));
    assert!(
        has_laid_out
            .expect("the file")
            .contains("under 5 deg          gives low")
    );
}
