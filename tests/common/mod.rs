//! What several tests share.
#![allow(dead_code, reason = "each test uses its own share of it")]

use bitepoint::finding::FileName;
use bitepoint::model::{Files, Source};
use proptest::test_runner::Config as ProptestConfig;
use std::collections::HashMap;
use std::sync::Arc;

/// How many cases a property is tried on. A case that fails is printed and becomes a test.
pub fn cases(count: u32) -> ProptestConfig {
    ProptestConfig {
        cases: count,
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

/// Files that exist only in a test.
#[derive(Default)]
pub struct Library {
    files: HashMap<String, String>,
}

impl Library {
    pub fn new(files: &[(&str, &str)]) -> Self {
        let owned = |(name, text): &(&str, &str)| ((*name).to_owned(), (*text).to_owned());
        Self {
            files: files.iter().map(owned).collect(),
        }
    }
}

impl Files for Library {
    fn read(&self, name: &FileName) -> Result<Arc<Source>, String> {
        match self.files.get(&**name) {
            Some(text) => Ok(source(name, text)),
            None => Err("does not exist".to_owned()),
        }
    }
}

pub fn source(name: &str, text: &str) -> Arc<Source> {
    Arc::new(Source::new(name.into(), text.to_owned()))
}
