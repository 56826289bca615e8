//! What a recipe comes to for one shape: every key resolved.
//!
//! Lengths are mm, angles degrees clockwise as seen (from the x axis towards
//! the y axis), points mm from the centre of the hoop, y down. Numbers already
//! hold the material's and the thread's share; nothing is left to look up.

use laidwork_plan::{Color, Point};
use std::sync::Arc;

/// Everything the later stages want to know about one shape.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// How the shape is sewn.
    pub method: MethodChoice,
    /// The thread it is sewn with.
    pub thread: ThreadUse,
    /// The material row the numbers come from.
    pub material: String,
    /// What later pieces hide of it.
    pub knock_out: KnockOut,
    /// A band along its outline.
    pub border: Option<Border>,
    /// Where sewing begins.
    pub start: Option<Point>,
    /// Where sewing ends.
    pub end: Option<Point>,
    /// Used when it is sewn as a run.
    pub run: RunKeys,
    /// Used when it is sewn as columns.
    pub satin: SatinKeys,
    /// Used when it is sewn as rows.
    pub fill: FillKeys,
}

/// How a shape is sewn, as far as the recipe says.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum MethodChoice {
    /// By its width: below [`SatinKeys::min_width`] a run, up to
    /// [`SatinKeys::max_width`] columns, rows above.
    #[default]
    Auto,
    /// A line of stitches.
    Run,
    /// Columns.
    Satin,
    /// Rows.
    Fill,
    /// Not at all.
    Skip,
}

/// The thread of one shape.
#[derive(Clone, Debug, PartialEq)]
pub struct ThreadUse {
    /// What it looks like.
    pub color: Color,
    /// What its owner calls it.
    pub name: Option<String>,
    /// Its number in [`Recipe::threads`](crate::Recipe::threads), from 0.
    pub listed: Option<usize>,
    /// Linear density, g per 1000 m.
    pub tex: f64,
}

/// Whether and how far a shape is cut back where later pieces hide it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KnockOut {
    /// Whether it is.
    pub on: bool,
    /// How far the rest still reaches under what hides it, mm.
    pub overlap: f64,
}

/// A band along the outline of a shape.
#[derive(Clone, Debug, PartialEq)]
pub struct Border {
    /// How wide the band is, mm.
    pub width: f64,
    /// How far the line it follows lies outside the outline, mm; negative: inside.
    pub offset: f64,
    /// On which side of that line it lies.
    pub side: Side,
    /// How it turns corners.
    pub join: BorderJoin,
    /// A mitre longer than this many times half the width becomes a bevel.
    pub mitre_limit: f64,
    /// How it is sewn; `Auto` goes by its width.
    pub method: MethodChoice,
    /// The band alone: what it surrounds is not sewn.
    pub only: bool,
    /// How far the shape's own stitches reach under the band, mm.
    pub overlap: f64,
    /// Its thread, when it is not the shape's.
    pub thread: Option<ThreadUse>,
}

/// The side of a line.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Side {
    /// Inside the shape.
    In,
    /// Outside the shape.
    Out,
    /// Half on either side.
    #[default]
    Centred,
}

/// How a band turns corners.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum BorderJoin {
    /// Rounded off.
    #[default]
    Round,
    /// Pointed.
    Mitre,
    /// Cut off.
    Bevel,
}

/// What running stitches need to know.
#[derive(Clone, Debug, PartialEq)]
pub struct RunKeys {
    /// How often the path is sewn.
    pub style: RunStyle,
    /// Length of a stitch, mm.
    pub stitch_length: f64,
    /// Length of a stitch in tight curves, mm; at most `stitch_length`.
    pub curve_stitch_length: f64,
    /// No stitch is shorter, mm.
    pub shortest_stitch: f64,
}

/// How often a run sews its path.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum RunStyle {
    /// Once.
    #[default]
    Single,
    /// Once there and once back.
    ThereAndBack,
    /// Each stitch forth, back and forth again.
    Triple,
}

/// A layer that carries the top stitching.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum UnderlayLayer {
    /// A run along the middle.
    CentreRun,
    /// A run along the edge, inset.
    EdgeRun,
    /// A wide zigzag between the sides of a column.
    Zigzag,
    /// Open rows across the top rows.
    Rows,
    /// Two layers of open rows that cross each other.
    CrossingRows,
}

/// The underlay of columns, by their width.
#[derive(Clone, Debug, PartialEq)]
pub struct SatinUnderlay {
    /// Columns narrower than this take `narrow`, mm.
    pub narrow_below: f64,
    /// Columns wider than this take `wide`, mm.
    pub wide_above: f64,
    /// Layers of narrow columns, in sewing order.
    pub narrow: Vec<UnderlayLayer>,
    /// Layers of the columns between.
    pub medium: Vec<UnderlayLayer>,
    /// Layers of wide columns.
    pub wide: Vec<UnderlayLayer>,
}

impl SatinUnderlay {
    /// The layers under a column `width` mm wide, in sewing order.
    pub fn at(&self, width: f64) -> &[UnderlayLayer] {
        if width < self.narrow_below {
            &self.narrow
        } else if width <= self.wide_above {
            &self.medium
        } else {
            &self.wide
        }
    }
}

/// How sewn thread that draws the fabric in is made up for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pull {
    /// Added at each thread's left end (looking along the column), mm.
    pub left: f64,
    /// Added at its right end, mm.
    pub right: f64,
    /// Added besides, percent of the thread's length, half of it at each end.
    pub percent: f64,
    /// No end is lengthened by more, mm.
    pub limit: f64,
}

impl Pull {
    /// What to add to the left and the right end of a thread `length` mm long, mm.
    pub fn at(&self, length: f64) -> (f64, f64) {
        let share = length * self.percent / 200.0;
        ((self.left + share).min(self.limit), (self.right + share).min(self.limit))
    }

    /// What to add at either end where left and right mean nothing, mm.
    pub fn mean(&self, length: f64) -> f64 {
        let (left, right) = self.at(length);
        (left + right) / 2.0
    }
}

/// What columns need to know.
#[derive(Clone, Debug, PartialEq)]
pub struct SatinKeys {
    /// Distance between neighbouring threads at the longer side, mm.
    pub spacing: f64,
    /// Whether the spacing was asked for, not worked out.
    pub spacing_is_written: bool,
    /// Lengthening of the threads.
    pub pull: Pull,
    /// Shortening at each open end, mm.
    pub push: f64,
    /// Narrower shapes are runs, mm.
    pub min_width: f64,
    /// Wider columns are split or filled, mm.
    pub max_width: f64,
    /// Thread between two penetrations of a column that is split, about, mm.
    pub split_length: f64,
    /// Pull alternate points in where they crowd on the inner side of a bend.
    pub short_stitches: bool,
    /// How far a closed column is sewn over its own start, mm.
    pub closed_overlap: f64,
    /// How far a column reaches under the one it meets, mm.
    pub column_overlap: f64,
    /// Longest stitch of the ways from column to column, mm.
    pub travel_length: f64,
    /// Shapes whose lines say where threads lie, by number, ascending.
    pub crossings: Arc<[usize]>,
    /// No stitch is shorter, mm.
    pub shortest_stitch: f64,
    /// Layers by width.
    pub underlay: SatinUnderlay,
    /// The layers are the material's: lighter ones do where rows beneath carry the column.
    pub underlay_auto: bool,
    /// Distance of edge runs and zigzags from the sides, mm.
    pub underlay_inset: f64,
    /// Distance between neighbouring threads of a zigzag, mm.
    pub underlay_spacing: f64,
    /// Stitch length of underlay runs, mm.
    pub underlay_stitch_length: f64,
}

/// What rows need to know.
#[derive(Clone, Debug, PartialEq)]
pub struct FillKeys {
    /// Distance between neighbouring rows, mm.
    pub spacing: f64,
    /// Where the spacing changes to, and which way.
    pub gradient: Option<Gradient>,
    /// Length of a stitch, mm.
    pub stitch_length: f64,
    /// No stitch is shorter, mm.
    pub shortest_stitch: f64,
    /// Direction of the rows, degrees; `None`: chosen by the shape.
    pub angle: Option<f64>,
    /// How the penetrations of neighbouring rows are set off.
    pub shifts: Shifts,
    /// Start of the random numbers of irregular shifts.
    pub seed: u64,
    /// How the rows run.
    pub flow: Flow,
    /// Where radial rows meet, mm; `None`: the shape's centre.
    pub centre: Option<Point>,
    /// Shapes whose lines lead guided rows, by number, ascending.
    pub guides: Arc<[usize]>,
    /// Light shading that lets the fabric show: no warning about coverage.
    pub open: bool,
    /// How the edge is finished.
    pub edge: Edge,
    /// Width of a satin edge, mm.
    pub edge_width: f64,
    /// Rows end on the outline itself, whatever the compensation.
    pub trim_to_outline: bool,
    /// Lengthening of the rows. Left and right mean nothing here: use [`Pull::mean`].
    pub pull: Pull,
    /// Layers in sewing order.
    pub underlay: Vec<UnderlayLayer>,
    /// The layers are the material's: none are needed where rows beneath carry the fill.
    pub underlay_auto: bool,
    /// Distance of the underlay from the outline, mm.
    pub underlay_inset: f64,
    /// Distance between neighbouring rows of underlay, mm.
    pub underlay_spacing: f64,
    /// Stitch length of the underlay, mm.
    pub underlay_stitch_length: f64,
}

/// A spacing that changes across the shape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gradient {
    /// Spacing at the far end, mm; the near end has the fill's own.
    pub spacing_to: f64,
    /// The way from the near to the far end, degrees; `None`: square to the rows.
    pub angle: Option<f64>,
}

/// How the penetrations of neighbouring rows are set off.
#[derive(Clone, Debug, PartialEq)]
pub enum Shifts {
    /// Row after row by these shares of a stitch, over and over.
    Cycle(Vec<f64>),
    /// At random, but never in line.
    Irregular,
}

/// How rows run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Flow {
    /// Side by side, straight.
    #[default]
    Straight,
    /// Along the outline, ring within ring.
    Contour,
    /// Out from a centre.
    Radial,
    /// Led by drawn lines.
    Guided,
}

/// How the edge of a fill is finished.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Edge {
    /// Not at all.
    #[default]
    None,
    /// A run along it.
    Run,
    /// A narrow column along it.
    Satin,
}
