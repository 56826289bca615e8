//! The report as plain text: aligned, without colour codes, one screen for a small design.

use crate::{Check, Density, PieceFigures, Report, Spot, Verdict};
use std::fmt::Write;

impl Report {
    /// The report as plain text.
    pub fn to_text(&self) -> String {
        let mut out = String::new();
        // Writing to a string does not fail.
        let _ = self.write(&mut out);
        out
    }

    fn write(&self, out: &mut String) -> std::fmt::Result {
        if let Some(title) = &self.title {
            writeln!(out, "{title}\n")?;
        }
        self.write_head(out)?;
        self.write_threads(out)?;
        self.write_materials(out)?;
        self.write_pieces(out)?;
        if let Some(density) = &self.density {
            write_density(density, out)?;
        }
        self.write_checks(out)
    }

    fn write_head(&self, out: &mut String) -> std::fmt::Result {
        let total = &self.total;
        if let Some(size) = self.size {
            writeln!(out, "size      {:.1} x {:.1} mm", size.width, size.height)?;
        }
        if let Some(fit) = self.hoop {
            writeln!(
                out,
                "hoop      {:.1} x {:.1} mm: {:.1} mm of room left, {:.1} right, {:.1} above, {:.1} below",
                fit.width, fit.height, fit.left, fit.right, fit.above, fit.below
            )?;
        }
        if let Some(rim) = self.hoop.and_then(|fit| fit.rim) {
            writeln!(out, "          round: {rim:.1} mm of room to the rim")?;
        }
        writeln!(out, "stitches  {}", total.stitches)?;
        writeln!(out, "time      {}", time(total.seconds))?;
        writeln!(out, "thread    {:.1} m on top, {:.1} m on the bobbin", total.top_m, total.bobbin_m)?;
        let count = |count: usize, one: &str, many: &str| format!("{count} {}", if count == 1 { one } else { many });
        writeln!(
            out,
            "machine   {}, {}, {}, {}, {}",
            count(total.thread_changes, "thread change", "thread changes"),
            count(total.trims, "trim", "trims"),
            count(total.jumps, "jump", "jumps"),
            count(self.stitches.floats, "float", "floats"),
            count(total.stops, "stop", "stops"),
        )?;
        let Some(order) = self.order else { return Ok(()) };
        let [here, drawn, least] = [order.seconds, order.drawing_order_seconds, order.lower_bound].map(time);
        writeln!(
            out,
            "order     reckoned from areas, before sewing: {here}; as drawn {drawn}, and no order less than {least}"
        )
    }

    fn write_materials(&self, out: &mut String) -> std::fmt::Result {
        for material in &self.materials {
            writeln!(out, "\nMaterial: {}", material.name)?;
            material.effects.iter().try_for_each(|effect| writeln!(out, "  {effect}"))?;
        }
        Ok(())
    }

    fn write_threads(&self, out: &mut String) -> std::fmt::Result {
        if self.threads.is_empty() {
            return Ok(());
        }
        let name = |name: Option<&String>| name.cloned().unwrap_or_default();
        let rows = self.threads.iter().map(|thread| {
            let tally = &thread.tally;
            vec![
                thread.number.to_string(),
                thread.color.clone(),
                name(thread.name.as_ref()),
                thread.pieces.to_string(),
                tally.stitches.to_string(),
                format!("{:.0}", tally.laid_mm),
                format!("{:.1}", tally.top_m),
                format!("{:.1}", tally.bobbin_m),
                time(tally.seconds),
            ]
        });
        let head = ["", "colour", "name", "pieces", "stitches", "laid mm", "top m", "bobbin m", "time"];
        writeln!(out, "\nThreads")?;
        table(&head, &[1, 2], rows.collect(), out)
    }

    fn write_pieces(&self, out: &mut String) -> std::fmt::Result {
        if self.pieces.is_empty() {
            return Ok(());
        }
        let rows = self.pieces.iter().map(|piece| {
            let length = |length: f64| format!("{length:.0}");
            let stitch = |length: Option<f64>| length.map_or("-".into(), |length| format!("{length:.2}"));
            vec![
                piece.number.to_string(),
                piece.method.clone(),
                piece.thread.to_string(),
                piece.stitches.to_string(),
                length(piece.laid.underlay),
                length(piece.laid.top),
                length(piece.laid.travel),
                length(piece.laid.tie),
                stitch(piece.shortest),
                stitch(piece.mean),
                stitch(piece.longest),
                spacing(piece),
                piece.name.clone(),
            ]
        });
        let head = [
            "", "method", "thread", "stitches", "underlay", "top", "travel", "tie", "shortest", "mean", "longest",
            "spacing", "name",
        ];
        writeln!(out, "\nPieces (lengths in mm)")?;
        table(&head, &[1, 11, 12], rows.collect(), out)
    }

    fn write_checks(&self, out: &mut String) -> std::fmt::Result {
        writeln!(out, "\nChecks")?;
        let rows = self
            .checks
            .iter()
            .map(|check| vec![check.verdict.word().to_string(), check.name.clone(), check.found_where()]);
        table(&["", "", ""], &[0, 1, 2], rows.collect(), out)?;
        for check in self.checks.iter().filter(|check| check.verdict != Verdict::Ok) {
            if let Some(advice) = &check.advice {
                writeln!(out, "\n  {}: allowed is {};\n  {advice}.", check.name, check.allowed)?;
            }
        }
        Ok(())
    }
}

/// Threads lie as set if they are no more than so many times as far apart.
const AS_SET: f64 = 1.06;

/// As set, and as measured where threads lie farther apart or where nothing was set.
fn spacing(piece: &PieceFigures) -> String {
    match (piece.spacing, piece.measured_spacing) {
        (Some(set), Some(laid)) if laid.mm > AS_SET * set.mm && !piece.open => {
            format!("{set}; laid about {:.2}", laid.mm)
        }
        (Some(spacing), _) => spacing.to_string(),
        (None, Some(spacing)) => format!("about {spacing}"),
        (None, None) => "-".into(),
    }
}

impl Check {
    /// What was found, and where if it has a place: `... at 20.7 -4.9 (pieces 1, 30)`, mm from the centre of the hoop.
    pub fn found_where(&self) -> String {
        let Some(place) = &self.place else { return self.found.clone() };
        let at = match (place.x, place.y) {
            (Some(x), Some(y)) => format!(" at {x:.1} {y:.1}"),
            _ => String::new(),
        };
        format!("{}{at}{}", self.found, pieces(&place.pieces))
    }
}

/// Numbers of pieces in brackets, the first few of many.
pub(crate) fn pieces(numbers: &[usize]) -> String {
    const SHOWN: usize = 6;
    let shown: Vec<String> = numbers.iter().take(SHOWN).map(ToString::to_string).collect();
    match numbers {
        [] => String::new(),
        [one] => format!(" (piece {one})"),
        many if many.len() > SHOWN => format!(" (pieces {} and {} more)", shown.join(", "), many.len() - SHOWN),
        _ => format!(" (pieces {})", shown.join(", ")),
    }
}

fn write_density(density: &Density, out: &mut String) -> std::fmt::Result {
    let cell = density.cell;
    writeln!(out, "\nDensity on cells of {cell:.0} x {cell:.0} mm, {} of them covered", density.covered_cells)?;
    let spot = |spot: &Spot| format!("{:.2} at {:.1} {:.1}{}", spot.value, spot.x, spot.y, pieces(&spot.pieces));
    let rows = vec![
        vec![
            "thread, mm/mm²".into(),
            format!("{:.2}", density.thread_mean),
            format!("{:.2}", density.thread_p99),
            spot(&density.thread_most),
        ],
        vec![
            "needle points/mm²".into(),
            format!("{:.2}", density.needle_mean),
            format!("{:.2}", density.needle_p99),
            spot(&density.needle_most),
        ],
    ];
    table(&["", "mean", "99 %", "most"], &[0, 3], rows, out)
}

/// Hours, minutes and seconds.
pub(crate) fn time(seconds: f64) -> String {
    let seconds = seconds.round().max(0.0) as u64;
    let (hours, minutes, seconds) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
    match (hours, minutes) {
        (0, 0) => format!("{seconds} s"),
        (0, _) => format!("{minutes} min {seconds:02} s"),
        _ => format!("{hours} h {minutes:02} min"),
    }
}

/// Writes rows in columns two spaces apart; columns in `left` begin at their left, others end at their right.
pub(crate) fn table(head: &[&str], left: &[usize], rows: Vec<Vec<String>>, out: &mut String) -> std::fmt::Result {
    let head: Vec<String> = head.iter().map(ToString::to_string).collect();
    let shown = head.iter().any(|title| !title.is_empty());
    let all: Vec<&Vec<String>> = shown.then_some(&head).into_iter().chain(&rows).collect();
    let width = |column: usize| {
        all.iter().filter_map(|row| row.get(column)).map(|cell| cell.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..head.len()).map(width).collect();
    for row in all {
        let mut line = String::new();
        for (column, (cell, &width)) in row.iter().zip(&widths).enumerate() {
            let gap = " ".repeat(width - cell.chars().count().min(width));
            let parts = if left.contains(&column) { [cell, &gap] } else { [&gap, cell] };
            line += "  ";
            line += parts[0];
            line += parts[1];
        }
        writeln!(out, "{}", line.trim_end())?;
    }
    Ok(())
}
