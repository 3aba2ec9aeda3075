//! What the plan has to say beside the turns.

use crate::geometry::Figure;
use crate::survey::{Line, Side};

/// One thing to know or to do, with its numbers.
#[derive(Debug, Clone, PartialEq)]
pub enum Advice {
    /// Every limit is proven kept: stop turning.
    Done,
    /// Every limit that these readings tell of is proven kept, but not every limit is among them: read what
    /// is missing before turning on.
    KnownKept,
    /// What is left is smaller than the readings can see: stop turning, or read more finely.
    BelowReadings,
    /// The level cannot settle whether the limits are kept: read again before turning.
    ReadAgain {
        /// Passes like this one, this one counted, that would settle it; `None` when no bearable number
        /// would.
        passes: Option<usize>,
    },
    /// Most stations of this pass are not read yet: finish it before turning.
    Unfinished {
        /// Stations that were read.
        read: usize,
        /// Stations of the lines that were begun.
        of: usize,
    },
    /// The reading does not fit the others; look at it again before turning.
    Suspect {
        /// The line it belongs to.
        line: Line,
        /// Middle of the level, m from the headstock end.
        at: f64,
    },
    /// What was written down of a foot's turn contradicts the readings: nothing was learned from it, and the foot is left until
    /// somebody has looked.
    CheckRecord {
        /// Number of the pass after which it was turned, from 1.
        pass: usize,
        /// Index into the survey's feet.
        foot: usize,
    },
    /// Nothing was read near these feet, so that nobody knows what turning them would do there: they are left.
    Unread {
        /// Indices into the survey's feet.
        feet: Vec<usize>,
    },
    /// All the turns at once would force the bed: load a foot beyond the machine's weight, or have its anchor pull harder than half of it. A
    /// part of the way is gone, or none.
    Forced {
        /// Index into the survey's feet.
        foot: usize,
        /// Share of the machine's weight that all of the turns would have it carry, negative where its anchor would pull.
        share: f64,
        /// What part of the way these turns go; `None` where nothing is turned.
        part: Option<f64>,
    },
    /// Lying as it was read, the bed would load a foot beyond the machine's weight, or have its anchor pull harder than half of it: what the
    /// feet carry is not told.
    LoadsUnlikely {
        /// Index into the survey's feet.
        foot: usize,
        /// Share of the machine's weight that it would carry, negative where its anchor would pull.
        share: f64,
    },
    /// With nothing turned the bed moved after a pass, more than the readings scatter: what was read up to it no longer counts.
    Moved {
        /// Index of that pass.
        pass: usize,
    },
    /// The anchors were touched since the pass before, and nothing else: what that did, and that the passes are not taken together.
    Anchored {
        /// Whether they were pulled down; if not, they were slackened.
        pulled: bool,
        /// Change of the cross slope at the tailstock end beside the headstock end, m/m: negative where the front went down at the
        /// tailstock end.
        twist: f64,
        /// Its expanded uncertainty, m/m.
        u95: f64,
    },
    /// One step of this foot lifts it further than it may go in one walk, and no reading says when to stop sooner: it is left.
    StepTooLong {
        /// Index into the survey's feet.
        foot: usize,
        /// What one step lifts, m.
        lift: f64,
    },
    /// The bed is outside its limits, but no turns are known that would surely bring it nearer.
    TurnsUnclear,
    /// Many readings of a line are off the scale, or one that everything hangs on: take the coarser level for this round.
    CoarserLevel {
        /// The level's name, if the survey knows one.
        name: Option<String>,
    },
    /// A strip under one end of the level in the next pass, at every station, brings the bubble onto the scale.
    PackLevel {
        /// Across, or along both ways: [`Line::Front`] stands for both.
        line: Line,
        /// How thick, m, with the sign of the end that it raises: the front block or the tailstock end, positive.
        height: f64,
    },
    /// The bed is to be level, and the level's zero error is not known: read one place with the level turned end for end.
    ReverseOnce {
        /// Across.
        across: bool,
        /// Along the ways.
        along: bool,
    },
    /// The bed was not of one temperature: wait until it is.
    Warm {
        /// How much warmer its top was than its underside, K, where that is much.
        top_over_below: Option<f64>,
        /// Crown that this is over the part that was read along, m, taken off what is told; needs the height of the bed.
        bow: Option<Figure>,
        /// How much warmer the air was than in the pass before, K, where that is much.
        air: Option<f64>,
    },
    /// The bed is near enough for the finer level.
    FinerLevel {
        /// The level's name.
        name: String,
    },
    /// The steps are too coarse for the limits.
    StepsTooCoarse {
        /// The coarsest part of a turn that would do, turns; `None` when none of the usual ones does.
        needs: Option<f64>,
    },
    /// A foot would have to go beyond its travel.
    OutOfTravel {
        /// Index into the survey's feet.
        foot: usize,
    },
    /// What is left here is wear, which no foot can cure.
    Wear {
        /// The way.
        side: Side,
        /// Distance from the headstock end, m.
        at: f64,
        /// Height of what remains, m, negative for a hollow.
        height: f64,
        /// Expanded uncertainty, m.
        u95: f64,
    },
    /// A foot answers at a share of what its screw should lift.
    Answers {
        /// Index into the survey's feet.
        foot: usize,
        /// Share of the lift that arrived, 1 is as planned.
        share: f64,
        /// Expanded uncertainty of the share.
        u95: f64,
    },
    /// A foot answers the wrong way round.
    Backwards {
        /// Index into the survey's feet.
        foot: usize,
    },
    /// A foot did nothing.
    Still {
        /// Index into the survey's feet.
        foot: usize,
    },
    /// A foot hangs or nearly hangs after these turns.
    NearlyHanging {
        /// Index into the survey's feet.
        foot: usize,
    },
    /// The bed is inside its limits with this foot idle: it is raised until it carries, and this reading must not move.
    Idle {
        /// Index into the survey's feet.
        foot: usize,
        /// Middle of the level laid across, m from the headstock end.
        at: f64,
    },
    /// Whether this foot carries or is loose fits these readings either way: a hand is to tell before anything is turned.
    Feel {
        /// Index into the survey's feet.
        foot: usize,
    },
    /// Two feet of one diagonal carry the bed, those of the other hang.
    Diagonal {
        /// Those that carry, as indices into the survey's feet.
        carrying: [usize; 2],
        /// The two others at the corners.
        hanging: [usize; 2],
    },
    /// Nothing was recorded after the last pass but a new pass is there.
    TurnsNotRecorded {
        /// Number of the pass, from 1.
        pass: usize,
    },
}
