//! `bitepoint import`

use super::{CannotRun, Config, Status, input, print, say, shown};
use crate::analysis::{CellMistake, import};
use crate::faces::output::{self, Product, refuse_name};
use crate::faces::sanitize;
use std::path::PathBuf;

pub struct Request {
    /// A table of comma-separated values.
    pub file: PathBuf,
    /// The file to write; `None` for standard output.
    pub output: Option<PathBuf>,
    pub config: Config,
}

pub fn run(request: &Request) -> Result<Status, CannotRun> {
    if let Some(path) = &request.output {
        refuse_name(path, Product::Spec)?;
    }
    let disk = request.config.disk()?;
    let source = input::read(&request.file, &disk)?;
    let rows = rows(&source.text)?;
    let imported = match import(&rows) {
        Ok(imported) => imported,
        Err(mistakes) => {
            let header = rows.first().map_or(&[][..], Vec::as_slice);
            for mistake in &mistakes {
                say(&sanitize::sanitize(&words(&source.name, header, mistake)));
            }
            return Ok(Status::Findings);
        }
    };
    let Some(path) = &request.output else {
        print(&imported.text)?;
        return Ok(Status::Clean);
    };
    if !output::create(path, imported.text.as_bytes())? {
        return Err(format!(
            "`{}` is there already and is left as it is; write to another file",
            shown(path)
        ));
    }
    let parts = match imported.count {
        1 => "1 part".to_owned(),
        count => format!("{count} parts"),
    };
    print(&format!("{} is written: {parts}\n", shown(path)))?;
    Ok(Status::Clean)
}

/// The rows of a table, the header first. The separator is the one that the header has most of: comma, semicolon or
/// tab.
fn rows(text: &str) -> Result<Vec<Vec<String>>, CannotRun> {
    let text = text.trim_start_matches('\u{feff}');
    let header = text.lines().next().unwrap_or_default();
    let count = |mark: u8| header.bytes().filter(|byte| *byte == mark).count();
    let delimiter = [b'\t', b';', b',']
        .into_iter()
        .max_by_key(|mark| count(*mark));
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter.unwrap_or(b','))
        .from_reader(text.as_bytes());
    let records = reader.records().map(|record| {
        let record = record.map_err(|error| format!("the table cannot be read: {error}"))?;
        Ok(record.iter().map(str::to_owned).collect())
    });
    records.collect()
}

/// A mistake as a line: `parts.csv: row 3, column C (bore [in]): …`.
fn words(file: &str, header: &[String], mistake: &CellMistake) -> String {
    let title = header.get(mistake.column).map_or("", |title| title.trim());
    let title = match title {
        "" => String::new(),
        title => format!(" ({title})"),
    };
    format!(
        "{}: row {}, column {}{title}: {}",
        sanitize::name(file),
        mistake.row + 1,
        letters(mistake.column),
        mistake.message
    )
}

/// A column as a spreadsheet names it: `A`, `Z`, `AA`.
fn letters(mut column: usize) -> String {
    let mut out = Vec::new();
    loop {
        out.push(b'A' + (column % 26) as u8);
        if column < 26 {
            break;
        }
        column = column / 26 - 1;
    }
    out.reverse();
    String::from_utf8(out).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::letters;

    #[test]
    fn columns_are_named_as_in_a_spreadsheet() {
        for (column, name) in [(0, "A"), (25, "Z"), (26, "AA"), (701, "ZZ"), (702, "AAA")] {
            assert_eq!(letters(column), name);
        }
    }
}
