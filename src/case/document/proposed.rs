//! Which points of a shot are as the program proposed them, and how sure it was.

use std::collections::BTreeMap;

use crate::measure::mark::{MarkKind, MarkRef, Marks};

/// How sure the program was of the points of one mark, in millimetres at the plane of the body.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct MarkSd {
    /// Standard deviation of each point across the border (tip: across the instrument), the shared error included.
    pub across: f64,
    /// The part of it that all points of the border share.
    pub common: f64,
    /// Along the border (tip: along the instrument), where it is known.
    pub along: Option<f64>,
}

/// Where a point comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Origin {
    /// A person placed it.
    ByHand,
    /// The program proposed it, and nobody moved it.
    Proposed,
    /// The program proposed the mark; a person moved this point of it, or added it.
    Moved,
}

impl Origin {
    /// All origins.
    pub const ALL: [Self; 3] = [Self::ByHand, Self::Proposed, Self::Moved];

    /// Its key in tables.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::ByHand => "by_hand",
            Self::Proposed => "proposed",
            Self::Moved => "moved",
        }
    }
}

/// The origin of a shot's marks: points that were proposed, and were not moved by a person since.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ProposedMarks {
    flags: BTreeMap<MarkKind, Vec<bool>>,
    sds: BTreeMap<MarkKind, MarkSd>,
}

impl MarkSd {
    /// What is wrong with the numbers, if they cannot be meant.
    #[must_use]
    pub fn fault(&self) -> Option<&'static str> {
        let good = |sd: f64| sd.is_finite() && (0.0..=50.0).contains(&sd);
        let all = good(self.across) && good(self.common) && self.along.is_none_or(good);
        (!all || self.common > self.across).then_some(
            "a standard deviation lies between 0 and 50 mm, and the common part is no larger than the whole",
        )
    }
}

/// How many of the placed points come from where, in the order of [`Origin::ALL`].
#[must_use]
pub fn origins(marks: &Marks, proposed: &ProposedMarks) -> [usize; 3] {
    let mut counts = [0; 3];
    for (at, _) in marks.placed() {
        let origin = proposed.origin(at);
        for (count, known) in counts.iter_mut().zip(Origin::ALL) {
            *count += usize::from(known == origin);
        }
    }
    counts
}

impl ProposedMarks {
    /// All points of these marks, proposed with these uncertainties.
    #[must_use]
    pub fn all(marks: &Marks, sds: BTreeMap<MarkKind, MarkSd>) -> Self {
        let flags = marks.kinds().map(|kind| (kind, vec![true; marks.slots(kind).len()])).collect();
        Self { flags, sds }
    }

    /// From what a case file says; uncertainties of marks without a proposed point are let go.
    #[must_use]
    pub fn from_parts(flags: BTreeMap<MarkKind, Vec<bool>>, sds: BTreeMap<MarkKind, MarkSd>) -> Self {
        let mut new = Self { flags, sds };
        new.tidy();
        new
    }

    /// Whether no mark was ever proposed.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.flags.is_empty()
    }

    /// Where a placed point comes from.
    #[must_use]
    pub fn origin(&self, at: MarkRef) -> Origin {
        match self.flags.get(&at.kind) {
            None => Origin::ByHand,
            Some(flags) if flags.get(at.index).copied().unwrap_or(false) => Origin::Proposed,
            Some(_) => Origin::Moved,
        }
    }

    /// Whether a point is as proposed.
    #[must_use]
    pub fn holds(&self, at: MarkRef) -> bool {
        self.flags.get(&at.kind).and_then(|flags| flags.get(at.index)).copied().unwrap_or(false)
    }

    /// How sure the program was of a mark that still has a proposed point.
    #[must_use]
    pub fn sd(&self, kind: MarkKind) -> Option<MarkSd> {
        self.sds.get(&kind).copied()
    }

    /// The marks with a flag for each of their points, in the order of the case file.
    pub fn flags(&self) -> impl Iterator<Item = (MarkKind, &[bool])> {
        self.flags.iter().map(|(&kind, flags)| (kind, flags.as_slice()))
    }

    /// How many points are as proposed.
    #[must_use]
    pub fn count(&self) -> usize {
        self.flags.values().flatten().filter(|flag| **flag).count()
    }

    /// A person moved a point, or placed it.
    pub(crate) fn moved(&mut self, at: MarkRef) {
        if let Some(flag) = self.flags.get_mut(&at.kind).and_then(|flags| flags.get_mut(at.index)) {
            *flag = false;
        }
        self.tidy();
    }

    /// A person put a further point in.
    pub(crate) fn inserted(&mut self, at: MarkRef) {
        if let Some(flags) = self.flags.get_mut(&at.kind)
            && at.index <= flags.len()
        {
            flags.insert(at.index, false);
        }
    }

    /// A point was taken out and those behind it moved up.
    pub(crate) fn taken_out(&mut self, at: MarkRef) {
        if let Some(flags) = self.flags.get_mut(&at.kind)
            && at.index < flags.len()
        {
            flags.remove(at.index);
        }
        self.tidy();
    }

    /// A mark was taken out.
    pub(crate) fn cleared(&mut self, kind: MarkKind) {
        self.flags.remove(&kind);
        self.tidy();
    }

    /// All marks were replaced: what lies where it lay is still as proposed.
    pub(crate) fn replaced(&mut self, before: &Marks, now: &Marks) {
        for (kind, flags) in &mut self.flags {
            let (was, is) = (before.slots(*kind), now.slots(*kind));
            let same_length = was.len() == is.len();
            for (index, flag) in flags.iter_mut().enumerate() {
                *flag &= same_length && was.get(index) == is.get(index);
            }
            flags.truncate(is.len());
        }
        self.tidy();
    }

    /// A mark whose points were all moved is still known as one that was proposed; its uncertainty is the person's.
    fn tidy(&mut self) {
        self.flags.retain(|_, flags| !flags.is_empty());
        let flags = &self.flags;
        self.sds.retain(|kind, _| flags.get(kind).is_some_and(|flags| flags.contains(&true)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(index: usize) -> MarkRef {
        MarkRef { kind: MarkKind::SuperiorEndPlate, index }
    }

    fn proposed() -> (Marks, ProposedMarks) {
        let marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (5.0, 1.0), (9.0, 0.0)])
            .with(MarkKind::Tip, &[(4.0, 4.0)]);
        let sd = MarkSd { across: 0.6, common: 0.4, along: None };
        let sds = [(MarkKind::SuperiorEndPlate, sd), (MarkKind::Tip, sd)].into();
        let proposed = ProposedMarks::all(&marks, sds);
        (marks, proposed)
    }

    #[test]
    fn a_point_a_person_moved_is_a_persons() {
        let (_, mut p) = proposed();
        p.moved(at(1));
        assert!(p.holds(at(0)) && !p.holds(at(1)) && p.sd(MarkKind::SuperiorEndPlate).is_some());
        p.moved(at(0));
        p.moved(at(2));
        assert!(p.sd(MarkKind::SuperiorEndPlate).is_none() && p.count() == 1);
    }

    #[test]
    fn flags_follow_their_points() {
        let (marks, mut p) = proposed();
        p.inserted(at(1));
        assert!(p.holds(at(0)) && !p.holds(at(1)) && p.holds(at(2)) && p.holds(at(3)));
        p.taken_out(at(1));
        assert_eq!(p, proposed().1);
        let other = marks.clone().with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (5.0, 2.0), (9.0, 0.0)]);
        p.replaced(&marks, &other);
        assert!(p.holds(at(0)) && !p.holds(at(1)));
        p.cleared(MarkKind::SuperiorEndPlate);
        p.moved(MarkRef { kind: MarkKind::Tip, index: 0 });
        assert!(p.count() == 0 && !p.is_empty());
    }

    #[test]
    fn a_point_tells_where_it_comes_from() {
        let (_, mut p) = proposed();
        let tip = MarkRef { kind: MarkKind::Tip, index: 0 };
        let wall = MarkRef { kind: MarkKind::PosteriorWall, index: 0 };
        p.moved(tip);
        assert_eq!(
            [at(0), tip, wall].map(|at| p.origin(at)),
            [Origin::Proposed, Origin::Moved, Origin::ByHand]
        );
        let (marks, _) = proposed();
        assert_eq!(origins(&marks, &p), [0, 3, 1]);
        p.cleared(MarkKind::Tip);
        assert_eq!(p.origin(tip), Origin::ByHand, "what is placed anew is a person's");
    }
}
