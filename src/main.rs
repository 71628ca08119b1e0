//! The command line's door.

fn main() {}
