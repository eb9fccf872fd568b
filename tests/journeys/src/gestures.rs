//! Pointer gestures of mouse and fingers. Places are CSS pixels from the upper left of the window's content.

use std::time::Duration;

use anyhow::Result;
use fantoccini::actions::{
    Actions, InputSource, KeyActions, MOUSE_BUTTON_LEFT, MouseActions, PointerAction, TouchActions, WheelAction,
    WheelActions,
};

use crate::keys;
use crate::page::Page;

/// Moves that a drag is made of: enough that a handler which needs several sees several.
const MOVES: u32 = 8;

/// The time of one move; about one frame.
const MOVE: Duration = Duration::from_millis(16);

/// A place in the window, in CSS pixels from its upper left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct At {
    /// To the right, CSS pixels.
    pub x: f64,
    /// Down, CSS pixels.
    pub y: f64,
}

impl At {
    /// The place `x` to the right and `y` down from here, CSS pixels.
    #[must_use]
    pub fn by(self, x: f64, y: f64) -> Self {
        Self { x: self.x + x, y: self.y + y }
    }

    /// The place at `share` of the way to `to`.
    fn towards(self, to: Self, share: f64) -> Self {
        self.by((to.x - self.x) * share, (to.y - self.y) * share)
    }

    /// The place at `radius` CSS pixels and `angle_deg` clockwise from the right, around here.
    fn around(self, radius: f64, angle_deg: f64) -> Self {
        let (sin, cos) = libm::sincos(angle_deg.to_radians());
        self.by(radius * cos, radius * sin)
    }
}

impl Page {
    /// Drags with the left mouse button.
    ///
    /// # Errors
    /// When the browser refuses the actions, for example outside the window.
    pub async fn mouse_drag(&self, from: At, to: At) -> Result<()> {
        self.act("mouse drag", pulled(mouse(), from, to)).await
    }

    /// Drags with the left mouse button while keys are held, for example `Shift` or `Ctrl+Alt`.
    ///
    /// # Errors
    /// When a key is unknown or the browser refuses the actions.
    pub async fn mouse_drag_holding(&self, combination: &str, from: At, to: At) -> Result<()> {
        let (down, up) = keys::held(combination)?;
        self.act("keys down", down).await?;
        let dragged = self.mouse_drag(from, to).await;
        self.act("keys up", up).await?;
        dragged
    }

    /// Moves the mouse there without a button.
    ///
    /// # Errors
    /// When the browser refuses the actions.
    pub async fn mouse_move(&self, to: At) -> Result<()> {
        self.act("mouse move", mouse().then(moved(to))).await
    }

    /// Presses the left mouse button there and keeps it down; go on with [`Page::mouse_move`] and [`Page::mouse_up`].
    ///
    /// # Errors
    /// When the browser refuses the actions.
    pub async fn mouse_down(&self, at: At) -> Result<()> {
        self.act("mouse down", mouse().then(moved(at)).then(PointerAction::Down { button: MOUSE_BUTTON_LEFT })).await
    }

    /// Lets the left mouse button go.
    ///
    /// # Errors
    /// When the browser refuses the actions.
    pub async fn mouse_up(&self) -> Result<()> {
        self.act("mouse up", mouse().then(PointerAction::Up { button: MOUSE_BUTTON_LEFT })).await
    }

    /// Clicks there with the left mouse button.
    ///
    /// # Errors
    /// When the browser refuses the actions.
    pub async fn mouse_click(&self, at: At) -> Result<()> {
        self.mouse_down(at).await?;
        self.mouse_up().await
    }

    /// Turns the mouse wheel there by `pixels`; more than 0 scrolls down.
    ///
    /// # Errors
    /// When the browser refuses the actions.
    pub async fn wheel(&self, at: At, pixels: i64) -> Result<()> {
        let scroll = WheelAction::Scroll {
            duration: Some(MOVE),
            x: at.x.round() as i64,
            y: at.y.round() as i64,
            delta_x: 0,
            delta_y: pixels,
        };
        self.act("wheel", WheelActions::new("wheel".to_owned()).then(scroll)).await
    }

    /// Touches there with one finger, shortly.
    ///
    /// # Errors
    /// When the browser refuses the actions.
    pub async fn tap(&self, at: At) -> Result<()> {
        let down = finger(0).then(moved(at)).then(PointerAction::Down { button: MOUSE_BUTTON_LEFT });
        self.act("tap", down.pause(MOVE).then(PointerAction::Up { button: MOUSE_BUTTON_LEFT })).await
    }

    /// Drags with one finger.
    ///
    /// # Errors
    /// When the browser refuses the actions.
    pub async fn touch_drag(&self, from: At, to: At) -> Result<()> {
        self.act("touch drag", pulled(finger(0), from, to)).await
    }

    /// Moves two fingers, each on its straight way, at the same time.
    ///
    /// # Errors
    /// When the browser refuses the actions.
    pub async fn two_fingers(&self, first: [At; 2], second: [At; 2]) -> Result<()> {
        let first = pulled(finger(0), first[0], first[1]);
        let second = pulled(finger(1), second[0], second[1]);
        self.act_all("two fingers", Actions::from(first).and(second)).await
    }

    /// Spreads (or closes) two fingers around `centre` from one distance between them to another, CSS pixels.
    ///
    /// # Errors
    /// When the browser refuses the actions.
    pub async fn pinch(&self, centre: At, from: f64, to: f64) -> Result<()> {
        let way = |angle_deg| [centre.around(from / 2.0, angle_deg), centre.around(to / 2.0, angle_deg)];
        self.two_fingers(way(180.0), way(0.0)).await
    }

    /// Turns two fingers, `apart` CSS pixels from each other, around `centre` by `by_deg`, clockwise.
    ///
    /// # Errors
    /// When the browser refuses the actions.
    pub async fn two_finger_turn(&self, centre: At, apart: f64, by_deg: f64) -> Result<()> {
        let around = |start_deg: f64| {
            (0..=MOVES)
                .map(move |step| centre.around(apart / 2.0, start_deg + by_deg * f64::from(step) / f64::from(MOVES)))
        };
        let actions = Actions::from(along(finger(0), around(180.0))).and(along(finger(1), around(0.0)));
        self.act_all("two-finger turn", actions).await
    }

    /// Presses keys together: `Ctrl+z`, `Escape`, `ArrowLeft`, `a`. The names are those of `KeyboardEvent.key`.
    ///
    /// # Errors
    /// When a key is unknown or the browser refuses the actions.
    pub async fn press(&self, combination: &str) -> Result<()> {
        let (down, up): (KeyActions, KeyActions) = keys::held(combination)?;
        self.act("keys down", down).await?;
        self.act("keys up", up).await
    }
}

fn mouse() -> MouseActions {
    MouseActions::new("mouse".to_owned())
}

fn finger(number: u32) -> TouchActions {
    TouchActions::new(format!("finger {number}"))
}

fn moved(to: At) -> PointerAction {
    PointerAction::MoveTo { duration: Some(MOVE), x: to.x.round(), y: to.y.round() }
}

/// Down at the start of a straight way, along it, and up at its end.
fn pulled<P: InputSource<Action = PointerAction>>(pointer: P, from: At, to: At) -> P {
    along(pointer, (0..=MOVES).map(|step| from.towards(to, f64::from(step) / f64::from(MOVES))))
}

/// Down at the first place, through all others, and up at the last.
fn along<P: InputSource<Action = PointerAction>>(mut pointer: P, mut places: impl Iterator<Item = At>) -> P {
    let Some(first) = places.next() else { return pointer };
    pointer = pointer.then(moved(first)).then(PointerAction::Down { button: MOUSE_BUTTON_LEFT });
    places
        .fold(pointer, |pointer, place| pointer.then(moved(place)))
        .then(PointerAction::Up { button: MOUSE_BUTTON_LEFT })
}
