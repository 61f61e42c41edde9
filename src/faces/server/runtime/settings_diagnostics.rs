//! The mistakes in settings that hold for open documents. They are published at their places, once for each settings
//! file, however many documents it holds for.

use crate::finding::FileName;
use lsp_types::Diagnostic;
use std::collections::HashMap;

/// A settings file and its mistakes.
pub(super) type FileDiagnostics = (FileName, Vec<Diagnostic>);

#[derive(Debug, Default)]
pub(super) struct SettingsDiagnostics {
    /// The settings file with mistakes that holds for a document, by the document's opening.
    of: HashMap<u64, FileName>,
    published: HashMap<FileName, Published>,
    /// Whether the client pulls diagnostics for the whole workspace. Nothing is published to it then.
    asked: bool,
}

#[derive(Debug)]
struct Published {
    documents: usize,
    diagnostics: Vec<Diagnostic>,
}

impl SettingsDiagnostics {
    /// Notes the mistakes in the settings of a document. Gives what must be published.
    pub fn note(
        &mut self,
        opening: u64,
        mistaken: Option<FileDiagnostics>,
    ) -> Vec<FileDiagnostics> {
        let mut news = Vec::new();
        let before = match &mistaken {
            Some((file, _)) => self.of.insert(opening, file.clone()),
            None => self.of.remove(&opening),
        };
        if let Some((file, diagnostics)) = mistaken {
            let told = self
                .published
                .entry(file.clone())
                .or_insert_with(|| Published {
                    documents: 0,
                    diagnostics: Vec::new(),
                });
            told.documents += 1;
            if told.diagnostics != diagnostics {
                told.diagnostics.clone_from(&diagnostics);
                news.push((file, diagnostics));
            }
        }
        if let Some(file) = before
            && let Some(told) = self.published.get_mut(&file)
        {
            told.documents -= 1;
            if told.documents == 0 {
                self.published.remove(&file);
                news.push((file, Vec::new()));
            }
        }
        match self.asked {
            true => Vec::new(),
            false => news,
        }
    }

    /// Forgets what was published for a file that is open now: it has diagnostics of its own.
    pub fn opened(&mut self, file: &FileName) {
        if self.published.remove(file).is_some() {
            self.of.retain(|_, other| other != file);
        }
    }

    /// Notes that the client pulls. Gives the diagnostics that must be withdrawn.
    pub fn asked(&mut self) -> Vec<FileDiagnostics> {
        if std::mem::replace(&mut self.asked, true) {
            return Vec::new();
        }
        self.published
            .keys()
            .map(|file| (file.clone(), Vec::new()))
            .collect()
    }
}
