//! Names that other languages have for what is said in words here.

/// What a name stands for, by what is looked for in its place.
const FOREIGN: &[(&str, &str, &str)] = &[
    ("a model", "max", "the larger of A and B"),
    ("a model", "min", "the smaller of A and B"),
    ("a model", "abs", "the size of A"),
    ("a model", "round", "A, rounded to U"),
    ("a model", "ceil", "A, rounded up to U"),
    ("a model", "ceiling", "A, rounded up to U"),
    ("a model", "floor", "A, rounded down to U"),
    ("a model", "clamp", "A, kept within B and C"),
    ("a model", "sum", "the total X of GROUP"),
    ("a model", "count", "number of GROUP"),
    ("a type", "integer", "count"),
    ("a type", "int", "count"),
    ("a type", "float", "number"),
    ("a type", "decimal", "number"),
    ("a type", "double", "number"),
    ("a type", "bool", "flag"),
    ("a type", "boolean", "flag"),
    ("a type", "string", "text"),
    ("a type", "weight", "mass"),
    ("a type", "distance", "length"),
    ("a type", "loft", "angle"),
    ("a type", "duration", "time"),
    ("a type", "price", "money"),
    ("a value", "else", "otherwise"),
    ("a value", "default", "otherwise"),
    ("a value", "others", "otherwise"),
    ("a value", "rest", "otherwise"),
    ("a value", "everything", "any"),
    ("a value", "anything", "any"),
    ("a value", "all", "any"),
    ("a value", "missing", "unknown"),
    ("a value", "null", "none"),
    ("a value", "nil", "none"),
    ("a value", "nothing", "none"),
    ("declared", "null", "none"),
    ("declared", "nil", "none"),
    ("declared", "nothing", "none"),
];

/// The right form of a name that is not known; `what` is what it should have been.
pub(super) fn right_form(name: &str, what: &str) -> Option<&'static str> {
    let is_meant = |(of, word, _): &&(&str, &str, &str)| *word == name && what.starts_with(of);
    FOREIGN.iter().find(is_meant).map(|(_, _, right)| *right)
}
