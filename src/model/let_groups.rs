//! Lets that can only be renamed together.

use crate::finding::Place;
use std::collections::{HashMap, HashSet};

/// Lets with one name that must be renamed together, because free names read them.
#[derive(Default)]
pub(super) struct Joined {
    /// Each place where a free name is read, with the let of a system that it means: the let in that system's first
    /// base.
    pub names: HashMap<Place, Place>,
    pub groups: Vec<Group>,
}

#[derive(Default)]
pub(super) struct Group {
    /// The file's lets that the name means where no system has a let of that name.
    pub of_files: HashSet<Place>,
    /// For each system, the let in its first base.
    pub of_systems: HashSet<Place>,
}

impl Joined {
    pub fn join(&mut self, of_system: &Place, of_file: Option<Place>) {
        let mut joined = Group::default();
        self.groups.retain_mut(|group| {
            let of_file = of_file.as_ref();
            let is_it = group.contains(of_system) || of_file.is_some_and(|at| group.contains(at));
            if is_it {
                joined.of_files.extend(group.of_files.drain());
                joined.of_systems.extend(group.of_systems.drain());
            }
            !is_it
        });
        joined.of_systems.insert(of_system.clone());
        joined.of_files.extend(of_file);
        self.groups.push(joined);
    }
}

impl Group {
    pub fn contains(&self, item: &Place) -> bool {
        self.of_files.contains(item) || self.of_systems.contains(item)
    }

    /// The let that stands for the whole group. It is the same from whichever file the group is seen.
    pub fn representative(&self) -> Option<Place> {
        let first = |lets: &HashSet<Place>| {
            let by_place =
                |place: &&Place| (place.file.clone(), place.span.statement, place.span.start);
            lets.iter().min_by_key(by_place).cloned()
        };
        first(&self.of_files).or_else(|| first(&self.of_systems))
    }
}
