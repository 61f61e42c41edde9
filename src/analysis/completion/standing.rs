//! Ranks the parts that a block could take by how they work in the system around it. Those that work come first, the
//! others say why they do not.

use super::writer::Writer;
use crate::analysis::judge::{FAILS, judge};
use crate::analysis::used::Used;
use crate::check_id::CheckId;
use crate::checks::Check;
use crate::finding::Severity;
use crate::model::{Bundle, Rebuild, Subject, build_named};
use crate::schema::Block;
use std::collections::HashMap;
use std::sync::Arc;

/// With more parts than this none is tried.
const MOST_TRIED: usize = 200;

/// How well a part works, the best first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Standing {
    Works,
    Warns,
    Fails,
    DoesNotFit,
}

impl Standing {
    pub(super) fn words(self) -> &'static str {
        match self {
            Self::Works => "works here",
            Self::Warns => "works here with a warning",
            Self::Fails => "does not work here",
            Self::DoesNotFit => "does not fit here",
        }
    }
}

impl Writer<'_> {
    /// How well each of some parts works in place of the statement at the cursor, and what is wrong with it. Empty
    /// where the rest of the system has mistakes.
    pub(super) fn standings(
        &self,
        block: &str,
        parts: &[String],
    ) -> HashMap<String, (Standing, String)> {
        self.try_all(block, parts).unwrap_or_default()
    }

    fn try_all(
        &self,
        block: &str,
        parts: &[String],
    ) -> Option<HashMap<String, (Standing, String)>> {
        if parts.is_empty() || parts.len() > MOST_TRIED {
            return None;
        }
        let text = self.with_choice(block, parts)?;
        let name = self.cursor.system_head()?.text;
        let source = Arc::new(self.report.source.edited(text));
        let bundle = Bundle::load(source, &Used(self.report));
        let built = build_named(&bundle, name)?;
        let space = built.space.as_ref()?;
        let rebuild = Rebuild::of(&bundle, &built.system)?;
        let subject = Subject::Part(Block::named(block)?);
        let own = space.axes.iter().position(|axis| axis.subject == subject)?;
        let mut picker = space.picker(rebuild);
        let mut standings = HashMap::new();
        for (at, choice) in space.axes[own].choices.iter().enumerate() {
            // Other choices are held at their first part.
            let system = picker.pick(space.index_of_choice(own, at));
            if !system.is_sound() {
                continue;
            }
            let settings = &bundle.settings;
            let told = judge(system, settings).told.into_iter();
            let loud = told
                .filter(|(_, allow)| allow.is_none())
                .filter_map(|(told, _)| {
                    let severity = Check::of(told.problem.check).severity_under(settings)?;
                    let standing = match severity {
                        FAILS if told.problem.check == CheckId::DoesNotFit => Standing::DoesNotFit,
                        FAILS => Standing::Fails,
                        Severity::Warning => Standing::Warns,
                        _ => return None,
                    };
                    Some((standing, told.problem.message))
                });
            // If there are several problems, the first of the worst says why.
            let worst = loud.reduce(|worst, next| match next.0 > worst.0 {
                true => next,
                false => worst,
            });
            let standing = worst.unwrap_or((Standing::Works, String::new()));
            standings.insert(choice.name.clone(), standing);
        }
        Some(standings)
    }

    /// The text with a choice of the parts in place of the statement at the cursor. A body after it is kept.
    fn with_choice(&self, block: &str, parts: &[String]) -> Option<String> {
        let start = self.cursor.before.first()?.start;
        let rest = &self.cursor.text[start..];
        let length = rest.find(['\n', '\r', '{', '}']).unwrap_or(rest.len());
        let has_body = rest[length..].starts_with('{');
        let mut choice = format!("choose {block} {}\n", parts.join(", "));
        if has_body {
            choice.push_str(block);
            choice.push(' ');
        }
        let mut text = self.cursor.text.to_owned();
        text.replace_range(start..start + length, &choice);
        Some(text)
    }
}
