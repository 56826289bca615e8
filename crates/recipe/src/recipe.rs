//! The recipe as read: what holds for the whole design, and the rules.

use crate::colourway::Colourway;
use crate::materials::Materials;
use crate::pattern::Pattern;
use crate::place::Place;
use crate::source::Source;
use crate::values::{Values, View};
use laidwork_plan::Color;
pub use laidwork_plan::HoopShape as Hoop;

/// A recipe file, read and checked.
#[derive(Clone, Debug)]
pub struct Recipe {
    /// Size, hoop, material, title.
    pub design: Design,
    /// Threads somebody has, in the order they are listed.
    pub threads: Vec<ThreadChoice>,
    /// Drawings placed in the hoop, the lowest first; none: the drawing alone.
    pub places: Vec<Place>,
    /// The design in other threads on other fabric, in the order they stand.
    pub colourways: Vec<Colourway>,
    /// Machine and thread.
    pub sewing: Sewing,
    /// The wishes about the sewing order.
    pub order: Order,
    /// When a report warns.
    pub checks: Checks,
    /// The rules, in the order they stand.
    pub rules: Vec<Rule>,
    /// The built-in materials with the recipe's own rows over them.
    pub materials: Materials,
    /// Number of the colourway whose threads are used.
    pub(crate) chosen: Option<usize>,
    pub(crate) defaults: Values,
    pub(crate) source: Source,
}

/// The design as a whole.
#[derive(Clone, Debug, PartialEq)]
pub struct Design {
    /// Sewn width of the drawing, mm; `None`: as drawn, or by the height.
    pub width: Option<f64>,
    /// Sewn height of the drawing, mm; `None`: as drawn, or by the width.
    pub height: Option<f64>,
    /// The hoop.
    pub hoop: Option<Hoop>,
    /// Name of the material row.
    pub material: String,
    /// Direction of the fabric's grain, degrees clockwise from the x axis.
    pub grain: f64,
    /// What the design is called.
    pub title: Option<String>,
    /// The colour pictures are drawn on.
    pub fabric: Option<Color>,
}

/// A thread somebody has.
#[derive(Clone, Debug, PartialEq)]
pub struct ThreadChoice {
    /// What it looks like.
    pub color: Color,
    /// What its owner calls it.
    pub name: Option<String>,
    /// Linear density, g per 1000 m; `None`: [`Sewing::tex`].
    pub tex: Option<f64>,
    /// Colours of the drawing that are sewn with it.
    pub replaces: Vec<Color>,
    /// Its line in the recipe, from 1.
    pub line: usize,
}

/// Machine and thread.
#[derive(Clone, Debug, PartialEq)]
pub struct Sewing {
    /// Jumps longer than this are trimmed, mm.
    pub trim_over: f64,
    /// Length of the stitches of a tie, mm.
    pub tie_length: f64,
    /// How many stitches make a tie.
    pub tie_stitches: u32,
    /// Speed, stitches a minute.
    pub stitches_per_minute: f64,
    /// Time of a trim, s.
    pub seconds_per_trim: f64,
    /// Time of a change of thread, s.
    pub seconds_per_thread_change: f64,
    /// How many threads are threaded at once.
    pub needles: u32,
    /// Linear density of threads that do not say their own, g per 1000 m.
    pub tex: f64,
    /// Top thread used per laid length, a factor.
    pub thread_take_up: f64,
    /// Top thread used per stitch besides, mm.
    pub thread_per_stitch: f64,
    /// Bobbin thread as a share of the top thread.
    pub bobbin_share: f64,
}

/// Wishes about the sewing order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Order {
    /// Where the order comes from.
    pub keep: Keep,
    /// Sewn before everything else.
    pub first: Vec<Pattern>,
    /// Sewn after everything else.
    pub last: Vec<Pattern>,
    /// Pairs: what the first picks is sewn before what the second picks.
    pub before: Vec<(Pattern, Pattern)>,
    /// Groups sewn one shape right after the other.
    pub together: Vec<Vec<Pattern>>,
    /// Groups sewn from the outermost shape to the innermost.
    pub outside_in: Vec<Vec<Pattern>>,
    /// Groups sewn from the innermost shape to the outermost.
    pub inside_out: Vec<Vec<Pattern>>,
    /// Groups sewn one after the other around their common centre.
    pub around: Vec<Vec<Pattern>>,
}

/// Where the sewing order comes from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Keep {
    /// As drawn.
    Drawing,
    /// The one with the fewest changes, trims and jumps that keeps what lies over what.
    #[default]
    Best,
}

/// When a report warns.
#[derive(Clone, Debug, PartialEq)]
pub struct Checks {
    /// Much thread, mm per mm².
    pub dense_thread: f64,
    /// Too much thread, mm per mm².
    pub too_dense_thread: f64,
    /// Many penetrations per mm².
    pub dense_needle: f64,
    /// Too many penetrations per mm².
    pub too_dense_needle: f64,
}

/// What a shape has that rules pick it by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShapeFacts<'a> {
    /// Its id path.
    pub name: &'a str,
    /// Its colour in the drawing.
    pub color: Color,
    /// Whether it is a stroke rather than a filled outline.
    pub stroke: bool,
}

/// Which shapes a rule is for. Empty: every shape.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Selector {
    /// Id paths; any of them.
    pub names: Vec<Pattern>,
    /// Colours of the drawing; any of them.
    pub colors: Vec<Color>,
    /// Only strokes (`true`) or only filled outlines (`false`).
    pub stroke: Option<bool>,
}

impl Selector {
    /// What the keys that pick shapes say.
    pub(crate) fn read(of: View<'_>) -> Selector {
        Selector {
            names: of.patterns("match"),
            colors: of.colors("color"),
            stroke: of.text_if_given("paint").map(|paint| paint == "stroke"),
        }
    }

    /// Whether it picks every shape there may be.
    pub fn is_everything(&self) -> bool {
        self.names.is_empty() && self.colors.is_empty() && self.stroke.is_none()
    }

    /// Whether it picks this shape.
    pub fn picks(&self, shape: &ShapeFacts) -> bool {
        (self.names.is_empty() || self.names.iter().any(|name| name.matches(shape.name)))
            && (self.colors.is_empty() || self.colors.contains(&shape.color))
            && self.stroke.is_none_or(|stroke| stroke == shape.stroke)
    }
}

/// One `[[rule]]`.
#[derive(Clone, Debug)]
pub struct Rule {
    /// Which shapes it is for.
    pub selector: Selector,
    /// Its line in the recipe, from 1.
    pub line: usize,
    pub(crate) values: Values,
}

/// [`Order`] settled on the shapes of a drawing: numbers of shapes, ascending
/// and each but once in a list.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Pins {
    /// Where the order comes from.
    pub keep: Keep,
    /// Sewn before everything else.
    pub first: Vec<usize>,
    /// Sewn after everything else.
    pub last: Vec<usize>,
    /// All of the first list before all of the second.
    pub before: Vec<(Vec<usize>, Vec<usize>)>,
    /// Groups sewn one shape right after the other.
    pub together: Vec<Vec<usize>>,
    /// Groups sewn from the outermost shape to the innermost.
    pub outside_in: Vec<Vec<usize>>,
    /// Groups sewn from the innermost shape to the outermost.
    pub inside_out: Vec<Vec<usize>>,
    /// Groups sewn one after the other around their common centre.
    pub around: Vec<Vec<usize>>,
}
