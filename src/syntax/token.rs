//! The tokens of the language.

use crate::source::Span;

/// What a token is.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash)]
pub enum Kind {
    /// The end of a line; its bytes are the LF.
    #[default]
    EndOfLine,
    /// A word.
    Word,
    /// A string with its quotes.
    Text,
    /// A number.
    Number,
    /// `number..number`.
    Range,
    /// A day such as `2027-03-01`.
    Day,
    /// A unit behind a number or range.
    Unit(Unit),
    /// `,`
    Comma,
    /// `:`
    Colon,
    /// `=`
    Equals,
    /// `+`
    Plus,
    /// `-` that touches no digit.
    Minus,
    /// `*`
    Star,
    /// `(`
    Open,
    /// `)`
    Close,
    /// `{`
    BlockOpen,
    /// `}`
    BlockClose,
    /// `;`
    Semicolon,
    /// Bytes that are no token; a problem says why.
    Bad,
}

/// A token with its place.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Token {
    /// What it is.
    pub kind: Kind,
    /// Its first byte.
    pub start: u32,
    /// One past its last byte.
    pub end: u32,
}

impl Token {
    /// Its byte range.
    pub const fn span(self) -> Span {
        Span::new(self.start, self.end)
    }

    /// Its bytes.
    pub fn of(self, text: &[u8]) -> &[u8] {
        self.span().of(text)
    }
}

macro_rules! units {
    ($($variant:ident $text:literal $doc:literal),* $(,)?) => {
        /// The units of the language.
        #[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
        pub enum Unit { $(#[doc = $doc] $variant),* }

        impl Unit {
            /// All of them.
            pub const ALL: &'static [Unit] = &[$(Unit::$variant),*];

            /// The unit that is written like this.
            pub fn find(text: &[u8]) -> Option<Self> {
                Self::ALL.iter().copied().find(|unit| unit.text().as_bytes() == text)
            }

            /// How it is written.
            pub const fn text(self) -> &'static str {
                match self { $(Self::$variant => $text),* }
            }
        }
    };
}

units! {
    Percent "%" "Percent.",
    Microsecond "us" "Microseconds.",
    Millisecond "ms" "Milliseconds.",
    Second "s" "Seconds.",
    Minute "min" "Minutes.",
    Hertz "Hz" "Hertz.",
    Kilohertz "kHz" "Kilohertz.",
    Megahertz "MHz" "Megahertz.",
    Gigahertz "GHz" "Gigahertz.",
    Milliwatt "mW" "Milliwatts.",
    Watt "W" "Watts.",
    DecibelMilliwatt "dBm" "Decibels over a milliwatt.",
    Decibel "dB" "Decibels.",
    DecibelIsotropic "dBi" "Decibels over an isotropic antenna.",
    Volt "V" "Volts.",
    Millivolt "mV" "Millivolts.",
    Ampere "A" "Amperes.",
    Milliampere "mA" "Milliamperes.",
    MilliampereHour "mAh" "Milliampere-hours.",
    AmpereHour "Ah" "Ampere-hours.",
    Metre "m" "Metres.",
    Kilometre "km" "Kilometres.",
    Gram "g" "Grams.",
    Kilogram "kg" "Kilograms.",
}
