//! Fields: a number with its unit and steps, and lists of them. A field commits on Enter, on leaving it and on each
//! step of its arrows; what is refused turns back to the value in force.

use super::state::ui;
use engine::view::ParamView;
use leptos::html::Input;
use leptos::prelude::*;

/// Where a value that was not decided comes from, in a word beside it.
pub(crate) type OriginWord = fn(&str) -> &'static str;

/// What is fixed about a number field.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct NumberSpec {
    /// Test id; the reset button's is the same with `-reset`.
    pub(crate) testid: String,
    pub(crate) label: String,
    pub(crate) unit: String,
    pub(crate) min: f64,
    pub(crate) max: f64,
    pub(crate) step: f64,
    pub(crate) help: String,
}

/// A number as a field shows it: as many places as the step needs, one more where the value has them.
pub(crate) fn show(value: f64, step: f64) -> String {
    let places = if step >= 1.0 {
        usize::from((value - value.round()).abs() > 0.049)
    } else if step >= 0.1 {
        1
    } else {
        2
    };
    let text = format!("{value:.places$}");
    // A rounded small negative is still zero.
    if text.trim_start_matches(['-', '0', '.']).is_empty() { text.trim_start_matches('-').to_owned() } else { text }
}

/// A number in a sentence or on a ruler: a true minus sign, and none before a zero.
pub(crate) fn number(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    match text.strip_prefix('-') {
        Some(digits) if digits.trim_matches(['0', '.']).is_empty() => digits.to_owned(),
        Some(digits) => format!("−{digits}"),
        None => text,
    }
}

/// What the engine says as part of a sentence, as a sentence: a capital at its beginning, a stop at its end.
pub(crate) fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    let stop = if text.ends_with(['.', '?', '!']) { "" } else { "." };
    letters.next().map_or_else(String::new, |first| format!("{}{}{stop}", first.to_ascii_uppercase(), letters.as_str()))
}

/// A label, a number and its unit. `origin` is `None` for a decided value, else a word on where it comes from; with
/// `reset` a decided value can be given back.
#[component]
pub(crate) fn NumberField(
    spec: NumberSpec,
    #[prop(into)] value: Signal<Option<f64>>,
    #[prop(into)] set: Callback<f64>,
    #[prop(into, optional)] origin: Option<Signal<Option<&'static str>>>,
    #[prop(into, optional)] reset: Option<Callback<()>>,
) -> impl IntoView {
    let ui = ui();
    let input = NodeRef::<Input>::new();
    let step = spec.step;
    let shown = move || value.get().map(|value| show(value, step)).unwrap_or_default();
    Effect::new(move |_| {
        ui.refused.track();
        let text = shown();
        if let Some(input) = input.get() {
            input.set_value(&text);
        }
    });
    let commit = move |_| {
        let Some(input) = input.get_untracked() else { return };
        let typed = input.value().trim().replace(',', ".");
        match typed.parse::<f64>() {
            Ok(number) if typed != untrack(shown) => set.run(number),
            Ok(_) => {}
            Err(_) => input.set_value(&untrack(shown)),
        }
    };
    let hint = hint_of(&spec);
    let NumberSpec { testid, label, unit, min, max, .. } = spec;
    let name = if unit.is_empty() { label.clone() } else { format!("{label}, {unit}") };
    let word = origin.map(|origin| {
        let reset_id = format!("{testid}-reset");
        let reset_label = format!("Give {} back", label.to_ascii_lowercase());
        view! {
            <span class="origin">
                {move || match (origin.get(), reset) {
                    (Some(word), _) => view! { <span class="origin-word">{word}</span> }.into_any(),
                    (None, Some(reset)) => view! {
                        <button class="quiet" data-testid=reset_id.clone() title=reset_label.clone() aria-label=reset_label.clone()
                            on:click=move |_| reset.run(())>"↺"</button>
                    }
                    .into_any(),
                    (None, None) => ().into_any(),
                }}
            </span>
        }
    });
    view! {
        <div class="field" class:decided=move || origin.is_some_and(|origin| origin.get().is_none())
            on:focusin=move |_| ui.hint.set(hint.clone())>
            <label class="field-label" for=testid.clone()>{label}</label>
            {word}
            <input node_ref=input id=testid.clone() data-testid=testid type="number" inputmode="decimal"
                min=min max=max step=step aria-label=name on:change=commit />
            <span class="unit" aria-hidden="true">{unit}</span>
        </div>
    }
}

/// A label and a choice of one out of some words. `options` are each word with what is shown for it.
#[component]
pub(crate) fn ChoiceField(
    /// Test id, and the id its label points to.
    #[prop(into)]
    testid: String,
    label: &'static str,
    #[prop(into)] options: Signal<Vec<(String, String)>>,
    #[prop(into)] value: Signal<String>,
    #[prop(into)] set: Callback<String>,
    #[prop(optional)] title: &'static str,
) -> impl IntoView {
    let choose = move |event: leptos::ev::Targeted<leptos::ev::Event, web_sys::HtmlSelectElement>| {
        set.run(event.target().value());
    };
    view! {
        <div class="field">
            <label class="field-label" for=testid.clone()>{label}</label>
            <select id=testid.clone() data-testid=testid title=title on:change:target=choose prop:value=value>
                <For each=move || options.get() key=|(word, _)| word.clone()
                    children=|(word, shown)| view! { <option value=word>{shown}</option> } />
            </select>
        </div>
    }
}

/// The options of a [`ChoiceField`] that stay what they are.
pub(crate) fn fixed<'a>(options: impl IntoIterator<Item = (&'a str, &'a str)>) -> Signal<Vec<(String, String)>> {
    let owned: Vec<_> = options.into_iter().map(|(word, shown)| (word.to_owned(), shown.to_owned())).collect();
    Signal::stored(owned)
}

/// A list of numbers of the case, as the engine describes them.
#[component]
pub(crate) fn ParamList(
    /// Starts every test id.
    #[prop(into)]
    prefix: String,
    #[prop(into)] params: Signal<Vec<ParamView>>,
    /// Sets a number; `None` gives it back.
    #[prop(into)]
    set: Callback<(String, Option<f64>)>,
    /// What to call a number that was not decided; without it there is no way back and no word.
    #[prop(optional)]
    origin: Option<OriginWord>,
) -> impl IntoView {
    let ids = Memo::new(move |_| params.with(|params| params.iter().map(|param| param.id.clone()).collect::<Vec<_>>()));
    view! {
        <div class="fields">
            <For each=move || ids.get() key=Clone::clone children=move |id| {
                let found = params.with_untracked(|params| params.iter().find(|param| param.id == id).cloned());
                let Some(first) = found else { return ().into_any() };
                let now = {
                    let id = id.clone();
                    Memo::new(move |_| params.with(|params| {
                        params.iter().find(|param| param.id == id).map(|param| (param.value, param.decided))
                    }))
                };
                let spec = spec_of(&prefix, &first);
                let value = Signal::derive(move || now.get().map(|(value, _)| value));
                let set_value = { let id = id.clone(); Callback::new(move |value| set.run((id.clone(), Some(value)))) };
                match origin {
                    Some(word) => {
                        let word = word(&id);
                        let origin = Signal::derive(move || now.get().and_then(|(_, decided)| (!decided).then_some(word)));
                        let reset = Callback::new(move |()| set.run((id.clone(), None)));
                        view! { <NumberField spec value set=set_value origin reset /> }.into_any()
                    }
                    None => view! { <NumberField spec value set=set_value /> }.into_any(),
                }
            } />
        </div>
    }
}

fn spec_of(prefix: &str, param: &ParamView) -> NumberSpec {
    NumberSpec {
        testid: format!("{prefix}-{}", param.id),
        label: param.label.clone(),
        unit: param.unit.clone(),
        min: param.min,
        max: param.max,
        step: param.step,
        help: param.help.clone(),
    }
}

fn hint_of(spec: &NumberSpec) -> String {
    let NumberSpec { label, unit, min, max, help, .. } = spec;
    let range = format!("{} to {} {unit}", number(*min, 0), number(*max, usize::from(max.fract() != 0.0)));
    format!("{label}. {help} Accepts {}.", range.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_the_places_their_step_needs() {
        assert_eq!(show(14.0, 0.5), "14.0");
        assert_eq!(show(14.0, 1.0), "14");
        assert_eq!(show(14.26, 1.0), "14.3");
        assert_eq!(show(0.8, 0.05), "0.80");
        assert_eq!(show(-0.04, 0.5), "0.0");
        assert_eq!((number(-0.2, 0), number(-3.26, 1), number(10.0, 0)), ("0".into(), "−3.3".into(), "10".into()));
        assert_eq!(show(-3.25, 0.1), "-3.2");
    }
}
