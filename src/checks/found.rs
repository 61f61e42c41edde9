//! What the checks find in a system, with words or without.

use super::Detail;
use crate::check_id::CheckId;
use crate::finding::Problem;
use crate::schema::BlockId;

/// A check that has found something, and the block that it is about.
#[derive(Clone, Copy, Debug)]
pub struct Raised {
    pub check: CheckId,
    pub block: Option<BlockId>,
}

/// What the checks find in one system. In brief only which check finds something, and about what: of a
/// million systems nobody reads the words.
#[derive(Debug)]
pub struct Found {
    detail: Detail,
    running: Option<CheckId>,
    pub problems: Vec<Problem>,
    pub raised: Vec<Raised>,
}

impl Found {
    pub fn new(detail: Detail) -> Self {
        Self {
            detail,
            running: None,
            problems: Vec::new(),
            raised: Vec::new(),
        }
    }

    pub fn detail(&self) -> Detail {
        self.detail
    }

    /// Makes room for what is found in another system.
    pub fn clear(&mut self) {
        self.problems.clear();
        self.raised.clear();
    }

    /// What is found from now on, this check has found.
    pub(super) fn running(&mut self, check: CheckId) {
        self.running = Some(check);
    }

    /// In brief, notes that the running check has found something about a block, or about the system as a
    /// whole, and says that this is all that is wanted.
    pub fn noted(&mut self, block: impl Into<Option<BlockId>>) -> bool {
        if self.detail == Detail::Full {
            return false;
        }
        self.raised.extend(self.running.map(|check| Raised {
            check,
            block: block.into(),
        }));
        true
    }

    pub fn push(&mut self, problem: Problem) {
        if !self.noted(problem.block) {
            self.problems.push(problem);
        }
    }
}

impl Extend<Problem> for Found {
    fn extend<I: IntoIterator<Item = Problem>>(&mut self, problems: I) {
        problems.into_iter().for_each(|problem| self.push(problem));
    }
}
