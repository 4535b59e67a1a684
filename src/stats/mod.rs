//! Pure functions over numbers; each cites its source.
//!
//! Reading order: [`normal`], [`summary`], [`quantile`] and [`noncentral_t`] are the ground; [`agreement`] compares
//! two series of readings; [`anova`] splits the variance of a table of subjects and raters, from which [`icc`] and
//! [`repeatability`] follow; [`proportion`] and [`cusum`] are about outcomes; [`density`] is about places.

pub mod agreement;
pub mod anova;
pub mod cusum;
pub mod density;
pub mod icc;
pub mod noncentral_t;
pub mod normal;
pub mod proportion;
pub mod quantile;
pub mod repeatability;
pub mod summary;
