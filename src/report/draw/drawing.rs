//! A drawing as lines, areas and words on a sheet of paper, whoever puts them there.

/// Width of a letter as a share of its size. Fonts differ; few are wider than this on average.
const LETTER_WIDTH: f64 = 0.62;

/// What a stroke or an area means; style sheets say how it looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// The outline of a thing.
    Line,
    /// Axes, ticks, leaders.
    Faint,
    /// The line of nothing.
    Zero,
    /// What the limits allow.
    Limit,
    /// The front way, or the only line of a chart.
    Front,
    /// The rear way.
    Rear,
    /// What was there before.
    Before,
    /// What the turns should leave.
    Expected,
    /// The turn of a screw.
    Turn,
}

/// How an area is filled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fill {
    /// Not at all.
    Nothing,
    /// In the colour of its outline.
    Solid,
    /// With a breath of the colour of its outline.
    Pale,
    /// With paper, so that it hides what is behind.
    Paper,
}

/// The end of words that stands at their place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// They start there.
    Start,
    /// They are centred there.
    Middle,
    /// They end there.
    End,
}

/// How words are set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Voice {
    /// The title of the drawing.
    Title,
    /// As the rest.
    Plain,
    /// Not to be missed.
    Strong,
    /// Of less weight.
    Faint,
}

/// A place on the paper: to the right and downwards from the top left corner.
pub type Spot = (f64, f64);

/// One thing on the paper.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// A line through places, open or closed.
    Path {
        /// The places.
        spots: Vec<Spot>,
        /// Whether it goes back to its first place.
        closed: bool,
        /// What it means.
        ink: Ink,
        /// How its area is filled.
        fill: Fill,
    },
    /// A circle.
    Circle {
        /// Its middle.
        middle: Spot,
        /// Its radius.
        radius: f64,
        /// What it means.
        ink: Ink,
        /// How it is filled.
        fill: Fill,
    },
    /// Words on a line.
    Words {
        /// Where they stand: the line they are written on.
        spot: Spot,
        /// Which end of them is there.
        anchor: Anchor,
        /// How they are set.
        voice: Voice,
        /// The words.
        words: String,
    },
}

/// A drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// What it is called on the command line and in references.
    pub name: &'static str,
    /// What it shows, in a few words.
    pub title: String,
    /// What is to be seen in it, for who cannot see it.
    pub description: String,
    /// Width of the paper; a letter is [`LETTER`] high.
    pub width: f64,
    /// Height of the paper.
    pub height: f64,
    /// Everything on it, what is in front last.
    pub items: Vec<Item>,
}

/// Size of plain letters.
pub const LETTER: f64 = 12.0;

/// How wide words are in plain letters, at most.
pub fn width_of(words: &str) -> f64 {
    words.chars().count() as f64 * LETTER_WIDTH * LETTER
}

impl Drawing {
    /// An empty sheet with its title on it.
    pub fn new(
        name: &'static str,
        title: impl Into<String>,
        description: impl Into<String>,
        (width, height): (f64, f64),
    ) -> Self {
        let title = title.into();
        let mut drawing = Self {
            name,
            title: title.clone(),
            description: description.into(),
            width,
            height,
            items: Vec::new(),
        };
        drawing.words((0.0, 14.0), Anchor::Start, Voice::Title, title);
        drawing
    }

    /// A straight line.
    pub fn line(&mut self, from: Spot, to: Spot, ink: Ink) {
        self.path(vec![from, to], ink);
    }

    /// A line through places.
    pub fn path(&mut self, spots: Vec<Spot>, ink: Ink) {
        self.items.push(Item::Path {
            spots,
            closed: false,
            ink,
            fill: Fill::Nothing,
        });
    }

    /// An area.
    pub fn area(&mut self, spots: Vec<Spot>, ink: Ink, fill: Fill) {
        self.items.push(Item::Path {
            spots,
            closed: true,
            ink,
            fill,
        });
    }

    /// A circle.
    pub fn circle(&mut self, middle: Spot, radius: f64, ink: Ink, fill: Fill) {
        self.items.push(Item::Circle {
            middle,
            radius,
            ink,
            fill,
        });
    }

    /// Words.
    pub fn words(&mut self, spot: Spot, anchor: Anchor, voice: Voice, words: impl Into<String>) {
        self.items.push(Item::Words {
            spot,
            anchor,
            voice,
            words: words.into(),
        });
    }
}
