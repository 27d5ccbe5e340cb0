//! The stable codes, and the page that each of them has.
//!
//! A page is a Markdown file in `pages/`: a title, what the finding means, rules that earn it, the
//! same put right, and why the rule is there. A test runs the examples. Codes that begin with `L`
//! are about rules, those with `P` about files of catalogue and stock.

macro_rules! codes {
    ($($(#[$meta:meta])* $name:ident = $text:literal,)+) => {
        /// The stable code of a finding. Codes are never reused.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Code { $($(#[$meta])* $name,)+ }

        impl Code {
            /// Every code there is.
            pub const ALL: &'static [Code] = &[$(Code::$name,)+];

            /// The code as people quote it.
            pub fn text(self) -> &'static str {
                match self { $(Code::$name => $text,)+ }
            }

            /// The code's page, in Markdown: what it means, an example, and why.
            pub fn page(self) -> &'static str {
                match self {
                    $(Code::$name => include_str!(concat!("pages/", $text, ".md")),)+
                }
            }
        }
    };
}

// Codes that are retired, never to be given again: L0502, a form that was read and not supported.
codes! {
    /// A limit of the reader is passed: file, folder, line, declaration, parentheses, findings.
    LimitExceeded = "L0001",
    /// Bytes that are not UTF-8, a NUL, or a pasted character such as U+2212.
    BadCharacter = "L0002",
    /// An indented line that belongs to no declaration, or a line that begins none.
    StrayLine = "L0003",
    /// A line that is not of the language.
    Syntax = "L0101",
    /// A form that is almost right, answered with the right one.
    NearMiss = "L0102",
    /// A literal that is not a number, date or unit.
    BadLiteral = "L0103",
    /// A line that a declaration may have once stands twice, or one that it needs is missing.
    ClauseCount = "L0104",
    /// No `ruleset` line, or two; or a ruleset it builds on that is not there.
    RulesetLine = "L0201",
    /// A name is declared twice.
    DeclaredTwice = "L0202",
    /// `replace` or `drop case` without anything below to replace.
    NothingToReplace = "L0203",
    /// A declaration of the contract is declared again, or what it reads is missing or different.
    Contract = "L0204",
    /// A replacement with which something below does not go: another type, other clubs, or a
    /// declaration that rests on what it replaces.
    BrokenReplacement = "L0205",
    /// A replacement that stands on a declaration which has another meaning now.
    ReplacedHasChanged = "L0206",
    /// A name that is declared nowhere.
    UnknownName = "L0301",
    /// A name that means something else than this place needs.
    WrongKind = "L0302",
    /// Types or dimensions do not fit.
    TypeMismatch = "L0303",
    /// A quantity or count without the range that it must state, or a range the wrong way round.
    BadRange = "L0304",
    /// A model or table with another number of arguments or conditions.
    Arity = "L0305",
    /// Declarations that need each other in a circle.
    Cycle = "L0306",
    /// A name that is used outside the club or candidate it belongs to.
    OutOfScope = "L0307",
    /// A clause that does not go with the declaration it stands in.
    DoesNotGoWith = "L0308",
    /// Two rows match the same player.
    Overlap = "L0401",
    /// A player matches no row.
    Gap = "L0402",
    /// A table beyond the budget of the proof.
    TooManyCells = "L0403",
    /// A row that is never reached.
    UnreachableRow = "L0404",
    /// A row or value outside the declared range.
    OutsideRange = "L0405",
    /// A divisor that may be zero.
    MayDivideByZero = "L0406",
    /// A value that may grow beyond what can be held exactly.
    MayOverflow = "L0407",
    /// A word that no row of a decision can give.
    NeverGiven = "L0408",
    /// A promise that the rows of the decision break.
    PromiseBroken = "L0410",
    /// A promise that cannot be proved in the form it has.
    PromiseNotProvable = "L0411",
    /// A promise that one of the players who were tried breaks.
    TestedPromiseBroken = "L0412",
    /// A case over a range that is tried at points and cannot be proved.
    RangeNotProved = "L0413",
    /// A declaration that nothing uses.
    Unused = "L0503",
    /// A case that does not come out as it expects.
    CaseFailed = "L0601",
    /// A limit of catalogue and stock is passed.
    PartsLimit = "P0001",
    /// A file of parts that is neither CSV nor TOML where it says so.
    PartsSyntax = "P0101",
    /// A row with more or fewer cells than there are columns.
    RowLength = "P0102",
    /// A file of parts that is about none of the kinds, or about one that has a file.
    PartsFileName = "P0103",
    /// A column or field that the part does not have.
    UnknownField = "P0201",
    /// A field that a record must have.
    MissingField = "P0202",
    /// A field of the stock in the catalogue, or the other way round.
    MisplacedField = "P0203",
    /// A code, column, count or value that stands there twice.
    RecordedTwice = "P0204",
    /// A piece or count of a part that the catalogue does not have.
    UnknownPart = "P0205",
    /// A record of the stock that is neither a piece nor a count, or both.
    PieceOrCount = "P0206",
    /// A text from which no value can be read.
    UnreadableValue = "P0301",
    /// A value beyond the range of its field.
    ValueOutOfRange = "P0302",
    /// A word that the vocabulary does not have.
    UnknownWord = "P0303",
    /// A float of TOML, which bends decimals.
    FloatOfToml = "P0304",
    /// A list where a value is needed, or a value where a list is.
    ListOrValue = "P0305",
}

impl Code {
    /// Whether the finding is a proof that failed: every name and type is right, and the rules
    /// could be run.
    pub fn is_of_a_proof(self) -> bool {
        matches!(
            self,
            Code::Overlap
                | Code::Gap
                | Code::PromiseBroken
                | Code::PromiseNotProvable
                | Code::TestedPromiseBroken
        )
    }

    /// Whether the finding is about files of catalogue and stock, not about rules.
    pub fn is_of_parts(self) -> bool {
        self.text().starts_with('P')
    }

    /// The title of the code's page: what the finding is, in a few words.
    pub fn title(self) -> &'static str {
        let first = self.page().lines().next().unwrap_or("");
        first.split_once(": ").map_or(first, |(_, title)| title)
    }

    /// The code that people quote as `text`, in capitals or not.
    pub fn of_text(text: &str) -> Option<Code> {
        let is_meant = |code: &&Code| code.text().eq_ignore_ascii_case(text);
        Code::ALL.iter().find(is_meant).copied()
    }

    /// The codes nearest to `text`, which is none: at most five, the nearest first.
    pub fn nearest(text: &str) -> Vec<Code> {
        const MOST_SLIPS: usize = 2;
        const MOST_SHOWN: usize = 5;
        let meant = text.to_ascii_uppercase();
        let slips = |code: Code| strsim::damerau_levenshtein(&meant, code.text());
        // Longer than any code with its slips: not worth a comparison.
        let is_comparable = meant.len() <= 16;
        let mut near: Vec<(usize, Code)> = Code::ALL
            .iter()
            .filter(|_| is_comparable)
            .map(|code| (slips(*code), *code))
            .filter(|(slips, _)| *slips <= MOST_SLIPS)
            .collect();
        near.sort_by_key(|(slips, code)| (*slips, code.text()));
        let codes = near.into_iter().map(|(_, code)| code);
        codes.take(MOST_SHOWN).collect()
    }
}

impl std::fmt::Display for Code {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.write_str(self.text())
    }
}
