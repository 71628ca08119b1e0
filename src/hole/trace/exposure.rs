//! Which channels of a photo keep the light of the hole, and whether any does.

use super::window::away_from_rim;
use crate::raster::{Raster, decode, encode};
use ndarray::Array2;

/// A number this far up the tone curve is taken for clipped: 251 of 255.
const WHITE: f64 = 0.985;
/// Below this share of clipped pixels a side is whole: glints and hot pixels clip, too.
const WHOLE: f64 = 0.05;
/// A channel is chosen before green if it has less than half as many clipped pixels.
const CLEARER: f64 = 0.5;
/// A flat top below white: so much of the side within half a number of 255 of one tone, ...
const FLAT: f64 = 0.6;
/// ... that is no darker than this, ...
const LEAST_TOP: f64 = 0.75;
/// ... and an edge whose bright half is this much steeper than its dark half.
const CUT: f64 = 0.8;
/// Without such an edge, which a defocused rim has not: this much of one tone, ...
const VERY_FLAT: f64 = 0.75;
/// ... and of other tones so many times as much on the dark side. The noise of light grows with it, so that a
/// bright side flatter than the dark one has lost its own. On a drawing both are flat.
const LIVELIER: f64 = 2.0;
/// Darker than this a top may be flat without being clipped: a tone curve is flat there, and hides little noise. It may
/// also be clipped, down to the second number: a top is in doubt between the two.
const LEAST_SMOOTH_TOP: f64 = 0.96;
const LEAST_DOUBTFUL_TOP: f64 = 0.88;
/// Fewer pixels on a side are flat by chance.
const LEAST_SEEN: f64 = 150.0;
/// So far below a flat top that is not white the tone curve is bent.
const BENT: f64 = 12.0 / 255.0;
/// The least share of other tones that is told from none.
const LEAST_LIVELY: f64 = 0.01;
/// The blur is spent so many pixels from the rim.
const DEEP_PX: usize = 4;

/// By which light a rim is to be measured.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Exposure {
    /// All channels keep the light.
    Whole,
    /// These channels keep it.
    Channels(Vec<usize>),
    /// These channels may keep it or be clipped at this light: it is of one tone in them.
    Doubtful { channels: Vec<usize>, clip: f64 },
    /// None does: this one is clipped the least, and cannot tell more light than this.
    Clipped { channel: usize, clip: f64 },
}

impl Exposure {
    /// Of the bright side of a rim that `open` shows, the window's corner being at (row, column) of
    /// the picture. `balance` is how much steeper the dark half of the edge is than the bright half.
    pub(super) fn of(
        picture: &Raster,
        open: &Array2<f32>,
        (top, left): (usize, usize),
        hole_is_bright: bool,
        balance: f64,
    ) -> Exposure {
        let side = |is_bright: bool| {
            let places = away_from_rim(open, DEEP_PX, hole_is_bright == is_bright);
            if places.is_empty() {
                away_from_rim(open, 0, hole_is_bright == is_bright)
            } else {
                places
            }
        };
        let [bright, dark] = [true, false].map(side);
        let cut = balance < CUT;
        let mut tops: Vec<Top> = picture
            .linear
            .outer_iter()
            .map(|channel| {
                let tones = |places: &[(usize, usize)]| {
                    let tone = |(row, column): &(usize, usize)| {
                        encode(f64::from(channel[[top + row, left + column]]))
                    };
                    Tones::of(places.iter().map(tone))
                };
                Top::of(&tones(&bright), &tones(&dark), cut)
            })
            .collect();
        clip_at_one_tone(&mut tops);
        let whole: Vec<usize> = (0..tops.len()).filter(|&c| tops[c].clipped < WHOLE).collect();
        let (doubtful, plain): (Vec<usize>, Vec<usize>) =
            whole.iter().partition(|&&c| tops[c].is_doubtful);
        if plain.len() == tops.len() {
            return Exposure::Whole;
        }
        if !plain.is_empty() {
            return Exposure::Channels(plain);
        }
        if !doubtful.is_empty() {
            let light: f64 = doubtful.iter().map(|&c| decode(tops[c].tone)).sum();
            let clip = light / doubtful.len() as f64;
            return Exposure::Doubtful { channels: doubtful, clip };
        }
        let green = tops.len() / 2;
        let least = (0..tops.len()).min_by(|&a, &b| tops[a].clipped.total_cmp(&tops[b].clipped));
        let channel =
            least.filter(|&c| tops[c].clipped < CLEARER * tops[green].clipped).unwrap_or(green);
        Exposure::Clipped { channel, clip: tops[channel].clip }
    }
}

/// The brightest tone of one channel.
struct Top {
    /// The share of pixels that have it.
    clipped: f64,
    /// As light.
    clip: f64,
    /// The commonest tone.
    tone: f64,
    is_flat: bool,
    /// Whether it is as flat as a clipped one, and not as bright.
    is_doubtful: bool,
}

impl Top {
    fn of(bright: &Tones, dark: &Tones, cut: bool) -> Top {
        let white = bright.share_from(WHITE);
        let (tone, share) = bright.commonest();
        let lively = 1.0 - dark.commonest().1;
        let is_seen = bright.all.min(dark.all) >= LEAST_SEEN;
        let is_livelier = lively > LIVELIER * (1.0 - share).max(LEAST_LIVELY);
        let is_smooth = is_seen && share > VERY_FLAT && is_livelier;
        let is_flat = cut && share > FLAT || is_smooth && tone > LEAST_SMOOTH_TOP;
        if is_flat && tone > LEAST_TOP {
            return Top { clipped: share, clip: decode(tone), tone, is_flat, is_doubtful: false };
        }
        let is_doubtful = is_smooth && tone > LEAST_DOUBTFUL_TOP;
        Top { clipped: white, clip: 1.0, tone, is_flat: false, is_doubtful }
    }
}

/// A tone curve with a bent top writes all channels that are clipped as one tone below white, and is hardly to be
/// trusted a little below it.
fn clip_at_one_tone(tops: &mut [Top]) {
    let flat = tops.iter().filter(|top| top.is_flat && top.tone < WHITE).map(|top| top.tone);
    let Some(most) = flat.reduce(f64::max) else { return };
    for top in tops.iter_mut().filter(|top| top.tone > most - BENT && top.tone < WHITE) {
        top.clipped = 1.0;
        top.clip = decode(most.max(top.tone));
    }
}

/// How many pixels of a side have each of 256 tones.
struct Tones {
    counts: [usize; 256],
    all: f64,
}

impl Tones {
    fn of(tones: impl Iterator<Item = f64>) -> Tones {
        let mut counts = [0usize; 256];
        tones.for_each(|tone| counts[(tone * 255.0).round() as usize] += 1);
        Tones { counts, all: counts.iter().sum::<usize>().max(1) as f64 }
    }

    fn share_from(&self, tone: f64) -> f64 {
        self.counts[(tone * 255.0).round() as usize..].iter().sum::<usize>() as f64 / self.all
    }

    /// The commonest tone and its share.
    fn commonest(&self) -> (f64, f64) {
        let most = (0..256).max_by_key(|&tone| self.counts[tone]).unwrap_or(0);
        (most as f64 / 255.0, self.counts[most] as f64 / self.all)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::Array3;

    /// A hole of 30 px in a dark plate, its channels at these tones.
    fn exposure(tones: &[f64], noise: f64, balance: f64) -> Exposure {
        grounded(tones, noise, balance, 0.0)
    }

    /// The same in a plate as uneven as this in tone.
    fn grounded(tones: &[f64], noise: f64, balance: f64, uneven: f64) -> Exposure {
        let inside =
            |row: usize, column: usize| (row as f64 - 30.0).hypot(column as f64 - 31.0) < 15.0;
        let picture = Raster {
            linear: Array3::from_shape_fn((tones.len(), 60, 62), |(c, row, column)| {
                let wave = ((row * 7 + column * 13) % 11) as f64 / 11.0;
                let tone = if inside(row, column) {
                    (tones[c] + noise * wave).min(1.0)
                } else {
                    0.1 + uneven * wave
                };
                decode(tone) as f32
            }),
        };
        let open = Array2::from_shape_fn((60, 62), |(r, c)| f32::from(u8::from(inside(r, c))));
        Exposure::of(&picture, &open, (0, 0), true, balance)
    }

    #[test]
    fn whole_channels_are_used_and_flat_tops_told() {
        assert_eq!(exposure(&[0.8, 0.9, 0.7], 0.02, 1.0), Exposure::Whole);
        assert_eq!(exposure(&[1.0, 0.9, 0.7], 0.02, 1.0), Exposure::Channels(vec![1, 2]));
        assert_eq!(exposure(&[1.0; 3], 0.0, 0.5), Exposure::Clipped { channel: 1, clip: 1.0 });
        assert_eq!(exposure(&[1.0], 0.0, 0.5), Exposure::Clipped { channel: 0, clip: 1.0 });
        // A top at 240 of 255 is clipped only if it is flat and the edge is cut.
        let top = 240.0 / 255.0;
        let clipped = Exposure::Clipped { channel: 0, clip: decode(top) };
        assert_eq!(exposure(&[top], 0.0, 0.5), clipped);
        assert_eq!(exposure(&[top], 0.0, 1.0), Exposure::Whole);
        assert_eq!(exposure(&[top], 0.03, 0.5), Exposure::Whole);
        // A flat bright side in a noisy ground is clipped, whatever its edge, or may be where it is darker; a
        // channel a little darker than a clipped one is bent.
        assert_eq!(
            grounded(&[top], 0.0, 1.0, 0.04),
            Exposure::Doubtful { channels: vec![0], clip: decode(top) }
        );
        let top = 248.0 / 255.0;
        let clipped = Exposure::Clipped { channel: 0, clip: decode(top) };
        assert_eq!(grounded(&[top], 0.0, 1.0, 0.04), clipped);
        assert_eq!(grounded(&[0.94, top, 0.95], 0.0, 1.0, 0.04), {
            Exposure::Clipped { channel: 1, clip: decode(top) }
        });
    }
}
