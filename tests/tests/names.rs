//! The rulesets that the program carries, indexed to the last name.

use std::fs;
use std::path::Path;

use loftwright_dsl::check::LayerSource;
use loftwright_dsl::index::{Index, Kind, RenameRefusal, index};

fn layer(name: &str, folder: &str) -> LayerSource {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("..")
        .join(folder);
    let mut paths: Vec<_> = fs::read_dir(&folder)
        .expect("the folder")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "rules"))
        .collect();
    paths.sort();
    let files = paths.iter().map(|path| {
        let text = fs::read_to_string(path).expect("its text");
        (path.display().to_string(), text)
    });
    LayerSource {
        name: name.to_owned(),
        files: files.collect(),
    }
}

fn trade() -> Vec<LayerSource> {
    vec![
        layer("contract", "engine"),
        layer("common", "rulesets/common"),
    ]
}

/// The lines of a file without comments and texts, which hold no names but those in braces.
fn code_of(text: &str) -> String {
    let mut in_text = false;
    let mut in_comment = false;
    let blanked = text.chars().map(|character| {
        match character {
            '\n' => in_comment = false,
            '"' if !in_comment => in_text = !in_text,
            '#' if !in_text => in_comment = true,
            _ => {}
        }
        if (in_text || in_comment) && character != '\n' {
            ' '
        } else {
            character
        }
    });
    let mut code: String = blanked.collect();
    // In these phrases the word is the language's.
    for phrase in ["none on hand", "from on_hand", "kept gives", "kept within"] {
        code = code.replace(phrase, &" ".repeat(phrase.len()));
    }
    code
}

/// Every word of the file that is a declared name and that the index does not know where it stands.
fn unknown_places(index: &Index) -> Vec<String> {
    let is_part = |character: char| character.is_ascii_alphanumeric() || character == '_';
    let mut unknown = Vec::new();
    for (file, source) in index.folder.entries() {
        if !source.text.is_ascii() {
            // Blanking keeps characters, not bytes.
            continue;
        }
        let code = code_of(&source.text);
        let mut offset = 0;
        for word in code.split(|character: char| !is_part(character)) {
            let start = offset;
            offset += word.len() + 1;
            let is_name = index.named(word).is_some();
            if is_name
                && index
                    .name_at(file, start)
                    .is_none_or(|found| found.span.start != start)
            {
                let line = code[..start].matches('\n').count() + 1;
                unknown.push(format!("{}:{line} {word}", source.name));
            }
        }
    }
    unknown
}

#[test]
fn every_declared_name_of_the_trade_is_known_where_it_stands() {
    let index = index(&trade(), 1);
    assert!(!index.has_errors(), "{:#?}", index.diagnostics);
    assert_eq!(unknown_places(&index), Vec::<String>::new());
}

#[test]
fn every_declared_name_of_the_house_is_known_where_it_stands() {
    let mut layers = trade();
    layers.push(layer("skerry", "rulesets/skerry"));
    let index = index(&layers, 1);
    assert!(!index.has_errors(), "{:#?}", index.diagnostics);
    // What the house replaces is not looked at below.
    let unknown: Vec<String> = unknown_places(&index)
        .into_iter()
        .filter(|place| place.contains("rulesets/skerry"))
        .collect();
    assert_eq!(unknown, Vec::<String>::new());
}

#[test]
fn every_name_of_the_trade_can_be_renamed_and_named_back() {
    let layers = trade();
    let before = index(&layers, 1);
    let mut renamed = 0;
    for (id, declaration) in before.declarations.entries() {
        // A few of each kind: every rename checks the whole folder twice.
        if !declaration.kind.is_named() || declaration.layer != 1 || id.index() % 17 != 0 {
            continue;
        }
        let new = format!("{}_anew", declaration.name);
        let edits = match before.rename(id, &new) {
            Ok(edits) => edits,
            Err(RenameRefusal::UsedBelow { layer, .. }) => {
                assert_eq!(layer, "contract");
                continue;
            }
            Err(refusal) => panic!("{}: {refusal}", declaration.name),
        };
        renamed += 1;
        let mut after = layers.clone();
        for edit in edits.iter().rev() {
            let name = &before.folder[edit.span.file].name;
            let mut files = after.iter_mut().flat_map(|layer| &mut layer.files);
            let (_, text) = files.find(|(file, _)| file == name).expect("the file");
            text.replace_range(edit.span.start..edit.span.end, &edit.text);
        }
        let after = index(&after, 1);
        assert!(!after.has_errors(), "{}", declaration.name);
        let new_id = after.named(&new).expect("the new name");
        assert_eq!(
            after.uses_of(new_id).count(),
            before.uses_of(id).count(),
            "{}",
            declaration.name
        );
        if declaration.kind != Kind::Input {
            assert!(after.named(&declaration.name).is_none());
        }
    }
    assert!(renamed > 3, "{renamed}");
}
