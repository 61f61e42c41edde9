//! Cuts a file into statements and builds the tree.
//!
//! A statement ends where the text says so (a newline, a comma, a brace, the next `name =`), whatever is wrong inside
//! it. So one mistake costs one statement. The place of a missing brace is guessed from what may be nested in what,
//! and from indentation where the braces do not add up.
//!
//! There are only three levels (file, system or part, block), so nothing here recurses with the text.

use super::explain::{shown, stray_flaw};
use super::scan::{TokenKind as K, tokens};
use super::statement;
use super::token_cursor::{Balance, FILE_WORDS, Level, Open, SYSTEM_WORDS, Token, TokenCursor};
use super::{Block, Body, Comment, Flaw, Name, Part, Span, Statement, StatementKind, System};

/// The statements of a text. All spans count from the text's beginning.
pub(super) struct Statements {
    pub statements: Vec<Statement>,
    /// Comments after the last statement.
    pub tail: Vec<Comment>,
    /// The flaws, in the order of the text.
    pub flaws: Vec<Flaw>,
}

/// Reads a run of whole lines of a file. It starts at the file's beginning or after the last thing on a line.
pub(super) fn cut(text: &str, begins_file: bool) -> Statements {
    let tokens = tokens(text).into_iter().map(|token| Token {
        kind: token.kind,
        span: token.range.into(),
    });
    let mut cutter = TokenCursor {
        text,
        tokens: tokens.collect(),
        at: 0,
        flaws: Vec::new(),
        open: Vec::new(),
        lines: Vec::new(),
        balance: Balance::Even,
    };
    cutter.lines = std::iter::once(0)
        .chain(
            cutter
                .tokens
                .iter()
                .filter(|token| token.is(K::Newline))
                .map(|token| token.span.end),
        )
        .collect();
    // A file's first line starts a new line.
    let (statements, tail) = cutter.statements(Level::File, usize::from(begins_file));
    let mut flaws = cutter.flaws;
    flaws.sort_by_key(|flaw| (flaw.span.start, flaw.span.end));
    Statements {
        statements,
        tail,
        flaws,
    }
}

impl TokenCursor<'_> {
    // ---- statements and the comments between them ----

    /// Reads the statements up to the end of the body or of the file. The closing brace is not taken. `newlines` says
    /// how many lines ended right before.
    fn statements(&mut self, level: Level, mut newlines: usize) -> (Vec<Statement>, Vec<Comment>) {
        let mut statements: Vec<Statement> = Vec::new();
        let mut comments: Vec<Comment> = Vec::new();
        // A comma after a field ends it and is no statement.
        while let Some(token) = self.token(0) {
            match token.kind {
                K::Newline => {
                    newlines += 1;
                    self.at += 1;
                }
                K::Comma if !statements.is_empty() && level == Level::Block && newlines == 0 => {
                    self.at += 1;
                }
                K::Comment => {
                    self.at += 1;
                    match statements.last_mut() {
                        Some(last) if newlines == 0 && last.after.is_none() => {
                            last.after = Some(token.span);
                        }
                        _ => comments.push(Comment {
                            span: token.span,
                            blank_before: newlines > 1,
                        }),
                    }
                    newlines = 0;
                }
                K::CloseBrace if self.is_excess_brace(level) => {
                    self.at += 1;
                    self.flaw(Flaw::syntax(token.span, "this brace closes nothing").fix(
                        "remove the brace",
                        token.span,
                        "",
                    ));
                }
                K::CloseBrace => break,
                _ if level != Level::File && self.ends_body(level) => break,
                _ => {
                    let blank_before = comments
                        .first()
                        .map_or(newlines > 1, |first| first.blank_before);
                    let before = std::mem::take(&mut comments);
                    let from = self.at;
                    let (kind, span) = self.statement(level);
                    debug_assert!(self.at > from, "every statement takes at least one token");
                    self.at = self.at.max(from + 1);
                    statements.push(Statement {
                        kind,
                        span,
                        before,
                        blank_before,
                        after: None,
                    });
                    newlines = 0;
                }
            }
        }
        (statements, comments)
    }

    fn statement(&mut self, level: Level) -> (StatementKind, Span) {
        let first = self.tokens[self.at];
        if first.is(K::Stray) {
            return self.stray();
        }
        if self.starts_field(self.at) && level != Level::Block {
            let span = self.cut(level);
            let name = first.span.of(self.text);
            self.flaw(
                Flaw::syntax(
                    first.span,
                    format!("the field `{name}` stands outside a block"),
                )
                .help("fields stand between the braces of a block: `pedal { travel = 150 mm }`"),
            );
            return (StatementKind::Bad, span);
        }
        match (level, self.word(0)) {
            (Level::File, Some("system")) => self.system(),
            (Level::File, Some("part")) => self.part(),
            (Level::File, Some("use")) => self.simple(level, statement::use_statement),
            (Level::File | Level::System, Some("let")) => {
                self.simple(level, statement::let_statement)
            }
            (Level::System, Some("choose")) => self.simple(level, statement::choose_statement),
            (Level::System, Some("require")) => self.simple(level, statement::require_statement),
            (Level::System | Level::Block, Some("allow")) => {
                self.simple(level, statement::allow_statement)
            }
            (Level::System, Some(_)) => self.block(),
            (Level::Block, Some(_)) if self.starts_field(self.at) => {
                self.simple(level, statement::field_statement)
            }
            _ => self.misplaced(level),
        }
    }

    /// Takes characters that belong nowhere, with everything joined to them.
    fn stray(&mut self) -> (StatementKind, Span) {
        let first = self.tokens[self.at].span;
        let mut span = first;
        while self.peek(K::Stray) {
            span = span.to(self.tokens[self.at].span);
            self.at += 1;
        }
        self.flaw(stray_flaw(self.text, first));
        (StatementKind::Bad, span)
    }

    /// Takes a statement that cannot be in this place.
    fn misplaced(&mut self, level: Level) -> (StatementKind, Span) {
        let first = self.tokens[self.at];
        let before = self.at;
        let span = self.cut(level);
        let has_body = self.tokens[before..self.at]
            .iter()
            .any(|token| token.is(K::OpenBrace));
        let shown = shown(first.span.of(self.text));
        let flaw = match (level, first.kind) {
            (Level::File, K::Word) if has_body || self.peek(K::OpenBrace) => {
                let word = first.span.of(self.text);
                let flaw = Flaw::syntax(
                    first.span,
                    format!("`{shown}` cannot stand at the level of the file"),
                );
                match crate::quantity::nearest(word, FILE_WORDS) {
                    Some(meant) => flaw.help(format!("did you mean `{meant}`?")).fix(
                        format!("write `{meant}`"),
                        first.span,
                        meant,
                    ),
                    None => flaw.help(format!(
                        "a component stands inside a system, `system name {{ {shown} {{ … }} }}`, \
                         or is a part, `part {shown} name {{ … }}`"
                    )),
                }
            }
            (Level::File, _) => Flaw::syntax(first.span, format!("`{shown}` begins no statement"))
                .help("a file holds `use`, `let`, `part` and `system`"),
            (Level::Block, K::Word) if has_body => Flaw::syntax(
                first.span,
                format!("`{shown}` opens a block inside a block"),
            )
            .help("blocks stand side by side in a system; is a closing brace missing above?"),
            (Level::Block, K::Word) => {
                let word = first.span.of(self.text);
                if FILE_WORDS.contains(&word) || SYSTEM_WORDS.contains(&word) {
                    Flaw::syntax(first.span, format!("`{word}` cannot stand inside a block"))
                } else {
                    Flaw::syntax(
                        Span::new(first.span.end as usize, first.span.end as usize),
                        format!("`{shown}` has no `=` and no value"),
                    )
                    .help("a field is written `name = value`")
                }
            }
            (Level::System | Level::Block, _) => {
                Flaw::syntax(first.span, format!("`{shown}` does not belong here"))
            }
        };
        self.flaw(flaw);
        (StatementKind::Bad, span)
    }

    /// Takes a statement without a body and passes it to the grammar.
    fn simple(
        &mut self,
        level: Level,
        parse: fn(&str, Span, &mut Vec<Flaw>) -> StatementKind,
    ) -> (StatementKind, Span) {
        let before = self.at;
        let span = self.cut(level);
        let mut flaws = Vec::new();
        let mut kind = parse(self.text, span, &mut flaws);
        // Of several mistakes in one statement the first says what is wrong.
        if let Some(flaw) = flaws.into_iter().next() {
            self.flaw(flaw);
        }
        let value = match &mut kind {
            StatementKind::Field(field) => Some(&mut field.value),
            StatementKind::Let(item) => Some(&mut item.value),
            _ => None,
        };
        if let Some(value) = value {
            value.inner = self.tokens[before..self.at]
                .iter()
                .filter(|token| token.is(K::Comment))
                .map(|token| token.span)
                .collect();
        }
        (kind, span)
    }

    /// Moves past one statement without a body. Gives its extent.
    fn cut(&mut self, level: Level) -> Span {
        let first = self.at;
        let word = self.word(0);
        // After a text these are complete; more on the line is the next statement.
        let ends_with_text = matches!(word, Some("use" | "require" | "allow"));
        let continues_at_comma = word == Some("choose");
        let fields = level == Level::Block;
        let (mut braces, mut parentheses) = (0usize, 0usize);
        let mut last = first;
        // The name and the equals sign of a field are never the start of the next one.
        let is_field = self.starts_field(first);
        let head = if is_field { 2 } else { 1 };
        for index in first..first + head.min(self.tokens.len() - first) {
            if self.is_at(index, K::OpenBrace) {
                braces += 1;
            }
            if self.is_at(index, K::OpenParenthesis) {
                parentheses += 1;
            }
            last = index;
        }
        self.at = last + 1;
        while let Some(token) = self.token(0) {
            if fields && (is_field || braces == 0) && self.starts_field(self.at) {
                break;
            }
            match token.kind {
                K::Newline if braces == 0 => {
                    let comma = continues_at_comma && self.is_at(last, K::Comma);
                    if !comma {
                        break;
                    }
                }
                K::Newline if self.starts_file_statement(self.at + 1) => break,
                K::Comment if braces == 0 => break,
                K::Comma
                    if braces == 0
                        && parentheses == 0
                        && !continues_at_comma
                        && !self.is_decimal_comma() =>
                {
                    break;
                }
                K::CloseBrace if braces == 0 => break,
                K::CloseBrace => braces -= 1,
                K::OpenBrace => braces += 1,
                K::OpenParenthesis => parentheses += 1,
                K::CloseParenthesis => parentheses = parentheses.saturating_sub(1),
                K::Text if ends_with_text && last > first => {
                    last = self.at;
                    self.at += 1;
                    break;
                }
                _ => {}
            }
            if !matches!(token.kind, K::Newline | K::Comment) {
                last = self.at;
            }
            self.at += 1;
        }
        self.tokens[first].span.to(self.tokens[last].span)
    }

    /// Whether the comma here is a decimal comma between digits, as in `22,2 mm`.
    fn is_decimal_comma(&self) -> bool {
        let comma = self.tokens[self.at].span;
        self.at > 0
            && self.tokens[self.at - 1].is(K::Number)
            && self.tokens[self.at - 1].span.end == comma.start
            && self
                .token(1)
                .is_some_and(|next| next.is(K::Number) && next.span.start == comma.end)
    }

    // ---- what has a body ----

    fn system(&mut self) -> (StatementKind, Span) {
        let head = self.head();
        let parsed = statement::system_head(self.text, head, &mut self.flaws);
        let label = match &parsed {
            Some((name, ..)) => format!("system {}", name.text),
            None => "system".to_owned(),
        };
        let Some(body) = self.body(Level::System, head, label) else {
            return (StatementKind::Bad, head);
        };
        let span = head.to(body.span);
        let kind = match parsed {
            Some((name, title, base)) => StatementKind::System(System {
                name,
                title,
                base,
                body,
            }),
            None => StatementKind::Bad,
        };
        (kind, span)
    }

    fn part(&mut self) -> (StatementKind, Span) {
        let head = self.head();
        let parsed = statement::part_head(self.text, head, &mut self.flaws);
        let label = match &parsed {
            Some((block, name)) => format!("part {} {}", block.text, name.text),
            None => "part".to_owned(),
        };
        let Some(body) = self.body(Level::Block, head, label) else {
            return (StatementKind::Bad, head);
        };
        let span = head.to(body.span);
        let kind = match parsed {
            Some((block, name)) => StatementKind::Part(Part { block, name, body }),
            None => StatementKind::Bad,
        };
        (kind, span)
    }

    fn block(&mut self) -> (StatementKind, Span) {
        let head = self.head();
        let parsed = statement::block_head(self.text, head, &mut self.flaws);
        if !self.peek(K::OpenBrace) {
            let Some((block, name)) = parsed else {
                return (StatementKind::Bad, head);
            };
            let body_follows = (self.at + 1..self.tokens.len())
                .find(|i| !self.is_at(*i, K::Newline) && !self.is_at(*i, K::Comment))
                .is_some_and(|next| self.starts_field(next));
            if name.is_some() && !body_follows {
                let kind = StatementKind::Block(Block {
                    block,
                    name,
                    body: None,
                });
                return (kind, head);
            }
            if !body_follows {
                self.flaw(
                    Flaw::syntax(
                        head,
                        format!(
                            "`{}` says neither which part nor what it is like",
                            block.text
                        ),
                    )
                    .help(format!(
                        "name a part, `{0} partname`, or give its fields, `{0} {{ … }}`",
                        block.text
                    )),
                );
                return (StatementKind::Bad, head);
            }
            return self.block_with_body(head, Some((block, name)));
        }
        self.block_with_body(head, parsed)
    }

    fn block_with_body(
        &mut self,
        head: Span,
        parsed: Option<(Name, Option<Name>)>,
    ) -> (StatementKind, Span) {
        let label = head.of(self.text).to_owned();
        let Some(body) = self.body(Level::Block, head, label) else {
            return (StatementKind::Bad, head);
        };
        let span = head.to(body.span);
        let kind = match parsed {
            Some((block, name)) => StatementKind::Block(Block {
                block,
                name,
                body: Some(body),
            }),
            None => StatementKind::Bad,
        };
        (kind, span)
    }

    /// Moves up to the opening brace, or to the end of the line where there is none. Gives the extent of the text
    /// before it.
    fn head(&mut self) -> Span {
        let first = self.at;
        let mut last = first;
        self.at += 1;
        while let Some(token) = self.token(0) {
            if matches!(
                token.kind,
                K::OpenBrace | K::CloseBrace | K::Newline | K::Comment
            ) {
                break;
            }
            last = self.at;
            self.at += 1;
        }
        // The brace may stand on the next line.
        let next = (self.at..self.tokens.len()).find(|i| !self.is_at(*i, K::Newline));
        if let Some(brace) = next.filter(|i| self.is_at(*i, K::OpenBrace)) {
            self.at = brace;
        }
        self.tokens[first].span.to(self.tokens[last].span)
    }

    /// Takes a body in braces. A missing opening brace is assumed after the head. `None` where nothing like a body
    /// follows.
    fn body(&mut self, level: Level, head: Span, label: String) -> Option<Body> {
        let head_end = head.end as usize;
        let opened = self.peek(K::OpenBrace);
        let brace = if opened {
            let brace = self.tokens[self.at].span;
            self.at += 1;
            brace
        } else {
            let place = Span::new(head_end, head_end);
            self.flaw(
                Flaw::syntax(place, format!("`{}` has no opening brace", shown(&label))).fix(
                    "add the opening brace",
                    place,
                    " {",
                ),
            );
            if self.token(0).is_none() || self.peek(K::CloseBrace) {
                return None;
            }
            place
        };
        if self.open.is_empty() {
            self.look_for_balance();
        }
        self.open.push(Open {
            head: label,
            brace,
            indent: self.indent(head.start),
        });
        let opening = (self.peek(K::Comment)).then(|| self.tokens[self.at].span);
        if opening.is_some() {
            self.at += 1;
        }
        let (statements, tail) = self.statements(level, 0);
        let (end, closed) = self.close();
        self.open.pop();
        Some(Body {
            span: brace.to(end),
            whole: opened && closed,
            opening,
            statements,
            tail,
        })
    }
}
