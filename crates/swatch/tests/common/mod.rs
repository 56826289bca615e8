//! What swatches on simulated cloth share: the usual swatch as sewn, and noise that is the same on every run.

#![allow(dead_code)] // every test file is a program of its own, and none uses all

use laidwork_plan::Plan;
use laidwork_recipe::{Materials, parse};
use laidwork_swatch::{Swatch, Wishes, design};
use std::sync::LazyLock;

/// The swatch and its stitches, sewn once.
pub static SEWN: LazyLock<(Swatch, Plan)> = LazyLock::new(|| {
    let swatch = design(&Wishes::default(), &Materials::built_in().get("canvas").unwrap()).unwrap();
    let plan = sewn(&swatch);
    (swatch, plan)
});

/// A swatch, sewn as the command sews it.
pub fn sewn(swatch: &Swatch) -> Plan {
    let drawing = laidwork_drawing::read(swatch.to_svg().as_bytes(), &Default::default()).unwrap();
    assert!(drawing.warnings.is_empty(), "{:?}", drawing.warnings);
    let recipe = parse(&swatch.to_recipe(), "swatch.toml").unwrap();
    assert!(recipe.warnings.is_empty(), "{:?}", recipe.warnings);
    let sewn = laidwork_engine::sew(&drawing.value, &recipe.value).unwrap();
    assert!(sewn.warnings.is_empty(), "{:?}", sewn.warnings);
    sewn.value.plan
}

/// Numbers that look random and are the same for the same seed (SplitMix64, Steele, Lea and Flood 2014).
pub struct Noise(pub u64);

impl Noise {
    /// Evenly between 0 and 1.
    pub fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut bits = self.0;
        bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((bits ^ (bits >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Of the normal distribution (Box and Muller 1958).
    pub fn normal(&mut self, deviation: f64) -> f64 {
        let (one, other) = (1.0 - self.uniform(), self.uniform());
        deviation * (-2.0 * one.ln()).sqrt() * (std::f64::consts::TAU * other).cos()
    }
}
