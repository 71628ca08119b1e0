//! The light of a picture's three channels.

use crate::camera::Camera;
use crate::wave::Light;

/// Where the three channels of a picture divide the light, in nm: blue below, red above (common
/// practice, no source).
const DIVIDES_NM: [f64; 2] = [500.0, 600.0];
/// Wavelengths that stand for a band: three are exact for what is of the fifth degree in 1/λ there.
pub(super) const LINES: usize = 3;

/// What light there is for red, green and blue, with its share of the energy.
fn parts(light: &Light) -> [Option<(f64, Light)>; 3] {
    let [blue, red] = DIVIDES_NM;
    [light.within(red, f64::INFINITY), light.within(blue, red), light.within(0.0, blue)]
}

/// Returns the share of the light that red, green and blue bring; their sum is 1.
pub fn shares(light: &Light) -> [f64; 3] {
    parts(light).map(|part| part.map_or(0.0, |(share, _)| share))
}

/// The light of the three channels, in few wavelengths.
pub(super) struct Bands {
    pub(super) lights: Vec<Light>,
    /// Which of them each channel takes.
    pub(super) of_channel: [usize; 3],
}

impl Bands {
    /// A channel without light of its own is drawn by all of it; where the medium sees no colours it is not
    /// seen, and takes the first there is.
    pub(super) fn of(camera: &Camera) -> Bands {
        let mut bands = Bands { lights: Vec::new(), of_channel: [0; 3] };
        let parts = parts(&camera.light);
        for (channel, part) in parts.iter().enumerate() {
            if let Some((_, light)) = part {
                bands.of_channel[channel] = bands.lights.len();
                bands.lights.push(light.condensed(LINES));
            }
        }
        if camera.in_colour && bands.lights.len() == 2 {
            let all = bands.lights.len();
            bands.lights.push(camera.light.condensed(LINES));
            for (channel, _) in parts.iter().enumerate().filter(|(_, part)| part.is_none()) {
                bands.of_channel[channel] = all;
            }
        }
        bands
    }
}
