//! The metals table. Every number names its source; where the source itself is unsure the value is marked doubtful.

use super::metals::MetalRow;
use super::source::{Source, Sourced};

const ASM: Source = Source::Memory("ASM Handbook vol. 15; Mills; Copper Development Association");
const ASM_B26: Source = Source::Memory("ASTM B26 appendix; ASM");
const CDA: Source = Source::Memory("Copper Development Association");
const DOOLEY: Source = Source::Read("Dooley, Applied Science for Metal Workers, §426 and §428");
const HANDBOOKS: Source = Source::Read("shrinkage tables of two engineering handbooks");
const PATTERN_LIST: Source = Source::Read("a patternmaker's shrinkage list");
const WALLS: Source = Source::Memory("least walls of sand castings, common design guides");
const ALUMINUM_ASSOCIATION: Source =
    Source::Memory("Aluminum Association, casting alloy densities");

const COOL: &str =
    "pours at or below the 538 °C that foam needs to clear: expect folds and misruns";
const ZINC: &str = "zinc fume: not in a small shop without extraction";
const LEAD: &str = "leaded: the fume is poisonous; not in a small shop";
const MAGNESIUM: &str = "burns: class D extinguisher at hand, never water";

/// A metal of which only shrink and density are known; the rest is added where it is.
const fn row(
    name: &'static str,
    about: &'static str,
    shrink: Sourced,
    density: Sourced,
) -> MetalRow {
    MetalRow {
        name,
        also: &[],
        about,
        shrink_percent: shrink,
        inch_per_foot: None,
        shrink_seen_percent: None,
        density_kg_m3: density,
        liquid_kg_m3: None,
        freezes_c: None,
        latent_kj_kg: None,
        melt_cp_kj_kg_k: None,
        pour_c: None,
        pour_foam_c: None,
        freezing_shrink_percent: None,
        least_wall_mm: None,
        warnings: &[],
    }
}

const fn one(value: f64, source: Source) -> Sourced {
    Sourced::one(value, source)
}

const fn some(value: f64) -> Option<Sourced> {
    Some(Sourced::one(value, ASM))
}

const fn open(value: f64) -> Option<Sourced> {
    Some(Sourced::one(value, ASM).doubtful())
}

const fn span(low: f64, high: f64) -> Option<Sourced> {
    Some(Sourced::range(low, high, ASM))
}

const fn open_span(low: f64, high: f64) -> Option<Sourced> {
    Some(Sourced::range(low, high, ASM).doubtful())
}

/// Aluminium: 5/32 in per foot and the least wall of lost foam.
const fn aluminium(name: &'static str, about: &'static str, density: Sourced) -> MetalRow {
    MetalRow {
        inch_per_foot: Some((5, 32)),
        shrink_seen_percent: Some(Sourced::range(1.25, 1.6, HANDBOOKS)),
        least_wall_mm: Some(Sourced::range(3.0, 4.0, Source::Common)),
        ..row(name, about, one(1.30, ASM_B26), density)
    }
}

const fn walls(low: f64, high: f64) -> Option<Sourced> {
    Some(Sourced::range(low, high, WALLS))
}

/// Every metal, aluminium first.
pub const METALS: &[MetalRow] = &[
    MetalRow {
        also: &["356", "A356.0", "356.0"],
        liquid_kg_m3: some(2400.0),
        freezes_c: span(555.0, 615.0),
        latent_kj_kg: span(389.0, 425.0),
        melt_cp_kj_kg_k: span(1.08, 1.19),
        pour_c: span(700.0, 760.0),
        pour_foam_c: span(730.0, 800.0),
        freezing_shrink_percent: open_span(4.0, 6.0),
        ..aluminium(
            "A356",
            "aluminium, 7 % silicon: the usual choice",
            one(2685.0, ASM),
        )
    },
    MetalRow {
        also: &["319.0"],
        liquid_kg_m3: open_span(2450.0, 2490.0),
        freezes_c: span(516.0, 604.0),
        latent_kj_kg: some(390.0),
        melt_cp_kj_kg_k: some(1.1),
        pour_c: span(700.0, 760.0),
        pour_foam_c: span(730.0, 800.0),
        freezing_shrink_percent: open_span(4.5, 6.0),
        ..aluminium(
            "319",
            "aluminium, silicon and copper: machines well",
            one(2790.0, ASM),
        )
    },
    MetalRow {
        also: &["355.0"],
        ..aluminium(
            "355",
            "aluminium, silicon, copper, magnesium",
            one(2710.0, ALUMINUM_ASSOCIATION),
        )
    },
    MetalRow {
        also: &["A206", "206.0"],
        liquid_kg_m3: open(2450.0),
        freezes_c: span(540.0, 650.0),
        latent_kj_kg: some(390.0),
        melt_cp_kj_kg_k: some(1.1),
        pour_c: span(710.0, 780.0),
        freezing_shrink_percent: some(6.3),
        ..aluminium(
            "206",
            "aluminium, copper: strong, tears when hot",
            one(2800.0, ASM),
        )
    },
    MetalRow {
        also: &["443.0"],
        ..aluminium(
            "443",
            "aluminium, 5 % silicon: soft, tight",
            one(2690.0, ALUMINUM_ASSOCIATION),
        )
    },
    MetalRow {
        also: &["535.0"],
        liquid_kg_m3: open(2350.0),
        freezes_c: span(550.0, 630.0),
        latent_kj_kg: open(390.0),
        melt_cp_kj_kg_k: some(1.1),
        pour_c: span(700.0, 750.0),
        freezing_shrink_percent: open(6.0),
        ..aluminium(
            "535",
            "aluminium, magnesium: stands salt water",
            one(2620.0, ASM),
        )
    },
    MetalRow {
        also: &["713.0", "7xx"],
        inch_per_foot: Some((3, 16)),
        least_wall_mm: Some(Sourced::range(3.0, 4.0, Source::Common)),
        ..row(
            "713",
            "aluminium, zinc: ages by itself",
            one(1.56, ASM_B26),
            one(2810.0, ALUMINUM_ASSOCIATION),
        )
    },
    MetalRow {
        also: &["pure aluminum", "1xx"],
        inch_per_foot: Some((5, 32)),
        liquid_kg_m3: Some(one(
            2377.0,
            Source::Memory("Assael et al., J. Phys. Chem. Ref. Data 2006"),
        )),
        freezes_c: some(660.3),
        latent_kj_kg: some(397.0),
        melt_cp_kj_kg_k: some(1.18),
        freezing_shrink_percent: Some(Sourced::range(
            6.6,
            7.0,
            Source::Memory("Kalpakjian; Groover"),
        )),
        least_wall_mm: Some(Sourced::range(3.0, 4.0, Source::Common)),
        ..row(
            "pure aluminium",
            "aluminium, unalloyed",
            one(1.30, PATTERN_LIST),
            one(2700.0, ASM),
        )
    },
    MetalRow {
        also: &["C83600", "85-5-5-5", "red brass"],
        inch_per_foot: Some((11, 64)),
        least_wall_mm: walls(3.0, 5.0),
        warnings: &[LEAD],
        ..row(
            "C836",
            "bronze 85-5-5-5: tin, lead, zinc",
            one(1.43, CDA),
            one(8830.0, CDA),
        )
    },
    MetalRow {
        also: &["C90500", "C903", "tin bronze"],
        inch_per_foot: Some((3, 16)),
        liquid_kg_m3: open(7900.0),
        freezes_c: span(854.0, 999.0),
        latent_kj_kg: open(190.0),
        melt_cp_kj_kg_k: some(0.45),
        pour_c: span(1090.0, 1230.0),
        freezing_shrink_percent: Some(one(5.5, Source::Memory("Groover"))),
        least_wall_mm: walls(3.0, 5.0),
        ..row("C905", "tin bronze", one(1.56, CDA), one(8720.0, ASM))
    },
    MetalRow {
        also: &["C87300", "silicon bronze"],
        inch_per_foot: Some((3, 16)),
        liquid_kg_m3: open(7700.0),
        freezes_c: span(821.0, 916.0),
        latent_kj_kg: open(200.0),
        melt_cp_kj_kg_k: some(0.45),
        pour_c: span(1040.0, 1180.0),
        freezing_shrink_percent: open(5.0),
        least_wall_mm: walls(3.0, 5.0),
        ..row(
            "C873",
            "silicon bronze",
            one(1.56, CDA).doubtful(),
            one(8360.0, ASM),
        )
    },
    MetalRow {
        also: &["C95400", "aluminium bronze", "aluminum bronze"],
        inch_per_foot: Some((7, 32)),
        liquid_kg_m3: open(6700.0),
        freezes_c: span(1027.0, 1038.0),
        latent_kj_kg: open(230.0),
        melt_cp_kj_kg_k: some(0.5),
        pour_c: span(1120.0, 1230.0),
        freezing_shrink_percent: some(4.0),
        least_wall_mm: walls(3.0, 5.0),
        ..row("C954", "aluminium bronze", one(1.82, CDA), one(7450.0, ASM))
    },
    MetalRow {
        also: &["C86500", "C863", "manganese bronze"],
        inch_per_foot: Some((1, 4)),
        least_wall_mm: walls(3.0, 5.0),
        warnings: &[ZINC],
        ..row("C865", "manganese bronze", one(2.08, CDA), one(8320.0, CDA))
    },
    MetalRow {
        inch_per_foot: Some((7, 32)),
        shrink_seen_percent: Some(Sourced::range(
            1.3,
            1.82,
            Source::Memory("Groover; a patternmaker's list"),
        )),
        liquid_kg_m3: open(7600.0),
        freezes_c: span(900.0, 940.0),
        latent_kj_kg: open(200.0),
        melt_cp_kj_kg_k: some(0.45),
        pour_c: span(1000.0, 1100.0),
        freezing_shrink_percent: some(4.5),
        least_wall_mm: walls(3.0, 5.0),
        warnings: &[ZINC],
        ..row(
            "yellow brass",
            "copper and zinc",
            one(1.82, DOOLEY),
            one(8400.0, ASM),
        )
    },
    MetalRow {
        also: &["gray iron", "cast iron"],
        inch_per_foot: Some((1, 8)),
        shrink_seen_percent: Some(Sourced::range(0.55, 1.04, HANDBOOKS)),
        liquid_kg_m3: some(6950.0),
        freezes_c: span(1150.0, 1250.0),
        latent_kj_kg: span(210.0, 240.0),
        melt_cp_kj_kg_k: some(0.85),
        pour_c: span(1350.0, 1450.0),
        freezing_shrink_percent: span(-2.5, 1.8),
        least_wall_mm: walls(3.0, 4.0),
        ..row(
            "grey iron",
            "iron with flake graphite",
            one(1.04, DOOLEY),
            one(7150.0, ASM),
        )
    },
    MetalRow {
        also: &["nodular iron"],
        inch_per_foot: Some((1, 8)),
        shrink_seen_percent: Some(Sourced::range(0.8, 1.0, ASM).doubtful()),
        liquid_kg_m3: some(6900.0),
        freezes_c: span(1140.0, 1200.0),
        latent_kj_kg: span(220.0, 240.0),
        melt_cp_kj_kg_k: some(0.85),
        pour_c: span(1350.0, 1450.0),
        freezing_shrink_percent: open(0.0),
        least_wall_mm: walls(4.0, 5.0),
        ..row(
            "ductile iron",
            "iron with round graphite",
            one(1.0, ASM).doubtful(),
            one(7100.0, ASM),
        )
    },
    MetalRow {
        also: &["cast steel"],
        shrink_seen_percent: Some(Sourced::range(1.6, 2.1, DOOLEY)),
        least_wall_mm: walls(6.0, 8.0),
        ..row(
            "steel",
            "carbon steel",
            one(2.0, HANDBOOKS),
            one(7850.0, ASM),
        )
    },
    MetalRow {
        inch_per_foot: Some((1, 8)),
        least_wall_mm: walls(3.0, 3.0),
        warnings: &[COOL, ZINC],
        ..row(
            "ZA-8",
            "zinc, 8 % aluminium",
            one(1.0, ASM).doubtful(),
            one(6300.0, ASM),
        )
    },
    MetalRow {
        inch_per_foot: Some((5, 32)),
        liquid_kg_m3: open(5500.0),
        freezes_c: span(377.0, 432.0),
        latent_kj_kg: open(120.0),
        melt_cp_kj_kg_k: some(0.5),
        pour_c: span(460.0, 540.0),
        freezing_shrink_percent: open_span(4.0, 6.0),
        least_wall_mm: walls(3.0, 3.0),
        warnings: &[COOL, ZINC],
        ..row(
            "ZA-12",
            "zinc, 12 % aluminium",
            one(1.3, ASM).doubtful(),
            one(6030.0, ASM),
        )
    },
    MetalRow {
        inch_per_foot: Some((5, 32)),
        liquid_kg_m3: open(4600.0),
        freezes_c: span(375.0, 484.0),
        latent_kj_kg: open(125.0),
        melt_cp_kj_kg_k: some(0.5),
        pour_c: span(515.0, 595.0),
        freezing_shrink_percent: open_span(5.0, 7.0),
        least_wall_mm: walls(3.0, 3.0),
        warnings: &[ZINC],
        ..row(
            "ZA-27",
            "zinc, 27 % aluminium",
            one(1.3, ASM).doubtful(),
            one(5000.0, ASM),
        )
    },
    MetalRow {
        also: &["AZ91", "magnesium alloy"],
        inch_per_foot: Some((11, 64)),
        least_wall_mm: walls(4.0, 4.0),
        warnings: &[MAGNESIUM],
        ..row(
            "magnesium",
            "magnesium, 9 % aluminium, 1 % zinc",
            one(1.43, ASM),
            one(1810.0, ASM),
        )
    },
];
