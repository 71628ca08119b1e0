//! What to do about a fault, in the options of the command line.

use crate::error::{Error, Wanted};

/// What to do next, naming the option where one would settle the matter.
pub(super) fn remedy(fault: &Error) -> &str {
    match fault.wanted() {
        Some(wanted) => option(wanted),
        None => fault.remedy(),
    }
}

fn option(wanted: Wanted) -> &'static str {
    match wanted {
        Wanted::Scale => {
            "give --scale \"412 px = 1 mm\" for a length you know in the picture, --scale \"2400 dpi\" if \
             you know how it was scanned, or --scale auto --graduation \"1 mm\" for a rule in it"
        }
        Wanted::ScaleForEach => "give each photo its own --scale, or leave this one out",
        Wanted::HolePlace => "say which one with --at \"x,y px\"",
        Wanted::HolePlaceOrEvery => {
            "say which one with --at \"x,y px\", or measure each with gauge --every"
        }
        Wanted::OneSheet => "give --every one photo or scan, and no --at",
        Wanted::Hole => {
            "give --hole \"0.34 mm\", --hole \"4.5 per mm\", --hole outline.csv, or --hole photo.jpg with \
             --scale; or --demo"
        }
        Wanted::LogHole => "name one of them with --hole",
        Wanted::LogCamera => "name one of them with --camera",
        Wanted::LogName => "say which it is with --name: one of the log's, or a new one",
        Wanted::CameraTemplate => "\"foramen camera\" writes a file with every key",
    }
}

/// Whether a name is wanted, which the call should have given.
pub(super) fn is_name(wanted: Wanted) -> bool {
    match wanted {
        Wanted::LogHole | Wanted::LogCamera | Wanted::LogName => true,
        Wanted::Scale
        | Wanted::ScaleForEach
        | Wanted::HolePlace
        | Wanted::HolePlaceOrEvery
        | Wanted::OneSheet
        | Wanted::Hole
        | Wanted::CameraTemplate => false,
    }
}
