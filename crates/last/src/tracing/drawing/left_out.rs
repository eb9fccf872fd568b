use base::{Report, Severity};

/// What of a drawing was not read, by kind.
#[derive(Default)]
pub(super) struct LeftOut(Vec<(String, usize)>);

/// Kinds told apart; what comes after them counts as one.
const MOST_KINDS: usize = 20;

impl LeftOut {
    pub(super) fn add(&mut self, kind: &str) {
        let kind = if self.0.len() < MOST_KINDS { kind } else { "others" };
        match self.0.iter_mut().find(|(other, _)| other == kind) {
            Some((_, count)) => *count += 1,
            None => self.0.push((kind.to_owned(), 1)),
        }
    }

    pub(super) fn report(&self, report: &mut Report) {
        if self.0.is_empty() {
            return;
        }
        let kinds: Vec<String> = self.0.iter().map(|(kind, count)| format!("{count} {kind}")).collect();
        report.add(
            Severity::Check,
            "drawing_left_out",
            format!("Not read: {}.", kinds.join(", ")),
            "If the insole's edge is among them, turn it into a path or polyline in the drawing program and export it \
             again.",
        );
    }
}
