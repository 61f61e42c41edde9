// The shape of .clutch specs for editors, after grammar/clutch.pest and src/syntax/cutter.rs. Which
// blocks and fields exist is not grammar but data, here as there.
//
// A line break is a token: it ends a statement. Without it the word after a value could be its unit.

const LETTER = "[\\p{L}_]";
const WORD = `${LETTER}[\\p{L}0-9_]*`;
const BLANK = "[ \\t\\u00a0]";
const DECIMAL = "([0-9]+(\\.[0-9]+)?|\\.[0-9]+)([eE][+-]?[0-9]+)?";
const FRACTION = "[0-9]+/[0-9]+";
// A unit that is a word alone is the same token as a name; what else units are made of is not.
const UNIT_WORD = "[\\p{L}_]+[0-9]*";
const UNIT_SIGNS =
    "([\\p{L}_]*°[\\p{L}°_]*[0-9]*|[\\p{L}°_]+[0-9]*(\\^-?[0-9]+|²|³)|%)";
const UNIT_MORE = `[*·/](${UNIT_SIGNS}|${UNIT_WORD})`;

module.exports = grammar({
    name: "clutch",

    extras: ($) => [/[ \t\u00a0]/, $.comment],

    word: ($) => $.identifier,

    conflicts: ($) => [
        // The word after a number is its unit, or begins the next statement on the same line.
        [$.quantity],
        // A comma may end the list of choices, or lead on to the next line.
        [$.choose],
    ],

    rules: {
        source_file: ($) => repeat(choice($._newline, $.use, $.let, $.part, $.system)),

        use: ($) => seq("use", field("path", $.text)),
        let: ($) => seq("let", field("name", $.identifier), "=", field("value", $._value)),
        part: ($) =>
            seq(
                "part",
                field("block", $.identifier),
                field("name", $.identifier),
                field("body", $.body),
            ),
        system: ($) =>
            seq(
                "system",
                field("name", $.identifier),
                field("title", optional($.text)),
                optional(seq("from", field("base", $.identifier))),
                field("body", $.system_body),
            ),

        system_body: ($) =>
            seq(
                "{",
                repeat(choice($._newline, $.let, $.choose, $.require, $.allow, $.block)),
                "}",
            ),
        block: ($) =>
            seq(
                field("block", $.identifier),
                choice(
                    field("part", $.identifier),
                    field("body", $.body),
                    seq(field("part", $.identifier), field("body", $.body)),
                ),
            ),
        body: ($) => seq("{", repeat(choice($._newline, ",", $.field, $.allow)), "}"),
        field: ($) => seq(field("name", $.identifier), "=", field("value", $._value)),

        choose: ($) =>
            seq(
                "choose",
                field("block", $.identifier),
                field("part", $.identifier),
                repeat(seq(",", repeat($._newline), field("part", $.identifier))),
                optional(","),
            ),
        require: ($) =>
            seq(
                "require",
                field("result", $.identifier),
                field("operator", choice("<=", ">=", "<", ">")),
                field("limit", $._expression),
                optional(field("why", $.text)),
            ),
        allow: ($) => seq("allow", field("check", $.check_name), field("why", $.text)),

        _value: ($) => choice($.text, $.curve, $._expression, $.tolerance, $.limits),
        tolerance: ($) =>
            seq(
                field("nominal", $._expression),
                choice("±", "+/-", "+-"),
                field("spread", $._expression),
            ),
        _toleranced: ($) => choice($._expression, $.tolerance),
        limits: ($) => seq(field("low", $._toleranced), "to", field("high", $._toleranced)),
        curve: ($) =>
            seq(
                "curve",
                "{",
                repeat(choice($._newline, ",", $.point)),
                "}",
                optional(seq(choice("±", "+/-", "+-"), field("spread", $._expression))),
            ),
        point: ($) => seq(field("x", $._expression), ":", field("y", $._toleranced)),

        _expression: ($) =>
            choice($.quantity, $.identifier, $.path, $.call, $.group, $.unary, $.binary, $.power),
        quantity: ($) => prec.dynamic(1, seq($.number, optional($.unit))),
        path: ($) => seq(field("block", $.identifier), ".", field("field", $.identifier)),
        call: ($) =>
            prec(
                5,
                seq(
                    field("function", $.identifier),
                    "(",
                    $._expression,
                    repeat(seq(",", $._expression)),
                    ")",
                ),
            ),
        group: ($) => seq("(", $._expression, ")"),
        unary: ($) => prec(3, seq("-", $._expression)),
        power: ($) => prec(4, seq($._expression, "^", optional("-"), $.number)),
        binary: ($) =>
            choice(
                prec.left(1, seq($._expression, choice("+", "-"), $._expression)),
                prec.left(2, seq($._expression, choice("*", "·", "×", "/"), $._expression)),
            ),

        unit: ($) => choice($.identifier, alias($._compound_unit, "unit")),
        _compound_unit: () => 
            token(new RegExp(`${UNIT_SIGNS}(${UNIT_MORE})*|${UNIT_WORD}(${UNIT_MORE})+`)),

        number: () =>
            token(
                choice(
                    new RegExp(DECIMAL),
                    new RegExp(FRACTION),
                    new RegExp(`[0-9]+${BLANK}+${FRACTION}`),
                ),
            ),
        identifier: () => new RegExp(WORD),
        check_name: () => new RegExp(`${WORD}(-${WORD})*`),
        text: () => /"([^"\n\r]|"")*"/,
        comment: () => /#[^\n\r]*/,
        _newline: () => /\r\n|\n|\r/,
    },
});
