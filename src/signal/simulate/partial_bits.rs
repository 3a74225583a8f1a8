//! What was found to be on or off.

/// What is known to be on or off, by number; the first ones take no memory of their own.
#[derive(Clone)]
pub(in crate::signal) struct PartialBits {
    known: u64,
    on: u64,
    others: Vec<Option<bool>>,
}

impl PartialBits {
    /// Nothing is known.
    pub(in crate::signal) const NONE: Self = Self { known: 0, on: 0, others: Vec::new() };

    /// What is known of one.
    pub(in crate::signal) fn get(&self, index: usize) -> Option<bool> {
        match index.checked_sub(64) {
            None => (self.known >> index & 1 == 1).then_some(self.on >> index & 1 == 1),
            Some(beyond) => self.others.get(beyond).copied().flatten(),
        }
    }

    /// Notes what is found of one.
    pub(in crate::signal) fn set(&mut self, index: usize, on: bool) {
        match index.checked_sub(64) {
            None => {
                self.known |= 1 << index;
                self.on = self.on & !(1 << index) | u64::from(on) << index;
            }
            Some(beyond) => {
                if self.others.len() <= beyond {
                    self.others.resize(beyond + 1, None);
                }
                self.others[beyond] = Some(on);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_flag_stands_alone() {
        let mut flags = PartialBits::NONE;
        for index in [0, 1, 63, 64, 65, 200] {
            assert_eq!(flags.get(index), None, "{index}");
            flags.set(index, index % 2 == 1);
            assert_eq!(flags.get(index), Some(index % 2 == 1), "{index}");
            assert_eq!(flags.get(index + 1), None, "beside {index}");
            flags.set(index, index % 2 == 0);
            assert_eq!(flags.get(index), Some(index % 2 == 0), "{index} again");
        }
        assert_eq!([2, 62, 66, 199, 201].map(|index| flags.get(index)), [None; 5]);
    }
}
