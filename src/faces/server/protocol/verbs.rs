//! The output of command-line verbs for a document, for an editor in a browser, which cannot run the program. These
//! messages are our own and not part of the protocol; `editors/README.md` documents them.

use crate::analysis::compare::{Pairing, compare};
use crate::analysis::diagnosis::{diagnosis, has_other_errors, has_readings};
use crate::analysis::{
    BomRequest, CureSearch, NoBom, NoSizes, Report, Search, Work, analyse_with, bom, no_system,
    size,
};
use crate::faces::render::compare::{Compared, Form, Sides, tell, to_markdown};
use crate::faces::render::{bom_markdown, explanation, measured_markdown, other_errors, size_text};
use crate::faces::sanitize;
use crate::faces::server::state::Snapshot;
use crate::model::{Files, Source};
use lsp_types::TextDocumentIdentifier;
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// The longest line of an explanation: as long as in a pipe.
const WIDTH: usize = 100;

/// A request for a document: a verb of the command line, with its arguments.
#[derive(Debug, Deserialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct VerbParams {
    pub text_document: TextDocumentIdentifier,
    #[serde(flatten)]
    verb: Verb,
    /// The wanted system.
    system: Option<String>,
}

#[derive(Debug, Deserialize)]
#[serde(tag = "verb", rename_all = "camelCase")]
enum Verb {
    Size,
    Bom,
    Diagnose,
    /// Compares the present document with an earlier text of it.
    Compare {
        before: String,
    },
}

/// The name to explain; without a name, the list of all names.
#[derive(Debug, Deserialize)]
pub(crate) struct ExplainParams {
    what: Option<String>,
}

/// The program's output and its complaints.
#[derive(Debug, Default, Serialize)]
pub(crate) struct Said {
    text: String,
    complaint: String,
}

impl Said {
    fn text(text: impl AsRef<str>) -> Self {
        Self {
            text: sanitize::lines(text.as_ref()).into_owned(),
            ..Self::default()
        }
    }

    fn complaint(why: impl AsRef<str>) -> Self {
        Self {
            complaint: sanitize::sanitize(why.as_ref()),
            ..Self::default()
        }
    }
}

/// The output of `bitepoint explain`.
pub(crate) fn explained(params: &ExplainParams) -> Said {
    match explanation(params.what.as_deref(), WIDTH) {
        Ok(text) => Said::text(text),
        Err(why) => Said::complaint(why),
    }
}

/// The output of a verb for the present text of a document, saved or not.
pub(crate) fn said(snapshot: &Snapshot, params: VerbParams) -> Said {
    snapshot.asked_anew(|source, files| {
        let document = Document {
            source: source.clone(),
            files,
            system: params.system,
        };
        let shown = document.shown();
        let said = match params.verb {
            Verb::Size => document.sizes(),
            Verb::Bom => document.bill(),
            Verb::Diagnose => document.fault(),
            Verb::Compare { before } => document.compared(before),
        };
        // The core names the document by its address.
        let whole = sanitize::name(&source.name);
        Said {
            complaint: said.complaint.replace(&whole, &shown),
            ..said
        }
    })
}

struct Document<'a> {
    source: Arc<Source>,
    files: &'a dyn Files,
    system: Option<String>,
}

impl Document<'_> {
    /// The document's name as people know it.
    fn shown(&self) -> String {
        sanitize::name(&self.files.shown(&self.source.name))
    }

    /// The report of a text. Cures are searched for when they are printed.
    fn report(&self, source: Arc<Source>) -> Report {
        let work = Work {
            cures: CureSearch::WhenAsked,
            ..Work::default()
        };
        analyse_with(source, self.files, &work).with_settings()
    }

    fn sizes(self) -> Said {
        let Some(system) = self.system.clone() else {
            return Said::complaint(format!("there is no system in `{}`", self.shown()));
        };
        let search = Search::of(system);
        match size(self.source, self.files, &search, &Work::default()) {
            Ok(sizes) => Said::text(size_text(&search.system, &sizes)),
            Err(NoSizes::Mistakes(why) | NoSizes::Asked(why)) => Said::complaint(why),
        }
    }

    fn bill(self) -> Said {
        let request = BomRequest {
            system: self.system,
            ..BomRequest::default()
        };
        match bom(self.source, self.files, &request, &Work::default()) {
            Ok(bill) => Said::text(bom_markdown(&bill, false)),
            Err(NoBom::Mistakes(why) | NoBom::Asked(why)) => Said::complaint(why),
        }
    }

    fn fault(self) -> Said {
        let report = self.report(self.source.clone());
        let mut systems = report.worked_systems();
        let found = match &self.system {
            Some(name) => systems.find(|worked| worked.system.name == *name),
            None => systems.next(),
        };
        let Some(worked) = found else {
            return Said::complaint(match &self.system {
                Some(name) => no_system(&report.source, name),
                None => format!("there is no system in `{}`", self.shown()),
            });
        };
        if worked.kit.is_some() && has_readings(worked) {
            let why = "pick a part for each choice first: readings are of one car";
            return Said::complaint(why);
        }
        let found = diagnosis(worked, &[]);
        let shown = self.shown();
        let text = measured_markdown(&report, worked, found.as_ref(), &shown);
        let complaint = match has_other_errors(&report, &[worked]) {
            true => other_errors(&shown),
            false => String::new(),
        };
        Said {
            complaint,
            ..Said::text(format!("{}\n", text.trim_end()))
        }
    }

    fn compared(self, before: String) -> Said {
        let old = self.report(Arc::new(Source::new(self.source.name.clone(), before)));
        let new = self.report(self.source.clone());
        let comparison = compare(Some(&old), Some(&new), Pairing::ByName);
        let sides = Sides {
            before: "saved".to_owned(),
            after: "edited".to_owned(),
        };
        let is_same = comparison.is_same();
        let changed = (!is_same).then(|| tell(&comparison, None, &sides, Form::Markdown));
        Said::text(to_markdown(&Compared {
            sides,
            files: changed.into_iter().collect(),
            same: usize::from(is_same),
            submodules: Vec::new(),
            unread: Vec::new(),
            not_compared: 0,
        }))
    }
}
