//! The component tree of a picture: which spots of light hang together at which level.
//!
//! Lower a level from the brightest light to none: spots appear, grow and join. The tree of them
//! holds every spot at every level at once, so that a hole is found whatever the light, and beside
//! glints brighter than itself. Source: `NajmanCouprie2006`, and `Berger2007` for the union-find in
//! order of level.

use ndarray::Array2;
use std::f64::consts::TAU;

/// Smaller spots are noise, in pixels of the picture searched.
const LEAST_AREA: u32 = 6;
const NONE: u32 = u32::MAX;

/// A connected spot of pixels at or above a level.
#[derive(Debug, Clone)]
pub(super) struct Spot {
    /// The level, 0..=255.
    pub(super) level: u8,
    /// Pixels.
    pub(super) area: f64,
    sums: [f64; 3],
    /// First and last row, first and last column.
    pub(super) rows: [usize; 2],
    pub(super) columns: [usize; 2],
    /// The spot that this one is part of at the next lower level; none for the whole picture.
    pub(super) parent: Option<usize>,
    /// Its largest part at a higher level.
    pub(super) core: Option<usize>,
}

impl Spot {
    /// Centre of gravity: column and row, pixel i covering i..i + 1.
    pub(super) fn centre(&self) -> [f64; 2] {
        [self.sums[0] / self.area, self.sums[1] / self.area]
    }

    /// Area² over 2π times the polar second moment: 1 for a disc, 0.8 for an oval of 2 : 1, 0.2 for a
    /// slit of 10 : 1.
    pub(super) fn compactness(&self) -> f64 {
        let [x, y] = self.centre();
        // A pixel is a square with a moment of its own, 1/6.
        let moment = self.sums[2] - self.area * (x * x + y * y) + self.area / 6.0;
        self.area * self.area / (TAU * moment)
    }
}

/// All spots of at least [`LEAST_AREA`] pixels, connected along sides; a part stands before what it
/// is part of.
pub(super) fn spots(levels: &Array2<u8>) -> Vec<Spot> {
    let (rows, columns) = levels.dim();
    let levels: Vec<u8> = levels.iter().copied().collect();
    if levels.is_empty() {
        return Vec::new();
    }
    let order = by_level(&levels);
    let (parent, area) = joined(&order, rows, columns);
    gathered(&levels, &order, &parent, &area, columns)
}

/// Pixels from the brightest to the darkest.
fn by_level(levels: &[u8]) -> Vec<u32> {
    let mut starts = [0usize; 257];
    levels.iter().for_each(|&level| starts[256 - usize::from(level)] += 1);
    (1..257).for_each(|i| starts[i] += starts[i - 1]);
    let mut order = vec![0u32; levels.len()];
    for (pixel, &level) in levels.iter().enumerate() {
        let place = &mut starts[255 - usize::from(level)];
        order[*place] = pixel as u32;
        *place += 1;
    }
    order
}

/// The pixel that each pixel's spot was joined to: later in the order, so no brighter; and how many pixels its own spot
/// has by then.
fn joined(order: &[u32], rows: usize, columns: usize) -> (Vec<u32>, Vec<u32>) {
    let mut parent = vec![NONE; order.len()];
    let mut root = vec![NONE; order.len()];
    let mut area = vec![1u32; order.len()];
    for &pixel in order {
        let at = pixel as usize;
        (parent[at], root[at]) = (pixel, pixel);
        let [row, column] = place(pixel, columns);
        let neighbours = [
            (row > 0).then(|| at - columns),
            (row + 1 < rows).then_some(at + columns),
            (column > 0).then(|| at - 1),
            (column + 1 < columns).then_some(at + 1),
        ];
        for neighbour in neighbours.into_iter().flatten() {
            if root[neighbour] == NONE {
                continue;
            }
            let other = root_of(&mut root, neighbour as u32);
            if other != pixel {
                (parent[other as usize], root[other as usize]) = (pixel, pixel);
                area[at] += area[other as usize];
            }
        }
    }
    (parent, area)
}

/// Row and column of a pixel: division of 32 bits takes a third of the time of one of 64.
fn place(pixel: u32, columns: usize) -> [usize; 2] {
    let columns = columns as u32;
    [(pixel / columns) as usize, (pixel % columns) as usize]
}

fn root_of(root: &mut [u32], mut pixel: u32) -> u32 {
    while root[pixel as usize] != pixel {
        // Halving the way there keeps later walks short.
        root[pixel as usize] = root[root[pixel as usize] as usize];
        pixel = root[pixel as usize];
    }
    pixel
}

fn gathered(
    levels: &[u8],
    order: &[u32],
    parent: &[u32],
    area: &[u32],
    columns: usize,
) -> Vec<Spot> {
    // The last pixel of a spot at its level stands for it.
    let stands = |pixel: usize| {
        let above = parent[pixel] as usize;
        (above == pixel || levels[above] != levels[pixel]) && area[pixel] >= LEAST_AREA
    };
    let mut found: Vec<Spot> = Vec::new();
    let mut spot_of = vec![NONE; levels.len()];
    for &pixel in order {
        let at = pixel as usize;
        if stands(at) {
            spot_of[at] = found.len() as u32;
            found.push(Spot {
                level: levels[at],
                area: f64::from(area[at]),
                sums: [0.0; 3],
                rows: [usize::MAX, 0],
                columns: [usize::MAX, 0],
                parent: None,
                core: None,
            });
        }
    }
    for &pixel in order.iter().rev() {
        let at = pixel as usize;
        let above = spot_of[parent[at] as usize];
        if spot_of[at] == NONE {
            spot_of[at] = above;
        } else if parent[at] != pixel {
            found[spot_of[at] as usize].parent = (above != NONE).then_some(above as usize);
        }
        let Some(spot) = found.get_mut(spot_of[at] as usize) else { continue };
        let [row, column] = place(pixel, columns);
        let (x, y) = (column as f64 + 0.5, row as f64 + 0.5);
        spot.sums = [spot.sums[0] + x, spot.sums[1] + y, spot.sums[2] + x * x + y * y];
        spot.rows = [spot.rows[0].min(row), spot.rows[1].max(row)];
        spot.columns = [spot.columns[0].min(column), spot.columns[1].max(column)];
    }
    summed_up(&mut found);
    found
}

/// Adds each spot to the one it is part of.
fn summed_up(spots: &mut [Spot]) {
    for part in 0..spots.len() {
        let Some(whole) = spots[part].parent else { continue };
        let Spot { area, sums, rows, columns, .. } = spots[part].clone();
        let largest = spots[whole].core.is_none_or(|core| spots[core].area < area);
        let spot = &mut spots[whole];
        spot.sums = [0, 1, 2].map(|i| spot.sums[i] + sums[i]);
        spot.rows = [spot.rows[0].min(rows[0]), spot.rows[1].max(rows[1])];
        spot.columns = [spot.columns[0].min(columns[0]), spot.columns[1].max(columns[1])];
        if largest {
            spot.core = Some(part);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two spots of 3 × 3 on a saddle of one pixel: apart at 9, one at 5, all at 1.
    #[test]
    fn spots_grow_and_join() {
        let mut levels = Array2::from_elem((5, 11), 1);
        for row in 1..4 {
            for column in [1, 2, 3, 5, 6, 7] {
                levels[[row, column]] = 9;
            }
        }
        levels[[2, 4]] = 5;
        let found = spots(&levels);
        let areas: Vec<f64> = found.iter().map(|spot| spot.area).collect();
        assert_eq!(areas, [9.0, 9.0, 19.0, 55.0]);
        assert_eq!((found[0].parent, found[1].parent), (Some(2), Some(2)));
        assert_eq!((found[2].parent, found[3].parent), (Some(3), None));
        assert!(found[3].core == Some(2) && found[2].core.is_some_and(|core| core < 2));
        let mut centres: Vec<[f64; 2]> = found[..2].iter().map(Spot::centre).collect();
        centres.sort_by(|a, b| a[0].total_cmp(&b[0]));
        assert_eq!(centres, [[2.5, 2.5], [6.5, 2.5]]);
        assert_eq!((found[2].rows, found[2].columns), ([1, 3], [1, 7]));
    }

    /// A square's second moment is a⁴/6: compactness 3/π.
    #[test]
    fn compactness_is_that_of_the_form() {
        let levels = Array2::from_shape_fn((30, 30), |(r, c)| {
            u8::from((5..25).contains(&r.min(c)) && r.max(c) < 25)
        });
        let square = &spots(&levels)[0];
        assert!((square.compactness() - 3.0 / std::f64::consts::PI).abs() < 1e-9);
    }
}
