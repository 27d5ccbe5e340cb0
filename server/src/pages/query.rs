//! What a plain GET form sends.

/// The fields of a query, decoded.
#[derive(Clone, Debug, Default)]
pub(super) struct Query {
    fields: Vec<(String, String)>,
}

impl Query {
    /// Of the part of an address after the question mark.
    pub(super) fn of(query: Option<&str>) -> Self {
        let pairs = form_urlencoded::parse(query.unwrap_or_default().as_bytes());
        Query {
            fields: pairs.into_owned().collect(),
        }
    }

    /// A field without the spaces around it; empty where it was not sent.
    pub(super) fn field(&self, name: &str) -> &str {
        let mut fields = self.fields.iter();
        let found = fields.find(|(known, _)| known == name);
        found.map_or("", |(_, value)| value.trim())
    }

    /// The same query with one field put in the place of another of its name.
    pub(super) fn with(&self, name: &str, value: &str) -> String {
        let mut query = form_urlencoded::Serializer::new(String::new());
        let kept = self.fields.iter();
        for (known, value) in kept.filter(|(known, value)| known != name && !value.is_empty()) {
            query.append_pair(known, value);
        }
        query.append_pair(name, value);
        query.finish()
    }
}
