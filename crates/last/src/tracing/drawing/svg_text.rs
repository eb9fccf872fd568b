//! Numbers, lengths and transforms as SVG writes them.

use crate::tracing::DrawingFault;
use glam::{DAffine2, DMat2, DVec2};

/// Pixels of CSS in a millimetre: 96 an inch.
pub(super) const PX_PER_MM: f64 = 96.0 / 25.4;

/// Reads numbers and letters one after another.
pub(super) struct Scanner<'a> {
    text: &'a str,
    at: usize,
}

impl<'a> Scanner<'a> {
    pub(super) fn of(text: &'a str) -> Scanner<'a> {
        Scanner { text, at: 0 }
    }

    fn bytes(&self) -> &'a [u8] {
        &self.text.as_bytes()[self.at..]
    }

    /// The next byte after blanks, which stays.
    pub(super) fn peek(&mut self) -> Option<u8> {
        let blank = self.bytes().iter().take_while(|byte| byte.is_ascii_whitespace()).count();
        self.at += blank;
        self.bytes().first().copied()
    }

    /// Takes a comma with the blanks around it.
    pub(super) fn comma(&mut self) {
        if self.peek() == Some(b',') {
            self.at += 1;
        }
    }

    /// Takes the next byte after blanks if it is this.
    pub(super) fn takes(&mut self, byte: u8) -> bool {
        let is = self.peek() == Some(byte);
        self.at += usize::from(is);
        is
    }

    /// Takes a letter.
    pub(super) fn letter(&mut self) -> Option<u8> {
        let letter = self.peek().filter(u8::is_ascii_alphabetic)?;
        self.at += 1;
        Some(letter)
    }

    /// Takes a name of letters.
    pub(super) fn name(&mut self) -> &'a str {
        self.peek();
        let length = self.bytes().iter().take_while(|byte| byte.is_ascii_alphabetic()).count();
        self.at += length;
        &self.text[self.at - length..self.at]
    }

    /// A flag of an arc: 0 or 1, with nothing between it and what follows if need be.
    pub(super) fn flag(&mut self) -> Result<bool, DrawingFault> {
        match self.peek() {
            Some(digit @ (b'0' | b'1')) => {
                self.at += 1;
                self.comma();
                Ok(digit == b'1')
            }
            _ => Err(self.unexpected("0 or 1")),
        }
    }

    /// Whether a number comes next.
    pub(super) fn has_number(&mut self) -> bool {
        self.peek().is_some_and(|byte| byte.is_ascii_digit() || matches!(byte, b'+' | b'-' | b'.'))
    }

    /// A number, and a comma after it if there is one.
    pub(super) fn number(&mut self) -> Result<f64, DrawingFault> {
        self.peek();
        let bytes = self.bytes();
        let digits = |from: usize| bytes[from.min(bytes.len())..].iter().take_while(|b| b.is_ascii_digit()).count();
        let sign = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
        let mut end = sign + digits(sign);
        if bytes.get(end) == Some(&b'.') {
            end += 1 + digits(end + 1);
        }
        if matches!(bytes.get(end), Some(b'e' | b'E')) {
            let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
            let figures = digits(end + 1 + sign);
            // The e of `em` and `ex` belongs to the unit.
            end += if figures > 0 { 1 + sign + figures } else { 0 };
        }
        let value = self.text[self.at..self.at + end].parse().ok().filter(|value: &f64| value.is_finite());
        let value = value.ok_or_else(|| self.unexpected("a number"))?;
        self.at += end;
        self.comma();
        Ok(value)
    }

    /// Two numbers.
    pub(super) fn pair(&mut self) -> Result<DVec2, DrawingFault> {
        Ok(DVec2::new(self.number()?, self.number()?))
    }

    /// What is wrong when something else than `expected` comes next.
    pub(super) fn unexpected(&self, expected: &'static str) -> DrawingFault {
        unexpected(expected, self.text[self.at..].trim_ascii_start())
    }
}

/// Something else than `expected` was found.
pub(super) fn unexpected(expected: &'static str, found: &str) -> DrawingFault {
    const MOST_LETTERS: usize = 24;
    let mut shown: String = found.chars().take(MOST_LETTERS).collect();
    if shown.len() < found.len() {
        shown.push('…');
    }
    DrawingFault::Unexpected { expected, found: if shown.is_empty() { "nothing".to_owned() } else { shown } }
}

/// A length, by its unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Length {
    /// In a unit of measurement, in pixels of CSS.
    Measured(f64),
    /// In pixels or without a unit.
    Px(f64),
    /// Of what holds it, as a share.
    Share(f64),
}

impl Length {
    pub(super) fn parse(text: &str) -> Result<Length, DrawingFault> {
        let mut scanner = Scanner::of(text);
        let number = scanner.number()?;
        let px_per_unit = match scanner.text[scanner.at..].trim_ascii() {
            "" | "px" => return Ok(Length::Px(number)),
            "%" => return Ok(Length::Share(number / 100.0)),
            "mm" => PX_PER_MM,
            "cm" => 10.0 * PX_PER_MM,
            "Q" | "q" => PX_PER_MM / 4.0,
            "in" => 96.0,
            "pt" => 96.0 / 72.0,
            "pc" => 16.0,
            _ => return Err(unexpected("a length in mm, cm, in, pt, pc, px or %", text)),
        };
        Ok(Length::Measured(number * px_per_unit))
    }

    /// In user units, where `whole` is what a share is of.
    pub(super) fn px(self, whole: f64) -> f64 {
        match self {
            Length::Measured(px) | Length::Px(px) => px,
            Length::Share(share) => share * whole,
        }
    }
}

/// The map of a `transform`, the last applied first.
pub(super) fn transform(text: &str) -> Result<DAffine2, DrawingFault> {
    let mut scanner = Scanner::of(text);
    let mut map = DAffine2::IDENTITY;
    loop {
        scanner.comma();
        if scanner.peek().is_none() {
            return Ok(map);
        }
        let name = scanner.name();
        if !scanner.takes(b'(') {
            return Err(scanner.unexpected("( after the name of a transform"));
        }
        let mut numbers = Vec::new();
        while !scanner.takes(b')') {
            if numbers.len() == 6 {
                return Err(scanner.unexpected("the end of a transform"));
            }
            numbers.push(scanner.number()?);
        }
        map *= one_transform(name, &numbers).ok_or_else(|| unexpected("a transform", &told(name, &numbers)))?;
    }
}

fn told(name: &str, numbers: &[f64]) -> String {
    format!("{name} with {} numbers", numbers.len())
}

fn one_transform(name: &str, numbers: &[f64]) -> Option<DAffine2> {
    let turn = |degrees: f64| {
        let (sin, cos) = libm::sincos(degrees.to_radians());
        DAffine2::from_mat2(DMat2::from_cols(DVec2::new(cos, sin), DVec2::new(-sin, cos)))
    };
    let tan = |degrees: f64| libm::tan(degrees.to_radians());
    let map = match (name, numbers) {
        ("matrix", &[a, b, c, d, e, f]) => DAffine2::from_cols_array(&[a, b, c, d, e, f]),
        ("translate", &[x]) => DAffine2::from_translation(DVec2::new(x, 0.0)),
        ("translate", &[x, y]) => DAffine2::from_translation(DVec2::new(x, y)),
        ("scale", &[s]) => DAffine2::from_scale(DVec2::splat(s)),
        ("scale", &[x, y]) => DAffine2::from_scale(DVec2::new(x, y)),
        ("rotate", &[angle]) => turn(angle),
        ("rotate", &[angle, x, y]) => {
            let centre = DVec2::new(x, y);
            DAffine2::from_translation(centre) * turn(angle) * DAffine2::from_translation(-centre)
        }
        ("skewX", &[angle]) => DAffine2::from_cols_array(&[1.0, 0.0, tan(angle), 1.0, 0.0, 0.0]),
        ("skewY", &[angle]) => DAffine2::from_cols_array(&[1.0, tan(angle), 0.0, 1.0, 0.0, 0.0]),
        _ => return None,
    };
    Some(map)
}
