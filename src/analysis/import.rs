//! Makes a library of parts from a table: a header row of field names with units, and a row for each part.
//!
//! The parts are written as a spec and analysed as one, so that every check of a spec also applies to a cell.

use super::{analyse, meant, name_objection};
use crate::finding::{FileName, Severity};
use crate::model::{Files, Source};
use crate::quantity::UnitExpr;
use crate::schema::{BLOCKS, Block, Field, Kind};
use crate::syntax::{self, Encoding, quoted};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// A mistake in a table, at its row and its column, both counted from 0.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct CellMistake {
    /// The row; the header is row 0.
    pub row: usize,
    /// The column.
    pub column: usize,
    /// What is wrong, and what to do if that is known.
    pub message: String,
}

/// A library of parts made from a table.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Imported {
    /// The parts, in canonical form.
    pub text: String,
    /// The number of parts.
    pub count: usize,
}

/// What a column holds.
enum Column {
    Block,
    Part,
    /// A field of any block that has it, and the unit of its numbers.
    Field(String, Option<UnitExpr>),
    /// Without a header: its cells must be empty.
    Blank,
    /// A wrong header, which is reported once.
    Wrong,
}

/// The first rows of a table as text, and where each cell is in that text.
struct Written {
    text: String,
    /// The cell from which each line is made; lines count from 0.
    cells: BTreeMap<u32, (usize, usize)>,
    count: usize,
}

/// Makes a library from a table's rows, the header first.
///
/// # Errors
/// Every mistake of the table, in its order.
pub fn import(rows: &[Vec<String>]) -> Result<Imported, Vec<CellMistake>> {
    let mut mistakes = BTreeSet::new();
    let Some((header, rows)) = rows.split_first() else {
        return Err(vec![mistake(0, 0, "the table is empty")]);
    };
    let columns = columns(header, &mut mistakes);
    let written = write(&columns, rows, &mut mistakes);
    if written.count == 0 && mistakes.is_empty() {
        mistakes.insert(mistake(1, 0, "there is no part below the header"));
    }
    let source = Arc::new(Source::new(
        FileName::from("import.clutch"),
        written.text.clone(),
    ));
    let report = analyse(source.clone(), &Alone);
    for finding in report
        .findings
        .iter()
        .filter(|f| f.severity >= Severity::Warning)
    {
        let start = report.range(&finding.problem.place).start;
        let line = source.lines.position(start, Encoding::Utf8).line;
        let cell = written.cells.range(..=line).next_back();
        let (row, column) = cell.map_or((0, 0), |(_, cell)| *cell);
        let message = match &finding.problem.help {
            Some(help) => format!("{}; {help}", finding.problem.message),
            None => finding.problem.message.clone(),
        };
        // A mistake already reported at a cell need not be reported again in the words of a spec.
        let is_known = mistakes
            .iter()
            .any(|m: &CellMistake| (m.row, m.column) == (row, column));
        if !is_known {
            mistakes.insert(mistake(row, column, message));
        }
    }
    if !mistakes.is_empty() {
        return Err(mistakes.into_iter().collect());
    }
    let text = syntax::format(&written.text, &source.tree).unwrap_or(written.text);
    Ok(Imported {
        text,
        count: written.count,
    })
}

fn mistake(row: usize, column: usize, message: impl Into<String>) -> CellMistake {
    CellMistake {
        row,
        column,
        message: message.into(),
    }
}

/// A spec that uses nothing.
struct Alone;

impl Files for Alone {
    fn read(&self, _name: &FileName) -> Result<Arc<Source>, String> {
        Err("does not exist".to_owned())
    }
}

fn columns(header: &[String], mistakes: &mut BTreeSet<CellMistake>) -> Vec<Column> {
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    let mut columns = Vec::with_capacity(header.len());
    for (at, title) in header.iter().enumerate() {
        let column = column(title).unwrap_or_else(|message| {
            mistakes.insert(mistake(0, at, message));
            Column::Wrong
        });
        let name = match &column {
            Column::Block => "block",
            Column::Part => "part",
            Column::Field(name, _) => name,
            Column::Blank | Column::Wrong => "",
        };
        if !name.is_empty() && seen.insert(name.to_owned(), at).is_some() {
            mistakes.insert(mistake(
                0,
                at,
                format!("there is a column `{name}` already"),
            ));
        }
        columns.push(column);
    }
    for needed in ["block", "part"] {
        if !seen.contains_key(needed) {
            let message = format!(
                "there is no column `{needed}`; the header has `block`, `part` and the names of \
                 fields, such as `bore [in]`"
            );
            mistakes.insert(mistake(0, 0, message));
        }
    }
    columns
}

/// Reads a header such as `bore [in]`.
fn column(title: &str) -> Result<Column, String> {
    let title = title.trim();
    let (name, unit) = match title.split_once('[') {
        Some((name, unit)) => {
            let unit = unit.trim_end().strip_suffix(']');
            let unit = unit.ok_or_else(|| format!("`{title}` has no closing bracket"))?;
            (name, Some(unit.trim()))
        }
        None => (title, None),
    };
    let name = name.trim().to_lowercase().replace([' ', '-'], "_");
    match name.as_str() {
        "" => return Ok(Column::Blank),
        "block" => return Ok(Column::Block),
        "part" | "name" => return Ok(Column::Part),
        _ => {}
    }
    let fields = || BLOCKS.iter().flat_map(|block| block.fields);
    if !fields().any(|field| field.name == name) {
        let meant = meant(&name, fields().map(|field| field.name));
        return Err(format!("no block has a field `{name}`{meant}"));
    }
    let unit = unit.map(|unit| {
        UnitExpr::parse(unit)
            .map_err(|_| format!("`{unit}` is not a unit; `bitepoint explain units` lists them"))
    });
    Ok(Column::Field(name, unit.transpose()?))
}

fn write(
    columns: &[Column],
    rows: &[Vec<String>],
    mistakes: &mut BTreeSet<CellMistake>,
) -> Written {
    let mut written = Written {
        text: String::new(),
        cells: BTreeMap::new(),
        count: 0,
    };
    let mut line = 0;
    let mut push = |written: &mut Written, text: &str, cell: (usize, usize)| {
        written.text.push_str(text);
        written.text.push('\n');
        written.cells.insert(line, cell);
        line += 1;
    };
    for (row, cells) in (1..).zip(rows) {
        let cell = |at: usize| cells.get(at).map_or("", |cell| cell.trim());
        if (0..cells.len()).all(|at| cell(at).is_empty()) {
            continue;
        }
        for at in columns.len()..cells.len() {
            if !cell(at).is_empty() {
                mistakes.insert(mistake(row, at, "this column has no header"));
            }
        }
        let find = |wanted: fn(&Column) -> bool| columns.iter().position(wanted);
        let block_at = find(|column| matches!(column, Column::Block)).unwrap_or(0);
        let part_at = find(|column| matches!(column, Column::Part)).unwrap_or(0);
        let block_name = cell(block_at).to_lowercase();
        let Some(block) = Block::named(&block_name).map(|id| &BLOCKS[id as usize]) else {
            let message = match block_name.is_empty() {
                true => "the part says of no block which it is".to_owned(),
                false => {
                    let meant = meant(&block_name, BLOCKS.iter().map(|block| block.name));
                    format!("there is no block `{block_name}`{meant}")
                }
            };
            mistakes.insert(mistake(row, block_at, message));
            continue;
        };
        let part = cell(part_at);
        let mut name = part.to_owned();
        if let Some(objection) = name_objection(part) {
            let objection = match part.is_empty() {
                true => "the part has no name".to_owned(),
                false => objection,
            };
            mistakes.insert(mistake(row, part_at, objection));
            // Its other cells are still checked.
            name = format!("row_{row}");
        }
        push(
            &mut written,
            &format!("part {} {name} {{", block.name),
            (row, part_at),
        );
        for (at, column) in columns.iter().enumerate() {
            let text = cell(at);
            match column {
                _ if text.is_empty() => {}
                Column::Blank => {
                    mistakes.insert(mistake(row, at, "this column has no header"));
                }
                Column::Field(field, unit) => {
                    let value = match block.fields.iter().find(|known| known.name == field) {
                        Some(field) => value(field, text, unit.as_ref()),
                        None => Err(format!(
                            "a `{}` has no field `{field}`; leave the cell empty",
                            block.name
                        )),
                    };
                    match value {
                        Ok(value) => {
                            push(&mut written, &format!("    {field} = {value}"), (row, at));
                        }
                        Err(message) => {
                            mistakes.insert(mistake(row, at, message));
                        }
                    }
                }
                Column::Block | Column::Part | Column::Wrong => {}
            }
        }
        push(&mut written, "}", (row, part_at));
        written.count += 1;
    }
    written
}

/// A cell as a field's value.
fn value(field: &Field, cell: &str, unit: Option<&UnitExpr>) -> Result<String, String> {
    let words = matches!(field.kind, Kind::Text | Kind::Choice(_));
    if let (true, Some(unit)) = (words, unit) {
        return Err(format!(
            "`{}` has no unit, and its column is in {unit}",
            field.name
        ));
    }
    match field.kind {
        Kind::Text => match cell.contains(['\n', '\r']) {
            true => Err("a text stands on one line".to_owned()),
            false => Ok(quoted(cell)),
        },
        Kind::Curve { .. } => Err(format!(
            "`{}` is a curve, which no cell holds; write it into the spec",
            field.name
        )),
        // A character that could end the value would make more of it than a value.
        _ if cell.contains(['"', '{', '}', '#', '=', ',', ';', '\n', '\r']) => Err(
            "a cell holds one value: a number with a point for its decimals, or a word".to_owned(),
        ),
        _ => Ok(match unit {
            Some(unit) => with_unit(cell, unit),
            None => cell.to_owned(),
        }),
    }
}

/// Adds a column's unit to each number of a cell that has none: `7.2 to 10.8`, `150 ± 2`.
fn with_unit(cell: &str, unit: &UnitExpr) -> String {
    for joint in [" to ", "±", "+/-"] {
        if let Some((low, high)) = cell.split_once(joint) {
            let [low, high] = [low, high].map(|end| with_unit(end.trim(), unit));
            let joint = joint.trim();
            return format!("{low} {joint} {high}");
        }
    }
    match cell.ends_with(|c: char| c.is_ascii_digit() || c == '.') {
        true => format!("{cell} {unit}"),
        false => cell.to_owned(),
    }
}
