//! Key presses by name: `Ctrl+Shift+z`, `Escape`, `ArrowLeft`, `a`.

use anyhow::{Result, bail};
use fantoccini::actions::{InputSource, KeyAction, KeyActions};
use fantoccini::key::Key;

/// All keys of a combination down in the order of writing, and all up in reverse.
pub(crate) fn held(combination: &str) -> Result<(KeyActions, KeyActions)> {
    let keys = codes(combination)?;
    let keyboard = || KeyActions::new("keyboard".to_owned());
    let down = keys.iter().fold(keyboard(), |all, &value| all.then(KeyAction::Down { value }));
    let up = keys.iter().rev().fold(keyboard(), |all, &value| all.then(KeyAction::Up { value }));
    Ok((down, up))
}

fn codes(combination: &str) -> Result<Vec<char>> {
    combination.split('+').map(code).collect()
}

/// WebDriver's code of a key, named as `KeyboardEvent.key` names it.
fn code(name: &str) -> Result<char> {
    let mut characters = name.chars();
    if let (Some(only), None) = (characters.next(), characters.next()) {
        return Ok(only);
    }
    let key = match name {
        "Ctrl" => Key::Control,
        "Shift" => Key::Shift,
        "Alt" => Key::Alt,
        "Enter" => Key::Enter,
        "Tab" => Key::Tab,
        "Escape" => Key::Escape,
        "Space" => return Ok(' '),
        "Plus" => return Ok('+'),
        "Backspace" => Key::Backspace,
        "Delete" => Key::Delete,
        "Home" => Key::Home,
        "End" => Key::End,
        "PageUp" => Key::PageUp,
        "PageDown" => Key::PageDown,
        "ArrowLeft" => Key::Left,
        "ArrowRight" => Key::Right,
        "ArrowUp" => Key::Up,
        "ArrowDown" => Key::Down,
        "F1" => Key::F1,
        "F2" => Key::F2,
        other => bail!("the harness knows no key named `{other}`"),
    };
    Ok(char::from(key))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn combinations_are_read_and_unknown_keys_refused() {
        assert_eq!(codes("Ctrl+Shift+z").unwrap(), [char::from(Key::Control), char::from(Key::Shift), 'z']);
        assert_eq!(codes("Plus").unwrap(), ['+']);
        assert!(codes("Ctrl+Hyper").is_err());
    }
}
