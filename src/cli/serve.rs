//! `foramen serve`.

use super::open::open;
use super::output::Output;
use crate::error::Error;
use crate::files::{self, Places};
use crate::page::{Server, Settings};
use qrcode::QrCode;
use qrcode::render::unicode::Dense1x2;
use std::net::SocketAddr;
use std::path::PathBuf;

/// The bench in a browser: drop a photo, see the light, decide. Ends with Ctrl-C
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  foramen serve --log bench.jsonl\n  foramen serve --share               for a phone on the same network"
)]
pub(super) struct Words {
    /// Does not open a browser
    #[arg(long)]
    no_open: bool,
    /// Where to listen, as in "127.0.0.1:8000" [default: a free port here]
    #[arg(long, value_name = "ADDRESS", value_parser = address)]
    listen: Option<SocketAddr>,
    /// Lets a phone on the local network come, by an address with a secret
    #[arg(long)]
    share: bool,
    /// A name under which a proxy reaches the bench; again for more
    #[arg(long, value_name = "NAME")]
    host: Vec<String>,
    /// The bench log that the page shows and adds to
    #[arg(long, value_name = "FILE")]
    log: Option<PathBuf>,
}

/// An address with its port.
fn address(words: &str) -> Result<SocketAddr, String> {
    words.parse().map_err(|_| {
        "this is not an address with a port; write numbers, as in 127.0.0.1:8000 or [::1]:8000"
            .into()
    })
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        if let Some(log) = &self.log {
            Places::default().and_log(Some(log)).check()?;
            files::log_to_add_to(log)?;
        }
        let server = Server::bind(Settings {
            listen: self.listen,
            share: self.share,
            names: self.host,
            log: self.log,
        })?;
        let address = server.address();
        output.say(&format!("{address}\n"))?;
        if self.share
            && let Ok(code) = QrCode::new(address)
        {
            let picture = code.render::<Dense1x2>().quiet_zone(true).build();
            output.say(&format!(
                "{picture}\nShared until Ctrl-C: who has this address can use the bench.\n"
            ))?;
        }
        if !self.no_open {
            open(address);
        }
        server.run()
    }
}
