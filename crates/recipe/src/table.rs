//! The one table of every key of a recipe.
//!
//! The numbers are common practice of the trade, from memory, no published
//! source. Kept in rows, hence not formatted.

use crate::keys::{Key, Keys, Kind, Preset, Range, Uses};

/// Every method.
const ALL: Uses = Uses { run: true, satin: true, fill: true };
const RUN: Uses = Uses { run: true, satin: false, fill: false };
const SATIN: Uses = Uses { run: false, satin: true, fill: false };
const FILL: Uses = Uses { run: false, satin: false, fill: true };
const RUN_FILL: Uses = Uses { run: true, satin: false, fill: true };
const SATIN_FILL: Uses = Uses { run: false, satin: true, fill: true };

use Kind::*;

const fn range(least: f64, most: f64, unit: &'static str) -> Range {
    Range { least, most, unit }
}

const fn mm(least: f64, most: f64) -> Kind {
    Number(range(least, most, "mm"))
}

const fn key(name: &'static str, kind: Kind, preset: Preset, used_by: Uses, about: &'static str) -> Key {
    Key { name, kind, preset, used_by, about }
}

/// A place in the hoop.
static COORDINATE: Kind = mm(-2000.0, 2000.0);
const POINT: Kind = List { of: &COORDINATE, least: 2, most: 2 };
static MATCH: Kind = Match;
static COLOR: Kind = Color;
const ANY: usize = 100_000;
static MATCHES_LIST: [Kind; 2] = [Match, List { of: &MATCH, least: 1, most: ANY }];
static MATCHES: Kind = Either(&MATCHES_LIST);
const GROUPS: Kind = List { of: &MATCHES, least: 0, most: ANY };
static PAIR: Kind = List { of: &MATCH, least: 2, most: 2 };
static HOOP_SIDE: Kind = mm(20.0, 2000.0);
pub(crate) static ROUND_HOOP: Keys = &[&[key("round", mm(20.0, 2000.0), Preset::Needed, ALL, "Diameter of the inside of a round hoop.")
]];
static COMPENSATION: Kind = mm(-1.0, 3.0);
static COMPENSATIONS: [Kind; 2] = [mm(-1.0, 3.0), List { of: &COMPENSATION, least: 2, most: 2 }];
static LAYER: Kind = Word(&LAYERS);
/// Layers of underlay.
pub(crate) static LAYERS: [&str; 5] = ["centre-run", "edge-run", "zigzag", "rows", "crossing-rows"];
const LAYER_LIST: Kind = List { of: &LAYER, least: 0, most: 8 };
static SHARE: Kind = Number(range(0.0, 1.0, ""));

/// Every table of the file.
pub static ROOT: Keys = &[&[
    key("design", Table(DESIGN), Preset::Unset("the drawing's own size"), ALL, "The design as a whole."),
    key("thread", Tables(THREAD), Preset::Unset("none"), ALL, "A thread somebody has, one table each."),
    key("place", Tables(PLACE), Preset::Unset("the drawing alone, in the middle of the hoop"), ALL, "A drawing placed in the hoop, one table each; later ones lie over earlier ones."),
    key("colourway", Tables(COLOURWAY), Preset::Unset("none"), ALL, "The design in other threads on other fabric, one table each."),
    key("sewing", Table(SEWING), Preset::Unset("its defaults"), ALL, "Machine and thread."),
    key("order", Table(ORDER), Preset::Unset("the best order"), ALL, "Wishes about the sewing order."),
    key("checks", Table(CHECKS), Preset::Unset("its defaults"), ALL, "From when on a report warns."),
    key("defaults", Table(STITCH), Preset::Unset("none"), ALL, "Keys of rules that hold for every shape no rule says otherwise for."),
    key("rule", Tables(RULE), Preset::Unset("none"), ALL, "How some shapes are sewn. Later rules win over earlier ones, key by key."),
    key("material", Rows(MATERIAL), Preset::Unset("the built-in materials"), ALL, "A material of one's own, or keys that replace those of a built-in one."),
]];

/// `[design]`.
pub static DESIGN: Keys = &[&[
    key("width", mm(1.0, 2000.0), Preset::Unset("by `height`, or the drawing's own"), ALL, "Sewn width of the drawing."),
    key("height", mm(1.0, 2000.0), Preset::Unset("by `width`, or the drawing's own"), ALL, "Sewn height of the drawing."),
    key("hoop", Either(&HOOP), Preset::Unset("no hoop: nothing is checked against it"), ALL, "Inside of the frame: `[width, height]`, or `{ round = diameter }`."),
    key("material", Material, Preset::Word("woven-cotton"), ALL, "What is sewn on: a row of the materials table."),
    key("grain", Number(range(-360.0, 360.0, "degrees")), Preset::Number(90.0), ALL, "Direction of the fabric's grain (along the selvedge) in the hoop, clockwise from the x axis: 90 runs up and down. For predictions."),
    key("title", Text, Preset::Unset("the title in the drawing"), ALL, "What the design is called."),
    key("fabric", Color, Preset::Unset("the picture's own ground"), ALL, "Colour of the fabric that pictures are drawn on."),
]];
static HOOP: [Kind; 2] = [List { of: &HOOP_SIDE, least: 2, most: 2 }, Table(ROUND_HOOP)];

/// `[[thread]]`.
pub static THREAD: Keys = &[&[
    key("color", Color, Preset::Needed, ALL, "What it looks like."),
    key("name", Text, Preset::Unset("none"), ALL, "What its owner calls it; rules may use it in `thread`."),
    key("tex", Number(range(5.0, 200.0, "tex")), Preset::Unset("`tex` of `[sewing]`"), ALL, "Linear density, which sets its thickness and with it the default spacing."),
    key("for", Either(&COLORS), Preset::Unset("its own colour"), ALL, "Colours of the drawing that are sewn with it."),
]];
static COLORS: [Kind; 2] = [Color, List { of: &COLOR, least: 1, most: ANY }];

/// `[[place]]`.
pub static PLACE: Keys = &[&[
    key("drawing", Text, Preset::Unset("the drawing the command names"), ALL, "File of the drawing, seen from the recipe's folder."),
    key("name", Text, Preset::Unset("the file's name without its ending"), ALL, "What it is called: the names of its shapes begin with it."),
    key("width", mm(1.0, 2000.0), Preset::Unset("by `height`, or the drawing's own"), ALL, "Sewn width of the drawing."),
    key("height", mm(1.0, 2000.0), Preset::Unset("by `width`, or the drawing's own"), ALL, "Sewn height of the drawing."),
    key("rotate", Number(range(-360.0, 360.0, "degrees")), Preset::Number(0.0), ALL, "Turned clockwise about its middle."),
    key("mirror", Word(&["none", "across", "down"]), Preset::Word("none"), ALL, "Mirrored left to right (`across`) or top to bottom (`down`), before it is turned."),
    key("on", Text, Preset::Unset("the hoop"), ALL, "Name of an earlier place that `across` and `down` refer to."),
    key("across", Word(&["left", "centre", "right"]), Preset::Word("centre"), ALL, "Which of its sides lies on the same side of the hoop, or of what it is placed `on`."),
    key("down", Word(&["top", "middle", "bottom"]), Preset::Word("middle"), ALL, "Likewise, from top to bottom."),
    key("move", POINT, Preset::Unset("not at all"), ALL, "Moved on from there, right and down."),
    key("ring", Table(RING), Preset::Unset("once"), ALL, "Repeated round a circle about the place found so far."),
    key("grid", Table(GRID), Preset::Unset("once"), ALL, "Repeated in columns and rows about the place found so far."),
]];
/// `ring` of a place.
pub static RING: Keys = &[&[
    key("count", Count(range(1.0, 1000.0, "copies")), Preset::Needed, ALL, "How many copies."),
    key("radius", mm(0.0, 2000.0), Preset::Needed, ALL, "From the middle of the circle to the middle of each copy."),
    key("from", Number(range(-360.0, 360.0, "degrees")), Preset::Number(0.0), ALL, "Where the first copy lies, clockwise from the top."),
    key("turn", Bool, Preset::Bool(true), ALL, "Turn each copy so that its top points outwards."),
]];
/// `grid` of a place.
pub static GRID: Keys = &[&[
    key("columns", Count(range(1.0, 1000.0, "columns")), Preset::Number(1.0), ALL, "Copies side by side."),
    key("rows", Count(range(1.0, 1000.0, "rows")), Preset::Number(1.0), ALL, "Copies below each other."),
    key("step", POINT, Preset::Needed, ALL, "From the middle of a copy to that of its right and of its lower neighbour."),
]];

/// `[[colourway]]`.
pub static COLOURWAY: Keys = &[&[
    key("name", Text, Preset::Needed, ALL, "What it is called."),
    key("fabric", Color, Preset::Unset("`fabric` of `[design]`"), ALL, "Colour of its fabric."),
    key("swap", Tables(SWAP), Preset::Unset("none"), ALL, "Shapes sewn in another thread, one table each; later ones win."),
]];
/// `swap` of a colourway.
pub static SWAP: Keys = &[&PICK, &[
    key("thread", Thread, Preset::Unset("the same as ever"), ALL, "Thread of these shapes: its name, or a colour."),
    key("border", Thread, Preset::Unset("the same as ever"), ALL, "Thread of their borders, where they have one."),
]];

/// `[sewing]`.
pub static SEWING: Keys = &[&[
    key("trim_over", mm(0.0, 2.0), Preset::Number(2.0), ALL, "Jumps longer than this are trimmed. Thread dragged over 2 mm shows and catches."),
    key("tie_length", mm(0.3, 2.0), Preset::Number(0.8), ALL, "Length of the stitches that lock a thread."),
    key("tie_stitches", Count(range(2.0, 8.0, "stitches")), Preset::Number(3.0), ALL, "How many stitches lock a thread."),
    key("stitches_per_minute", Number(range(50.0, 2000.0, "stitches/min")), Preset::Number(700.0), ALL, "Speed, for the sewing time."),
    key("seconds_per_trim", Number(range(0.0, 600.0, "s")), Preset::Number(8.0), ALL, "Time of a trim."),
    key("seconds_per_thread_change", Number(range(0.0, 3600.0, "s")), Preset::Number(75.0), ALL, "Time of a change of thread by hand."),
    key("needles", Count(range(1.0, 64.0, "needles")), Preset::Number(1.0), ALL, "How many threads are threaded at once. Where that is enough for the design, changes of thread cost no time but their cut."),
    key("tex", Number(range(5.0, 200.0, "tex")), Preset::Number(27.0), ALL, "Linear density of threads that do not say their own."),
    key("thread_take_up", Number(range(1.0, 3.0, "")), Preset::Number(1.15), ALL, "Top thread used for each mm laid."),
    key("thread_per_stitch", mm(0.0, 5.0), Preset::Number(0.6), ALL, "Top thread used for each stitch besides."),
    key("bobbin_share", Number(range(0.0, 1.0, "")), Preset::Number(0.4), ALL, "Bobbin thread as a share of the top thread; a third to a half is usual."),
]];

/// `[order]`.
pub static ORDER: Keys = &[&[
    key("keep", Word(&["drawing", "best"]), Preset::Word("best"), ALL, "Sew as drawn, or in the order with the fewest changes, trims and jumps that keeps what lies over what."),
    key("first", Either(&MATCHES_LIST), Preset::Unset("none"), ALL, "Shapes sewn before all others."),
    key("last", Either(&MATCHES_LIST), Preset::Unset("none"), ALL, "Shapes sewn after all others."),
    key("before", List { of: &PAIR, least: 0, most: ANY }, Preset::Unset("none"), ALL, "Pairs `[earlier, later]`."),
    key("together", GROUPS, Preset::Unset("none"), ALL, "Groups sewn one shape right after the other."),
    key("outside_in", GROUPS, Preset::Unset("none"), ALL, "Groups sewn from the outermost shape to the innermost."),
    key("inside_out", GROUPS, Preset::Unset("none"), ALL, "Groups sewn from the innermost shape to the outermost."),
    key("around", GROUPS, Preset::Unset("none"), ALL, "Groups sewn one after the other around their common centre."),
]];

/// `[checks]`.
pub static CHECKS: Keys = &[&[
    key("dense_thread", Number(range(1.0, 50.0, "mm/mm²")), Preset::Number(9.0), ALL, "Thread in a cell of 2 x 2 mm from which a report warns."),
    key("too_dense_thread", Number(range(1.0, 50.0, "mm/mm²")), Preset::Number(13.0), ALL, "Thread in such a cell from which the check fails."),
    key("dense_needle", Number(range(0.5, 30.0, "1/mm²")), Preset::Number(4.0), ALL, "Penetrations in such a cell from which a report warns."),
    key("too_dense_needle", Number(range(0.5, 30.0, "1/mm²")), Preset::Number(6.0), ALL, "Penetrations in such a cell from which the check fails."),
]];

/// Keys that pick shapes; the first of every `[[rule]]`.
pub static PICK: [Key; 3] = [
    key("match", Either(&MATCHES_LIST), Preset::Unset("every name"), ALL, "Id path of the shapes, or a list of them; `*` stands for any run of characters."),
    key("color", Either(&COLORS), Preset::Unset("every colour"), ALL, "Colour of the shapes in the drawing, or a list."),
    key("paint", Word(&["fill", "stroke"]), Preset::Unset("both"), ALL, "Only filled outlines or only strokes."),
];

/// `[defaults]`, and what a `[[rule]]` says about the shapes it picks.
pub static STITCH: Keys = &[&SHAPE, &THREADS, &UNDERLAY, &RUNS, &COLUMNS, &ROWS];

/// `[[rule]]`.
pub static RULE: Keys = &[&PICK, &SHAPE, &THREADS, &UNDERLAY, &RUNS, &COLUMNS, &ROWS];

/// Keys about a shape as a whole.
pub static SHAPE: [Key; 8] = [
    key("method", Word(&["auto", "run", "satin", "fill", "skip"]), Preset::Word("auto"), ALL, "How the shape is sewn. `auto` goes by its width: below `min_width` a run, up to `max_width` satin, fill above; what a later shape leaves of a wide one is filled too, unless it is narrower than 2.5 mm. `skip` leaves it out."),
    key("thread", Thread, Preset::Unset("the thread `for` the shape's colour, else the colour itself"), ALL, "Name of a `[[thread]]`, or a colour."),
    key("material", Material, Preset::Unset("`material` of `[design]`"), ALL, "What these shapes are sewn on, if it is something else."),
    key("knock_out", Bool, Preset::Bool(true), ALL, "Leave out what later pieces hide of the shape."),
    key("overlap", mm(0.0, 10.0), Preset::Number(1.0), ALL, "How far the rest still reaches under what hides it."),
    key("border", Table(BORDER), Preset::Unset("no border"), ALL, "A band along the outline. A later rule changes it key by key."),
    key("start", POINT, Preset::Unset("where it suits the order"), ALL, "Where sewing of the shape begins, from the centre of the hoop, y down."),
    key("end", POINT, Preset::Unset("where it suits the order"), ALL, "Where sewing of the shape ends."),
];

/// `border`.
pub static BORDER: Keys = &[&[
    key("on", Bool, Preset::Bool(true), ALL, "`false` takes away the border an earlier rule gave."),
    key("width", mm(0.5, 20.0), Preset::Number(3.0), ALL, "Width of the band."),
    key("offset", mm(-50.0, 50.0), Preset::Number(0.0), ALL, "How far the line the band follows lies outside the outline; negative: inside."),
    key("side", Word(&["in", "out", "centred"]), Preset::Word("centred"), ALL, "Side of that line the band lies on."),
    key("join", Word(&["round", "mitre", "bevel"]), Preset::Word("round"), ALL, "How the band turns corners."),
    key("mitre_limit", Number(range(1.0, 20.0, "")), Preset::Number(4.0), ALL, "A mitre longer than this many times half the width is bevelled."),
    key("method", Word(&["auto", "run", "satin", "fill"]), Preset::Word("auto"), ALL, "How the band is sewn."),
    key("only", Bool, Preset::Bool(false), ALL, "Sew the band alone, not what it surrounds."),
    key("overlap", mm(0.0, 10.0), Preset::Number(0.8), ALL, "How far the shape's own stitches reach under the band (with `knock_out`, no farther than its `overlap`)."),
    key("thread", Thread, Preset::Unset("the shape's thread"), ALL, "Thread of the band."),
]];

/// Keys about threads laid side by side and stitches.
pub static THREADS: [Key; 8] = [
    key("spacing", mm(0.1, 10.0), Preset::Numbers { run: None, satin: Some(0.17), fill: Some(0.22) }, SATIN_FILL, "Distance between neighbouring threads, square to them; for columns at the longer side. Where it is not written the default is multiplied by the material's `spacing_factor` and by the thickness of the thread against 27 tex."),
    key("stitch_length", mm(0.5, 12.0), Preset::Material, RUN_FILL, "Length of a stitch along a run or a row; along a row at most 11.5 mm less twice `shortest_stitch`, for the last one takes in what is left."),
    key("shortest_stitch", mm(0.3, 2.0), Preset::Numbers { run: Some(0.4), satin: Some(0.5), fill: Some(0.8) }, ALL, "Needle points nearer to the one before are left out. Turns at row ends, sharp corners and ties may need shorter ones: 0.3 mm at least, ties aside."),
    key("pull_compensation", Either(&COMPENSATIONS), Preset::Material, SATIN_FILL, "Lengthening of each thread at each end; for columns also `[left, right]`, of which fills take the mean, and 0 at least."),
    key("pull_percent", Number(range(0.0, 50.0, "%")), Preset::Material, SATIN, "Lengthening besides, by this share of the thread's length, half of it at each end."),
    key("pull_limit", mm(0.0, 3.0), Preset::Material, SATIN_FILL, "No end is lengthened by more in all."),
    key("push_compensation", mm(-2.0, 5.0), Preset::Material, SATIN, "Shortening of a column at each open end, because sewn fabric spreads across the thread."),
    key("seed", Count(range(0.0, 9007199254740991.0, "")), Preset::Number(0.0), FILL, "Start of the random numbers of irregular shifts: another number, another pattern."),
];

/// Keys about what carries the top stitching.
pub static UNDERLAY: [Key; 6] = [
    key("underlay", Either(&UNDERLAYS), Preset::Word("auto"), SATIN_FILL, "Layers in sewing order (under a fill the edge run comes first, whatever the order); `auto`: what the material wants under a column of that width or under a fill; on the rows of an earlier fill columns take the underlay of narrow ones, and fills none."),
    key("underlay_inset", mm(0.0, 5.0), Preset::Material, SATIN_FILL, "Distance of the underlay from the outline."),
    key("underlay_spacing", mm(0.4, 20.0), Preset::Material, SATIN_FILL, "Distance between neighbouring threads of zigzags and open rows."),
    key("underlay_stitch_length", mm(0.5, 7.0), Preset::Material, SATIN_FILL, "Length of its stitches."),
    key("underlay_narrow_below", mm(0.0, 12.0), Preset::Material, SATIN, "Columns narrower than this take the underlay of narrow ones."),
    key("underlay_wide_above", mm(0.0, 12.0), Preset::Material, SATIN, "Columns wider than this take the underlay of wide ones."),
];
static UNDERLAYS: [Kind; 2] = [Word(&["auto", "none"]), LAYER_LIST];

/// Keys of runs.
pub static RUNS: [Key; 2] = [
    key("run", Word(&["single", "there-and-back", "triple"]), Preset::Word("single"), RUN, "How often the path is sewn."),
    key("curve_stitch_length", mm(0.4, 12.0), Preset::Material, RUN, "Length of a stitch in tight curves; never more than `stitch_length`."),
];

/// Keys of columns.
pub static COLUMNS: [Key; 8] = [
    key("min_width", mm(0.3, 3.0), Preset::Number(1.0), SATIN, "Narrower shapes are runs; also where `method` is `auto`."),
    key("max_width", mm(1.0, 11.0), Preset::Material, SATIN, "Wider columns are split or filled; also where `method` is `auto`."),
    key("split_length", mm(1.0, 11.0), Preset::Number(4.0), SATIN, "Thread between two penetrations where a column is split, about."),
    key("crossings", Either(&MATCHES_LIST), Preset::Unset("found from the outline"), SATIN, "Strokes that say where threads lie across the column. They are not sewn themselves."),
    key("short_stitches", Bool, Preset::Bool(true), SATIN, "Pull alternate points in where they crowd on the inner side of a bend."),
    key("closed_overlap", mm(0.0, 5.0), Preset::Number(0.8), SATIN, "How far a closed column is sewn over its own start."),
    key("column_overlap", mm(0.0, 3.0), Preset::Number(0.6), SATIN, "How far a column reaches under the one it meets."),
    key("travel_length", mm(0.8, 8.0), Preset::Number(2.0), SATIN, "Longest stitch of the ways from column to column, under them."),
];

/// Keys of fills.
pub static ROWS: [Key; 11] = [
    key("angle", Either(&ANGLES), Preset::Word("auto"), FILL, "Direction of the rows, clockwise from the x axis; `auto` goes by the shape."),
    key("shifts", Either(&SHIFTS), Preset::List(&[0.0, 0.4, 0.8, 0.2, 0.6]), FILL, "How far the penetrations are set off row after row, as shares of a stitch, over and over; or `irregular`."),
    key("flow", Word(&["straight", "contour", "radial", "guided"]), Preset::Word("straight"), FILL, "How the rows run: side by side, along the outline, out from a centre, or led by drawn lines. `guides` alone makes it guided, `centre` alone radial."),
    key("centre", POINT, Preset::Unset("the shape's centre"), FILL, "Where radial rows meet, from the centre of the hoop, y down."),
    key("guides", Either(&MATCHES_LIST), Preset::Unset("none"), FILL, "Strokes that lead guided rows. They are not sewn themselves."),
    key("spacing_to", mm(0.1, 10.0), Preset::Unset("the same all over"), FILL, "Spacing at the far end, where it changes across the shape."),
    key("spacing_angle", Number(range(-360.0, 360.0, "degrees")), Preset::Unset("square to the rows"), FILL, "The way from the near to the far end."),
    key("open", Bool, Preset::Bool(false), FILL, "Light shading that lets the fabric show: no warning about coverage."),
    key("edge", Word(&["none", "run", "satin"]), Preset::Word("none"), FILL, "How the edge is finished, over the ends of the rows."),
    key("edge_width", mm(0.5, 7.0), Preset::Number(1.5), FILL, "Width of a satin edge."),
    key("trim_to_outline", Bool, Preset::Bool(false), FILL, "End every row on the outline itself, whatever the compensation."),
];
static ANGLES: [Kind; 2] = [Number(range(-360.0, 360.0, "degrees")), Word(&["auto"])];
static SHIFTS: [Kind; 2] = [List { of: &SHARE, least: 1, most: 64 }, Word(&["irregular"])];

/// A row of the materials table. What it leaves out is taken from the row it is based on.
pub static MATERIAL: Keys = &[&[
    key("about", Text, Preset::Material, ALL, "What it is."),
    key("based_on", Material, Preset::Unset("the row of the same name, else `woven-cotton`"), ALL, "Row that says what this one leaves out."),
    key("spacing_factor", Number(range(0.5, 2.0, "")), Preset::Material, SATIN_FILL, "Multiplies the default spacing."),
    key("pull_compensation", mm(-1.0, 3.0), Preset::Material, SATIN_FILL, "Lengthening of each thread at each end."),
    key("pull_percent", Number(range(0.0, 50.0, "%")), Preset::Material, SATIN, "Lengthening besides, by this share of the thread's length, half of it at each end."),
    key("pull_limit", mm(0.0, 3.0), Preset::Material, SATIN_FILL, "No end is lengthened by more in all."),
    key("push_compensation", mm(-2.0, 5.0), Preset::Material, SATIN, "Shortening of a column at each open end."),
    key("pull_grain", mm(-1.0, 1.0), Preset::Material, SATIN_FILL, "How much more an end is drawn in where threads run along the cloth's grain, and less where they run across. For predictions; compensation does not use it."),
    key("pull_density", mm(-1.0, 2.0), Preset::Material, SATIN_FILL, "How much more an end is drawn in where threads lie twice as close as usual. For predictions."),
    key("pull_stitch", mm(-1.0, 2.0), Preset::Material, FILL, "How much more an end of a fill's row is drawn in where stitches are half as long as usual. For predictions."),
    key("run_stitch_length", mm(0.5, 12.0), Preset::Material, RUN, "Stitch length of runs."),
    key("run_curve_stitch_length", mm(0.4, 12.0), Preset::Material, RUN, "Stitch length of runs in tight curves."),
    key("fill_stitch_length", mm(0.5, 12.0), Preset::Material, FILL, "Stitch length of fills."),
    key("satin_max_width", mm(1.0, 11.0), Preset::Material, SATIN, "Wider columns are split or filled."),
    key("satin_underlay_narrow_below", mm(0.0, 12.0), Preset::Material, SATIN, "Columns narrower than this take `satin_underlay_narrow`."),
    key("satin_underlay_wide_above", mm(0.0, 12.0), Preset::Material, SATIN, "Columns wider than this take `satin_underlay_wide`."),
    key("satin_underlay_narrow", LAYER_LIST, Preset::Material, SATIN, "Underlay of narrow columns."),
    key("satin_underlay_medium", LAYER_LIST, Preset::Material, SATIN, "Underlay of columns between."),
    key("satin_underlay_wide", LAYER_LIST, Preset::Material, SATIN, "Underlay of wide columns."),
    key("satin_underlay_inset", mm(0.0, 5.0), Preset::Material, SATIN, "Distance of a column's underlay from its sides."),
    key("satin_underlay_spacing", mm(0.4, 20.0), Preset::Material, SATIN, "Distance between neighbouring threads of its zigzag."),
    key("satin_underlay_stitch_length", mm(0.5, 7.0), Preset::Material, SATIN, "Stitch length of its runs."),
    key("fill_underlay", LAYER_LIST, Preset::Material, FILL, "Underlay of fills."),
    key("fill_underlay_inset", mm(0.0, 5.0), Preset::Material, FILL, "Distance of a fill's underlay from the outline."),
    key("fill_underlay_spacing", mm(0.4, 20.0), Preset::Material, FILL, "Distance between its open rows."),
    key("fill_underlay_stitch_length", mm(0.5, 7.0), Preset::Material, FILL, "Stitch length of its runs and rows."),
    key("backing", Text, Preset::Material, ALL, "What to put behind it."),
    key("topping", Text, Preset::Material, ALL, "What to lay over it."),
    key("needle", Text, Preset::Material, ALL, "Needle to use."),
    key("speed", Text, Preset::Material, ALL, "How fast to sew."),
]];

/// Words that others may use, and the key they mean.
pub(crate) static OTHER_WORDS: [(&str, &str); 10] = [
    ("density", "spacing"), ("gap", "spacing"), ("direction", "angle"), ("type", "method"), ("stitch", "method"),
    ("id", "match"), ("outline", "border"), ("fabric", "material"), ("size", "width"), ("speed", "stitches_per_minute"),
];

/// Tables whose keys may be looked for elsewhere, by the names users know them under.
pub(crate) fn homes() -> impl Iterator<Item = (&'static str, Keys)> + Clone {
    [
        ("`[design]`", DESIGN), ("`[[thread]]`", THREAD), ("`[[place]]`", PLACE), ("`[[colourway]]`", COLOURWAY), ("`[[colourway.swap]]`", SWAP), ("`[sewing]`", SEWING),
        ("`[order]`", ORDER), ("`[checks]`", CHECKS), ("`[[rule]]`", RULE), ("`border`", BORDER), ("`[material.NAME]`", MATERIAL),
    ].into_iter()
}

/// A file of materials.
pub static MATERIALS_FILE: Keys = &[&[key("material", Rows(MATERIAL), Preset::Unset("none"), ALL, "A material of one's own, or keys that replace those of a built-in one.")
]];
