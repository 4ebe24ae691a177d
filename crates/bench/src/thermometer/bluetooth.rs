//! Temperatures in characteristics of Bluetooth Low Energy.
//!
//! Temperature (0x2A6E) and Temperature Measurement (0x2A1C): Bluetooth SIG, GATT Specification
//! Supplement. The FLOAT in the latter: ISO/IEEE 11073-20601, 32 bits, an exponent of 8 and a mantissa of
//! 24 bits to the base 10. Octets are sent with the least significant first.

use crate::bench_file::BluetoothCharacteristic;
use crate::pattern::celsius_from_fahrenheit;

/// The temperature in a value of a characteristic [°C].
///
/// # Errors
/// What was found and what was expected, in words.
pub(crate) fn temperature(
    characteristic: BluetoothCharacteristic,
    value: &[u8],
) -> Result<f64, String> {
    match characteristic {
        BluetoothCharacteristic::Temperature => environmental(value),
        BluetoothCharacteristic::TemperatureMeasurement => measurement(value),
    }
}

/// Temperature: sint16 in 0.01 °C; 0x8000 for "not known".
fn environmental(value: &[u8]) -> Result<f64, String> {
    let &[low, high] = value else {
        return Err(format!("{}; expected 2 octets", octets(value)));
    };
    match i16::from_le_bytes([low, high]) {
        i16::MIN => Err("0x8000, value not known; expected a temperature".into()),
        hundredths => Ok(f64::from(hundredths) / 100.0),
    }
}

/// Temperature Measurement: flags (bit 0: Fahrenheit), FLOAT, then a time stamp (bit 1) and a type (bit 2).
fn measurement(value: &[u8]) -> Result<f64, String> {
    let &[flags, a, b, c, d, ref rest @ ..] = value else {
        return Err(format!("{}; expected at least 5 octets", octets(value)));
    };
    let expected = if flags & 0b010 == 0 { 0 } else { 7 } + usize::from(flags & 0b100 != 0);
    if rest.len() < expected {
        return Err(format!(
            "{}; expected {} octets by its flags",
            octets(value),
            5 + expected
        ));
    }
    let number = float(u32::from_le_bytes([a, b, c, d]))?;
    Ok(if flags & 1 == 0 {
        number
    } else {
        celsius_from_fahrenheit(number)
    })
}

/// FLOAT of ISO/IEEE 11073-20601.
fn float(bits: u32) -> Result<f64, String> {
    let special = match bits & 0x00FF_FFFF {
        0x007F_FFFF => Some("NaN"),
        0x0080_0000 => Some("NRes, not at this resolution"),
        0x007F_FFFE => Some("+INFINITY"),
        0x0080_0002 => Some("-INFINITY"),
        0x0080_0001 => Some("a reserved value"),
        _ => None,
    };
    if let Some(special) = special {
        return Err(format!("{special}; expected a temperature"));
    }
    // Both parts are signed; the shift back brings the mantissa's sign along.
    let mantissa = (bits << 8).cast_signed() >> 8;
    let [.., exponent] = bits.to_le_bytes();
    let exponent = i32::from(exponent.cast_signed());
    let mantissa = f64::from(mantissa);
    // Dividing by a power of ten rounds once, multiplying by its inverse twice.
    Ok(if exponent < 0 {
        mantissa / 10f64.powi(-exponent)
    } else {
        mantissa * 10f64.powi(exponent)
    })
}

fn octets(value: &[u8]) -> String {
    if value.is_empty() {
        return "nothing".into();
    }
    let printed: Vec<String> = value.iter().map(|octet| format!("{octet:02X}")).collect();
    printed.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use BluetoothCharacteristic::{Temperature, TemperatureMeasurement};
    use proptest::prelude::*;

    /// HL7 International, Personal Health Device implementation guide, page "Mder FLOATs and SFLOATs"
    /// (repository HL7/phd, read 2026-11-25): its table of FLOAT values.
    #[test]
    fn floats_of_the_hl7_guide() {
        for (bits, number) in [
            (0x0000_0002, 2.0),
            (0xFF00_0014, 2.0),
            (0xFE00_00C8, 2.0),
            (0x0100_0002, 20.0),
            (0x0200_0002, 200.0),
            (0x0000_00C8, 200.0),
            (0x0000_04D2, 1234.0),
            (0x00FF_FB2E, -1234.0),
        ] {
            assert_eq!(float(bits), Ok(number), "{bits:08X}");
        }
    }

    /// The same page: special values.
    #[test]
    fn special_values_are_no_temperatures() {
        for (bits, name) in [
            (0x007F_FFFF, "NaN"),
            (0x007F_FFFE, "+INF"),
            (0x0080_0002, "-INF"),
            (0x0080_0000, "NRes"),
            (0x0080_0001, "reserved"),
        ] {
            let error = float(bits).expect_err(name);
            assert!(error.contains(name), "{error}");
        }
    }

    /// Bluetooth SIG's words on 0x2A6E: degrees Celsius, M = 1, d = -2, b = 0; -273.15 to 327.67; 0x8000
    /// for a value that is not known.
    #[test]
    fn ends_of_the_environmental_range() {
        for (value, celsius) in [
            (0x7FFF_u16, 327.67),
            (0x954D, -273.15),
            (0x0000, 0.0),
            (0x2F80, 121.60),
        ] {
            let found = temperature(Temperature, &value.to_le_bytes()).expect("known");
            assert!((found - celsius).abs() < 1e-9, "{value:04X}: {found}");
        }
        let error = temperature(Temperature, &[0x00, 0x80]).expect_err("not known");
        assert!(error.contains("not known"), "{error}");
        assert!(temperature(Temperature, &[]).is_err());
        assert!(temperature(Temperature, &[1, 2, 3]).is_err());
    }

    #[test]
    fn flags_say_what_follows() {
        // 36.4 as 364 × 10^-1, in °C; 97.5 °F is 36.4 °C to the tenth.
        let celsius = temperature(TemperatureMeasurement, &[0x00, 0x6C, 0x01, 0x00, 0xFF]);
        assert_eq!(celsius, Ok(36.4));
        let fahrenheit = temperature(TemperatureMeasurement, &[0x01, 0xCF, 0x03, 0x00, 0xFF]);
        assert!((fahrenheit.expect("a number") - 36.4).abs() < 0.05);
        let stamp_and_type = [
            0x06, 0x6C, 0x01, 0x00, 0xFF, 0xEA, 0x07, 11, 25, 19, 0, 0, 2,
        ];
        assert_eq!(
            temperature(TemperatureMeasurement, &stamp_and_type),
            Ok(36.4)
        );
        let cut = temperature(TemperatureMeasurement, &stamp_and_type[..12]);
        assert!(cut.expect_err("cut").contains("expected 13 octets"));
    }

    proptest! {
        #[test]
        fn no_octets_are_too_odd(value in proptest::collection::vec(any::<u8>(), 0..16)) {
            for characteristic in [Temperature, TemperatureMeasurement] {
                if let Err(why) = temperature(characteristic, &value) {
                    prop_assert!(why.contains("expected"));
                }
            }
        }

        #[test]
        fn hundredths_read_back(hundredths in -9000i16..=32767) {
            let found = temperature(Temperature, &hundredths.to_le_bytes());
            prop_assert_eq!(found, Ok(f64::from(hundredths) / 100.0));
        }
    }
}
