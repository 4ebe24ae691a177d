//! Drift of a thermometer: control charts of check standards, and when the next check is due.

mod chart;
mod rules;
mod schedule;

pub use chart::{
    Alarm, ChartError, ChartLimits, ChartOptions, ChartPoint, ControlChart, MovingRangeChart,
    WeightedAverageChart, control_chart,
};
pub use rules::{ChartRule, chart_rules};
pub use schedule::{Schedule, schedule};
