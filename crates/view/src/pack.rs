//! A plan's passes, packed for the page.
//!
//! Each pass is a head (kind, whether the thread is cut after it), the number
//! of its points and of its jumps, then jumps and points as steps from the
//! place before, in hundredths of a mm. All are whole numbers of seven bits a
//! byte, low end first, the top bit telling that more follow; steps fold their
//! sign into the lowest bit. A stitch of 3 mm takes 4 bytes or fewer.

use laidwork_plan::{Pass, PassKind, Plan, Point};

/// Packs every pass in sewing order.
pub(crate) fn pack(plan: &Plan) -> Vec<u8> {
    let mut packer = Packer { bytes: Vec::new(), at: (0, 0) };
    for (_, pass) in plan.passes() {
        packer.pass(pass);
    }
    packer.bytes
}

struct Packer {
    bytes: Vec<u8>,
    at: (i64, i64),
}

impl Packer {
    fn pass(&mut self, pass: &Pass) {
        let kind = match pass.kind {
            PassKind::Underlay => 0,
            PassKind::Top => 1,
            PassKind::Travel => 2,
            PassKind::Tie => 3,
        };
        self.whole(kind | u64::from(pass.trim) << 2);
        self.whole(pass.points.len() as u64);
        self.whole(pass.jumps.len() as u64);
        for &point in pass.jumps.iter().chain(&pass.points) {
            self.step_to(point);
        }
    }

    fn step_to(&mut self, point: Point) {
        let (x, y) = (hundredths(point.x), hundredths(point.y));
        self.signed(x - self.at.0);
        self.signed(y - self.at.1);
        self.at = (x, y);
    }

    fn signed(&mut self, value: i64) {
        self.whole(((value << 1) ^ (value >> 63)) as u64);
    }

    fn whole(&mut self, mut value: u64) {
        while value >= 128 {
            self.bytes.push((value & 127) as u8 | 128);
            value >>= 7;
        }
        self.bytes.push(value as u8);
    }
}

/// Hundredths of a mm, kept within 10 km; what is no number becomes 0.
fn hundredths(mm: f64) -> i64 {
    (mm * 100.0).round().clamp(-1e9, 1e9) as i64
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_plan::{Method, Piece};

    #[test]
    fn a_pass_packs_into_few_bytes() {
        let mut pass = Pass::after_jump(PassKind::Tie, vec![Point::new(1.0, -1.0), Point::new(1.5, -0.36)]);
        pass.trim = true;
        let piece = Piece { name: "a".into(), method: Method::Run, thread: 0, passes: vec![pass] };
        let plan = Plan { pieces: vec![piece], ..Plan::default() };
        // Head 3 + 4, two points, one jump; a jump by (100, -100), no step, a step by (50, 64).
        assert_eq!(pack(&plan), [7, 2, 1, 200, 1, 199, 1, 0, 0, 100, 128, 1]);
    }

    #[test]
    fn wild_numbers_stay_whole() {
        assert_eq!([f64::NAN, f64::INFINITY, -1e300].map(hundredths), [0, 1_000_000_000, -1_000_000_000]);
    }
}
