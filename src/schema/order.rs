//! The fields that every block has for ordering its part, whatever kind of component it is.

use super::{Field, Kind, Purpose, Range};

/// The fields of an order. They change no result and no check. They are never reported as missing or unused.
pub const ORDER: &[Field] = &[
    order(
        "number",
        Kind::Text,
        "Part number, in quotes, in the supplier's own characters.",
    ),
    order("supplier", Kind::Text, "Who sells the part, in quotes."),
    order(
        "note",
        Kind::Text,
        "What to know when ordering or fitting the part, in quotes.",
    ),
    order(
        "quantity",
        Kind::Count,
        "How many of the part one kit takes, in whatever the price counts. Left out, it is 1.",
    )
    .range(Range::POSITIVE),
    order(
        "price",
        Kind::Money,
        "Price of one, with the code of its currency: 48.50 USD. Currencies are never converted: \
         multiply by a rate of your own, as 0.92 EUR/USD in a `let`. A price that is worked out is \
         rounded to the currency's smallest unit.",
    )
    .source("codes and smallest units: ISO 4217"),
];

const fn order(name: &'static str, kind: Kind, doc: &'static str) -> Field {
    let mut field = Field::new(name, kind, doc);
    field.purpose = Purpose::Order;
    field
}

/// A block's own fields, followed by those by which it meets others and those of an order.
pub(super) const fn joined<const N: usize>(own: &[Field], fit: &[Field]) -> [Field; N] {
    let mut all = [ORDER[0]; N];
    let mut i = 0;
    while i < N {
        all[i] = if i < own.len() {
            own[i]
        } else if i < own.len() + fit.len() {
            fit[i - own.len()]
        } else {
            ORDER[i - own.len() - fit.len()]
        };
        i += 1;
    }
    all
}

/// A block of the table with all its fields.
macro_rules! whole {
    ($block:path, $fit:path) => {
        $crate::schema::Block {
            fields: {
                const N: usize =
                    $block.fields.len() + $fit.len() + $crate::schema::order::ORDER.len();
                const ALL: [$crate::schema::Field; N] =
                    $crate::schema::order::joined($block.fields, $fit);
                &ALL
            },
            ..$block
        }
    };
}
pub(super) use whole;
