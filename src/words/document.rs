//! The documents whose verdicts are told in sentences, and the schemas of all.

use super::{appraise, comparison};
use crate::task::document::{KINDS, Kind, schema_of};
use schemars::Schema;

/// The kind of the documents of `appraise`.
pub const APPRAISE: &str = "foramen/appraise";
/// The kind of the documents of holes ranked against each other.
pub const COMPARISON: &str = "foramen/comparison";

/// Returns the names of all kinds of documents.
pub fn kinds() -> impl Iterator<Item = &'static str> {
    all().map(|(kind, _)| kind)
}

/// Returns the JSON Schema of a kind of document; none of a name that is no kind.
pub fn schema(kind: &str) -> Option<Schema> {
    all().find(|(name, _)| *name == kind).map(|(name, schema)| schema(name))
}

fn all() -> impl Iterator<Item = Kind> {
    let told: [Kind; 2] = [
        (APPRAISE, schema_of::<appraise::Document<'static>>),
        (COMPARISON, schema_of::<comparison::Document<'static>>),
    ];
    told.into_iter().chain(KINDS)
}
