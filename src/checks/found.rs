//! What the checks find in a system, in words or in brief.

use super::Goal;
use super::limits::ResultLimit;
use crate::check_id::CheckId;
use crate::finding::{Problem, Shortfall};
use crate::schema::BlockId;

/// How much the checks report.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Detail {
    /// Which checks find something. Used for many systems at once.
    Brief,
    /// Everything: problems in words, with the goals of their cures.
    Full,
}

/// A check that has found something, and the block that it is about.
#[derive(Clone, Copy, Debug)]
pub struct Raised {
    /// The check that found something.
    pub check: CheckId,
    /// The block it is about; `None` for the system as a whole.
    pub block: Option<BlockId>,
}

/// What the checks find in one system. In brief it holds only which check finds something and about which block,
/// since nobody reads the words of a million systems.
#[derive(Debug)]
pub struct Found {
    detail: Detail,
    running: Option<CheckId>,
    /// The problems in words; empty in brief.
    pub problems: Vec<Problem>,
    /// The goals of some of the problems.
    pub(super) wishes: Vec<Wish>,
    /// The checks that found something; empty unless in brief.
    pub raised: Vec<Raised>,
    /// Where in `problems` those of the running check begin.
    first: usize,
}

/// The goal that a check gives for the cure of one problem.
#[derive(Debug)]
pub(super) struct Wish {
    /// The problem's place among all.
    pub problem: usize,
    pub goal: Goal,
    /// What else can be done if no single change reaches the goal.
    pub otherwise: String,
}

impl Found {
    /// An empty list for checks that report in the given detail.
    pub fn new(detail: Detail) -> Self {
        Self {
            detail,
            running: None,
            problems: Vec::new(),
            wishes: Vec::new(),
            raised: Vec::new(),
            first: 0,
        }
    }

    /// How much the checks report.
    pub fn detail(&self) -> Detail {
        self.detail
    }

    /// Empties the list for another system.
    pub fn clear(&mut self) {
        self.problems.clear();
        self.wishes.clear();
        self.raised.clear();
    }

    /// Sets the check to which all further problems belong.
    pub(super) fn running(&mut self, check: CheckId) {
        self.running = Some(check);
        self.first = self.problems.len();
    }

    /// In brief, notes that the running check found something about a block, or about the system as a whole. Returns
    /// whether that was all, so that the check can stop.
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

    /// Sets, on the running check's problems, how far they are past the bound of a result, unless the check did that
    /// itself.
    pub(super) fn measure(&mut self, passed: impl Fn() -> Option<(&'static ResultLimit, f64)>) {
        let found = self.problems.get_mut(self.first..).unwrap_or_default();
        for problem in found.iter_mut().filter(|one| one.shortfall.is_none()) {
            if let Some((row, by)) = passed() {
                problem.shortfall = Some(Shortfall {
                    value: by,
                    what: row.result.into(),
                });
            }
        }
    }

    /// Adds a problem that a change of the system may cure. Changes that reach the goal are searched for when the
    /// finding is asked for its help. If there are none, `otherwise` says what else can be done.
    pub fn push_curable(&mut self, problem: Problem, goal: Goal, otherwise: impl Into<String>) {
        let place = self.problems.len();
        self.push(problem);
        if self.problems.len() > place {
            self.wishes.push(Wish {
                problem: place,
                goal,
                otherwise: otherwise.into(),
            });
        }
    }

    /// Adds a problem. In brief, notes only the running check and the problem's block.
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
