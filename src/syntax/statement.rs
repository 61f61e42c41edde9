//! Builds the tree of one statement at a time, from its text through the grammar.

use super::explain::{separate, shown, unit_flaw};
use super::quote::unquoted;
use super::reader::{Grammar, Pairs, Reader, Rule};
use super::{
    Allow, Choose, Comparison, Expr, ExprKind, Field, Flaw, Let, Name, Operator, Require, Span,
    StatementKind, Text, Use, Value, ValueKind,
};
use crate::check_id::CheckId;
use crate::quantity::{MOST_DIGITS, UnitExpr};
use pest::Parser;
use pest::error::{ErrorVariant, InputLocation};
use pest::iterators::Pair;
use std::iter::Peekable;

pub(super) fn use_statement(text: &str, span: Span, flaws: &mut Vec<Flaw>) -> StatementKind {
    Reader::new(text, span, flaws)
        .read(Rule::use_statement, |reader, mut pairs| {
            let path = reader.text(pairs.next()?);
            Some(StatementKind::Use(Use { path }))
        })
        .unwrap_or(StatementKind::Bad)
}

pub(super) fn let_statement(text: &str, span: Span, flaws: &mut Vec<Flaw>) -> StatementKind {
    Reader::new(text, span, flaws)
        .read_named(Rule::let_statement, |name, value| {
            StatementKind::Let(Let { name, value })
        })
        .unwrap_or(StatementKind::Bad)
}

pub(super) fn field_statement(text: &str, span: Span, flaws: &mut Vec<Flaw>) -> StatementKind {
    Reader::new(text, span, flaws)
        .read_named(Rule::field_statement, |name, value| {
            StatementKind::Field(Field { name, value })
        })
        .unwrap_or(StatementKind::Bad)
}

pub(super) fn choose_statement(text: &str, span: Span, flaws: &mut Vec<Flaw>) -> StatementKind {
    Reader::new(text, span, flaws)
        .read(Rule::choose_statement, |reader, pairs| {
            let mut names = pairs
                .filter(|pair| pair.as_rule() == Rule::name)
                .map(|pair| reader.name(&pair));
            Some(StatementKind::Choose(Choose {
                block: names.next()?,
                parts: names.collect(),
            }))
        })
        .unwrap_or(StatementKind::Bad)
}

pub(super) fn require_statement(text: &str, span: Span, flaws: &mut Vec<Flaw>) -> StatementKind {
    Reader::new(text, span, flaws)
        .read(Rule::require_statement, |reader, mut pairs| {
            let result = reader.name(&pairs.next()?);
            let comparison = match pairs.next()?.as_str() {
                "<=" => Comparison::AtMost,
                ">=" => Comparison::AtLeast,
                "<" => Comparison::Below,
                _ => Comparison::Above,
            };
            let limit = reader.expression(pairs.next()?)?;
            let why = pairs
                .next()
                .filter(|pair| pair.as_rule() == Rule::text)
                .map(|pair| reader.text(pair));
            Some(StatementKind::Require(Require {
                result,
                comparison,
                limit,
                why,
            }))
        })
        .unwrap_or(StatementKind::Bad)
}

pub(super) fn allow_statement(text: &str, span: Span, flaws: &mut Vec<Flaw>) -> StatementKind {
    Reader::new(text, span, flaws)
        .read(Rule::allow_statement, |reader, mut pairs| {
            let check = reader.name(&pairs.next()?);
            let why = reader.text(pairs.next()?);
            Some(StatementKind::Allow(Allow { check, why }))
        })
        .unwrap_or(StatementKind::Bad)
}

type SystemHead = (Name, Option<Text>, Option<Name>);

pub(super) fn system_head(text: &str, span: Span, flaws: &mut Vec<Flaw>) -> Option<SystemHead> {
    Reader::new(text, span, flaws).read(Rule::system_head, |reader, mut pairs| {
        let name = reader.name(&pairs.next()?);
        let (mut title, mut base) = (None, None);
        for pair in pairs {
            match pair.as_rule() {
                Rule::text => title = Some(reader.text(pair)),
                Rule::base => base = pair.into_inner().last().map(|name| reader.name(&name)),
                _ => {}
            }
        }
        Some((name, title, base))
    })
}

pub(super) fn part_head(text: &str, span: Span, flaws: &mut Vec<Flaw>) -> Option<(Name, Name)> {
    Reader::new(text, span, flaws).read(Rule::part_head, |reader, mut pairs| {
        Some((reader.name(&pairs.next()?), reader.name(&pairs.next()?)))
    })
}

pub(super) fn block_head(
    text: &str,
    span: Span,
    flaws: &mut Vec<Flaw>,
) -> Option<(Name, Option<Name>)> {
    Reader::new(text, span, flaws).read(Rule::block_head, |reader, mut pairs| {
        let block = reader.name(&pairs.next()?);
        let name = pairs
            .next()
            .filter(|pair| pair.as_rule() == Rule::name)
            .map(|pair| reader.name(&pair));
        Some((block, name))
    })
}

impl<'a> Reader<'a> {
    /// Parses the statement by an entry rule and builds a value from it. If that fails, a flaw is added.
    fn read<T>(
        &mut self,
        rule: Rule,
        build: impl FnOnce(&mut Self, Pairs<'a>) -> Option<T>,
    ) -> Option<T> {
        let source = self.span.of(self.text);
        if self.is_too_large(source) {
            return None;
        }
        match Grammar::parse(rule, source) {
            Ok(mut pairs) => build(self, pairs.next()?.into_inner()),
            Err(error) => {
                let at = match error.location {
                    InputLocation::Pos(at) | InputLocation::Span((at, _)) => at,
                };
                let expected = match error.variant {
                    ErrorVariant::ParsingError { positives, .. } => positives,
                    ErrorVariant::CustomError { .. } => Vec::new(),
                };
                let flaw = self.explain(rule, source, at, &expected);
                self.flaw(flaw);
                None
            }
        }
    }

    /// A `name = value` statement. One with a name but no readable value keeps its name, so that the field is not
    /// reported as missing.
    fn read_named(
        &mut self,
        rule: Rule,
        build: impl FnOnce(Name, Value) -> StatementKind,
    ) -> Option<StatementKind> {
        let known = self.flaws.len();
        let read = self.read(rule, |reader, mut pairs| {
            let name = reader.name(&pairs.next()?);
            let pair = pairs.next()?;
            let span = reader.span_of(&pair);
            let kind = reader.value(pair).unwrap_or(ValueKind::Bad);
            let inner = Vec::new();
            Some((name, Value { kind, span, inner }))
        });
        if let Some((name, mut value)) = read {
            // A statement that was read only in part is not used: nothing may be computed from it.
            if self.flaws.len() > known {
                value.kind = ValueKind::Bad;
            }
            return Some(build(name, value));
        }
        let source = self.span.of(self.text);
        let skip = if rule == Rule::let_statement { 3 } else { 0 };
        let (head, _) = source.split_once('=')?;
        let name = head.get(skip..)?.trim();
        let start = head.len() - head.get(skip..)?.trim_start().len();
        if name.is_empty() || !name.chars().all(|c| c.is_alphanumeric() || c == '_') {
            return None;
        }
        let name = Name {
            text: name.to_owned(),
            span: self.place(start, start + name.len()),
        };
        let value = Value {
            kind: ValueKind::Bad,
            span: self.place(head.len() + 1, source.len()),
            inner: Vec::new(),
        };
        Some(build(name, value))
    }

    fn name(&self, pair: &Pair<'_, Rule>) -> Name {
        Name {
            text: pair.as_str().to_owned(),
            span: self.span_of(pair),
        }
    }

    fn text(&self, pair: Pair<'_, Rule>) -> Text {
        let span = self.span_of(&pair);
        let inner = pair.into_inner().next();
        Text {
            text: inner.map_or_else(String::new, |inner| unquoted(inner.as_str())),
            span,
        }
    }

    fn value(&mut self, pair: Pair<'_, Rule>) -> Option<ValueKind> {
        let pair = pair.into_inner().next()?;
        if pair.as_rule() == Rule::quantity {
            return Some(ValueKind::Plain(self.quantity(pair)?));
        }
        if pair.as_rule() == Rule::text {
            return Some(ValueKind::Text(self.text(pair)));
        }
        if pair.as_rule() == Rule::curve {
            let mut points = Vec::new();
            let mut spread = None;
            for inner in pair.into_inner() {
                if inner.as_rule() == Rule::tolerance {
                    spread = Some(self.spread(inner)?);
                    continue;
                }
                let mut sides = inner.into_inner();
                let x = self.expression(sides.next()?)?;
                points.push((x, self.toleranced(&mut sides)?));
            }
            return Some(ValueKind::Curve { points, spread });
        }
        let mut inner = pair.into_inner();
        let first = self.expression(inner.next()?)?;
        let spread = match next_of(&mut inner, Rule::tolerance) {
            Some(tolerance) => Some(self.spread(tolerance)?),
            None => None,
        };
        let Some(limit) = inner.next() else {
            return Some(match spread {
                Some(spread) => ValueKind::Tolerance {
                    nominal: first,
                    spread,
                },
                None => ValueKind::Plain(first),
            });
        };
        let mut limit = limit.into_inner();
        next_of(&mut limit, Rule::to_word);
        Some(ValueKind::Limits {
            low: with_spread(first, spread),
            high: self.toleranced(&mut limit)?,
        })
    }

    /// An expression and the tolerance that may follow it.
    fn toleranced(&mut self, inner: &mut Pairs<'_>) -> Option<Expr> {
        let nominal = self.expression(inner.next()?)?;
        let spread = match inner.next() {
            Some(tolerance) => Some(self.spread(tolerance)?),
            None => None,
        };
        Some(with_spread(nominal, spread))
    }

    /// The spread after `±`.
    fn spread(&mut self, tolerance: Pair<'_, Rule>) -> Option<Expr> {
        self.expression(tolerance.into_inner().last()?)
    }

    /// Builds an expression. Products bind before sums, and operators of equal rank from left to right.
    fn expression(&mut self, pair: Pair<'_, Rule>) -> Option<Expr> {
        let mut inner = pair.into_inner().peekable();
        let mut sum: Option<(Expr, Operator)> = None;
        let mut product = self.signed(&mut inner)?;
        while let Some(operator) = inner.next() {
            let operator = match operator.as_rule() {
                Rule::add => Operator::Add,
                Rule::subtract => Operator::Subtract,
                Rule::multiply => Operator::Multiply,
                _ => Operator::Divide,
            };
            let right = self.signed(&mut inner)?;
            product = match operator {
                Operator::Multiply | Operator::Divide => binary(product, operator, right),
                Operator::Add | Operator::Subtract => {
                    let left = match sum.take() {
                        Some((left, before)) => binary(left, before, product),
                        None => product,
                    };
                    sum = Some((left, operator));
                    right
                }
            };
        }
        Some(match sum {
            Some((left, operator)) => binary(left, operator, product),
            None => product,
        })
    }

    /// A power with the signs before it, which apply to the whole power: `-2^2` is -4.
    fn signed(&mut self, inner: &mut Peekable<Pairs<'_>>) -> Option<Expr> {
        let mut start = None;
        let mut negatives = 0;
        while let Some(sign) = inner.next_if(|pair| pair.as_rule() == Rule::negative) {
            start = start.or(Some(self.span_of(&sign)));
            negatives += 1;
        }
        let mut value = self.power(inner)?;
        let span = start.map_or(value.span, |start| start.to(value.span));
        // On a scale with a zero of its own the sign is part of the number: -40 degC is not the
        // opposite of 40 degC.
        if let ExprKind::Quantity { number, unit, .. } = &mut value.kind
            && negatives == 1
            && unit.has_offset()
        {
            *number = -*number;
            value.span = span;
            return Some(value);
        }
        for _ in 0..negatives {
            value = Expr {
                kind: ExprKind::Negative(Box::new(value)),
                span,
            };
        }
        Some(value)
    }

    fn power(&mut self, inner: &mut Peekable<Pairs<'_>>) -> Option<Expr> {
        let pair = inner.next()?;
        let span = self.span_of(&pair);
        let base = self.primary(pair)?;
        let Some(exponent) = inner.next_if(|pair| pair.as_rule() == Rule::exponent) else {
            return Some(base);
        };
        let place = self.span_of(&exponent);
        let Ok(exponent) = exponent.as_str().parse::<i32>() else {
            self.flaw(Flaw::syntax(place, "this exponent is beyond all use"));
            return None;
        };
        Some(Expr {
            kind: ExprKind::Power {
                base: Box::new(base),
                exponent,
            },
            span: span.to(place),
        })
    }

    fn primary(&mut self, pair: Pair<'_, Rule>) -> Option<Expr> {
        let mut span = self.span_of(&pair);
        let kind = match pair.as_rule() {
            Rule::group => {
                let inside = pair.into_inner().next()?;
                span = self.span_of(&inside);
                ExprKind::Group(Box::new(self.expression(inside)?))
            }
            Rule::name => ExprKind::Name(pair.as_str().to_owned()),
            Rule::path => {
                let mut names = pair.into_inner();
                ExprKind::Path {
                    block: self.name(&names.next()?),
                    field: self.name(&names.next()?),
                }
            }
            Rule::call => {
                let mut inner = pair.into_inner();
                let function = self.name(&inner.next()?);
                let arguments = inner
                    .map(|argument| self.expression(argument))
                    .collect::<Option<Vec<_>>>()?;
                ExprKind::Call {
                    function,
                    arguments,
                }
            }
            _ => return self.quantity(pair),
        };
        Some(Expr { kind, span })
    }

    fn quantity(&mut self, pair: Pair<'_, Rule>) -> Option<Expr> {
        let span = self.span_of(&pair);
        let mut inner = pair.into_inner();
        let number = inner.next()?;
        let unit = inner.next();
        let written = number.as_str().to_owned();
        let number_span = self.span_of(&number);
        let form = number.into_inner().next()?;
        let number = match form.as_rule() {
            Rule::decimal => form.as_str().parse::<f64>().ok(),
            Rule::fraction => {
                let mut digits = form.into_inner();
                let (over, under) = (digit(digits.next())?, digit(digits.next())?);
                if under == 0.0 {
                    self.flaw(
                        Flaw::syntax(number_span, format!("`{written}` divides by zero"))
                            .help("the number below the line of a fraction is never zero"),
                    );
                    return None;
                }
                Some(over / under)
            }
            Rule::mixed => {
                let mut digits = form.into_inner().map(Some);
                let whole = digit(digits.next()?)?;
                let (over, under) = (digit(digits.next()?)?, digit(digits.next()?)?);
                if under == 0.0 {
                    self.flaw(
                        Flaw::syntax(number_span, format!("`{written}` divides by zero"))
                            .help("the number below the line of a fraction is never zero"),
                    );
                    return None;
                }
                Some(whole + over / under)
            }
            Rule::habit_hyphenated => {
                let spaced = written.replacen('-', " ", 1);
                self.flaw(
                    Flaw::syntax(number_span, format!("`{written}` would be a subtraction"))
                        .help(format!("a mixed number has a space: `{spaced}`"))
                        .fix(format!("write `{spaced}`"), number_span, spaced),
                );
                return None;
            }
            _ => {
                let point = written.replacen(',', ".", 1);
                let flaw = Flaw::syntax(number_span, format!("`{written}` has a comma in it"));
                // Three digits behind it may as well be thousands.
                let together = written.replacen(',', "", 1);
                let thousands = written.split_once(',').is_some_and(|(whole, behind)| {
                    behind.len() == 3 && whole.len() <= 3 && !whole.starts_with('0')
                });
                let help = if thousands {
                    format!(
                        "the decimal sign is a point, `{point}`; thousands have none, `{together}`"
                    )
                } else {
                    format!("the decimal sign is a point: `{point}`")
                };
                let mut flaw = flaw
                    .help(help)
                    .fix(format!("write `{point}`"), number_span, point);
                if thousands {
                    flaw = flaw.fix(format!("write `{together}`"), number_span, together);
                }
                self.flaw(flaw);
                return None;
            }
        };
        let Some(number) = number.filter(|number| number.is_finite()) else {
            self.flaw(Flaw::syntax(
                number_span,
                format!("`{}` is too large a number", shown(&written)),
            ));
            return None;
        };
        let Some(unit) = unit else {
            return Some(Expr {
                kind: ExprKind::Number(number),
                span,
            });
        };
        let unit_span = self.span_of(&unit);
        match UnitExpr::parse(unit.as_str()) {
            Ok(unit) if unit.dimension().has_money() && has_too_many_digits(&written) => {
                let message = format!(
                    "`{}` has more digits than an exact amount of money can have here",
                    shown(&written)
                );
                let help =
                    format!("{MOST_DIGITS} digits are kept, from the first that is not zero");
                self.flaw(Flaw::new(CheckId::OutOfRange, number_span, message).help(help));
                None
            }
            Ok(unit) => Some(Expr {
                kind: ExprKind::Quantity {
                    number,
                    unit,
                    unit_span,
                },
                span,
            }),
            Err(error) => {
                let flaw = unit_flaw(error, unit.as_str(), unit_span);
                // Right behind a digit a unit of letters would be glued on.
                let glued = number_span.end == unit_span.start;
                self.flaw(separate(flaw, glued));
                None
            }
        }
    }
}

/// The next pair, if it is of the given rule.
fn next_of<'i>(pairs: &mut Pairs<'i>, rule: Rule) -> Option<Pair<'i, Rule>> {
    match pairs.peek()?.as_rule() == rule {
        true => pairs.next(),
        false => None,
    }
}

fn with_spread(nominal: Expr, spread: Option<Expr>) -> Expr {
    match spread {
        None => nominal,
        Some(spread) => Expr {
            span: nominal.span.to(spread.span),
            kind: ExprKind::Toleranced {
                nominal: Box::new(nominal),
                spread: Box::new(spread),
            },
        },
    }
}

fn binary(left: Expr, operator: Operator, right: Expr) -> Expr {
    Expr {
        span: left.span.to(right.span),
        kind: ExprKind::Binary {
            operator,
            left: Box::new(left),
            right: Box::new(right),
        },
    }
}

/// Whether a decimal has more significant digits than a number of the language keeps.
fn has_too_many_digits(written: &str) -> bool {
    let mantissa = written.split(['e', 'E']).next().unwrap_or_default();
    let digits = mantissa.chars().filter(char::is_ascii_digit);
    digits.skip_while(|digit| *digit == '0').count() > MOST_DIGITS
}

fn digit(pair: Option<Pair<'_, Rule>>) -> Option<f64> {
    pair?.as_str().parse().ok()
}
