//! Which role may call what. What does not stand here is not served; a test holds the table against
//! the interface's own descriptors.

use crate::registry::Role::{self, Approver, Auditor, Caller, Editor, Operator};

/// Who may call a method.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Allowed {
    /// Whoever reaches the service.
    Anybody,
    /// Whoever has one of these roles.
    Roles(&'static [Role]),
}

/// Whoever is known at all.
const EVERY_ROLE: &[Role] = &Role::ALL;

/// A method, and the roles of which one is needed.
type Method = (&'static str, &'static [Role]);

/// By service, method by method.
const TABLE: &[(&str, &[Method])] = &[
    (
        "loftwright.v1.FittingService",
        &[
            ("ConfirmBuild", &[Caller]),
            ("DescribeRuleset", EVERY_ROLE),
            ("Recommend", &[Caller]),
        ],
    ),
    (
        "loftwright.v1.RulesetService",
        &[
            ("ActivateRuleset", &[Approver]),
            ("CheckRuleset", &[Approver, Editor]),
            ("CompareRevisions", &[Approver, Auditor, Editor]),
            ("GetRevision", &[Approver, Auditor, Editor]),
            ("ListRevisions", &[Approver, Auditor, Editor]),
            ("PublishRuleset", &[Editor]),
            ("ReplayRecords", &[Approver, Auditor, Editor]),
            ("RowStatistics", &[Approver, Auditor, Editor]),
        ],
    ),
    (
        "loftwright.v1.PartsService",
        &[
            ("ListStock", EVERY_ROLE),
            ("PublishCatalogue", &[Editor]),
            ("UpdateStock", &[Caller, Editor]),
        ],
    ),
    (
        "loftwright.v1.AuditService",
        &[
            ("EraseSubject", &[Operator]),
            ("ExplainRecord", &[Auditor]),
            ("ExportRecord", &[Auditor]),
            ("GetCheckpoint", EVERY_ROLE),
            ("GetConsistencyProof", EVERY_ROLE),
            ("GetInclusionProof", EVERY_ROLE),
            ("GetRecord", &[Auditor]),
            ("InForce", &[Approver, Auditor, Editor]),
            ("ListRecords", &[Auditor]),
            ("VerifyRecord", &[Auditor]),
        ],
    ),
];

/// Services that tell only how the service is and what it offers.
const OPEN: &[&str] = &[
    "grpc.health.v1.Health",
    "grpc.reflection.v1.ServerReflection",
    "grpc.reflection.v1alpha.ServerReflection",
];

/// Who may call the method of a path such as `/loftwright.v1.FittingService/Recommend`; `None` for
/// what is not served.
pub(super) fn allowed(path: &str) -> Option<Allowed> {
    let (service, method) = path.strip_prefix('/')?.split_once('/')?;
    if OPEN.contains(&service) {
        return Some(Allowed::Anybody);
    }
    let (_, methods) = TABLE.iter().find(|(name, _)| *name == service)?;
    let (_, roles) = methods.iter().find(|(name, _)| *name == method)?;
    Some(Allowed::Roles(roles))
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use loftwright_proto::v1::FILE_DESCRIPTOR_SET;
    use prost_reflect::DescriptorPool;

    use super::*;

    #[test]
    fn every_method_of_the_interface_stands_in_the_table_and_no_other() {
        let pool = DescriptorPool::decode(FILE_DESCRIPTOR_SET).expect("descriptors");
        let offered: BTreeSet<String> = pool
            .services()
            .flat_map(|service| service.methods().collect::<Vec<_>>())
            .map(|method| method.full_name().to_owned())
            .collect();
        let listed: BTreeSet<String> = TABLE
            .iter()
            .flat_map(|(service, methods)| {
                methods
                    .iter()
                    .map(move |(name, _)| format!("{service}.{name}"))
            })
            .collect();
        assert_eq!(offered, listed);
        let no_role = TABLE.iter().flat_map(|(_, methods)| methods.iter());
        assert!(no_role.clone().all(|(_, roles)| !roles.is_empty()));
    }

    #[test]
    fn what_does_not_stand_there_is_not_served() {
        for path in ["/loftwright.v1.FittingService/Recommends", "/x/y", "/", ""] {
            assert_eq!(allowed(path), None, "{path}");
        }
        let recommend = allowed("/loftwright.v1.FittingService/Recommend");
        assert_eq!(recommend, Some(Allowed::Roles(&[Role::Caller])));
        let health = allowed("/grpc.health.v1.Health/Check");
        assert_eq!(health, Some(Allowed::Anybody));
    }
}
