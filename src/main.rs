//! The command line's door.

fn main() -> std::process::ExitCode {
    foramen::cli::run(std::env::args_os())
}
