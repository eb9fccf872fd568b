//! Fields: a number with its unit and steps, and lists of them. A field commits on Enter, on leaving it and on each
//! step of its arrows; what is refused turns back to the value in force.

use super::state::ui;
use engine::view::ParamView;
use leptos::html::{Input, Select};
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

/// Where a value comes from, and the way back. `word` is `None` for a decided value, else a word on where it comes from; with
/// `reset` a decided value can be given back.
#[derive(Clone, Copy, Default)]
struct Origin {
    word: Option<Signal<Option<&'static str>>>,
    reset: Option<Callback<()>>,
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
    number_field(spec, None, value, set, Origin { word: origin, reset })
}

/// A label and a choice of one out of some words. `options` are each word with what is shown for it.
#[component]
pub(crate) fn ChoiceField(
    /// Test id, and the id its label points to.
    #[prop(into)]
    testid: String,
    #[prop(into)] label: String,
    #[prop(into)] options: Signal<Vec<(String, String)>>,
    #[prop(into)] value: Signal<String>,
    #[prop(into)] set: Callback<String>,
    /// Shown while it has the keyboard.
    #[prop(optional)]
    help: &'static str,
) -> impl IntoView {
    choice_field((testid, label, help.to_owned()), options, value, set, Origin::default())
}

fn number_field(
    spec: NumberSpec,
    usual: Option<(f64, f64)>,
    value: Signal<Option<f64>>,
    set: Callback<f64>,
    origin: Origin,
) -> AnyView {
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
    let hint = hint_of(&spec, usual);
    let NumberSpec { testid, label, unit, min, max, .. } = spec;
    let name = if unit.is_empty() { label.clone() } else { format!("{label}, {unit}") };
    let beyond = usual.map(|(least, most)| {
        let title = format!("Usual: {}", range(least, most, &unit));
        move || {
            value.get().is_some_and(|value| value < least || value > most).then(|| {
                view! {
                    <span class="origin-word" title=title.clone()>"unusual "</span>
                }
            })
        }
    });
    let control = view! {
        <input node_ref=input id=testid.clone() data-testid=testid.clone() type="number" inputmode="decimal"
            min=min max=max step=step aria-label=name on:change=commit />
        <span class="unit" aria-hidden="true">{unit}</span>
    };
    framed("field", (testid, label, hint), origin, beyond.into_any(), control.into_any())
}

fn choice_field(
    named: (String, String, String),
    options: Signal<Vec<(String, String)>>,
    value: Signal<String>,
    set: Callback<String>,
    origin: Origin,
) -> AnyView {
    let ui = ui();
    let list = NodeRef::<Select>::new();
    Effect::new(move |_| {
        ui.refused.track();
        let now = value.get();
        if let Some(list) = list.get() {
            list.set_value(&now);
        }
    });
    let choose = move |event: leptos::ev::Targeted<leptos::ev::Event, web_sys::HtmlSelectElement>| {
        set.run(event.target().value());
    };
    // A word that is offered only from now on may be the one in force.
    let option = move |(word, shown): (String, String)| {
        let chosen = value.with_untracked(|value| *value == word);
        view! { <option value=word prop:selected=chosen>{shown}</option> }
    };
    let testid = named.0.clone();
    let control = view! {
        <select node_ref=list id=testid.clone() data-testid=testid on:change:target=choose>
            <For each=move || options.get() key=|(word, _)| word.clone() children=option />
        </select>
    };
    framed("field pick", named, origin, ().into_any(), control.into_any())
}

/// A control with its label, a remark on its value and where that comes from; `named` are its test id, label and help.
fn framed(
    class: &'static str,
    named: (String, String, String),
    origin: Origin,
    remark: AnyView,
    control: AnyView,
) -> AnyView {
    let ui = ui();
    let (testid, label, hint) = named;
    let Origin { word, reset } = origin;
    let reset_id = format!("{testid}-reset");
    let reset_label = format!("Give {} back", label.to_ascii_lowercase());
    let mark = word.map(|word| {
        move || match (word.get(), reset) {
            (Some(word), _) => view! { <span class="origin-word">{word}</span> }.into_any(),
            (None, Some(reset)) => view! {
                <button class="quiet" data-testid=reset_id.clone() title=reset_label.clone() aria-label=reset_label.clone()
                    on:click=move |_| reset.run(())>"↺"</button>
            }
            .into_any(),
            (None, None) => ().into_any(),
        }
    });
    let help = move |_| {
        if !hint.is_empty() {
            ui.hint.set(hint.clone());
        }
    };
    view! {
        <div class=class class:decided=move || word.is_some_and(|word| word.get().is_none()) on:focusin=help>
            <label class="field-label" for=testid>{label}</label>
            <span class="origin">{remark}{mark}</span>
            {control}
        </div>
    }
    .into_any()
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
                let set_value = { let id = id.clone(); move |value| set.run((id.clone(), Some(value))) };
                let origin = origin.map_or_else(Origin::default, |word| {
                    let word = word(&id);
                    Origin {
                        word: Some(Signal::derive(move || now.get().and_then(|(_, decided)| (!decided).then_some(word)))),
                        reset: Some(Callback::new(move |()| set.run((id.clone(), None)))),
                    }
                });
                param_field(&prefix, first, Signal::derive(move || now.get().map(|(value, _)| value)), set_value, origin)
            } />
        </div>
    }
}

/// A number as such, or as a choice where its values have names.
fn param_field(
    prefix: &str,
    param: ParamView,
    value: Signal<Option<f64>>,
    set: impl Fn(f64) + Send + Sync + 'static,
    origin: Origin,
) -> AnyView {
    let spec = spec_of(prefix, &param);
    if param.words.is_empty() {
        return number_field(spec, param.usual, value, Callback::new(set), origin);
    }
    let options =
        param.words.into_iter().enumerate().map(|(index, word)| (index.to_string(), word)).collect::<Vec<_>>();
    let now = Signal::derive(move || value.get().map(|value| value.to_string()).unwrap_or_default());
    let choose = Callback::new(move |word: String| word.parse().into_iter().for_each(&set));
    let hint = format!("{}. {}", spec.label, spec.help);
    choice_field((spec.testid, spec.label, hint), Signal::stored(options), now, choose, origin)
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

fn hint_of(spec: &NumberSpec, usual: Option<(f64, f64)>) -> String {
    let NumberSpec { label, unit, min, max, help, .. } = spec;
    let usual = usual.map(|(least, most)| format!(" Usual {}.", range(least, most, unit))).unwrap_or_default();
    format!("{label}. {help} Accepts {}.{usual}", range(*min, *max, unit))
}

/// `3 to 5.5 mm`.
fn range(least: f64, most: f64, unit: &str) -> String {
    let [least, most] = [least, most].map(|end| number(end, usize::from(end.fract() != 0.0)));
    format!("{least} to {most} {unit}").trim_end().to_owned()
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
