//! The few smooth curves every surface here is made of.

/// 0 at and below 0, 1 at and above 1, in between a quintic whose first and second derivatives vanish at both ends,
/// so that what is blended with it stays twice continuously differentiable.
pub(crate) fn step(t: f64) -> f64 {
    let t = t.clamp(0.0, 1.0);
    t * t * t * (t * (6.0 * t - 15.0) + 10.0)
}

/// Like [`step`], but a cubic: a fifth less steep in the middle, and only its first derivative vanishes at the ends.
pub(crate) fn gentle_step(t: f64) -> f64 {
    let t = t.clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// [`step`] over `from`…`to`; falls instead of rises where `to < from`.
pub(crate) fn step_over(from: f64, to: f64, value: f64) -> f64 {
    step((value - from) / (to - from))
}

/// 1 at 0, falling to 0 at −1 and 1 with vanishing first derivative there: (1 − t²)².
pub(crate) fn bump(t: f64) -> f64 {
    let rest = (1.0 - t * t).max(0.0);
    rest * rest
}

/// The lesser of two values, with the corner between them rounded over a difference of `width`.
///
/// Exactly `min(a, b)` where they differ by `width` or more, at most `width / 6` below it elsewhere, twice
/// continuously differentiable in both.
pub(crate) fn lesser(a: f64, b: f64, width: f64) -> f64 {
    let near = (1.0 - (a - b).abs() / width).max(0.0);
    a.min(b) - near * near * near * width / 6.0
}

/// The greater of two values, rounded like [`lesser`].
pub(crate) fn greater(a: f64, b: f64, width: f64) -> f64 {
    -lesser(-a, -b, width)
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "these values are exact")]
mod tests {
    use super::{lesser, step, step_over};

    #[test]
    fn step_is_flat_at_both_ends_and_half_way_up_in_the_middle() {
        assert_eq!((step(-1.0), step(0.0), step(1.0), step(2.0)), (0.0, 0.0, 1.0, 1.0));
        assert!((step(0.5) - 0.5).abs() < 1e-15);
        assert!((step_over(10.0, 4.0, 7.0) - 0.5).abs() < 1e-15);
        assert!(step(1e-4) < 1e-10);
    }

    #[test]
    fn lesser_has_no_corner_and_never_exceeds_the_minimum() {
        let h = 1e-5;
        for i in -500..=500 {
            let a = f64::from(i) * 0.01;
            assert!(lesser(a, 0.0, 2.0) <= a.min(0.0));
            assert!(lesser(a, 0.0, 2.0) >= a.min(0.0) - 2.0 / 6.0 - 1e-12);
            let slope = |x: f64| (lesser(x + h, 0.0, 2.0) - lesser(x - h, 0.0, 2.0)) / (2.0 * h);
            assert!((slope(a + 1e-3) - slope(a - 1e-3)).abs() < 5e-3, "a corner at {a}");
        }
        assert_eq!(lesser(5.0, 1.0, 2.0), 1.0);
    }
}
