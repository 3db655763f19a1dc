//! `mend`.

use std::fmt::Write as _;

use crate::cli::arguments::MendWish;
use crate::cli::show::{Progress, fault, say, wrote};
use crate::cli::{End, shaped};
use crate::fault::{Fault, harmless};
use crate::shop::{
    Build, MendRow, Mending, SLIVER_MM, as_cut_file, mend as mending, out_folder, write_mending,
};

/// `foamwright mend SCRIPT --cut OLD.stl`.
pub fn mend(wish: &MendWish) -> End {
    let folder = wish
        .out
        .clone()
        .unwrap_or_else(|| out_folder(&wish.common.script, &wish.common.set));
    let cut = wish.cut.clone().unwrap_or_else(|| as_cut_file(&folder));
    if !cut.exists() {
        return fault(
            Fault::new(format!("{}: there is no such file", cut.display())).hint(
                "say which mesh the foam was cut from: --cut OLD.stl; `make SCRIPT --as-cut` keeps the pattern for that",
            ),
        );
    }
    let progress = Progress::new();
    let build = match shaped(&wish.common, &progress) {
        Ok(build) => build,
        Err(end) => return end,
    };
    progress.step("comparing with the foam");
    let found = match mending(&build, &cut) {
        Ok(found) => found,
        Err(trouble) => return fault(trouble),
    };
    match write_mending(&build, &found, &folder) {
        Ok(written) => {
            say(&format!("{}{}", summary(&build, &found), wrote(&written)));
            End::Good
        }
        Err(trouble) => fault(trouble),
    }
}

/// What to glue in and what to carve away, and what was left out.
fn summary(build: &Build, (found, rows): &(Mending, Vec<MendRow>)) -> String {
    let unit = build.part.unit;
    let mut out = format!("{}\n", harmless(&build.part.name));
    if rows.is_empty() {
        out.push_str("  the foam is as the pattern: nothing to glue in or to carve\n");
    }
    for row in rows {
        let feature = if row.feature.is_empty() {
            String::new()
        } else {
            format!(", at {} ({})", harmless(&row.feature), harmless(&row.line))
        };
        let _ = writeln!(
            out,
            "  {:<10} {} {}, middle at [{}], {} cm³{feature}",
            row.name,
            row.size.join(" x "),
            unit.symbol(),
            row.at.join(", "),
            row.cm3,
        );
    }
    if found.slivers > 0 {
        let _ = writeln!(
            out,
            "  left out: {} slivers thinner than {} or tiny, {:.2} cm³ in all",
            found.slivers,
            unit.show(SLIVER_MM),
            found.slivers_mm3 / 1e3,
        );
    }
    out
}
