//! Where the components of a system meet: each pair of fields that must agree.

use super::system::{Component, Given, System};
use crate::schema::{Agree, FieldId, MEETS, Meets};
use crate::{block, field};

/// Two fields that meet.
#[derive(Clone, Copy, Debug)]
pub struct Joint<'a> {
    /// How they must agree.
    pub meets: &'static Meets,
    /// The one nearer to the pedal, or the one that goes into the other.
    pub first: Side<'a>,
    /// The other.
    pub second: Side<'a>,
}

/// One side of a joint.
#[derive(Clone, Copy, Debug)]
pub struct Side<'a> {
    /// The field.
    pub field: FieldId,
    /// Its component, where the system has it.
    pub component: Option<&'a Component>,
}

impl<'a> Side<'a> {
    /// What the spec gives for the field.
    pub fn given(&self) -> Option<&'a Given> {
        self.component?.given(self.field)
    }

    /// As a message names it: `slave.inlet`, `line hard.outlet`.
    pub fn name(&self) -> String {
        match self
            .component
            .and_then(|component| component.label.as_ref())
        {
            Some(label) => format!(
                "{} {label}.{}",
                self.field.block().name,
                self.field.field().name
            ),
            None => self.field.path(),
        }
    }
}

impl System {
    /// Every pair of fields in the system that meet, given or not.
    pub fn joints(&self) -> Vec<Joint<'_>> {
        let mut joints = Vec::with_capacity(MEETS.len() + self.lines.len() + self.fittings.len());
        for meets in MEETS {
            let has = |block| self.component(block).is_some();
            if meets.with.is_some_and(|block| !has(block)) || meets.without.is_some_and(has) {
                continue;
            }
            let [first, second] = [meets.first, meets.second].map(|field| Side {
                field,
                component: self.component(field.block),
            });
            match meets.agree {
                Agree::Ports => self.ports(meets, first, second, &mut joints),
                _ => joints.push(Joint {
                    meets,
                    first,
                    second,
                }),
            }
        }
        joints
    }

    /// The joints between two ports, through all lines, fittings and the intensifier between them.
    fn ports<'a>(
        &'a self,
        meets: &'static Meets,
        first: Side<'a>,
        last: Side<'a>,
        joints: &mut Vec<Joint<'a>>,
    ) {
        let mut open = first;
        let mut fittings = self.fittings.iter().peekable();
        let mut pass = |component: &'a Component| {
            let (inlet, outlet) = match component.block {
                block if block == block!(line) => (field!(line.inlet), field!(line.outlet)),
                block if block == block!(fitting) => {
                    (field!(fitting.inlet), field!(fitting.outlet))
                }
                _ => (field!(intensifier.inlet), field!(intensifier.outlet)),
            };
            let side = |field| Side {
                field,
                component: Some(component),
            };
            joints.push(Joint {
                meets,
                first: open,
                second: side(inlet),
            });
            open = side(outlet);
        };
        let mut intensifier = self.component(block!(intensifier));
        for (before, line) in self.lines.iter().enumerate() {
            let is_ahead = line.given(field!(line.at)).and_then(Given::word) == Some("master");
            if let Some(intensifier) = intensifier.take_if(|_| !is_ahead) {
                pass(intensifier);
            }
            while let Some(fitting) = fittings.next_if(|f| f.lines_before <= before) {
                pass(&fitting.component);
            }
            pass(line);
        }
        fittings.for_each(|fitting| pass(&fitting.component));
        if let Some(intensifier) = intensifier {
            pass(intensifier);
        }
        joints.push(Joint {
            meets,
            first: open,
            second: last,
        });
    }
}
