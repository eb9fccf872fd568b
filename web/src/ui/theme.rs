//! The page's colours as the 3D view needs them: read from the style sheet, the one place where they are named.

use crate::view3d::{Rgb, Theme};
use leptos::prelude::*;

/// The colours of the theme in force.
pub(crate) fn colours() -> Theme {
    Theme {
        paper: named("--sheet"),
        grid: named("--mm-10"),
        skin: named("--skin"),
        insole: named("--insole"),
        ink: named("--ink"),
    }
}

/// The accent of the theme in force.
pub(crate) fn accent() -> Rgb {
    named("--accent")
}

fn named(property: &str) -> Rgb {
    let style = document().document_element().and_then(|root| window().get_computed_style(&root).ok().flatten());
    let text = style.and_then(|style| style.get_property_value(property).ok()).unwrap_or_default();
    parse(text.trim()).unwrap_or([0.5; 3])
}

/// `#rrggbb` as 0 … 1.
fn parse(text: &str) -> Option<Rgb> {
    let hex = text.strip_prefix('#').filter(|hex| hex.len() == 6)?;
    let number = u32::from_str_radix(hex, 16).ok()?;
    Some([16, 8, 0].map(|shift| ((number >> shift) & 0xff) as f32 / 255.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colours_are_read_as_written() {
        assert_eq!(parse("#ff0033"), Some([1.0, 0.0, 0.2]));
        assert_eq!(parse("ff0033"), None);
        assert_eq!(parse("#ffé3"), None);
    }
}
