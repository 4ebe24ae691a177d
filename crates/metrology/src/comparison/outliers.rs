//! Readers who stand out at a level: by their scatter (Cochran), or by their mean (Grubbs, one or two).

use super::critical::{CriticalValues, cochran_critical, grubbs_one_critical, grubbs_two_critical};
use super::mandel::{usual_n, variances};
use super::precision::{ROUNDING, largest};
use super::study::{Cell, ReaderStudy};
use serde::{Deserialize, Serialize};

/// A test for readers who stand out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum StudyTest {
    /// The largest variance over the sum of all.
    Cochran,
    /// The largest or smallest mean: its deviation over the standard deviation of the means.
    GrubbsOne,
    /// The two largest or smallest means: the sum of squares without them over that of all.
    GrubbsTwo,
}

/// How sure it is that it is no chance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum StudyVerdict {
    /// Beyond the critical value at 5 %, not at 1 %.
    Straggler,
    /// Beyond the critical value at 1 %.
    Outlier,
}

/// A reader, or two, who stand out at a level.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct StudyOutlier {
    /// By which test.
    pub test: StudyTest,
    /// At which level.
    pub level: String,
    /// Who.
    pub readers: Vec<String>,
    /// What the test found.
    pub statistic: f64,
    /// Critical value at 5 %.
    pub five_percent: f64,
    /// Critical value at 1 %.
    pub one_percent: f64,
    /// How sure.
    pub verdict: StudyVerdict,
}

/// Which side a statistic has to lie on to be beyond its critical value.
#[derive(Clone, Copy, PartialEq)]
enum Beyond {
    Above,
    Below,
}

/// All who stand out at a level: Cochran once, then Grubbs for one at either end (the further first; when that is an
/// outlier, the other end without it), and for two only when one was no outlier.
///
/// # Source
/// ISO 5725-2:1994, 7.3.3 and 7.3.4.
pub(super) fn at_level(study: &ReaderStudy, level: usize) -> Vec<StudyOutlier> {
    let cells = study.at_level(level);
    let look = Look {
        study,
        level: &study.levels()[level],
    };
    let mut found: Vec<StudyOutlier> = look.cochran(&cells).into_iter().collect();
    let mut means: Vec<(usize, f64)> = cells
        .iter()
        .enumerate()
        .filter_map(|(reader, cell)| cell.map(|cell| (reader, cell.mean_c)))
        .collect();
    means.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
    let single = look.grubbs_one(&means);
    let any_outlier = single
        .iter()
        .any(|one| one.verdict == StudyVerdict::Outlier);
    found.extend(single);
    if !any_outlier {
        found.extend(look.grubbs_two(&means));
    }
    found
}

/// A level under the tests.
struct Look<'a> {
    study: &'a ReaderStudy,
    level: &'a str,
}

impl Look<'_> {
    fn cochran(&self, cells: &[Option<Cell>]) -> Option<StudyOutlier> {
        let (p, sum) = variances(cells);
        let (reader, largest) = cells
            .iter()
            .enumerate()
            .filter_map(|(reader, cell)| Some((reader, cell.as_ref()?.variance()?)))
            .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))?;
        let n = usual_n(cells);
        let critical = CriticalValues::of(|significance| cochran_critical(p, n, significance));
        let statistic = largest / sum;
        self.judge(
            StudyTest::Cochran,
            &[reader],
            statistic,
            critical,
            Beyond::Above,
        )
    }

    /// Of means in rising order.
    fn grubbs_one(&self, means: &[(usize, f64)]) -> Vec<StudyOutlier> {
        let mut left = means;
        let mut found = Vec::new();
        let Some((mut high, mut one)) = self.further_end(left, None) else {
            return found;
        };
        loop {
            let outlier = one
                .as_ref()
                .is_some_and(|one| one.verdict == StudyVerdict::Outlier);
            found.extend(one);
            if found.len() > 1 || !outlier {
                return found;
            }
            left = if high {
                &left[..left.len() - 1]
            } else {
                &left[1..]
            };
            match self.further_end(left, Some(!high)) {
                Some((other, next)) => (high, one) = (other, next),
                None => return found,
            }
        }
    }

    /// Test the end that lies further from the mean, or the one asked for: `true` is the high one.
    fn further_end(
        &self,
        means: &[(usize, f64)],
        asked: Option<bool>,
    ) -> Option<(bool, Option<StudyOutlier>)> {
        let (low, high) = (means.first()?, means.last()?);
        let squares = squares_about_mean(means);
        let p = means.len();
        let mean = means.iter().map(|mean| mean.1).sum::<f64>() / p as f64;
        let at_high = asked.unwrap_or(high.1 - mean >= mean - low.1);
        let end = if at_high { high } else { low };
        let statistic = (end.1 - mean).abs() / (squares / (p as f64 - 1.0)).sqrt();
        let critical = CriticalValues::of(|significance| grubbs_one_critical(p, significance));
        let judged = self.judge(
            StudyTest::GrubbsOne,
            &[end.0],
            statistic,
            critical,
            Beyond::Above,
        );
        Some((at_high, judged))
    }

    /// Of means in rising order.
    fn grubbs_two(&self, means: &[(usize, f64)]) -> Option<StudyOutlier> {
        let p = means.len();
        let critical = grubbs_two_critical(p);
        critical.five_percent?;
        let all = squares_about_mean(means);
        let (low, high) = (&means[..2], &means[p - 2..]);
        let without_low = squares_about_mean(&means[2..]) / all;
        let without_high = squares_about_mean(&means[..p - 2]) / all;
        let (pair, statistic) = if without_high <= without_low {
            (high, without_high)
        } else {
            (low, without_low)
        };
        let readers = [pair[0].0, pair[1].0];
        self.judge(
            StudyTest::GrubbsTwo,
            &readers,
            statistic,
            critical,
            Beyond::Below,
        )
    }

    fn judge(
        &self,
        test: StudyTest,
        readers: &[usize],
        statistic: f64,
        critical: CriticalValues,
        beyond: Beyond,
    ) -> Option<StudyOutlier> {
        let (five_percent, one_percent) = critical.five_percent.zip(critical.one_percent)?;
        let is_beyond = |critical: f64| match beyond {
            Beyond::Above => statistic > critical + ROUNDING,
            Beyond::Below => statistic < critical - ROUNDING,
        };
        // Of values without any scatter the statistic is no number, and nobody stands out.
        if !statistic.is_finite() || !is_beyond(five_percent) {
            return None;
        }
        Some(StudyOutlier {
            test,
            level: self.level.to_owned(),
            readers: readers
                .iter()
                .map(|&reader| self.study.readers()[reader].clone())
                .collect(),
            statistic,
            five_percent,
            one_percent,
            verdict: if is_beyond(one_percent) {
                StudyVerdict::Outlier
            } else {
                StudyVerdict::Straggler
            },
        })
    }
}

/// Sum of squares of means about their mean; 0 when they differ by rounding only.
fn squares_about_mean(means: &[(usize, f64)]) -> f64 {
    let mean = means.iter().map(|mean| mean.1).sum::<f64>() / means.len() as f64;
    let rounding = ROUNDING * largest(means.iter().map(|mean| mean.1));
    means
        .iter()
        .map(|value| value.1 - mean)
        .filter(|deviation| deviation.abs() > rounding)
        .map(|deviation| deviation * deviation)
        .sum()
}
