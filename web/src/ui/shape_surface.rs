//! Shape: the numbers of the bearing surface, in groups.

use super::fields::ParamList;
use super::stage_shape::fold;
use super::state::{Ui, ui};
use base::Side;
use case::Edit;
use engine::view::{ArchView, ParamView};
use insole::GROUPS;
use leptos::prelude::*;

/// The part of the panel.
pub(super) fn surface(ui: Ui) -> AnyView {
    let params = ui.active(|foot| foot.surface.clone());
    let both = move || Side::ALL.into_iter().all(|side| ui.has(side));
    let groups = (0..GROUPS.len()).map(|index| group(ui, index, params)).collect_view();
    view! {
        {move || both().then(|| view! {
            <label class="choice" title="A number set or given back here is so on both feet, in one step">
                <input type="checkbox" data-testid="surface-both" prop:checked=move || ui.both.get()
                    on:change=move |_| ui.both.update(|both| *both = !*both) />
                <span>"Both feet alike"</span>
            </label>
        })}
        {groups}
    }
    .into_any()
}

fn group(ui: Ui, index: usize, params: Memo<Option<Vec<ParamView>>>) -> AnyView {
    let Some(&(first, title)) = GROUPS.get(index) else { return ().into_any() };
    let of_group = Memo::new(move |_| params.with(|params| members(params.as_deref().unwrap_or_default(), index)));
    let decided = move || of_group.with(|params| params.iter().filter(|param| param.decided).count());
    let count = move || Some(decided()).filter(|count| *count > 0).map(|count| format!("{count} set"));
    let title =
        view! { <span data-testid=format!("decided-{first}")>{title}<span class="origin-word">{count}</span></span> };
    let set = move |(param, value)| set(ui, param, value);
    let content = view! {
        {(index == 0).then(|| view! { <Arch /> })}
        <ParamList prefix="surface" params=Signal::derive(move || of_group.get()) set origin />
    };
    fold(ui, first, title.into_any(), content.into_any())
}

/// The numbers from the first of a group to the first of the next one.
fn members(params: &[ParamView], index: usize) -> Vec<ParamView> {
    let place = |index: usize| {
        let first = GROUPS.get(index).map(|(first, _)| *first);
        params.iter().position(|param| Some(param.id.as_str()) == first).unwrap_or(params.len())
    };
    params.get(place(index)..place(index + 1)).unwrap_or_default().to_vec()
}

/// Decides a number of the active foot, or of both, or gives it back.
fn set(ui: Ui, param: String, value: Option<f64>) {
    let side = ui.side.get_untracked();
    let of = |side| Edit::SetSurface { side, param: param.clone(), value };
    let edit = of(side);
    if ui.both.get_untracked() && untrack(|| ui.has(side.other())) {
        let label = format!("{} on both feet", edit.label());
        ui.edit(Edit::Together { label, edits: vec![edit, of(side.other())] });
    } else {
        ui.edit(edit);
    }
}

/// What to call a number that was not decided.
fn origin(id: &str) -> &'static str {
    match id {
        "arch_height_mm" | "arch_fill" | "arch_length_mm" => "computed",
        "min_heel_mm" | "min_arch_mm" | "min_forefoot_mm" => "general",
        _ => "default",
    }
}

/// How the arch support came about.
#[component]
fn Arch() -> impl IntoView {
    let ui = ui();
    let arch = ui.active(|foot| foot.arch.clone());
    move || arch.get().map(arch_sum)
}

fn arch_sum(arch: ArchView) -> impl IntoView {
    let ArchView { apex_mm, fill, computed_mm, used_mm, bounds_mm: (least, most), by_hand } = arch;
    let how = if by_hand { "set by hand" } else { "as computed" };
    view! {
        <dl class="sum" data-testid="arch-sum">
            <div><dt>"Arch apex"</dt><dd>{format!("{apex_mm:.1} mm")}</dd></div>
            <div><dt>"× fill"</dt><dd>{format!("{fill:.2}")}</dd></div>
            <div><dt>"= computed"</dt><dd data-testid="arch-computed">{format!("{computed_mm:.1} mm")}</dd></div>
            <div class="total"><dt>"Used"</dt><dd><b data-testid="arch-used">{format!("{used_mm:.1} mm")}</b></dd></div>
        </dl>
        <p class="quiet-text">{format!("{how}; a computed height stays within {least:.1} to {most:.1} mm")}</p>
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_number_is_in_one_group() {
        let all: Vec<ParamView> = insole::PARAMS.iter().map(|spec| ParamView::new(spec, spec.default, false)).collect();
        let grouped: Vec<ParamView> = (0..GROUPS.len()).flat_map(|index| members(&all, index)).collect();
        assert_eq!(grouped, all);
        assert!((0..GROUPS.len()).all(|index| members(&all, index).len() < all.len()));
    }
}
