//! Small drawn signs: severity by word and shape, the pictures of the stage rail, what handles look like on a drawing.

use super::state::Stage;
use base::Severity;
use engine::view::{HandleView, Moves, Target};
use leptos::prelude::*;

/// The word of a severity.
pub(crate) fn severity_word(severity: Severity) -> &'static str {
    match severity {
        Severity::Info => "Note",
        Severity::Check => "Check",
        Severity::Stop => "Stop",
    }
}

/// A severity's shape and word: an open circle, an open triangle, a filled octagon.
#[component]
pub(crate) fn SeverityMark(severity: Severity) -> impl IntoView {
    let shape = match severity {
        Severity::Info => view! { <circle cx="8" cy="8" r="5.5" fill="none" /> }.into_any(),
        Severity::Check => view! { <path d="M8 2.2 14.4 13.4H1.6Z" fill="none" /> }.into_any(),
        Severity::Stop => view! { <path d="M5.2 1.2h5.6l4 4v5.6l-4 4H5.2l-4-4V5.2Z" fill="currentColor" /> }.into_any(),
    };
    view! {
        <span class="severity">
            <svg viewBox="0 0 16 16" width="1em" height="1em" stroke="currentColor" stroke-width="1.6" aria-hidden="true">
                {shape}
            </svg>
            {severity_word(severity)}
        </span>
    }
}

/// The picture of a stage: one line drawing each, in a 24 × 24 box.
pub(crate) fn stage_path(stage: Stage) -> &'static str {
    match stage {
        // A foot's print with an arrow coming in.
        Stage::Intake => "M4 4v16h16M12 4v10M8 10l4 4 4-4",
        // Dividers.
        Stage::Measure => "M12 3v3M12 6 6 20M12 6l6 14M8 15.5q4 2 8 0",
        // An outline round a smaller one.
        Stage::Fit => {
            "M12 2.5c4 0 5.5 4 5 8-.4 3.5-1 4-1 7s-1.5 4-4 4-4-1-4-4-.6-3.5-1-7c-.5-4 1-8 5-8ZM12 6c2 0 2.7 2 2.5 4.5M12 19v-3"
        }
        // A bearing surface in profile.
        Stage::Shape => "M2.5 9c0 5 3 6 6 5 4-1.5 5-4 9-3l4 2M2.5 17h19M2.5 9v8M21.5 13v4",
        // Hatching from wide to close.
        Stage::Grade => "M3 4h18v16H3ZM3 12 11 4M5 20 21 4M11.5 20 21 10.5M15 20l6-6M18 20l3-3",
        // A finished sheet with a mark.
        Stage::Make => "M5 3h10l4 4v14H5ZM15 3v4h4M8.5 14l2.5 2.5 4.5-5",
    }
}

/// How a handle is drawn: landmarks as survey marks, plan points as squares, heights as arrows, region points as rings.
/// In a 2 × 2 box about the origin, closed unless it is a mark.
pub(crate) fn handle_path(handle: &HandleView) -> &'static str {
    match (&handle.target, handle.moves) {
        (Target::Landmark { .. }, _) => "M-1 0a1 1 0 1 0 2 0a1 1 0 1 0-2 0ZM-1.7 0h3.4M0-1.7v3.4",
        (_, Moves::Vertical) => "M0-1.6 1.1-.3H-1.1ZM0 1.6 1.1 .3H-1.1Z",
        (Target::RegionPoint { .. }, _) => "M-.9 0a.9.9 0 1 0 1.8 0a.9.9 0 1 0-1.8 0Z",
        _ => "M-.9-.9h1.8v1.8h-1.8Z",
    }
}
