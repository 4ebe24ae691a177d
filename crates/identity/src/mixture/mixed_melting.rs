//! The mixed melting point: sample, reference and their mixture side by side, and what it says.

use serde::Serialize;

/// Ranges of the three tubes of one load [°C].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThreeTubes {
    /// First liquid and last crystal of the sample.
    pub sample_c: [f64; 2],
    /// Of the reference.
    pub reference_c: [f64; 2],
    /// Of the two ground together, about 1:1.
    pub mixture_c: [f64; 2],
    /// Standard uncertainty of a difference between two tubes of one load [°C].
    pub standard_uncertainty_c: f64,
}

/// What it says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub enum MixedVerdict {
    /// Depressed and broadened.
    Different,
    /// Sample and reference do not melt alike by themselves.
    MeltApart,
    /// Not depressed, not broadened.
    ConsistentWithSame,
    /// Something between.
    CannotTell,
}

/// The result, with its strength in words.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct MixedMelting {
    /// What it says.
    pub verdict: MixedVerdict,
    /// How far the mixture's first liquid lies below the lower of the two [°C].
    pub first_liquid_lower_by_c: f64,
    /// How far its last crystal does [°C].
    pub last_crystal_lower_by_c: f64,
    /// How much broader it is than the broader of the two [°C].
    pub broader_by_c: f64,
    /// In a sentence, with how much it proves.
    pub words: String,
}

/// Why three tubes say nothing.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum MixedMeltingError {
    /// A range is none.
    #[error(
        "the range of the {tube} is {first_c} to {last_c} °C; expected the first liquid, then the last crystal, both numbers"
    )]
    Range {
        /// Which tube.
        tube: &'static str,
        /// First liquid.
        first_c: f64,
        /// Last crystal.
        last_c: f64,
    },
    /// An uncertainty that is none.
    #[error("the uncertainty is {0} °C; expected above 0 and 5 °C at most")]
    Uncertainty(f64),
}

/// A difference is seen when it is so many standard uncertainties, and never below the other number [°C]: two runs that agree may differ by 0.5.
const SEEN_TIMES: f64 = 2.0;
const SEEN_C: f64 = 0.5;

impl ThreeTubes {
    /// Judge them.
    ///
    /// # Errors
    /// [`MixedMeltingError`] for ranges or an uncertainty that are none.
    ///
    /// # Source
    /// Depression disproves identity, no depression supports it without proving it: common practice, and pairs that form mixed
    /// crystals, such as naphthalene with 2-naphthol (J. Chim. Phys. 95 (1998) 2199).
    pub fn judge(&self) -> Result<MixedMelting, MixedMeltingError> {
        let tubes = [
            ("sample", self.sample_c),
            ("reference", self.reference_c),
            ("mixture", self.mixture_c),
        ];
        for (tube, [first_c, last_c]) in tubes {
            if !(first_c.is_finite() && last_c.is_finite() && first_c <= last_c) {
                return Err(MixedMeltingError::Range {
                    tube,
                    first_c,
                    last_c,
                });
            }
        }
        let u_c = self.standard_uncertainty_c;
        if !(u_c > 0.0 && u_c <= 5.0) {
            return Err(MixedMeltingError::Uncertainty(u_c));
        }
        let seen_c = (SEEN_TIMES * u_c).max(SEEN_C);
        let width = |[first_c, last_c]: [f64; 2]| last_c - first_c;
        let lower = |at: usize| self.sample_c[at].min(self.reference_c[at]) - self.mixture_c[at];
        let [first_c, last_c] = [lower(0), lower(1)];
        let broader_c = width(self.mixture_c) - width(self.sample_c).max(width(self.reference_c));
        let apart_c = (self.sample_c[1] - self.reference_c[1]).abs();
        let (verdict, words) = if first_c > 2.0 * seen_c && (broader_c > seen_c || last_c > seen_c)
        {
            (
                MixedVerdict::Different,
                format!(
                    "depressed and broadened: different. The mixture begins {first_c:.1} °C lower and melts {broader_c:.1} °C more broadly than either alone; that disproves that they are the same, if the mixture was dry and well ground"
                ),
            )
        } else if apart_c > 2.0 * seen_c {
            (
                MixedVerdict::MeltApart,
                format!(
                    "sample and reference end {apart_c:.1} °C apart by themselves, and the mixture is not clearly depressed: purify the sample, or look for mixed crystals, before anything is said"
                ),
            )
        } else if first_c <= seen_c && last_c <= seen_c && broader_c <= seen_c {
            (
                MixedVerdict::ConsistentWithSame,
                "not depressed: consistent with the same, not proof. Some different pairs form mixed crystals and do not depress each other; a second, independent test makes it sure"
                    .to_owned(),
            )
        } else {
            (
                MixedVerdict::CannotTell,
                format!(
                    "cannot tell: the mixture begins {first_c:.1} °C lower, ends {last_c:.1} °C lower and melts {broader_c:.1} °C more broadly, within what grinding and reading do. Grind it again, and try 1:4 and 4:1"
                ),
            )
        };
        Ok(MixedMelting {
            verdict,
            first_liquid_lower_by_c: first_c,
            last_crystal_lower_by_c: last_c,
            broader_by_c: broader_c,
            words,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tubes(mixture_c: [f64; 2]) -> ThreeTubes {
        ThreeTubes {
            sample_c: [132.4, 133.2],
            reference_c: [132.8, 133.6],
            mixture_c,
            standard_uncertainty_c: 0.2,
        }
    }

    /// Urea with trans-cinnamic acid, 1:1: begins near 94 to 98 °C (student reports, unreviewed), far below either.
    #[test]
    fn strengths_in_words() {
        let judged = |mixture_c| tubes(mixture_c).judge().expect("sound");
        let different = judged([95.0, 118.0]);
        assert_eq!(different.verdict, MixedVerdict::Different);
        assert!(
            different
                .words
                .contains("depressed and broadened: different")
        );
        let same = judged([132.5, 133.3]);
        assert_eq!(same.verdict, MixedVerdict::ConsistentWithSame);
        assert!(same.words.contains("not proof"));
        assert_eq!(judged([131.7, 133.0]).verdict, MixedVerdict::CannotTell);
        let apart = ThreeTubes {
            reference_c: [140.0, 141.0],
            ..tubes([132.5, 138.0])
        };
        assert_ne!(
            apart.judge().expect("sound").verdict,
            MixedVerdict::ConsistentWithSame
        );
        assert!(tubes([130.0, f64::NAN]).judge().is_err());
        assert!(tubes([130.0, 129.0]).judge().is_err());
    }
}
