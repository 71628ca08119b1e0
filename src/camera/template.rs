//! Cameras to start from.

/// Is the camera that stands in when none is given. Invented for this program. All keys of a camera file
/// are explained in it.
pub const DEMONSTRATION: &str = include_str!("../../examples/cedar_box.toml");

/// A camera of our own invention to start from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Template {
    /// The word for its kind.
    pub word: &'static str,
    /// Its name, as in its file.
    pub name: &'static str,
    /// Its camera file, with its keys explained.
    pub text: &'static str,
}

/// The cameras to start from: a flat box, a tube, a small tin for paper, a wide camera on bent film.
pub const TEMPLATES: [Template; 4] = [
    Template { word: "box", name: "Cedar box", text: DEMONSTRATION },
    Template {
        word: "tube",
        name: "Biscuit tube",
        text: include_str!("../../examples/biscuit_tube.toml"),
    },
    Template { word: "tin", name: "Tea tin", text: include_str!("../../examples/tea_tin.toml") },
    Template {
        word: "wide",
        name: "Wide drum",
        text: include_str!("../../examples/wide_drum.toml"),
    },
];
