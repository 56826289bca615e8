//! Sets of numbers that grow together (union-find; R. E. Tarjan, "Efficiency of a good but not linear set union
//! algorithm", J. ACM 22(2), 1975), ways halved as they are gone. The least number leads, so
//! questions take O(log n) each on the average at worst.

/// Disjoint sets of the numbers from 0 on. Each is known by its least number.
#[derive(Clone, Debug)]
pub struct Sets {
    parents: Vec<u32>,
}

impl Sets {
    /// The numbers below `count`, each in a set of its own.
    pub fn new(count: usize) -> Sets {
        Sets { parents: (0..count as u32).collect() }
    }

    /// The least number of the set that `number` is in; itself where it is in none.
    pub fn find(&mut self, number: usize) -> usize {
        let mut number = number as u32;
        while let Some(&parent) = self.parents.get(number as usize).filter(|parent| **parent != number) {
            let above = self.parents[parent as usize];
            self.parents[number as usize] = above;
            number = above;
        }
        number as usize
    }

    /// Makes the sets of two numbers one; whether they were apart.
    pub fn join(&mut self, a: usize, b: usize) -> bool {
        let (a, b) = (self.find(a), self.find(b));
        if let Some(parent) = self.parents.get_mut(a.max(b)) {
            *parent = a.min(b) as u32;
        }
        a != b
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_joined_is_one_set_known_by_its_least_number() {
        let mut sets = Sets::new(8);
        assert!(sets.join(7, 3) && sets.join(5, 7) && !sets.join(3, 5));
        assert_eq!((0..8).map(|i| sets.find(i)).collect::<Vec<_>>(), [0, 1, 2, 3, 4, 3, 6, 3]);
        assert_eq!(sets.find(9), 9);
    }
}
