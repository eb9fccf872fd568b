use crate::outlined::Outlined;
use base::value_of;
use case::FootCase;
use glam::DVec2;
use last::{BottomPlan, LastBottom};

/// How the insole made is bent to the last's bottom. It is designed as the foot stood on the scanner, level; heel pitch, toe
/// spring, bottom radius and seat move top and bottom alike, so that its thickness stays what was designed.
pub(crate) struct Bend {
    bottom: LastBottom,
    share: f64,
}

impl Bend {
    /// The bend of a foot's insole; `None` while the last is flat or is not followed.
    pub(crate) fn of(foot: &FootCase, outlined: &Outlined) -> Option<Bend> {
        // A bottom that is not one would have been refused when its numbers were set.
        let bottom = LastBottom::new(BottomPlan::of(&outlined.fitted), &foot.last).ok()?;
        let share = value_of(&foot.surface, &insole::FOLLOW_LAST) / 100.0;
        (!bottom.is_flat() && share > 0.0).then_some(Bend { bottom, share })
    }

    /// By how much the insole is lifted at `p`, mm.
    pub(crate) fn height(&self, p: DVec2) -> f64 {
        self.bottom.height(p) * self.share
    }
}
