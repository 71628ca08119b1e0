//! The documents that other programs read: an answer under the name and version of its schema.

use super::{chart, gauge, log, preview, prove, prove_edge, psf, psf_stack, share_out, target};
use crate::diagram::Index;
use schemars::{JsonSchema, Schema, generate::SchemaSettings};
use serde::Serialize;

/// Goes up where a key changes its meaning or goes; keys may be added without it.
const VERSION: u32 = 1;

/// Says what a document is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct SchemaName {
    /// The kind of document, as in "foramen/gauge".
    pub name: &'static str,
    /// Its version: a key never changes its meaning within one, and none goes; keys may be added.
    pub version: u32,
}

/// Holds an answer with what its document is.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Document<T> {
    /// What this document is.
    pub schema: SchemaName,
    /// What was answered.
    #[serde(flatten)]
    pub answer: T,
}

impl<T> Document<T> {
    /// Makes the document of an answer; the kind is one of [`KINDS`].
    pub fn of(kind: &'static str, answer: T) -> Document<T> {
        Document { schema: SchemaName { name: kind, version: VERSION }, answer }
    }
}

/// The JSON Schema (draft 2020-12) of documents of a type, as they are written.
pub fn schema_of<T: JsonSchema>(kind: &str) -> Schema {
    let mut schema = SchemaSettings::draft2020_12()
        .for_serialize()
        .into_generator()
        .into_root_schema_for::<Document<T>>();
    schema.insert("title".into(), kind.into());
    schema
}

/// The kind of the documents of `gauge`.
pub const GAUGE: &str = "foramen/gauge";
/// The kind of the documents of all holes of a sheet.
pub const SHEET: &str = "foramen/sheet";
/// The kind of the documents of `target`.
pub const TARGET: &str = "foramen/target";
/// The kind of the documents of `psf`.
pub const PSF: &str = "foramen/psf";
/// The kind of the documents of `psf` over distances or wavelengths.
pub const STACK: &str = "foramen/psf-stack";
/// The kind of the documents of `preview`.
pub const PREVIEW: &str = "foramen/preview";
/// The kind of the documents of `chart`.
pub const CHART: &str = "foramen/chart";
/// The kind of the documents of `prove`.
pub const PROVE: &str = "foramen/prove";
/// The kind of the documents of one edge, by `prove`.
pub const PROVE_EDGE: &str = "foramen/prove-edge";
/// The kind of the documents of `expose`.
pub const EXPOSE: &str = "foramen/expose";
/// The kind of the index of a figure's numbers.
pub const FIGURE: &str = "foramen/figure";
/// The kind of the documents of `log`.
pub const LOG: &str = "foramen/log";
/// The kind of the documents of holes shared out among cameras.
pub const SHARED_OUT: &str = "foramen/shared-out";

/// A kind of document by its name, and what makes its schema of that name.
pub type Kind = (&'static str, fn(&str) -> Schema);

/// The kinds of documents that are plain answers, each with its schema.
pub const KINDS: [Kind; 13] = [
    (GAUGE, schema_of::<gauge::Answer>),
    (SHEET, schema_of::<gauge::SheetAnswer>),
    (TARGET, schema_of::<target::Answer>),
    (PSF, schema_of::<psf::Answer>),
    (STACK, schema_of::<psf_stack::Answer>),
    (PREVIEW, schema_of::<preview::Answer>),
    (CHART, schema_of::<chart::Answer>),
    (PROVE, schema_of::<prove::Answer>),
    (PROVE_EDGE, schema_of::<prove_edge::Answer>),
    (EXPOSE, schema_of::<crate::camera::exposure::Exposure>),
    (FIGURE, schema_of::<Index>),
    (LOG, schema_of::<log::Answer>),
    (SHARED_OUT, schema_of::<share_out::Answer>),
];
