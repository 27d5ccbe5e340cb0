//! A record evaluated again, with the rules and parts that were kept.

use std::sync::Arc;

use loftwright_dsl::outline::Outline;
use loftwright_dsl::quantity::Date;
use loftwright_engine::SEMANTICS_VERSION;
use loftwright_engine::evaluate::Evaluator;
use loftwright_engine::explain::Inquiry;
use loftwright_engine::intake;
use loftwright_proto::v1 as pb;

use super::facts::Facts;
use crate::registry::Ruleset;
use crate::rpc::convert;

/// The rules that decided a record, as they were kept.
#[derive(Clone, Debug)]
pub(crate) struct Rules {
    /// The program with its parts.
    pub(crate) ruleset: Arc<Ruleset>,
    /// Its declarations, and which looks at which.
    pub(crate) outline: Arc<Outline>,
}

/// How sure the decisions are, found now.
pub(super) struct Sureness {
    pub(super) told: pb::EvaluatedAgain,
    /// Empty where it was not evaluated.
    pub(super) decisions: Vec<pb::DecisionReport>,
}

/// Evaluates again and looks into it; says what for, or why not.
pub(super) fn look_into<T>(
    facts: &Facts<'_>,
    rules: &Rules,
    what: &str,
    look: impl FnOnce(&Inquiry<'_>) -> T,
) -> (pb::EvaluatedAgain, Option<T>) {
    let identity = facts.recommendation.ruleset.as_ref();
    let semantics_version = identity.map_or(0, |identity| identity.semantics_version);
    let refused = |sentence: String| {
        let told = pb::EvaluatedAgain {
            semantics_version,
            is_done: false,
            sentence,
        };
        (told, None)
    };
    if semantics_version != SEMANTICS_VERSION {
        return refused(format!(
            "not evaluated again for {what}: the record was made under semantics \
             {semantics_version}, and this release has {SEMANTICS_VERSION}; ask a release that has \
             semantics {semantics_version}"
        ));
    }
    let program = &rules.ruleset.program;
    let player = intake::read_player(program, &convert::player::player_text(facts.request));
    let day = Date::parse(&facts.recommendation.made_on);
    let (Ok(player), Some(day)) = (player, day) else {
        return refused(format!(
            "not evaluated again for {what}: the kept rules do not take the recorded request; \
             verify the record"
        ));
    };
    let evaluator = Evaluator::new(program);
    let inquiry = Inquiry::of(&evaluator, &rules.ruleset.parts, &player, day);
    let told = pb::EvaluatedAgain {
        semantics_version,
        is_done: true,
        sentence: format!("evaluated again for {what}, under semantics {semantics_version}"),
    };
    (told, Some(look(&inquiry)))
}

/// How sure each decision is, by an evaluation of the whole.
pub(super) fn sureness(facts: &Facts<'_>, rules: &Rules, what: &str) -> Sureness {
    let depth = convert::depth_of(pb::RecommendationView::Full);
    let (told, found) = look_into(facts, rules, what, |inquiry| {
        convert::decisions(&inquiry.recommendation(depth).decisions)
    });
    Sureness {
        told,
        decisions: found.unwrap_or_default(),
    }
}
