//! How much thread a design takes from the cone and from the bobbin.
//!
//! The rule is the trade's (common practice, no source): the length laid on the
//! fabric, and 15 % on top of it for what stretches, loops and is wasted, and
//! 0.6 mm for every stitch that goes down into the fabric and up again. The
//! geometry of the lockstitch says the same in other words, see [`lockstitch`].

/// The rule by which laid thread becomes thread used.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Consumption {
    /// Top thread for every length laid, from 1 up.
    pub laid: f64,
    /// Top thread that every stitch takes on its way through the fabric, mm.
    pub stitch: f64,
    /// Bobbin thread for every length of top thread.
    pub bobbin: f64,
}

impl Default for Consumption {
    /// 1.15, 0.6 mm and two fifths: common practice has a third to a half on the bobbin.
    fn default() -> Consumption {
        Consumption { laid: 1.15, stitch: 0.6, bobbin: 0.4 }
    }
}

/// Thread used, in metres.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Used {
    /// From the cone.
    pub top: f64,
    /// From the bobbin.
    pub bobbin: f64,
}

impl Consumption {
    /// The metres that `stitches` with `laid` millimetres of thread on the fabric use up.
    pub fn used(&self, laid: f64, stitches: usize) -> Used {
        let top = (laid * self.laid + stitches as f64 * self.stitch) / 1000.0;
        Used { top, bobbin: top * self.bobbin }
    }
}

/// Both threads of a plain lockstitch seam (ISO 4915 type 301) together, mm:
/// `C = (2 + 2 T S) L` for a seam `L` long, material `T` thick and `S` stitches
/// to the unit. Each thread lies once along every stitch and passes once
/// through the material; the two share the length evenly when they interlock
/// in the middle. Zero when there is no stitch length.
///
/// The top thread's half is `L + T` a stitch, so the 0.6 mm a stitch of
/// [`Consumption`] is a fabric with its backing 0.6 mm thick.
pub fn lockstitch(seam: f64, stitch: f64, thickness: f64) -> f64 {
    if stitch > 0.0 { seam * (2.0 + 2.0 * thickness / stitch) } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn laid_thread_and_stitches_add_up() {
        let used = Consumption::default().used(100_000.0, 25_000);
        assert!((used.top - 130.0).abs() < 1e-9, "{used:?}");
        assert!((used.bobbin - 52.0).abs() < 1e-9, "{used:?}");
    }

    #[test]
    fn lockstitch_seams_take_what_the_geometry_says() {
        let mut cases = 0;
        for line in include_str!("../../../fixtures/reference/lockstitch_301.csv").lines().skip(1) {
            let numbers: Vec<f64> = line.split(',').map_while(|field| field.parse().ok()).collect();
            let [per_inch, thickness, total, each] = numbers[..] else { panic!("{line}") };
            let found = lockstitch(1.0, 1.0 / per_inch, thickness);
            assert!((found - total).abs() < 1e-9 && (found / 2.0 - each).abs() < 1e-9, "{line}: {found}");
            cases += 1;
        }
        assert_eq!(cases, 17);
    }

    #[test]
    fn a_stitch_takes_what_a_fabric_of_0_6_mm_does() {
        // Without the 15 %, the rule is half of a lockstitch seam in 0.6 mm of fabric.
        let bare = Consumption { laid: 1.0, ..Consumption::default() };
        let (seam, stitch) = (1000.0, 2.5);
        assert!((bare.used(seam, 400).top * 1000.0 - lockstitch(seam, stitch, 0.6) / 2.0).abs() < 1e-9);
    }
}
