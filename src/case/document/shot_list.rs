//! The shots of a case. A copy of the list shares its shots with the original until one of them is changed, so that a step
//! back, unsaved work kept aside and work elsewhere cost a case of many shots next to nothing.

use std::ops::{Index, IndexMut};
use std::sync::Arc;

use crate::case::document::shot::Shot;

/// Shots in their order.
#[derive(Clone, Debug, Default)]
pub struct ShotList(Vec<Arc<Shot>>);

/// Goes through the shots of a list.
pub type Shots<'a> = std::iter::Map<std::slice::Iter<'a, Arc<Shot>>, fn(&'a Arc<Shot>) -> &'a Shot>;

impl ShotList {
    /// How many there are.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether there is none.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The shots in their order.
    pub fn iter(&self) -> Shots<'_> {
        self.0.iter().map(|shot| &**shot)
    }

    /// The same, to be changed: each is a shot of this list alone from then on.
    pub fn iter_mut(&mut self) -> impl Iterator<Item = &mut Shot> {
        self.0.iter_mut().map(Arc::make_mut)
    }

    /// The shot at a place, from 0.
    #[must_use]
    pub fn get(&self, index: usize) -> Option<&Shot> {
        self.0.get(index).map(|shot| &**shot)
    }

    /// The same, to be changed.
    pub fn get_mut(&mut self, index: usize) -> Option<&mut Shot> {
        self.0.get_mut(index).map(Arc::make_mut)
    }

    /// The first shot.
    #[must_use]
    pub fn first(&self) -> Option<&Shot> {
        self.get(0)
    }

    /// The last shot.
    #[must_use]
    pub fn last(&self) -> Option<&Shot> {
        self.0.last().map(|shot| &**shot)
    }

    /// The same, to be changed.
    pub fn last_mut(&mut self) -> Option<&mut Shot> {
        self.0.last_mut().map(Arc::make_mut)
    }

    /// Puts a shot at the end.
    pub fn push(&mut self, shot: Shot) {
        self.0.push(Arc::new(shot));
    }

    /// Puts a shot at a place.
    ///
    /// # Panics
    /// Where the place is farther than the end, as [`Vec::insert`].
    pub fn insert(&mut self, index: usize, shot: Shot) {
        self.0.insert(index, Arc::new(shot));
    }

    /// Takes a shot out.
    ///
    /// # Panics
    /// Where there is no shot at that place, as [`Vec::remove`].
    pub fn remove(&mut self, index: usize) -> Shot {
        Arc::unwrap_or_clone(self.0.remove(index))
    }

    /// Takes the last shot out.
    pub fn pop(&mut self) -> Option<Shot> {
        self.0.pop().map(Arc::unwrap_or_clone)
    }

    /// Takes all shots out.
    pub fn clear(&mut self) {
        self.0.clear();
    }

    /// Leaves only the first ones, so many.
    pub fn truncate(&mut self, len: usize) {
        self.0.truncate(len);
    }

    /// Leaves only shots for which `stays` holds.
    pub fn retain(&mut self, mut stays: impl FnMut(&Shot) -> bool) {
        self.0.retain(|shot| stays(shot));
    }

    /// Turns the order round.
    pub fn reverse(&mut self) {
        self.0.reverse();
    }

    /// Exchanges two shots.
    ///
    /// # Panics
    /// Where there is no shot at one of the places.
    pub fn swap(&mut self, a: usize, b: usize) {
        self.0.swap(a, b);
    }
}

/// Shots that two lists share are equal without being looked at.
impl PartialEq for ShotList {
    fn eq(&self, other: &Self) -> bool {
        let same = |(a, b): (&Arc<Shot>, &Arc<Shot>)| Arc::ptr_eq(a, b) || a == b;
        self.len() == other.len() && self.0.iter().zip(&other.0).all(same)
    }
}

impl Index<usize> for ShotList {
    type Output = Shot;

    fn index(&self, index: usize) -> &Shot {
        &self.0[index]
    }
}

impl IndexMut<usize> for ShotList {
    fn index_mut(&mut self, index: usize) -> &mut Shot {
        Arc::make_mut(&mut self.0[index])
    }
}

impl From<Vec<Shot>> for ShotList {
    fn from(shots: Vec<Shot>) -> Self {
        shots.into_iter().collect()
    }
}

impl FromIterator<Shot> for ShotList {
    fn from_iter<T: IntoIterator<Item = Shot>>(shots: T) -> Self {
        Self(shots.into_iter().map(Arc::new).collect())
    }
}

impl Extend<Shot> for ShotList {
    fn extend<T: IntoIterator<Item = Shot>>(&mut self, shots: T) {
        self.0.extend(shots.into_iter().map(Arc::new));
    }
}

impl<'a> IntoIterator for &'a ShotList {
    type Item = &'a Shot;
    type IntoIter = Shots<'a>;

    fn into_iter(self) -> Shots<'a> {
        self.iter()
    }
}

impl<'a> IntoIterator for &'a mut ShotList {
    type Item = &'a mut Shot;
    type IntoIter = std::iter::Map<std::slice::IterMut<'a, Arc<Shot>>, fn(&'a mut Arc<Shot>) -> &'a mut Shot>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.iter_mut().map(Arc::make_mut)
    }
}

impl IntoIterator for ShotList {
    type Item = Shot;
    type IntoIter = std::iter::Map<std::vec::IntoIter<Arc<Shot>>, fn(Arc<Shot>) -> Shot>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter().map(Arc::unwrap_or_clone)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::View;

    fn list() -> ShotList {
        ["a", "b", "c"].into_iter().map(|id| Shot::new(id, "a.png", View::Lateral)).collect()
    }

    #[test]
    fn a_copy_shares_all_shots_but_those_that_are_changed() {
        let before = list();
        let mut after = before.clone();
        assert!(before == after);
        after[1].draft = true;
        let shared: Vec<bool> = before.0.iter().zip(&after.0).map(|(a, b)| Arc::ptr_eq(a, b)).collect();
        assert_eq!(shared, [true, false, true]);
        assert!(before != after && !before[1].draft && after[1].draft);
        after[1].draft = false;
        assert!(before == after, "equal though not shared");
    }

    #[test]
    fn it_is_changed_like_any_list() {
        let mut shots = list();
        let b = shots.remove(1);
        shots.insert(0, b);
        shots.push(Shot::new("d", "a.png", View::Ap));
        let ids: Vec<&str> = shots.iter().map(|shot| shot.id.as_str()).collect();
        assert_eq!(ids, ["b", "a", "c", "d"]);
        shots.retain(|shot| shot.view == View::Lateral);
        assert_eq!((shots.len(), shots.last().map(|shot| shot.id.as_str())), (3, Some("c")));
    }
}
