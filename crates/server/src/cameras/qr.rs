//! An address as a picture that phones read.

use qrcode::render::svg;
use qrcode::{EcLevel, QrCode};

/// The address as an SVG, black on white with its quiet zone; empty when it is too long for one.
pub(crate) fn svg(address: &str) -> String {
    QrCode::with_error_correction_level(address, EcLevel::M).map_or_else(
        |_| String::new(),
        |code| {
            code.render::<svg::Color<'_>>()
                .min_dimensions(240, 240)
                .quiet_zone(true)
                .build()
        },
    )
}
