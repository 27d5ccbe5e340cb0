//! The meaning of single declarations: what a replacement says it stands on.
//!
//! A declaration is encoded by itself; what it refers to goes in by name alone. So its digest moves
//! when its own lines decide otherwise, and not when something it rests on does.

use std::collections::BTreeMap;

use super::ENCODING_VERSION;
use super::encoder::Encoder;
use super::meaning;
use crate::program::Program;

/// How many hexadecimal digits of a digest are written after `stands on`.
pub const STANDS_ON_DIGITS: usize = 8;

/// The meaning digest of every declaration of a program, by name, in lower-case hexadecimal.
pub fn declaration_digests(program: &Program) -> BTreeMap<String, String> {
    let mut digests = BTreeMap::new();
    let mut add = |kind: &str, name: &str, encode: &dyn Fn(&mut Encoder)| {
        let mut encoder = Encoder::new("loftwright declaration", ENCODING_VERSION);
        encoder.text(kind);
        encode(&mut encoder);
        digests.insert(name.to_owned(), encoder.finish());
    };
    for it in program.vocabularies.iter() {
        add("vocabulary", &it.name, &|out| {
            meaning::encode_vocabulary(out, it);
        });
    }
    for it in program.inputs.iter() {
        add("input", &it.name, &|out| {
            meaning::encode_input(out, program, it);
        });
    }
    for it in program.parts.iter() {
        add("part", &it.name, &|out| {
            meaning::encode_part(out, program, it);
        });
    }
    for it in program.groups.iter() {
        add("group", &it.name, &|out| {
            meaning::encode_group(out, program, it);
        });
    }
    for it in program.models.iter() {
        add("model", &it.name, &|out| {
            meaning::encode_model(out, program, it);
        });
    }
    for it in program.lets.iter() {
        add("let", &it.name, &|out| {
            meaning::encode_let(out, program, it);
        });
    }
    for it in program.decisions.iter() {
        add("decide", &it.name, &|out| {
            meaning::encode_decision(out, program, it);
        });
    }
    for it in program.chooses.iter() {
        add("choose", &it.name, &|out| {
            meaning::encode_choose(out, program, it);
        });
    }
    for it in program.limits.iter() {
        add("limit", &it.name, &|out| {
            meaning::encode_limit(out, program, it);
        });
    }
    for it in program.cautions.iter() {
        add("caution", &it.name, &|out| {
            meaning::encode_caution(out, program, it);
        });
    }
    digests
}

/// The digits of a declaration's digest that are written after `stands on`.
pub fn stands_on_digits(digest: &str) -> &str {
    digest.get(..STANDS_ON_DIGITS).unwrap_or(digest)
}
