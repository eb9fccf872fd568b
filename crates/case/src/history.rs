use crate::{Case, Edit, EditError};
use std::sync::Arc;

/// How many steps can be undone. A step holds one case without its scans: a few kilobytes.
const MOST_STEPS: usize = 500;

/// A case that was, and what was done to it.
#[derive(Clone, Debug)]
pub struct Step {
    /// What was done, as shown beside undo and redo.
    pub label: String,
    /// The case on the other side of the step.
    case: Arc<Case>,
}

/// A case with its past and future. A drag is a gesture (begin, preview, commit, cancel) and one step.
#[derive(Clone, Debug, Default)]
pub struct History {
    present: Arc<Case>,
    past: Vec<Step>,
    future: Vec<Step>,
    gesture: Option<Gesture>,
}

#[derive(Clone, Debug)]
struct Gesture {
    start: Arc<Case>,
    label: String,
}

impl History {
    /// A history that starts at `case`.
    #[must_use]
    pub fn starting_at(case: Case) -> Self {
        History { present: Arc::new(case), ..History::default() }
    }

    /// The case as it is now, previews included.
    #[must_use]
    pub fn case(&self) -> &Arc<Case> {
        &self.present
    }

    /// The last committed case: what autosave keeps.
    #[must_use]
    pub fn committed(&self) -> &Arc<Case> {
        self.gesture.as_ref().map_or(&self.present, |gesture| &gesture.start)
    }

    /// The case before the last step, or at the beginning of the gesture that is open.
    #[must_use]
    pub fn before(&self) -> Option<&Arc<Case>> {
        let of_gesture = self.gesture.as_ref().map(|gesture| &gesture.start);
        of_gesture.or_else(|| self.past.last().map(|step| &step.case))
    }

    /// Applies an edit as one step; none if it changes nothing. An open gesture is committed first.
    ///
    /// # Errors
    /// The edit does not fit the case, which stays as it was.
    pub fn apply(&mut self, edit: &Edit) -> Result<(), EditError> {
        self.commit();
        let next = edit.applied_to(&self.present)?;
        let before = std::mem::replace(&mut self.present, Arc::new(next));
        self.keep(before, edit.label());
        Ok(())
    }

    /// Begins a gesture. One already open is committed first.
    pub fn begin(&mut self) {
        self.commit();
        self.gesture = Some(Gesture { start: Arc::clone(&self.present), label: String::new() });
    }

    /// Shows `edit` applied to the case as it was when the gesture began: each preview replaces the one before.
    /// Without an open gesture one begins.
    ///
    /// # Errors
    /// The edit does not fit; the case stays at the preview before.
    pub fn preview(&mut self, edit: &Edit) -> Result<(), EditError> {
        if self.gesture.is_none() {
            self.begin();
        }
        if let Some(gesture) = &mut self.gesture {
            self.present = Arc::new(edit.applied_to(&gesture.start)?);
            gesture.label = edit.label();
        }
        Ok(())
    }

    /// Ends the gesture as one step; none if nothing changed.
    pub fn commit(&mut self) {
        if let Some(gesture) = self.gesture.take() {
            self.keep(gesture.start, gesture.label);
        }
    }

    /// Ends the gesture and restores the case as it was when it began.
    pub fn cancel(&mut self) {
        if let Some(gesture) = self.gesture.take() {
            self.present = gesture.start;
        }
    }

    /// Goes back one step. An open gesture is cancelled instead. Returns whether anything was undone.
    pub fn undo(&mut self) -> bool {
        if self.gesture.is_some() {
            self.cancel();
            return true;
        }
        let Some(step) = self.past.pop() else { return false };
        let after = std::mem::replace(&mut self.present, step.case);
        self.future.push(Step { label: step.label, case: after });
        true
    }

    /// Goes forward again one step. Returns whether there was one.
    pub fn redo(&mut self) -> bool {
        self.commit();
        let Some(step) = self.future.pop() else { return false };
        let before = std::mem::replace(&mut self.present, step.case);
        self.past.push(Step { label: step.label, case: before });
        true
    }

    /// What undo would take back.
    #[must_use]
    pub fn undo_label(&self) -> Option<&str> {
        self.past.last().map(|step| step.label.as_str())
    }

    /// What redo would do again.
    #[must_use]
    pub fn redo_label(&self) -> Option<&str> {
        self.future.last().map(|step| step.label.as_str())
    }

    /// Every case that undo or redo can still reach, the present one included.
    pub fn reachable(&self) -> impl Iterator<Item = &Case> {
        let steps = self.past.iter().chain(&self.future).map(|step| step.case.as_ref());
        steps.chain([self.present.as_ref(), self.committed().as_ref()])
    }

    fn keep(&mut self, before: Arc<Case>, label: String) {
        if before == self.present {
            return;
        }
        self.future.clear();
        self.past.push(Step { label, case: before });
        if self.past.len() > MOST_STEPS {
            self.past.remove(0);
        }
    }
}
