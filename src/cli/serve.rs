//! `foramen serve`.

use super::output::Output;
use crate::error::Error;
use crate::files::{self, Places};
use crate::page::{Server, Settings};
use qrcode::QrCode;
use qrcode::render::unicode::Dense1x2;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::process::{Command, Stdio};

/// The bench in a browser: drop a photo, see the light, decide. Ends with Ctrl-C
#[derive(clap::Args)]
pub(super) struct Words {
    /// Does not open a browser
    #[arg(long)]
    no_open: bool,
    /// Where to listen, as in "127.0.0.1:8000"; without it any free port of this machine alone
    #[arg(long, value_name = "ADDRESS")]
    listen: Option<SocketAddr>,
    /// Lets other machines on the local network come, by an address with a secret made for this run
    #[arg(long)]
    share: bool,
    /// A name under which a proxy reaches the bench; again for more
    #[arg(long, value_name = "NAME")]
    host: Vec<String>,
    /// The bench log that the page shows and adds to
    #[arg(long, value_name = "FILE")]
    log: Option<PathBuf>,
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

/// Opens the address in the person's browser. Where that fails, the address is on the terminal.
fn open(address: &str) {
    let (program, first): (&str, &[&str]) = if cfg!(target_os = "macos") {
        ("open", &[])
    } else if cfg!(windows) {
        ("cmd", &["/C", "start", ""])
    } else {
        ("xdg-open", &[])
    };
    let started = Command::new(program)
        .args(first)
        .arg(address)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn();
    drop(started);
}
