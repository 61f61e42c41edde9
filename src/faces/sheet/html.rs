//! The sheet as one HTML page that is also well-formed XML.

use super::cautions::CAUTIONS;
use super::content::{Block, Document, Drawing, Heading, Page, Section, Step, Table};
use crate::faces::sanitize::sanitize;
use crate::finding::Severity;
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// The head, with void elements closed as XML requires. The policy allows no script and no fetches.
const HEAD: &str = concat!(
    r#"<meta charset="utf-8"/>"#,
    r#"<meta http-equiv="Content-Security-Policy" content="default-src 'none'; "#,
    r#"style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"/>"#,
    r#"<meta name="viewport" content="width=device-width, initial-scale=1"/>"#,
);

const STYLE: &str = include_str!("sheet.css");

pub fn html(document: &Document) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" xmlns="http://www.w3.org/1999/xhtml" {
            head {
                (PreEscaped(HEAD))
                title { (sanitize(&document.title)) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                @if document.pages.len() > 1 || document.left_out.is_some() { (contents(document)) }
                @for page in &document.pages { (PreEscaped(&page.text)) }
            }
        }
    };
    page.into_string()
}

fn contents(document: &Document) -> Markup {
    html! {
        nav {
            h1 { (sanitize(&document.title)) }
            ol {
                @for page in &document.pages {
                    li { a href={ "#" (page.anchor) } { (sanitize(&page.title)) } }
                }
            }
            @if let Some(left_out) = &document.left_out {
                (notice(Severity::Warning, left_out, &[]))
            }
        }
    }
}

/// One page, to be inserted into [`html`].
pub fn page(page: &Page) -> String {
    let article = html! {
        article id=(page.anchor) {
            @if let Some(shop) = &page.shop { (heading(shop)) }
            h1 { (sanitize(&page.title)) }
            @for section in &page.sections { (section_of(section)) }
            @if !page.appendix.is_empty() {
                div.appendix {
                    @for section in &page.appendix { (section_of(section)) }
                }
            }
        }
    };
    article.into_string()
}

fn heading(shop: &Heading) -> Markup {
    html! {
        div.shop {
            @if let Some(logo) = &shop.logo {
                (PreEscaped(format!("<img src=\"{logo}\" alt=\"\"/>")))
            }
            p {
                strong { (sanitize(&shop.name)) }
                @if !shop.contact.is_empty() { " " (sanitize(&shop.contact)) }
            }
        }
    }
}

fn section_of(section: &Section) -> Markup {
    html! {
        section.cautions[section.title == CAUTIONS] {
            @if !section.title.is_empty() { h2 { (section.title) } }
            @for block in &section.blocks { (block_of(block)) }
        }
    }
}

fn block_of(block: &Block) -> Markup {
    html! {
        @match block {
            Block::Text(text) => p { (sanitize(text)) },
            Block::Small(text) => p.small { (sanitize(text)) },
            Block::Notice(severity, what, lines) => (notice(*severity, what, lines)),
            Block::List(items) => ul { @for item in items { li { (sanitize(item)) } } },
            Block::Steps(steps) => (steps_of(steps)),
            Block::Table(table) => (table_of(table)),
            Block::Drawing(drawing) => (figure(drawing)),
            Block::Blanks(labels) => p.blanks {
                @for label in labels { span { (label) ": " span.blank {} } " " }
            },
        }
    }
}

fn notice(severity: Severity, what: &str, lines: &[String]) -> Markup {
    html! {
        div.notice.(severity.name()) {
            p { strong { (sanitize(what)) } }
            @for line in lines { p { (sanitize(line)) } }
        }
    }
}

/// Whether a step has something to set, to find or to write down.
fn has_value(step: &Step) -> bool {
    !step.value.is_empty() || step.noted
}

fn steps_of(steps: &[Step]) -> Markup {
    html! {
        table.steps {
            @if steps.iter().any(has_value) {
                thead { tr { th.tick {} th { "What" } th { "Value" } th { "Measured" } } }
            }
            tbody {
                @for step in steps {
                    tr {
                        td.tick { span.box {} }
                        @if has_value(step) {
                            td { (sanitize(&step.what)) }
                            td.value { (sanitize(&step.value)) }
                            td.measured { @if step.noted { span.blank {} } }
                        } @else {
                            td colspan="3" { (sanitize(&step.what)) }
                        }
                    }
                }
            }
        }
    }
}

fn table_of(table: &Table) -> Markup {
    html! {
        table {
            thead { tr { @for head in &table.head { th { (head) } } } }
            tbody {
                @for row in &table.rows {
                    tr.strong[row.strong] {
                        @for cell in &row.cells { td { (sanitize(cell)) } }
                    }
                }
            }
        }
    }
}

fn figure(drawing: &Drawing) -> Markup {
    html! {
        figure {
            (PreEscaped(&drawing.svg))
            figcaption { (sanitize(&drawing.caption)) }
        }
    }
}
