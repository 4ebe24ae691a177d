//! A linear axis: from a span of values to positions on the drawing, with round ticks.

/// Values along one side of a chart.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Axis {
    /// Value at `start_px`.
    pub least: f64,
    /// Value at `end_px`.
    pub most: f64,
    /// Position of `least` on the drawing.
    pub start_px: f64,
    /// Position of `most` on the drawing; smaller than `start_px` for an axis that points up.
    pub end_px: f64,
}

impl Axis {
    /// Position of a value on the drawing.
    pub fn px(&self, value: f64) -> f64 {
        let share = (value - self.least) / (self.most - self.least);
        self.start_px + share * (self.end_px - self.start_px)
    }

    /// Whether the value lies on the axis.
    pub fn holds(&self, value: f64) -> bool {
        value >= self.least && value <= self.most
    }

    /// Round values on the axis, about `wanted` of them, and the decimals that they need.
    ///
    /// Steps are 1, 2 or 5 times a power of ten.
    pub fn ticks(&self, wanted: usize) -> (Vec<f64>, usize) {
        let rough = (self.most - self.least) / wanted.max(1) as f64;
        if !rough.is_finite() || rough <= 0.0 {
            return (Vec::new(), 0);
        }
        let power = 10_f64.powf(rough.log10().floor());
        let step = [1.0, 2.0, 5.0, 10.0]
            .into_iter()
            .map(|factor| factor * power)
            .find(|step| *step >= rough * 0.999)
            .unwrap_or(10.0 * power);
        let decimals = (-step.log10().floor()).max(0.0) as usize;
        let first = (self.least / step - 1e-9).ceil();
        let ticks = (0..)
            .map(|index| (first + f64::from(index)) * step)
            .take_while(|value| *value <= self.most + 1e-9 * step)
            .collect();
        (ticks, decimals)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_inside() {
        let axis = Axis {
            least: 112.83,
            most: 114.9,
            start_px: 0.0,
            end_px: 100.0,
        };
        let (ticks, decimals) = axis.ticks(5);
        assert_eq!(decimals, 1);
        let texts: Vec<String> = ticks.iter().map(|tick| format!("{tick:.1}")).collect();
        assert_eq!(texts, ["113.0", "113.5", "114.0", "114.5"]);
    }

    #[test]
    fn an_axis_without_width_has_no_ticks() {
        let axis = Axis {
            least: 20.0,
            most: 20.0,
            start_px: 0.0,
            end_px: 100.0,
        };
        assert!(axis.ticks(5).0.is_empty());
    }
}
