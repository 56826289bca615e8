//! What a cloth does to a thread sewn into it: the numbers of its material's row.

use laidwork_recipe::{Material, Pull};

/// Push compensation at which columns end on their outline with nothing to make
/// up for, mm: so far their last thread lies outside by itself (docs/satin.md).
const AS_IT_IS: f64 = 0.4;

/// What a cloth does to a thread. Lengths in mm.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Cloth {
    /// Each end is drawn in by this.
    pub pull: f64,
    /// And by half of this share of the thread's length as drawn, percent.
    pub percent: f64,
    /// But by no more than this.
    pub limit: f64,
    /// More along the grain, less across.
    pub grain: f64,
    /// More where threads lie twice as close as usual.
    pub density: f64,
    /// More where stitches are half as long as usual.
    pub stitch: f64,
    /// What columns spread across their threads at each end.
    pub spread: f64,
}

/// How a piece was sewn. Lengths in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sewing {
    /// Between neighbouring threads.
    pub spacing: f64,
    /// What is usual on the material.
    pub usual_spacing: f64,
    /// Length of a stitch.
    pub stitch_length: f64,
    /// What is usual on the material; the same for columns, whose stitches are as long as they are wide.
    pub usual_stitch_length: f64,
    /// Compensation.
    pub pull: Pull,
}

/// The thread as drawn whose compensation makes it `stitched` mm long.
fn drawn_length(stitched: f64, pull: f64, percent: f64, limit: f64) -> f64 {
    let within = (stitched - 2.0 * pull) / (1.0 + percent / 100.0);
    // Where the limit holds, each end got no more than that.
    within.max(stitched - 2.0 * limit).max(0.0)
}

impl Sewing {
    /// What each end of a thread was lengthened by that is `stitched` mm long now, mm.
    pub fn lengthened(&self, stitched: f64) -> f64 {
        let Pull { left, right, percent, limit } = self.pull;
        self.pull.mean(drawn_length(stitched, (left + right) / 2.0, percent, limit))
    }
}

impl Cloth {
    /// What `material` says of the threads of columns (`satin`) or of fills.
    pub fn of(material: &Material, satin: bool) -> Cloth {
        Cloth {
            pull: material.pull_compensation,
            percent: if satin { material.pull_percent } else { 0.0 },
            limit: material.pull_limit,
            grain: material.pull_grain,
            density: material.pull_density,
            stitch: if satin { 0.0 } else { material.pull_stitch },
            spread: if satin { material.push_compensation - AS_IT_IS } else { 0.0 },
        }
    }

    /// How far each end of a thread of `stitched` mm is drawn in. `along` is 1 where it runs along the grain, -1
    /// across. Never more than half the thread, never less than minus a quarter.
    pub fn drawn_in(&self, stitched: f64, along: f64, sewing: &Sewing) -> f64 {
        let drawn = drawn_length(stitched, self.pull, self.percent, self.limit);
        let usual = self.pull + drawn * self.percent / 200.0;
        let usual = if usual > self.limit { self.limit } else { usual };
        let more = |usual: f64, own: f64| if own > 0.0 { usual / own - 1.0 } else { 0.0 };
        let each = usual
            + self.grain * along
            + self.density * more(sewing.usual_spacing, sewing.spacing)
            + self.stitch * more(sewing.usual_stitch_length, sewing.stitch_length);
        if each.is_finite() { each.clamp(-stitched / 4.0, stitched / 2.0) } else { 0.0 }
    }
}
