//! Temporary.
use meltrange_physics::{LogPoint, TemperatureLog};
pub(crate) trait At { fn at(&self, t: f64) -> Option<LogPoint>; }
impl At for TemperatureLog {
    fn at(&self, t: f64) -> Option<LogPoint> {
        let s=self.samples(); let (a,b)=self.span_s(); if t<a||t>b {return None}
        let v:Vec<_>=s.iter().filter(|x|(x.time_s-t).abs()<10.0).collect();
        let n=v.len() as f64; let (mut st,mut sy,mut stt,mut sty)=(0.,0.,0.,0.);
        for x in &v {let d=x.time_s-t; st+=d;sy+=x.temperature_c;stt+=d*d;sty+=d*x.temperature_c;}
        let det=n*stt-st*st; let b1=if det>0.{(n*sty-st*sy)/det}else{0.};
        Some(LogPoint{temperature_c:(sy-b1*st)/n,standard_uncertainty_c:0.02,rate_c_per_s:b1})
    }
}
