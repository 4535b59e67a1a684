//! Seeded draws whose bits do not depend on the machine.

use fearless_simd::{Level, dispatch};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{RngCore, SeedableRng};

use crate::phantom::several::{PIECE, cos_all, log_all};

/// From this mean on quanta are not counted one by one.
const MANY_QUANTA: f64 = 16.0;

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
        if mean < MANY_QUANTA {
            return self.few_quanta(mean);
        }
        many_quanta(mean, self.normal(0.0, 1.0)) as f32
    }

    fn few_quanta(&mut self, mean: f64) -> f32 {
        let stop = libm::exp(-mean.max(0.0));
        let (mut product, mut count) = (self.unit(), 0.0);
        while product > stop {
            product *= self.unit();
            count += 1.0;
        }
        count
    }

    /// A number of quanta around each of these means in its place, as [`Draw::quanta`] draws them one after another.
    pub fn quanta_of_all(&mut self, means: &mut [f32]) {
        let processor = Level::new();
        for piece in means.chunks_mut(PIECE) {
            let mut polar = Polar::default();
            let mut few = [0.0; PIECE];
            for (n, &mean) in piece.iter().enumerate() {
                let mean = f64::from(mean);
                if mean < MANY_QUANTA {
                    few[n] = self.few_quanta(mean);
                } else {
                    polar.draw(self, n);
                }
            }
            dispatch!(processor, _ => polar.quanta(piece, &few));
        }
    }

    /// Adds a normal draw with mean 0 to each number, as [`Draw::normal`] draws them one after another.
    pub fn add_normal(&mut self, sd: f64, to: &mut [f32]) {
        let processor = Level::new();
        for piece in to.chunks_mut(PIECE) {
            let mut polar = Polar::default();
            (0..piece.len()).for_each(|n| polar.draw(self, n));
            dispatch!(processor, _ => polar.add_normal(sd, piece));
        }
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

/// A number of quanta around a large mean, from a normal draw with mean 0 and standard deviation 1.
#[inline(always)]
fn many_quanta(mean: f64, z: f64) -> f64 {
    (mean + z * mean.sqrt() + (z * z - 1.0) / 6.0).round().max(0.0)
}

/// What normal draws are made of: first two uniform draws of each, then its radius and the cosine of its angle.
struct Polar {
    radii: [f64; PIECE],
    cosines: [f64; PIECE],
}

impl Default for Polar {
    fn default() -> Self {
        Self { radii: [0.5; PIECE], cosines: [0.5; PIECE] }
    }
}

impl Polar {
    fn draw(&mut self, draw: &mut Draw, n: usize) {
        self.radii[n] = draw.unit();
        self.cosines[n] = draw.unit();
    }

    /// Works out radii and cosines.
    #[inline(always)]
    fn work_out(&mut self) {
        self.radii.iter_mut().for_each(|u| *u = 1.0 - *u);
        log_all(&mut self.radii);
        self.radii.iter_mut().for_each(|log| *log = (-2.0 * *log).sqrt());
        self.cosines.iter_mut().for_each(|u| *u *= std::f64::consts::TAU);
        cos_all(&mut self.cosines);
    }

    /// The normal draws with mean 0 and this standard deviation.
    #[inline(always)]
    fn normal(&self, sd: f64) -> impl Iterator<Item = f64> {
        self.radii.iter().zip(&self.cosines).map(move |(radius, cosine)| 0.0 + sd * radius * cosine)
    }

    #[inline(always)]
    #[expect(clippy::cast_possible_truncation, reason = "storage as f32")]
    fn add_normal(mut self, sd: f64, to: &mut [f32]) {
        self.work_out();
        to.iter_mut().zip(self.normal(sd)).for_each(|(value, z)| *value += z as f32);
    }

    #[inline(always)]
    #[expect(clippy::cast_possible_truncation, reason = "storage as f32")]
    fn quanta(mut self, means: &mut [f32], few: &[f32; PIECE]) {
        self.work_out();
        for ((value, &few), z) in means.iter_mut().zip(few).zip(self.normal(1.0)) {
            let mean = f64::from(*value);
            *value = if mean < MANY_QUANTA { few } else { many_quanta(mean, z) as f32 };
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    #[expect(clippy::cast_possible_truncation, reason = "storage as f32")]
    fn many_draws_have_the_bits_of_each_alone() {
        let means: Vec<f32> =
            (0..5000_u16).map(|n| f32::from(n.wrapping_mul(7919) % 601) * 0.4 - 2.0).collect();
        let (mut one, mut all) = (Draw::new(3), Draw::new(3));
        let mut quanta = means.clone();
        all.quanta_of_all(&mut quanta);
        for (mean, quanta) in means.iter().zip(&quanta) {
            assert_eq!(one.quanta(*mean).to_bits(), quanta.to_bits(), "{mean}");
        }
        let mut sums = means.clone();
        all.add_normal(7.3, &mut sums);
        for (value, sum) in means.iter().zip(&sums) {
            assert_eq!((value + one.normal(0.0, 7.3) as f32).to_bits(), sum.to_bits(), "{value}");
        }
    }

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
