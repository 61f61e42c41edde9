//! What the checks find in a system, with words or without.

use super::Goal;
use super::limits::ResultLimit;
use crate::check_id::CheckId;
use crate::finding::{Problem, Shortfall};
use crate::schema::BlockId;

/// How much the checks say.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Detail {
    /// What is wrong, and nothing about what would cure it: for many systems at once.
    Brief,
    /// All there is to say: problems in words, with what they want cured.
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

/// What the checks find in one system. In brief only which check finds something, and about what: of a
/// million systems the words would not be read.
#[derive(Debug)]
pub struct Found {
    detail: Detail,
    running: Option<CheckId>,
    /// What is wrong, in words; empty when only brief answers are wanted.
    pub problems: Vec<Problem>,
    /// What would cure some of them.
    pub(super) wishes: Vec<Wish>,
    /// Which checks found something; empty unless only brief answers are wanted.
    pub raised: Vec<Raised>,
    /// Where in `problems` those of the running check begin.
    first: usize,
}

/// What a check wants for one of its problems.
#[derive(Debug)]
pub(super) struct Wish {
    /// The problem's place among all.
    pub problem: usize,
    pub goal: Goal,
    /// What else can be done where no single change brings it about.
    pub otherwise: String,
}

impl Found {
    /// An empty list for checks that are to say so much.
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

    /// How much the checks are to say.
    pub fn detail(&self) -> Detail {
        self.detail
    }

    /// Makes room for what is found in another system.
    pub fn clear(&mut self) {
        self.problems.clear();
        self.wishes.clear();
        self.raised.clear();
    }

    /// What is found from now on, this check has found.
    pub(super) fn running(&mut self, check: CheckId) {
        self.running = Some(check);
        self.first = self.problems.len();
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

    /// Says of what the running check has found by how much it is past the bound that the check holds a result to,
    /// where the check did not say that itself.
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

    /// A problem that some change of the system may cure: those that bring the goal about are looked for when
    /// the finding is asked for its help, and where there are none, `otherwise` says what else can be done.
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

    /// Adds a problem; in brief, notes only the running check and the problem's block.
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
