use base::value_of;
use foot::{LandmarkId, Landmarks};
use glam::{DVec2, DVec3};
use insole::elements::{Element, by_id};
use insole::{Edge, ElementItem, HandleKind, Site, Surface, Thin};
use mesh::Grid;
use std::sync::Arc;

/// An element on the finished insole.
#[derive(Clone)]
pub struct PlacedFacts<'a> {
    /// As it was decided.
    pub item: &'a ElementItem,
    /// Its kind.
    pub kind: &'static dyn Element,
    /// Its crest, on the top.
    pub at: DVec3,
    /// What it adds to its face at its crest, mm; negative where it takes away.
    pub height_mm: f64,
    /// Where it takes away, the place where most thickness is missing, or least is to spare; `None` where it takes nothing
    /// away.
    pub leaves: Option<Thin>,
    /// How far it was moved from where its rule places it on this foot, mm; `None` for one that is not moved freely, and
    /// without the landmarks.
    pub off_rule_mm: Option<f64>,
    /// What it adds under the metatarsal heads that are known, mm.
    pub under_heads: Vec<(LandmarkId, f64)>,
    /// Number of the others on the same face, and what they add at its crest, mm.
    pub others: Vec<(u32, f64)>,
}

impl PlacedFacts<'_> {
    /// The number in force of its parameter `id`: within its range, the default where there is none, 0 for an id that is
    /// not its kind's.
    #[must_use]
    pub fn number(&self, id: &str) -> f64 {
        self.kind.params().iter().find(|spec| spec.id == id).map_or(0.0, |spec| {
            let value = value_of(&self.item.params, spec);
            if value.is_finite() { value.clamp(spec.min, spec.max) } else { spec.default }
        })
    }

    /// What it is called within a sentence.
    #[must_use]
    pub fn name(&self) -> String {
        self.kind.label().to_ascii_lowercase()
    }

    /// Whether its strength is an angle: it tilts what lies on it.
    #[must_use]
    pub fn is_wedge(&self) -> bool {
        self.kind.params().iter().any(|spec| spec.id == self.kind.strength() && spec.unit == "°")
    }
}

impl std::fmt::Debug for PlacedFacts<'_> {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.debug_struct("PlacedFacts").field("item", self.item).field("at", &self.at).finish_non_exhaustive()
    }
}

/// Less than this is no taking away, mm: the last of a run-out.
const TAKES_MM: f64 = 0.05;

/// What came of the elements that act and are known. `thickness`: samples of the surface's own, not a number beside the
/// insole.
#[must_use]
pub fn placed<'a>(
    items: &'a [ElementItem],
    landmarks: &Landmarks,
    surface: &Surface,
    thickness: &Grid,
) -> Vec<PlacedFacts<'a>> {
    let edge = surface.base().edge();
    let known: Vec<_> = items
        .iter()
        .filter(|item| item.on)
        .filter_map(|item| by_id(&item.kind).map(|kind| (item, kind, kind.shape(item, edge))))
        .collect();
    let heads = LandmarkId::METATARSAL_HEADS.into_iter();
    let heads: Vec<_> = heads.filter_map(|id| Some((id, landmarks.get(&id)?.at.truncate()))).collect();
    known
        .iter()
        .map(|(item, kind, shape)| {
            let at = kind.crest(item, edge);
            let others = known.iter().filter(|(other, of, _)| other.id != item.id && of.face() == kind.face());
            PlacedFacts {
                item,
                kind: *kind,
                at: at.extend(surface.top(at)),
                height_mm: shape(at),
                leaves: leaves(surface, thickness, kind.bounds(item, edge), shape),
                off_rule_mm: off_rule_mm(*kind, item, &Site { landmarks, edge }),
                under_heads: heads.iter().map(|&(id, head)| (id, shape(head))).collect(),
                others: others.map(|(other, _, of)| (other.id, of(at))).collect(),
            }
        })
        .collect()
}

/// Where `shape`, which is zero outside the box, takes away, the thickness that misses most.
fn leaves(surface: &Surface, thickness: &Grid, (lo, hi): (DVec2, DVec2), shape: impl Fn(DVec2) -> f64) -> Option<Thin> {
    let of_samples = |least: f64, most: f64, count: usize| {
        let [from, to] = [least, most].map(|place| (place / thickness.step_mm).max(0.0).ceil() as usize);
        from.min(count)..to.min(count)
    };
    let (lo, hi) = (lo - thickness.origin_mm, hi - thickness.origin_mm);
    let columns = of_samples(lo.x, hi.x, thickness.columns);
    of_samples(lo.y, hi.y, thickness.rows)
        .flat_map(|row| columns.clone().map(move |column| (column, row)))
        .map(|(column, row)| (thickness.at(column, row), f64::from(thickness.get(column, row))))
        .filter(|&(at, mm)| mm.is_finite() && shape(at) < -TAKES_MM)
        .map(|(at, mm)| surface.thin(at, mm))
        .reduce(Thin::worse)
}

/// How far its first handle lies from where it would with the place its rule gives it, its choices kept.
fn off_rule_mm(kind: &dyn Element, item: &ElementItem, site: &Site) -> Option<f64> {
    let by_rule = |site: &Site| {
        let mut params = kind.place(site);
        let choices = item.params.iter().filter(|(id, _)| !kind.words(id).is_empty());
        params.extend(choices.map(|(id, &choice)| (id.clone(), choice)));
        free_handle(kind, &ElementItem { params, curve: Vec::new(), ..item.clone() }, site.edge)
    };
    let placed = by_rule(site)?;
    // A rule that goes by no landmark has none of those it needs.
    let without = by_rule(&Site { landmarks: &Landmarks::new(), ..*site })?;
    (placed != without).then_some(free_handle(kind, item, site.edge)?.distance(placed))
}

/// The handle that moves an element whole, if it moves it anywhere.
fn free_handle(kind: &dyn Element, item: &ElementItem, edge: &Arc<Edge>) -> Option<DVec2> {
    kind.handles(item, edge).first().filter(|handle| handle.kind == HandleKind::Point).map(|handle| handle.at)
}
