//! Summits of a profile: samples at even distances, some of them higher than their surroundings.

use glam::DVec3;

/// How far the profile falls on the less deep side of a sample before it rises higher; 0 on a slope and at an end.
pub(super) fn prominence(heights: &[f64], summit: usize) -> f64 {
    let Some(&top) = heights.get(summit) else { return 0.0 };
    let fall = |side: &mut dyn Iterator<Item = &f64>| {
        top - side.take_while(|&&height| height <= top).fold(top, |least, &height| least.min(height))
    };
    let before = fall(&mut heights[..summit].iter().rev());
    let after = fall(&mut heights[summit + 1..].iter());
    before.min(after)
}

/// The samples that stand out by more than `least`, in the order of the profile.
pub(super) fn summits(heights: &[f64], least: f64) -> Vec<usize> {
    (0..heights.len()).filter(|&k| prominence(heights, k) > least).collect()
}

/// Where the profile stops rising along a way from sample to sample; `None` if it rises all the way.
pub(super) fn uphill(heights: &[f64], way: Vec<usize>) -> Option<usize> {
    way.windows(2).find(|step| heights[step[1]] <= heights[step[0]]).map(|step| step[0])
}

/// The summit itself, between samples: where the parabola through the sample and those `reach` away on both sides is
/// highest, and the points of the profile there. At most `reach` from the sample.
pub(super) fn between_samples(points: &[DVec3], up: DVec3, summit: usize, reach: usize) -> DVec3 {
    let at = |k: usize| points[k];
    let (Some(before), Some(after)) = (summit.checked_sub(reach), Some(summit + reach).filter(|&k| k < points.len()))
    else {
        return at(summit);
    };
    let [a, b, c] = [before, summit, after].map(|k| at(k).dot(up));
    let bend = a - 2.0 * b + c;
    if bend >= 0.0 {
        return at(summit);
    }
    // From −1 at the sample before to 1 at the one after.
    let t = ((a - c) / (2.0 * bend)).clamp(-1.0, 1.0);
    let [wa, wb, wc] = [t * (t - 1.0) / 2.0, 1.0 - t * t, t * (t + 1.0) / 2.0];
    wa * at(before) + wb * at(summit) + wc * at(after)
}

/// The sample that reaches farthest out in a profile that shows one bulge.
///
/// Where the profile is highest at an end of what was looked at, that end belongs to something beyond (a hallux that
/// reaches farther out than the ball does): then the bulge is what stands out farthest over the straight line from end
/// to end, and on it the nearest summit.
pub(super) fn farthest_bulge(reach: &[f64]) -> Option<usize> {
    let last = reach.len().checked_sub(1)?;
    let highest = |height: &dyn Fn(usize) -> f64| (0..=last).max_by(|&a, &b| height(a).total_cmp(&height(b)));
    let farthest = highest(&|k| reach[k])?;
    let margin = END.min(last / 4);
    if farthest > margin && farthest + margin < last {
        return Some(farthest);
    }
    let chord = |k: usize| reach[0] + (reach[last] - reach[0]) * k as f64 / last.max(1) as f64;
    let bulge = highest(&|k| reach[k] - chord(k))?;
    let near = |way: Vec<usize>| uphill(reach, way).filter(|&k| k > margin && k + margin < last);
    let back = near((bulge.saturating_sub(TO_BULGE)..=bulge).rev().collect());
    let ahead = near((bulge..=(bulge + TO_BULGE).min(last)).collect());
    let summit = [back, ahead].into_iter().flatten().max_by(|&a, &b| reach[a].total_cmp(&reach[b]));
    summit.or(Some(bulge))
}

/// A profile highest within this many samples of an end is not done rising.
const END: usize = 4;

/// The summit of a bulge lies at most this many samples from where it stands out farthest over the straight line.
const TO_BULGE: usize = 10;

#[cfg(test)]
mod tests {
    use super::*;
    use glam::dvec3;

    #[test]
    fn summits_stand_out_from_both_sides() {
        let heights = [0.0, 3.0, 1.0, 5.0, 4.8, 4.9, 2.0];
        assert_eq!(summits(&heights, 0.5), [1, 3]);
        assert!((prominence(&heights, 1) - 2.0).abs() < 1e-12);
        assert!((prominence(&heights, 3) - 3.0).abs() < 1e-12);
        assert!((prominence(&heights, 5) - 0.1).abs() < 1e-12);
        assert!(summits(&[1.0, 2.0, 3.0], 0.0).is_empty());
        assert!(prominence(&[], 0) <= 0.0);
        assert_eq!(uphill(&heights, vec![2, 3, 4]), Some(3));
        assert_eq!(uphill(&heights, vec![2, 1, 0]), Some(1));
        assert_eq!(uphill(&heights, vec![2, 3]), None);
    }

    #[test]
    fn what_rises_beyond_the_end_is_no_bulge() {
        let hump = |k: f64| 3.0 - (k - 15.0) * (k - 15.0) / 50.0;
        let alone: Vec<f64> = (0..40).map(|k| hump(f64::from(k))).collect();
        assert_eq!(farthest_bulge(&alone), Some(15));
        // A second rise towards the end reaches farther out.
        let beyond: Vec<f64> = (0..40).map(|k| hump(f64::from(k)).max(f64::from(k) * 0.4 - 10.0)).collect();
        assert!(beyond[39] > beyond[15]);
        assert_eq!(farthest_bulge(&beyond), Some(15));
        // A shoulder without a summit of its own: where it stands out farthest.
        let shoulder: Vec<f64> = (0..40).map(|k| hump(f64::from(k)) + 1.2 * f64::from(k)).collect();
        assert!(farthest_bulge(&shoulder).is_some_and(|k| (10..=30).contains(&k)));
        assert_eq!(farthest_bulge(&[]), None);
        assert_eq!(farthest_bulge(&[1.0]), Some(0));
    }

    /// On a parabola the answer is exact, wherever the samples lie.
    #[test]
    fn a_summit_is_found_between_samples() {
        for phase in [0.0, 0.3, 0.49] {
            let points: Vec<DVec3> = (0..9)
                .map(|k| f64::from(k) - 4.0 + phase)
                .map(|y| dvec3(100.0 - 0.2 * (y - 0.1) * (y - 0.1), y, 2.0 * y))
                .collect();
            let found = between_samples(&points, DVec3::X, 4, 2);
            assert!(found.distance(dvec3(100.0, 0.1, 0.2)) < 1e-9, "{found}");
        }
    }
}
