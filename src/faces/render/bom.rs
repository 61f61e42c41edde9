//! Bills of materials: a table for people, for a spreadsheet, for a review and for machines.

use super::json_money::money;
use super::markdown::plain;
use super::{counted, written};
use crate::analysis::{Bom, BomPurpose, BomRow};
use crate::faces::sanitize::{name, sanitize};
use crate::quantity::{Money, Sums};
use serde_json::{Value, json};
use std::fmt::Write;

/// The bill for people.
pub fn bom_text(bom: &Bom, by_supplier: bool) -> String {
    let mut out = format!("{}\n\n", heading(bom, name));
    let has_notes = bom.rows.iter().any(|row| row.note.is_some());
    let mut titles = vec!["qty", "what", "part", "number", "supplier", "price", "sum"];
    if has_notes {
        titles.push("note");
    }
    let row = |row: &BomRow| -> Vec<String> {
        let text = |text: &Option<String>| text.as_deref().map(name).unwrap_or_default();
        let money = |money: Option<Money>| money.map_or_else(|| "–".to_owned(), |m| m.to_string());
        let mut cells = vec![
            row.quantity.normalize().to_string(),
            name(&row.what),
            text(&row.part),
            text(&row.number),
            text(&row.supplier),
            money(row.price),
            money(row.sum),
        ];
        if has_notes {
            cells.push(text(&row.note));
        }
        cells
    };
    let rows: Vec<Vec<String>> = bom.rows.iter().map(row).collect();
    let width = |column: usize| {
        let cells = rows.iter().map(|cells| cells[column].chars().count());
        let title = titles[column].chars().count();
        cells.chain([title]).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..titles.len()).map(width).collect();
    let line = |cells: &[String]| {
        let padded = cells
            .iter()
            .zip(&widths)
            .enumerate()
            .map(|(i, (cell, width))| {
                let pad = " ".repeat(width - cell.chars().count());
                // Numbers stand under one another by their ends.
                match matches!(i, 0 | 5 | 6) {
                    true => format!("{pad}{cell}"),
                    false => format!("{cell}{pad}"),
                }
            });
        let text = padded.collect::<Vec<_>>().join("  ");
        format!("  {}\n", text.trim_end())
    };
    let titles: Vec<String> = titles.iter().map(|title| (*title).to_owned()).collect();
    out.push_str(&line(&titles));
    for row in &rows {
        out.push_str(&line(row));
    }
    out.push('\n');
    if by_supplier {
        for total in bom.totals() {
            let who = total
                .supplier
                .as_deref()
                .map_or("no supplier named".to_owned(), name);
            let _ = writeln!(
                out,
                "  {who}: {}{}",
                sums(&total.sums),
                unpriced(total.unpriced)
            );
        }
    }
    let _ = writeln!(out, "  total: {}", sums(&bom.sums));
    for remark in remarks(bom) {
        let _ = writeln!(out, "  {}", sanitize(&remark));
    }
    out
}

/// The bill as Markdown, for a comment.
pub fn bom_markdown(bom: &Bom, by_supplier: bool) -> String {
    let mut out = format!("**{}**\n\n", heading(bom, plain));
    out.push_str("| Qty | What | Part | Number | Supplier | Price | Sum | Note |\n");
    out.push_str("|---:|---|---|---|---|---:|---:|---|\n");
    for row in &bom.rows {
        let text = |text: &Option<String>| text.as_deref().map(plain).unwrap_or_default();
        let money = |money: Option<Money>| money.map_or_else(|| "–".to_owned(), |m| m.to_string());
        let cells = [
            row.quantity.normalize().to_string(),
            plain(&row.what),
            text(&row.part),
            text(&row.number),
            text(&row.supplier),
            money(row.price),
            money(row.sum),
            text(&row.note),
        ];
        let _ = writeln!(out, "| {} |", cells.join(" | "));
    }
    out.push('\n');
    if by_supplier {
        for total in bom.totals() {
            let who = total
                .supplier
                .as_deref()
                .map_or("no supplier named".to_owned(), plain);
            let _ = writeln!(
                out,
                "- {who}: {}{}",
                sums(&total.sums),
                unpriced(total.unpriced)
            );
        }
    }
    let _ = writeln!(out, "- Total: **{}**", sums(&bom.sums));
    for remark in remarks(bom) {
        let _ = writeln!(out, "- {}", plain(&remark));
    }
    out
}

/// The bill for a spreadsheet: a row for each part, then one for each sum. No cell is a formula.
///
/// # Errors
/// The table cannot be written.
pub fn bom_csv(bom: &Bom, by_supplier: bool) -> Result<String, String> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let titles = [
        "what", "part", "number", "supplier", "note", "quantity", "price", "sum", "currency",
    ];
    let mut write = |cells: [String; 9]| {
        let cells = cells.map(|cell| harmless(&cell));
        writer
            .write_record(&cells)
            .map_err(|error| error.to_string())
    };
    write(titles.map(str::to_owned))?;
    for row in &bom.rows {
        let text = |text: &Option<String>| text.clone().unwrap_or_default();
        let digits = |money: Option<Money>| money.map(Money::digits).unwrap_or_default();
        let currency = row.price.map(|price| price.currency.code().to_owned());
        write([
            row.what.clone(),
            text(&row.part),
            text(&row.number),
            text(&row.supplier),
            text(&row.note),
            row.quantity.normalize().to_string(),
            digits(row.price),
            digits(row.sum),
            currency.unwrap_or_default(),
        ])?;
    }
    let mut sum = |what: &str, supplier: &str, money: Money| {
        let mut cells: [String; 9] = Default::default();
        cells[0] = what.to_owned();
        cells[3] = supplier.to_owned();
        cells[7] = money.digits();
        cells[8] = money.currency.code().to_owned();
        write(cells)
    };
    if by_supplier {
        for total in bom.totals() {
            for money in total.sums.iter() {
                sum(
                    "total of the supplier",
                    total.supplier.as_deref().unwrap_or_default(),
                    money,
                )?;
            }
        }
    }
    for money in bom.sums.iter() {
        sum("total", "", money)?;
    }
    let bytes = writer.into_inner().map_err(|error| error.to_string())?;
    String::from_utf8(bytes).map_err(|error| error.to_string())
}

/// The bill for machines. Amounts are decimals in quotes, so that no reader turns them into binary fractions.
pub fn bom_json(bom: &Bom) -> String {
    let sums = |sums: &Sums| -> Vec<Value> { sums.iter().map(money).collect() };
    let rows = bom.rows.iter().map(|row| {
        json!({
            "what": row.what,
            "part": row.part,
            "number": row.number,
            "supplier": row.supplier,
            "note": row.note,
            "quantity": row.quantity.normalize().to_string(),
            "price": row.price.map(money),
            "sum": row.sum.map(money),
        })
    });
    let totals = bom.totals();
    let suppliers = totals.iter().map(|total| {
        json!({
            "supplier": total.supplier,
            "sums": sums(&total.sums),
            "without_price": total.unpriced,
        })
    });
    let purpose = match &bom.purpose {
        BomPurpose::Kits(kits) => json!({ "kits": kits }),
        BomPurpose::Shelf {
            works,
            of,
            left_out,
        } => {
            json!({ "shelf": { "works": works, "of": of, "left_out": left_out } })
        }
    };
    let value = json!({
        "version": 1,
        "system": bom.system,
        "title": bom.title,
        "for": purpose,
        "parts": rows.collect::<Vec<_>>(),
        "sums": sums(&bom.sums),
        "suppliers": suppliers.collect::<Vec<_>>(),
        "without_price": bom.unpriced().collect::<Vec<_>>(),
        "not_listed": bom.unlisted,
        "failing": { "count": bom.failing_count, "first": bom.failing },
    });
    written(&value)
}

fn heading(bom: &Bom, shown: fn(&str) -> String) -> String {
    let title = bom
        .title
        .as_deref()
        .map(|title| format!(": {}", shown(title)));
    let what = match &bom.purpose {
        BomPurpose::Kits(kits) => counted(*kits as usize, "kit"),
        BomPurpose::Shelf { works, of, .. } => format!(
            "one of each part that may be chosen ({works} of {} work); for one car, pick with --pick",
            counted(*of as usize, "combination")
        ),
    };
    let title = title.unwrap_or_default();
    format!("{}{title}, {what}", shown(&bom.system))
}

fn sums(sums: &Sums) -> String {
    let all: Vec<String> = sums.iter().map(|sum| sum.to_string()).collect();
    match all.is_empty() {
        true => "no price listed".to_owned(),
        false => all.join(" + "),
    }
}

fn unpriced(count: usize) -> String {
    match count {
        0 => String::new(),
        count => format!(", and {count} without a price"),
    }
}

/// Remarks beside the table.
fn remarks(bom: &Bom) -> Vec<String> {
    let mut remarks = Vec::new();
    let unpriced: Vec<String> = bom.unpriced().collect();
    if !unpriced.is_empty() {
        remarks.push(format!("no price listed: {}", unpriced.join(", ")));
    }
    if !bom.unlisted.is_empty() {
        remarks.push(format!(
            "not listed, since no part, number or price is given: {}; give them in the block, such as `number = \"…\"  supplier = \
             \"…\"  price = 48.50 USD`",
            bom.unlisted.join(", ")
        ));
    }
    if let BomPurpose::Shelf { left_out, .. } = &bom.purpose
        && !left_out.is_empty()
    {
        remarks.push(format!(
            "left out, since it works in no combination: {}",
            left_out.join(", ")
        ));
    }
    for failing in &bom.failing {
        remarks.push(format!("fails its check: {failing}"));
    }
    let more = bom.failing_count - bom.failing.len() as u64;
    if more > 0 {
        let of = counted(more as usize, "other combination");
        remarks.push(format!("{of} in the mix fail too"));
    }
    remarks
}

/// A cell that no spreadsheet takes for a formula. An apostrophe is put before text that begins like one, as the
/// [OWASP](https://owasp.org/www-community/attacks/CSV_Injection) advises.
pub fn harmless(cell: &str) -> String {
    let shown = name(cell);
    let first = shown.trim_start().chars().next();
    let begins = matches!(
        first,
        Some(
            '=' | '+' | '-' | '@' | '\u{FF1D}' | '\u{FF0B}' | '\u{FF0D}' | '\u{FF20}' | '\u{2212}'
        )
    );
    // A character that is no text, such as a tab, is replaced and no longer begins a formula.
    match begins || shown.starts_with(char::REPLACEMENT_CHARACTER) {
        true => format!("'{shown}"),
        false => shown,
    }
}

#[cfg(test)]
mod tests {
    use super::harmless;

    #[test]
    fn no_cell_is_a_formula() {
        for (cell, shown) in [
            ("HH-750-R", "HH-750-R"),
            ("=1+1", "'=1+1"),
            ("=cmd|' /C calc'!A0", "'=cmd|' /C calc'!A0"),
            ("+49 1", "'+49 1"),
            ("-12", "'-12"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("  =1", "'  =1"),
            ("\t=1", "'\u{fffd}=1"),
            ("\u{ff1d}1", "'\u{ff1d}1"),
            ("", ""),
        ] {
            assert_eq!(harmless(cell), shown);
        }
    }
}
