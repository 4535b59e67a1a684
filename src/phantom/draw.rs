//! Seeded draws whose bits do not depend on the machine.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{RngCore, SeedableRng};

/// A stream of draws. Its functions use only exact arithmetic and the software functions of `libm`.
#[derive(Clone, Debug)]
pub struct Draw {
    stream: ChaCha8Rng,
}

impl Draw {
    /// The stream of a seed.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self { stream: ChaCha8Rng::seed_from_u64(seed) }
    }

    /// Uniform on 0 ≤ x < 1, with 53 bits.
    #[expect(clippy::cast_precision_loss, reason = "53 bits fit a double exactly")]
    pub fn unit(&mut self) -> f64 {
        (self.stream.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A seed for another stream.
    pub fn seed(&mut self) -> u64 {
        self.stream.next_u64()
    }

    /// Uniform between two limits.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Normal, by Box and Muller's polar-angle form (*Ann Math Stat* 1958;29:610–611, from memory).
    pub fn normal(&mut self, mean: f64, sd: f64) -> f64 {
        let radius = (-2.0 * libm::log(1.0 - self.unit())).sqrt();
        let angle = std::f64::consts::TAU * self.unit();
        mean + sd * radius * libm::cos(angle)
    }

    /// Normal, drawn again until it lies within `within` standard deviations of its mean.
    pub fn normal_within(&mut self, mean: f64, sd: f64, within: f64) -> f64 {
        loop {
            let x = self.normal(0.0, 1.0);
            if x.abs() <= within {
                return mean + sd * x;
            }
        }
    }

    /// A number of quanta around a mean (Poisson). Few are counted one by one; many are drawn from a normal
    /// distribution with the first correction for skewness (Cornish and Fisher 1938, from memory).
    #[expect(clippy::cast_possible_truncation, reason = "storage as f32")]
    pub fn quanta(&mut self, mean: f32) -> f32 {
        let mean = f64::from(mean);
        if mean < 16.0 {
            let stop = libm::exp(-mean.max(0.0));
            let (mut product, mut count) = (self.unit(), 0.0);
            while product > stop {
                product *= self.unit();
                count += 1.0;
            }
            return count;
        }
        let z = self.normal(0.0, 1.0);
        (mean + z * mean.sqrt() + (z * z - 1.0) / 6.0).round().max(0.0) as f32
    }

    /// Heads or tails.
    pub fn coin(&mut self) -> bool {
        self.unit() < 0.5
    }

    /// +1 or −1.
    pub fn sign(&mut self) -> f64 {
        if self.coin() { 1.0 } else { -1.0 }
    }

    /// One of a list.
    ///
    /// # Panics
    /// If the list is empty.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small number from 0")]
    #[expect(clippy::cast_precision_loss, reason = "lists are short")]
    pub fn one_of<T: Copy>(&mut self, list: &[T]) -> T {
        list[((self.unit() * list.len() as f64) as usize).min(list.len() - 1)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_seed_gives_its_stream() {
        let mut a = Draw::new(7);
        let mut b = Draw::new(7);
        for _ in 0..100 {
            assert_eq!(a.normal(0.0, 1.0).to_bits(), b.normal(0.0, 1.0).to_bits());
        }
        assert_ne!(Draw::new(8).unit().to_bits(), Draw::new(7).unit().to_bits());
    }

    /// Moments of the standard normal and uniform distributions, within five standard errors.
    #[test]
    fn moments_are_those_of_the_distributions() {
        let mut draw = Draw::new(1);
        let n = 20_000;
        let (mut sum, mut squares, mut uniform) = (0.0, 0.0, 0.0);
        for _ in 0..n {
            let x = draw.normal(0.0, 1.0);
            sum += x;
            squares += x * x;
            uniform += draw.between(-1.0, 3.0);
        }
        let n = f64::from(n);
        assert!((sum / n).abs() < 5.0 / n.sqrt());
        assert!((squares / n - 1.0).abs() < 5.0 * (2.0 / n).sqrt());
        assert!((uniform / n - 1.0).abs() < 5.0 * (4.0 / 12.0_f64.sqrt()) / n.sqrt());
    }
}
