//! The mistakes in settings that hold for open documents: told where they stand, once for each file
//! of settings, however many documents it holds for.

use crate::finding::FileName;
use lsp_types::Diagnostic;
use std::collections::HashMap;

/// A file of settings, and what is wrong with it.
pub(super) type FileDiagnostics = (FileName, Vec<Diagnostic>);

#[derive(Debug, Default)]
pub(super) struct SettingsDiagnostics {
    /// The file of settings with mistakes that holds for a document, by the document's opening.
    of: HashMap<u64, FileName>,
    published: HashMap<FileName, Published>,
    /// Whether the client asks for what is wrong anywhere in the workspace, and is told nothing.
    asked: bool,
}

#[derive(Debug)]
struct Published {
    documents: usize,
    diagnostics: Vec<Diagnostic>,
}

impl SettingsDiagnostics {
    /// Notes what is wrong with the settings of a document, and says what is to be told.
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

    /// Forgets what was told of a file that is open by now: it has findings of its own.
    pub fn opened(&mut self, file: &FileName) {
        if self.published.remove(file).is_some() {
            self.of.retain(|_, other| other != file);
        }
    }

    /// Notes that the client asks, and says what it is not told any more.
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
