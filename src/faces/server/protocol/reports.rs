//! Pulled diagnostics of one document or of all.

use super::answers::WorkspaceView;
use super::to_lsp::{Diagnosed, Lsp};
use lsp_types::*;
use std::collections::HashMap;

/// The diagnostics of a document, or the answer that they equal those that the client has.
pub(crate) fn document_report(
    found: Option<Diagnosed>,
    known: Option<&String>,
) -> DocumentDiagnosticReportResult {
    let report = match found {
        Some(Diagnosed { mark, .. }) if known == Some(&mark) => {
            let unchanged = UnchangedDocumentDiagnosticReport { result_id: mark };
            DocumentDiagnosticReport::Unchanged(RelatedUnchangedDocumentDiagnosticReport {
                related_documents: None,
                unchanged_document_diagnostic_report: unchanged,
            })
        }
        found => DocumentDiagnosticReport::Full(RelatedFullDocumentDiagnosticReport {
            related_documents: None,
            full_document_diagnostic_report: full(found),
        }),
    };
    report.into()
}

/// The diagnostics of every file of the workspace.
pub(crate) fn workspace_report(
    workspace: &WorkspaceView<'_>,
    params: WorkspaceDiagnosticParams,
) -> WorkspaceDiagnosticReportResult {
    let mut before: HashMap<Url, String> = params
        .previous_result_ids
        .into_iter()
        .map(|previous| (previous.uri, previous.value))
        .collect();
    let mut items = Vec::new();
    for file in workspace.world.specs_and_settings() {
        let found = Lsp::new(&file, workspace.client, workspace.settings).diagnosed();
        let uri = file.buffer.uri.clone();
        let version = file.buffer.version.map(i64::from);
        let known = before.remove(&uri);
        items.push(match known == Some(found.mark.clone()) {
            true => WorkspaceUnchangedDocumentDiagnosticReport {
                uri,
                version,
                unchanged_document_diagnostic_report: UnchangedDocumentDiagnosticReport {
                    result_id: found.mark,
                },
            }
            .into(),
            false => WorkspaceFullDocumentDiagnosticReport {
                uri,
                version,
                full_document_diagnostic_report: full(Some(found)),
            }
            .into(),
        });
    }
    // The client's reports of files that are gone are withdrawn.
    items.extend(before.into_keys().map(|uri| {
        WorkspaceDocumentDiagnosticReport::Full(WorkspaceFullDocumentDiagnosticReport {
            uri,
            version: None,
            full_document_diagnostic_report: full(None),
        })
    }));
    WorkspaceDiagnosticReport { items }.into()
}

fn full(found: Option<Diagnosed>) -> FullDocumentDiagnosticReport {
    let (result_id, items) = found.map(|found| (found.mark, found.items)).unzip();
    FullDocumentDiagnosticReport {
        result_id,
        items: items.unwrap_or_default(),
    }
}
