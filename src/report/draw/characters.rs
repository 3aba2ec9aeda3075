//! The characters that plots are made of.

/// Which characters a screen can show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Characters {
    /// Lines, shades and braille of Unicode.
    Unicode,
    /// Nothing beyond ASCII.
    Ascii,
}

/// The characters of one kind of screen.
pub(super) struct Pens {
    pub upright: char,
    pub level: char,
    pub corner: char,
    pub tick_up: char,
    pub tick_across: char,
    pub zero_tick: char,
    pub limit: char,
    pub band: char,
    pub round: char,
    pub square: char,
    pub foot: char,
    pub more: char,
}

impl Characters {
    /// Its characters.
    pub(super) fn pens(self) -> Pens {
        match self {
            Self::Unicode => Pens {
                upright: '│',
                level: '─',
                corner: '└',
                tick_up: '┤',
                tick_across: '┬',
                zero_tick: '┼',
                limit: '╌',
                band: '░',
                round: '●',
                square: '■',
                foot: '▴',
                more: '…',
            },
            Self::Ascii => Pens {
                upright: '|',
                level: '-',
                corner: '+',
                tick_up: '+',
                tick_across: '+',
                zero_tick: '+',
                limit: '=',
                band: ':',
                round: 'o',
                square: '#',
                foot: '^',
                more: '~',
            },
        }
    }
}
