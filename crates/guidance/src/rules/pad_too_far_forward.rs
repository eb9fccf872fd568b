use crate::{Advice, Rule, metatarsal_line_x};
use base::{Severity, Source};
use glam::DVec2;

/// The front edge of a metatarsal pad may come this near to the line of the heads, mm.
const LEAST_BEHIND_MM: f64 = 2.0;
/// Farther behind than this a pad was found to do little, mm: two sensors of 4.4 mm and the usual 5 to 10 mm before.
const MOST_BEHIND_MM: f64 = 18.0;

/// A metatarsal pad belongs just behind the heads.
pub(super) const RULE: Rule = Rule {
    id: "metatarsal_pad_place",
    about: "A pad under the heads presses where it should relieve; one far behind does little.",
    source: Source::seen(
        "just proximal to the head −37 % peak pressure, two sensors farther no significant drop: Hsi et al. 2005, Am J Phys \
         Med Rehabil 84:514; 6 to 10 mm behind the peak: podiatry trade article quoting a 2003 study. The evidence conflicts: \
         J Foot Ankle Res 2014 7:18 found 5 mm distal no worse",
    ),
    check: |facts| {
        let pads = facts.elements.iter().filter(|item| item.on && item.kind == "metatarsal_pad");
        pads.filter_map(|pad| {
            let (x, y) = (*pad.params.get("x_mm")?, *pad.params.get("y_mm")?);
            let behind = metatarsal_line_x(facts.landmarks, y)? - x;
            let text = if behind < LEAST_BEHIND_MM {
                let forward = LEAST_BEHIND_MM - behind;
                format!("The pad lies {forward:.1} mm too far forward: its front edge is {behind:.1} mm behind the line of the metatarsal heads.")
            } else if behind > MOST_BEHIND_MM {
                format!("The pad's front edge is {behind:.1} mm behind the line of the metatarsal heads: so far back a pad was found to relieve little.")
            } else {
                return None;
            };
            let advice = "Its front edge belongs about 5 to 10 mm behind the metatarsal heads.";
            Some(Advice::new(Severity::Check, text, advice).at(DVec2::new(x, y).extend(0.0)))
        })
        .collect()
    },
};
