//! Yarn numbers and the thickness of a thread.
//!
//! A yarn number says how fine a thread is: *direct* systems give the weight of
//! a length (tex, decitex, denier), *indirect* ones the length of a weight
//! (metric, cotton, worsted ...), tickets of sewing thread three times the
//! resultant count. ASTM D2260 gives the factors between them; here they follow
//! from the exact pound (453.592 37 g) and yard (0.9144 m), and the tests hold
//! them against the standard.

/// Weight of a thread: grams a kilometre, finite and above zero.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Tex(f64);

/// A system of yarn numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum YarnSystem {
    /// Grams a kilometre.
    Tex,
    /// Grams in 10 km.
    Decitex,
    /// Grams in 9 km.
    Denier,
    /// Metric count Nm: kilometres a kilogram.
    Metric,
    /// Cotton count Ne: hanks of 840 yards a pound.
    Cotton,
    /// Worsted count: hanks of 560 yards a pound.
    Worsted,
    /// Woollen run: hanks of 1600 yards a pound.
    WoollenRun,
    /// Linen lea: leas of 300 yards a pound.
    LinenLea,
    /// Yards a pound.
    YardsPerPound,
    /// Ticket of synthetic sewing thread: three times the resultant metric count.
    MetricTicket,
    /// Ticket of cotton sewing thread: three times the resultant cotton count.
    CottonTicket,
}

/// Tex times the count of a yarn of which one yard weighs one pound.
const YARD_POUND: f64 = 453.592_37 * 1000.0 / 0.9144;

impl YarnSystem {
    /// The number and tex make this constant: their product when the system
    /// counts length by weight, their quotient when it counts weight by length.
    fn rule(self) -> Rule {
        match self {
            YarnSystem::Tex => Rule::Direct(1.0),
            YarnSystem::Decitex => Rule::Direct(10.0),
            YarnSystem::Denier => Rule::Direct(9.0),
            YarnSystem::Metric => Rule::Indirect(1000.0),
            YarnSystem::Cotton => Rule::Indirect(YARD_POUND / 840.0),
            YarnSystem::Worsted => Rule::Indirect(YARD_POUND / 560.0),
            YarnSystem::WoollenRun => Rule::Indirect(YARD_POUND / 1600.0),
            YarnSystem::LinenLea => Rule::Indirect(YARD_POUND / 300.0),
            YarnSystem::YardsPerPound => Rule::Indirect(YARD_POUND),
            YarnSystem::MetricTicket => Rule::Indirect(3.0 * 1000.0),
            YarnSystem::CottonTicket => Rule::Indirect(3.0 * YARD_POUND / 840.0),
        }
    }
}

enum Rule {
    /// number = factor x tex
    Direct(f64),
    /// number = constant / tex
    Indirect(f64),
}

impl Tex {
    /// A weight of `tex` grams a kilometre; `None` unless it is finite and above zero.
    pub fn new(tex: f64) -> Option<Tex> {
        (tex.is_finite() && tex > 0.0).then_some(Tex(tex))
    }

    /// Grams a kilometre.
    pub fn get(self) -> f64 {
        self.0
    }

    /// The weight of a thread of `number` in `system`.
    pub fn from_number(number: f64, system: YarnSystem) -> Option<Tex> {
        let number = Tex::new(number)?.0;
        Tex::new(match system.rule() {
            Rule::Direct(factor) => number / factor,
            Rule::Indirect(constant) => constant / number,
        })
    }

    /// The weight of `plies` yarns of `number` in `system`, twisted together:
    /// Nm 80/2 is two plies of Nm 80.
    pub fn plied(number: f64, plies: u32, system: YarnSystem) -> Option<Tex> {
        Tex::new(Tex::from_number(number, system)?.0 * f64::from(plies))
    }

    /// The number of this thread in `system`.
    pub fn number(self, system: YarnSystem) -> f64 {
        match system.rule() {
            Rule::Direct(factor) => self.0 * factor,
            Rule::Indirect(constant) => constant / self.0,
        }
    }

    /// The thickness of a round thread, mm: `d = sqrt(4 T / (pi rho phi))`, its
    /// weight by length over the weight of its volume. `packing` is the share of
    /// the thread's cross-section that fibre fills, above 0 up to 1; see [`PACKING`].
    /// `None` outside that range.
    pub fn thickness(self, fibre: Fibre, packing: f64) -> Option<f64> {
        if !(packing > 0.0 && packing <= 1.0) {
            return None;
        }
        // tex is 1e-6 g/mm, g/cm³ is 1e-3 g/mm³
        let area = self.0 * 1e-6 / (fibre.density() * 1e-3 * packing);
        Some((4.0 * area / std::f64::consts::PI).sqrt())
    }
}

/// The packing fraction assumed for a twisted thread at rest: an assumption,
/// from memory. 0.65 suits firmer twists; 1.0 gives the thickness of solid fibre.
pub const PACKING: f64 = 0.6;

/// What a thread is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fibre {
    /// Polyethylene terephthalate.
    Polyester,
    /// Viscose rayon.
    Viscose,
    /// Cotton.
    Cotton,
    /// Silk.
    Silk,
    /// Wool.
    Wool,
    /// Polyamide 6 and 6.6.
    Nylon,
}

impl Fibre {
    /// Density in g/cm³ at 65 % relative humidity: Morton and Hearle, *Physical
    /// Properties of Textile Fibres*, table 5.1.
    pub const fn density(self) -> f64 {
        match self {
            Fibre::Polyester => 1.39,
            Fibre::Viscose => 1.49,
            Fibre::Cotton => 1.52,
            Fibre::Silk => 1.34,
            Fibre::Wool => 1.31,
            Fibre::Nylon => 1.14,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use YarnSystem::{Cotton, CottonTicket, Decitex, Denier, LinenLea, Metric, MetricTicket, WoollenRun, Worsted};

    fn tex(number: f64, system: YarnSystem) -> Tex {
        Tex::from_number(number, system).unwrap()
    }

    #[track_caller]
    fn close(found: f64, wanted: f64, relative: f64) {
        assert!((found / wanted - 1.0).abs() <= relative, "{found} is not {wanted}");
    }

    #[test]
    fn the_factors_are_those_of_astm_d2260() {
        // ASTM D2260, table 1.
        let one = tex(1.0, Metric);
        close(tex(1.0, Cotton).get(), 590.541, 1e-5);
        close(tex(1.0, Cotton).number(Denier), 5314.87, 1e-5);
        close(one.number(Cotton), 0.590541, 1e-5);
        close(one.number(Worsted), 0.885812, 1e-5);
        close(one.number(WoollenRun), 0.310034, 1e-5);
        close(one.number(LinenLea), 1.65352, 1e-5);
        close(one.number(YarnSystem::YardsPerPound), 496.055, 1e-5);
        // Its worked examples.
        close(tex(10.0, Cotton).number(Worsted), 15.0, 1e-9);
        close(tex(30.0, YarnSystem::Tex).number(Cotton), 19.7, 0.05 / 19.7);
    }

    #[test]
    fn tickets_are_three_times_the_resultant_count() {
        // Worked examples of onlineclothingstudy.com, garmentsmerchandising.com and salmanenayet.wixsite.com.
        let ticket = |number, plies, system, ticket| Tex::plied(number, plies, system).unwrap().number(ticket);
        close(tex(40.0, YarnSystem::Tex).number(MetricTicket), 75.0, 1e-9);
        for (number, plies, wanted) in
            [(80.0, 2, 120.0), (60.0, 1, 180.0), (60.0, 2, 90.0), (80.0, 4, 60.0), (60.0, 4, 45.0)]
        {
            close(ticket(number, plies, Metric, MetricTicket), wanted, 1e-9);
        }
        close(ticket(60.0, 3, Cotton, CottonTicket), 60.0, 1e-9);
        close(ticket(40.0, 2, Cotton, CottonTicket), 60.0, 1e-9);
        close(tex(100.0, MetricTicket).number(CottonTicket), 59.0, 0.1 / 59.0);
    }

    #[test]
    fn every_system_agrees_with_the_table() {
        let mut rows = 0;
        for line in include_str!("../../../fixtures/reference/yarn_conversions.csv").lines().skip(1) {
            let numbers: Vec<f64> = line.split(',').map(|field| field.parse().unwrap()).collect();
            let [given, dtex, denier, nm, ne, metric, cotton, per_gram] = numbers[..] else { panic!("{line}") };
            let thread = Tex::new(given).unwrap();
            for (system, wanted) in [
                (Decitex, dtex),
                (Denier, denier),
                (Metric, nm),
                (Cotton, ne),
                (MetricTicket, metric),
                (CottonTicket, cotton),
                (Metric, per_gram),
            ] {
                close(thread.number(system), wanted, 1e-5);
                close(tex(wanted, system).get(), given, 1e-5);
            }
            rows += 1;
        }
        assert_eq!(rows, 16);
    }

    #[test]
    fn threads_are_as_thick_as_the_table_says() {
        let mut rows = 0;
        for line in include_str!("../../../fixtures/reference/yarn_diameter.csv").lines().skip(1) {
            let fields: Vec<&str> = line.split(',').collect();
            let fibre = match fields[0] {
                "polyester PET" => Fibre::Polyester,
                "viscose rayon (65% rh)" => Fibre::Viscose,
                "cotton (65% rh)" => Fibre::Cotton,
                "silk" => Fibre::Silk,
                "wool (65% rh)" => Fibre::Wool,
                "nylon" => Fibre::Nylon,
                _ => continue,
            };
            let numbers: Vec<f64> = fields[1..5].iter().map(|field| field.parse().unwrap()).collect();
            let [density, given, packing, wanted] = numbers[..] else { panic!("{line}") };
            close(fibre.density(), density, 1e-9);
            close(Tex::new(given).unwrap().thickness(fibre, packing).unwrap(), wanted, 1e-5);
            rows += 1;
        }
        assert_eq!(rows, 90);
    }

    #[test]
    fn cotton_is_as_thick_as_peirce_found() {
        // Peirce's rule for cotton, d = sqrt(T)/26.6 mm, packs the yarn to 0.91 g/cm³.
        let cotton = tex(20.0, YarnSystem::Tex).thickness(Fibre::Cotton, 0.91 / Fibre::Cotton.density()).unwrap();
        close(cotton, 20f64.sqrt() / 26.6, 0.006);
    }

    #[test]
    fn an_embroidery_thread_is_a_fifth_of_a_millimetre_thick() {
        close(tex(27.0, YarnSystem::Tex).thickness(Fibre::Polyester, PACKING).unwrap(), 0.2, 0.02);
    }

    #[test]
    fn impossible_numbers_are_refused() {
        assert_eq!(Tex::new(0.0), None);
        assert_eq!(Tex::new(f64::NAN), None);
        assert_eq!(Tex::from_number(-3.0, Denier), None);
        assert_eq!(Tex::plied(60.0, 0, Metric), None);
        let thread = tex(27.0, YarnSystem::Tex);
        assert_eq!(thread.thickness(Fibre::Silk, 0.0), None);
        assert_eq!(thread.thickness(Fibre::Silk, 1.1), None);
    }
}
