//! Every task that takes a while ends soon after its watcher says so.

use super::{appraise, gauge, preview, prove, prove_edge, psf, psf_stack, share_out, target};
use crate::camera::Camera;
use crate::error::{Error, Kind};
use crate::geometry::shapes;
use crate::hole::{Hole, Said, Scale};
use crate::picture::Scene;
use crate::proof::Scanner;
use crate::verdict::decision::hand::Hand;
use crate::verdict::merit::film_map;
use crate::verdict::target::criterion::Criterion;
use crate::watch::Watch;
use std::ops::ControlFlow;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Stops work at the first question and at the second: it asks at least so often, and no more once it is told.
fn stops<T>(work: impl Fn(Watch) -> Result<T, Error>) {
    stops_after(&[0, 1], work);
}

fn stops_after<T>(patiences: &[usize], work: impl Fn(Watch) -> Result<T, Error>) {
    for &patience in patiences {
        let asked = AtomicUsize::new(0);
        let tell = |_, _| match asked.fetch_add(1, Ordering::Relaxed) {
            before if before < patience => ControlFlow::Continue(()),
            _ => ControlFlow::Break(()),
        };
        let Err(why) = work(Watch::new(&tell)) else { panic!("went on after {patience}") };
        assert_eq!(*why.kind(), Kind::Stopped, "{why}");
        // Others that run at the same time may ask once more each.
        let most = patience + 2 * rayon::current_num_threads();
        assert!((patience + 1..=most).contains(&asked.load(Ordering::Relaxed)));
    }
}

fn camera() -> Camera {
    Camera::demonstration().unwrap()
}

fn hole(words: &str) -> Hole {
    let no_file = |_: &str| Err(Error::not_there("is not there", "give a size"));
    Hole::of(&Said::of(words).source(&no_file).unwrap()).unwrap()
}

fn appraisal() -> appraise::Request {
    let (camera, hole) = (camera(), hole("round 0.34 mm, burr 0.03 mm deep 0.04 mm wide at 20°"));
    appraise::Request { camera, hole, hand: Hand::unknown(), again: false, others: Vec::new() }
}

#[test]
fn gauge_stops() {
    let request = gauge::Request { hole: hole("0.34 mm"), camera: Some(camera()) };
    stops(|watch| gauge::run(&request, watch));
}

#[test]
fn target_stops() {
    let request = target::Request { camera: camera(), criterion: Criterion::Eye };
    stops(|watch| target::run(&request, watch));
}

#[test]
fn psf_stops() {
    let (camera, outline) = (camera(), shapes::disc(0.34).unwrap());
    let request =
        psf::Request { camera, outline, at_mm: [0.0, 0.0], size: Some(32), pitch_mm: None };
    stops(|watch| psf::run(&request, watch));
    let answer = psf::run(&request, Watch::nobody()).unwrap();
    stops(|watch| {
        psf::otf_npy(&request, watch)?;
        psf::field_npy(&request, &answer, watch)
    });
}

#[test]
fn a_stack_stops() {
    let (camera, outline) = (camera(), shapes::disc(0.34).unwrap());
    let members = psf_stack::Members::FilmDistances(vec![100.0, 120.0]);
    let request =
        psf_stack::Request { camera, outline, members, size: Some(16), pitch_mm: Some(0.02) };
    stops(|watch| psf_stack::run(&request, watch));
}

#[test]
fn preview_stops() {
    let request = preview::Request {
        camera: camera(),
        outline: shapes::disc(0.34).unwrap(),
        image: Arc::new(Scene::Chart.drawn(60, 45).unwrap()),
    };
    stops(|watch| preview::run(&request, watch));
}

#[test]
fn every_stage_of_an_appraisal_stops() {
    let request = appraisal();
    stops(|watch| appraise::judge(&request, watch));
    let judged = appraise::judge(&request, Watch::nobody()).unwrap();
    stops(|watch| appraise::points(&request, &judged, watch));
    let scene = Scene::Chart.drawn(60, 45).unwrap();
    stops(|watch| appraise::pictures(&request, &judged, scene.clone(), watch));
}

#[test]
fn comparing_and_sharing_out_stop() {
    let holes: Vec<appraise::Candidate> = ["0.3 mm", "0.4 mm"]
        .map(|words| appraise::Candidate { name: words.into(), hole: Ok(hole(words)) })
        .to_vec();
    stops(|watch| appraise::compare(&camera(), &holes, &Hand::unknown(), watch));
    let cameras = ["one", "other"].map(|name| Camera { name: name.into(), ..camera() }).to_vec();
    let request = share_out::Request { cameras, holes };
    stops(|watch| share_out::run(&request, watch));
}

#[test]
fn mapping_the_film_stops() {
    let (camera, hole) = (camera(), shapes::disc(0.34).unwrap());
    stops(|watch| film_map::run(&camera, &hole, watch));
}

/// What comes after its first question needs a picture of a chart.
#[test]
fn proving_stops() {
    let (camera, hole) = (camera(), shapes::disc(0.34).unwrap());
    let picture = Scene::Chart.drawn(60, 45).unwrap();
    let scale = Scale::read("10 px = 1 mm").unwrap();
    let edge = prove_edge::Request {
        camera: camera.clone(),
        hole: hole.clone(),
        picture: picture.clone(),
        scale: scale.clone(),
        edge_px: [30.0, 20.0],
        at_mm: [0.0, 0.0],
    };
    stops_after(&[0], |watch| prove_edge::run(&edge, watch));
    let scanner = Scanner::stated(0.0);
    let chart = prove::Request { camera, hole, distance_mm: 600.0, picture, scale, scanner };
    stops_after(&[0], |watch| prove::run(&chart, watch));
}
