//! What a system's components are ordered by, and what one of it costs.

use super::system::{Component, Given, System, Value};
use crate::quantity::{Money, Sums};
use crate::schema::{BLOCKS, Purpose};
use rust_decimal::Decimal;

/// The name by which `require` limits what the parts of a system cost together.
pub const PRICE: &str = "price";

/// What [`PRICE`] means.
pub const PRICE_DOC: &str = "Price of all parts of the system together: of every block that takes a \
     part or says what to order, its price times its quantity. Known where each of them has a \
     price, all in one currency.";

/// What one system needs of a component, for an order.
#[derive(Clone, Copy, Debug)]
pub struct OrderItem<'a> {
    /// The component.
    pub component: &'a Component,
    /// How many of it one system needs.
    pub quantity: Decimal,
    /// The price of one.
    pub price: Option<Money>,
}

impl<'a> OrderItem<'a> {
    /// As a list names it: `master`, `line hard`.
    pub fn what(&self) -> String {
        match self.component.label.as_deref() {
            // A fitting goes by the name of its part.
            label if label.is_some() && label == self.part() => {
                BLOCKS[self.component.block as usize].name.to_owned()
            }
            _ => self.component.title(),
        }
    }

    /// The name of the part that the component takes.
    pub fn part(&self) -> Option<&'a str> {
        Some(self.component.part.as_ref()?.name.as_str())
    }

    /// As a sentence names it: `slave hy_s22`, `line hard`.
    pub fn title(&self) -> String {
        match self.part() {
            Some(part) => format!("{} {part}", self.what()),
            None => self.what(),
        }
    }

    /// The part number.
    pub fn number(&self) -> Option<&'a str> {
        self.component.order_text("number")
    }

    /// The supplier.
    pub fn supplier(&self) -> Option<&'a str> {
        self.component.order_text("supplier")
    }

    /// The author's note on it.
    pub fn note(&self) -> Option<&'a str> {
        self.component.order_text("note")
    }

    /// Price times quantity; `None` where no price is given, or the product is too large for a number.
    pub fn cost(&self) -> Option<Money> {
        self.price?.times(self.quantity)
    }
}

/// What the parts of one system cost together.
#[derive(Clone, Default, Debug)]
pub struct Cost {
    /// The sum of the prices, for each currency.
    pub sums: Sums,
    /// The components without a price, or whose cost is too large for a number, as a list names them.
    pub unpriced: Vec<String>,
}

impl Component {
    /// As a list names it: `master`, `line hard`.
    pub fn title(&self) -> String {
        let block = BLOCKS[self.block as usize].name;
        match &self.label {
            Some(label) => format!("{block} {label}"),
            None => block.to_owned(),
        }
    }

    /// What to order for the component; `None` if it neither takes a part nor has any field of an order.
    pub fn order_item(&self) -> Option<OrderItem<'_>> {
        let fields = || BLOCKS[self.block as usize].fields.iter().zip(&self.fields);
        let says =
            || fields().any(|(field, given)| given.is_some() && field.purpose == Purpose::Order);
        (self.part.is_some() || says()).then(|| OrderItem {
            component: self,
            quantity: self
                .order_field("quantity")
                .and_then(Given::count)
                .unwrap_or(Decimal::ONE),
            price: self.order_field("price").and_then(Given::money),
        })
    }

    fn order_text(&self, name: &str) -> Option<&str> {
        self.order_field(name)?.text()
    }

    fn order_field(&self, name: &str) -> Option<&Given> {
        let index = BLOCKS[self.block as usize].field_index(name)?;
        self.fields.get(index as usize)?.as_ref()
    }
}

impl System {
    /// What to order for one system, in the schema's order.
    pub fn order_items(&self) -> impl Iterator<Item = OrderItem<'_>> {
        self.components().filter_map(Component::order_item)
    }

    /// What all parts together cost; `None` where something has no price, or currencies differ.
    pub fn price(&self) -> Option<Money> {
        let mut costs = self.order_items().map(|item| item.cost());
        let first = costs.next()??;
        costs.try_fold(first, |sum, cost| {
            let cost = cost.filter(|cost| cost.currency == sum.currency)?;
            let amount = sum.amount.checked_add(cost.amount)?;
            Some(Money { amount, ..sum })
        })
    }

    /// What all parts together cost, in each currency, and which have no price.
    pub fn cost(&self) -> Cost {
        let mut cost = Cost::default();
        for item in self.order_items() {
            let is_added = item.cost().is_some_and(|money| cost.sums.add(money));
            if !is_added {
                cost.unpriced.push(item.title());
            }
        }
        cost
    }
}

impl Given {
    /// A text's words; `None` for any other value.
    pub fn text(&self) -> Option<&str> {
        match &self.value {
            Value::Text(text) => Some(text),
            _ => None,
        }
    }

    /// An amount of money; `None` for any other value.
    pub fn money(&self) -> Option<Money> {
        match self.value {
            Value::Money(money) => Some(money),
            _ => None,
        }
    }

    /// A number of pieces; `None` for any other value.
    pub fn count(&self) -> Option<Decimal> {
        match self.value {
            Value::Count(count) => Some(count),
            _ => None,
        }
    }
}
