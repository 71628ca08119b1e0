//! What every plate must pass, for the tests of this folder and of what is drawn with it.

use super::canvas::bytes;
use crate::raster::{FACE_FILES, Raster};
use ndarray::Array3;
use resvg::usvg::{Group, Node, Options, Tree, fontdb};
use std::sync::{Arc, LazyLock};

static FACES: LazyLock<Arc<fontdb::Database>> = LazyLock::new(|| {
    let mut faces = fontdb::Database::new();
    FACE_FILES.iter().for_each(|(_, file)| faces.load_font_data(file.to_vec()));
    Arc::new(faces)
});

/// Left, top, right and bottom of every text that is not empty.
fn text_boxes(group: &Group) -> Vec<[f32; 4]> {
    let boxes = |node: &Node| match node {
        Node::Group(group) => text_boxes(group),
        Node::Text(text) => {
            let ink = text.abs_bounding_box();
            vec![[ink.left(), ink.top(), ink.right(), ink.bottom()]]
        }
        _ => Vec::new(),
    };
    group.children().iter().flat_map(boxes).collect()
}

/// The drawing is SVG, and no text leaves it or touches another.
pub(crate) fn assert_tidy(svg: &str) {
    let options =
        Options { font_family: "Inter".into(), fontdb: FACES.clone(), ..Options::default() };
    let tree = Tree::from_str(svg, &options).expect("well-formed SVG");
    let boxes = text_boxes(tree.root());
    for (index, a) in boxes.iter().enumerate() {
        let inside = a[0] >= 0.0
            && a[1] >= 0.0
            && a[2] <= tree.size().width()
            && a[3] <= tree.size().height();
        assert!(inside, "text {index} at {a:?} leaves {:?}", tree.size());
        for (other, b) in boxes.iter().enumerate().skip(index + 1) {
            // Boxes of lines reach into the leading by a little; the letters do not.
            let apart = 2.0;
            let overlap = a[0] + apart < b[2]
                && b[0] + apart < a[2]
                && a[1] + apart < b[3]
                && b[1] + apart < a[3];
            assert!(!overlap, "texts {index} and {other} overlap: {a:?}, {b:?}");
        }
    }
}

/// A picture from a function of (row, column).
pub(super) fn picture(rows: usize, columns: usize, light: impl Fn(f64, f64) -> [f64; 3]) -> Raster {
    let linear = Array3::from_shape_fn((3, rows, columns), |(channel, row, column)| {
        light(row as f64 + 0.5, column as f64 + 0.5)[channel] as f32
    });
    Raster { linear }
}

/// Writes a plate to look at into the folder for temporary files.
pub(super) fn keep(name: &str, svg: &str) {
    let folder = std::env::temp_dir().join("foramen-plates");
    std::fs::create_dir_all(&folder).unwrap();
    let path = folder.join(format!("{name}.png"));
    std::fs::write(&path, bytes(svg).unwrap()).unwrap();
    println!("{}", path.display());
}
