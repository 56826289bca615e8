//! How an area is filled. Every default is common practice, no source.

use kurbo::Point;
use laidwork_underlay::FillUnderlay;

/// The direction of the rows.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum RowAngle {
    /// The one that cuts the shape into the fewest pieces and needs the least travel.
    #[default]
    Auto,
    /// Degrees from the x axis towards the y axis (clockwise as seen).
    At(f64),
}

/// Where the needle points of a row lie against those of its neighbours.
#[derive(Clone, Debug, PartialEq)]
pub enum Shifts {
    /// Row after row, the parts of a stitch length by which its needle points
    /// are moved along; then from the beginning again.
    Fractions(Vec<f64>),
    /// Scattered, and away from those of the rows before. The same seed gives the same stitches.
    Irregular {
        /// Any number.
        seed: u64,
    },
}

impl Default for Shifts {
    /// Five rows, each two fifths of a stitch on from the one before: neighbours
    /// are 0.4 of a stitch apart and their neighbours 0.2.
    fn default() -> Shifts {
        Shifts::Fractions(vec![0.0, 0.4, 0.8, 0.2, 0.6])
    }
}

/// The lines that rows follow.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Flow {
    /// Straight rows at [`FillSettings::angle`].
    #[default]
    Straight,
    /// Rows that follow the outline inwards.
    Contour,
    /// Rows that run away from a point; further out there are more of them, which begin
    /// one pair at a time, so that their mean spacing stays near to what is asked for.
    Radial {
        /// The point; the shape's centroid when `None`.
        centre: Option<Point>,
    },
    /// Rows that run along guide lines, turning gradually from one to the
    /// next; where they part there are more, so that their spacing stays
    /// within 0.84 and 1.2 times what is asked for while guides do not cross.
    Guided {
        /// Each guide line, mm, in the frame of the shape. Straight rows when there are none.
        lines: Vec<Vec<Point>>,
    },
}

/// What the edge of a fill gets.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Edge {
    /// Nothing.
    #[default]
    None,
    /// A run along every outline.
    Run,
}

/// A spacing that changes over the shape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpacingTo {
    /// The spacing at the far side, mm.
    pub spacing: f64,
    /// The direction from the near to the far side, degrees from x towards y.
    pub angle: f64,
}

/// How an area is filled.
#[derive(Clone, Debug, PartialEq)]
pub struct FillSettings {
    /// The direction of straight rows.
    pub angle: RowAngle,
    /// Distance between neighbouring rows, mm.
    pub spacing: f64,
    /// Distance between needle points in a row, mm.
    pub stitch_length: f64,
    /// No stitch of a row that has room for more is shorter than this, mm.
    pub shortest_stitch: f64,
    /// How needle points are spread over neighbouring rows.
    pub shifts: Shifts,
    /// The lines that rows follow.
    pub flow: Flow,
    /// Where the spacing goes over the shape, when it is not the same everywhere.
    pub spacing_to: Option<SpacingTo>,
    /// Rows so far apart that nothing hides what lies under them: no underlay,
    /// and the thread goes from row to row along the edge alone.
    pub open: bool,
    /// How far each row goes beyond the outline at each of its ends, mm. A hole
    /// or gap is narrowed by a third of its width at each side at most.
    pub pull_compensation: f64,
    /// Rows end exactly on the outline, whatever the compensation.
    pub trim_to_outline: bool,
    /// What the edge gets.
    pub edge: Edge,
    /// What carries the rows.
    pub underlay: Option<FillUnderlay>,
}

impl Default for FillSettings {
    fn default() -> FillSettings {
        FillSettings {
            angle: RowAngle::Auto,
            spacing: 0.22,
            stitch_length: 4.0,
            shortest_stitch: 0.8,
            shifts: Shifts::default(),
            flow: Flow::Straight,
            spacing_to: None,
            open: false,
            pull_compensation: 0.2,
            trim_to_outline: false,
            edge: Edge::None,
            underlay: Some(FillUnderlay::default()),
        }
    }
}
