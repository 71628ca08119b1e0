//! Drawings as the pages of a PDF file, at their true size.
//!
//! A page is an SVG drawing of this library: filled and stroked paths, letters (as outlines, so that no
//! reader needs a font), clips and pictures. What such a drawing never has (gradients, masks, filters) is
//! refused and not left out in silence. Source: `ISO32000`, 7.5 (file structure) and 8 (graphics).

use super::drawing::tree;
use crate::error::Error;
use crate::quantity::MM_PER_INCH;
use flate2::Compression;
use flate2::write::ZlibEncoder;
use resvg::tiny_skia::{PathSegment, Transform};
use resvg::usvg::{
    Fill, FillRule, Group, Image, ImageKind, LineCap, LineJoin, Node, Opacity, Paint, Path, Stroke,
};
use std::fmt::Write as _;
use std::io::Write as _;

/// Points of a PDF to a mm: 72 to the inch (`ISO32000`, 8.3.2.3).
const POINTS_PER_MM: f64 = 72.0 / MM_PER_INCH;

/// Describes a page: a drawing, and the paper that it fills.
#[derive(Debug, Clone, Copy)]
pub struct Page<'a> {
    /// The drawing, as SVG. Its width fills the paper's.
    pub svg: &'a str,
    /// Width and height of the paper, in mm.
    pub paper_mm: [f64; 2],
}

/// Returns a PDF file of these pages.
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) when a drawing is not SVG, or has what these pages cannot hold.
pub fn pdf(title: &str, pages: &[Page]) -> Result<Vec<u8>, Error> {
    let mut file = Objects::default();
    let (catalogue, list) = (file.reserve(), file.reserve());
    let mut kids = String::new();
    for page in pages {
        let _ = write!(kids, "{} 0 R ", add_page(&mut file, list, page)?);
    }
    file.put(catalogue, format!("<</Type/Catalog/Pages {list} 0 R>>").as_bytes());
    let count = pages.len();
    file.put(list, format!("<</Type/Pages/Kids[{kids}]/Count {count}>>").as_bytes());
    let about = file.reserve();
    file.put(about, format!("<</Title {}/Producer(foramen)>>", text_string(title)).as_bytes());
    Ok(file.written(catalogue, about))
}

/// A text in UTF-16 with its mark, as `ISO32000`, 7.9.2.2 has it.
fn text_string(text: &str) -> String {
    let units = text.encode_utf16().fold(String::new(), |mut all, unit| {
        let _ = write!(all, "{unit:04X}");
        all
    });
    format!("<FEFF{units}>")
}

fn add_page(file: &mut Objects, list: usize, page: &Page) -> Result<usize, Error> {
    let tree = tree(page.svg)?;
    let [width, height] = page.paper_mm.map(|mm| mm * POINTS_PER_MM);
    let scale = width / f64::from(tree.size().width());
    let mut content = Content { text: String::new(), file, resources: String::new() };
    // SVG runs y down from the upper left corner.
    let _ = writeln!(content.text, "{scale:.6} 0 0 {:.6} 0 {height:.4} cm", -scale);
    content.group(tree.root())?;
    let Content { text, resources, .. } = content;
    let stream = file.stream("", text.as_bytes())?;
    let number = file.reserve();
    let dictionary = format!(
        "<</Type/Page/Parent {list} 0 R/MediaBox[0 0 {width:.4} {height:.4}]/Contents {stream} 0 R\
         /Resources<<{resources}>>>>"
    );
    file.put(number, dictionary.as_bytes());
    Ok(number)
}

/// The numbered objects of a file.
#[derive(Default)]
struct Objects(Vec<Vec<u8>>);

impl Objects {
    /// The number of an object to come.
    fn reserve(&mut self) -> usize {
        self.0.push(Vec::new());
        self.0.len()
    }

    fn put(&mut self, number: usize, body: &[u8]) {
        self.0[number - 1] = body.to_vec();
    }

    /// A packed stream with further entries of its dictionary.
    fn stream(&mut self, entries: &str, bytes: &[u8]) -> Result<usize, Error> {
        let mut packer = ZlibEncoder::new(Vec::new(), Compression::default());
        let packed = packer.write_all(bytes).and_then(|()| packer.finish());
        let packed = packed.map_err(|why| unfit(&format!("it cannot be packed: {why}")))?;
        let head = format!("<</Length {}/Filter/FlateDecode{entries}>>stream\n", packed.len());
        self.0.push([head.as_bytes(), &packed, b"\nendstream"].concat());
        Ok(self.0.len())
    }

    /// The whole file, with its table of where each object begins.
    fn written(self, catalogue: usize, about: usize) -> Vec<u8> {
        let mut bytes = b"%PDF-1.4\n%\xE2\xE3\xCF\xD3\n".to_vec();
        let mut table = format!("xref\n0 {}\n0000000000 65535 f \n", self.0.len() + 1);
        for (index, body) in self.0.iter().enumerate() {
            let _ = writeln!(table, "{:010} 00000 n ", bytes.len());
            bytes.extend(format!("{} 0 obj\n", index + 1).bytes());
            bytes.extend(body);
            bytes.extend(b"\nendobj\n");
        }
        let start = bytes.len();
        let size = self.0.len() + 1;
        bytes.extend(table.bytes());
        let trailer = format!(
            "trailer\n<</Size {size}/Root {catalogue} 0 R/Info {about} 0 R>>\nstartxref\n{start}\n%%EOF\n"
        );
        bytes.extend(trailer.bytes());
        bytes
    }
}

/// What is drawn on a page, as operators of `ISO32000`, annex A.
struct Content<'a> {
    text: String,
    file: &'a mut Objects,
    /// Entries of the page's resource dictionary.
    resources: String,
}

impl Content<'_> {
    fn group(&mut self, group: &Group) -> Result<(), Error> {
        if group.mask().is_some() || !group.filters().is_empty() || group.opacity() != Opacity::ONE
        {
            return Err(unfit("it has a mask, a filter or a group that lets light through"));
        }
        self.text.push_str("q\n");
        self.transform(group.transform());
        if let Some(clip) = group.clip_path() {
            for node in clip.root().children() {
                if let Node::Path(path) = node {
                    self.segments(path);
                }
            }
            self.text.push_str("W n\n");
        }
        for node in group.children() {
            match node {
                Node::Group(inner) => self.group(inner)?,
                Node::Path(path) => self.path(path)?,
                Node::Text(text) => self.group(text.flattened())?,
                Node::Image(image) => self.image(image)?,
            }
        }
        self.text.push_str("Q\n");
        Ok(())
    }

    fn transform(&mut self, t: Transform) {
        let _ = writeln!(self.text, "{} {} {} {} {} {} cm", t.sx, t.ky, t.kx, t.sy, t.tx, t.ty);
    }

    fn path(&mut self, path: &Path) -> Result<(), Error> {
        if !path.is_visible() {
            return Ok(());
        }
        self.text.push_str("q\n");
        if let Some(fill) = path.fill() {
            self.paint(fill.paint(), "rg")?;
            self.opacity(fill.opacity(), "ca");
        }
        if let Some(stroke) = path.stroke() {
            self.paint(stroke.paint(), "RG")?;
            self.opacity(stroke.opacity(), "CA");
            self.line(stroke);
        }
        self.segments(path);
        let is_even_odd = |fill: &Fill| fill.rule() == FillRule::EvenOdd;
        let operator = match (path.fill(), path.stroke()) {
            (Some(fill), Some(_)) if is_even_odd(fill) => "B*",
            (Some(_), Some(_)) => "B",
            (Some(fill), None) if is_even_odd(fill) => "f*",
            (Some(_), None) => "f",
            (None, Some(_)) => "S",
            (None, None) => "n",
        };
        let _ = writeln!(self.text, "{operator}\nQ");
        Ok(())
    }

    fn paint(&mut self, paint: &Paint, operator: &str) -> Result<(), Error> {
        let Paint::Color(colour) = paint else {
            return Err(unfit("it has a gradient or a pattern"));
        };
        let [r, g, b] = [colour.red, colour.green, colour.blue].map(|c| f64::from(c) / 255.0);
        let _ = writeln!(self.text, "{r:.5} {g:.5} {b:.5} {operator}");
        Ok(())
    }

    fn opacity(&mut self, opacity: Opacity, key: &str) {
        if opacity == Opacity::ONE {
            return;
        }
        let number = self.file.reserve();
        self.file.put(number, format!("<</{key} {}>>", opacity.get()).as_bytes());
        self.resource("ExtGState", number);
        let _ = writeln!(self.text, "/R{number} gs");
    }

    /// Adds an object to the page's resources. A dictionary that is there twice would be read once.
    fn resource(&mut self, kind: &str, number: usize) {
        let (head, entry) = (format!("/{kind}<<"), format!("/R{number} {number} 0 R"));
        match self.resources.find(&head) {
            Some(at) => self.resources.insert_str(at + head.len(), &entry),
            None => self.resources.push_str(&format!("{head}{entry}>>")),
        }
    }

    fn line(&mut self, stroke: &Stroke) {
        let cap = match stroke.linecap() {
            LineCap::Butt => 0,
            LineCap::Round => 1,
            LineCap::Square => 2,
        };
        let join = match stroke.linejoin() {
            LineJoin::Round => 1,
            LineJoin::Bevel => 2,
            _ => 0,
        };
        let _ = writeln!(self.text, "{} w {cap} J {join} j", stroke.width().get());
        if let Some(dashes) = stroke.dasharray() {
            let dashes: Vec<String> = dashes.iter().map(ToString::to_string).collect();
            let _ = writeln!(self.text, "[{}] {} d", dashes.join(" "), stroke.dashoffset());
        }
    }

    fn segments(&mut self, path: &Path) {
        let text = &mut self.text;
        let mut at = [0.0f32; 2];
        for segment in path.data().segments() {
            let _ = match segment {
                PathSegment::MoveTo(p) => writeln!(text, "{} {} m", p.x, p.y),
                PathSegment::LineTo(p) => writeln!(text, "{} {} l", p.x, p.y),
                PathSegment::QuadTo(c, p) => {
                    // A curve of the third degree that is the same: its handles lie two thirds out.
                    let handle = |end: [f32; 2]| {
                        [end[0] + (c.x - end[0]) / 1.5, end[1] + (c.y - end[1]) / 1.5]
                    };
                    let ([ax, ay], [bx, by]) = (handle(at), handle([p.x, p.y]));
                    writeln!(text, "{ax} {ay} {bx} {by} {} {} c", p.x, p.y)
                }
                PathSegment::CubicTo(a, b, p) => {
                    writeln!(text, "{} {} {} {} {} {} c", a.x, a.y, b.x, b.y, p.x, p.y)
                }
                PathSegment::Close => writeln!(text, "h"),
            };
            if let PathSegment::MoveTo(p)
            | PathSegment::LineTo(p)
            | PathSegment::QuadTo(_, p)
            | PathSegment::CubicTo(_, _, p) = segment
            {
                at = [p.x, p.y];
            }
        }
    }

    fn image(&mut self, image: &Image) -> Result<(), Error> {
        let (ImageKind::PNG(bytes) | ImageKind::JPEG(bytes)) = image.kind() else {
            return Err(unfit("it has a picture that is neither PNG nor JPEG"));
        };
        let picture = image::load_from_memory(bytes)
            .map_err(|why| unfit(&format!("a picture in it cannot be read: {why}")))?
            .into_rgb8();
        let (columns, rows) = picture.dimensions();
        let entries = format!(
            "/Type/XObject/Subtype/Image/Width {columns}/Height {rows}/ColorSpace/DeviceRGB\
             /BitsPerComponent 8"
        );
        let number = self.file.stream(&entries, picture.as_raw())?;
        self.resource("XObject", number);
        let size = image.size();
        // A picture fills the unit square with y up.
        let _ = writeln!(
            self.text,
            "q {} 0 0 {} 0 {} cm /R{number} Do Q",
            size.width(),
            -size.height(),
            size.height()
        );
        Ok(())
    }
}

fn unfit(why: &str) -> Error {
    Error::limit(
        format!("the drawing cannot become a page of a PDF file: {why}"),
        "draw it with filled and stroked paths, letters and pictures",
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use flate2::read::ZlibDecoder;
    use std::io::Read;

    /// The streams of a file, unpacked.
    fn streams(file: &[u8]) -> Vec<String> {
        let mut found = Vec::new();
        let mut rest = file;
        while let Some(at) = rest.windows(7).position(|word| word == b"stream\n") {
            rest = &rest[at + 7..];
            let mut text = Vec::new();
            if ZlibDecoder::new(rest).read_to_end(&mut text).is_ok() {
                found.push(String::from_utf8_lossy(&text).into_owned());
            }
        }
        found
    }

    fn svg(inside: &str) -> String {
        format!("<svg xmlns='http://www.w3.org/2000/svg' width='210' height='297'>{inside}</svg>")
    }

    #[test]
    fn paper_and_shapes_have_their_true_size() {
        let drawing = svg("<rect x='10' y='20' width='100' height='50' fill='#808080'/>");
        let page = Page { svg: &drawing, paper_mm: [210.0, 297.0] };
        let file = pdf("Chart", &[page, page]).unwrap();
        let text = String::from_utf8_lossy(&file).into_owned();
        // A4 in points: 595.2756 x 841.8898, by hand.
        assert!(text.contains("/MediaBox[0 0 595.2756 841.8898]"), "{text}");
        assert!(text.contains("/Count 2"));
        let content = &streams(&file)[0];
        // 72/25.4 = 2.834646 points to the mm, from the upper left corner.
        assert!(content.starts_with("2.834646 0 0 -2.834646 0 841.8898 cm"), "{content}");
        assert!(content.contains("0.50196 0.50196 0.50196 rg"), "{content}");
        assert!(content.contains("10 20 m\n110 20 l\n110 70 l\n10 70 l\nh\nf"), "{content}");
    }

    /// The table at the end names the byte at which each object begins (`ISO32000`, 7.5.4).
    #[test]
    fn the_table_finds_every_object() {
        let drawing = svg("<text x='5' y='50' font-size='9'>µ</text>");
        let file = pdf("µ", &[Page { svg: &drawing, paper_mm: [148.0, 210.0] }]).unwrap();
        let text: String = file.iter().map(|byte| char::from(*byte)).collect();
        let start: usize =
            text.rsplit("startxref\n").next().unwrap()[..].lines().next().unwrap().parse().unwrap();
        let entries: Vec<usize> = String::from_utf8_lossy(&file[start..])
            .lines()
            .filter(|line| line.ends_with(" n "))
            .map(|line| line[..10].parse().unwrap())
            .collect();
        assert!(entries.len() > 4);
        for (index, at) in entries.iter().enumerate() {
            let head = format!("{} 0 obj", index + 1);
            assert!(file[*at..].starts_with(head.as_bytes()), "{index}");
        }
        assert!(text.contains("<FEFF00B5>"));
        // The letter is an outline.
        assert!(streams(&file)[0].contains(" c\n") || streams(&file)[0].contains(" l\n"));
    }

    #[test]
    fn pictures_and_clips_are_kept_and_the_rest_is_refused() {
        let red = image::RgbImage::from_pixel(2, 2, image::Rgb([200, 0, 0]));
        let data = {
            use base64::{Engine, engine::general_purpose::STANDARD};
            STANDARD.encode(crate::raster::png(&red).unwrap())
        };
        let tag = format!(
            "<clipPath id='c'><rect width='9' height='9'/></clipPath><g clip-path='url(#c)'>\
             <image width='40' height='20' preserveAspectRatio='none' href='data:image/png;base64,{data}'/></g>"
        );
        let drawing = svg(&tag);
        let file = pdf("x", &[Page { svg: &drawing, paper_mm: [210.0, 297.0] }]).unwrap();
        let content = streams(&file).into_iter().find(|text| text.contains(" Do ")).unwrap();
        assert!(content.contains("W n") && content.contains("2 0 0 -2 0 2 cm"), "{content}");
        let drawing =
            svg("<g opacity='0.5'><rect width='9' height='9'/><rect width='5' height='9'/></g>");
        assert!(pdf("x", &[Page { svg: &drawing, paper_mm: [210.0, 297.0] }]).is_err());
    }
}
