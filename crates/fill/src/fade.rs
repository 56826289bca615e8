//! Rows whose spacing changes over a shape: where they no longer hide what lies under them.

use crate::{FillSettings, Flow, row_angle, rows_seen};
use kurbo::Point;
use laidwork_geometry::{FillRule, Frame, Polygon, Region, Ring};

/// Rows farther apart than this hide nothing, mm.
const HIDING: f64 = 0.4;

/// The side of a shape where its rows lie too far apart to hide what is under them; `None` where they nowhere do
/// (rows that are far apart all over show it as well, but then it is what was asked for).
pub(crate) fn showing(polygon: &Polygon, frame: Frame, spacing: [f64; 2]) -> Option<Region> {
    let [near, far] = spacing;
    if near.max(far) <= HIDING || near.min(far) > HIDING {
        return None;
    }
    let (low, high) = frame.extent(polygon)?;
    let border = low + (high - low) * (HIDING - near) / (far - near);
    let (from, to) = if far > near { (border, high + 1.0) } else { (low - 1.0, border) };
    let bounds = polygon.bounds()?;
    let middle = frame.to_frame(bounds.center()).x;
    let reach = bounds.width() + bounds.height();
    let corners = [(middle - reach, from), (middle + reach, from), (middle + reach, to), (middle - reach, to)];
    let ring = Ring::new(corners.map(|uv| frame.from_frame(Point::from(uv))).to_vec());
    Some(Region::from_rings(&[ring], FillRule::NonZero))
}

/// Where to begin and to end a shape whose rows lie close at one side and too far apart to hide what is under them at
/// the other: a way from a beginning there to the underlay would show. `None` where they hide it everywhere or nowhere.
pub fn fade_ends(polygon: &Polygon, settings: &FillSettings) -> Option<[Point; 2]> {
    settings.spacing_to.filter(|_| settings.flow == Flow::Straight && !settings.open)?;
    let (frame, spacing) = rows_seen(settings, row_angle(polygon, settings));
    ends(polygon, frame, spacing)
}

/// The outermost corners at the side where rows lie closest and at the other (see [`fade_ends`]).
pub(crate) fn ends(polygon: &Polygon, frame: Frame, spacing: [f64; 2]) -> Option<[Point; 2]> {
    let [near, far] = spacing;
    if near.max(far) <= HIDING || near.min(far) > HIDING {
        return None;
    }
    let corners = || polygon.outer.points.iter().map(|point| frame.to_frame(*point)).filter(|uv| uv.is_finite());
    let rank = |uv: &Point, high: f64| (high * uv.y, uv.x);
    let outermost = |high: f64| {
        let most = corners().max_by(|a, b| {
            let (a, b) = (rank(a, high), rank(b, high));
            a.0.total_cmp(&b.0).then(b.1.total_cmp(&a.1))
        });
        most.map(|uv| frame.from_frame(uv))
    };
    let (low, high) = (outermost(-1.0)?, outermost(1.0)?);
    Some(if near < far { [low, high] } else { [high, low] })
}

#[cfg(test)]
mod tests {
    use crate::{Ends, FillSettings, RowAngle, SpacingTo, fill};
    use kurbo::Point;
    use laidwork_geometry::{Polygon, Ring};
    use laidwork_plan::PassKind;

    /// From where to where underlay reaches in a square of 40 mm whose rows go from `near` on the left to `far` apart.
    fn underlay_reaches(near: f64, far: f64) -> (f64, f64) {
        let corners = [(0.0, 0.0), (40.0, 0.0), (40.0, 40.0), (0.0, 40.0)].map(Point::from);
        let square = Polygon { outer: Ring::new(corners.to_vec()), holes: Vec::new() };
        let spacing_to = Some(SpacingTo { spacing: far, angle: 0.0 });
        let settings = FillSettings { spacing: near, spacing_to, angle: RowAngle::At(90.0), ..FillSettings::default() };
        let passes = fill("fade", &square, None, &settings, Ends::default()).value;
        let under = passes.iter().filter(|pass| pass.kind == PassKind::Underlay);
        let places = under.flat_map(|pass| &pass.points).map(|point| point.x);
        places.fold((f64::MAX, 0.0), |(from, to), x| (x.min(from), x.max(to)))
    }

    #[test]
    fn underlay_ends_where_rows_would_show_it() {
        // 0.4 mm lie a quarter of the way from 0.2 to 1.0.
        assert!((9.0..=10.0).contains(&underlay_reaches(0.2, 1.0).1));
        assert!(underlay_reaches(0.2, 0.4).1 > 39.0);
        assert!(underlay_reaches(0.5, 1.0).1 > 39.0);
    }

    #[test]
    fn no_travel_crosses_the_open_side() {
        let corners = [(0.0, 0.0), (40.0, 0.0), (40.0, 40.0), (0.0, 40.0)].map(Point::from);
        let square = Polygon { outer: Ring::new(corners.to_vec()), holes: Vec::new() };
        for (spacing, to, open) in [(0.2, 0.9, 14.0..40.0), (0.9, 0.2, 0.0..26.0)] {
            let spacing_to = Some(SpacingTo { spacing: to, angle: 0.0 });
            let settings = FillSettings { spacing, spacing_to, ..FillSettings::default() };
            let passes = fill("fade", &square, None, &settings, Ends::default()).value;
            let travel = passes.iter().filter(|pass| pass.kind == PassKind::Travel).flat_map(|pass| &pass.points);
            let shows: Vec<&Point> = travel.filter(|point| open.contains(&point.x)).collect();
            assert!(shows.is_empty(), "{shows:?}");
        }
    }

    #[test]
    fn spacing_may_fall_as_well() {
        let (from, to) = underlay_reaches(1.0, 0.2);
        assert!((30.0..=31.0).contains(&from) && to > 39.0, "{from} {to}");
    }
}
