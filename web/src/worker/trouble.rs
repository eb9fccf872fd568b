/// How far long work is.
#[derive(Clone, Debug, PartialEq)]
pub struct Progress {
    /// What is being done, in words.
    pub what: String,
    /// 0 … 1.
    pub fraction: f64,
}

/// Something the person must be told. [`Trouble::sentence`] says it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// No worker starts here: everything works, but long work stops the page meanwhile.
    NoWorker,
    /// The engine failed and was started anew; the case is as it was after the last finished step.
    Restarted,
    /// The engine cannot take the kept case back and begins empty.
    Lost {
        /// Why, in words.
        reason: String,
        /// The case as JSON text, to be offered as a download.
        json: String,
    },
    /// Nothing is kept between visits.
    NotKept {
        /// Why, in words.
        reason: String,
    },
}

impl Trouble {
    /// What happened and what to do, for the person.
    #[must_use]
    pub fn sentence(&self) -> String {
        match self {
            Trouble::NoWorker => {
                "This browser starts no background worker: everything works, but the page stands still \
                                  during long calculations."
                    .to_owned()
            }
            Trouble::Restarted => "The calculation failed and was started anew. The case is as it was after the last \
                                   finished step; earlier steps can no longer be undone. Save the case file before \
                                   trying the same again."
                .to_owned(),
            Trouble::Lost { reason, .. } => {
                format!(
                    "The case from the last visit could not be opened: {reason}. The bench begins empty; download what \
                     was decided before you go on, the next change replaces it."
                )
            }
            Trouble::NotKept { reason } => {
                format!(
                    "This page cannot keep the case between visits: {reason}. Save the case file before you close it."
                )
            }
        }
    }
}
