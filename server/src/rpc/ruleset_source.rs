//! Rules as they are sent: their form looked at, then layers for the checker.

use std::collections::BTreeSet;

use loftwright_dsl::check::LayerSource;
use loftwright_engine::intake::quoted;
use loftwright_proto::v1 as pb;

use super::refusal::{FieldFault, Refusal};
use crate::files::limits::{MOST_FILES, MOST_LAYERS};
use crate::files::rules_folder::layers_of_sent;
use crate::registry::CONTRACT_LAYER;

/// The layers of what was sent, the contract first.
///
/// # Errors
/// [`Refusal::Faults`] with every fault of the form. What is wrong in the rules is the checker's.
pub(super) fn layers(source: Option<&pb::RulesetSource>) -> Result<Vec<LayerSource>, Refusal> {
    let sent = source.map_or(&[][..], |source| &source.layers);
    let faults = faults_of_form(sent);
    if !faults.is_empty() {
        return Err(Refusal::Faults(faults));
    }
    let mut layers: Vec<LayerSource> = sent.iter().map(layer).collect();
    let Some(house) = layers.pop() else {
        return Err(Refusal::Faults(vec![fault(
            "source.layers".to_owned(),
            "no layer was sent; send the ruleset's own files at least",
        )]));
    };
    layers_of_sent(house, layers).map_err(|faults| {
        let faults = faults.into_iter();
        Refusal::Faults(
            faults
                .map(|file| fault(format!("source.layers.{}", file.file), file.message))
                .collect(),
        )
    })
}

fn layer(sent: &pb::RulesLayer) -> LayerSource {
    let files = sent.files.iter().map(|file| {
        let shown = format!("{}/{}", sent.name, file.name);
        (shown, file.text.clone())
    });
    LayerSource {
        name: sent.name.clone(),
        files: files.collect(),
    }
}

fn faults_of_form(sent: &[pb::RulesLayer]) -> Vec<FieldFault> {
    let mut faults = Vec::new();
    if sent.len() > MOST_LAYERS {
        let sentence = format!(
            "{} layers were sent; at most {MOST_LAYERS} are allowed",
            sent.len()
        );
        faults.push(fault("source.layers".to_owned(), sentence));
        return faults;
    }
    let mut names = BTreeSet::new();
    for (place, layer) in sent.iter().enumerate() {
        let path = format!("source.layers[{place}]");
        if !is_plain_name(&layer.name) || layer.name == CONTRACT_LAYER {
            let sentence = format!(
                "{} was sent; the name of a ruleset is lower-case letters, digits and underscores, \
                 and `contract` is the engine's own",
                quoted(&layer.name)
            );
            faults.push(fault(format!("{path}.name"), sentence));
        }
        if !names.insert(&layer.name) {
            let sentence = format!("the layer {} was sent twice", quoted(&layer.name));
            faults.push(fault(format!("{path}.name"), sentence));
        }
        faults_of_files(&path, layer, &mut faults);
    }
    faults
}

fn faults_of_files(path: &str, layer: &pb::RulesLayer, faults: &mut Vec<FieldFault>) {
    let count = layer.files.len();
    if count == 0 || count > MOST_FILES {
        let sentence = format!("{count} files were sent; a layer has 1 to {MOST_FILES}");
        faults.push(fault(format!("{path}.files"), sentence));
        return;
    }
    let mut names = BTreeSet::new();
    for (place, file) in layer.files.iter().enumerate() {
        let path = format!("{path}.files[{place}].name");
        let stem = file.name.strip_suffix(".rules").unwrap_or("");
        if stem.is_empty() || stem.starts_with('.') || !stem.chars().all(is_of_a_file_name) {
            let sentence = format!(
                "{} was sent; a file of rules has a plain name that ends in `.rules`",
                quoted(&file.name)
            );
            faults.push(fault(path, sentence));
        } else if !names.insert(&file.name) {
            let sentence = format!("the file {} was sent twice", quoted(&file.name));
            faults.push(fault(path, sentence));
        }
    }
}

fn fault(field: String, sentence: impl Into<String>) -> FieldFault {
    FieldFault {
        field,
        sentence: sentence.into(),
    }
}

/// A name as the language has them.
fn is_plain_name(name: &str) -> bool {
    let mut characters = name.chars();
    characters
        .next()
        .is_some_and(|first| first.is_ascii_lowercase())
        && characters.all(|one| one.is_ascii_lowercase() || one.is_ascii_digit() || one == '_')
}

fn is_of_a_file_name(character: char) -> bool {
    !character.is_control() && !matches!(character, '/' | '\\' | ':')
}
