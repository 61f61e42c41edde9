//! Finds fittings among the parts in sight that make two ports meet. Each is tried in the text before it is offered.

use super::judge::{Bench, FAILS};
use crate::check_id::CheckId;
use crate::checks::{Advice, Check, Finding, PortGap};
use crate::finding::{FileName, Fix};
use crate::model::{Bundle, Files, OrderItem, Source, System, build_named};
use crate::schema::{Agree, BlockId};
use crate::settings::Settings;
use crate::syntax::{Part, StatementKind, ValueKind};
use crate::{block, field};
use std::collections::HashMap;
use std::sync::Arc;

/// How many fittings are offered for one joint.
const MOST_OFFERED: usize = 3;
/// The most fittings that are tried for one joint.
const MOST_TRIED: usize = 20;

/// For each finding that two ports do not fit, has a fitting looked for among the parts in sight. Fittings that cure
/// it become the finding's help; otherwise the help stays as it was.
pub(super) fn offer(bundle: &Bundle, system: &System, findings: &mut [Finding]) {
    let is_unfit = |finding: &&mut Finding| finding.check.id == CheckId::DoesNotFit;
    for finding in findings.iter_mut().filter(is_unfit) {
        let Some(gap) = PortGap::of(system, &finding.problem, &bundle.settings) else {
            continue;
        };
        let is_label = |name: &str| {
            let mut labels = system
                .fittings
                .iter()
                .map(|fitting| &fitting.component.label);
            labels.any(|label| label.as_deref() == Some(name))
        };
        let parts = bundle.visible(0).flat_map(|(_, source)| source.parts());
        let names: Vec<String> = parts
            .filter(|part| may_fit(part, &gap) && !is_label(&part.name.text))
            .map(|part| part.name.text.clone())
            .take(MOST_TRIED)
            .collect();
        if names.is_empty() || gap.place.file != bundle.sources[0].name {
            continue;
        }
        let search = Search {
            files: Read {
                sources: bundle.sources.clone(),
                settings: bundle.settings.clone(),
            },
            system: system.name.clone(),
            gap,
            names,
            otherwise: finding.problem.help.clone().unwrap_or_default(),
        };
        finding.cured_by(move || search.advice());
    }
}

/// Whether a part is a fitting whose ports fit, as far as its own text gives them.
fn may_fit(part: &Part, gap: &PortGap) -> bool {
    let fits = |name: &str, port: &str| {
        part.body
            .statements
            .iter()
            .all(|statement| match &statement.kind {
                StatementKind::Field(field) if field.name.text == name => match &field.value.kind {
                    ValueKind::Text(text) => {
                        Agree::Ports.texts_agree(&text.text, port) == Some(true)
                    }
                    // It may be a let.
                    _ => true,
                },
                _ => true,
            })
    };
    let [inlet, outlet] = [field!(fitting.inlet), field!(fitting.outlet)];
    part.block.text == inlet.block().name
        && fits(inlet.field().name, &gap.first)
        && fits(outlet.field().name, &gap.second)
}

/// The files of a bundle, to read them again.
struct Read {
    sources: Vec<Arc<Source>>,
    settings: Arc<Settings>,
}

impl Files for Read {
    fn read(&self, name: &FileName) -> Result<Arc<Source>, String> {
        let known = self.sources.iter().find(|source| source.name == *name);
        known.cloned().ok_or_else(|| "does not exist".to_owned())
    }

    fn settings(&self, _spec: &FileName) -> Arc<Settings> {
        self.settings.clone()
    }
}

/// The search for the fittings that cure a joint.
struct Search {
    files: Read,
    system: String,
    gap: PortGap,
    names: Vec<String>,
    /// The help if no fitting cures the joint.
    otherwise: String,
}

impl Search {
    fn advice(&self) -> Advice {
        let before = self.errors(&self.files.sources[0].text, None);
        let mut told = Vec::new();
        let mut fixes = Vec::new();
        for name in &self.names {
            let Some(ordered) = before.as_ref().and_then(|before| self.tried(name, before)) else {
                continue;
            };
            told.push(format!("`{name}`{ordered}"));
            fixes.push(Fix {
                title: format!("put the fitting `{name}` between them"),
                edits: vec![(self.gap.place.clone(), self.layout(name))],
            });
            if fixes.len() == MOST_OFFERED {
                break;
            }
        }
        let help = match told.is_empty() {
            true => self.otherwise.clone(),
            false => format!(
                "put the fitting {} between them. {}",
                told.join(" or "),
                self.gap.caution
            ),
        };
        Advice { help, fixes }
    }

    fn layout(&self, name: &str) -> String {
        let block = format!("{} {name}", field!(fitting.inlet).block().name);
        self.gap.layout.replace("{}", &block)
    }

    /// The order details of a fitting, if the system with it has fewer errors in total and no error that it did not
    /// have.
    fn tried(&self, name: &str, before: &Errors) -> Option<String> {
        let root = &self.files.sources[0];
        let mut text = root.text.clone();
        let place = root.range(self.gap.place.span);
        text.replace_range(place.range(), &self.layout(name));
        let mut ordered = String::new();
        let after = self.errors(&text, Some((name, &mut ordered)))?;
        let is_no_worse =
            |(key, count): (&Key, &usize)| before.get(key).is_some_and(|b| count <= b);
        let total = |errors: &Errors| errors.values().sum::<usize>();
        let is_better = total(&after) < total(before) && after.iter().all(is_no_worse);
        is_better.then_some(ordered)
    }

    /// How often each check finds an error in the system, with `text` as the file's text. `None` if the system cannot
    /// be worked out. Writes the order details of the named fitting into `fitting`.
    fn errors(&self, text: &str, fitting: Option<(&str, &mut String)>) -> Option<Errors> {
        let source = Arc::new(self.files.sources[0].edited(text.to_owned()));
        let bundle = Bundle::load(source, &self.files);
        let system = build_named(&bundle, &self.system)?.system;
        if !system.is_workable() {
            return None;
        }
        if let Some((name, ordered)) = fitting {
            let items = system.order_items();
            let is_it = |item: &OrderItem<'_>| {
                item.component.block == block!(fitting) && item.part() == Some(name)
            };
            *ordered = ordered_by(&items.into_iter().find(is_it)?);
        }
        let mut bench = Bench::new(&bundle.settings, true);
        let judged = bench.judge(&system);
        let mut errors = Errors::new();
        let loud = judged.raised.iter().filter(|(_, allow)| allow.is_none());
        for (raised, _) in loud {
            let severity = Check::of(raised.check).severity_under(&bundle.settings);
            if severity >= Some(FAILS) {
                *errors.entry((raised.check, raised.block)).or_default() += 1;
            }
        }
        Some(errors)
    }
}

/// A check and the block that its error is about.
type Key = (CheckId, Option<BlockId>);

/// How often each check finds an error.
type Errors = HashMap<Key, usize>;

/// Number, supplier and price of a part, in brackets after its name.
fn ordered_by(item: &OrderItem<'_>) -> String {
    let texts = item.number().into_iter().chain(item.supplier());
    let price = item.price.map(|price| price.to_string());
    let all: Vec<String> = texts.map(str::to_owned).chain(price).collect();
    match all.is_empty() {
        true => String::new(),
        false => format!(" ({})", all.join(", ")),
    }
}
