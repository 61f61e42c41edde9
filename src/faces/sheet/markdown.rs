//! The sheet as Markdown, with tables as most Markdown readers support them.

use super::content::{Block, Document, Page, Step, Table};
use crate::faces::sanitize::sanitize;
use std::fmt::Write;

pub fn markdown(document: &Document) -> String {
    let mut out = String::new();
    let many = document.pages.len() > 1 || document.left_out.is_some();
    if many {
        let _ = writeln!(out, "# {}\n", text(&document.title));
        for page in &document.pages {
            let _ = writeln!(out, "- {}", text(&page.title));
        }
        out.push('\n');
        if let Some(left_out) = &document.left_out {
            let _ = writeln!(out, "> **{}**\n", text(left_out));
        }
    }
    for (i, page) in document.pages.iter().enumerate() {
        if many || i > 0 {
            out.push_str("---\n\n");
        }
        out.push_str(&page.text);
    }
    // One empty line between blocks, none at the end.
    out.truncate(out.trim_end().len());
    out.push('\n');
    out
}

/// One page, to be inserted into [`markdown`].
pub fn page(page: &Page) -> String {
    let mut out = String::new();
    if let Some(shop) = &page.shop {
        let _ = writeln!(out, "**{}** {}\n", text(&shop.name), text(&shop.contact));
    }
    let _ = writeln!(out, "# {}\n", text(&page.title));
    for section in page.sections.iter().chain(&page.appendix) {
        if !section.title.is_empty() {
            let _ = writeln!(out, "## {}\n", section.title);
        }
        for block in &section.blocks {
            write_block(&mut out, block);
            out.push('\n');
        }
    }
    out
}

fn write_block(out: &mut String, block: &Block) {
    let _ = match block {
        Block::Text(words) | Block::Small(words) => writeln!(out, "{}", text(words)),
        Block::Notice(_, what, lines) => {
            let _ = writeln!(out, "> **{}**", text(what));
            for line in lines {
                let _ = writeln!(out, ">\n> {}", text(line));
            }
            Ok(())
        }
        Block::List(items) => {
            for item in items {
                let _ = writeln!(out, "- {}", text(item));
            }
            Ok(())
        }
        Block::Steps(steps) => {
            write_steps(out, steps);
            Ok(())
        }
        Block::Table(table) => {
            write_table(out, table);
            Ok(())
        }
        Block::Drawing(drawing) => {
            let _ = writeln!(out, "{}", text(&drawing.caption));
            if let Some(table) = &drawing.instead {
                out.push('\n');
                write_table(out, table);
            }
            Ok(())
        }
        Block::Blanks(labels) => {
            let blanks: Vec<String> = labels
                .iter()
                .map(|label| format!("{label}: {BLANK}"))
                .collect();
            writeln!(out, "{}", blanks.join(" "))
        }
    };
}

/// A line to write on, which no reader takes for emphasis.
const BLANK: &str = r"\_\_\_\_\_\_\_\_";

fn write_steps(out: &mut String, steps: &[Step]) {
    for step in steps {
        let value = match step.value.is_empty() {
            true => String::new(),
            false => format!(": **{}**", text(&step.value)),
        };
        let noted = if step.noted {
            format!(", measured {BLANK}")
        } else {
            String::new()
        };
        let _ = writeln!(out, "- [ ] {}{value}{noted}", text(&step.what));
    }
}

fn write_table(out: &mut String, table: &Table) {
    let _ = writeln!(out, "| {} |", table.head.join(" | "));
    let _ = writeln!(out, "|{}", "---|".repeat(table.head.len()));
    for row in &table.rows {
        let cell = |cell: &String| match (row.strong, cell.is_empty()) {
            (true, false) => format!("**{}**", text(cell)),
            _ => text(cell),
        };
        let cells: Vec<String> = row.cells.iter().map(cell).collect();
        let _ = writeln!(out, "| {} |", cells.join(" | "));
    }
}

/// Text that Markdown shows unchanged, on one line.
fn text(words: &str) -> String {
    let mut out = String::with_capacity(words.len());
    for c in sanitize(words).chars() {
        match c {
            '\n' | '\t' => out.push(' '),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '&' => out.push_str("&amp;"),
            '\\' | '`' | '*' | '_' | '[' | ']' | '|' | '#' | '~' => {
                out.push('\\');
                out.push(c);
            }
            _ => out.push(c),
        }
    }
    out
}
