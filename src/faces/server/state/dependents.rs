//! Which documents must be analysed again when a file changes.

use crate::finding::FileName;
use std::collections::{HashMap, HashSet};

/// For each file, the documents whose analysis asked for it. A document is named by the number of its opening.
#[derive(Debug, Default)]
pub(crate) struct Dependents {
    of: HashMap<FileName, HashSet<u64>>,
    asked: HashMap<u64, Box<[FileName]>>,
    /// The documents whose files are not noted here.
    unknown: HashSet<u64>,
}

impl Dependents {
    /// Notes that nothing is known of a document, or no longer.
    pub fn forget(&mut self, document: u64) {
        self.remove(document);
        self.unknown.insert(document);
    }

    /// Removes a document that is gone.
    pub fn remove(&mut self, document: u64) {
        self.unknown.remove(&document);
        for name in self.asked.remove(&document).into_iter().flatten() {
            if let Some(users) = self.of.get_mut(&name) {
                users.remove(&document);
                if users.is_empty() {
                    self.of.remove(&name);
                }
            }
        }
    }

    /// Notes the files that the analysis of a document asked for.
    pub fn note<'n>(&mut self, document: u64, asked: impl Iterator<Item = &'n FileName>) {
        self.remove(document);
        let asked = asked.map(|name| {
            // Thousands of documents ask for the same few files, and share their names.
            let name = self.of.get_key_value(name).map_or(name, |(name, _)| name);
            let name = name.clone();
            self.of.entry(name.clone()).or_default().insert(document);
            name
        });
        let asked = asked.collect();
        self.asked.insert(document, asked);
    }

    pub fn is_known(&self, document: u64) -> bool {
        !self.unknown.contains(&document)
    }

    /// The documents that asked for a file, and those of which nothing is known.
    pub fn of(&self, name: &FileName) -> Vec<u64> {
        let users = self.of.get(name).into_iter().flatten();
        users.chain(&self.unknown).copied().collect()
    }
}
