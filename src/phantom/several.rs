//! Exponentials, logarithms and cosines of many numbers at a time, each with the bits that `libm` gives it alone.
//!
//! The polynomials and the order of every sum are those of `libm` (FreeBSD's msun, by Sun Microsystems 1993), without its
//! branches, so that compilers make code of it that works on several numbers at once. The few numbers that its other branches
//! are for are handed to `libm` itself.

/// Each number's exponential, for numbers of at most zero.
#[inline(always)]
pub(super) fn exp_all(numbers: &mut [f64]) {
    // Results below this would be too small for all their digits, and next to zero another formula is used.
    let usual = |x: f64| (-700.0..=-4e-9).contains(&x);
    each(numbers, usual, exp, libm::exp);
}

/// Each number's natural logarithm, for numbers from 1e-300 to 1e300.
#[inline(always)]
pub(super) fn log_all(numbers: &mut [f64]) {
    each(numbers, |x| (1e-300..=1e300).contains(&x), log, libm::log);
}

/// Each number's cosine, for numbers from 0 to 2π.
#[inline(always)]
pub(super) fn cos_all(numbers: &mut [f64]) {
    // Near a multiple of a right angle more digits of it are needed.
    let usual = |x: f64| {
        let high = x.to_bits() >> 32;
        let near = [0x3ff9_21fb, 0x4009_21fb, 0x4012_d97c, 0x4019_21fb].contains(&high);
        (1e-7..=6.4).contains(&x) && !near
    };
    each(numbers, usual, cos, libm::cos);
}

/// So many numbers are worked on together: few enough for the nearest cache, and before those are looked for that the other way is
/// for.
pub(super) const PIECE: usize = 64;

#[inline(always)]
fn each(
    numbers: &mut [f64],
    usual: impl Fn(f64) -> bool,
    quick: impl Fn(f64) -> f64,
    alone: impl Fn(f64) -> f64,
) {
    for piece in numbers.chunks_mut(PIECE) {
        let mut given = [0.5; PIECE];
        given[..piece.len()].copy_from_slice(piece);
        let all = piece.iter().fold(true, |all, &x| all & usual(x));
        for x in &mut *piece {
            *x = quick(*x);
        }
        if !all {
            for (x, &given) in piece.iter_mut().zip(&given) {
                if !usual(given) {
                    *x = alone(given);
                }
            }
        }
    }
}

/// Added to a whole number from 0 to below 2⁵², this leaves it in the lower bits.
const WHOLE: f64 = 4_503_599_627_370_496.0;

const LN2_HIGH: f64 = 6.931_471_803_691_238e-1;
const LN2_LOW: f64 = 1.908_214_929_270_587_7e-10;

#[inline(always)]
fn exp(x: f64) -> f64 {
    const P: [f64; 5] = [
        1.666_666_666_666_660_2e-1,
        -2.777_777_777_701_559_3e-3,
        6.613_756_321_437_934e-5,
        -1.653_390_220_546_525_2e-6,
        4.138_136_797_057_238_5e-8,
    ];
    // The highest word of half the logarithm of two.
    let far = x.to_bits() & 0x7fff_ffff_ffff_ffff >= 0x3fd6_2e43_0000_0000;
    let k = if far { (std::f64::consts::LOG2_E * x - 0.5).trunc() } else { 0.0 };
    let (high, low) = (x - k * LN2_HIGH, k * LN2_LOW);
    let x = high - low;
    let xx = x * x;
    let c = x - xx * (P[0] + xx * (P[1] + xx * (P[2] + xx * (P[3] + xx * P[4]))));
    let y = 1.0 + (x * c / (2.0 - c) - low + high);
    // Two to the power k.
    y * f64::from_bits((k + (WHOLE + 1023.0)).to_bits() << 52)
}

#[inline(always)]
fn log(x: f64) -> f64 {
    const L: [f64; 7] = [
        6.666_666_666_666_735e-1,
        3.999_999_999_940_942e-1,
        2.857_142_874_366_239e-1,
        2.222_219_843_214_978_4e-1,
        1.818_357_216_161_805e-1,
        1.531_383_769_920_937_3e-1,
        1.479_819_860_511_658_6e-1,
    ];
    // From √½ to √2, times a power of two.
    const HALF_ROOT: u64 = 0x3fe6_a09e_0000_0000;
    let bits = x.to_bits().wrapping_add(0x3ff0_0000_0000_0000 - HALF_ROOT);
    let k = f64::from_bits(WHOLE.to_bits() | bits >> 52) - (WHOLE + 1023.0);
    let f = f64::from_bits((bits & 0x000f_ffff_ffff_ffff) + HALF_ROOT) - 1.0;
    let half_square = 0.5 * f * f;
    let s = f / (2.0 + f);
    let z = s * s;
    let w = z * z;
    let t1 = w * (L[1] + w * (L[3] + w * L[5]));
    let t2 = z * (L[0] + w * (L[2] + w * (L[4] + w * L[6])));
    let r = t2 + t1;
    s * (half_square + r) + k * LN2_LOW - half_square + f + k * LN2_HIGH
}

#[inline(always)]
fn cos(x: f64) -> f64 {
    // A right angle: its first 33 bits, and the rest.
    const RIGHT: f64 = 1.570_796_326_734_125_6;
    const REST: f64 = 6.077_100_506_506_192e-11;
    const C: [f64; 6] = [
        4.166_666_666_666_66e-2,
        -1.388_888_888_887_411e-3,
        2.480_158_728_947_673e-5,
        -2.755_731_435_139_066_3e-7,
        2.087_572_321_298_175e-9,
        -1.135_964_755_778_819_5e-11,
    ];
    const S: [f64; 6] = [
        -1.666_666_666_666_663_2e-1,
        8.333_333_333_322_49e-3,
        -1.984_126_982_985_795e-4,
        2.755_731_370_707_006_8e-6,
        -2.505_076_025_340_686_3e-8,
        1.589_690_995_211_55e-10,
    ];
    let high = x.to_bits() >> 32;
    // The highest words of odd multiples of half a right angle.
    let beyond = |angle: u64| high > angle;
    let step = |angle: u64| if beyond(angle) { 1.0 } else { 0.0 };
    let n = step(0x3fe9_21fb) + step(0x4002_d97c) + step(0x400f_6a7a) + step(0x4015_fdbc);
    let (angle, rest) = (n * RIGHT, n * REST);
    let whole = x - angle;
    let y = whole - rest;
    let tail = (whole - y) - rest;
    let z = y * y;
    let w = z * z;
    let cosine = {
        let r = z * (C[0] + z * (C[1] + z * C[2])) + w * w * (C[3] + z * (C[4] + z * C[5]));
        let half = 0.5 * z;
        let w = 1.0 - half;
        w + (((1.0 - w) - half) + (z * r - y * tail))
    };
    let sine = {
        let r = S[1] + z * (S[2] + z * S[3]) + z * w * (S[4] + z * S[5]);
        let v = z * y;
        y - ((z * (0.5 * tail - v * r) - tail) - v * S[0])
    };
    let odd = beyond(0x3fe9_21fb) & !beyond(0x4002_d97c) | beyond(0x400f_6a7a) & !beyond(0x4015_fdbc);
    let turned = beyond(0x3fe9_21fb) & !beyond(0x400f_6a7a);
    let value = if odd { sine } else { cosine };
    if turned { -value } else { value }
}

#[cfg(test)]
mod tests {
    use fearless_simd::{Level, dispatch};

    use super::*;
    use crate::phantom::draw::Draw;

    /// The numbers between two limits that a stream draws, those that `near` names, and the next few on both sides of each.
    fn numbers(low: f64, high: f64, near: &[f64]) -> Vec<f64> {
        let mut draw = Draw::new(5);
        let mut all: Vec<f64> = (0..400_000).map(|_| draw.between(low, high)).collect();
        for &x in near {
            let (mut up, mut down) = (x, x);
            for _ in 0..300 {
                all.extend([up, down].into_iter().filter(|x| (low..=high).contains(x)));
                (up, down) = (up.next_up(), down.next_down());
            }
            // Numbers whose highest words are about this one's.
            all.extend(
                (-3000..3000).map(|i| x * (1.0 + f64::from(i) * 1e-9)).filter(|x| (low..=high).contains(x)),
            );
        }
        all
    }

    fn same(numbers: &[f64], all: fn(&mut [f64]), alone: fn(f64) -> f64) {
        for level in [Level::new(), Level::baseline()] {
            let mut found = numbers.to_vec();
            dispatch!(level, _ => all(&mut found));
            for (x, found) in numbers.iter().zip(found) {
                assert_eq!(found.to_bits(), alone(*x).to_bits(), "{x:e}: {found:e} for {:e}", alone(*x));
            }
        }
    }

    #[test]
    fn many_at_a_time_have_the_bits_of_each_alone() {
        let ln2 = std::f64::consts::LN_2;
        let halves: Vec<f64> = (1..40).map(|n| -0.5 * f64::from(n) * ln2).collect();
        let ends = [-0.0, -4e-9, -700.0, -740.0, -3.7e-9];
        same(&numbers(-3.0, 0.0, &[halves.clone(), ends.to_vec()].concat()), exp_all, libm::exp);
        same(&numbers(-760.0, 0.0, &ends), exp_all, libm::exp);
        let roots = [0.5_f64.sqrt(), 1.0, 0.25 * 2.0_f64.sqrt(), 2.0_f64.sqrt(), 1e-16, 5e-324];
        same(&numbers(0.0, 4.0, &roots), log_all, libm::log);
        same(&numbers(1e-16, 1e-3, &roots), log_all, libm::log);
        let eighths: Vec<f64> = (0..9).map(|n| f64::from(n) * 0.25 * std::f64::consts::PI).collect();
        same(&numbers(0.0, std::f64::consts::TAU, &eighths), cos_all, libm::cos);
        same(&numbers(0.0, 1e-6, &[1e-7]), cos_all, libm::cos);
    }
}
