#[test]
fn t() {
    use loftwright_server::files::*;
    for name in ["common", "skerry"] {
        let out = rules_folder::check_built_in(name).unwrap();
        println!(
            "{name}: program {} diagnostics {}",
            out.program.is_some(),
            out.diagnostics.len()
        );
        for d in out
            .diagnostics
            .iter()
            .filter(|d| d.severity == loftwright_dsl::diagnostic::Severity::Error)
            .take(5)
        {
            println!("{} {:?}", d.message, d.primary.span);
        }
        if let Some(p) = out.program {
            let parts = PartsFiles::of_built_in("demo").unwrap().parts(&p);
            match parts {
                Ok(p) => println!(
                    "{:?}",
                    p.kinds
                        .iter()
                        .map(|(k, v)| (k, v.len()))
                        .collect::<Vec<_>>()
                ),
                Err(f) => {
                    for l in report(&f) {
                        println!("{l}")
                    }
                }
            }
            for f in built_in::player_files("demo") {
                let pf = PlayerFile::of_text(&f).unwrap();
                match pf.player(&p) {
                    Ok(pl) => println!("{} {}", f.path, pl.readings.len()),
                    Err(f) => {
                        for l in report(&f) {
                            println!("{l}")
                        }
                    }
                }
            }
        }
    }
}
