//! The tree of a rules file, as it was written: names unresolved, nothing typed.

mod case;
mod decide;
mod declaration;
mod expression;
mod select;

pub use case::*;
pub use decide::*;
pub use declaration::*;
pub use expression::*;
pub use select::*;

use super::Span;

/// A name as it stands in the text.
#[derive(Clone, Debug)]
pub struct Name {
    /// The name.
    pub text: String,
    /// Where it stands.
    pub span: Span,
}

/// A text in quotation marks; adjacent texts are joined.
#[derive(Clone, Debug)]
pub struct Text {
    /// The text without the marks, escapes resolved.
    pub text: String,
    /// Where it stands.
    pub span: Span,
}
