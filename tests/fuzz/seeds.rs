//! Small sound inputs of every kind, made here, from which changed ones grow.

use foramen::Error;
use foramen::camera::DEMONSTRATION;
use image::{DynamicImage, GrayImage, ImageBuffer, ImageFormat, Luma, RgbImage, RgbaImage};
use std::io::Cursor;

/// A bright disc on dark ground.
fn light(x: u32, y: u32) -> u8 {
    let away = (f64::from(x) - 19.6).hypot(f64::from(y) - 20.3);
    (20.0 + 200.0 / (1.0 + (away - 9.0).exp())) as u8
}

fn file(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Vec::new();
    picture.write_to(&mut Cursor::new(&mut bytes), format).unwrap();
    bytes
}

pub(crate) fn grey() -> GrayImage {
    GrayImage::from_fn(40, 40, |x, y| Luma([light(x, y)]))
}

pub(crate) fn pictures() -> Vec<Vec<u8>> {
    let grey = DynamicImage::from(grey());
    let colour = DynamicImage::from(RgbImage::from_fn(40, 40, |x, y| {
        image::Rgb([light(x, y), light(y, x) / 2, 30])
    }));
    let clear = DynamicImage::from(RgbaImage::from_fn(40, 40, |x, y| {
        image::Rgba([light(x, y), 9, 99, light(y, x)])
    }));
    let deep = DynamicImage::from(ImageBuffer::from_fn(40, 40, |x, y| {
        Luma([257 * u16::from(light(x, y))])
    }));
    let mut all: Vec<Vec<u8>> = [ImageFormat::Png, ImageFormat::Tiff, ImageFormat::Bmp]
        .into_iter()
        .flat_map(|format| [&grey, &colour].map(|picture| file(picture, format)))
        .collect();
    all.extend([&grey, &colour].map(|picture| file(picture, ImageFormat::Jpeg)));
    all.extend([&clear, &deep].map(|picture| file(picture, ImageFormat::Png)));
    all.push(file(&deep, ImageFormat::Tiff));
    all.push(file(&clear, ImageFormat::WebP));
    all.extend([with_chunks(), with_exif(&file(&colour, ImageFormat::Jpeg)), with_formats()]);
    all
}

/// A TIFF of one strip whose tag of sample formats (339) counts its pixels: a decoder names them all. Found so.
fn with_formats() -> Vec<u8> {
    const STRIP: u32 = 8 + 2 + 10 * 12 + 4;
    let mut bytes = b"II*\0\x08\0\0\0\x0A\0".to_vec();
    let entries: [(u16, u16, u32, u32); 10] = [
        (256, 4, 1, 40),
        (257, 4, 1, 40),
        (258, 3, 1, 8),
        (259, 3, 1, 1),
        (262, 3, 1, 1),
        (273, 4, 1, STRIP),
        (277, 3, 1, 1),
        (278, 4, 1, 40),
        (279, 4, 1, 1600),
        (339, 3, 800, STRIP),
    ];
    for (tag, kind, count, value) in entries {
        bytes.extend(tag.to_le_bytes());
        bytes.extend(kind.to_le_bytes());
        bytes.extend(count.to_le_bytes());
        bytes.extend(value.to_le_bytes());
    }
    bytes.extend([0; 4]);
    bytes.extend(grey().as_raw());
    bytes
}

/// A PNG that states its resolution, its power and a profile.
fn with_chunks() -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, 40, 40);
    encoder.set_source_gamma(png::ScaledFloat::new(0.45));
    encoder.set_pixel_dims(Some(png::PixelDimensions {
        xppu: 39370,
        yppu: 39370,
        unit: png::Unit::Meter,
    }));
    let mut writer = encoder.write_header().unwrap();
    // An ICC profile by its header alone, packed without compression.
    let mut profile = b"p\0\0\x78\x01\x01\x80\0\x7f\xff".to_vec();
    profile.extend([0; 128]);
    writer.write_chunk(png::chunk::iCCP, &profile).unwrap();
    writer.write_image_data(grey().as_raw()).unwrap();
    drop(writer);
    bytes
}

/// A JPEG with an EXIF block that turns it and states 300 dpi (CIPA DC-008).
fn with_exif(jpeg: &[u8]) -> Vec<u8> {
    let mut exif = b"Exif\0\0MM\0\x2A\0\0\0\x08\0\x03".to_vec();
    exif.extend(b"\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\x01\x1A\0\x05\0\0\0\x01\0\0\0\x32");
    exif.extend(b"\x01\x28\0\x03\0\0\0\x01\0\x02\0\0\0\0\0\0\0\0\x01\x2C\0\0\0\x01");
    let length = (exif.len() as u16 + 2).to_be_bytes();
    [&jpeg[..2], &[0xFF, 0xE1], &length, &exif, &jpeg[2..]].concat()
}

pub(crate) fn tables() -> Vec<Vec<u8>> {
    let square = "x_mm,y_mm\n0,0\n0.3,0\n0.3,0.3\n0,0.3\n";
    let ring = format!("{square}\n0.1,0.1\n0.2,0.1\n0.2,0.2\n");
    let round: String = (0..60)
        .map(|i| f64::from(i) / 60.0 * std::f64::consts::TAU)
        .map(|turn| format!("{:.6},{:.6}\n", 0.15 * turn.cos(), 0.15 * turn.sin()))
        .collect();
    [square.into(), ring, format!("x_mm,y_mm\n{round}")].map(String::into_bytes).to_vec()
}

pub(crate) fn drawings() -> Vec<Vec<u8>> {
    let head = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"1mm\" height=\"1mm\" viewBox=\"0 0 1 1\">";
    let path = "<path fill-rule=\"evenodd\" d=\"M 0.1 0.1 L 0.4 0.1 L 0.4 0.4 Z\nM 0.2 0.15 L 0.3 0.15 0.3 0.3 Z\"/>";
    vec![format!("{head}\n{path}\n</svg>\n").into_bytes()]
}

pub(crate) fn cameras() -> Vec<Vec<u8>> {
    // Every key of the template, those that are only shown as well.
    let every: String = DEMONSTRATION
        .lines()
        .map(|line| match line.strip_prefix("# ") {
            Some(shown) if shown.contains(" = ") => format!("{shown}\n"),
            _ => format!("{line}\n"),
        })
        .collect();
    vec![
        DEMONSTRATION.as_bytes().to_vec(),
        every.into_bytes(),
        camera_with_a_filter().into_bytes(),
        b"[film]\ndistance = \"50 mm\"\nwidth = \"60 mm\"\nheight = \"60 mm\"\n".to_vec(),
    ]
}

/// Cameras of one wavelength, whose verdict is a matter of milliseconds: film, and one table more.
pub(crate) fn short_cameras() -> Vec<Vec<u8>> {
    [
        "[subject]\ndistance = \"1.5 m\"\n",
        "[plate]\nthickness = \"0.05 mm\"\n",
        "[light]\nwavelength = [\"450 nm\", \"650 nm\"]\nweight = [0.8, 0.6]\n",
        "[emulsion]\nspeed = 100\nreciprocity = 1.3\nonset = \"1 s\"\n",
        "[emulsion]\npaper-speed = 400\nreciprocity = [[\"1 s\", \"1 s\"], [\"10 s\", \"25 s\"]]\n",
        "[support]\ndrift = \"0.05 mm in 1 min\"\ndirection = \"90 deg\"\n",
        "[support]\nsway = \"0.02 mm\"\nsway-period = \"2 s\"\n",
        "[support]\nsway = \"0.02 mm\"\nsway-period = \"1e-320 s\"\n",
        "[support]\nwalk = \"0.03 mm in 1 min\"\n",
        "[print]\nenlargement = 2\nviewing-distance = \"350 mm\"\n",
        "[film]\nshape = \"cylinder\"\nradius = \"75 mm\"\naxis = \"vertical\"\n",
    ]
    .map(|table| {
        let film = "distance = \"120 mm\"\nwidth = \"127 mm\"\nheight = \"102 mm\"\n";
        let text = match table.strip_prefix("[film]\n") {
            Some(more) => format!("[film]\n{film}{more}"),
            None => format!("[film]\n{film}{table}"),
        };
        text.into_bytes()
    })
    .to_vec()
}

pub(crate) fn camera_with_a_filter() -> String {
    DEMONSTRATION.replace("medium = \"colour\"", "medium = \"eye\"\nfilter = \"yellow.csv\"")
}

pub(crate) fn curves() -> Vec<Vec<u8>> {
    vec![
        b"450,0\n500,1\n700,1\n".to_vec(),
        b"nm,weight\n400,0.1\n410,0.2\n420,0.3\n650,0.9\n700,0.0\n".to_vec(),
    ]
}

pub(crate) fn a_curve(_: &str) -> Result<String, Error> {
    Ok("450,0\n500,1\n700,1\n".into())
}

pub(crate) fn logs() -> Vec<Vec<u8>> {
    let line = |hole: &str, mm: f64| {
        format!(
            "{{\"format\":1,\"time\":\"2026-03-01T18:04:05Z\",\"hole\":\"{hole}\",\"camera\":\"Cedar box\",\
             \"diameter_mm\":{mm},\"diameter_uncertainty_mm\":0.004,\"target_mm\":0.38,\"band_low_mm\":0.32,\
             \"band_high_mm\":0.44,\"loss\":0.1,\"action\":\"enlarge\",\"next_aim_mm\":0.3}}\n"
        )
    };
    let taken_back = "{\"format\":1,\"time\":\"2026-03-01T18:04:05Z\",\"revokes\":\"last\"}\n";
    vec![
        line("brass 3", 0.2).into_bytes(),
        [line("a", 0.2), line("a", 0.23), line("b", 0.3), taken_back.into()].concat().into_bytes(),
    ]
}

pub(crate) fn words() -> Vec<Vec<u8>> {
    [
        "0.34 mm",
        "0.34 ± 0.01 mm",
        "4.5 per mm",
        "9 1/2 per 2 mm",
        "½ mm",
        "1/60 s",
        "2 min",
        "412 px = 1 mm",
        "2400 dpi",
        "412,300 px",
        "1/4",
        "550 nm",
        "12 deg",
        "hole.png",
        "outline.csv",
        "0.012 in",
        "3 mm, -5 mm",
        "300 um",
        "1e-3 m",
    ]
    .map(|words| words.as_bytes().to_vec())
    .to_vec()
}

/// Holes in words, every shape of the grammar, as a person types them.
pub(crate) fn shapes() -> Vec<Vec<u8>> {
    [
        "round 0.34 mm ± 0.01 mm",
        "disc 340 um",
        "oval 0.42 x 0.37 mm at 30 deg",
        "ellipse 0.42 by 0.37 mm ± 3 %",
        "square 0.3 mm",
        "rectangle 0.4 × 0.3 mm at -12.5 deg",
        "slit 0.2 x 2 mm",
        "ring 0.5 / 0.2 mm",
        "triangle 0.4 mm",
        "hexagon 0.2 mm at 0.5 rad",
        "octagon 0.15 mm",
        "two holes 0.2 mm, 0.5 mm apart at 90 deg",
        "zone plate 8 zones for 100 mm",
        "zone plate 12 open zones for 4 in at 650 nm",
        "photon sieve 3 zones for 100 mm at 450 nm",
        "0.34 mm, burr 0.05 mm deep, 0.02 mm wide at 40 deg",
        "oval 0.42 x 0.37 mm, burr 0.05 mm deep, 0.02 mm wide at 40 deg, burr 0.03 mm wide 0.04 mm deep at 200 deg",
        "hexagon 0.2 mm at 1e308 rad",
        "a round 0.3 mm with a burr 0.01 mm deep, 0.1 mm wide at 0 deg and a burr 0.01 mm deep, 0.1 mm wide at 3 deg",
    ]
    .map(|words| words.as_bytes().to_vec())
    .to_vec()
}

pub(crate) fn no_file(_: &str) -> Result<Vec<u8>, Error> {
    Err(Error::not_there("does not exist", "check the name"))
}
