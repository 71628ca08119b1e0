//! Which hole for which camera: the holes of a drawer in the cameras of a shelf.

use super::appraise::{Candidate, check_names};
use crate::camera::Camera;
use crate::error::Error;
use crate::verdict::merit::quality;
use crate::verdict::target::best_disc;
use crate::watch::{Step, Watch};
use serde::Serialize;

/// More cameras or holes are not shared out at once.
const MOST: usize = 12;

/// What to share out.
#[derive(Debug, Clone)]
pub struct Request {
    /// The cameras.
    pub cameras: Vec<Camera>,
    /// The holes.
    pub holes: Vec<Candidate>,
}

/// What every hole loses in every camera, and the best way to share them out.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Answer {
    /// The holes: their words, or their numbers in a scan.
    pub holes: Vec<String>,
    /// The cameras, in the order they were given.
    pub cameras: Vec<Shelved>,
}

/// A camera, and the hole that it should have.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Shelved {
    /// Its name.
    pub camera: String,
    /// The diameter to aim for in it, in mm.
    pub best_diameter_mm: f64,
    /// What each hole loses in it, in just-noticeable differences, in the order of the holes; null for one that could
    /// not be measured.
    pub loss_jnd: Vec<Option<f64>>,
    /// The hole that it gets, by its place among the holes, from 0; null where there are fewer holes than cameras.
    pub hole: Option<usize>,
}

/// Shares holes out so that the cameras lose the least together.
///
/// # Errors
/// [`NotUnderstood`](crate::Kind::NotUnderstood) for two different cameras of one name, which nobody could tell apart; [`BeyondLimit`](crate::Kind::BeyondLimit) for more than twelve of
/// either; a stop by the watcher.
pub fn run(request: &Request, watch: Watch) -> Result<Answer, Error> {
    let Request { cameras, holes } = request;
    if cameras.len() > MOST || holes.len() > MOST {
        return Err(Error::limit(
            format!("{} holes for {} cameras are too many", holes.len(), cameras.len()),
            format!("give at most {MOST} of each"),
        ));
    }
    check_names(cameras)?;
    let shelved = |(i, camera): (usize, &Camera)| {
        watch.is_at(Step::Holes, i as f64 / cameras.len() as f64)?;
        let (best_diameter_mm, best_jnd) = best_disc(camera);
        let loss = |one: &Candidate| {
            let hole = one.hole.as_ref().ok()?;
            Some((best_jnd - quality(camera, &hole.outline)).max(0.0))
        };
        Ok(Shelved {
            camera: camera.name.clone(),
            best_diameter_mm,
            loss_jnd: holes.iter().map(loss).collect(),
            hole: None,
        })
    };
    let shelf: Result<Vec<Shelved>, Error> = cameras.iter().enumerate().map(shelved).collect();
    let mut cameras = shelf?;
    let losses: Vec<&[Option<f64>]> = cameras.iter().map(|one| &one.loss_jnd[..]).collect();
    let given = least_together(&losses, holes.len());
    for (camera, hole) in cameras.iter_mut().zip(given) {
        camera.hole = hole;
    }
    Ok(Answer { holes: holes.iter().map(|hole| hole.name.clone()).collect(), cameras })
}

/// A hole for each camera so that as many as can have one, and they lose the least together: over all sets of holes that
/// are given away, camera by camera.
fn least_together(losses: &[&[Option<f64>]], holes: usize) -> Vec<Option<usize>> {
    // A camera without a hole costs more than any hole.
    const NONE: f64 = 1e6;
    let sets = 1usize << holes;
    let mut costs = vec![f64::INFINITY; sets];
    costs[0] = 0.0;
    let mut taken: Vec<Vec<(usize, Option<usize>)>> = Vec::new();
    for row in losses {
        let mut next = vec![f64::INFINITY; sets];
        let mut from = vec![(0, None); sets];
        for set in (0..sets).filter(|set| costs[*set].is_finite()) {
            let without = (set, None, NONE);
            let each = row.iter().enumerate().filter_map(|(hole, loss)| {
                (set >> hole & 1 == 0).then_some((set | 1 << hole, Some(hole), (*loss)?))
            });
            for (after, hole, cost) in each.chain([without]) {
                if costs[set] + cost < next[after] {
                    next[after] = costs[set] + cost;
                    from[after] = (set, hole);
                }
            }
        }
        costs = next;
        taken.push(from);
    }
    let mut set = (0..sets).min_by(|a, b| costs[*a].total_cmp(&costs[*b])).unwrap_or(0);
    let mut given: Vec<Option<usize>> = taken
        .iter()
        .rev()
        .map(|from| {
            let (before, hole) = from[set];
            set = before;
            hole
        })
        .collect();
    given.reverse();
    given
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first camera's best hole is worth more to the second.
    #[test]
    fn holes_go_where_they_lose_least_together() {
        let rows = [vec![Some(1.0), Some(2.0), None], vec![Some(1.5), Some(9.0), Some(8.0)]];
        let losses: Vec<&[Option<f64>]> = rows.iter().map(|row| &row[..]).collect();
        assert_eq!(least_together(&losses, 3), [Some(1), Some(0)]);
        // Fewer holes than cameras: the one that loses least has it.
        let rows = [vec![Some(4.0)], vec![Some(1.0)]];
        let losses: Vec<&[Option<f64>]> = rows.iter().map(|row| &row[..]).collect();
        assert_eq!(least_together(&losses, 1), [None, Some(0)]);
    }
}
