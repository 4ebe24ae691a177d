//! Numbers in registers of 16 bits.

use crate::bench_file::{RegisterQuantity, WordOrder, WordType};

/// How many registers a number takes.
pub(crate) fn word_count(word_type: WordType) -> u16 {
    match word_type {
        WordType::I16 | WordType::U16 => 1,
        WordType::I32 | WordType::U32 | WordType::F32 => 2,
    }
}

/// The quantity in registers, in its unit.
///
/// # Errors
/// What was found and what was expected, in words.
pub(crate) fn quantity_from_words(
    words: &[u16],
    quantity: &RegisterQuantity,
) -> Result<f64, String> {
    let number = match (quantity.word_type, words) {
        (WordType::I16, &[word]) => f64::from(word.cast_signed()),
        (WordType::U16, &[word]) => f64::from(word),
        (word_type @ (WordType::I32 | WordType::U32 | WordType::F32), &[first, second]) => {
            let (high, low) = match quantity.word_order {
                WordOrder::Big => (first, second),
                WordOrder::Little => (second, first),
            };
            let bits = (u32::from(high) << 16) | u32::from(low);
            match word_type {
                WordType::I32 => f64::from(bits.cast_signed()),
                WordType::F32 => f64::from(f32::from_bits(bits)),
                _ => f64::from(bits),
            }
        }
        _ => {
            return Err(format!(
                "{}; expected {} words",
                hexadecimal(words),
                word_count(quantity.word_type)
            ));
        }
    };
    Ok(number * quantity.scale + quantity.offset)
}

/// The words that come nearest to a quantity.
///
/// # Errors
/// What was asked for and what there is room for, in words.
pub(crate) fn words_from_quantity(
    value: f64,
    quantity: &RegisterQuantity,
) -> Result<Vec<u16>, String> {
    let number = (value - quantity.offset) / quantity.scale;
    let whole = number.round();
    let within = |least: f64, most: f64| {
        if whole >= least && whole <= most {
            return Ok(());
        }
        Err(format!(
            "{value} is {whole} steps of {}; expected {least} to {most} steps",
            quantity.scale
        ))
    };
    // Within these ranges the casts lose nothing.
    #[expect(
        clippy::cast_possible_truncation,
        reason = "the range is checked before"
    )]
    #[expect(clippy::cast_sign_loss, reason = "the range is checked before")]
    let bits = match quantity.word_type {
        WordType::I16 => {
            within(f64::from(i16::MIN), f64::from(i16::MAX))?;
            return Ok(vec![(whole as i16).cast_unsigned()]);
        }
        WordType::U16 => {
            within(0.0, f64::from(u16::MAX))?;
            return Ok(vec![whole as u16]);
        }
        WordType::I32 => {
            within(f64::from(i32::MIN), f64::from(i32::MAX))?;
            (whole as i32).cast_unsigned()
        }
        WordType::U32 => {
            within(0.0, f64::from(u32::MAX))?;
            whole as u32
        }
        WordType::F32 => {
            within(f64::from(f32::MIN), f64::from(f32::MAX))?;
            (number as f32).to_bits()
        }
    };
    #[expect(clippy::cast_possible_truncation, reason = "the halves are wanted")]
    let (high, low) = ((bits >> 16) as u16, bits as u16);
    Ok(match quantity.word_order {
        WordOrder::Big => vec![high, low],
        WordOrder::Little => vec![low, high],
    })
}

/// Words as manuals print them.
pub(crate) fn hexadecimal(words: &[u16]) -> String {
    let printed: Vec<String> = words.iter().map(|word| format!("0x{word:04X}")).collect();
    printed.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn quantity(word_type: WordType, word_order: WordOrder, scale: f64) -> RegisterQuantity {
        RegisterQuantity {
            register: 0,
            word_type,
            word_order,
            scale,
            offset: 0.0,
        }
    }

    /// Two's complement and IEEE 754 binary32 by their definitions: -1 is all ones; 1.0 is
    /// 0x3F800000, -2.0 is 0xC0000000 and 0.15625 is 0x3E200000.
    #[test]
    fn numbers_lie_as_defined() {
        use WordOrder::{Big, Little};
        use WordType::{F32, I16, I32, U16, U32};
        for (word_type, order, words, number) in [
            (I16, Big, &[0xFFFF][..], -1.0),
            (I16, Big, &[0x8000], -32_768.0),
            (U16, Big, &[0xFFFF], 65_535.0),
            (I32, Big, &[0xFFFF, 0xFFFF], -1.0),
            (I32, Little, &[0x0001, 0x0000], 1.0),
            (U32, Big, &[0x0001, 0x0000], 65_536.0),
            (U32, Little, &[0x0000, 0x0001], 65_536.0),
            (F32, Big, &[0x3F80, 0x0000], 1.0),
            (F32, Big, &[0xC000, 0x0000], -2.0),
            (F32, Little, &[0x0000, 0x3E20], 0.156_25),
        ] {
            let quantity = quantity(word_type, order, 1.0);
            assert_eq!(quantity_from_words(words, &quantity), Ok(number));
            let back = words_from_quantity(number, &quantity).expect("fits");
            assert_eq!(back, words);
        }
    }

    #[test]
    fn what_does_not_fit_is_refused() {
        let tenths = quantity(WordType::I16, WordOrder::Big, 0.1);
        assert!(words_from_quantity(3276.7, &tenths).is_ok());
        let error = words_from_quantity(3276.9, &tenths).expect_err("one step too many");
        assert!(error.contains("32769 steps of 0.1"), "{error}");
        assert!(words_from_quantity(f64::NAN, &tenths).is_err());
        let error = quantity_from_words(&[1, 2], &tenths).expect_err("one word too many");
        assert!(error.contains("0x0001 0x0002; expected 1"), "{error}");
    }

    proptest! {
        #[test]
        fn what_is_written_reads_back_within_half_a_step(
            value in -200.0f64..600.0,
            scale in prop_oneof![Just(0.1), Just(0.01), Just(1.0)],
            offset in -50.0f64..50.0,
            word_type in prop_oneof![Just(WordType::I32), Just(WordType::F32)],
            word_order in prop_oneof![Just(WordOrder::Big), Just(WordOrder::Little)],
        ) {
            let quantity = RegisterQuantity { offset, ..quantity(word_type, word_order, scale) };
            let words = words_from_quantity(value, &quantity).expect("fits");
            let back = quantity_from_words(&words, &quantity).expect("reads");
            prop_assert!((back - value).abs() <= scale / 2.0 + 1e-4);
        }
    }
}
