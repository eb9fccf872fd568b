//! The kinds of line of a template, each told apart by dash and width alone.

use glam::DVec2;

/// What a line stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::formats) enum LineKind {
    /// Edge of the insole: the line to cut.
    Insole,
    /// Where the made insole is to be trimmed.
    Trim,
    /// Bottom outline of the last.
    Last,
    /// Outline taken of the shoe or of its own insole.
    Shoe,
    /// Plan outline of the foot.
    Foot,
    /// Where the sole touches the ground.
    Print,
    /// The foot axis.
    Centre,
    /// From the first to the fifth metatarsal head.
    Ball,
    /// Edge of an element.
    Element,
    /// Crosses of landmarks.
    Landmark,
    /// A bar of a known length.
    CheckBar,
}

/// How a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::formats) struct Look {
    /// Width, mm; one of the widths that DXF knows.
    pub(in crate::formats) width_mm: f64,
    /// Lengths of dashes and gaps in turn, mm; none for a solid line.
    pub(in crate::formats) dash_mm: &'static [f64],
}

impl LineKind {
    /// All kinds, in the order of the legend.
    pub(in crate::formats) const ALL: [LineKind; 11] = [
        LineKind::Insole,
        LineKind::Trim,
        LineKind::Last,
        LineKind::Shoe,
        LineKind::Foot,
        LineKind::Print,
        LineKind::Centre,
        LineKind::Ball,
        LineKind::Element,
        LineKind::Landmark,
        LineKind::CheckBar,
    ];

    /// Name of its layer, in letters that every drawing program takes.
    pub(in crate::formats) fn layer(self) -> &'static str {
        match self {
            LineKind::Insole => "INSOLE",
            LineKind::Trim => "TRIM",
            LineKind::Last => "LAST",
            LineKind::Shoe => "SHOE",
            LineKind::Foot => "FOOT",
            LineKind::Print => "PRINT",
            LineKind::Centre => "CENTRE_LINE",
            LineKind::Ball => "BALL_LINE",
            LineKind::Element => "ELEMENTS",
            LineKind::Landmark => "LANDMARKS",
            LineKind::CheckBar => "CHECK_BAR",
        }
    }

    /// What the legend says.
    pub(in crate::formats) fn label(self) -> &'static str {
        match self {
            LineKind::Insole => "Insole outline: cut here",
            LineKind::Trim => "Trim line",
            LineKind::Last => "Last outline",
            LineKind::Shoe => "Shoe outline",
            LineKind::Foot => "Foot outline",
            LineKind::Print => "Foot print",
            LineKind::Centre => "Centre line (foot axis)",
            LineKind::Ball => "Ball line",
            LineKind::Element => "Element",
            LineKind::Landmark => "Landmark",
            LineKind::CheckBar => "Check bar",
        }
    }

    /// How it is drawn. Even a worn 300-dpi printer keeps the thinnest line and the shortest gap apart.
    pub(in crate::formats) fn look(self) -> Look {
        let (width_mm, dash_mm): (f64, &'static [f64]) = match self {
            LineKind::Insole => (0.5, &[]),
            LineKind::Trim => (0.5, &[8.0, 2.0]),
            LineKind::Last => (0.25, &[5.0, 1.5]),
            LineKind::Shoe => (0.25, &[6.0, 1.0, 0.5, 1.0, 0.5, 1.0]),
            LineKind::Foot => (0.18, &[]),
            LineKind::Print => (0.3, &[0.4, 1.2]),
            LineKind::Centre => (0.18, &[8.0, 1.5, 1.5, 1.5]),
            LineKind::Ball => (0.25, &[2.5, 1.0]),
            LineKind::Element => (0.35, &[1.2, 0.8]),
            LineKind::Landmark => (0.18, &[]),
            LineKind::CheckBar => (0.25, &[]),
        };
        Look { width_mm, dash_mm }
    }
}

/// A line on the template, mm.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::formats) struct Line {
    /// What it stands for.
    pub(in crate::formats) kind: LineKind,
    /// Corners, all finite; a closed line does not repeat its first.
    pub(in crate::formats) points: Vec<DVec2>,
    /// Whether the last corner is joined to the first.
    pub(in crate::formats) closed: bool,
}

impl Line {
    /// An open line.
    pub(in crate::formats) fn open(kind: LineKind, points: impl Into<Vec<DVec2>>) -> Line {
        Line { kind, points: points.into(), closed: false }
    }

    /// The same line elsewhere.
    pub(in crate::formats) fn moved(&self, by: DVec2) -> Line {
        Line { points: self.points.iter().map(|&p| p + by).collect(), ..self.clone() }
    }
}

/// A text on the template, on one line.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::formats) struct Text {
    /// Left end of its base line, mm.
    pub(in crate::formats) at: DVec2,
    /// Height of a capital, mm.
    pub(in crate::formats) height_mm: f64,
    /// Runs up the sheet, to the toes, instead of across it.
    pub(in crate::formats) upwards: bool,
    /// What it says.
    pub(in crate::formats) text: String,
}

impl Text {
    /// A text across the sheet.
    pub(in crate::formats) fn across(at: DVec2, height_mm: f64, text: impl Into<String>) -> Text {
        Text { at, height_mm, upwards: false, text: text.into() }
    }

    /// A text up the sheet.
    pub(in crate::formats) fn upwards(at: DVec2, height_mm: f64, text: impl Into<String>) -> Text {
        Text { at, height_mm, upwards: true, text: text.into() }
    }

    /// The same text elsewhere.
    pub(in crate::formats) fn moved(&self, by: DVec2) -> Text {
        Text { at: self.at + by, ..self.clone() }
    }

    /// Least and greatest corner of about the room it takes, mm.
    pub(in crate::formats) fn room(&self) -> (DVec2, DVec2) {
        let length = about_width(&self.text, self.height_mm);
        if self.upwards {
            (self.at - DVec2::new(self.height_mm, 0.0), self.at + DVec2::new(0.0, length))
        } else {
            (self.at, self.at + DVec2::new(length, self.height_mm))
        }
    }

    /// Size of the font in which a capital has this height, mm. Capitals of Helvetica are 718/1000 of it (Adobe's
    /// metrics of the standard fonts).
    pub(in crate::formats) fn font_mm(&self) -> f64 {
        self.height_mm / 0.718
    }
}

/// How long a text comes to about, in heights of a capital: letters of Helvetica are on average half their font wide,
/// and a little is added for safety.
pub(in crate::formats) fn about_width(text: &str, height_mm: f64) -> f64 {
    text.chars().count() as f64 * height_mm * LETTER
}

/// The same for capitals and figures, which are broader.
pub(in crate::formats) fn capitals_width(text: &str, height_mm: f64) -> f64 {
    text.chars().count() as f64 * height_mm
}

/// Breadth of a letter, in heights of a capital.
pub(in crate::formats) const LETTER: f64 = 0.75;
