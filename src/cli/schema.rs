//! `foramen schema`.

use super::output::{Output, json_text};
use crate::error::Error;
use crate::words::document;
use clap::builder::PossibleValuesParser;

/// Prints the JSON Schema of the documents that --json writes
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  foramen schema                lists the kinds of documents\n  foramen schema appraise > appraise.schema.json"
)]
pub(super) struct Words {
    /// Which kind of document; without a name they are listed
    #[arg(value_name = "KIND", hide_possible_values = true, value_parser = PossibleValuesParser::new(document::kinds().map(short)))]
    kind: Option<String>,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let asked = |kind: &&str| self.kind.as_deref() == Some(short(kind));
        match document::kinds().find(asked).and_then(document::schema) {
            Some(schema) => output.say(&json_text(&schema)?),
            None => {
                let names: String =
                    document::kinds().map(|kind| format!("  {}\n", short(kind))).collect();
                output.say(&format!(
                    "Kinds of documents; each says its own under \"schema\":\n{names}"
                ))
            }
        }
    }
}

/// A kind without the program's name.
fn short(kind: &str) -> &str {
    kind.rsplit('/').next().unwrap_or(kind)
}
