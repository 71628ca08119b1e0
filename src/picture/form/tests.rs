//! Checks of image formation.

use super::super::kernel::Kernel;
use super::pieces::mirrored;
use super::*;

/// Numbers without order, the same every time.
fn noise(seed: usize) -> f32 {
    let mixed = (seed as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    let mixed = (mixed ^ (mixed >> 29)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    ((mixed >> 40) as f32) / (1u64 << 24) as f32
}

fn scene(rows: usize, columns: usize) -> Raster {
    let at = |(c, row, column)| noise((c * rows + row) * columns + column);
    Raster { linear: Array3::from_shape_fn((3, rows, columns), at) }
}

/// A lopsided kernel without any symmetry.
fn kernel(rows: usize, columns: usize) -> Kernel {
    let at = |(row, column)| {
        let fall = (row as f64 / rows as f64) + 2.0 * column as f64 / columns as f64;
        f64::from(noise(row * columns + column)) * (-fall).exp()
    };
    Kernel::new(&Array2::from_shape_fn((rows, columns), at)).unwrap()
}

fn same(kernel: &Kernel) -> KernelGrid {
    KernelGrid::uniform([kernel.clone(), kernel.clone(), kernel.clone()])
}

/// The hat over a node: how much of the kernel there the point at sample `at` of `count` takes.
fn hat(at: usize, count: usize, node: usize, nodes: usize) -> f64 {
    let position = (at as f64 + 0.5) / count as f64 * (nodes - 1) as f64;
    (1.0 - (position - node as f64).abs()).max(0.0)
}

/// The definition, in f64: each scene point's light to the pixels about it, gathered at one.
fn direct(scene: &Raster, grid: &KernelGrid, channel: usize, row: usize, column: usize) -> f64 {
    let fold = |place: isize, count: usize| {
        let (mut place, count) = (place, count as isize);
        while !(0..count).contains(&place) {
            place = if place < 0 { -1 - place } else { 2 * count - 1 - place };
        }
        place as usize
    };
    let mut sum = 0.0;
    for (node, kernels) in grid.kernels().iter().enumerate() {
        let weights = kernels[channel].weights();
        let (half_rows, half_columns) = (weights.nrows() / 2, weights.ncols() / 2);
        for ((i, j), &weight) in weights.indexed_iter() {
            let from_row = fold((row + half_rows) as isize - i as isize, scene.rows());
            let from_column = fold((column + half_columns) as isize - j as isize, scene.columns());
            let share = hat(from_row, scene.rows(), node / grid.across(), grid.down())
                * hat(from_column, scene.columns(), node % grid.across(), grid.across());
            let light = scene.linear[[channel, from_row, from_column]];
            sum += share * f64::from(weight) * f64::from(light);
        }
    }
    sum
}

/// The largest error relative to full scale, which is 1, at the corners and 60 other points.
fn worst_error(rows: usize, columns: usize, grid: &KernelGrid) -> f64 {
    let scene = scene(rows, columns);
    let formed = form(&scene, grid);
    let corners = [(0, 0), (0, columns - 1), (rows - 1, 0), (rows - 1, columns - 1)];
    let others = (0..60).map(|sample| {
        let row = (noise(sample) * rows as f32) as usize;
        (row, (noise(sample + 1000) * columns as f32) as usize)
    });
    let mut worst: f64 = 0.0;
    for (sample, (row, column)) in corners.into_iter().chain(others).enumerate() {
        let channel = sample % 3;
        let truth = direct(&scene, grid, channel, row, column);
        worst = worst.max((f64::from(formed.linear[[channel, row, column]]) - truth).abs());
    }
    worst
}

#[test]
fn agrees_with_the_definition() {
    let cases = [
        ((300, 500), (31, 57)),
        ((701, 203), (1, 9)),
        ((640, 480), (129, 129)),
        ((1, 1), (5, 3)),
        ((1, 1000), (3, 3)),
        ((40, 7), (101, 65)),
        ((7, 40), (65, 101)),
        // Half the kernel's width even and odd, the scene's last rows not a whole block.
        ((203, 301), (5, 7)),
        ((1003, 333), (257, 255)),
        ((1500, 64), (3, 1)),
    ];
    for ((rows, columns), (high, wide)) in cases {
        let worst = worst_error(rows, columns, &same(&kernel(high, wide)));
        // Measured 1.0e-7 at most: rounding of some twenty steps of 6e-8 on numbers about 1.
        assert!(worst < 1e-6, "{rows} x {columns} by {high} x {wide}: {worst:e}");
    }
}

/// A grid of kernels that all differ, in size too: up to `high` by `wide`.
fn mixed(across: usize, down: usize, high: usize, wide: usize) -> KernelGrid {
    let smaller = |size: usize, by: usize| size - (2 * by).min(size - 1);
    let kernels = (0..across * down).map(|node| {
        [0, 1, 2]
            .map(|channel| kernel(smaller(high, (node + channel) % 4), smaller(wide, node % 3)))
    });
    KernelGrid::new(across, down, kernels.collect()).unwrap()
}

#[test]
fn kernels_that_change_agree_with_the_definition() {
    let cases = [(61, 83), (1, 1), (1, 97), (97, 1), (7, 40), (31, 5), (2, 2)];
    for (rows, columns) in cases {
        for (across, down) in [(1, 1), (2, 1), (1, 2), (3, 4), (9, 5)] {
            for (high, wide) in [(1, 1), (9, 15), (35, 21)] {
                let worst = worst_error(rows, columns, &mixed(across, down, high, wide));
                assert!(
                    worst < 1e-6,
                    "{rows} x {columns}, {across} x {down} nodes, {high} x {wide}: {worst:e}"
                );
            }
        }
    }
}

#[test]
fn a_flat_scene_stays_flat_and_light_is_kept() {
    let flat = Raster { linear: Array3::from_elem((3, 90, 130), 0.7) };
    let formed = form(&flat, &same(&kernel(33, 21)));
    assert_eq!(formed, flat);
    // A lamp far from any border keeps all its light, whatever the kernels.
    let mut lamp = Raster { linear: Array3::zeros((3, 90, 130)) };
    (0..3).for_each(|channel| lamp.linear[[channel, 45, 60]] = 1000.0);
    for kernels in [same(&kernel(33, 21)), mixed(9, 5, 33, 21)] {
        let light: f64 = form(&lamp, &kernels).linear.iter().map(|&v| f64::from(v)).sum();
        assert!((light / 3000.0 - 1.0).abs() < 1e-6, "{light}");
    }
}

#[test]
fn the_number_of_threads_changes_nothing() {
    let scene = scene(301, 203);
    for kernels in [same(&kernel(41, 23)), mixed(4, 3, 41, 23)] {
        let with = |threads| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            pool.install(|| form(&scene, &kernels))
        };
        assert!(with(1) == with(3));
    }
}

#[test]
fn a_point_shows_the_kernel_the_right_way_round() {
    let kernel = kernel(5, 7);
    let mut point = Raster { linear: Array3::zeros((3, 21, 30)) };
    point.linear[[1, 10, 12]] = 1.0;
    let formed = form(&point, &same(&kernel));
    for ((row, column), &weight) in kernel.weights().indexed_iter() {
        let seen = formed.linear[[1, row + 8, column + 9]];
        assert!((seen - weight).abs() < 1e-6, "{row}, {column}: {seen}, not {weight}");
    }
    assert!(formed.linear.index_axis(Axis(0), 0).iter().all(|&value| value == 0.0));
}

#[test]
fn each_channel_has_its_own_kernel() {
    let shift = |column: usize| {
        let mut light = Array2::zeros((1, 3));
        light[[0, column]] = 1.0;
        Kernel::new(&light).unwrap()
    };
    let scene = scene(8, 8);
    let formed = form(&scene, &KernelGrid::uniform([shift(0), shift(1), shift(2)]));
    for (channel, from) in [(0, 5), (1, 4), (2, 3)] {
        let (seen, truth) = (formed.linear[[channel, 3, 4]], scene.linear[[channel, 3, from]]);
        assert!((seen - truth).abs() < 1e-6, "channel {channel}");
    }
}

#[test]
fn mirror_stands_on_the_border() {
    let row: Vec<_> = (0..11).map(|place| mirrored(place, 4, 3)).collect();
    assert_eq!(row, [2, 2, 1, 0, 0, 1, 2, 2, 1, 0, 0]);
}

#[test]
fn an_empty_scene_gives_an_empty_picture() {
    let empty = Raster { linear: Array3::zeros((3, 0, 7)) };
    assert_eq!(form(&empty, &same(&kernel(3, 3))), empty);
}
