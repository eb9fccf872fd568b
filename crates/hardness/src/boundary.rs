use glam::DVec2;
use last::ClosedSpline;
use mesh::outline::near_edges;

/// The boundary of what a region's curve covers, as directed edges with the covered side on their left.
///
/// A curve that does not cross itself covers its inside. One that does covers every place it goes round an odd number of
/// times: both lobes of a figure of eight, but not the doubly encircled core of a loop. Points on top of each other count
/// once. `None` if the curve covers nothing: fewer than three points, one that is not finite, or no area.
///
/// The edges stay within `sag_mm` of the smooth curve through `points`. They are closed chains: every place has as many edges
/// that end in it as edges that begin there.
pub(crate) fn boundary(points: &[DVec2], sag_mm: f64) -> Option<Vec<(DVec2, DVec2)>> {
    let corners = ClosedSpline::through(&distinct(points)).ok()?.flatten(sag_mm).0;
    let edges = (0..ATTEMPTS).find_map(|attempt| odd_boundary(&nudged(&corners, attempt)))?;
    let origin = edges.first()?.0;
    let area_mm2 = edges.iter().map(|(a, b)| (*a - origin).perp_dot(*b - origin)).sum::<f64>() / 2.0;
    (area_mm2 > LEAST_AREA_MM2).then_some(edges)
}

/// Regions smaller than this cover nothing, mm²: far below any tool, far above what rounding leaves of a curve that runs
/// back on itself.
const LEAST_AREA_MM2: f64 = 0.001;

/// Neighbouring points nearer than this are one, mm.
const DOUBLED_MM: f64 = 0.02;

/// How often a curve whose parts lie exactly on one another is tried, each time with its corners moved a little more.
const ATTEMPTS: usize = 5;

/// How far the corners are moved at the second attempt, mm: a thousandth of what can be made.
const NUDGE_MM: f64 = 1e-5;

fn distinct(points: &[DVec2]) -> Vec<DVec2> {
    let mut kept: Vec<DVec2> = Vec::with_capacity(points.len());
    for &point in points {
        // What is not a number stays, so that it is refused.
        let doubled = kept.last().is_some_and(|last| last.distance(point) < DOUBLED_MM);
        if !doubled {
            kept.push(point);
        }
    }
    while kept.len() > 1 && kept[0].distance(kept[kept.len() - 1]) < DOUBLED_MM {
        kept.pop();
    }
    kept
}

/// The corners, moved apart in a fixed pattern that puts no three of them on one line.
fn nudged(corners: &[DVec2], attempt: usize) -> Vec<DVec2> {
    let size_mm = NUDGE_MM * attempt as f64;
    // Multiples of the golden and the plastic ratio, modulo one, never repeat.
    let shift = |index: usize, ratio: f64| ((index + 1) as f64 * ratio).fract() - 0.5;
    let nudge = |index: usize| DVec2::new(shift(index, 0.618_033_988_749_895), shift(index, 0.754_877_666_246_693));
    corners.iter().enumerate().map(|(index, &corner)| corner + nudge(index) * size_mm).collect()
}

/// A place where two edges cross: on which edge, how far along it, where, and which crossing it is.
struct Visit {
    edge: usize,
    share: f64,
    at: DVec2,
    crossing: usize,
}

/// Cuts the polygon where it crosses itself and directs every piece so that the oddly encircled side is on its left:
/// that side changes whenever the polygon passes one of its own parts. `None` if some parts touch without crossing
/// properly, so that no side can be told.
fn odd_boundary(corners: &[DVec2]) -> Option<Vec<(DVec2, DVec2)>> {
    let count = corners.len();
    let visits = visits(corners)?;
    // At the rightmost corner the outside is to the right, so the turn there tells the covered side.
    let rightmost = (0..count)
        .max_by(|&i, &j| corners[i].x.total_cmp(&corners[j].x).then(corners[i].y.total_cmp(&corners[j].y)))?;
    let before = corners[(rightmost + count - 1) % count];
    let after = corners[(rightmost + 1) % count];
    let turn = (corners[rightmost] - before).perp_dot(after - corners[rightmost]);
    if turn == 0.0 {
        return None;
    }
    let mut covered_left = turn > 0.0;
    let mut first_side = vec![None; visits.len() / 2];
    let mut edges = Vec::with_capacity(count + visits.len());
    let mut add = |from: DVec2, to: DVec2, covered_left: bool| {
        if from != to {
            edges.push(if covered_left { (from, to) } else { (to, from) });
        }
    };
    for step in 0..count {
        let edge = (rightmost + step) % count;
        let mut from = corners[edge];
        let start = visits.partition_point(|visit| visit.edge < edge);
        for visit in visits[start..].iter().take_while(|visit| visit.edge == edge) {
            add(from, visit.at, covered_left);
            from = visit.at;
            // Two parts that cross see the covered side on opposite hands.
            match first_side[visit.crossing] {
                None => first_side[visit.crossing] = Some(covered_left),
                Some(side) if side == covered_left => return None,
                Some(_) => {}
            }
            covered_left = !covered_left;
        }
        add(from, corners[(edge + 1) % count], covered_left);
    }
    Some(edges)
}

/// Every place where two edges cross, once for each of the two, in order along the polygon. `None` if an end of one lies
/// exactly on another.
fn visits(corners: &[DVec2]) -> Option<Vec<Visit>> {
    let count = corners.len();
    let ends = |edge: usize| (corners[edge], corners[(edge + 1) % count]);
    let side = |p: DVec2, q: DVec2, r: DVec2| (q - p).perp_dot(r - p);
    let mut visits = Vec::new();
    for (i, j) in near_edges(corners) {
        let ((a, b), (c, d)) = (ends(i), ends(j));
        let (of_c, of_d, of_a, of_b) = (side(a, b, c), side(a, b, d), side(c, d, a), side(c, d, b));
        if of_c * of_d > 0.0 || of_a * of_b > 0.0 {
            continue;
        }
        if of_a * of_b * of_c * of_d == 0.0 {
            return None;
        }
        let (share_i, share_j) = (of_a / (of_a - of_b), of_c / (of_c - of_d));
        let (at, crossing) = (c.lerp(d, share_j), visits.len() / 2);
        visits.push(Visit { edge: i, share: share_i, at, crossing });
        visits.push(Visit { edge: j, share: share_j, at, crossing });
    }
    base::sort_by(&mut visits, |a, b| a.edge.cmp(&b.edge).then(a.share.total_cmp(&b.share)));
    Some(visits)
}
